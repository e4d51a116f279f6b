// Numbers and places as people read them, in the job's units; every sentence that the script says of the wood.

/** Of more cuts in one section only the one that is pointed at is measured in words. */
const SAID_CUTS = 3;

class Words {
  constructor(units) {
    this.inch = units === "in";
    this.units = units;
    this.perUnit = this.inch ? 25.4 : 1;
  }

  /** A length: `0.50 mm`, `0.020 in`; never minus nothing. */
  say(mm) {
    const digits = this.inch ? 3 : 2,
      text = (mm / this.perUnit).toFixed(digits);
    return `${Number(text) === 0 ? (0).toFixed(digits) : text} ${this.units}`;
  }

  /** Where the wood stands at a place: its depth below the surface of that name, at `face`, and above the bed, which lies at `bed`. */
  height(z, { face, bed, surface }, through, opened) {
    if (!(z > -Infinity)) return "beside the blank";
    if (z <= through) return opened ? "cut through from the other side" : "cut through to the bed";
    const depth = face - z,
      where = `${depth < -0.005 ? "above" : "below"} the ${surface}`;
    return `${this.say(Math.abs(depth))} ${where}, ${this.say(z - bed)} above the bed`;
  }

  /** The nearest fret: `0.12 mm from fret 7, toward the bridge`; empty where a setup has none. */
  fret(frets, x, y) {
    let best = null;
    for (const [name, at, lean] of frets) {
      const aside = (x - at - lean * y) / Math.hypot(1, lean);
      if (!best || Math.abs(aside) < Math.abs(best.aside)) best = { name, aside };
    }
    if (!best) return "";
    const name = best.name === "0" ? "the zero fret" : `fret ${best.name}`;
    const far = this.say(Math.abs(best.aside));
    if (parseFloat(far) === 0) return `on the line of ${name}`;
    return `${far} from ${name}, ${best.aside > 0 ? "toward the bridge" : "toward the nut"}`;
  }

  /** What is wanted at a place, by the feature that wants it. */
  wanted({ height, demand }, face, through) {
    const kind = demand.name === demand.feature || !demand.name ? demand.feature : `${demand.feature}: ${demand.name}`;
    const deep = height <= through ? "through" : `${this.say(Math.max(0, face - height))} deep`;
    return `${kind}, wanted ${deep}`;
  }

  /** What stands at a place: `clamp at the heel: clamp, top 40.00 mm above the bed`. */
  holder({ name, kind, top }) {
    return `${name.includes(kind) ? name : `${kind}: ${name}`}, top ${top}`;
  }

  /** How wide the cuts of a section are, or the one that is pointed at. */
  widths(cuts, pointed) {
    const say = cut =>
      `${this.say(cut.width)} wall to wall at half depth, ${this.say(cut.rim - cut.floor)} deep`;
    if (pointed) return `${say(pointed)}.`;
    if (!cuts.length) return "There is no cut under this line.";
    if (cuts.length <= SAID_CUTS) return `${cuts.map(say).join("; ")}.`;
    return `${cuts.length} cuts under this line. Point at one in the section to measure it.`;
  }

  /** A time: `35 s`, `4 min 12 s`, `1 h 05 min`. */
  time(seconds) {
    const s = Math.round(seconds),
      two = n => String(n).padStart(2, "0");
    if (s < 60) return `${s} s`;
    if (s < 3600) return `${Math.floor(s / 60)} min ${two(s % 60)} s`;
    return `${Math.floor(s / 3600)} h ${two(Math.floor((s % 3600) / 60))} min`;
  }

  /** Even places for ticks between two lengths (mm), about `most` of them: [mm, text] each. */
  ticks(low, high, most) {
    const a = low / this.perUnit,
      b = high / this.perUnit,
      least = (b - a) / Math.max(1, most);
    const ten = 10 ** Math.floor(Math.log10(least)),
      step = [1, 2, 5, 10].map(f => f * ten).find(s => s >= least);
    const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9)),
      out = [];
    for (let i = Math.ceil(a / step - 1e-9); i * step <= b + step * 1e-9; i++) {
      out.push([i * step * this.perUnit, (i * step + 0).toFixed(digits)]);
    }
    return out;
  }
}
