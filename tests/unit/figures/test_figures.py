"""Every length that a person reads on the sheet, its measuring list and the list for the hands, found on the wood.

The wood is cut from the programs' text; a figure is looked for at its place as one would with calipers, a depth gauge
or the controller's own display. A length that nobody looks for fails the test: see `TOLD`.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterator

import pytest

from tests.unit.figures import told_at_the_machine as machine
from tests.unit.figures import told_to_the_hands as hands
from tests.unit.figures.cut_jobs import Cut, every_job
from tests.unit.figures.on_the_wood import bed, wrong
from tests.unit.figures.told import LENGTH, Told, near
from toolpaths.common.units import show
from toolpaths.instrument.handwork.handwork import Figure
from toolpaths.reports.pages.sheet import sheet
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.verification.outcome import SetupReport
from toolpaths.workshop.measures import measures


@every_job
def test_each_row_of_the_measuring_list_is_what_the_wood_has_then(cut: Cut) -> None:
    def figures() -> Iterator[tuple[str, Figure, StandingWood, bool]]:
        for setup in cut.outcome.setups:
            for row in measures(cut.outcome, setup):
                assert row.measure.figures or not LENGTH.search(row.measure.said)
                if row.mark.before:
                    continue  # nothing of this setup is cut yet: see below
                for figure in row.measure.figures:
                    assert show(figure.value, "mm") == show(row.measure.figures[0].value, "mm")
                    yield row.measure.words, figure, cut.wood(figure.setup, row.program.name), False

    assert [] == wrong(cut, figures())


@every_job
def test_what_is_measured_before_a_setup_is_how_the_blank_lies_in_it(cut: Cut) -> None:
    for setup in cut.outcome.setups:
        context = setup.context
        for figure in (row.measure.figures[0] for row in measures(cut.outcome, setup) if row.mark.before):
            x0, y0, x1, y1 = context.stock_box
            assert x0 < figure.at[0] < x1
            assert y0 < figure.at[1] < y1
            bed = context.bed if figure.kind == "height" else 0.0
            assert figure.value == pytest.approx(context.top - bed)


@every_job
def test_each_figure_of_the_list_for_the_hands_is_what_the_wood_has_in_the_end(cut: Cut) -> None:
    def figures() -> Iterator[tuple[str, Figure, StandingWood, bool]]:
        for entry in cut.outcome.handwork:
            for figure in entry.figures:
                program = None
                if entry.when == "before the next":
                    # It is read then, and later cuts may take the place away.
                    program = [p.name for p in cut.outcome.programs if entry.feature in p.feature_minutes][-1]
                yield entry.what, figure, cut.wood(figure.setup, program, bed=bed(cut, entry.feature)), not entry.when

    assert [] == wrong(cut, figures())


# Lengths that are told of the job, the bits and the machine

L = r"(?:-?\d+(?:\.\d+)? (?:mm|in))"
TOLD: list[tuple[str, Callable[[Told], bool]]] = [
    (rf"scale {L}(?: \(bass\) to {L} \(treble\))?", machine.scale),
    (rf"Blank: {L} long, {L} wide, {L}(?: to {L})? thick", machine.stock),
    (
        rf"nut line square across the blank, {L} from its left end\. Pencil the centreline along it, {L} from",
        machine.lies,
    ),
    (rf"bit travels {L} above the bed", machine.travel),
    (rf"(?:Keep out|Clamp|Stop) \d+: [^:]*, x {L} to {L}, y {L} to {L}, {L} high", machine.kept_out),
    (
        rf"Screws? \(x and y, \w+\):(?: \d+ at -?[\d.]+, -?[\d.]+;)+ heads {L} wide, tops {L} above the bed",
        machine.screwed,
    ),
    (rf"Pins? \(x and y, \w+\):(?: \d+ at -?[\d.]+, -?[\d.]+;)+ pins {L} wide, tops {L} above the bed", machine.pinned),
    (rf"They may stand at most {L} above it", machine.standing),
    (rf"Drive the waste screws .*?hard:(?: \d+ of {L}, {L} into the bed[;.])+", machine.driven),
    (rf"rely on {L} at the thinnest and {L} at the thickest", machine.thinnest),
    (rf"planes the blank to {L}: {L}(?: to {L})? come off\.", machine.planed),
    (rf"Touch the [a-z ]*?\. Enter Z {L}", machine.enter),
    (rf"lift to Z {L}, go to X {L} Y {L}", machine.corner),
    (
        rf"Test: at Z {L} the blank's corner on your left is at X {L} Y {L}, the one on your right at X {L} Y {L}",
        machine.corner,
    ),
    (rf"turned by -?[\d.]+ degrees, {L} aside", machine.askew),
    (rf"\w+: (?:flat|vee|ball|bull) .*?stick-out {L}", hands.bits_of),
    (rf"Cut \d+ pins of \*, at most {L} long", hands.pins_long),
    # How wide beads are is from memory.
    (rf"Usual beads are {L} to {L} wide", lambda told: near((told.mm[0], 2.0), (told.mm[1], 2.8))),
    (rf"a Z that is {L} off shows", lambda told: near((told.mm[0], 0.1))),
    (rf"The bit goes {L} (?:into it|below the blank)", hands.allowance),
    (
        rf"no program planes it\. Its top must be flat, and the blank {L} thick",
        lambda told: near((told.mm[0], told.cut.outcome.asked.stock.thickness.max)),
    ),
    (rf"the bit left a radius of {L}", hands.bits_of),
    (rf"The bit leaves a radius of {L} in the corners", hands.bits_of),
    (rf"\(assumed {L}\)", hands.bits_of),
    (rf"may bend aside by about {L} at each wall \(an estimate\)", hands.gives_way),
    (rf"An error of {L} in {L} would move fret \d+ by {L}", machine.uncalibrated),
    (rf"Its runout widens the slot by about {L}", hands.widened),
    (
        rf"as wide as that bit and its runout, about {L}",
        lambda told: any(0 <= told.mm[0] - b < 0.1 for b in told.bits()),
    ),
    (rf"or cut the bar to {L}", hands.bar_end),
    (rf"To leave room for glue, the bar is {L} to {L} wide", hands.bar),
    (rf"left {L} of wood on the back of the shaft, and ridges of up to {L}", hands.left_on_back),
    (rf"Then {L} is left to scrape", hands.kerf_left),
    (rf"kerf at x {L} \(nearest to", machine.kerf_at),
    (rf"thickness on the centreline at x {L}", machine.measured_at),
    (rf"it has steps of at most {L}", lambda told: near((told.mm[0], 0.05))),
    (
        rf"Do not carve the heel's seat, {L} to {L} from the nut line: .*?ends at the wall of the seat and is {L} long",
        hands.seat,
    ),
    (
        rf"[Aa] routed pocket has a radius of {L} in its corners",
        lambda told: near((told.mm[0], told.cut.outcome.job.instrument.neck.heel.pocket.corner)),
    ),
    (rf"must agree within {L}", lambda told: near((told.mm[0], 0.1))),
    (rf"bridge's side is (?:at|{L} from) the nut line(?: toward the (?:bridge|headstock))?", hands.nut_wall),
    (rf"Radius the top to {L}.*?Up to {L} comes off", hands.radiused),
    (rf"check the slots from [a-z' ]*: fret \d+ is at {L}", hands.frets),
    (r"Measure its thickness with the board on, on the centreline: .*", hands.carved),
    (
        rf"{L} of carving allowance is already subtracted",
        lambda told: near((told.mm[0], told.cut.outcome.job.instrument.neck.wall.carver)),
    ),
    (
        rf"with a saw of {L} kerf, to {L} below .*?{L} left to saw"
        rf"(?: in the middle and {L} at the edges)?, the saw's stop at {L} from [a-z ]+\. At least {L} of wood",
        hands.sawn,
    ),
]


def untold(cut: Cut, setup: SetupReport | None, text: str) -> list[str]:
    """What is left of a text's lengths once each sentence that can be checked is; those that are wrong among them."""
    out: list[str] = []
    for pattern, right in TOLD:
        for match in re.finditer(pattern, text):
            told = Told(
                cut, setup, match[0], [float(v) * (25.4 if u == "in" else 1.0) for v, u in LENGTH.findall(match[0])]
            )
            if not right(told):
                out.append(f"wrong: {match[0]}")
        text = re.sub(pattern, lambda m: LENGTH.sub("*", m[0]), text)
    return out + [text[max(0, m.start() - 60) : m.end() + 20] for m in LENGTH.finditer(text)]


@every_job
def test_no_length_of_the_list_for_the_hands_goes_unchecked(cut: Cut) -> None:
    units, out = cut.outcome.job.units, []
    for entry in cut.outcome.handwork:
        text = entry.what
        for figure in entry.figures:
            text = re.sub(rf"(?<![\d.]){re.escape(show(figure.value, units))}", "*", text)
        out += untold(cut, None, text)
    assert [] == out


@every_job
def test_no_length_of_the_sheet_goes_unchecked(cut: Cut) -> None:
    outcome = cut.outcome
    page = re.sub(r"<style.*?</style>|<svg.*?</svg>|<title>.*?</title>", "", sheet(outcome), flags=re.DOTALL)
    page = html.unescape(re.sub(r"<[^>]+>", "", re.sub(r"</t[dh]>", " | ", page))).replace(outcome.job.title, "")
    for entry in outcome.handwork:
        page = page.replace(entry.what, "")
    sections = page.split("Setup ")
    out: list[str] = []
    current: SetupReport | None = None
    names = {s.context.setup.name: s for s in outcome.setups}
    for part in sections:
        begun = next((s for name, s in names.items() if part.startswith(name) and "Zero (" in part), None)
        current = begun or current
        if begun is not None:
            for row in measures(outcome, begun):
                if row.measure.figures:
                    # A mark's value stands in the block of its program.
                    before, programs, blocks = part.partition("The programs, in this order")
                    part = before + programs + blocks.replace(row.measure.figures[0].wanted(outcome.job.units), "*")
        out += untold(cut, current, ("Setup " if part is not sections[0] else "") + part)
    assert [] == out


def test_a_figure_that_nobody_checks_is_seen() -> None:
    assert untold(None, None, "Leave 3.00 mm beside it.")  # type: ignore[arg-type]
    assert not untold(None, None, "Leave 3 sheets in place.")  # type: ignore[arg-type]
