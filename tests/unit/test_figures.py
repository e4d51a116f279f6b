"""Every length that a person reads on the sheet, its measuring list and the list for the hands, found on the wood.

The wood is cut from the programs' text; a figure is looked for at its place as one would with calipers, a depth gauge
or the controller's own display. A length that nobody looks for fails the test: see `TOLD`.
"""

from __future__ import annotations

import html
import math
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from toolpaths.common.units import show
from toolpaths.instrument.handwork.handwork import Figure
from toolpaths.instrument.necks import back_depth
from toolpaths.job.changes import Changes
from toolpaths.job.cut_kind import CutKind
from toolpaths.operations.cutting_forces import deflection
from toolpaths.operations.machine_stiffness import stiffness_of
from toolpaths.pipeline import prove as proof
from toolpaths.pipeline.run import make
from toolpaths.pipeline.workpiece import Workpiece
from toolpaths.reports.pages.sheet import sheet
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.measures import measures

ROOT = Path(__file__).parents[2]
SKEW = "skew: {points: [[-150, -51.2], [380, -48.9]]}"
NECK = "demo_jobs/tenor_neck.yaml"
JOBS: dict[str, tuple[str, list[tuple[str, str]]]] = {
    "neck": (NECK, []),
    "neck, other numbers": (
        NECK,
        [
            ("leave: 25}", "leave: 24.7}"),
            ("drop: 4,", "drop: 3.4,"),
            ("from: -8, ramp: 12", "from: -9, ramp: 15"),
            ("depth: 5.5, place", "depth: 5.1, place"),
            ("depth: 8}", "depth: 8.4}"),
            ("      - bed_bores", "      - plane: {bit: planer, leave: 23.9}\n      - bed_bores"),
            ("depth: 1.2}", "depth: 1.3}"),
            ("depth: 17.6,", "depth: 16.9,"),
            (
                "depth: 7.5, tabs: {count: 6, length: 8, height: 10.5}",
                "depth: 7.8, tabs: {count: 4, length: 9, height: 10.8}",
            ),
            ("pins: {height: 14}  # below all that is cut over them\n", f"pins: {{height: 14}}\n    {SKEW}\n"),
            ("[420, 42]]}    # through", "[420, 42]], sunk: 5}    # through"),
        ],
    ),
    "board": ("demo_jobs/tenor_board.yaml", []),
    "inch board": ("demo_jobs/parlour_board_inch.yaml", []),
    "two sides": ("tests/cases/two_sided_neck.yaml", []),
    "faces from the back": ("tests/cases/neck_faces.yaml", []),
    "two sides, thinner": (
        "tests/cases/two_sided_neck.yaml",
        [
            ("leave: 18}", "leave: 17.4}"),
            ("depth: 17}", "depth: 16.4}"),
            ("-35.4]]", "-37.9]]"),
            ("height: 2.5", "height: 3.1"),
        ],
    ),
    "left-handed, ramp": ("tests/cases/headstock_ramp.yaml", []),
    "inch rod": ("tests/cases/arc_rod.yaml", []),
    "kerfs": ("tests/cases/kerfed_neck.yaml", []),
}
STEP = 0.005
OUTSIDE = 0.35
NEAR = 0.035
"""How far a figure may be from the wood, mm: the comparison's 0.02, half a digit shown, chords and the steps here."""
LENGTH = re.compile(r"(?<![\w.])(-?\d+(?:\.\d+)?) (mm|in)\b(?![²³])")


@dataclass
class Cut:
    """A job cut: its outcome, and the wood after each program."""

    outcome: Outcome
    after: dict[str, CheckInput] = field(default_factory=dict)

    def wood(self, setup: str, program: str | None = None, *, bed: bool = False) -> StandingWood:
        """The wood of a setup after a program, or at its end."""
        if program is not None:
            return self.after[program].standing
        return [e.standing for e in self.after.values() if e.context.setup.name == setup and e.on_bed == bed][-1]


@pytest.fixture(scope="module")
def cut(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cut]:
    """A job's programs cut into the blank; they are judged elsewhere."""
    path, changes = JOBS[request.param]
    source = ROOT / path
    if changes:
        folder = tmp_path_factory.mktemp("job") / "job"
        shutil.copytree(source.parent, folder)
        text = source.read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text, old
            text = new.join(text.rsplit(old, 1))
        source = folder / source.name
        source.write_text(text, encoding="utf-8")
    kept: dict[str, CheckInput] = {}
    with pytest.MonkeyPatch.context() as patch:
        own = Workpiece.cut

        def cutting(self: Workpiece, batch: Any, program: Any, *rest: Any) -> CheckInput:
            inputs = kept[program.name] = own(self, batch, program, *rest)
            return inputs

        patch.setattr(Workpiece, "cut", cutting)
        patch.setattr(proof, "judge", lambda inputs: [])
        yield Cut(make(source, Changes(pitch=1.0)), kept)


# The same neck with other numbers asks as much: as it stands it is measured in the slow suites.
LONG = {"neck", "two sides"}
every_job = pytest.mark.parametrize(
    "cut", [pytest.param(name, marks=pytest.mark.slow if name in LONG else ()) for name in JOBS], indirect=True
)


# Calipers and gauges


def heights(wood: StandingWood, figure: Figure, along: np.ndarray) -> np.ndarray:
    """Heights at distances along a figure's axis from its place."""
    return wood.heights(np.asarray(figure.at) + along[:, None] * np.asarray(figure.axis))


def wall(wood: StandingWood, figure: Figure, sign: float, outside: float = OUTSIDE) -> float:
    """How far from a figure's place the wall of the cut stands: inward from the surface beside it, where it drops.

    NaN where the cut goes on beyond `outside`, mm, more than the figure says.
    """
    half = (figure.value if figure.kind == "width" else 0.0) / 2
    along = np.arange(half + outside, -STEP, -STEP)
    h = heights(wood, figure, sign * along)
    down = h < h[0] - 0.02
    return float(along[np.argmax(down)]) if down.any() else math.nan


def edge(wood: StandingWood, figure: Figure, sign: float, begin: float) -> float:
    """How far from a figure's place the wood ends, looked for from `begin` on."""
    along = np.arange(begin, begin + 4.0, STEP)
    h = heights(wood, figure, sign * along)
    down = h < h[0] - 0.03
    return float(along[np.argmax(down)]) if down.any() else math.nan


def measured(cut: Cut, figure: Figure, wood: StandingWood, *, later: bool) -> float:
    """A figure as the wood has it, mm. `later`: the other side is cut too."""
    one = lambda place: float(wood.heights(np.asarray([place]))[0])  # noqa: E731
    match figure.kind:
        case "depth":
            assert figure.beside is not None
            return one(figure.beside) - one(figure.at)
        case "width":
            return wall(wood, figure, 1.0) + wall(wood, figure, -1.0)
        case "place":
            return figure.at[0] + (wall(wood, figure, 1.0, 2.0) - wall(wood, figure, -1.0, 2.0)) / 2
        case "between":
            assert figure.beside is not None
            first = replace(figure, at=figure.beside)
            middles = [(wall(wood, f, 1.0, 5.0) - wall(wood, f, -1.0, 5.0)) / 2 for f in (first, figure)]
            return figure.at[0] + middles[1] - figure.beside[0] - middles[0]
        case "rim":
            return wall(wood, figure, 1.0, figure.value + OUTSIDE)
        case "height":
            context = next(s.context for s in cut.outcome.setups if s.context.setup.name == figure.setup)
            return one(figure.at) - context.bed
        case "standing":
            return sum(edge(wood, figure, sign, figure.value / 2 - 0.6) for sign in (1.0, -1.0))
        case "beyond":
            return edge(wood, figure, 1.0, figure.value / 2)
        case "thickness":
            contexts = {s.context.setup.name: s.context for s in cut.outcome.setups}
            own, under = contexts[figure.setup], 0.0
            names = list(contexts)
            for name, other in contexts.items():
                cut_before = later or names.index(name) < names.index(figure.setup)
                if other.flipped != own.flipped and not other.apart and cut_before:
                    seen = float(cut.wood(name).heights(np.asarray([(figure.at[0], -figure.at[1])]))[0])
                    under = max(under, own.glue - seen)
            return one(figure.at) - under


def bed(cut: Cut, feature: str) -> bool:
    return any(f.name == feature and f.order == "bed" for s in cut.outcome.job.setups for f in s.features)


def wrong(cut: Cut, figures: Iterator[tuple[str, Figure, StandingWood, bool]]) -> list[str]:
    out = []
    for what, figure, wood, later in figures:
        found = measured(cut, figure, wood, later=later)
        if not abs(found - figure.value) <= NEAR:
            out.append(f"{what}: {figure.kind} {figure.value:.3f} at {figure.at}, the wood has {found:.3f}")
    return out


@every_job
def test_each_row_of_the_measuring_list_is_what_the_wood_has_then(cut: Cut) -> None:
    def figures() -> Iterator[tuple[str, Figure, StandingWood, bool]]:
        for setup in cut.outcome.setups:
            for row in measures(cut.outcome, setup):
                assert row.measure.figures or not LENGTH.search(row.measure.said)
                if row.before:
                    continue  # nothing of this setup is cut yet: see below
                for figure in row.measure.figures:
                    assert show(figure.value, "mm") == show(row.measure.figures[0].value, "mm")
                    yield row.measure.words, figure, cut.wood(figure.setup, row.program.name), False

    assert [] == wrong(cut, figures())


@every_job
def test_what_is_measured_before_a_setup_is_how_the_blank_lies_in_it(cut: Cut) -> None:
    for setup in cut.outcome.setups:
        context = setup.context
        for figure in (row.measure.figures[0] for row in measures(cut.outcome, setup) if row.before):
            x0, y0, x1, y1 = context.stock_box
            assert x0 < figure.at[0] < x1
            assert y0 < figure.at[1] < y1
            bed = context.bed if figure.kind == "height" else 0.0
            assert figure.value == pytest.approx(context.top - bed)
            assert figure.value + figure.within[0] <= figure.value + figure.within[1]


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


@dataclass
class Told:
    """A sentence's lengths, mm, and where it stands."""

    cut: Cut
    setup: SetupReport | None
    text: str
    mm: list[float]

    def places(self) -> list[float]:
        """x and y of each `5 at 17.00, -42.00`, mm."""
        by = 25.4 if " in):" in self.text else 1.0
        return [float(v) * by for xy in re.findall(r" at (-?[\d.]+), (-?[\d.]+)", self.text) for v in xy]

    def bits(self) -> list[float]:
        return [v for b in self.cut.outcome.job.bits.values() for v in (b.cut_diameter, b.cut_diameter / 2, b.stickout)]


def near(*pairs: tuple[float, float]) -> bool:
    return all(abs(a - b) < 0.0131 for a, b in pairs)


def controller(told: Told, setup: SetupReport, place: tuple[float, float]) -> tuple[float, float]:
    """Which coordinates bring the bit to a place: from the moves of the setup's own programs, and where they cut."""
    own = [e for e in told.cut.after.values() if e.context.setup.name == setup.context.setup.name]
    there, here = [], []
    for e in own:
        last = np.r_[np.diff(e.moves.parent) != 0, True]
        there.append(e.moves.end[last, :2])
        here.append(e.as_written.end[e.moves.parent[last], :2])
    a, b = np.concatenate(there), np.concatenate(here)
    way, *_ = np.linalg.lstsq(np.column_stack([a, np.ones(len(a))]), b, rcond=None)
    x, y = np.array([*place, 1.0]) @ way
    return float(x), float(y)


def corner(told: Told) -> bool:
    """Both corners of the blank, or one of the nut, as the controller shows them."""
    setup = told.setup
    assert setup is not None
    x0, y0, x1, _ = setup.context.stock_box
    lift, *xy = told.mm
    width = told.cut.outcome.job.instrument.board.width.nut
    places = [(x0, y0), (x1, y0)] if len(xy) == 4 else [(0.0, -width / 2)]
    wanted = [v for place in places for v in controller(told, setup, place)]
    return near((lift, setup.context.travel_height - setup.context.zero[2]), *zip(xy, wanted, strict=True))


def planed(told: Told) -> bool:
    """What is left, what comes off the blank where it was thinnest and thickest, and what sanding is left."""
    job = told.cut.outcome.job
    leaves = [f.leave for s in job.setups for f in s.features if f.key == "plane"]  # type: ignore[attr-defined]
    i = next(k for k, leave in enumerate(leaves) if near((leave, told.mm[0])))
    before = (job.stock.thickness.min, job.stock.thickness.max) if i == 0 else (leaves[i - 1],) * 2
    off = told.mm[1:-2]
    return near((told.mm[-2], 0.2), (told.mm[-1], 0.3), *zip(off, [b - leaves[i] for b in before], strict=False))


def lies(told: Told) -> bool:
    assert told.setup is not None
    x0, y0, *_ = told.setup.context.stock_box
    return near((told.mm[0], -x0), (told.mm[1], -y0))


def stock(told: Told) -> bool:
    assert told.setup is not None
    context = told.setup.context
    x0, y0, x1, y1 = context.stock_box
    return near((told.mm[0], x1 - x0), (told.mm[1], y1 - y0), (told.mm[2], context.least), (told.mm[-1], context.top))


def enter(told: Told) -> bool:
    """The surface that is touched lies there, in the wood, before the program runs."""
    assert told.setup is not None
    context = told.setup.context
    high = {"the bed": 0.0, "the stock top": context.top, "the planed face": context.face}
    surface = next(h for words, h in high.items() if words in told.text)
    return near((told.mm[-1], surface - context.zero[2]))


def frets(told: Told) -> bool:
    fret = int(re.findall(r"fret (\d+)", told.text)[-1])
    scale = told.cut.outcome.job.instrument.scale_length
    return not isinstance(scale, float) or near((told.mm[0], scale * (1 - 2 ** (-fret / 12))))


def carved(told: Told) -> bool:
    """Thickness with the board: straight between the stations of the job, the heel its own."""
    job = told.cut.outcome.job
    neck, scale = job.instrument.neck, job.instrument.scale_length
    assert neck is not None
    assert isinstance(scale, float)
    at = {s.fret: s.thickness for s in neck.thickness}
    xs = [scale * (1 - 2 ** (-n / 12)) for n in at]
    for n, mm in zip(map(int, re.findall(r"fret (\d+)", told.text)), told.mm, strict=False):
        x = scale * (1 - 2 ** (-n / 12))
        blended = neck.heel is not None and x > neck.heel.start - neck.heel.blend
        if not blended and abs(mm - np.interp(x, xs, list(at.values()))) > 0.02:
            return False
    return "heel" not in told.text or (neck.heel is not None and near((told.mm[-1], neck.heel.thickness)))


def sawn(told: Told) -> bool:
    """The saw's kerf, the depth below the surface, what is left of it in the middle and at the edges, where those
    differ, the stop, and the wood that stays under the last slot's ends."""
    job = told.cut.outcome.job
    kerf, below, left, *edges, stop, under = told.mm
    line = next(f for s in job.setups for f in s.features if f.key == "score_lines")
    remains = max(line.depth - dropped(told, 1), 0.0)  # type: ignore[attr-defined]
    thick = job.instrument.board.thickness - dropped(told, job.instrument.frets)
    right = near((kerf, job.saw.kerf), (left, below - line.depth), (stop, below), (under, thick - below))  # type: ignore[attr-defined]
    return right and near(*((edge, below - remains) for edge in edges))


def bits_of(told: Told) -> bool:
    return all(any(near((mm, bit)) for bit in told.bits()) for mm in told.mm)


def widened(told: Told) -> bool:
    runout = told.cut.outcome.machine.runout
    return any(near((told.mm[0], bit)) for bit in told.bits()) and near((told.mm[1], runout))


def gives_way(told: Told) -> bool:
    """60 N/mm2 (from memory) x the last skim's wood a second / the speed of the edges; yield of machine and bit.

    P = F v and Hooke's law: elementary mechanics. Rounded up to what is printed.
    """
    machine, out = told.cut.outcome.machine, []
    for row in (f for s in told.cut.outcome.setups for f in s.features):
        bit, c = told.cut.outcome.job.bits[row.bit], row.cutting
        deep = min(row.deepest_mm, bit.cutting_length)
        rate = c.finish_allowance * deep * c.along_wall(deep, bit.diameter)
        force = 60.0 * rate / (math.pi * bit.diameter * c.rpm)
        out.append(force / stiffness_of(machine).value + deflection(bit, force, deep))
    return any(-1e-6 <= told.mm[0] - by <= (0.0254 if told.cut.outcome.job.units == "in" else 0.01) for by in out)


def uncalibrated(told: Told) -> bool:
    """Equal temperament: fret n stands scale (1 - 2^(-n/12)) from the nut, and an axis is off in proportion."""
    scale, fret = told.cut.outcome.job.instrument.scale_length, int(re.findall(r"fret (\d+)", told.text)[0])
    length = scale if isinstance(scale, float) else (scale.bass + scale.treble) / 2
    off, way, moved = told.mm
    return abs(moved - off / way * length * (1 - 2 ** (-fret / 12))) <= NEAR


def allowance(told: Told) -> bool:
    lowest = min(e.moves.end[:, 2].min() for e in told.cut.after.values() if not e.on_bed)
    return near((told.mm[0], -lowest))


def travel(told: Told) -> bool:
    assert told.setup is not None
    runs = told.setup.runs.values()
    return near((told.mm[0], max(run.moves.end[:, 2].max() for run in runs)))


def kept_out(told: Told) -> bool:
    """A box of the job's file."""
    assert told.setup is not None
    setup = told.setup.context.setup
    boxes = [*setup.keep_out, *setup.holders.clamps, *setup.holders.stops]
    return any(near(*zip(told.mm, (*k.x, *k.y, k.height), strict=True)) for k in boxes)


def screwed(told: Told) -> bool:
    """Places of the job's screws as they lie, the width of their heads, and their tops: on the floor they stand on."""
    assert told.setup is not None
    setup, context = told.setup.context.setup, told.setup.context
    places, (wide, top) = told.places(), told.mm
    groups = [
        g for g in setup.holders.screws
        if near((wide, g.head), (top, context.above_bed(context.top - g.sunk + g.head_height)))
    ]  # fmt: skip
    # Screws whose holes the router bores lie askew as the blank does; others where they are.
    return any(
        near(*zip(places, (v for at in g.at for v in at), strict=True)) for g in groups if len(g.at) == len(places) / 2
    )


def pinned(told: Told) -> bool:
    assert told.setup is not None
    places, (wide, top) = told.places(), told.mm
    holes = [d.asked for d in told.setup.demands if d.kind is CutKind.bed_hole]
    true = [v for h in holes if near((wide, 2 * math.sqrt(h.area / math.pi))) for v in
            told.setup.context.as_it_lies(h.centroid.x, h.centroid.y)]  # fmt: skip
    pins = told.setup.context.setup.holders.pins
    return pins is not None and near((top, pins.height), *zip(places, true, strict=True))


def standing(told: Told) -> bool:
    """How high pins may stand: within the other side's bores, 1 mm below all that is cut around them, in the wood."""
    most = []
    for setup in told.cut.outcome.setups:
        for hole in (d.asked for d in setup.demands if d.kind is CutKind.bed_hole):
            assert setup.standing is not None
            assert setup.beneath is not None
            centre = np.array([[hole.centroid.x, hole.centroid.y]])
            turn, far = np.linspace(0, 2 * np.pi, 90), math.sqrt(hole.area / math.pi) + 1.0
            around = np.vstack([centre, centre + far * np.column_stack([np.cos(turn), np.sin(turn)])])
            under = setup.context.glue - setup.beneath[1].heights(centre * [1, -1])[0]
            most.append(min(under, setup.standing.heights(around).min() - 1.0))
    return abs(told.mm[0] - min(most)) <= NEAR


def driven(told: Told) -> bool:
    """Sizes of screws, as the job gives them."""
    screws = [g for s in told.cut.outcome.job.setups for g in s.holders.screws]
    sizes = list(dict.fromkeys((g.diameter, g.into_bed) for g in screws))[: len(told.mm) // 2]
    return near(*zip(told.mm, (v for size in sizes for v in size), strict=True))


def askew(told: Told) -> bool:
    assert told.setup is not None
    return near((told.mm[0], told.setup.context.skew[1]))


def dropped(told: Told, fret: int, beyond: float = 0.0) -> float:
    """How far the top of one radius lies lower at the edges there: the sagitta of the board's width, mm."""
    instrument = told.cut.outcome.job.instrument
    width = instrument.board.width

    def place(n: int) -> float:
        return float(instrument.scale_length * (1 - 2 ** (-n / 12)))

    there = place(instrument.frets) + instrument.board.overhang if width.at == "end" else place(width.at)
    half = (width.nut + (width.there - width.nut) * (place(fret) + beyond) / there) / 2
    radius = instrument.board.radius
    return 0.0 if radius is None else radius - math.sqrt(radius**2 - half**2)


def radiused(told: Told) -> bool:
    board = told.cut.outcome.job.instrument
    return near((told.mm[0], board.board.radius), (told.mm[-1], dropped(told, board.frets, board.board.overhang)))


def thinnest(told: Told) -> bool:
    thick = told.cut.outcome.job.stock.thickness
    return near((told.mm[0], thick.min), (told.mm[1], thick.max))


def bar(told: Told) -> bool:
    slots = next(f for s in told.cut.outcome.job.setups for f in s.features if f.key == "reinforcement_slots")
    width = slots.width  # type: ignore[attr-defined]
    return near((told.mm[-2], width - 0.2), (told.mm[-1], width - 0.1))


def bar_end(told: Told) -> bool:
    entry = next(h for h in told.cut.outcome.handwork if "round the bar's ends" in h.what)
    width, length = entry.figures[0].value, entry.figures[2].value
    return near((told.mm[0], length - width))


def left_on_back(told: Told) -> bool:
    """What the rough back leaves, and its ridges: on the centreline, between the kerfs, in the wood."""
    job = told.cut.outcome.job
    (feature,) = (f for s in job.setups for f in s.features if CutKind.rough_back in f.cuts)
    setup = next(s.name for s in job.setups if feature in s.features)
    # Kerfs lie at whole multiples of their distance.
    every = [f.every for s in job.setups for f in s.features if CutKind.depth_kerf in f.cuts]  # type: ignore[attr-defined]
    x = np.array([a for a in np.linspace(42.0, 58.0, 33) if all(abs(a - round(a / e) * e) > 2.5 for e in every)])
    y = np.linspace(-6.0, 6.0, 161)
    places = np.array([(a, b) for a in x for b in y])
    back = back_depth(job.instrument, places[:, 0], places[:, 1])
    over = told.cut.wood(setup).heights(places) - back
    return abs(over.min() - told.mm[0]) <= NEAR and over.max() <= sum(told.mm) + NEAR


def kerf_at(told: Told) -> bool:
    """A kerf's middle: on the centreline the wood drops as far before the place as behind it."""
    assert told.setup is not None
    x = told.mm[0] + np.arange(-4.0, 4.0, 0.01)
    h = told.cut.wood(told.setup.context.setup.name).heights(np.column_stack([x, 0 * x]))
    low = x[h < (h.min() + h.max()) / 2]
    return h.max() - h.min() > 1.0 and abs((low[0] + low[-1]) / 2 - told.mm[0]) <= NEAR


def measured_at(told: Told) -> bool:
    """The place of the thickness that the measuring list asks for."""
    assert told.setup is not None
    figures = [f for row in measures(told.cut.outcome, told.setup) for f in row.measure.figures]
    return any(near((told.mm[0], f.at[0])) for f in figures if f.kind == "thickness")


def kerf_left(told: Told) -> bool:
    kerfs = next(f for s in told.cut.outcome.job.setups for f in s.features if CutKind.depth_kerf in f.cuts)
    return near((told.mm[0], kerfs.leave))  # type: ignore[attr-defined]


def nut_wall(told: Told) -> bool:
    """The bridge-side wall, in the wood."""
    entry = next(h for h in told.cut.outcome.handwork if h.what.startswith("Fit the nut"))
    wide = entry.figures[0]
    return abs(told.mm[0] - wide.at[0] - wall(told.cut.wood(wide.setup), wide, 1.0)) <= NEAR


def seat(told: Told) -> bool:
    """The heel's seat begins at its wall in the wood, and ends where the heel does; the rest is the instrument's."""
    job = told.cut.outcome.job
    setup = next(s for s in told.cut.outcome.setups if any(d.kind is CutKind.heel_seat for d in s.demands))
    wood, (start, to, blend) = told.cut.wood(setup.context.setup.name), told.mm
    z = next(float(d.floor.height(np.zeros(1), np.zeros(1))[0]) for d in setup.demands if d.kind is CutKind.heel_seat)
    before, within, last = wood.heights(np.array([[start - 0.05, 1.0], [start + 0.05, 1.0], [to - 0.6, 1.0]]))
    stands = before > z + 0.5 and abs(within - z) <= NEAR and abs(last - z) <= NEAR
    heel = job.instrument.neck.heel
    return bool(stands) and near((start, heel.start), (to, heel.to), (blend, heel.blend))


def pins_long(told: Told) -> bool:
    """As deep as the holes are in the wood, and as much of the board as lies under the lowest slot over one of them."""
    job = told.cut.outcome.job
    setup = next(s for s in told.cut.outcome.setups if any(d.feature == "locating_pins" for d in s.demands))
    wood, board = told.cut.wood(setup.context.setup.name), job.instrument.board
    rooms = []
    for demand in (d for d in setup.demands if d.feature == "locating_pins"):
        x, y = demand.middle
        over, floor = wood.heights(np.array([[x + 2.0, y], [x, y]]))
        drop = board.radius - math.sqrt(board.radius**2 - y * y)
        rooms.append(over - floor + board.thickness - job.saw.depth - drop)
    return abs(told.mm[0] - min(rooms)) <= NEAR


L = r"(?:-?\d+(?:\.\d+)? (?:mm|in))"
TOLD: list[tuple[str, Callable[[Told], bool]]] = [
    (rf"Stock {L} long, {L} wide, {L}(?: to {L})? thick", stock),
    (rf"nut line lies {L} from the stock's left end, the centreline {L} from", lies),
    (rf"nut line square across the blank, {L} from its left end, and the centreline along it, {L} from", lies),
    (rf"bit travels {L} above the bed", travel),
    (rf"(?:Keep out|Clamp|Stop) \d+: [^:]*, x {L} to {L}, y {L} to {L}, {L} high", kept_out),
    (rf"Screws? \(x, y in \w+\):(?: \d+ at -?[\d.]+, -?[\d.]+;)+ heads {L} wide, tops {L} above the bed", screwed),
    (rf"Pins? \(x, y in \w+\):(?: \d+ at -?[\d.]+, -?[\d.]+;)+ pins {L} wide, tops {L} above the bed", pinned),
    (rf"into the bed, standing at most {L} above it", standing),
    (rf"Drive the waste screws .*?hard:(?: \d+ of {L}, {L} into the bed[;.])+", driven),
    (rf"first six marks: {L} at the thinnest and {L} at the thickest", thinnest),
    (rf"planes the blank to {L}: {L}(?: to {L})? come off. Leave {L} to {L}", planed),
    (rf"(?:Touch|onto|touch) the [a-z ]*?(?:on a slip of paper; |, )enter Z {L}", enter),
    (rf"lift to Z {L}, go to X {L} Y {L}", corner),
    (rf"Test: at Z {L} the blank's corner on your left lies at X {L} Y {L}, that on your right at X {L} Y {L}", corner),
    (rf"turned -?[\d.]+ degrees, {L} aside", askew),
    (rf"\| \w+: (?:flat|vee|ball|bull)[^|]*\|(?: {L};?)+ \|", bits_of),
    (rf"Cut \d+ pins of \*, at most {L} long", pins_long),
    # How wide beads are is from memory.
    (rf"usual beads are {L} to {L} wide", lambda told: near((told.mm[0], 2.0), (told.mm[1], 2.8))),
    (rf"a Z that is {L} off shows", lambda told: near((told.mm[0], 0.1))),
    (rf"the bit goes {L} into it", allowance),
    (rf"the bit leaves a radius of {L}", bits_of),
    (rf"leaves corners of radius {L}", bits_of),
    (rf"\({L} is taken\)", bits_of),
    (rf"how far machine and bit give way at each wall, up to {L} by estimate", gives_way),
    (rf"An error of {L} in {L} would move fret \d+ by {L}", uncalibrated),
    (rf"\({L} is taken, and its runout widens the slot by about {L}\)", widened),
    (
        rf"as wide as that bit and its runout, about {L}",
        lambda told: any(0 <= told.mm[0] - b < 0.1 for b in told.bits()),
    ),
    (rf"or cut it to {L}", bar_end),
    (rf"With room for glue the bar is {L} to {L} wide", bar),
    (rf"left {L} of wood on the back of the shaft, ridges of up to {L}", left_on_back),
    (rf"{L} is left to scrape then", kerf_left),
    (rf"kerf at x {L} \(nearest to", kerf_at),
    (rf"thickness on the centreline at x {L}", measured_at),
    (rf"left in steps of at most {L}", lambda told: near((told.mm[0], 0.05))),
    (rf"Leave the heel's seat .*?from x {L} to {L}: .*?Carve the blend of the shaft up to its wall, {L} long", seat),
    (
        rf"a routed pocket has a radius of {L} in its corners",
        lambda told: near((told.mm[0], told.cut.outcome.job.instrument.neck.heel.pocket.corner)),
    ),
    (rf"must agree within {L}", lambda told: near((told.mm[0], 0.1))),
    (rf"bridge-side wall at x {L} from the nut line", nut_wall),
    (rf"Radius the top to {L}.*?up to {L} come off", radiused),
    (rf"check the slots from [a-z' ]*: fret \d+ at {L}", frets),
    (r"measure it with the board on, on the centreline: .*", carved),
    (
        rf"{L} of carving allowance is already subtracted",
        lambda told: near((told.mm[0], told.cut.outcome.job.instrument.neck.wall.carver)),
    ),
    (
        rf"with a saw of {L} kerf, to {L} below .*?{L} left to saw"
        rf"(?: in the middle and {L} at the edges)?, the saw's stop at {L}\. At least {L} of wood",
        sawn,
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
                    part = part.replace(row.measure.figures[0].wanted(outcome.job.units), "*")
        out += untold(cut, current, ("Setup " if part is not sections[0] else "") + part)
    assert [] == out


def test_a_figure_that_nobody_checks_is_seen() -> None:
    assert untold(None, None, "Leave 3.00 mm beside it.")  # type: ignore[arg-type]
    assert not untold(None, None, "Leave 3 sheets in place.")  # type: ignore[arg-type]
