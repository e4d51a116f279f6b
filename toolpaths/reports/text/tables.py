"""Tables for terminal and page alike: plain text in rows. The page turns them into HTML, the terminal prints them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from toolpaths.common.units import MM_PER_INCH, Units, show, show_area, show_chip, show_feed, show_fine, size
from toolpaths.instrument.boards import crossings
from toolpaths.instrument.fans import fret_line, scale_at, string_scales
from toolpaths.instrument.frets import cents_off, fret_distances, spacing
from toolpaths.job.bit import Bit
from toolpaths.job.job import Fan, Job
from toolpaths.job.machine import Axes, Machine
from toolpaths.reports.text.changed import Difference
from toolpaths.reports.text.moving import moved_before
from toolpaths.reports.text.words import bare, figure, minutes, places, plain, scale_words, signed, the
from toolpaths.verification.outcome import Outcome, SetupReport

_OFF: dict[Units, float] = {"mm": 0.1, "in": 0.004 * MM_PER_INCH}
"""By how much a fret may be off in the tables that say what that does, mm."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text under headers.

    `numbers`: which columns hold figures (set to the right). `keys`: how many columns, from the first, name a row.
    """

    title: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: Collection[int] = ()
    keys: int = 1

    def only(self, columns: Sequence[int]) -> Table:
        """The table with these columns alone."""
        headers, *rows = (tuple(row[i] for i in columns) for row in (self.headers, *self.rows))
        numbers = [k for k, i in enumerate(columns) if i in self.numbers]
        return Table(self.title, headers, tuple(rows), numbers, sum(i < self.keys for i in columns))


def features_table(outcome: Outcome, setup: SetupReport) -> Table:
    """How each feature is cut and what comes of it; without the width of lines where none is cut."""
    units = outcome.job.units
    rows = tuple(
        (
            f.name,
            f.bit,
            f"{f.cutting.rpm:.0f}",
            bare(show_feed(f.cutting.feed, units)),
            bare(show_chip(f.chip_load_mm, units)),
            figure(f.cutting.pass_depth, units),
            str(f.passes),
            "" if f.width_mm is None else figure(f.width_mm, units),
            figure(f.deepest_mm, units),
            f"{f.minutes:.1f}",
        )
        for f in setup.features
    )
    sizes = (f"line\n{units}", f"deep\n{units}", "time\nmin")
    headers = ("feature", "bit", "rpm", f"feed\n{units}/min", f"chip\n{units}", f"pass\n{units}", "passes", *sizes)
    lined = [f for f in setup.features if f.width_mm is not None]
    title = f"Setup {setup.context.setup.name}: how each feature is cut"
    runouts = {setup.context.bits[f.bit].widening(outcome.machine.runout) for f in lined}
    if any(runouts):
        title += f"; lines with {', '.join(show_fine(r, units) for r in sorted(runouts))} runout"
    table = Table(title, headers, rows, range(2, 10))
    return table if lined else table.only([i for i in range(10) if i != 7])


def reasons_table(setup: SetupReport, outcome: Outcome) -> Table:
    """For each value of each feature, which limit decided it."""
    units = outcome.job.units
    rows = []
    for f in setup.features:
        c = f.cutting
        values = {
            "rpm": ("spindle", f"{c.rpm:.0f} rpm"),
            "feed": ("feed", show_feed(c.feed, units)),
            "plunge": ("feed straight down", show_feed(c.plunge, units)),
            "ramp": ("feed down a ramp", show_feed(c.ramp, units)),
            "pass_depth": ("depth of a pass", show(c.pass_depth, units)),
            "step_over": ("step-over", f"{c.step_over:.2f} of the diameter"),
            "finish_allowance": ("left for the last skim", show(c.finish_allowance, units)),
            "rough": ("direction, rough", c.rough),
            "finish": ("direction, last skim", c.finish),
            "direction": ("direction", "" if c.lines is None else c.lines),
            "ramp_angle": ("angle of a ramp", f"{c.ramp_angle:g} degrees"),
        }
        rows += [(f.name, *values.get(key, (key, "")), why) for key, why in c.reasons.items()]
    title = f"Setup {setup.context.setup.name}: which limit decided each value"
    return Table(title, ("feature", "value", "is", "decided by"), tuple(rows))


def programs_table(outcome: Outcome) -> Table:
    """The programs in the order in which they run."""
    rows = tuple(
        (str(p.number), p.name, p.setup, ", ".join(p.bits), touch_words(outcome, p.number), minutes(p.minutes))
        for p in outcome.programs
    )
    headers = ("no.", "program", "setup", "bit", "before it runs", "time")
    return Table("Programs, in order", headers, rows, {0, 5})


def touch_words(outcome: Outcome, number: int) -> str:
    """What the bit of program `number` touches and which Z is entered, in the machine's units."""
    program = next(p for p in outcome.programs if p.number == number)
    touch = program.touch_off
    if program.name in outcome.cut:
        return "cut already: it stays as it is, and is not judged again"
    if touch is None:
        return "nothing is left to touch off from"
    words = f"touch {the(touch.surface)}, enter Z {signed(touch.z, outcome.machine.units)}"
    if moved_before(outcome, program) and program.lie is not None:
        by = show(program.lie.shift, outcome.job.units)
        return f"move the blank to place {plain(program.lie.name)}, {by} left of its first; {words}"
    return f"take the blank off; {words}" if program.on_bed else words


def findings_table(outcome: Outcome) -> Table:
    """Every finding as a sentence with its places. Numbers are those on the depth picture."""
    rows = tuple(
        (str(i), str(f.severity), f.code, f.feature, f.message, places(f, outcome))
        for i, f in enumerate(outcome.findings, start=1)
    )
    return Table("What was found", ("no.", "weight", "code", "feature", "what and what to do", "where"), rows)


def differences_table(changes: Sequence[Difference], words: Sequence[str]) -> Table:
    """What the run changes against the job as written."""
    return Table(f"What {', '.join(words)} changes", ("feature", "value", "as written", "now"), tuple(changes))


def handwork_table(outcome: Outcome) -> Table:
    """The work that is left by hand, in order."""
    units = outcome.job.units
    rows = []
    for i, work in enumerate(outcome.handwork, start=1):
        area = [show_area(work.area_mm2, units)] if work.area_mm2 else []
        reach = [f"reaches {show(work.reach_mm, units)}"] if work.reach_mm else []
        rows.append((str(i), work.feature, work.what, ", ".join(area + reach)))
    return Table("Left by hand", ("no.", "feature", "what", "how much"), tuple(rows))


def frets_tables(job: Job) -> list[Table]:
    """Positions of the frets: one table for one scale; for a fanned board its lines, then each string's distances."""
    scale = job.instrument.scale_length
    return [_one_scale(job, scale)] if not isinstance(scale, Fan) else [_fret_lines(job), _string_frets(job)]


def _fret_lines(job: Job) -> Table:
    """Where each line of a fanned board crosses the centreline and the board's edges, and how it leans."""
    instrument, units = job.instrument, job.units
    rows = []
    for n in range(instrument.frets + 1):
        line = fret_line(instrument, n)
        (bass, _), (treble, _) = crossings(instrument, line)
        name = str(n) if n or instrument.zero_fret else "nut line"
        angle, cents = round(line.angle, 3) + 0.0, cents_off(scale_at(instrument, n, 0.0), n, _OFF[units])
        rows.append((name, *(figure(x, units) for x in (bass, line.x, treble)), f"{angle:.3f}", f"{cents:.2f}"))
    places = ("at the bass edge", "on the centreline", "at the treble edge")
    headers = ("fret", *(f"x {place}, {units}" for place in places), "from square, degrees", _off_words(units))
    title = f"{plain(job.title, 80)}: fret lines, scale {scale_words(instrument, units)}"
    return Table(title, headers, tuple(rows), range(6))


def _string_frets(job: Job) -> Table:
    """Each string's own frets, from the nut line along the neck."""
    instrument, units = job.instrument, job.units
    scales = string_scales(instrument).tolist()
    at = [fret_distances(s, instrument.frets) for s in scales]
    rows = tuple((str(n), *(figure(float(d[n - 1]), units) for d in at)) for n in range(1, instrument.frets + 1))
    ends = {1: ", treble", len(scales): ", bass"}
    headers = ("fret", *(f"string {i}{ends.get(i, '')}\n{figure(s, units)}" for i, s in enumerate(scales, 1)))
    title = f"Each string on its own scale: from the nut line along the neck, {units}"
    return Table(title, headers, rows, range(len(headers)))


def _one_scale(job: Job, scale: float) -> Table:
    """Positions of the frets, and what an error of a tenth of a millimetre does there."""
    count, units = job.instrument.frets, job.units
    other: Units = "in" if units == "mm" else "mm"
    rows = tuple(
        (str(n), figure(at, units), figure(gap, units), figure(at, other), f"{cents_off(scale, n, _OFF[units]):.2f}")
        for n, (at, gap) in enumerate(zip(fret_distances(scale, count), spacing(scale, count), strict=True), start=1)
    )
    title = f"{plain(job.title, 80)}: frets for a scale of {show(scale, units)}"
    headers = ("fret", f"from the nut, {units}", f"from the one before, {units}", f"from the nut, {other}")
    return Table(title, (*headers, _off_words(units)), rows, range(5))


def _off_words(units: Units) -> str:
    return f"{size(_OFF[units], units)} off, cents"


def machines_table(machines: Mapping[str, Machine]) -> Table:
    """The machine files that are there."""
    rows = []
    for key, m in machines.items():
        travel = axes_words(m.travel, m)
        arcs = {"none": "no arcs", "xy": "arcs in XY", "all planes": "arcs in all planes"}[m.arcs]
        by = {"hand": "hand", "relay": "its dial", "program": "the program"}[m.spindle.set_by]
        spindle = f"{m.spindle.min_rpm}-{m.spindle.max_rpm} rpm, set by {by}"
        rows.append(
            (
                key,
                travel,
                arcs,
                spindle,
                "changed by hand" if m.tool_change == "by hand" else "changed by the machine",
                m.description,
            )
        )
    headers = ("machine", "travel", "curves", "spindle", "bits", "what it is")
    return Table("Machines", headers, tuple(rows))


def axes_words(axes: Axes, machine: Machine) -> str:
    """The figures of three axes in the machine's units: `600 x 400 x 80 mm`."""
    unit = MM_PER_INCH if machine.units == "in" else 1.0
    return f"{' x '.join(f'{v / unit:g}' for v in axes.as_tuple())} {machine.units}"


def bits_table(bits: Mapping[str, Bit]) -> Table:
    """The bits of the rack, in both units: bits are sold in either."""
    rows = []
    for name, bit in bits.items():
        detail = bit.detail(lambda mm: show(mm, "mm", 3))
        shape = f"{bit.shape}, {detail}" if detail else bit.shape
        about = [f"{bit.flutes} flutes", bit.material, bit.spiral] + ([] if bit.centre_cutting else ["no plunging"])
        rows.append(
            (
                name,
                shape,
                show(bit.diameter, "mm", 3),
                show(bit.diameter, "in", 4),
                show(bit.cutting_length, "mm"),
                show(bit.shank, "mm", 3),
                show(bit.stickout, "mm"),
                ", ".join(about),
            )
        )
    headers = ("bit", "shape", "diameter", "", "cutting length", "shank", "stick-out", "about")
    return Table("The rack", headers, tuple(rows), range(2, 7))
