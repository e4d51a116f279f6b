"""The folder of a set: whole before, whole after, and marked in between, whenever the run is killed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from tests.support.needs import has_pipes
from tests.support.plain_outcome import _outcome
from toolpaths.job.changes import Changes
from toolpaths.reports.output import write_set as write_set_module
from toolpaths.reports.output.folder import MARK, STAGE, is_plain, not_led_aside, recover, replace_set
from toolpaths.reports.output.write_set import WARNING, default_folder, warn_of_stop, write_set
from toolpaths.reports.pictures.depth_picture import DepthPicture, depth_picture
from toolpaths.verification.outcome import Outcome, SetupReport

OLD = {"01-face-a.ngc": b"old 1", "02-face-b.ngc": b"old 2", "sheet.html": b"old sheet", "report.json": b"old report"}
NEW = {"01-face-a.ngc": b"new 1", "03-face-c.ngc": b"new 3", "sheet.html": b"new sheet", "report.json": b"new report"}

_KILLED = """
import os, sys
from pathlib import Path
from toolpaths.reports.output import folder

left = int(sys.argv[2])

def dying(real):
    def call(*args, **kwargs):
        global left
        left -= 1
        if left < 0:
            os._exit(9)
        return real(*args, **kwargs)
    return call

os.replace, os.link, os.fsync, os.unlink = map(dying, (os.replace, os.link, os.fsync, os.unlink))
Path.unlink = dying(Path.unlink)
Path.mkdir = dying(Path.mkdir)
new = eval(sys.argv[3])
folder.replace_set(Path(sys.argv[1]), new, last="report.json", drop=["02-face-b.ngc", "DO-NOT-CUT.txt"])
print("ended")
"""


@pytest.fixture(autouse=True)
def _drawn_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """All sets here are of one board: what they show does not matter, where it goes does."""
    monkeypatch.setattr(write_set_module, "depth_picture", _picture)


@cache
def _whole_picture() -> DepthPicture:
    outcome = _outcome()
    return depth_picture(outcome, outcome.setups[0])


def _picture(outcome: Outcome, setup: SetupReport) -> DepthPicture:
    return _whole_picture()


def _held(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file() and p.name != MARK}


def _fill(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in OLD.items():
        (folder / name).write_bytes(content)


def test_a_run_killed_at_any_step_leaves_the_earlier_set_whole_or_says_so(tmp_path: Path) -> None:
    ended, marked = False, 0
    for step in range(60):
        folder = tmp_path / str(step)
        _fill(folder)
        run = subprocess.run(
            [sys.executable, "-c", _KILLED, str(folder), str(step), repr(NEW)], capture_output=True, text=True
        )
        held = _held(folder)
        if (folder / MARK).exists():
            marked += 1
            whole = folder / STAGE / "earlier"
            if not held.items() >= NEW.items():
                earlier = {n: (whole / n if (whole / n).exists() else folder / n).read_bytes() for n in OLD}
                assert OLD == earlier
        else:
            assert held in (OLD, NEW)
        recover(folder)
        assert _held(folder) in (OLD, NEW)
        assert {MARK, STAGE}.isdisjoint(p.name for p in folder.iterdir())
        if "ended" in run.stdout:
            ended = True
            assert NEW == held
            break
        assert 9 == run.returncode, run.stderr
    assert ended
    assert 4 <= marked, "the run was also killed between replacements"


def test_a_disk_that_refuses_in_the_middle_leaves_the_earlier_set(tmp_path: Path, monkeypatch) -> None:
    _fill(tmp_path)
    real, count = os.replace, 0

    def refusing(a: Path, b: Path) -> None:
        nonlocal count
        count += 1
        if count == 2:
            raise OSError(28, "No space left on device", str(b))
        real(a, b)

    monkeypatch.setattr(os, "replace", refusing)
    with pytest.raises(OSError, match="No space left"):
        replace_set(tmp_path, NEW, last="report.json", drop=["02-face-b.ngc"])
    assert OLD == _held(tmp_path)
    assert not (tmp_path / MARK).exists()


def test_a_write_replaces_the_set_and_removes_what_the_earlier_report_alone_lists(tmp_path, outcome) -> None:
    names = write_set(outcome, tmp_path)
    (tmp_path / "notes.txt").write_text("mine")
    fewer = replace(outcome, programs=outcome.programs[:2])
    write_set(fewer, tmp_path)
    assert "report.json" == names[-1]
    assert {
        "01-face-planer.ngc",
        "02-face-scorer.ngc",
        "depth-face.png",
        "preview.html",
        "sheet.html",
        "handwork.html",
        "report.json",
        "notes.txt",
    } == {p.name for p in tmp_path.iterdir()}


@pytest.mark.parametrize(
    "listed", ["../01-other.ngc", "notes.txt", "01-link.ngc", "01-folder.ngc", "/etc/01-x.ngc", ".01-x.ngc", 7, None]
)
def test_a_forged_report_removes_nothing_else(tmp_path: Path, outcome, listed) -> None:
    folder = tmp_path / "set"
    folder.mkdir()
    (tmp_path / "01-other.ngc").write_text("other")
    (folder / "notes.txt").write_text("mine")
    (folder / "01-link.ngc").symlink_to(tmp_path / "01-other.ngc")
    (folder / "01-folder.ngc").mkdir()
    (folder / "report.json").write_text(json.dumps({"programs": [{"file": listed}], "setups": []}))
    write_set(outcome, folder)
    assert "other" == (tmp_path / "01-other.ngc").read_text()
    assert "mine" == (folder / "notes.txt").read_text()
    assert (folder / "01-link.ngc").is_symlink()
    assert (folder / "01-folder.ngc").is_dir()


@pytest.mark.parametrize("name", ["report.json", "01-face-planer.ngc", MARK, WARNING, STAGE])
def test_nothing_is_written_through_a_link(tmp_path: Path, outcome, name: str) -> None:
    folder, outside = tmp_path / "set", tmp_path / "outside"
    folder.mkdir()
    outside.write_text("untouched")
    (folder / name).symlink_to(outside)
    with pytest.raises(OSError, match="is a link, and nothing is written through links"):
        write_set(outcome, folder)
    assert "untouched" == outside.read_text()
    assert [name] == [p.name for p in folder.iterdir()]


def test_a_second_run_in_the_same_folder_waits_for_another_day(tmp_path: Path) -> None:
    fcntl = pytest.importorskip("fcntl")
    handle = os.open(tmp_path, os.O_RDONLY)
    fcntl.flock(handle, fcntl.LOCK_EX)
    try:
        with pytest.raises(OSError, match="another run is writing into"):
            replace_set(tmp_path, NEW, last="report.json")
    finally:
        os.close(handle)
    assert [] == list(tmp_path.iterdir())


def test_after_a_stop_the_earlier_set_stands_with_a_warning_that_a_good_write_removes(
    tmp_path, outcome, make_outcome, gouge
) -> None:
    write_set(outcome, tmp_path)
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    assert warn_of_stop(make_outcome(findings=(gouge,)), tmp_path)
    warning = (tmp_path / WARNING).read_text()
    assert "gouge: 0.12 mm below the floor of the line at fret 5" in warning
    assert "bass_uke.yaml:32, 02-face-scorer.ngc:3" in warning
    assert before == {p.name: p.read_bytes() for p in tmp_path.iterdir() if p.name != WARNING}
    write_set(outcome, tmp_path)
    assert before == {p.name: p.read_bytes() for p in tmp_path.iterdir()}


def test_after_a_stop_nothing_is_made_where_no_set_was(tmp_path, make_outcome, gouge) -> None:
    assert not warn_of_stop(make_outcome(findings=(gouge,)), tmp_path / "set")
    assert not (tmp_path / "set").exists()


def test_a_stopped_run_is_never_written(tmp_path, make_outcome, gouge) -> None:
    with pytest.raises(ValueError, match="leaves no programs"):
        write_set(make_outcome(findings=(gouge,)), tmp_path)
    assert [] == list(tmp_path.iterdir())


def test_the_default_folder_says_what_the_command_line_alters() -> None:
    changes = Changes(bits=(("scorer", "1/32in"),), only="plane", air=15.0)
    assert Path("out/tenor") == default_folder(Path("jobs/tenor.yaml"), Changes())
    assert Path("out/tenor@scorer=1-32in+only-plane+air-15-mm") == default_folder(Path("jobs/tenor.yaml"), changes)
    assert Path("out/job") == default_folder(Path("...yaml"), Changes())


@pytest.mark.parametrize("name", ["", ".", "..", ".hidden", "a/b", "a\\b", "a\nb", "C:x", "a" * 300])
def test_a_name_that_could_leave_the_folder_is_refused(name: str, tmp_path: Path) -> None:
    assert not is_plain(name)
    with pytest.raises(OSError, match="cannot be a file name"):
        replace_set(tmp_path, {name: b"x", "report.json": b""}, last="report.json")


def test_parts_of_a_killed_run_that_lead_elsewhere_are_not_followed(tmp_path: Path) -> None:
    folder, outside = tmp_path / "set", tmp_path / "outside"
    outside.mkdir()
    (outside / "report.json").write_text("mine")
    (folder / STAGE / "new").mkdir(parents=True)
    (folder / STAGE / "new" / "report.json").write_text("x")
    (folder / STAGE / "earlier").symlink_to(outside)
    (folder / STAGE / "plan.json").write_text(json.dumps([["report.json"], ["report.json"], "report.json"]))
    (folder / MARK).write_text("")
    with pytest.raises(OSError, match="is a link, and nothing is written through links"):
        replace_set(folder, NEW, last="report.json")
    assert {"report.json": "mine"} == {p.name: p.read_text() for p in outside.iterdir()}


def test_a_mark_that_has_another_name_elsewhere_is_replaced_and_not_written_into(tmp_path: Path) -> None:
    outside = tmp_path / "outside.txt"
    outside.write_text("mine")
    folder = tmp_path / "set"
    folder.mkdir()
    os.link(outside, folder / MARK)
    replace_set(folder, NEW, last="report.json")
    assert "mine" == outside.read_text()
    assert NEW == _held(folder)


@has_pipes
def test_a_pipe_in_the_place_of_the_report_is_not_waited_for(tmp_path: Path, outcome) -> None:
    os.mkfifo(tmp_path / "report.json")
    with pytest.raises(OSError, match="is in the way: it is not a plain file"):
        write_set(outcome, tmp_path)
    assert ["report.json"] == [p.name for p in tmp_path.iterdir()]


def test_a_folder_that_a_command_chooses_itself_may_not_be_led_aside(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "elsewhere").mkdir()
    assert Path("out/a") == not_led_aside(Path("out/a"))
    (tmp_path / "out").symlink_to("elsewhere")
    with pytest.raises(OSError, match="out is a link to another folder: where that is meant, name it with -o"):
        not_led_aside(Path("out/a"))
    assert Path("out/a") == not_led_aside(Path("out/a"), named=Path("out"))
    (tmp_path / "elsewhere" / "a").symlink_to(tmp_path)
    with pytest.raises(OSError, match="out/a is a link"):
        not_led_aside(Path("out/a"), named=Path("out"))
