"""Jigs and the jobs that lie on them read each other: what is read, what is refused where, and what hashes cover."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.jig_jobs import JigJobs
from toolpaths.common.errors import JobError, Problem
from toolpaths.job.obstacles import ObstacleKind, Present
from toolpaths.pipeline.load import load_alone, load_job

SEAT = "      - seat: {bit: quarter, for: neck, depth: 2, room: 3}\n"


def changed(path: Path, old: str, new: str, count: int = -1) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text, old
    path.write_text(text.replace(old, new, count), encoding="utf-8")


def problems(path: Path) -> list[Problem]:
    with pytest.raises(JobError) as told:
        load_job(path)
    return list(told.value.problems)


# What is read


@pytest.mark.parametrize("handed", ["right", "left"])
def test_a_jig_reads_how_each_blank_lies(tmp_path: Path, handed: str) -> None:
    """Places as the machine sees them: the neck's pins are its pin bores turned over, y changed in sign."""
    numbers = JigJobs(handed=handed)
    served = {(s.part, s.setup): s for s in load_job(numbers.write(tmp_path)["jig"]).served}
    assert list(served) == [("board", "bores"), ("board", "face"), ("neck", "face"), ("neck", "back")]
    seen = 1.0 if handed == "right" else -1.0
    assert served["neck", "back"].pins == tuple((x, -seen * y, d) for x, y, d in numbers.neck_pins)
    assert served["board", "face"].pins == tuple((x, seen * y, d) for x, y, d in numbers.board_pins)
    assert [len(served[key].stops) for key in served] == [1, 0, 1, 0]
    assert served["neck", "face"].box == (-120.0, -45.0, 245.0, 45.0)


def test_the_instrument_is_that_of_its_jobs(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    assert load_job(files["jig"]).job.instrument == load_job(files["board"]).job.instrument


def test_pins_in_the_bed_s_bores_are_read_too(tmp_path: Path) -> None:
    """A job that does not lie on the jig yet: its `bed_bores` are written as seen from the face."""
    files = JigJobs().write(tmp_path)
    changed(files["neck"], "jig: jig.yaml, ", "")
    changed(files["neck"], "zero: {x: jig, y: jig, z: jig seat}", "zero: {x: nut, y: centreline, z: bed}")
    bores = "{bed_bores: {bit: pinner, depth: 6, at: [{x: -100, y: 9, diameter: 6}, {x: 220, y: -9, diameter: 8}]}}"
    changed(files["neck"], "features: [{plane: ", f"features: [{bores}, {{plane: ")
    back = next(s for s in load_job(files["jig"]).served if (s.part, s.setup) == ("neck", "back"))
    assert back.pins == ((-100.0, -9.0, 6.0), (220.0, 9.0, 8.0))


@pytest.mark.parametrize(("seat", "depth"), [("", 0.0), (SEAT, 2.0)])
def test_the_work_sees_the_jig_from_its_seat(tmp_path: Path, seat: str, depth: float) -> None:
    """Planed to 24.5; heads of 3.5 sunk 8 into 25.2: 20.7 above the bed."""
    files = JigJobs(seat=seat).write(tmp_path)
    loaded = load_job(files["neck"])
    jig = loaded.jigs["face"]
    assert set(loaded.jigs) == {"face", "back"}
    assert (jig.under, jig.rise) == pytest.approx((24.5 - depth, depth))
    assert jig.job_hash == load_job(files["jig"]).job_hash
    screws = [o for o in jig.obstacles if o.kind is ObstacleKind.screw]
    assert 4 == len(screws)
    assert {round(o.top, 6) for o in screws} == {round(20.7 - 24.5 + depth, 6)}
    assert {o.present for o in jig.obstacles} == {Present.always}
    walls = [o for o in jig.obstacles if o.kind is not ObstacleKind.screw]
    assert len(walls) == (4 if seat else 0)
    assert {o.top for o in walls} == ({depth} if seat else set())


def test_a_job_is_read_without_its_jig_where_that_is_asked(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    files["jig"].unlink()
    loaded = load_alone(files["neck"])
    assert loaded.jigs == {}
    assert loaded.job.setups[1].holders.pins is not None


def test_a_setup_on_another_jig_is_not_served(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    (tmp_path / "other.yaml").write_text(files["jig"].read_text(encoding="utf-8"), encoding="utf-8")
    changed(files["neck"], "jig: jig.yaml", "jig: other.yaml", 1)
    assert [s.name for s in load_job(files["jig"]).served] == ["board, bores", "board, face", "neck, back"]
    changed(files["neck"], "jig: jig.yaml", "jig: other.yaml")
    (found,) = problems(files["jig"])
    assert (found.key, found.problem) == ("for.neck", "every setup of that job is on another jig")


# What is refused, and where


def no_jig(files: dict[str, Path]) -> None:
    files["jig"].unlink()


def is_board(files: dict[str, Path]) -> None:
    changed(files["neck"], "jig: jig.yaml", "jig: board.yaml")


def serves_another(files: dict[str, Path]) -> None:
    changed(files["jig"], "for: {board: board.yaml, neck: neck.yaml}", "for: {board: board.yaml}")
    changed(files["jig"], "of: neck", "of: board") if "of: neck" in files["jig"].read_text() else None


def other_offset(files: dict[str, Path]) -> None:
    changed(files["neck"], "offset: G54", "offset: G55", 1)


def other_machine(files: dict[str, Path]) -> None:
    changed(files["neck"], "machine: bench-router", "machine: shop-gantry")


def own_zero(files: dict[str, Path]) -> None:
    changed(files["neck"], "zero: {x: jig, y: jig, z: jig seat}", "zero: {x: nut, y: jig, z: jig seat}", 1)


def under(files: dict[str, Path]) -> None:
    changed(files["neck"], "    hold: {jig", "    under: {backing: 6}\n    hold: {jig", 1)


def askew(files: dict[str, Path]) -> None:
    changed(files["neck"], "    hold: {jig", "    skew: {points: [[-50, -45], [150, -44.5]]}\n    hold: {jig", 1)


def bed_bores(files: dict[str, Path]) -> None:
    bores = "{bed_bores: {bit: pinner, depth: 6, at: [{x: -100, y: 9, diameter: 6}]}}"
    changed(files["neck"], "features: [{plane: ", f"features: [{bores}, {{plane: ")


def pins_too_soon(files: dict[str, Path]) -> None:
    changed(files["neck"], "    hold: {jig: jig.yaml, ", "    hold: {jig: jig.yaml, pins: {height: 5}, ", 1)


def pins_without_bores(files: dict[str, Path]) -> None:
    changed(files["neck"], "features: [{pin_bores: ", "features: [{bores: {for: nothing, bit: pinner, ", 1)
    changed(
        files["neck"], "{bores: {for: nothing, bit: pinner, {bit: pinner, ", "{bores: {for: nothing, bit: pinner, ", 1
    )


def zero_without_jig(files: dict[str, Path]) -> None:
    changed(files["neck"], "jig: jig.yaml, ", "", 1)


def faulty(files: dict[str, Path]) -> None:
    changed(files["jig"], "leave: 24.5", "leave: much")


def uneven(files: dict[str, Path]) -> None:
    changed(files["jig"], "      - plane: {bit: planer, leave: 24.5}\n", "")


REFUSALS: dict[str, tuple[Callable[[dict[str, Path]], None], str, str, str]] = {
    "no file": (no_jig, "setups[0].hold.jig", "there is no file", "path from the job's folder"),
    "no jig": (is_board, "setups[0].hold.jig", "makes a board, not a jig", "`part: jig`"),
    "another's jig": (serves_another, "setups[0].hold.jig", "does not name this job", "for: {neck: neck.yaml}"),
    "offset": (other_offset, "setups[0].offset", "the jig has offset G54, and this setup G55", "offset: G54"),
    "machine": (
        other_machine,
        "machine",
        "cut on bench-router, and this job is for shop-gantry",
        "name the machine of the jig",
    ),
    "faulty jig": (faulty, "setups[0].hold.jig", "cannot be used", "correct its faults first"),
    "zero": (own_zero, "setups[0].zero", "uses the jig's zero", "zero: {x: jig, y: jig, z: jig seat}"),
    "under": (under, "setups[0].under", "nothing else can be under", "leave `under` out"),
    "askew": (askew, "setups[0].skew", "a blank on a jig cannot be skewed", "leave `skew` out"),
    "bed bores": (bed_bores, "setups[1].features[0].bed_bores", "the holes are in the jig", "jig_pins"),
    "pins": (pins_too_soon, "setups[0].hold.pins", "no side that is cut before has bores", "give their places"),
    "no bores": (
        pins_without_bores,
        "setups[1].hold.pins",
        "no side that is cut before has bores",
        "bore `pin_bores` in the first side",
    ),
    "zero of no jig": (zero_without_jig, "setups[0].zero", "`hold` names no jig", "hold: {jig: my-jig.yaml}"),
    "uneven": (uneven, "setups[0].hold.jig", "not planed", "plane: {leave: ...}"),
}


@pytest.mark.parametrize("name", REFUSALS)
def test_what_does_not_go_on_a_jig_is_told_at_its_place(tmp_path: Path, name: str) -> None:
    change, key, says, hint = REFUSALS[name]
    files = JigJobs().write(tmp_path)
    change(files)
    found = problems(files["neck"])[0]
    assert found.key == key
    assert says in found.problem
    assert hint in found.hint
    assert found.file == str(files["neck"])
    lines = files["neck"].read_text(encoding="utf-8").splitlines()
    assert found.source == lines[found.line - 1]
    assert found.line > 1
    assert found.column > 1


@pytest.mark.parametrize(
    ("change", "key", "says"),
    [
        (other_offset, "for.neck", "setup face of that job has offset G55, and the jig G54"),
        (other_machine, "for.neck", "that job is for shop gantry, and the jig for bench router"),
        (lambda f: changed(f["neck"], "handed: right", "handed: left"), "for.neck", "left-handed"),
        (lambda f: f["neck"].unlink(), "for.neck", "there is no file"),
        (lambda f: changed(f["jig"], "neck: neck.yaml", "neck: board.yaml"), "for.neck", "makes a board, not a neck"),
        (lambda f: changed(f["neck"], "wood: hard", "wodo: hard"), "for.neck", "that job cannot be used"),
        (lambda f: changed(f["jig"], "for: {board", "# {board"), "part", "a jig needs a job that lies on it"),
        (
            lambda f: changed(f["jig"], "x: nut, y: centreline", "x: stock end, y: centreline"),
            "setups[0].zero",
            "zeroed",
        ),
        (lambda f: changed(f["jig"], "part: jig", "part: board"), "for", "only a jig has `for`"),
        (
            lambda f: changed(f["jig"], "    hold:", "    skew: {points: [[-50, -85], [150, -84]]}\n    hold:"),
            "setups[0].skew",
            "along the machine's axes",
        ),
        (lambda f: changed(f["jig"], "    hold:", "    flip: about x\n    hold:"), "setups[0].flip", "from above"),
    ],
)
def test_a_jig_s_own_faults_are_told_at_their_place(
    tmp_path: Path, change: Callable[[dict[str, Path]], None], key: str, says: str
) -> None:
    files = JigJobs().write(tmp_path)
    change(files)
    found = [p for p in problems(files["jig"]) if says in p.problem]
    assert [(p.file, p.key) for p in found] == [(str(files["jig"]), key)]
    assert found[0].hint


def test_jobs_of_different_instruments_have_no_jig_in_common(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    other = (tmp_path / "instrument.yaml").read_text(encoding="utf-8").replace("400", "410")
    (tmp_path / "other.yaml").write_text(other, encoding="utf-8")
    changed(files["neck"], "instrument: instrument.yaml", "instrument: other.yaml")
    (found,) = [p for p in problems(files["jig"]) if p.key == "for"]
    assert "different instruments" in found.problem
    # The board's job tells of it too, at the jig.
    assert any("different instruments" in p.problem for p in problems(files["board"]))


def test_a_jig_that_names_itself_comes_to_an_end(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    changed(files["jig"], "board: board.yaml", "board: jig.yaml")
    assert "makes a jig, not a board" in problems(files["jig"])[0].problem
    changed(files["jig"], "board: jig.yaml", "board: board.yaml")
    changed(files["jig"], "hold: {screws", "hold: {jig: jig.yaml, screws")
    assert any("cannot lie on a jig" in p.problem for p in problems(files["jig"]))


# What a hash covers


def hashes(files: dict[str, Path]) -> dict[str, str]:
    return {name: load_job(path).job_hash for name, path in files.items()}


@pytest.mark.parametrize(
    ("change", "new"),
    [
        # A pin, a screw or the place of the nut in the neck changes the jig, and with it the board's programs.
        (lambda n: replace(n, neck_pins=((-110.0, 7.0, 6.0), (225.0, -9.1, 8.0))), {"jig", "board", "neck"}),
        (lambda n: replace(n, neck_nut_at=121.0), {"jig", "board", "neck"}),
        (lambda n: replace(n, jig_nut_at=151.0), {"jig", "board", "neck"}),
        (lambda n: replace(n, seat=SEAT), {"jig", "board", "neck"}),
    ],
)
def test_what_is_read_of_another_job_is_in_the_hash(
    tmp_path: Path, change: Callable[[JigJobs], JigJobs], new: set[str]
) -> None:
    before = hashes(JigJobs().write(tmp_path))
    after = hashes(change(JigJobs()).write(tmp_path))
    assert {name for name in before if before[name] != after[name]} == new


def test_a_jig_cut_before_its_jobs_lay_on_it_is_the_same_jig(tmp_path: Path) -> None:
    """First the jig's job is written, then the others are told of it: no place is another by that."""
    files = JigJobs().write(tmp_path)
    on_it = load_job(files["jig"]).job_hash
    changed(files["neck"], "jig: jig.yaml, screws", "screws")
    changed(files["neck"], "zero: {x: jig, y: jig, z: jig seat}", "zero: {x: nut, y: centreline, z: bed}")
    bores = ", ".join(f"{{x: {x}, y: {y}, diameter: {d}}}" for x, y, d in JigJobs().neck_pins)
    changed(
        files["neck"],
        "features: [{plane: ",
        f"features: [{{bed_bores: {{bit: pinner, depth: 6, at: [{bores}]}}}}, {{plane: ",
    )
    changed(files["neck"], "Neck of the test", "Neck that is called otherwise")
    assert load_job(files["jig"]).job_hash == on_it


def test_what_is_not_read_is_not(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    before = hashes(files)
    changed(files["neck"], "leave: 24}", "leave: 23.9}")
    after = hashes(files)
    assert {name for name in before if before[name] != after[name]} == {"neck"}
