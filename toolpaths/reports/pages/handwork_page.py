"""`handwork.html`: what is left by hand, in order, with numbers; to be taken home and ticked off."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from toolpaths.common.units import MM_PER_INCH, Units, show, show_area
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.handwork.sawing import ToSaw, sawn_from, slotted, to_saw
from toolpaths.instrument.handwork.whole_part import TopRadius, domes, positions, sixty_fourths, stations
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Fan
from toolpaths.job.stage import Stage
from toolpaths.reports.pages.template import page, part, raw
from toolpaths.reports.text.page_head import head_of_job
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import figure, nut_words
from toolpaths.verification.outcome import Outcome
from toolpaths.workshop.hand_list import hand_groups


def handwork_page(outcome: Outcome) -> str:
    """The page: the work in groups with boxes to tick, each with the table that belongs to it."""
    job = outcome.job
    groups = [
        {
            "title": group.title,
            "entries": [(entry.what, _size(entry, job.units)) for entry in group.entries],
            "words": nut_words(job.instrument, job.units) if Stage.frets in group.stages else (),
            **_beside(outcome, group.stages),
        }
        for group in hand_groups(outcome)
    ]
    head = head_of_job("Work by hand", outcome)
    return page("pages/handwork.html", title=head.page_title, head=head, outcome=outcome, groups=groups)


def _size(entry: Handwork, units: Units) -> str:
    if entry.area_mm2 <= 0 or entry.reach_mm <= 0:
        return ""
    return f"({show_area(entry.area_mm2, units)}, reaches {show(entry.reach_mm, units)})"


def _beside(outcome: Outcome, stages: Sequence[Stage]) -> dict[str, list[Table] | str]:
    """The tables and the drawing that belong to the stages of a group."""
    units, drawing, tables = outcome.job.units, "", list[Table]()
    for stage in stages:
        match stage:
            case Stage.slots:
                tables.append(slots_table(outcome))
            case Stage.top if found := domes(outcome.job):
                tables.append(_domes_table(found, units))
                drawing = _section(found, units)
            case Stage.frets:
                tables.append(positions_table(outcome))
            case Stage.back:
                tables += [stations_table(outcome), kerfs_table(outcome)]
    return {"tables": [t for t in tables if t.rows], "drawing": drawing}


def stations_table(outcome: Outcome) -> Table:
    """Where the back is measured while it is carved, and what it should be there."""
    units = outcome.job.units
    rows = tuple(
        (s.place.name, *(figure(mm, units) for mm in (s.place.x, s.with_board, s.below, s.width)))
        for s in stations(outcome.job)
    )
    headers = ("station", "from the nut line", "thickness with the board", "below the glue face", "width")
    return Table(f"The back on the centreline, {units}", headers, rows, range(1, 5))


def kerfs_table(outcome: Outcome) -> Table:
    """Each kerf across the back on the centreline: how deep it is, and how much wood is under it."""
    units = outcome.job.units
    cut = {f.name for setup in outcome.job.setups for f in setup.features if CutKind.depth_kerf in f.cuts}
    figures = [f for entry in outcome.handwork if entry.feature in cut for f in entry.figures]
    depths, under = ([f for f in figures if f.kind == kind] for kind in ("depth", "thickness"))
    rows = tuple(
        (str(n), *(figure(mm, units) for mm in (deep.at[0], deep.value, left.value)))
        for n, (deep, left) in enumerate(zip(depths, under, strict=True), 1)
    )
    headers = ("kerf", "from the nut line", "depth", "wood under it")
    surface = f", depths from {depths[0].surface}" if depths else ""
    return Table(f"Kerfs on the centreline, {units}{surface}", headers, rows, range(1, 4))


def slots_table(outcome: Outcome) -> Table:
    """Slots that are left to the saw: what is left in the middle and at the edges, and the saw's stop.

    Neighbours that read the same share a row.
    """
    job, units = outcome.job, outcome.job.units
    found: dict[int, ToSaw] = {}
    cut = slotted(job)
    for feature in (f for setup in job.setups for f in setup.features if CutKind.line in f.cuts):
        frets = getattr(feature, "frets", None) or range(0 if job.instrument.zero_fret else 1, job.instrument.frets + 1)
        for n in frets:
            if n not in cut:
                depth, below = float(getattr(feature, "depth", 0.0)), getattr(feature, "below", "face")
                found[n] = to_saw(job, n, depth, below == "radius")
    rows = _folded(
        [
            (n, (figure(s.middle, units), figure(s.edges, units), figure(s.stop[0], units)))
            for n, s in sorted(found.items())
        ]
    )
    title = f"Left to saw, {units}: kerf {show(job.saw.kerf, units)}, the saw's stop counts from {sawn_from(job)}"
    return Table(title, ("frets", "left in the middle", "left at the edges", "saw's stop"), rows, range(1, 4))


def positions_table(outcome: Outcome) -> Table:
    """Where each slot lies from the nut line: in the job's units, in inches, and to the nearest 1/64 with the rest."""
    job, inches = outcome.job, outcome.job.units == "in"
    fanned = isinstance(job.instrument.scale_length, Fan)

    def written(mm: float, sign: str = "") -> str:
        value, digits = (mm / MM_PER_INCH, 4) if inches else (mm, 2)
        return f"{round(value, digits) + 0.0:{sign}.{digits}f}"

    rows = []
    for n, bass, middle, treble in positions(job):
        text, over = sixty_fourths(middle)
        edges = (written(bass), written(treble)) if fanned else ()
        decimal = () if inches else (f"{middle / MM_PER_INCH:.4f}",)
        rows.append((str(n), written(middle), *edges, *decimal, text, written(over, "+")))
    at_edges = (f"bass edge, {job.units}", f"treble edge, {job.units}") if fanned else ()
    decimal = () if inches else ("in",)
    headers = ("fret", f"centreline, {job.units}", *at_edges, *decimal, "in, nearest 1/64", f"rest, {job.units}")
    numbers = {*range(1, len(headers))} - {len(headers) - 2}
    return Table("Slots from the nut line", headers, tuple(rows), numbers)


def _folded(rows: Sequence[tuple[int, tuple[str, ...]]]) -> tuple[tuple[str, ...], ...]:
    """Neighbouring numbers whose cells read the same as one row: `1 to 19`."""
    out: list[tuple[str, ...]] = []
    for (cells, _), group in groupby(enumerate(rows), key=lambda one: (one[1][1], one[1][0] - one[0])):
        numbers = [number for _, (number, _) in group]
        first, last = numbers[0], numbers[-1]
        out.append((str(first) if first == last else f"{first} to {last}", *cells))
    return tuple(out)


def _domes_table(found: list[TopRadius], units: Units) -> Table:
    rows = tuple((d.place.name, figure(d.radius, units), figure(d.width, units), figure(d.off, units)) for d in found)
    headers = ("place", "radius", "width of the board", "off at the edges")
    return Table(f"How much comes off the flat face, {units}", headers, rows, range(1, 4))


def _section(found: list[TopRadius], units: Units) -> str:
    """The board sawn through at its widest of the three places, heights drawn larger: what comes off is dark. SVG."""
    widest = max(found, key=lambda d: d.off)
    half, tall = widest.width / 2, 14.0
    stretch = min(6.0, max(1.0, 7.0 / max(widest.off, 0.01)))
    drop = widest.off * stretch
    steps = [half * (k / 24 - 1) for k in range(49)]
    top = " ".join(f"{y:.2f},{stretch * (widest.radius - (widest.radius**2 - y * y) ** 0.5):.3f}" for y in steps)
    place = f"{show(widest.off, units)} off at the edges ({widest.place.name})"
    words = f"{place}; heights are drawn {stretch:.1f} times larger"
    return part("pages/sawn_top.html", half=half, tall=tall, drop=drop, top=raw(top), words=words, width=widest.width)
