"""The commands, on a demo job and on what people type wrong."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.commands import typed as run
from toolpaths.common.version import __version__

ROOT = Path(__file__).parents[3]
JOB = ROOT / "demo_jobs" / "tenor_board.yaml"
SHORT = ROOT / "tests" / "cases" / "short_board.yaml"
INSTRUMENT = """instrument:
  scale_length: 584
  frets: 19
  strings: 4
  board: {width: {nut: 36, 12: 44}, overhang: 8, thickness: 6}"""
COARSE = ["--pitch", "1"]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def job(here: Path) -> Path:
    """A copy of the demo job that may be spoiled, its instrument in place."""
    copy = here / "board.yaml"
    copy.write_text(
        re.sub(r"instrument: instruments/tenor.yaml.*", INSTRUMENT, JOB.read_text(encoding="utf-8")), encoding="utf-8"
    )
    return copy


def spoil(job: Path, old: str, new: str) -> None:
    text = job.read_text(encoding="utf-8")
    assert old in text
    job.write_text(text.replace(old, new), encoding="utf-8")


def test_a_fine_bit_driven_too_fast_is_told_with_band_and_remedy(job: Path) -> None:
    # 1200 / (18000 x 2) = 0.0333 mm a tooth; 0.5 mm in hard wood: 0.00315 to 0.00945, at most 340 mm/min. Common
    # practice, no source. Above twice the band's top it is a stop.
    spoil(job, "{bit: scorer, depth: 0.5}", "{bit: scorer, depth: 0.5, rpm: 18000, feed: 1200}")
    result = run("check", job, "--only", "score_lines", *COARSE)
    words = " ".join(result.output.split())
    assert 1 == result.exit_code
    assert "stop chip-thick of score_lines" in words
    assert "chip too thick" in words
    assert "Set `feed: 340`. 0.0333 mm a tooth; most 0.0094 mm" in words


def test_a_fine_bit_a_little_too_fast_is_a_warning(job: Path) -> None:
    spoil(job, "{bit: scorer, depth: 0.5}", "{bit: scorer, depth: 0.5, rpm: 18000, feed: 600}")
    result = run("check", job, "--only", "score_lines", *COARSE)
    assert 0 == result.exit_code
    assert "warn chip-thick of score_lines" in result.output


def test_with_the_defaults_it_is_quiet(job: Path) -> None:
    assert "no warnings" in run("check", job, *COARSE).output


def test_help_and_version_need_no_heavy_library() -> None:
    code = (
        "import sys; from toolpaths.cli import app\n"
        "heavy = {'numpy', 'shapely', 'pydantic', 'matplotlib', 'ruamel', 'pyclipper', 'rich.table', 'jinja2'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert "[]" == out.stdout.strip()


def test_the_version_is_said() -> None:
    assert f"neckpath {__version__}\n" == run("--version").stdout


def test_help_names_every_command() -> None:
    out = run("--help").output
    for command in ("check", "write", "preview", "verify", "frets", "machines", "bits", "woods"):
        assert f"\n  {command} " in out


def test_check_shows_feeds_and_times_and_writes_nothing(here: Path) -> None:
    result = run("check", JOB, *COARSE)
    assert 0 == result.exit_code, result.output
    assert "May be cut" in result.stdout
    assert "score_lines" in result.stdout
    assert [] == list(here.iterdir())


def test_check_says_whose_limit_decided_each_value_and_in_sentences_on_request() -> None:
    plain, brief = run("check", JOB, *COARSE).stdout, run("check", JOB, *COARSE, "--brief").stdout
    assert "what decided each" in plain
    assert "chip: bit and wood together" in plain
    assert "limit decided" not in brief
    assert "chip: bit" not in brief
    assert "decided by" in run("check", JOB, *COARSE, "--reasons").stdout


def test_write_leaves_the_set_that_the_report_lists(here: Path) -> None:
    result = run("write", JOB, *COARSE)
    assert 0 == result.exit_code, result.output
    folder = here / "out" / "tenor_board"
    report = json.loads((folder / "report.json").read_text())
    named = {p["file"] for p in report["programs"]} | {s["depth_picture"] for s in report["setups"]}
    assert named | {"preview.html", "sheet.html", "handwork.html", "report.json"} == {p.name for p in folder.iterdir()}


@pytest.mark.made_anew
def test_writing_twice_gives_the_same_bytes(here: Path) -> None:
    for name in ("a", "b"):
        assert 0 == run("write", SHORT, *COARSE, "-o", name).exit_code
    a, b = ({p.name: p.read_bytes() for p in (here / name).iterdir()} for name in ("a", "b"))
    assert a == b


@pytest.mark.slow
def test_another_bit_says_what_it_changes_and_goes_to_a_folder_of_its_own(here: Path) -> None:
    result = run("write", JOB, *COARSE, "--bit", "scorer=0.8")
    assert 0 == result.exit_code, result.output
    lines = [line.split() for line in result.stdout.splitlines()]
    assert ["score_lines", "width", "of", "the", "line", "0.52", "mm", "0.82", "mm"] in lines
    folder = here / "out" / "tenor_board@scorer=0.8"
    assert "width of the line" in (folder / "preview.html").read_text()
    assert "Changed from the job file: scorer=0.8" in (folder / "sheet.html").read_text()


def test_a_stop_writes_no_program_and_warns_in_the_earlier_set(job: Path) -> None:
    assert 0 == run("write", job, *COARSE).exit_code
    folder = job.parent / "out" / "board"
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    # The end stop now stands on the board.
    spoil(job, "x: [-45, -30], y: [-25, 25], height: 3", "x: [-45, 45], y: [-25, 25], height: 6")
    result = run("write", job, *COARSE)
    assert 1 == result.exit_code, result.output
    assert "No program was written." in result.stdout
    after = {p.name: p.read_bytes() for p in folder.iterdir()}
    assert b"no longer fit the job board.yaml" in after.pop("DO-NOT-CUT.txt")
    assert before == after
    assert 1 == run("check", job, *COARSE).exit_code
    assert 1 == run("preview", job, *COARSE).exit_code, "the picture is drawn all the same"
    assert (job.parent / "board-depth.png").exists()


def test_verify_tells_a_good_program_from_one_that_was_spoiled(here: Path) -> None:
    assert 0 == run("write", JOB, *COARSE).exit_code
    programs = sorted((here / "out" / "tenor_board").glob("*.ngc"))
    good = run("verify", *programs, "--job", JOB, *COARSE)
    assert 0 == good.exit_code
    assert all(f"Checked   {program.name}: 0 stops" in good.output for program in programs)
    assert "Verdict   May be cut" in good.output
    text = programs[1].read_text()
    assert "M3" in text
    spoiled = here / "spoiled.ngc"
    spoiled.write_text(text.replace("M3", "M5", 1))
    result = run("verify", spoiled, "--job", JOB, *COARSE)
    assert 1 == result.exit_code
    assert "stop spindle" in result.stdout
    assert "spoiled.ngc:" in result.stdout


@pytest.mark.slow
def test_preview_draws_a_picture_a_page_or_one_program(here: Path) -> None:
    assert 0 == run("preview", JOB, *COARSE).exit_code
    assert (here / "tenor_board-depth.png").read_bytes().startswith(b"\x89PNG")
    assert 0 == run("preview", JOB, *COARSE, "-o", "page.html").exit_code
    assert (here / "page.html").read_text().startswith("<!doctype html>")
    assert 0 == run("write", JOB, *COARSE).exit_code
    program = sorted((here / "out" / "tenor_board").glob("*.ngc"))[0]
    alone = run("preview", program)
    assert 2 == alone.exit_code
    assert "name its job too" in alone.stderr
    assert 0 == run("preview", program, "--job", JOB, *COARSE, "-o", "one.png").exit_code


def test_preview_writes_through_no_link_and_to_no_other_ending(here: Path) -> None:
    (here / "outside").write_text("untouched")
    (here / "x.png").symlink_to(here / "outside")
    result = run("preview", JOB, *COARSE, "-o", "x.png")
    assert 2 == result.exit_code
    assert "is a link" in result.stderr
    assert "untouched" == (here / "outside").read_text()
    assert 2 == run("preview", JOB, "-o", "x.pdf").exit_code


def test_frets_lists_distances_in_both_units() -> None:
    result = run("frets", JOB)
    assert 0 == result.exit_code
    # Half of the scale at fret 12: 584 / 2 = 292 mm = 11.496 in.
    assert ["12", "292.00", "17.36", "11.496", "0.59"] in [line.split() for line in result.stdout.splitlines()]


def test_frets_of_a_fanned_board_lists_its_lines_and_each_string_s_own_frets() -> None:
    result = run("frets", ROOT / "demo_jobs" / "fanned_seven.yaml")
    assert 0 == result.exit_code
    rows = [line.split() for line in result.stdout.splitlines()]
    # Half of each scale at fret 12, strings from 635 to 673 mm evenly: 317.5, 320.67 ... 336.5.
    assert ["12", "317.50", "320.67", "323.83", "327.00", "330.17", "333.33", "336.50"] in rows
    # Square at fret 8: one x at both edges and on the centreline, 0 degrees.
    (square,) = [row for row in rows if row[:1] == ["8"] and "0.000" in row]
    assert 1 == len(set(square[1:4]))
    said = " ".join(result.stdout.split())
    assert "scale 673.00 mm (bass) to 635.00 mm (treble), fret 8 square, measured along the neck" in said
    # The nut: 38 (1 - 2^(-8/12)) = 14.061 along the neck over 41 mm of strings: atan 0.343 = 18.93 degrees.
    assert "Angles from square: the nut 18.9" in said


def test_frets_tells_a_compensated_nut_and_a_zero_fret(here: Path) -> None:
    text = JOB.read_text().replace("instruments/tenor.yaml", "own.yaml")
    shared = (JOB.parent / "instruments" / "tenor.yaml").read_text()
    (here / "own.yaml").write_text(shared + "nut_compensation: 0.5\n")
    (here / "job.yaml").write_text(text)
    said = " ".join(run("frets", here / "job.yaml").stdout.split())
    assert "The nut's front is 0.50 mm nearer to fret 1 than the nut line" in said
    assert "292.00" in said  # fret 12 stays
    (here / "own.yaml").write_text(shared + "zero_fret: true\n")
    said = " ".join(run("frets", here / "job.yaml").stdout.split())
    assert "A zero fret is at the nut line. The nut's front is 5.00 mm behind it." in said


def test_machines_and_bits_list_what_there_is() -> None:
    machines, bits = run("machines"), run("bits")
    assert (0, 0) == (machines.exit_code, bits.exit_code)
    assert "bench-router" in machines.stdout
    for name in ("planer", "quarter", "eighth", "sixteenth", "six", "three", "scorer", "vee60"):
        assert f"\n{name} " in bits.stdout


def test_woods_lists_what_there_is_and_says_of_one_where_its_figures_come_from() -> None:
    every = run("woods").stdout
    # Wood Handbook: 0.63 at 12 % (density 1.12 times it), Janka 1450 lbf, shrinkage 4.8, 9.9, 14.7 %.
    assert ["hard", "maple", "706", "1450", "hard", "4.8", "9.9", "14.7", "dust", "irritates"] in [
        line.split() for line in every.splitlines()
    ]
    one = run("woods", "hard", "maple")
    assert one.stdout == run("woods", "Hard Maple").stdout
    assert "Table 13-5, as quoted elsewhere" in one.stdout
    assert "extraction and a respirator" in one.stdout


def test_woods_answers_a_name_that_it_does_not_know() -> None:
    result = run("woods", "hard", "mapel")
    assert 2 == result.exit_code
    assert "No wood is called `hard mapel`; did you mean `hard maple`?" in result.stderr


@pytest.mark.parametrize("command", ["check", "write", "preview", "frets"])
def test_a_job_that_cannot_be_used_says_where_and_why(job: Path, command: str) -> None:
    spoil(job, "frets: 19", "fretz: 19")
    result = run(command, job)
    assert 2 == result.exit_code
    assert "board.yaml:" in result.stderr
    assert "did you mean `frets`?" in result.stderr
    assert ["board.yaml"] == [p.name for p in job.parent.iterdir()]


def test_a_place_in_a_file_is_never_wrapped(job: Path) -> None:
    deep = job.parent / ("long-" * 30) / "board.yaml"
    deep.parent.mkdir()
    deep.write_text("title: x\nunits: yards\n")
    first = run("check", deep).stderr.splitlines()[0]
    assert first.startswith(f"{deep}:")


@pytest.mark.parametrize(
    "content", [b"", b"\xff\xfe\x00", b"- a\n", b"a: &a [*a]\n", b"[" * 5000, b"title: !!python/x y\n"]
)
def test_a_file_that_is_no_job_ends_with_2(here: Path, content: bytes) -> None:
    (here / "x.yaml").write_bytes(content)
    assert 2 == run("check", here / "x.yaml").exit_code


@pytest.mark.parametrize("command", ["check", "write", "frets"])
def test_a_missing_file_or_a_folder_ends_with_2(here: Path, command: str) -> None:
    for path in (here / "none.yaml", here):
        result = run(command, path)
        assert 2 == result.exit_code
        assert str(path) in result.stderr


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read_ends_with_2(job: Path) -> None:
    job.chmod(0)
    assert 2 == run("check", job).exit_code


@pytest.mark.parametrize(
    ("words", "arguments"),
    [
        ("is not NAME=DIAMETER or NAME=OTHER", ["--bit", "scorer"]),
        ("no bit is called `scoter`", ["--bit", "scoter=0.8"]),
        ("neither a bit nor a diameter", ["--bit", "scorer=wide"]),
        ("is not CODE@FEATURE", ["--accept", "uncut"]),
        ("did you mean `uncut`?", ["--accept", "uncat@plane"]),
        ("`spindle` is never accepted", ["--accept", "spindle@plane"]),
        ("not a length", ["--air", "high"]),
        ("must be more than 0", ["--air", "0"]),
        ("from 0.01 to 1 mm", ["--pitch", "5"]),
        ("from 0.01 to 1 mm", ["--pitch", "0.0001"]),
        ("score_lines", ["--only", "scorelines"]),
        ("score_lines", ["--from", "scorelines"]),
        ("did you mean `fret 12`?", ["--from", "fret12"]),
    ],
)
def test_an_option_that_cannot_be_used_ends_with_2(here: Path, words: str, arguments: list[str]) -> None:
    result = run("check", JOB, *arguments)
    assert 2 == result.exit_code, result.output
    assert words in " ".join(result.stderr.split())
    assert [] == list(here.iterdir())


@pytest.mark.made_anew
def test_a_map_too_large_for_the_memory_names_the_pitch_that_fits(monkeypatch: pytest.MonkeyPatch) -> None:
    from toolpaths.simulation import depth_map as depthmap

    monkeypatch.setattr(depthmap, "LARGEST", 10_000)
    result = run("check", JOB)
    assert 2 == result.exit_code
    assert "The finest that fits is --pitch " in result.stderr
    pitch = result.stderr.split("--pitch ")[1].strip(".\n ")
    assert 1.0 < float(pitch) < 3.0


def test_the_lift_of_an_air_run_is_in_the_job_s_units(here: Path) -> None:
    from toolpaths.cli.options import changes_of

    inch = here / "inch.yaml"
    inch.write_text("units: in\n")
    assert pytest.approx(15.0) == changes_of(JOB, air="15").air
    assert pytest.approx(25.4) == changes_of(inch, air="1").air
    assert pytest.approx(12.7) == changes_of(JOB, air="1/2 in").air
    assert pytest.approx(0.2) == changes_of(inch, pitch="0.2").pitch


def test_preview_draws_in_the_terminal_and_writes_no_file(job: Path, here: Path) -> None:
    result = run("preview", job, "--terminal", *COARSE)
    assert 0 == result.exit_code
    assert "Setup face: depth below the finished face" in result.stdout
    assert "'#' cut through" in result.stdout
    assert "\x1b[" not in result.stdout
    assert ["board.yaml"] == [p.name for p in here.iterdir()]


@pytest.mark.parametrize(("option", "value"), [("--air", "20,5"), ("--pitch", "0,2"), ("--session", "45,5")])
def test_a_decimal_comma_in_an_option_is_answered_with_the_point(job: Path, option: str, value: str) -> None:
    result = run("check", job, option, value)
    assert 2 == result.exit_code
    said = " ".join(re.sub("[^ -~]", " ", result.stderr).split())
    assert f"`{value}`: write {value.replace(',', '.')} with a point" in said
