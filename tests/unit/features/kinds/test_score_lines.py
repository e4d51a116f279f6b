"""`score_lines` asks for a line where each fret belongs, across the finished width and out of it at both ends."""

from __future__ import annotations

import math

import pytest

from tests.support.setup_builder import RACK, context, flat, near
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.kinds.score_lines import ScoreLines
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Lines
from toolpaths.target_shape.demand import Demand, Level

TABLE = {
    1: 36.482, 2: 70.916, 3: 103.417, 5: 163.050, 7: 216.177, 9: 263.508,
    12: 325.000, 15: 376.709, 19: 433.089, 22: 467.600,
}  # fmt: skip
"""Scale 650: distances from the nut, mm. Derived: L (1 - 2^(-n/12)), rounded."""


def scored(**keys: object) -> tuple[ScoreLines, SetupContext]:
    feature = ScoreLines.model_validate({"bit": "scorer", "depth": 0.5, **keys}, context={"units": "mm"})
    s = context(Plane(bit="planer", leave=6), feature)
    placed = s.setup.features[1]
    assert isinstance(placed, ScoreLines)
    return placed, s


def demands(**keys: object) -> dict[str, Demand]:
    feature, s = scored(**keys)
    return {d.name: d for d in feature.demands(s)}


def operation(**keys: object) -> Lines:
    feature, s = scored(**keys)
    (found,) = feature.operations(s)
    assert isinstance(found, Lines)
    return found


@pytest.mark.parametrize(("fret", "x"), TABLE.items())
def test_each_line_lies_where_its_fret_belongs(fret: int, x: float) -> None:
    x0, _, x1, _ = demands()[f"fret {fret}"].asked.bounds
    assert x == pytest.approx((x0 + x1) / 2, abs=6e-4)


@pytest.mark.parametrize(("fret", "x"), TABLE.items())
def test_each_line_is_cut_where_its_fret_belongs(fret: int, x: float) -> None:
    o = operation()
    line = o.lines[o.names.index(f"fret {fret}")]
    assert [x, x] == pytest.approx(line[:, 0].tolist(), abs=6e-4)


def test_all_frets_are_scored_unless_some_are_named() -> None:
    assert 22 == len(demands()) == len(operation().lines)
    assert ["fret 5", "fret 3"] == list(demands(frets=(5, 3, 5)))
    assert ("fret 3", "fret 5") == operation(frets=(5, 3, 5)).names  # cut from the nut on


def test_a_line_is_as_wide_as_the_bit_and_as_long_as_the_board_is_wide_there() -> None:
    # At fret 12, x 325, the board is 52 mm wide: given. At fret 22: 42 + 10 x 467.600 / 325 = 56.388; by hand.
    # The line's bridge side, 0.25 mm further on, is longer by the taper there: 0.25 x 5 / 325 = 0.0038.
    x0, y0, x1, y1 = demands()["fret 12"].asked.bounds
    assert (0.5, -26.0038, 26.0038) == pytest.approx((x1 - x0, y0, y1), abs=1e-4)
    assert 28.194 + 0.0046 == pytest.approx(demands()["fret 22"].asked.bounds[3], abs=1e-3)


def test_it_may_run_on_into_the_waste_by_the_bit_and_a_millimetre_but_needs_not() -> None:
    d = demands()["fret 12"]
    assert d.run_out is not None
    # And 4 mm more, where a ramp may begin.
    assert (-26 - 0.5 - 1 - 4, 26 + 0.5 + 1 + 4) == pytest.approx((d.run_out.bounds[1], d.run_out.bounds[3]))
    assert 0.0 == d.run_out.intersection(d.asked).area


def test_the_bit_enters_in_waste_a_radius_and_a_millimetre_past_the_edge() -> None:
    # A level of 0.25 goes down at 2 degrees, there and back: 3.58 mm, of which a millimetre is there already. Derived.
    further = 0.25 / math.tan(math.radians(2)) / 2 - 1
    for direction, more in (("one way", 0.0), ("both", further)):
        o = operation(direction=direction)
        assert [-27.25 - further, 27.25 + more] == pytest.approx(o.lines[o.names.index("fret 12")][:, 1].tolist())
    blind = operation(ends={"blind": 2})
    assert [-23.75, 23.75] == pytest.approx(blind.lines[blind.names.index("fret 12")][:, 1].tolist(), abs=0.01)


def test_depth_is_below_the_face_that_is_planed() -> None:
    assert {5.5} == {d.floor.z for d in demands().values() if isinstance(d.floor, Level)}
    assert (6.0, 5.5) == (operation().top, operation().floor)


def test_a_v_bit_s_line_is_as_wide_as_it_is_deep_says() -> None:
    # Width 2 d tan(a/2) + tip: 2 x 0.5 x tan 30 + 0.1 = 0.67735. Derived.
    d = demands(bit="vee60")["fret 12"]
    assert 0.67735 == pytest.approx(d.asked.bounds[2] - d.asked.bounds[0], abs=1e-5)
    assert 0.67735 / 2 == pytest.approx(d.radius, abs=1e-5)


def test_by_hand_remains_the_sawing() -> None:
    feature, s = scored()
    assert [
        "Saw 22 fret slots, with a saw of 0.58 mm kerf, to 2.00 mm below the face. Check this depth against your "
        "fret's tang. Each: 1.50 mm left to saw, the saw's stop at 2.00 mm from the face. At least 4.00 mm of wood "
        "stays "
        "under them."
    ] == [h.what for h in feature.by_hand(s, near(s))]


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"frets": (3, 23)}, ("there is no fret 23", "the instrument has 22 frets", "frets")),
        ({"frets": (0,)}, ("there is no fret 0", "the instrument has 22 frets", "frets")),
        ({"frets": ()}, ("no fret is named", "leave `frets` out for all of them", "frets")),
        (
            {"depth": 2.6},
            (
                "2.60 mm is deeper than the cutting edges of scorer reach, 2.50 mm",
                "cut less deep, or take a bit with longer edges",
                "depth",
            ),
        ),
        ({"depth": 6.0, "bit": "quarter"}, ("the lines would go through the board", "make them less deep", "depth")),
    ],
)
def test_what_cannot_be_scored_is_refused(keys: dict[str, object], told: tuple[str, str, str]) -> None:
    with pytest.raises(FeatureError) as caught:
        operation(**keys)
    assert told == (caught.value.problem, caught.value.hint, caught.value.key)


def test_the_width_is_what_the_bit_was_measured_to_cut() -> None:
    assert math.isclose(0.5, RACK["scorer"].diameter)
    measured = flat(0.5, measured_diameter=0.64, cutting_length=2.5)
    feature = ScoreLines(bit="scorer", depth=0.5)
    s = context(Plane(bit="planer", leave=6), feature, bits={"scorer": measured})
    x0, _, x1, _ = next(s.setup.features[1].demands(s)).asked.bounds
    assert 0.64 == pytest.approx(x1 - x0)


def test_a_fret_that_is_fanned_is_asked_for_as_a_strip_between_the_edges() -> None:
    feature = ScoreLines(bit="scorer", depth=0.5)
    keys = {"scale_length": {"bass": 680, "treble": 650, "square_fret": 7}, "frets": 22, "strings": 7, "nut_spread": 40}
    board = {"width": {"nut": 48, "end": 48}, "overhang": 10, "thickness": 6}
    s = context(Plane(bit="planer", leave=6), feature, instrument={**keys, "board": board})
    placed = s.setup.features[1]
    assert isinstance(placed, ScoreLines)
    d = next(d for d in placed.demands(s) if d.name == "fret 12")
    # Parallel sides: at the nut the strings stand 30 (1 - 2^(-7/12)) = 9.977 apart along the neck, at fret 12 that
    # less 15: lean -5.023 / 40. Each edge 24 away. By hand.
    lean = (30 * (1 - 2 ** (-7 / 12)) - 15) / 40
    assert (-24.0, 24.0) == pytest.approx((d.asked.bounds[1], d.asked.bounds[3]))
    assert 0.5 * 48 * math.hypot(1, lean) == pytest.approx(d.asked.area)
    middle = (d.asked.centroid.x, d.asked.centroid.y)
    # The strings' nut is 9.977 / 2 to both sides of 0: fret 12 crosses the centreline halfway between theirs.
    assert ((340 + 325) / 2, 0.0) == pytest.approx(middle, abs=1e-9)
    assert d.run_out is not None
    assert (-24 - 1.5 - 4, 24 + 1.5 + 4) == pytest.approx((d.run_out.bounds[1], d.run_out.bounds[3]), abs=0.05)
    (o,) = placed.operations(s)
    assert isinstance(o, Lines)
    line = o.lines[o.names.index("fret 12")]
    # It begins at its end of lower x, further out by the ramp less a millimetre, along the line. Derived.
    further = (0.25 / math.tan(math.radians(2)) / 2 - 1) / math.hypot(1, lean)
    first = 25.25 + further if lean < 0 else -25.25 - further
    last = -25.25 if lean < 0 else 25.25
    assert [first, last] == pytest.approx(line[:, 1].tolist())
    assert [332.5 + first * lean, 332.5 + last * lean] == pytest.approx(line[:, 0].tolist())
    assert line[0, 0] < line[1, 0]


def test_a_zero_fret_is_scored_at_the_nut_line_and_named() -> None:
    feature = ScoreLines(bit="scorer", depth=0.5)
    keys = {"scale_length": 650, "frets": 22, "strings": 6, "zero_fret": True}
    board = {"width": {"nut": 42, 12: 52}, "overhang": 10, "thickness": 6}
    s = context(Plane(bit="planer", leave=6), feature, instrument={**keys, "board": board})
    placed = s.setup.features[1]
    first = next(placed.demands(s))
    assert "fret 0" == first.name
    assert (-0.25, 0.25) == pytest.approx((first.asked.bounds[0], first.asked.bounds[2]))
    assert next(placed.by_hand(s, near(s))).what.startswith("Saw 23 fret slots")
