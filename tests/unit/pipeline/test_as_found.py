"""What was measured takes the place of what was asked, for the programs still to come and for no other."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.measured_job import COARSE, board, marks, of, tell, texts
from toolpaths.common.errors import JobError
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.prove import prove
from toolpaths.verification.outcome import Outcome

LINE_DEPTH = 0.4
FACE = 5.0


def lowest(text: str) -> float:
    """The lowest Z of a program, as its text says it."""
    return min(float(z) for z in re.findall(r"^G[0-3].*?Z(-?[\d.]+)", text, re.M))


def faces(job: Path, by: float) -> dict[str, float]:
    """Every corner of the planed face found so much higher, mm, in the setup that planes it."""
    found = of(marks(job), Meaning.face)
    return {m.name: m.figure.value + by for m in found if m.setup == found[0].setup}


def stops(outcome: Outcome) -> list[str]:
    return [f.message for f in outcome.findings if f.severity == "stop"]


def test_without_measured_values_nothing_is_corrected(tmp_path: Path) -> None:
    layout = lay_out(board(tmp_path), COARSE)
    assert ((), {}, 0) == (layout.history.corrections, layout.history.cut, layout.history.values.programs_cut)


@given(by=st.floats(-0.4, 0.4), zero=st.sampled_from(["bed", "stock top"]))
@settings(max_examples=12)
def test_lines_follow_the_face_as_it_was_found(by: float, zero: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    job = board(tmp_path_factory.mktemp("job"), zero)
    before, off = texts(job), round(by, 2)
    tell(job, faces(job, off))
    after = texts(job)
    first, lines, *_ = after
    assert before[first] == after[first]
    # A line is so deep below the face as it is, whichever surface Z counts from; up to 0.005 counts as no difference.
    shift = off if abs(off) > 0.005 else 0.0
    assert lowest(after[lines]) == pytest.approx(lowest(before[lines]) + shift, abs=2e-3)


@pytest.mark.parametrize("zero", ["bed", "stock top"])
@pytest.mark.parametrize("by", [-0.3, -0.06, 0.05, 0.3])
def test_what_is_still_to_be_cut_is_proven_on_the_wood_as_found(by: float, zero: str, tmp_path: Path) -> None:
    job = board(tmp_path, zero)
    tell(job, faces(job, by))
    outcome = prove(lay_out(job, COARSE))
    assert [] == stops(outcome)
    assert {outcome.programs[0].name} == outcome.cut
    heights = outcome.setups[0].after.heights
    # Beside every cut the face stands as it was found: at the blank's corner.
    assert float(heights[2, 2]) == pytest.approx(FACE + by, abs=1e-3)


def test_lines_of_a_set_that_does_not_follow_are_stopped(tmp_path: Path) -> None:
    job = board(tmp_path)
    plain = lay_out(job, COARSE)
    # The face lies lower than the old text takes it to be: its lines are too shallow.
    tell(job, faces(job, -0.1))
    found = lay_out(job, COARSE)
    lines = found.own[1][1]
    old = plain.own[1][1].text
    handed_in = {1: replace(lines, text=old)}
    assert any("wood is left uncut" in words for words in stops(prove(found, handed_in)))


def test_a_bit_that_cuts_narrower_is_given_its_width_in_later_programs(tmp_path: Path) -> None:
    job = board(tmp_path)
    every = marks(job)
    pocket = next(m for m in of(every, Meaning.bit) if m.bit == "three")
    tell(job, {pocket.name: pocket.figure.value - 0.04})
    history = lay_out(job, COARSE).history
    assert history.values.programs_cut == pocket.after
    assert history.design.contexts["face"].bits["three"].cut_diameter == pytest.approx(3.0 - 0.04)


def test_the_blank_is_a_surface_and_not_one_number(tmp_path: Path) -> None:
    job = board(tmp_path)
    values = (5.9, 6.0, 6.1, 6.0, 6.1, 6.2)
    tell(job, {m.name: v for m, v in zip(of(marks(job), Meaning.blank), values, strict=True)})
    layout = lay_out(job, COARSE)
    context = layout.contexts["face"]
    assert context.found.measured_top is not None
    x0, y0, x1, y1 = context.stock_box
    at = context.found.measured_top.at(np.array([x0 + 5, x1 - 5]), np.array([y0 + 5, y1 - 5]))
    assert [5.9, 6.2] == pytest.approx(at.tolist())
    assert context.top == pytest.approx(float(context.found.measured_top.extremes(context.stock_box)[1]))
    assert [] == stops(prove(layout))


def test_the_way_of_x_is_corrected_by_two_lines(tmp_path: Path) -> None:
    job = board(tmp_path)
    mark = of(marks(job), Meaning.axis)[0]
    tell(job, {mark.name: mark.figure.value * 0.998})
    layout = lay_out(job, COARSE)
    assert layout.contexts["face"].machine.correction[0] == pytest.approx(1 / 0.998, rel=1e-6)
    cut = layout.own[: mark.after]
    tell(job, {})
    assert [p.text for _, p in cut] == [p.text for _, p in lay_out(job, COARSE).own[: mark.after]]


def test_a_value_written_down_late_changes_no_program_that_is_cut(tmp_path: Path) -> None:
    job = board(tmp_path)
    before = texts(job)
    values = faces(job, 0.06)
    tell(job, values, dict.fromkeys(values, 2))
    after = texts(job)
    names = list(before)
    assert [before[n] for n in names[:2]] == [after[n] for n in names[:2]]
    assert before[names[2]] != after[names[2]]


def test_a_value_that_cannot_be_true_is_told_at_its_place(tmp_path: Path) -> None:
    job = board(tmp_path)
    mark = of(marks(job), Meaning.face)[0]
    tell(job, {mark.name: mark.figure.value + 1.2})
    with pytest.raises(JobError) as caught:
        lay_out(job, COARSE)
    (problem,) = caught.value.problems
    assert (problem.file.endswith("board.found.yaml"), problem.line, problem.key) == (True, 5, f"found.{mark.name}")
    assert "measure" in problem.hint


def test_a_face_too_thin_for_what_comes_says_that_the_part_is_lost(tmp_path: Path) -> None:
    job = board(tmp_path)
    text = job.read_text().replace("depth: 1.5, frets", "depth: 4.5, frets")
    job.write_text(text)
    tell(job, faces(job, -0.9))
    with pytest.raises(JobError) as caught:
        lay_out(job, COARSE)
    (problem,) = caught.value.problems
    assert "the pockets would go through the board" in problem.problem
    assert "this part cannot be finished" in problem.hint


SIDES = Path(__file__).parents[2] / "cases" / "two_sided_neck.yaml"


@pytest.mark.parametrize("by", [(0.15, -0.1), (-0.08, 0.0), (0.0, 0.12)])
def test_a_side_that_lies_beside_the_other_is_moved_back(by: tuple[float, float], tmp_path: Path) -> None:
    job = tmp_path / "neck.yaml"
    job.write_text(SIDES.read_text())
    rims = of(marks(job), Meaning.sides)
    assert [(-1.0, 0.0), (1.0, 0.0), (0.0, -1.0), (0.0, 1.0)] == [m.figure.axis for m in rims]
    # A ring that lies further along an axis leaves more room to its rim there, and less on the other side.
    found = {m.name: m.figure.value + sum(a * b for a, b in zip(m.figure.axis, by, strict=True)) for m in rims}
    before = lay_out(job, COARSE).own
    tell(job, found)
    layout = lay_out(job, COARSE)
    setup = rims[0].setup
    assert layout.contexts[setup].found.aside == pytest.approx(by)
    number = rims[0].after
    moved = [p for plan, p in layout.own if plan.setup == setup and plan.number >= number]
    same = [p for plan, p in before if plan.setup == setup and plan.number >= number]
    assert moved
    for new, old in zip(moved, same, strict=True):
        for axis, off in zip("XY", by, strict=True):
            ends = [span(p.text, axis) for p in (old, new)]
            assert ends[1] == pytest.approx([v - off for v in ends[0]], abs=2e-3)
    assert [] == stops(prove(layout))


def span(text: str, axis: str) -> list[float]:
    """Least and greatest coordinate of the cutting moves of an axis, as the text has them."""
    found = [float(v) for v in re.findall(rf"^G[123]\b.*?{axis}(-?[\d.]+)", text, re.M)]
    return [min(found), max(found)]


def test_another_version_of_the_job_is_told(tmp_path: Path) -> None:
    job = board(tmp_path)
    tell(job, faces(job, 0.05))
    job.write_text(job.read_text().replace("depth: 0.4", "depth: 0.35"))
    with pytest.raises(JobError) as caught:
        lay_out(job, COARSE)
    assert "measured for job" in caught.value.problems[0].problem
    assert caught.value.problems[0].line == 3


def test_a_second_cut_of_a_bit_that_was_corrected_does_not_undo_it(tmp_path: Path) -> None:
    """What a later cut shows counts from the width that its own program took the bit to have."""
    job = tmp_path / "neck.yaml"
    job.write_text(SIDES.read_text())
    every = marks(job)
    bit = next(b for b in {m.bit for m in every if m.meaning is Meaning.bit} if len(programs_of(every, b)) > 1)
    first, *_, last = (m for m in every if m.meaning is Meaning.bit and m.bit == bit)
    tell(job, {first.name: first.figure.value - 0.04})
    once = lay_out(job, COARSE).history
    again = next(m for m in once.marks if m.number == last.number)
    # Cut as the corrected program asked, with a bit as wide as it was taken to be: exactly what its mark wants.
    tell(job, {first.name: first.figure.value - 0.04, last.name: again.figure.value})
    twice = lay_out(job, COARSE).history
    widths = [h.design.contexts["face"].bits[bit].cut_diameter for h in (once, twice)]
    assert widths[0] == pytest.approx(widths[1], abs=1e-6)


def programs_of(every: tuple[Mark, ...], bit: str) -> set[int]:
    return {m.after for m in every if m.meaning is Meaning.bit and m.bit == bit}


FACES = SIDES.with_name("neck_faces.yaml")


def test_what_is_asked_of_programs_to_come_follows_the_face(tmp_path: Path) -> None:
    job = tmp_path / "neck.yaml"
    job.write_text(FACES.read_text())
    every = marks(job)
    values = faces(job, -0.08)
    tell(job, values)
    after = lay_out(job, COARSE).history.marks
    assert [m.name for m in every] == [m.name for m in after]
    # What is cut already was asked for as it was.
    assert all(a.figure.value == b.figure.value for a, b in zip(every, after, strict=True) if a.name in values)
    assert any(abs(a.figure.value - b.figure.value) > 0.05 for a, b in zip(every, after, strict=True) if a.after > 1)


@pytest.mark.parametrize(("thick", "high"), [(0.0, 0.1), (0.0, 0.25), (-0.2, 0.0), (-0.1, 0.15)])
def test_what_lies_unseen_under_a_turned_blank_is_taken_off(thick: float, high: float, tmp_path: Path) -> None:
    """Z on the bed: a top that stands higher than the wood is thick lies on something."""
    job = tmp_path / "neck.yaml"
    job.write_text(FACES.read_text())
    before = lay_out(job, COARSE)
    lying = [m for m in of(marks(job), Meaning.face) if m.before]
    assert {"height", "thickness"} == {m.figure.kind for m in lying}
    tell(job, {m.name: m.figure.value + (high if m.figure.kind == "height" else thick) for m in lying})
    after = lay_out(job, COARSE)
    setup = lying[0].setup
    assert after.contexts[setup].found.raised == pytest.approx(high - thick)
    for (plan, old), (_, new) in zip(before.own, after.own, strict=True):
        if plan.setup == setup and plan.number >= lying[0].after:
            # Heights of this side count from the glue face, which lies on what is under it.
            assert lowest(new.text) == pytest.approx(lowest(old.text) + high - thick, abs=2e-3)
        else:
            assert old.text == new.text
    assert [] == stops(prove(after))


def test_a_second_side_is_cut_by_the_x_that_bored_its_pins(tmp_path: Path) -> None:
    job = tmp_path / "neck.yaml"
    job.write_text(SIDES.read_text())
    every = marks(job)
    ways = of(every, Meaning.axis)
    assert ways
    face = ways[0].setup
    (pins,) = (m for m in ways if m.feature.startswith("pin_bores"))
    tell(job, {pins.name: pins.figure.value * 1.002})
    layout = lay_out(job, COARSE)
    corrected = {name: context.machine.correction[0] != 1.0 for name, context in layout.contexts.items()}
    # What showed it was bored by X as it is; the other side must meet those bores.
    assert {name: name == face for name in corrected} == corrected


@pytest.mark.parametrize(("wider", "lost"), [(0.01, False), (0.03, False), (0.08, True)])
def test_a_hole_as_wide_as_its_bit_bears_a_slightly_wider_bit(wider: float, lost: bool, tmp_path: Path) -> None:
    job = board(tmp_path)
    # The same bit comes back in a second setup of the same side, for a hole as wide as itself.
    again = "  - {name: later, offset: G55, zero: {x: stock end, y: stock edge, z: bed}, nut_at: 18, centre_at: 34,\n"
    again += "     hold: tape, features: [{bores: {bit: three, diameter: 3, depth: 2, at: [[60, 12]], for: strings}},"
    again += " {outline: {bit: six, tabs: {count: 2, length: 7, height: 1.5}}}]}\n"
    text = job.read_text()
    job.write_text(text[: text.index("      - outline")] + again)
    pocket = next(m for m in of(marks(job), Meaning.bit) if m.bit == "three" and m.figure.value > 4)
    assert pocket.later
    tell(job, {pocket.name: pocket.figure.value + wider})
    if lost:
        with pytest.raises(JobError, match="wide"):
            lay_out(job, COARSE)
    else:
        assert [] == stops(prove(lay_out(job, COARSE)))


def test_what_is_asked_for_again_is_made_from_what_is_known_and_judged(tmp_path: Path) -> None:
    """A feature that was cut before, asked for by name, is to be cut: nothing of it is passed over."""
    job = board(tmp_path, "bed")
    every = marks(job)
    width = next(m for m in of(every, Meaning.bit) if m.bit == "scorer")
    tell(job, {**faces(job, -0.06), width.name: width.figure.value})
    whole = lay_out(job, COARSE)
    assert whole.history.values.programs_cut == width.after
    again = prove(lay_out(job, replace(COARSE, only="score_lines")))
    assert frozenset() == again.cut
    assert [] == stops(again)
    # Made from the face as it is, whatever the program that cut it once was made from.
    assert lowest(again.programs[0].text) == pytest.approx(FACE - 0.06 - LINE_DEPTH, abs=2e-3)
    broken = lay_out(job, replace(COARSE, only="score_lines"))
    deep = broken.own[0][1]
    text = re.sub(r"Z4\.54\b", "Z4.3", deep.text)
    assert text != deep.text
    assert stops(prove(broken, {0: replace(deep, text=text)}))
