"""`handwork.html`: what is left by hand, in order, with numbers; to be taken home and ticked off."""

from __future__ import annotations

from toolpaths.common.units import MM_PER_INCH, Units, show, show_area
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.handwork.sawing import ToSaw, slotted, to_saw
from toolpaths.instrument.handwork.whole_part import TopRadius, domes, positions, sixty_fourths, stations
from toolpaths.instrument.handwork.work_order import groups_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Fan
from toolpaths.job.stage import Stage
from toolpaths.reports.pages.template import page, part, raw
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import figure, nut_words, plain
from toolpaths.verification.outcome import Outcome


def handwork_page(outcome: Outcome) -> str:
    """The page: the work in groups with boxes to tick, each with the table that belongs to it."""
    job = outcome.job
    groups = [
        {
            "title": group.title,
            "entries": [(entry.what, _size(entry, job.units)) for entry in group.entries],
            "words": nut_words(job.instrument, job.units) if group.first is Stage.frets else (),
            **_beside(outcome, group.first),
        }
        for group in groups_of(job, outcome.handwork)
    ]
    title = f"{plain(job.title)}: by hand"
    return page("pages/handwork.html", title=title, outcome=outcome, groups=groups)


def _size(entry: Handwork, units: Units) -> str:
    if entry.area_mm2 <= 0 or entry.reach_mm <= 0:
        return ""
    return f"({show_area(entry.area_mm2, units)}, reaches {show(entry.reach_mm, units)})"


def _beside(outcome: Outcome, stage: Stage) -> dict[str, list[Table] | str]:
    """The tables and the drawing that belong to a stage."""
    units, drawing, tables = outcome.job.units, "", []
    match stage:
        case Stage.slots:
            tables = [slots_table(outcome)]
        case Stage.top if found := domes(outcome.job):
            tables, drawing = [_domes_table(found, units)], _section(found, units)
        case Stage.frets:
            tables = [positions_table(outcome)]
        case Stage.back:
            tables = [stations_table(outcome), kerfs_table(outcome)]
    return {"tables": [t for t in tables if t.rows], "drawing": drawing}


def stations_table(outcome: Outcome) -> Table:
    """Where the back is measured while it is carved, and what it should be there."""
    units = outcome.job.units
    rows = tuple(
        (s.place.name, *(figure(mm, units) for mm in (s.place.x, s.with_board, s.below, s.width)))
        for s in stations(outcome.job)
    )
    headers = ("station", "from the nut", "with the board", "below the glue face", "wide")
    return Table(f"Thickness on the centreline, {units}", headers, rows, range(1, 5))


def kerfs_table(outcome: Outcome) -> Table:
    """Each kerf across the back on the centreline: how deep it is, and the wood that stands under it."""
    units = outcome.job.units
    cut = {f.name for setup in outcome.job.setups for f in setup.features if CutKind.depth_kerf in f.cuts}
    figures = [f for entry in outcome.handwork if entry.feature in cut for f in entry.figures]
    depths, under = ([f for f in figures if f.kind == kind] for kind in ("depth", "thickness"))
    rows = tuple(
        (str(n), *(figure(mm, units) for mm in (deep.at[0], deep.value, left.value)))
        for n, (deep, left) in enumerate(zip(depths, under, strict=True), 1)
    )
    headers = ("kerf", "from the nut", "deep", "wood under it")
    return Table(f"Kerfs, on the centreline, {units}", headers, rows, range(1, 4))


def slots_table(outcome: Outcome) -> Table:
    """Each slot that is left to the saw: what is left in the middle and at the edges, and the saw's stop."""
    job, units = outcome.job, outcome.job.units
    found: dict[int, ToSaw] = {}
    cut = slotted(job)
    for feature in (f for setup in job.setups for f in setup.features if CutKind.line in f.cuts):
        frets = getattr(feature, "frets", None) or range(0 if job.instrument.zero_fret else 1, job.instrument.frets + 1)
        for n in frets:
            if n not in cut:
                depth, below = float(getattr(feature, "depth", 0.0)), getattr(feature, "below", "face")
                found[n] = to_saw(job, n, depth, below == "radius")
    rows = tuple(
        (str(n), figure(s.middle, units), figure(s.edges, units), figure(s.stop[0], units))
        for n, s in sorted(found.items())
    )
    title = f"Left to saw, kerf {show(job.saw.kerf, units)}"
    return Table(title, ("fret", f"middle {units}", f"edges {units}", f"saw's stop {units}"), rows, range(1, 4))


def positions_table(outcome: Outcome) -> Table:
    """Where each slot lies from the nut line: in the job's units, in inches, and to the nearest 1/64 with the rest."""
    job, inches = outcome.job, outcome.job.units == "in"
    fanned = isinstance(job.instrument.scale_length, Fan)

    def told(mm: float, sign: str = "") -> str:
        value, digits = (mm / MM_PER_INCH, 4) if inches else (mm, 2)
        return f"{round(value, digits) + 0.0:{sign}.{digits}f}"

    rows = []
    for n, bass, middle, treble in positions(job):
        text, over = sixty_fourths(middle)
        edges = (told(bass), told(treble)) if fanned else ()
        decimal = () if inches else (f"{middle / MM_PER_INCH:.4f}",)
        rows.append((str(n), told(middle), *edges, *decimal, text, told(over, "+")))
    at_edges = (f"bass edge {job.units}", f"treble edge {job.units}") if fanned else ()
    decimal = () if inches else ("in",)
    headers = ("fret", f"centreline {job.units}", *at_edges, *decimal, "in, nearest 1/64", f"rest, {job.units}")
    numbers = {*range(1, len(headers))} - {len(headers) - 2}
    return Table("Slots from the nut line", headers, tuple(rows), numbers)


def _domes_table(found: list[TopRadius], units: Units) -> Table:
    rows = tuple((d.place.name, figure(d.radius, units), figure(d.width, units), figure(d.off, units)) for d in found)
    headers = ("place", "radius", "board wide", "off at the edges")
    return Table(f"How much comes off, {units}", headers, rows, range(1, 4))


def _section(found: list[TopRadius], units: Units) -> str:
    """The board sawn through at its widest of the three places, heights drawn larger: what comes off is dark. SVG."""
    widest = max(found, key=lambda d: d.off)
    half, tall = widest.width / 2, 14.0
    stretch = min(6.0, max(1.0, 7.0 / max(widest.off, 0.01)))
    drop = widest.off * stretch
    steps = [half * (k / 24 - 1) for k in range(49)]
    top = " ".join(f"{y:.2f},{stretch * (widest.radius - (widest.radius**2 - y * y) ** 0.5):.3f}" for y in steps)
    place = f"{show(widest.off, units)} off at the edges ({widest.place.name})"
    words = f"{place}; height drawn {stretch:.1f} times larger"
    return part("pages/sawn_top.html", half=half, tall=tall, drop=drop, top=raw(top), words=words, width=widest.width)
