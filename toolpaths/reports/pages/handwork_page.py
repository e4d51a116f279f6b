"""`handwork.html`: what is left by hand, in order, with numbers; to be taken home and ticked off."""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.common.units import MM_PER_INCH, Units, show, show_area
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.handwork.sawing import ToSaw, slotted, to_saw
from toolpaths.instrument.handwork.whole_part import TopRadius, domes, positions, sixty_fourths, stations
from toolpaths.instrument.handwork.work_order import groups_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Fan
from toolpaths.reports.pages.page import html_table, page
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import escaped, nut_words, plain
from toolpaths.verification.outcome import Outcome

_STYLE = """
body { max-width: 60rem; }
svg { display: block; width: 100%; max-width: 30rem; height: auto; margin: .5rem 0; }
ol { padding-left: 0; list-style: none; }
li.todo { display: flex; gap: .7rem; padding: .45rem 0; border-bottom: 1px solid var(--line); break-inside: avoid; }
li.todo::before { content: ""; flex: none; width: 1rem; height: 1rem; margin-top: .2rem;
  border: 1.5px solid var(--ink); }
table { width: auto; min-width: 50%; }
tr, section.keep { break-inside: avoid; }
@page { margin: 12mm; }
@media print { body { padding: 0; font-size: 10pt; max-width: none; } h1 { font-size: 15pt; } h2 { break-after: avoid; }
  table { font-size: 9pt; } .scroll { overflow: visible; } }
"""
_CAUTIONS = (
    "Dust of every wood harms airways: extraction and a respirator while you saw, sand and file.",
    "Eyes: wire and chips fly. Hands: cut away from yourself, and clamp the work.",
    "Figures are those of the job. Wood moves, and tools are set by hand: try in an offcut, and measure.",
    "The manufacturer's instructions for glue, filler and finish, the shop's rules and local law come first.",
)


def handwork_page(outcome: Outcome) -> str:
    """The page: the work in groups with boxes to tick, each with the tables that belong to it."""
    job = outcome.job
    body = [
        f"<h1>{escaped(job.title)}: by hand</h1>",
        f'<p class="faint">{escaped(outcome.path.name)}, job {escaped(outcome.job_hash)}, '
        f"{escaped(outcome.wood.name)}. In the order in which it is done.</p>",
    ]
    groups = groups_of(job, outcome.handwork)
    for group in groups:
        body.append(f"<h2>{escaped(group.title)}</h2>")
        body.append(f"<ol>{''.join(_todo(entry, job.units) for entry in group.entries)}</ol>")
        body += [f'<section class="keep">{part}</section>' for part in _beside(outcome, group.title)]
    if not groups:
        body.append("<p>Nothing is left to the hands.</p>")
    said = "".join(f"<li>{escaped(words)}</li>" for words in _CAUTIONS)
    body.append(f"<h2>While you work</h2><ul>{said}</ul>")
    return page(f"{plain(job.title)}: by hand", "\n".join(body), _STYLE)


def _todo(entry: Handwork, units: Units) -> str:
    more = ""
    if entry.area_mm2 > 0 and entry.reach_mm > 0:
        size = f"({show_area(entry.area_mm2, units)}, reaches {show(entry.reach_mm, units)})"
        more = f' <span class="faint">{size}</span>'
    return f'<li class="todo"><span>{escaped(entry.what)}{more}</span></li>'


def _beside(outcome: Outcome, title: str) -> Iterator[str]:
    """Tables and drawings of a group, by its title."""
    job, units = outcome.job, outcome.job.units
    if title == "The slots":
        table = slots_table(outcome)
        if table.rows:
            yield html_table(table)
    elif title == "The top":
        found = domes(job)
        if found:
            yield _section(found, units) + html_table(_domes_table(found, units))
    elif title == "Frets":
        yield "".join(f"<p>{escaped(words)}</p>" for words in nut_words(job.instrument, units))
        yield html_table(positions_table(outcome))
    elif title == "The back":
        yield html_table(stations_table(outcome))


def stations_table(outcome: Outcome) -> Table:
    """Where the back is measured while it is carved, and what it should be there."""
    units = outcome.job.units
    rows = tuple(
        (s.place.name, *(_exact(mm, units) for mm in (s.place.x, s.with_board, s.below, s.width)))
        for s in stations(outcome.job)
    )
    headers = ("station", "from the nut", "with the board", "below the glue face", "wide")
    return Table(f"Thickness on the centreline, {units}", headers, rows, frozenset({1, 2, 3, 4}))


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
        (str(n), _exact(s.middle, units), _exact(s.edges, units), _exact(s.stop[0], units))
        for n, s in sorted(found.items())
    )
    title = f"Left to saw, kerf {show(job.saw.kerf, units)}"
    return Table(
        title, ("fret", f"middle {units}", f"edges {units}", f"saw's stop {units}"), rows, frozenset({1, 2, 3})
    )


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
    return Table(
        "Slots from the nut line", headers, tuple(rows), frozenset(range(1, len(headers))) - {len(headers) - 2}
    )


def _domes_table(found: list[TopRadius], units: Units) -> Table:
    rows = tuple((d.place.name, _exact(d.radius, units), _exact(d.width, units), _exact(d.off, units)) for d in found)
    headers = ("place", "radius", "board wide", "off at the edges")
    return Table(f"How much comes off, {units}", headers, rows, frozenset({1, 2, 3}))


def _exact(mm: float, units: Units) -> str:
    return f"{mm / MM_PER_INCH:.3f}" if units == "in" else f"{mm:.2f}"


def _section(found: list[TopRadius], units: Units) -> str:
    """The board sawn through at its widest of the three places, heights drawn larger: what comes off is dark. SVG."""
    widest = max(found, key=lambda d: d.off)
    half, tall = widest.width / 2, 14.0
    stretch = min(6.0, max(1.0, 7.0 / max(widest.off, 0.01)))
    drop = widest.off * stretch
    steps = [half * (k / 24 - 1) for k in range(49)]
    top = " ".join(f"{y:.2f},{stretch * (widest.radius - (widest.radius**2 - y * y) ** 0.5):.3f}" for y in steps)
    words = (
        f"{show(widest.off, units)} off at the edges of {widest.place.name}; height drawn {stretch:.1f} times larger"
    )
    ink, left, foot = 'stroke="#1d2733"', -half - 5, f"{half:.2f},{tall} {-half:.2f},{tall}"
    return (
        f'<svg viewBox="{-half - 8:.1f} -5 {widest.width + 16:.1f} {tall + 7:.1f}" role="img" '
        f'aria-label="{escaped(words)}">'
        f'<polygon points="{-half:.2f},0 {half:.2f},0 {foot}" fill="#8a7358"/>'
        f'<polygon points="{top} {foot}" fill="#f3ead9" {ink} stroke-width=".25"/>'
        f'<line x1="{left + 2:.2f}" y1="0" x2="{left + 2:.2f}" y2="{drop:.2f}" {ink} stroke-width=".3"/>'
        f'<line x1="{left:.2f}" y1="0" x2="{-half:.2f}" y2="0" {ink} stroke-width=".2"/>'
        f'<line x1="{left:.2f}" y1="{drop:.2f}" x2="{-half:.2f}" y2="{drop:.2f}" {ink} stroke-width=".2"/>'
        f'</svg><p class="faint">{escaped(words)}</p>'
    )
