"""`locating_pins` asks for holes on alternate sides, at the same places in board and neck."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from tests.support.neck_builder import WHOLE
from tests.support.neck_builder import instrument as necked
from tests.support.paired_jobs import pair
from tests.support.setup_builder import context, flat, near
from toolpaths.common.errors import FeatureError, JobError
from toolpaths.features.kinds.locating_pins import LocatingPins
from toolpaths.features.kinds.plane import Plane
from toolpaths.instrument.boards import as_cut
from toolpaths.job.changes import Changes
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.operations.operation import Bore
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.design import read_design
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.fits.board_fits_neck import fit
from toolpaths.verification.fits.fit_parts import Verdict, part_of

BITS = {"pin": flat(2, cutting_length=12), "plain": flat(2.2, centre_cutting=False)}
PIN = "  pin: {shape: flat, diameter: 2, flutes: 2, cutting_length: 10, shank: 3.175, stickout: 16}\n"


def pins(part: str = "board", setup: dict[str, Any] | None = None, **keys: Any) -> tuple[LocatingPins, SetupContext]:
    """In the invented board of `setup_builder`, planed to 6, or in the neck of `neck_builder`, 25 thick."""
    more = {k: keys.pop(k) for k in ("board", "width", "scale_length", "handed", "saw") if k in keys}
    body = {"bit": "pin", "at": ["fret 1", "fret 13"], **keys}
    feature = LocatingPins.model_validate(body, context={"units": "mm"})
    leave = 6 if part == "board" else 25
    if part == "neck":
        more |= {"instrument": necked(WHOLE), "part": "neck", "stock": {"length": 600, "width": 80, "thickness": 26}}
    s = context(Plane(bit="planer", leave=leave), feature, bits=BITS, setup=setup, **more)
    # As the pipeline does: a bound board is cut narrower.
    s = setup_context_of(as_cut(s.job), s.machine, s.wood, s.job.setups[0])
    placed = s.setup.features[1]
    assert isinstance(placed, LocatingPins)
    return placed, s


def demands(part: str = "board", **keys: Any) -> list[Demand]:
    feature, s = pins(part, **keys)
    return list(feature.demands(s))


def operation(part: str = "board", **keys: Any) -> Bore:
    feature, s = pins(part, **keys)
    (found,) = feature.operations(s)
    assert isinstance(found, Bore)
    return found


def words(part: str, **keys: Any) -> list[str]:
    feature, s = pins(part, **keys)
    return [work.what for work in feature.by_hand(s, near(s))]


def test_holes_lie_on_their_frets_lines_on_alternate_sides() -> None:
    # x = 650 (1 - 2^(-n/12)); half of the board's width is 21 + x 5/325, and the edge leans by as much.
    found, lean = demands(side=4, diameter=2.4), 5 / 325
    for demand, fret, sign in zip(found, (1, 13), (-1, 1), strict=True):
        x = 650 * (1 - 2 ** (-fret / 12))
        y = sign * (21 + x * lean - 4 * math.hypot(1, lean))
        assert (x, y) == pytest.approx((demand.asked.centroid.x, demand.asked.centroid.y), abs=1e-6)
        assert math.pi * 1.2**2 == pytest.approx(demand.asked.area, rel=1e-3)
    assert ["locating pin 1", "locating pin 2"] == [d.name for d in found]


@settings(max_examples=40)
@given(
    bass=st.floats(560, 700),
    less=st.floats(0, 45),
    square=st.floats(0, 14),
    nut=st.floats(36, 60),
    wider=st.floats(-2, 14),
    side=st.floats(2, 12),
    binding=st.floats(0, 1.8),
    at=st.lists(st.integers(0, 22).map(lambda n: f"fret {n}") | st.floats(5, 400), min_size=2, max_size=6),
)
def test_what_is_wanted_and_what_is_cut_are_one_place(
    bass: float, less: float, square: float, nut: float, wider: float, side: float, binding: float, at: list[Any]
) -> None:
    scale = {"bass": bass, "treble": bass - less, "square_fret": square} if less > 1 else bass
    keys: dict[str, Any] = {
        "scale_length": scale, "width": {"nut": nut, 12: nut + wider}, "board": {"binding": binding}, "at": at,
        "side": side,
    }  # fmt: skip
    cut = operation(**keys).centres
    for demand, (x, y) in zip(demands(**keys), cut.tolist(), strict=True):
        assert (x, y) == pytest.approx((demand.asked.centroid.x, demand.asked.centroid.y), abs=1e-5)
    assert [(-1, 1)[i % 2] for i in range(len(at))] == [math.copysign(1, y) for _, y in cut.tolist()]


def test_binding_is_glued_outside_of_the_holes() -> None:
    # `side` counts from the finished edge, which lies outside of the cut one by the binding.
    plain, bound = operation(), operation(board={"binding": 1.5})
    assert plain.centres.ravel().tolist() == pytest.approx(bound.centres.ravel().tolist(), abs=1e-9)


def test_a_place_that_is_no_fret_stands_square() -> None:
    fan = {"bass": 660, "treble": 640, "square_fret": 7}
    assert [100.0, 200.0] == pytest.approx(operation(scale_length=fan, at=[100, 200]).centres[:, 0].tolist())


def test_a_board_is_bored_through_and_a_neck_is_not() -> None:
    assert [(Level(0.0), 0.2)] * 2 == [(d.floor, d.reach) for d in demands()]
    assert (6.0, -0.2) == (operation().top, operation().floor)
    # 25 thick: a hole of 4, or of what the job says.
    assert [(Level(21.0), 0.0)] * 2 == [(d.floor, d.reach) for d in demands("neck")]
    assert (25.0, 21.0) == (operation("neck").top, operation("neck").floor)
    assert [Level(18.5)] * 2 == [d.floor for d in demands("neck", depth=6.5)]
    assert 18.5 == operation("neck", depth=6.5).floor


def test_a_turned_board_may_be_bored_blind_from_below() -> None:
    keys: dict[str, Any] = {"setup": {"flip": "about x"}, "depth": 3.5}
    assert [Level(2.5)] * 2 == [d.floor for d in demands(**keys)]
    assert (6.0, 2.5) == (operation(**keys).top, operation(**keys).floor)


@pytest.mark.parametrize(
    ("part", "keys", "told"),
    [
        (
            "board",
            {"depth": 4},
            (
                "a blind hole from the board's face does not reach its back, where the neck is glued",
                "leave `depth` out, or bore in a setup that is turned over (`flip: about x`)",
                "depth",
            ),
        ),
        (
            "board",
            {"depth": 6, "setup": {"flip": "about x"}},
            ("the holes are 6.00 mm deep, and the wood is 6.00 mm thick", "make them less deep", "depth"),
        ),
        (
            "neck",
            {"depth": 25.5},
            ("the holes are 25.50 mm deep, and the wood is 25.00 mm thick", "make them less deep", "depth"),
        ),
        (
            "neck",
            {"setup": {"flip": "about x"}},
            (
                "in this setup the neck lies on its glue face",
                "bore the holes in the setup that shows it",
                "",
            ),
        ),
        ("board", {"at": ["fret 1", "fret 23"]}, ("there is no fret 23", "the instrument has 22 frets", "at")),
        (
            "board",
            {"bit": "three"},
            ("three is 3.00 mm wide, and a hole only 2.50 mm", "take a smaller bit", "bit"),
        ),
        (
            "board",
            {"bit": "plain"},
            (
                "plain does not cut at its centre, and is too wide for a hole of 2.50 mm",
                "take a bit of at most 2.00 mm, or one that cuts at its centre",
                "bit",
            ),
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_bored_is_refused(part: str, keys: dict[str, Any], told: tuple[str, str, str]) -> None:
    with pytest.raises(FeatureError) as caught:
        operation(part, **keys)
    assert told == (caught.value.problem, caught.value.hint, caught.value.key)


@pytest.mark.parametrize(
    "keys",
    [
        {"at": ["fret 1"]},
        {"at": []},
        {"at": "fret 1"},
        {"at": ["fret one", "fret 2"]},
        {"diameter": 0},
        {"side": -1},
        {"side": 0},
        {"depth": 0},
        {"y": 2},
    ],
)
def test_bad_keys_are_refused(keys: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        pins(**keys)


def test_the_hands_are_told_how_long_a_pin_may_be() -> None:
    # Hole 4, board 6 with slots of 2: 8 mm, on a flat board.
    (said,) = words("neck")
    assert "2 pins of 2.50 mm, at most 8.00 mm long" in said
    assert "at most 10.50 mm long" in words("neck", depth=6.5)[0]
    assert "at most 8.40 mm long" in words("neck", saw={"depth": 1.6})[0]


def test_the_hands_are_told_where_holes_show() -> None:
    under, said = words("board")
    assert "must be flat waste wood" in under
    assert "Those at fret 1 and 13 are hidden by a fret whose bead is wider than 2.50 mm" in said
    assert "will show" not in said
    assert "wider than any usual bead, so they will show" in words("board", diameter=3.2)[1]
    assert "1 of them are under no fret, so they will show" in words("board", at=["fret 1", 200])[1]
    assert [] == words("board", depth=3, setup={"flip": "about x"})


def test_each_place_is_measured() -> None:
    feature, s = pins()
    told = [m.figures[0].value for m in feature.measures(s, near(s)) if "from the nut line" in m.what]
    # 650 (1 - 2^(-1/12)) and 650 (1 - 2^(-13/12)).
    assert [36.48, 343.24] == pytest.approx(told, abs=0.01)


# Two jobs


def jobs(folder: Path, board: str = "", neck: str = "", more: dict[str, str] | None = None) -> tuple[Path, Path]:
    """The pair with locating pins instead of its pin bores, in both."""
    old = "pin_bores: {bit: eighth, diameter: 4, depth: %s"
    at = "at: [[20, 14.5], [380, -14.5], [%s, 0]]}"
    line = "locating_pins: {bit: pin, at: [fret 2, fret 16]%s}"
    bars = {"from: 12, to: 340": "from: 80, to: 330", "bits:\n": f"bits:\n{PIN}"}
    return pair(
        folder,
        board={f"{old % 4}, {at % -16}": line % board, "bits:\n": f"bits:\n{PIN}", **(more or {})},
        neck={f"{old % 8}, {at % -165}": line % neck, **bars},
    )


def rows(folder: Path, **keys: Any) -> dict[str, tuple[Verdict, str]]:
    parts = []
    for path in jobs(folder, **keys):
        design = read_design(path)
        parts.append(part_of(design.loaded.job, design.contexts, design.target))
    return {row.what: (row.verdict, row.difference) for row in fit(*parts)}


def test_both_jobs_come_to_the_same_places(tmp_path: Path) -> None:
    found = rows(tmp_path)
    assert (Verdict.fits, "0.000 mm") == found["locating pin 1"] == found["locating pin 2"]


def test_a_left_handed_pair_fits_too(tmp_path: Path) -> None:
    for path in jobs(tmp_path):
        path.write_text(path.read_text().replace("units: mm\n", "units: mm\nhanded: left\n", 1))
    parts = []
    for path in (tmp_path / "board.yaml", tmp_path / "neck.yaml"):
        design = read_design(path)
        parts.append(part_of(design.loaded.job, design.contexts, design.target))
    found = {row.what: row.verdict for row in fit(*parts)}
    assert Verdict.fits is found["locating pin 1"] is found["locating pin 2"]


def test_other_numbers_in_one_job_are_told(tmp_path: Path) -> None:
    # 0.06 mm to the side is more than 0.05; 0.04 is not.
    assert Verdict.no is rows(tmp_path, board=", side: 6.06")["locating pin 1"][0]
    assert Verdict.fits is rows(tmp_path, board=", side: 6.04")["locating pin 1"][0]
    assert Verdict.no is rows(tmp_path, neck=", diameter: 2.6")["locating pin 2"][0]


def test_a_fault_names_file_line_and_key(tmp_path: Path) -> None:
    board, _ = jobs(tmp_path, board=", depth: 4")
    with pytest.raises(JobError) as caught:
        lay_out(board, Changes())
    (problem,) = caught.value.problems
    line = next(i for i, text in enumerate(board.read_text().splitlines(), 1) if "locating_pins" in text)
    assert (line, "does not reach its back" in problem.problem) == (problem.line, True)
