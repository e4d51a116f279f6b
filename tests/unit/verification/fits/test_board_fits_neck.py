"""Whether board and neck go together: each fault has its own line, and a near miss that passes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.paired_jobs import pair
from toolpaths.pipeline.design import read_design
from toolpaths.verification.fits.board_fits_neck import fit
from toolpaths.verification.fits.fit_parts import FitPart, FitRow, Verdict, part_of

Texts = dict[str, str]


def part(job: Path) -> FitPart:
    design = read_design(job)
    return part_of(design.loaded.job, design.contexts, design.target)


def compared(folder: Path, board: Texts | None = None, neck: Texts | None = None, **more: bool) -> dict[str, FitRow]:
    return {row.what: row for row in fit(*(part(p) for p in pair(folder, board=board, neck=neck)), **more)}


def wrong(rows: dict[str, FitRow]) -> list[str]:
    return [name for name, row in rows.items() if row.verdict is Verdict.no]


def test_a_board_and_a_neck_of_one_instrument_fit(tmp_path: Path) -> None:
    rows = compared(tmp_path)
    # The board's pins are bored blind from its face: that is told.
    assert {Verdict.fits} == {row.verdict for name, row in rows.items() if "from the board's face" not in name}
    assert "+1.00 mm" == rows["width at nut"].difference
    assert "+1.00 mm" == rows["width at fret 12"].difference
    assert "covered" == rows["rod channel under the board"].difference


def test_another_scale_does_not_fit(tmp_path: Path) -> None:
    rows = compared(tmp_path, neck={"scale_length: 584": "scale_length: 586"})
    assert "scale length" in wrong(rows)
    assert "+2.00 mm" == rows["scale length"].difference
    assert "scale length" not in wrong(compared(tmp_path, neck={"scale_length: 584": "scale_length: 584.01"}))


def test_a_board_wider_than_the_shaft_does_not_fit(tmp_path: Path) -> None:
    # Margin 0.5 on each side: a board 1.2 mm wider at the nut stands over by 0.1 on each side.
    rows = compared(tmp_path, board={"nut: 36": "nut: 37.2"})
    assert {"width at nut", "neck beside the board, least"} == set(wrong(rows))
    assert "-0.10 mm" == rows["neck beside the board, least"].difference
    assert [] == wrong(compared(tmp_path, board={"nut: 36": "nut: 36.9"}))


def test_a_heel_shorter_than_the_board_does_not_fit_unless_it_is_meant(tmp_path: Path) -> None:
    short = {"to: 400": "to: 380"}
    rows = compared(tmp_path, neck=short)
    assert ["end, from the nut"] == wrong(rows)
    # The board ends at 584 (1 - 2^(-19/12)) + 8 = 397.11 mm.
    assert "-17.11 mm" == rows["end, from the nut"].difference
    assert Verdict.look is compared(tmp_path, neck=short, on_body=True)["end, from the nut"].verdict


def test_a_channel_longer_than_the_board_is_not_covered(tmp_path: Path) -> None:
    longer = {"from: -5, to: 350": "from: -5, to: 399"}
    rows = compared(tmp_path, neck=longer)
    assert ["rod channel under the board"] == wrong(rows)
    assert "1.89 uncovered" == rows["rod channel under the board"].difference
    assert [] == wrong(compared(tmp_path, neck={"from: -5, to: 350": "from: -5, to: 397"}))


def test_a_channel_may_run_under_the_nut_and_no_further(tmp_path: Path) -> None:
    # The nut stands on a shelf of 6 mm: common practice, no source.
    assert [] == wrong(compared(tmp_path, neck={"from: -5, to: 350": "from: -6, to: 350"}))
    rows = compared(tmp_path, neck={"from: -5, to: 350": "from: -8, to: 350"})
    assert ["rod channel under the board"] == wrong(rows)


def test_a_bar_at_the_board_s_edge_is_not_covered(tmp_path: Path) -> None:
    rows = compared(tmp_path, neck={"offset: 11": "offset: 18"})
    assert {"bar slot, treble side under the board", "bar slot, bass side under the board"} == set(wrong(rows))
    assert "at its side" in rows["bar slot, bass side under the board"].todo


def test_an_adjuster_may_come_out_to_be_reached(tmp_path: Path) -> None:
    pocket = {"to: 350": "to: 380, adjuster: {end: heel, width: 12, length: 18, depth: 11}"}
    rows = compared(tmp_path, neck=pocket)
    assert [] == wrong(rows)
    assert Verdict.look is rows["adjuster pocket under the board"].verdict


def test_pins_that_do_not_line_up_do_not_fit(tmp_path: Path) -> None:
    rows = compared(tmp_path, neck={"[20, 14.5]": "[20.06, 14.5]"})
    assert ["pin 1"] == wrong(rows)
    assert "0.060 mm" == rows["pin 1"].difference
    assert [] == wrong(compared(tmp_path, neck={"[20, 14.5]": "[20.04, 14.5]"}))


def test_a_pin_that_only_one_part_has_is_worth_a_look(tmp_path: Path) -> None:
    rows = compared(tmp_path, neck={"[380, -14.5], ": ""})
    assert [] == wrong(rows)
    assert Verdict.look is rows["pin 2 of the board"].verdict


def test_pins_in_waste_are_no_concern_of_the_joint(tmp_path: Path) -> None:
    rows = compared(tmp_path)
    assert ["pin 1", "pin 2"] == [name for name in rows if name.startswith("pin") and "face" not in name]


def test_a_through_hole_over_the_channel_opens_into_it(tmp_path: Path) -> None:
    holes = {"[20, 14.5]": "[20, 2]", "diameter: 4, depth: 4": "diameter: 4"}
    rows = compared(tmp_path, board=holes)
    assert "open" == rows["pin 1 over rod channel"].difference
    assert "pin 1 over rod channel" in wrong(rows)


@pytest.mark.parametrize(("depth", "verdict"), [("3.9", None), ("4.5", Verdict.look)])
def test_a_deep_marker_over_the_channel_is_worth_a_look(tmp_path: Path, depth: str, verdict: Verdict | None) -> None:
    # 6 mm of board, 2 mm of it should stay: common practice, no source.
    rows = compared(tmp_path, board={"depth: 1.8": f"depth: {depth}"})
    found = rows.get("marker at fret 5 over rod channel")
    assert verdict is (None if found is None else found.verdict)


def test_a_left_handed_neck_takes_no_right_handed_board(tmp_path: Path) -> None:
    rows = compared(tmp_path, neck={"part: neck": "part: neck\nhanded: left"})
    assert ["handed"] == wrong(rows), "in instrument coordinates all else is the same"


def test_a_board_planed_to_another_thickness_is_worth_a_look(tmp_path: Path) -> None:
    rows = compared(tmp_path, board={"leave: 6": "leave: 5.5"})
    assert Verdict.look is rows["thickness of the board"].verdict
    assert "+0.50 mm" == rows["thickness of the board"].difference


def test_a_fan_fits_itself_alone(tmp_path: Path) -> None:
    fan = {"scale_length: 584": "scale_length: {bass: 610, treble: 584, square_fret: 7}"}
    longer = {"scale_length: 584": "scale_length: {bass: 611, treble: 584, square_fret: 7}"}
    other = {"scale_length: 584": "scale_length: {bass: 610, treble: 584, square_fret: 6}"}
    long_heel = {"to: 400": "to: 430"}
    same = compared(tmp_path, board={**fan, **long_heel}, neck={**fan, **long_heel})
    assert [] == [name for name in wrong(same) if "scale" in name or "square" in name or "beside" in name]
    assert ["scale length"] == [n for n in wrong(compared(tmp_path, board=fan)) if "scale" in n]
    assert "scale length, bass" in wrong(compared(tmp_path, board=fan, neck=longer))
    assert "square fret" in wrong(compared(tmp_path, board=fan, neck=other))


def test_nuts_that_stand_apart_do_not_fit(tmp_path: Path) -> None:
    moved = {"nut_spread: 28": "nut_spread: 28\nnut_compensation: 0.5"}
    zero = {"nut_spread: 28": "nut_spread: 28\nzero_fret: true"}
    assert "nut's front, from the nut line" not in compared(tmp_path)
    assert [] == wrong(compared(tmp_path, board=moved, neck=moved))
    for one, other in ((moved, {}), ({}, moved), (moved, zero)):
        assert ["nut's front, from the nut line"] == wrong(compared(tmp_path, board=one, neck=other))


NUT_SLOT = "      - nut_slot: {{bit: eighth, width: 3.4, depth: 2, edge: {edge}}}\n      - tuner_bores:"


@pytest.mark.parametrize("edge", [-3.0, -0.06, -0.04, 0.0, 0.04, 0.06, 1.9, 3.4])
@pytest.mark.parametrize(
    "more",
    [
        {},
        {"nut_spread: 28": "nut_spread: 28\nnut_compensation: 0.5"},
        {"nut_spread: 28": "nut_spread: 28\nzero_fret: true"},
    ],
)
@pytest.mark.parametrize("fan", [False, True])
def test_the_nut_s_slot_ends_where_the_board_begins(tmp_path: Path, edge: float, more: Texts, fan: bool) -> None:
    # The slot's wall counts from the nut's front, which is where the board begins.
    both = {**more, **({"scale_length: 584": "scale_length: {bass: 600, treble: 584, square_fret: 7}"} if fan else {})}
    rows = compared(tmp_path, board=both, neck={**both, "      - tuner_bores:": NUT_SLOT.format(edge=edge)})
    row = rows["nut slot's wall, board's beginning"]
    assert (Verdict.fits if abs(edge) <= 0.05 else Verdict.no) is row.verdict
    assert edge == pytest.approx(float(row.difference.split(" ")[0]), abs=1e-9)
    if edge > 0.05:
        assert row.todo.startswith(f"{edge:.2f} mm of the slot lies under the board")
    if edge < -0.05:
        assert row.todo.startswith(f"the nut would stand {-edge:.2f} mm before the board")


def test_a_pair_in_inches_is_told_in_inches(tmp_path: Path) -> None:
    board, neck = (part(p) for p in pair(tmp_path, neck={"      - tuner_bores:": NUT_SLOT.format(edge=2.54)}))
    inches = replace(board, job=board.job.model_copy(update={"units": "in"}))
    row = {r.what: r for r in fit(inches, neck)}["nut slot's wall, board's beginning"]
    assert "+0.100 in" == row.difference
    assert row.todo.startswith("0.100 in of the slot lies under the board")


@pytest.mark.parametrize(
    "places", [[(20, 14.5), (380, -14.5)], [(20, 14.5), (380, -16.0)], [(33.3, -15.9), (371.2, 16.8)]]
)
@pytest.mark.parametrize("handed", ["right", "left"])
def test_mirrored_pins_do_not_fit(tmp_path: Path, places: list[tuple[float, float]], handed: str) -> None:
    def at(sign: int) -> str:
        return ", ".join(f"[{x}, {sign * y}]" for x, y in places)

    same = {"title: ": f"handed: {handed}\ntitle: "}
    here = {"[20, 14.5], [380, -14.5]": at(1)}
    assert [] == wrong(compared(tmp_path, board={**same, **here}, neck={**same, **here}))
    rows = compared(tmp_path, board={**same, **here}, neck={**same, "[20, 14.5], [380, -14.5]": at(-1)})
    assert ["pin 1", "pin 2"] == wrong(rows)
    for name, (_, y) in zip(("pin 1", "pin 2"), places, strict=True):
        assert f"{2 * abs(y):.2f} mm" == rows[name].difference
        assert "opposite sides of the centreline" in rows[name].todo


def test_pins_that_meet_nowhere_do_not_fit(tmp_path: Path) -> None:
    rows = compared(tmp_path, neck={"[20, 14.5], [380, -14.5]": "[60, 14.5], [340, -14.5]"})
    assert {"pin 1 of the board", "pin 2 of the board", "pin 1 of the neck", "pin 2 of the neck"} == set(wrong(rows))


def test_a_pin_bored_blind_from_the_board_s_face_is_worth_a_look(tmp_path: Path) -> None:
    # It does not come out at the board's back, where the neck lies.
    rows = compared(tmp_path)
    assert Verdict.look is rows["pin 1 from the board's face"].verdict
    through = compared(tmp_path, board={"diameter: 4, depth: 4": "diameter: 4"})
    assert not [name for name in through if name.endswith("from the board's face")]
