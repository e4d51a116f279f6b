"""A blank on its jig: nothing of the jig in its place, its pins in its bores, its cuts not too deep into the jig."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.jig_jobs import JigJobs
from toolpaths.job.changes import Changes
from toolpaths.job.jig import STAYS_UNDER, Jig
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.design import read_design
from toolpaths.pipeline.run import make, verify
from toolpaths.verification.finding import Finding, Severity

COARSE = Changes(pitch=0.5)
SCREWS = "[[-130, -76], [-130, 76], [250, -76], [250, 76]], sunk: 8"


def changed(path: Path, old: str, new: str, count: int = -1) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text, old
    path.write_text(text.replace(old, new, count), encoding="utf-8")


def found(path: Path, changes: Changes = COARSE) -> list[Finding]:
    return [f for f in make(path, changes).findings if f.severity is not Severity.note]


@pytest.mark.parametrize("handed", ["right", "left"])
def test_all_three_pass(tmp_path: Path, handed: str) -> None:
    files = JigJobs(handed=handed).write(tmp_path)
    assert {name: [f.message for f in found(path)] for name, path in files.items()} == {name: [] for name in files}


@pytest.mark.parametrize(
    ("old", "new", "says", "stops"),
    [
        # A head that stands on the jig, where the board's blank lies.
        (SCREWS, f"{SCREWS[:1]}[0, -20], {SCREWS[1 : -len(', sunk: 8')]}, sunk: 0", "in the blank's place", True),
        # A jig that ends under the neck, 10 mm before it.
        ("length: 420", "length: 385", "hangs over the jig's edge", False),
    ],
)
def test_what_of_the_jig_is_in_the_blank_s_way(tmp_path: Path, old: str, new: str, says: str, stops: bool) -> None:
    files = JigJobs().write(tmp_path)
    changed(files["jig"], old, new)
    if "385" in new:
        changed(files["jig"], "[250, -76], [250, 76]", "[225, -76], [225, 76]")
    told = [f for f in found(files["neck"]) if f.code == "holder-place" and says in f.message]
    assert told
    assert {f.severity for f in told} == {Severity.stop if stops else Severity.warn}


def test_a_head_under_the_seat_is_in_nobody_s_way(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    changed(files["jig"], SCREWS, f"[[0, -20], {SCREWS[1:]}")
    assert [] == [f.message for f in found(files["neck"]) if f.code == "holder-place"]


def test_screws_that_come_out_below_the_jig_are_a_stop(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    changed(files["neck"], "sunk: 6", "sunk: 6, into_bed: 25")
    changed(files["jig"], "      - pilot_holes: {bit: pilot, diameter: 2.5, depth: 14}\n", "")
    told = [f for f in found(files["neck"]) if "come out below the jig" in f.message]
    assert {f.code for f in told} == {"holder-place"}


def test_a_screw_of_the_jig_is_an_obstacle_of_the_work(tmp_path: Path) -> None:
    """Heads stand 25.2 + 12 - 24.5 = 12.7 above the seat; the board is planed at 6, and the bit runs off its end."""
    files = JigJobs().write(tmp_path)
    high = "[[-130, -76], [-60, 0], [250, -76], [250, 76]], sunk: 0, head_height: 12"
    changed(files["jig"], SCREWS, high)
    stops = [f for f in found(files["board"]) if f.code == "keep-out"]
    assert stops
    assert "the jig's screw 2" in stops[0].message


# Pins


@pytest.mark.parametrize(
    ("y", "d", "says"),
    [
        (4.2, 4.0, "pin 1 does not meet pin 1, its nearest bore. Give both the same place. 0.200 mm apart"),
        (4.0, 3.5, "does not fit pin 1"),
        (4.0, 4.2, "does not fit pin 1"),
    ],
)
def test_a_pin_beside_its_bore_is_a_stop(tmp_path: Path, y: float, d: float, says: str) -> None:
    files = JigJobs().write(tmp_path)
    place = "height: 4, at: [{x: -30.0, y: 4.0, diameter: 4.0}"
    changed(files["board"], place, f"height: 4, at: [{{x: -30.0, y: {y}, diameter: {d}}}")
    told = [f for f in found(files["board"]) if f.code == "pins-apart"]
    assert ["setup face"] == [f.message.split(":")[0] for f in told]
    assert says in told[0].message


def test_two_alike_are_warned_of(tmp_path: Path) -> None:
    numbers = JigJobs(neck_pins=((-110.0, 7.0, 6.0), (225.0, -9.0, 6.0)))
    files = numbers.write(tmp_path)
    assert [f.severity for f in found(files["neck"]) if f.code == "pins-alike"] == [Severity.warn]


# Depth


@pytest.mark.parametrize(("under", "deep"), [(24.5, 0.2), (5.1, 0.1), (5.0, 0.0), (3.0, 0.0)])
def test_a_through_cut_leaves_five_millimetres_of_the_jig(tmp_path: Path, under: float, deep: float) -> None:
    """At most the machine's `bed_allowance`, 0.2 mm."""
    files = JigJobs().write(tmp_path)
    context = read_design(files["board"]).contexts["bores"]
    assert isinstance(context.jig, Jig)
    thinner = replace(context, jig=replace(context.jig, under=under))
    assert thinner.breakthrough == pytest.approx(deep)
    assert under - thinner.breakthrough >= min(under, STAYS_UNDER)


def test_a_cut_deeper_into_the_jig_is_a_stop(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    own = lay_out(files["board"], COARSE).own
    program = next(p for _, p in own if p.setup == "bores")
    changed_text = program.text.replace("Z-0.2", "Z-0.6")
    assert changed_text != program.text
    (tmp_path / program.name).write_text(changed_text, encoding="utf-8")
    codes = {f.code for f in verify(files["board"], [tmp_path / program.name], COARSE).findings}
    assert "into-bed" in codes


# What the header says


def judged(files: dict[str, Path], edit: Callable[[str], str], name: str = "board") -> list[Finding]:
    program = lay_out(files[name], COARSE).own[0][1]
    path = files[name].parent / program.name
    path.write_text(edit(program.text), encoding="utf-8")
    return list(verify(files[name], [path], COARSE).findings)


def test_as_written_it_passes(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    assert [] == [f.message for f in judged(files, lambda text: text) if f.severity is Severity.stop]


def test_a_jig_that_was_changed_since_is_noticed(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    program = lay_out(files["board"], COARSE).own[0][1]
    path = tmp_path / program.name
    path.write_text(program.text, encoding="utf-8")
    before = read_design(files["jig"]).loaded.job_hash
    changed(files["jig"], "jig_pins: {bit: pinner, depth: 8}", "jig_pins: {bit: pinner, depth: 9}")
    after = read_design(files["jig"]).loaded.job_hash
    told = [f.message for f in verify(files["board"], [path], COARSE).findings if f.code == "header"]
    assert any(f"the job's jig. Write the programs again. Comment: {before}; job: {after}" in words for words in told)


@pytest.mark.parametrize(
    ("old", "new", "code", "says"),
    [
        ("(Jig: job ", "(No jig: job ", "header", "does not say on which jig"),
        ("Y at the jig", "Y at the centreline", "header", "the job's zero"),
        ("(Touch off: top of the jig, Z 0.000 mm)", "(Touch off: bed, Z 0.000 mm)", "no-touch-off", "not in the job"),
        ("(Touch off: top of the jig, Z 0.000 mm)", "(Touch off: top of the jig, Z 0.100 mm)", "no-touch-off", "0.10"),
    ],
)
def test_a_header_that_misleads_about_the_jig_is_a_stop(
    tmp_path: Path, old: str, new: str, code: str, says: str
) -> None:
    files = JigJobs().write(tmp_path)

    def edit(text: str) -> str:
        assert old in text, old
        return text.replace(old, new)

    told = [f for f in judged(files, edit) if f.code == code]
    assert any(says in f.message for f in told)
    assert {f.severity for f in told} == {Severity.stop}


def test_on_a_seat_bits_are_set_on_the_jig_s_top(tmp_path: Path) -> None:
    files = JigJobs(seat="      - seat: {bit: quarter, for: neck, depth: 2, room: 3}\n").write(tmp_path)
    texts = [p.text for _, p in lay_out(files["neck"], COARSE).own]
    assert all("(Touch off: top of the jig, Z 2.000 mm)" in text for text in texts)


def test_the_jig_s_own_header_says_what_it_is(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    texts = [p.text for _, p in lay_out(files["jig"], COARSE).own]
    assert all("(This program cuts a jig. Screw the jig down first. Do not move it until" in text for text in texts)


def test_tape_between_jig_and_blank_lifts_the_blank_alone(tmp_path: Path) -> None:
    """Z 0 stays the jig's seat: with 0.2 mm of tape the planed face, 6 thick, is at 6.2."""
    files = JigJobs(seat="      - seat: {bit: quarter, for: neck, depth: 2, room: 3}\n").write(tmp_path)
    changed(files["board"], "tape: {}", "tape: {thickness: 0.2}")
    context = read_design(files["board"]).contexts["face"]
    assert context.zero == pytest.approx((0.0, 0.0, -0.2))
    assert context.jig_top == pytest.approx(2.0 - 0.2)
    screw = next(o for o in context.obstacles if o.of_jig)
    # 25.2 - 8 + 3.5 above the bed, and the seat at 22.5: 1.8 below it, 2.0 below the blank.
    assert (context.above_bed(screw.top), screw.top) == pytest.approx((-1.8, -2.0))
    program = next(p for _, p in lay_out(files["board"], COARSE).own if p.setup == "face")
    assert "(Touch off: top of the jig, Z 2.000 mm)" in program.text
    assert "Z6.2" in program.text
    assert [] == [f.message for f in found(files["board"])]
