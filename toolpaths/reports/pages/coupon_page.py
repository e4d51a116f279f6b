"""`coupon.html` and its table: where each piece lies, how wide it should be, and room for how wide it came out."""

from __future__ import annotations

from toolpaths.common.units import MM_PER_INCH, Units, show, show_fine, size
from toolpaths.features.calibration.coupon import Coupon
from toolpaths.features.calibration.piece import Piece
from toolpaths.reports.pages.template import page
from toolpaths.reports.text.at_machine import touch
from toolpaths.reports.text.page_head import PARTS, head_of_files, instrument_words
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import bit_words, minutes, plain, verdict, weight
from toolpaths.verification.outcome import Outcome


def coupon_table(coupon: Coupon) -> Table:
    """Each piece in the order of its number; the last column is for the pencil."""
    units, bits = coupon.loaded.job.units, coupon.loaded.job.bits
    rows = []
    for number, (fit, piece) in enumerate(zip(coupon.fits, coupon.pieces, strict=True), 1):
        bit = bits[fit.feature.bit]
        how = "as wide as the bit" if fit.itself else f"each wall cut by itself, {bit_words(bit, units)}"
        if wider := bit.widening(coupon.loaded.machine.runout):
            how += f"; about {show_fine(fit.wanted + wider, units)} with {show_fine(wider, units)} runout"
        deep = "through" if piece.depth is None else show(piece.depth, units)
        wanted = show(fit.wanted, units, 3)
        rows.append((str(number), fit.name, fit.what, fit.feature.bit, wanted, how, deep, "__________"))
    headers = ("no.", "name", "piece", "bit", "should be", "how it is cut", "depth", "measured")
    return Table("The pieces", headers, tuple(rows), {0, 4, 6})


def programs_of_coupon(outcome: Outcome) -> Table:
    """The programs in their order, with what each bit touches."""
    units = outcome.job.units
    rows = tuple(
        (
            p.name,
            "; ".join(f"{n}: {bit_words(outcome.job.bits[n], units)}" for n in p.bits),
            touch(outcome, p),
            minutes(p.minutes),
        )
        for p in outcome.programs
    )
    return Table("Programs, in this order", ("program", "bit", "Z", "time"), rows, {3})


def coupon_page(coupon: Coupon, outcome: Outcome) -> str:
    """The whole page, for the printer."""
    job, units, stock = coupon.loaded.job, coupon.loaded.job.units, coupon.loaded.job.stock
    head = head_of_files(
        "Coupon",
        coupon.title,
        [(coupon.loaded.path.name, outcome)],
        PARTS[job.part],
        instrument_words(job.instrument, units),
        outcome.wood.name,
        outcome.machine.name,
    )
    measured = ",".join(f"{f.name}=..." for f in coupon.fits[:3])
    long = size if units == "mm" else show
    return page(
        "pages/coupon.html",
        title=head.page_title,
        head=head,
        outcome=outcome,
        weight=weight(outcome),
        verdict=verdict(outcome),
        size={
            "length": long(stock.length, units),
            "width": long(stock.width, units),
            "thick": show(stock.thickness.max, units),
        },
        stock=stock,
        pieces=[_drawn(piece, stock.width) for piece in coupon.pieces],
        ruler=_ruler(stock.length, units),
        pieces_table=coupon_table(coupon),
        after="Print the lines to paste into the job: "
        f"`neckpath coupon {plain(coupon.loaded.path.name, 300)} --measured {measured}`",
        programs=programs_of_coupon(outcome),
    )


def _ruler(length: float, units: Units) -> dict[str, str | float]:
    """A line of a round length that fits below the scrap, to see whether the page is at full size. `long`: mm."""
    unit, most = (MM_PER_INCH, 4) if units == "in" else (10.0, 10)
    steps = max(1, min(most, int((length - 10) // unit)))
    return {"long": steps * unit, "words": f"{steps} in" if units == "in" else f"{10 * steps} mm"}


def _drawn(piece: Piece, width: float) -> dict[str, str | float]:
    """Where a piece and its number stand, from above, y away from the operator, mm; `width`: of the scrap."""
    (ax, ay), (bx, by), radius = piece.start, piece.end, piece.width / 2
    ay, by = width / 2 - ay, width / 2 - by
    lines: dict[str, str | float] = {"kind": piece.kind, "ax": ax, "ay": ay, "bx": bx, "by": by, "radius": radius}
    if piece.kind == "line":
        return {**lines, "tx": ax - 4.0, "ty": 5.0}
    if piece.kind != "slot":
        return {**lines, "tx": ax, "ty": ay - radius - 1.2}
    left, top = (min(ax, bx) - radius, min(ay, by)) if bx == ax else (min(ax, bx), min(ay, by) - radius)
    wide, high = abs(bx - ax) or piece.width, abs(by - ay) or piece.width
    return {**lines, "left": left, "top": top, "wide": wide, "high": high, "tx": left + wide / 2, "ty": top - 1.2}
