// The wood sawn open along a line: heights along it, the cuts in it, and how wide they are from wall to wall.

const LEAST_CUT = 0.03;

class Section {
  /** From a to b, each [x, y] mm. */
  constructor(a, b) {
    Object.assign(this, { a, b, length: Math.hypot(b[0] - a[0], b[1] - a[1]) });
    this.s = this.wood = this.target = this.targetS = new Float64Array(0);
    this.cuts = [];
  }

  place(s) {
    const t = this.length ? s / this.length : 0;
    return [this.a[0] + (this.b[0] - this.a[0]) * t, this.a[1] + (this.b[1] - this.a[1]) * t];
  }

  /**
   * Looks along the line in even steps. `height(x, y)`: of the wood, NaN beside it; `exact(x, y)`: the same to the
   * last digit, by which walls are found; `target(x, y)`: of what was asked for.
   */
  look(count, height, exact, target) {
    const { a, b, length } = this,
      along = f => {
        const out = new Float64Array(count + 1);
        for (let i = 0; i <= count; i++)
          out[i] = f(a[0] + ((b[0] - a[0]) * i) / count, a[1] + ((b[1] - a[1]) * i) / count);
        return out;
      };
    this.s = new Float64Array(count + 1);
    for (let i = 0; i <= count; i++) this.s[i] = (length * i) / count;
    this.wood = along(height);
    // What was asked for does not change with time: it is looked up once, as finely as the finest look.
    if (target && this.target.length <= count) {
      this.target = along(target);
      this.targetS = this.s;
    }
    this.cuts = this._cuts()
      .map(cut => this._measured(cut, exact))
      .filter(cut => cut.width > 0);
    return this;
  }

  /** Hollows that would hold water: each with its rim, floor and deepest sample. */
  _cuts() {
    const z = this.wood,
      n = z.length,
      right = new Float64Array(n),
      out = [];
    for (let i = n - 1, most = -Infinity; i >= 0; i--)
      right[i] = most = Math.max(most, z[i] >= -1e9 ? z[i] : -Infinity);
    let open = null;
    for (let i = 0, most = -Infinity; i < n; i++) {
      most = Math.max(most, z[i] >= -1e9 ? z[i] : -Infinity);
      const rim = Math.min(most, right[i]);
      if (rim - z[i] > LEAST_CUT) {
        if (open && rim > open.rim - 1e-6 && rim < open.rim + 1e-6) {
          if (z[i] < open.floor) {
            open.floor = z[i];
            open.lowest = i;
          }
        } else out.push((open = { rim, floor: z[i], lowest: i }));
      } else open = null;
    }
    return out;
  }

  /** Wall to wall at half the depth, each wall found to a thousandth of a millimetre. */
  _measured(cut, exact) {
    return { ...cut, ...this.chord(cut.lowest, (cut.rim + cut.floor) / 2, exact) };
  }

  /** The open stretch around a sample at a height: {from, to, width}, mm along the line. */
  chord(sample, level, exact) {
    const z = this.wood,
      wall = step => {
        let i = sample;
        while (i + step >= 0 && i + step < z.length && !(z[i + step] >= level)) i += step;
        if (i + step < 0 || i + step >= z.length) return this.s[i];
        let open = this.s[i],
          shut = this.s[i + step];
        for (let round = 0; round < 24 && Math.abs(shut - open) > 1e-4; round++) {
          const middle = (open + shut) / 2;
          if (exact(...this.place(middle)) >= level) shut = middle;
          else open = middle;
        }
        return (open + shut) / 2;
      };
    const from = wall(-1),
      to = wall(1);
    return { from, to, level, width: to - from };
  }

  /** The cut at a distance along the line, or the nearest within `reach` mm. */
  cutAt(s, reach) {
    let best = null,
      least = reach;
    for (const cut of this.cuts) {
      const far = Math.max(cut.from - s, s - cut.to, 0);
      if (far <= least) {
        least = far;
        best = cut;
      }
    }
    return best;
  }
}
