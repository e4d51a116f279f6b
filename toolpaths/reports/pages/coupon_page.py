"""`coupon.html` and its table: where each piece lies, how wide it should be, and room for how wide it came out."""

from __future__ import annotations

from collections.abc import Sequence

from toolpaths.common.units import Units, show, show_fine, size
from toolpaths.features.calibration.coupon import Coupon
from toolpaths.features.calibration.piece import Piece
from toolpaths.features.fits import Fit
from toolpaths.job.job import Stock
from toolpaths.reports.pages.page import html_table, page
from toolpaths.reports.text.tables import Table, findings_table
from toolpaths.reports.text.words import CAUTIONS, bit_words, escaped, minutes, plain, verdict, weight
from toolpaths.verification.outcome import Outcome

_STYLE = """
body { max-width: 60rem; font-size: 14px; }
svg { display: block; max-width: 100%; margin: .6rem 0; }
.blank { display: inline-block; min-width: 9rem; border-bottom: 1px solid var(--ink); }
.tick { width: 2.4rem; }
.tick span { display: inline-block; width: 1rem; height: 1rem; border: 1.5px solid var(--ink); }
.figure { fill: currentColor; stroke: none; }
section { break-inside: avoid; }
@page { margin: 12mm; }
@media print { body { padding: 0; font-size: 10pt; max-width: none; } tr { break-inside: avoid; } }
"""


def coupon_table(coupon: Coupon) -> Table:
    """Each piece in the order of its number; the last column is for the pencil."""
    units, bits = coupon.loaded.job.units, coupon.loaded.job.bits
    rows = [
        (
            str(number),
            fit.name,
            fit.what,
            fit.feature.bit,
            _wanted(fit, units),
            ("as wide as the bit" if fit.itself else f"walls cut by {bit_words(bits[fit.feature.bit], units)}")
            + _runout_words(bits[fit.feature.bit].widening(coupon.loaded.machine.runout), fit, units),
            _depth(piece, units),
            "__________",
        )
        for number, (fit, piece) in enumerate(zip(coupon.fits, coupon.pieces, strict=True), 1)
    ]
    headers = ("no.", "name", "piece", "bit", "wanted", "how", "deep", "measured")
    return Table("The coupon, piece by piece", headers, tuple(rows), frozenset({0, 4, 6}))


def programs_of_coupon(outcome: Outcome) -> Table:
    """The programs in their order, with what each bit touches."""
    units = outcome.job.units
    rows = tuple(
        (
            p.name,
            "; ".join(f"{n}: {bit_words(outcome.job.bits[n], units)}" for n in p.bits),
            "nothing" if p.touch_off is None else f"{p.touch_off.surface}, enter Z {show(p.touch_off.z, units)}",
            minutes(p.minutes),
        )
        for p in outcome.programs
    )
    return Table("Programs, in this order", ("program", "bit", "touch off", "time"), rows, frozenset({3}))


def coupon_page(coupon: Coupon, outcome: Outcome) -> str:
    """The whole page, for the printer."""
    job, units = coupon.loaded.job, coupon.loaded.job.units
    stock = job.stock
    facts = [
        f"A scrap of {outcome.wood.name}, the same as the job's, {size(stock.length, units)} long (along the grain), "
        f"{size(stock.width, units)} wide, {show(stock.thickness.max, units)} thick, planed on both faces.",
        "Tape it to waste board: bores go through. Zero: X at its left end, Y at the edge on your side, Z on its top.",
        "Cut it with the same bits, collets and speeds of the job, then write each piece's number beside it.",
        "Measure each piece across its width, twice, and write the mean into the table; a slot is measured away from "
        "its round ends, a hole along the grain and across it.",
    ]
    after = (
        f"Then ask for the lines to paste into the job: neckpath coupon {plain(coupon.loaded.path.name, 80)} "
        f"--measured {','.join(f'{f.name}=...' for f in coupon.fits[:3])}"
    )
    said = "".join(f"<li>{escaped(f)}</li>" for f in facts)
    own = [outcome.wood.caution] if outcome.wood.caution else []
    cautions = "".join(f"<li>{escaped(c)}</li>" for c in [*own, *CAUTIONS])
    body = (
        f"<h1>{escaped(job.title)}</h1>"
        f'<p class="faint">{escaped(coupon.loaded.path.name)}, coupon {escaped(outcome.job_hash)}, machine '
        f"{escaped(outcome.machine.name)}</p>"
        f'<p class="verdict {weight(outcome)}">{escaped(verdict(outcome))}</p>'
        f"{html_table(findings_table(outcome), weights=1) if outcome.findings else ''}"
        '<p>Date <span class="blank"></span> &nbsp; Calipers <span class="blank"></span></p>'
        f"<ul>{said}</ul>"
        f"<section><h2>Where the pieces lie (printed at 100 %, this is full size)</h2>{_drawing(coupon.pieces, stock)}"
        f"</section>{html_table(coupon_table(coupon))}<p>{escaped(after)}</p>"
        f"{html_table(programs_of_coupon(outcome), ticks=True)}"
        f"<section><h2>Before and while cutting</h2><ul>{cautions}</ul></section>"
    )
    return page(plain(job.title), body, _STYLE)


def _wanted(fit: Fit, units: Units) -> str:
    return show(fit.wanted, units, 3)


def _runout_words(widening: float, fit: Fit, units: Units) -> str:
    """How wide it comes out where the bit runs out of true."""
    return (
        f"; about {show_fine(fit.wanted + widening, units)} with {show_fine(widening, units)} runout"
        if widening
        else ""
    )


def _depth(piece: Piece, units: Units) -> str:
    return "through" if piece.depth is None else show(piece.depth, units)


def _drawing(pieces: Sequence[Piece], stock: Stock) -> str:
    """The scrap from above, y away from the operator, 1 mm of wood to 1 mm of paper."""
    length, width = stock.length, stock.width
    marks: list[str] = []
    for number, piece in enumerate(pieces, 1):
        (ax, ay), (bx, by) = piece.start, piece.end
        y0, y1 = width / 2 - ay, width / 2 - by
        if piece.kind == "line":
            shape = f'<line x1="{ax:.3f}" y1="{y0:.3f}" x2="{bx:.3f}" y2="{y1:.3f}" stroke-width="0.4"/>'
            tx, ty = ax - 4.0, 5.0
        elif piece.kind == "slot":
            w = piece.width
            left, top = min(ax, bx), min(y0, y1)
            wide, high = abs(bx - ax) or w, abs(y1 - y0) or w
            left, top = (left - w / 2, top) if bx == ax else (left, top - w / 2)
            shape = f'<rect x="{left:.3f}" y="{top:.3f}" width="{wide:.3f}" height="{high:.3f}" rx="{w / 2:.3f}"/>'
            tx, ty = left + wide / 2, top - 1.2
        else:
            shape = f'<circle cx="{ax:.3f}" cy="{y0:.3f}" r="{piece.width / 2:.3f}"/>'
            tx, ty = ax, y0 - piece.width / 2 - 1.2
        words = f'<text class="figure" x="{tx:.3f}" y="{ty:.3f}" text-anchor="middle">{number}</text>'
        marks.append(shape + words)
    ruler = 100.0 if length >= 110 else 10.0 * int((length - 10) // 10)
    at = width + 4
    marks.append(
        f'<line x1="0" y1="{at:.3f}" x2="{ruler:.3f}" y2="{at:.3f}" stroke-width="0.4"/>'
        f'<text class="figure" x="0" y="{at + 4:.3f}">this line is {ruler:g} mm long: measure it</text>'
    )
    box = f"-1 -1 {length + 2:.3f} {width + 11:.3f}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{length + 2:.3f}mm" height="{width + 11:.3f}mm" '
        f'viewBox="{box}" font-size="3.2" fill="none" stroke="currentColor" stroke-width="0.25" role="img" '
        f'aria-label="the coupon from above"><rect x="0" y="0" width="{length:.3f}" height="{width:.3f}"/>'
        f"{''.join(marks)}</svg>"
    )
