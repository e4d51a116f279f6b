"""Wood between any two cuts of a job, and between cuts and the finished part: in space, from whichever side they come.

Distances are elementary geometry of discs, boxes and planes; the limits are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import ezdxf.units
import numpy as np
import pytest
from manifold3d import CrossSection, Manifold
from shapely import Point, box
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from tests.support.bored import bored
from tests.support.check_input_builder import inputs, operation, program
from tests.support.neck_builder import WHOLE, instrument
from tests.support.setup_builder import BENCH, MAPLE, context
from toolpaths.job.cut_kind import HOLES, ROD_AND_BARS, CutKind
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.target_shape.bevel_floor import ConeFloor
from toolpaths.target_shape.demand import ArcFloor, Demand, Level
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.instrument import wood_between
from toolpaths.verification.cut_solids import EVEN, cut_solid, gap_between
from toolpaths.verification.finding import Finding, Severity

THICK = 20.0
LAYOUT = "layout: {per_side: 2, first: -50, spacing: 40, edge: 16}"
BOLTS = "at: [[75, 14], [75, -14]]"
PIN = "x: -128"
STOP, WARN = Severity.stop, Severity.warn


def two_sides() -> tuple[SetupContext, SetupContext]:
    """A neck's blank 20 thick from its face, and turned over."""
    one = context(stock={"length": 510, "width": 70, "thickness": THICK})
    face = one.job.setups[0]
    back = face.model_copy(update={"name": "back", "flip": "about x"})
    job = one.job.model_copy(update={"setups": (face, back), "part": "neck", "instrument": instrument(WHOLE)})
    return setup_context_of(job, BENCH, MAPLE, face), setup_context_of(job, BENCH, MAPLE, back)


FACE, BACK = two_sides()


def cut(kind: CutKind, shape: BaseGeometry, deep: float, *, back: bool = False, name: str = "", **more: Any) -> Demand:
    """A cut in instrument coordinates, its floor so deep below the plane of the glue face, in its setup's frame."""
    side = BACK if back else FACE
    given = {"floor": Level(side.at_depth(deep)), "kind": kind, "feature": name or f"{kind.value} {back}", **more}
    made = Demand(job_line=7, setup=side.setup.name, name=kind.value, asked=shape, radius=1.0, **given)
    return made if side.mirror > 0 else made.mirrored()


def disc(x: float, y: float, diameter: float) -> BaseGeometry:
    return Point(x, y).buffer(diameter / 2, quad_segs=32)


def asked(face: Sequence[Demand] = (), back: Sequence[Demand] = (), last: str = "back") -> list[Finding]:
    """What is told with the program that completes one side, the other before it."""
    side, own = (BACK, back) if last == "back" else (FACE, face)
    names = frozenset(d.feature for d in own)
    plain = inputs(program("G0 X-20 Y0"))
    seen = replace(
        plain, context=side, demands=tuple(own), operations=tuple(operation(n) for n in names), begun=names,
        finished=names, of_job=((FACE, tuple(face)), (BACK, tuple(back))),
    )  # fmt: skip
    return wood_between.check(seen)


# The wood itself, against solids


def random_cut(rng: np.random.Generator, kind: CutKind) -> Demand:
    x, y = rng.uniform((60, -12), (90, 12))
    shape = disc(x, y, rng.uniform(4, 12)) if rng.random() < 0.5 else box(x, y, x + rng.uniform(4, 20), y + 4)
    through = kind in HOLES and rng.random() < 0.2
    deep = rng.uniform(2, THICK - 2)
    return cut(kind, shape, deep, back=bool(rng.random() < 0.5), reach=0.2 if through else 0.0)


def solid(demand: Demand) -> Manifold:
    """The cut as an exact solid, over depth: far out of the wood where it is open. From the demand's definition."""
    side = BACK if demand.setup == BACK.setup.name else FACE
    own = demand if side.mirror > 0 else demand.mirrored()
    z = float(own.floor.height(np.zeros(1), np.zeros(1))[0])
    near, far = (z, 60.0) if side.flipped else (-60.0, THICK - z)
    if own.through:
        near, far = -60.0, 60.0
    points = [list(map(tuple, np.asarray(orient(own.asked).exterior.coords)[:-1]))]
    return Manifold.extrude(CrossSection(points), far - near).translate([0.0, 0.0, near])


KINDS = [*sorted(HOLES, key=str), *sorted(ROD_AND_BARS, key=str), CutKind.pocket, CutKind.nut_slot, CutKind.marker]


@pytest.mark.parametrize("one", KINDS, ids=lambda k: k.value)
def test_the_wood_between_two_cuts_is_that_between_their_solids(one: CutKind) -> None:
    """All pairs of kinds at random places, from both sides: the boolean library's least distance (float32)."""
    rng = np.random.default_rng(list(CutKind).index(one))
    met = 0
    for two in KINDS:
        for _ in range(6):
            a, b = random_cut(rng, one), random_cut(rng, two)
            sides = [BACK if d.setup == BACK.setup.name else FACE for d in (a, b)]
            gap = gap_between(cut_solid(sides[0], a), cut_solid(sides[1], b), 8.0)
            least = solid(a).min_gap(solid(b), 8.0)
            met += gap is not None
            if gap is None:
                assert least >= 8.0 - 1e-3
            else:
                assert least == pytest.approx(max(gap.wood, 0.0), abs=2e-3)
    assert met > 10


@pytest.mark.parametrize("middle", [7.0, 9.0, 11.0])
def test_a_curved_floor_leaves_what_it_leaves_where_it_is_deepest(middle: float) -> None:
    """An arc through 6 at both ends, and a bolt from the back over its middle that ends at 15."""
    arc = ArcFloor(0.0, 300.0, FACE.at_depth(6.0), FACE.at_depth(middle))
    channel = cut(CutKind.rod_channel, box(0, -3, 300, 3), middle, floor=arc)
    bolt = cut(CutKind.bolt_hole, disc(150, 0, 8), 15.0, back=True)
    gap = gap_between(cut_solid(FACE, channel), cut_solid(BACK, bolt), 10.0)
    assert gap is not None
    assert 15 - middle - EVEN <= gap.wood <= 15 - middle + 1e-9


def test_a_drill_s_point_counts() -> None:
    """A point of 90 degrees under a hole of 6 is 3 deep; beside the axis it is less deep by as much as it is aside."""
    point = ConeFloor(150.0, 0.0, FACE.at_depth(13.0), 1.0, 3.0)
    hole = cut(CutKind.hole, disc(150, 0, 6), 10.0, floor=point)
    narrow = cut(CutKind.pin_hole, disc(152, 0, 1), 16.0, back=True)
    gap = gap_between(cut_solid(FACE, hole), cut_solid(BACK, narrow), 10.0)
    assert gap is not None
    # The tip at (150, 13) is nearest to the edge of the hole from the back: 1.5 aside, at 16.
    exact = np.hypot(1.5, 3.0)
    assert exact - 2 * EVEN <= gap.wood <= exact + 1e-6


# What used to pass


@pytest.mark.parametrize("kind", [CutKind.bolt_hole, CutKind.pin_hole, CutKind.hole, CutKind.pocket], ids=str)
@pytest.mark.parametrize("back", [False, True], ids=["from the face", "from the back"])
@pytest.mark.parametrize("beside", [CutKind.rod_channel, CutKind.bar_slot, CutKind.tuner_hole], ids=str)
def test_a_cut_close_beside_another_is_stopped_from_either_side(kind: CutKind, back: bool, beside: CutKind) -> None:
    other = cut(beside, box(100, -3, 200, 3), 12.0)
    near = cut(kind, disc(150, 3 + 0.3 + 2, 4), 9.0 if back else 10.0, back=back)
    (one,) = asked([other], [near]) if back else asked([other, near], last="face")
    assert ("wood-between", STOP) == (one.code, one.severity)
    assert "0.30 mm" == one.said.measured
    far = cut(kind, disc(150, 3 + 3.01 + 2, 4), 9.0 if back else 10.0, back=back)
    assert [] == (asked([other], [far]) if back else asked([other, far], last="face"))


def test_bolts_bored_through_the_bars_slots_are_stopped() -> None:
    bar, bolt = (
        cut(CutKind.bar_slot, box(50, 8, 350, 11), 6.0),
        cut(CutKind.bolt_hole, disc(340, 10, 5), 20, reach=0.2),
    )
    (one,) = asked([bar, bolt], last="face")
    assert STOP == one.severity
    assert "runs into" in one.said.wrong
    assert one.said.measured.startswith("overlap ")


def test_a_blind_bolt_from_the_back_into_a_bar_s_slot_is_stopped() -> None:
    bar = cut(CutKind.bar_slot, box(50, 8, 350, 11), 6.0)
    (one,) = asked([bar], [cut(CutKind.bolt_hole, disc(340, 10, 5), 5.5, back=True)])
    assert STOP == one.severity


@pytest.mark.parametrize(("left", "expected"), [(0.6, [STOP]), (1.9, [STOP]), (2.5, [WARN]), (3.1, [])])
def test_a_blind_hole_from_the_back_must_end_below_the_glue_face(left: float, expected: list[Severity]) -> None:
    assert expected == [f.severity for f in asked([], [cut(CutKind.bolt_hole, disc(340, 10, 5), left, back=True)])]


@pytest.mark.parametrize(("left", "expected"), [(1.0, [STOP]), (2.5, [WARN]), (3.1, [])])
def test_under_a_lowered_headstock_its_own_face_counts(left: float, expected: list[Severity]) -> None:
    head = cut(CutKind.step, box(-120, -30, -5, 30), 4.0)
    (*found,) = asked([head], [cut(CutKind.pocket, disc(-60, 0, 20), 4.0 + left, back=True)])
    assert expected == [f.severity for f in found]
    assert all("is too close to the finished face above" in f.said.wrong for f in found)


def test_two_pockets_from_both_sides_and_markers_too() -> None:
    for kind in (CutKind.pocket, CutKind.marker):
        (one,) = asked([cut(kind, disc(100, 0, 8), 8.0)], [cut(kind, disc(100, 0, 8), 9.0, back=True)])
        assert STOP == one.severity
        assert "1.00 mm" == one.said.measured


@pytest.mark.parametrize("kind", [CutKind.line, CutKind.fret_slot, CutKind.engraving, CutKind.marker], ids=str)
def test_shallow_cuts_count_too_where_they_come_from_the_other_side(kind: CutKind) -> None:
    """Their floor 2 mm deep, a blind hole from the back that ends 3.5 mm under the face: 1.5 mm stay."""
    shallow, hole = cut(kind, box(99, -10, 101, 10), 2.0), cut(CutKind.hole, disc(100, 0, 5), 3.5, back=True)
    (one,) = asked([shallow], [hole])
    assert STOP == one.severity
    assert "1.50 mm" == one.said.measured
    assert [] == asked([shallow], [replace(hole, reach=0.2)])  # through it on purpose
    assert [] == asked([shallow, cut(CutKind.marker, disc(102, 0, 4), 2.0)], last="face")


def test_in_waste_the_two_sides_may_meet() -> None:
    """The neck ends at x 400; a pin behind it may be opened from the back."""
    pin = cut(CutKind.pin_hole, disc(430, 0, 6), 17.0)
    assert [] == asked([pin], [cut(CutKind.ring, disc(430, 4, 10), 18.8, back=True)])


# What may meet


def test_what_belongs_together_may_meet() -> None:
    channel = cut(CutKind.rod_channel, box(0, -3, 300, 3), 9.0, name="rod")
    assert [] == asked([channel, cut(CutKind.adjuster_pocket, box(295, -5, 330, 5), 11, name="rod")], last="face")
    bolt = cut(CutKind.bolt_hole, disc(340, 14, 5), 20.0, name="bolts", reach=0.2)
    wide = cut(CutKind.counterbore, disc(340, 14, 12), 5.0, name="bolts")
    assert [] == asked([bolt, wide], last="face")
    assert [STOP] == [f.severity for f in asked([bolt, replace(wide, asked=disc(344, 14, 12))], last="face")]
    both = cut(CutKind.pin_hole, disc(340, 14, 5), 8.0), cut(CutKind.pin_hole, disc(340, 14, 5), 7.0, back=True)
    assert [] == asked(both[:1], both[1:])
    # One hole must be one: what stays between its two halves is told.
    short = cut(CutKind.pin_hole, disc(340, 14, 5), 9.0, back=True)
    assert ["1.00 mm"] == [f.said.measured for f in asked(both[:1], [short])]
    ring = cut(CutKind.ring, disc(340, 14, 12), 19.0, back=True)
    assert [] == asked([replace(both[0], reach=0.2)], [ring])


def test_a_marker_may_not_run_into_the_channel_but_may_lie_beside_it() -> None:
    channel = cut(CutKind.rod_channel, box(0, -3, 300, 3), 9.0)
    assert [] == asked([channel, cut(CutKind.marker, disc(100, 6.1, 6), 2.0)], last="face")
    assert [STOP] == [f.severity for f in asked([channel, cut(CutKind.marker, disc(100, 5, 6), 2.0)], last="face")]


def test_it_is_told_with_the_program_that_cuts_the_later_one() -> None:
    channel, pin = (
        cut(CutKind.rod_channel, box(0, -3, 300, 3), 9.0),
        cut(CutKind.pin_hole, disc(100, 0, 4), 5.0, back=True),
    )
    assert [] == asked([channel], [pin], last="face")
    assert ["pin hole True"] == [f.feature for f in asked([channel], [pin]) if "channel" in f.message]


# On a whole job


def found(folder: Path, *exchanged: tuple[str, str]) -> list[Finding]:
    return wood_between.check(bored(folder, *exchanged))


def at(got: list[Finding], words: str) -> list[Severity]:
    return [f.severity for f in got if words in f.message]


def test_a_sound_job_has_none(tmp_path: Path) -> None:
    assert [] == found(tmp_path)


@pytest.mark.parametrize(("spacing", "expected"), [(14.0, []), (13.9, [WARN]), (10.0, [WARN]), (9.9, [STOP])])
def test_tuners_want_room_for_two_washers(spacing: float, expected: list[Severity], tmp_path: Path) -> None:
    # Holes of 8: what is left between them is the spacing less 8.
    got = found(tmp_path, (LAYOUT, LAYOUT.replace("40", str(spacing))))
    assert expected == [f.severity for f in got]
    assert all(f.said.wrong.startswith("tuner ") for f in got)
    assert all(f"{spacing - 8:.2f} mm" == f.said.measured for f in got)


@pytest.mark.parametrize(("y", "expected"), [(19.0, []), (19.1, [WARN]), (20.0, [WARN]), (20.1, [STOP])])
def test_wood_must_stay_to_the_edge(y: float, expected: list[Severity], tmp_path: Path) -> None:
    # The counterbore's radius is 6 and the heel's half width 28: left is 22 - y.
    got = found(tmp_path, (BOLTS, f"at: [[75, {y}], [75, -14]]"))
    assert expected == at(got, "counterbore of bolt 1")
    assert all(f"{22 - y:.2f} mm" == f.said.measured and (75.0, y) == pytest.approx((f.x, f.y)) for f in got)


def test_a_hole_that_breaks_out_or_lies_beside_the_part_is_told(tmp_path: Path) -> None:
    (out, *_) = [f.said for f in found(tmp_path, (BOLTS, "at: [[75, 23], [75, -14]]")) if "counterbore" in f.message]
    assert ("counterbore of bolt 1 runs into the part's edge", "overlap 1.00 mm") == (out.wrong, out.measured)
    messages = [f.message for f in found(tmp_path, (BOLTS, "at: [[20, 40], [75, -14]]"))]
    assert any("bolt 1" in m and "lies beside the finished part. Move it onto the part" in m for m in messages)


def test_the_shaft_counts_as_trimmed(tmp_path: Path) -> None:
    # Half width 20 + 2 * 20 / 75.25 = 20.53 at x 20, without the margin of 0.5: a hole of 12 at 12.6 leaves 1.93.
    got = [f for f in found(tmp_path, (BOLTS, "at: [[20, 12.6], [75, -14]]")) if "counterbore" in f.message]
    assert [STOP] == [f.severity for f in got]
    assert "1.93 mm" == got[0].said.measured


@pytest.mark.parametrize(("x", "expected"), [(-123.3, 0), (-123.2, 1), (-116.8, 1), (-112.0, 0)])
def test_a_pin_may_not_lie_across_the_edge(x: float, expected: int, tmp_path: Path) -> None:
    # Radius 3.25, the headstock ends at -120.
    stops = [f for f in found(tmp_path, (PIN, f"x: {x}")) if f.severity is STOP]
    assert expected == len(stops)
    assert all("move it off the edge" == f.said.todo for f in stops)


@pytest.mark.parametrize(("x", "expected"), [(113.0, 0), (112.0, 1)])
def test_a_pin_that_the_outline_opens_is_told(x: float, expected: int, tmp_path: Path) -> None:
    # Deeper than two diameters of 6: the kerf is 8.4 wide; the neck ends at 100 and the pin's radius is 4.
    outline = ("depth: 10}\n", "depth: 10}\n      - outline: {bit: six, depth: 15}\n")
    assert [WARN] * expected == at(found(tmp_path, outline, ("x: 110", f"x: {x}")), "pin 2")


def test_a_left_handed_neck_is_judged_alike_and_its_places_are_as_seen(tmp_path: Path) -> None:
    exchanged = ("part: neck", "part: neck\nhanded: left"), (BOLTS, "at: [[75, 20.1], [75, -14]]")
    (f,) = [f for f in found(tmp_path, *exchanged) if f.severity is STOP]
    assert (75.0, -20.1) == pytest.approx((f.x, f.y))


@pytest.mark.parametrize(("y", "expected"), [(23.0, []), (24.0, [WARN]), (24.1, [STOP])])
def test_a_drawn_headstock_counts_as_drawn(y: float, expected: list[Severity], tmp_path: Path) -> None:
    # 60 wide: a hole of 8 leaves 30 - 4 - y.
    drawing = ezdxf.new(units=ezdxf.units.MM)
    corners = [(-120, -30), (-3, -30), (-3, 30), (-120, 30)]
    drawing.modelspace().add_lwpolyline(corners, close=True)
    drawing.saveas(tmp_path / "head.dxf")
    head = ("headstock: {length: 120, width: 60,", "headstock: {drawing: head.dxf,")
    assert expected == at(found(tmp_path, head, (LAYOUT, f"at: [[-50, {y}], [-90, 14]]")), "tuner 1")


def test_a_board_s_pocket_must_not_come_near_its_back(tmp_path: Path) -> None:
    """Of a board `on_board` thick: 0.5 mm stops, 1.5 warns."""
    for left, expected in ((0.4, [STOP]), (1.4, [WARN]), (1.6, [])):
        assert expected == [f.severity for f in on_board(left)]


def on_board(left: float) -> list[Finding]:
    side = context(stock={"length": 510, "width": 70, "thickness": 6})
    job = side.job.model_copy(update={"part": "board"})
    side = setup_context_of(job, BENCH, MAPLE, job.setups[0])
    thick = job.instrument.board.thickness
    pocket = Demand("pockets", 7, "face", "pocket", disc(100, 0, 6), Level(side.glue - thick + left), 1.0,
                    kind=CutKind.pocket)  # fmt: skip
    plain: CheckInput = inputs(program("G0 X-20 Y0"))
    names = frozenset({"pockets"})
    seen = replace(plain, context=side, demands=(pocket,), operations=(operation("pockets"),), begun=names)
    return wood_between.check(replace(seen, finished=names, of_job=((side, (pocket,)),)))


# Small holes that the board is glued by


def of_board(*cuts: Demand) -> list[Finding]:
    """What is told of a board's cuts, all in one setup from its face; its edges at y +-20."""
    s = context(width={"nut": 40, 12: 40})
    names = frozenset(d.feature for d in cuts)
    plain = inputs(program("G0 X-20 Y0"))
    demands = tuple(replace(d, setup=s.setup.name) for d in cuts)
    seen = replace(
        plain, context=s, demands=demands, operations=tuple(operation(n) for n in names), begun=names,
        finished=names, of_job=((s, demands),),
    )  # fmt: skip
    return wood_between.check(seen)


def pin(x: float, y: float, diameter: float = 2.5) -> Demand:
    return cut(CutKind.pin_hole, disc(x, y, diameter), 0.0, floor=Level(0.0), reach=0.2)


def shallow(kind: CutKind, shape: BaseGeometry) -> Demand:
    return cut(kind, shape, 0.0, floor=Level(6.2))


@pytest.mark.parametrize(("apart", "told"), [(1.9, [STOP]), (2.1, [WARN]), (2.9, [WARN]), (3.1, [])])
def test_a_pin_s_hole_keeps_clear_of_a_marker(apart: float, told: list[Severity]) -> None:
    # A marker of 6 at the middle, a hole of 2.5: 3 + 1.25 between their middles, and the wood.
    found = of_board(pin(100, 3 + 1.25 + apart), shallow(CutKind.marker, disc(100, 0, 6)))
    assert told == [f.severity for f in found]


def test_a_pin_s_hole_may_lie_in_a_fret_s_slot() -> None:
    for kind in (CutKind.line, CutKind.fret_slot):
        assert [] == of_board(pin(100, 14), shallow(kind, box(99.7, -20, 100.3, 20)))


@pytest.mark.parametrize(("edge", "told"), [(1.9, [STOP]), (2.1, []), (3.1, [])])
def test_a_board_s_pin_may_stand_nearer_to_its_edge_than_a_neck_s(edge: float, told: list[Severity]) -> None:
    assert told == [f.severity for f in of_board(pin(100, 20 - edge - 1.25))]


@pytest.mark.parametrize(("apart", "told"), [(1.9, [STOP]), (2.1, [WARN]), (3.1, [])])
@pytest.mark.parametrize("kind", sorted(ROD_AND_BARS, key=lambda k: k.value))
def test_a_neck_s_pin_keeps_clear_of_rod_and_bars(kind: CutKind, apart: float, told: list[Severity]) -> None:
    # A slot to y 4, and a hole of 2.5.
    slot = cut(kind, box(20, -4, 300, 4), 6.0)
    found = asked(face=[slot, cut(CutKind.pin_hole, disc(150, 4 + 1.25 + apart, 2.5), 4.0)], last="face")
    assert told == [f.severity for f in found]
