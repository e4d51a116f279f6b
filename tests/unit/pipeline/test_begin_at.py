"""Going on after a broken bit: from any piece, by its name, on the wood that stands."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from tests.support.made import laid_out
from tests.support.made import made as make
from toolpaths.common.errors import JobError
from toolpaths.gcode.reader.read import read
from toolpaths.job.changes import Changes
from toolpaths.pipeline.begin_at import begun, pieces_of
from toolpaths.pipeline.build import names_of_pieces
from toolpaths.pipeline.design import JobDesign, design_of
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.move import move
from toolpaths.pipeline.run import verify
from toolpaths.pipeline.workpiece import Workpiece
from toolpaths.toolpath.toolpath import Feed, Rapid, Toolpath
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[3]
BOARD = ROOT / "tests" / "cases" / "short_board.yaml"
DEMOS = ROOT / "demo_jobs"
INLAID = DEMOS / "inlaid_board.yaml"


def moved(path: Path) -> tuple[JobDesign, list[Toolpath]]:
    design = design_of(load_job(path))
    return design, [move(plan, design.contexts[plan.setup]) for plan in design.plans]


def meant(path: Path, asked: str) -> str:
    design, toolpaths = moved(path)
    return begun(toolpaths, design.contexts, asked)[2]


def refused(path: Path, asked: str) -> tuple[str, str]:
    with pytest.raises(JobError) as caught:
        meant(path, asked)
    (problem,) = caught.value.problems
    assert ("command line", "--from") == (problem.file, problem.key)
    return problem.problem, problem.hint


def made(path: Path, start: str | None = None, session: float = 0.0) -> Outcome:
    return make(path, Changes(pitch=0.4, start=start, session=session))


def words(text: str) -> list[str]:
    """The comments of a program that announce its pieces."""
    return [line[9:-1] for line in text.splitlines() if line.startswith("(Feature ")]


def stops(outcome: Outcome) -> set[str]:
    return {f.code for f in outcome.findings if f.severity is Severity.stop}


# Names


@pytest.mark.parametrize(
    ("asked", "label"),
    [
        ("fret 12", "score_lines: fret 12"),
        ("  Fret 12 ", "score_lines: fret 12"),
        ("score_lines: fret 12", "score_lines: fret 12"),
        ("score_lines:fret 12", "score_lines: fret 12"),
        ("score_lines: fret 12, 2 levels, one way", "score_lines: fret 12"),
        ("fret 1", "score_lines: fret 1"),
        ("marker 7", "marker_pockets: marker at fret 7"),
        ("marker at fret 7", "marker_pockets: marker at fret 7"),
        ("pin 2", "pin_bores: pin 2"),
        ("outline: level 3", "outline: level 3"),
        ("skim", "outline: last skim"),
        ("plane: level 2", "plane: level 2"),
        ("plane: level 2, row 3", "plane: level 2, row 3"),
        ("level 2 row 3", "plane: level 2, row 3"),
    ],
)
def test_a_piece_is_known_by_its_name_or_by_some_of_its_words(asked: str, label: str) -> None:
    assert label == meant(DEMOS / "tenor_board.yaml", asked)


@pytest.mark.parametrize(
    ("asked", "labels"),
    [
        ("level 2", ("plane: level 2", "outline: level 2")),
        ("marker_pockets: marker 12", ("marker_pockets: marker at fret 12, bass side", "treble side")),
    ],
)
def test_what_fits_two_pieces_is_refused_with_both(asked: str, labels: tuple[str, str]) -> None:
    path = DEMOS / ("tenor_board.yaml" if "level" in asked else "fanned_seven.yaml")
    problem, hint = refused(path, asked)
    assert f"2 pieces match `{asked}`" == problem
    assert all(label in hint for label in labels)


def test_a_comment_that_the_program_cut_short_is_known() -> None:
    asked = "reinforcement_slots: bar slot, bass side, 4 levels, then a skim"
    assert "reinforcement_slots: bar slot, bass side" == meant(DEMOS / "tenor_neck_on_jig.yaml", asked)


def test_a_name_that_two_features_have_is_refused_with_what_to_type() -> None:
    problem, hint = refused(DEMOS / "compound_board.yaml", "fret 12")
    assert "2 pieces match `fret 12`" == problem
    assert 'type the one that you mean: "score_lines: fret 12", "fret_slots: fret 12"' == hint
    assert "fret_slots: fret 12" == meant(DEMOS / "compound_board.yaml", "fret_slots: fret 12")


def test_a_wrong_name_is_answered_with_the_nearest_and_with_what_there_is() -> None:
    problem, hint = refused(DEMOS / "tenor_board.yaml", "frat 12")
    assert "no feature or piece is called `frat 12`" == problem
    assert hint.startswith("did you mean `fret 12`? the job has plane, score_lines, ")
    assert hint.endswith('such as --from "score_lines: fret 12"')
    problem, hint = refused(DEMOS / "tenor_board.yaml", "score_lines: fret 30")
    assert "score_lines has no piece `fret 30`" == problem
    assert hint.endswith("fret 7, fret 8 and 11 more"), "a long list is cut short"
    assert refused(DEMOS / "tenor_board.yaml", "  ")
    assert refused(DEMOS / "tenor_board.yaml", ":")


@pytest.mark.parametrize("name", ["tenor_board", "inlaid_board", "fanned_seven", "parlour_board_inch", "tenor_jig"])
def test_every_piece_has_a_whole_name_of_its_own(name: str) -> None:
    design, toolpaths = moved(DEMOS / f"{name}.yaml")
    pieces = pieces_of(toolpaths)
    whole = [p for p in pieces if not p.row]
    assert len(whole) == sum(len(t.sections) for t in toolpaths), "every section can be begun with"
    assert len(pieces) == len({p.label.casefold() for p in pieces})
    for piece in pieces:
        if name != "parlour_board_inch" or piece.feature != "plane":
            assert piece.label == begun(toolpaths, design.contexts, piece.label)[2]


def test_pieces_of_one_name_are_told_apart() -> None:
    inlays = [p.name for p in pieces_of(moved(INLAID)[1]) if p.feature == "inlay_pieces"]
    assert "the piece for marker at fret 3, level 1" in inlays
    lines = [p.name for p in pieces_of(moved(DEMOS / "tenor_jig.yaml")[1]) if p.feature == "guide_lines"]
    assert {"nut line, no. 1", "nut line, no. 2"} < set(lines)


def test_names_for_the_shell_are_short_where_they_can_be() -> None:
    names = names_of_pieces(DEMOS / "compound_board.yaml")
    assert {"fret 1", "score_lines: fret 1", "score_lines: fret 12", "fret_slots: fret 12"} < set(names)
    assert "fret 12" not in names


def test_planing_zeroed_on_what_it_planes_away_is_begun_whole() -> None:
    problem, hint = refused(DEMOS / "parlour_board_inch.yaml", "plane: level 2")
    assert "Z is zeroed on the stock's top" in problem
    assert "--from plane" in hint
    assert "plane: level 1" == meant(DEMOS / "parlour_board_inch.yaml", "plane: level 1")


# The set


def test_both_parts_hold_the_moves_of_the_whole() -> None:
    design, toolpaths = moved(BOARD)
    for piece in pieces_of(toolpaths):
        if piece.feature == "plane" or piece.row:
            continue  # zeroed on the stock's top
        before, own, _ = begun(toolpaths, design.contexts, piece.label)
        assert [s.title for t in (*before, *own) for s in t.sections] == [
            s.title for t in toolpaths for s in t.sections
        ]
        assert own[0].sections[0].piece == piece.name
        for t in (*before, *own):
            assert set(t.owners) == set(range(len(t.program_plan.operations))), "no operation of which nothing is cut"


@pytest.mark.parametrize(
    ("job", "feature"),
    [("tenor_board", "plane"), ("compound_board", "radius"), ("tenor_neck_on_jig", "headstock_face")],
)
def test_a_row_begins_where_the_row_before_has_ended(job: str, feature: str) -> None:
    design, toolpaths = moved(DEMOS / f"{job}.yaml")
    rows = [p for p in pieces_of(toolpaths) if p.feature == feature and p.row]
    assert len(rows) > 5
    for piece in rows[1::3]:
        before, own, _ = begun(toolpaths, design.contexts, piece.label)
        if piece.row == 1:
            assert own[0].sections[0].rows
            continue
        end = [s for s in before[-1].sections[-1].steps if isinstance(s, Feed)][-1]
        first, *_ = rest = own[0].sections[0].steps
        assert isinstance(first, Rapid)
        assert own[0].sections[0].title.endswith(f", from row {piece.row} on")
        down = next(s for s in rest if isinstance(s, Feed) and s.z <= end.z)
        if job != "tenor_neck_on_jig":
            assert (end.x, end.y, end.z) == (down.x, down.y, down.z), "down where the bit was, through what is cut"


def test_the_programs_begin_with_the_piece_and_say_so() -> None:
    path = DEMOS / "tenor_board.yaml"
    found = made(path, "fret 12")
    assert not stops(found)
    first = found.programs[0]
    assert [f"score_lines: fret {k}, 2 levels, one way" for k in range(12, 20)] == words(first.text)
    assert "(Written with the option: from score_lines: fret 12)" in first.text
    assert ("from score_lines: fret 12",) == found.changes.words
    assert 4 == len(found.programs)
    whole = made(path)
    mine, its = (next(p for p in o.programs if "scorer" in p.bits) for o in (found, whole))
    # The first feed is said anew: a program may not rely on one before it.
    own, every = (re.sub(r" F\d+", "", p.text).split("(Feature ")[1:] for p in (mine, its))
    assert own == every[11:], "move for move what the whole set has from there on"


def test_only_what_the_set_itself_cuts_is_reported_of_the_feature() -> None:
    whole, rest = (made(DEMOS / "tenor_board.yaml", start) for start in (None, "fret 19"))
    all_lines, one = (next(f for f in o.setups[0].features if f.name == "score_lines") for o in (whole, rest))
    # One of 19 lines, all equally long; in cells of 0.4 mm a line 0.5 mm wide is one or two wide.
    assert all_lines.removed_mm3 / 19 == pytest.approx(one.removed_mm3, rel=0.2)
    assert all_lines.minutes / 19 == pytest.approx(one.minutes, rel=0.1)


def test_a_feature_is_finished_with_its_last_piece_only() -> None:
    layout = laid_out(BOARD, Changes(pitch=0.5, start="score_lines: fret 4"))
    wood = Workpiece.of(layout)
    for plan, program in layout.earlier:
        before = wood.cut(plan, program, read(program.text, program.beside), 0.0)
    assert "score_lines" in before.begun
    assert "score_lines" not in before.finished
    plan, program = layout.own[0]
    after = wood.cut(plan, program, read(program.text, program.beside), 0.0)
    assert "score_lines" in after.finished
    assert {p.name for _, p in layout.earlier}.isdisjoint(p.name for _, p in layout.own)


def test_it_goes_with_booked_hours() -> None:
    found = made(BOARD, "fret 3", session=12.0)
    assert not stops(found)
    assert "score_lines: fret 3" in words(found.programs[0].text)[0]
    whole = made(BOARD)
    assert np.allclose(whole.setups[0].after.heights, found.setups[0].after.heights, atol=1e-5)


# What somebody hands in


@pytest.fixture
def rest(tmp_path: Path) -> tuple[Outcome, Path]:
    """The set of the short board from the line of fret 4 on, and the file of its first program."""
    outcome = make(BOARD, Changes(pitch=0.4, start="fret 4"))
    file = tmp_path / outcome.programs[0].name
    file.write_text(outcome.programs[0].text, encoding="utf-8")
    return outcome, file


def test_the_rest_of_a_set_is_verified_as_it_was_written(rest: tuple[Outcome, Path]) -> None:
    _, file = rest
    assert not stops(verify(BOARD, [file], Changes(pitch=0.4, start="score_lines: fret 4")))


def test_a_text_that_cuts_too_deep_is_stopped_in_the_rest_too(rest: tuple[Outcome, Path]) -> None:
    outcome, file = rest
    trace = read(outcome.programs[0].text)
    low = f"{trace.end[:, 2].min():.3f}".rstrip("0").rstrip(".")
    deeper = f"{trace.end[:, 2].min() - 0.3:.3f}"
    text = outcome.programs[0].text
    assert f"Z{low}" in text
    file.write_text(text.replace(f"Z{low}", f"Z{deeper}"), encoding="utf-8")
    found = verify(BOARD, [file], Changes(pitch=0.4, start="fret 4"))
    assert "gouge" in stops(found)


def test_a_piece_that_is_neither_cut_before_nor_in_the_set_is_uncut(rest: tuple[Outcome, Path]) -> None:
    _, file = rest
    found = verify(BOARD, [file], Changes(pitch=0.4, start="fret 3"))
    assert "uncut" in stops(found), "the line of fret 3 is missing"


def test_only_wins_where_both_are_asked_for() -> None:
    found = laid_out(BOARD, Changes(only="score_lines", start="fret 3"))
    assert {"score_lines"} == {o.feature for plan, _ in found.own for o in plan.operations}
