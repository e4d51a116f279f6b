"""What is written lies in the folder that was asked for; what is read is a plain file; nothing waits for ever."""

from __future__ import annotations

import json
import os
import signal
import types
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.security.strangers import COARSE, TURNED, apart, board, commands_to, run, snapshot
from tests.support.needs import has_pipes
from tests.support.patience import LONGEST

pytestmark = has_pipes  # and then it has alarms, devices and links too

INSTRUMENT = """\
scale_length: 300
frets: 3
strings: 4
board: {width: {nut: 36, 3: 38}, overhang: 6, thickness: 5}
"""
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="8mm" height="8mm" viewBox="0 0 8 8"><circle r="4"/></svg>'


@pytest.fixture
def world(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """What must stay as it is, around a folder of work, which is where one is."""
    work = tmp_path / "world" / "work"
    work.mkdir(parents=True)
    (work.parent / "mine.txt").write_text("mine")
    (work.parent / "mine").mkdir()
    for name in ("preview.html", "report.json", "01-face-planer.ngc"):
        (work.parent / "mine" / name).write_text("mine")
    (work / "board.yaml").write_text(board(), encoding="utf-8")
    (work / "second.yaml").write_text(board("Another"), encoding="utf-8")
    monkeypatch.chdir(work)
    return work.parent


@pytest.fixture
def seconds() -> Iterator[None]:
    """Ends a test that waits."""

    def late(number: int, frame: types.FrameType | None) -> None:
        raise TimeoutError("it waits for ever")

    before = signal.signal(signal.SIGALRM, late)
    signal.setitimer(signal.ITIMER_REAL, LONGEST)
    yield
    signal.setitimer(signal.ITIMER_REAL, 0)
    signal.signal(signal.SIGALRM, before)


def test_a_set_is_what_its_report_lists_and_nothing_around_it_changes(world: Path) -> None:
    folder = world / "work" / "set"
    before = snapshot(world, folder)
    run("write", "board.yaml", "-o", "set", *COARSE, code=0)
    assert before == snapshot(world, folder)
    report = json.loads((folder / "report.json").read_text())
    listed = [p["file"] for p in report["programs"]] + [s["depth_picture"] for s in report["setups"]]
    pages = ["preview.html", "sheet.html", "handwork.html", "report.json"]
    assert sorted([*listed, *pages]) == sorted(snapshot(folder))


ONE_FILE = (
    (("schema", "-o"), "a.json"),
    (("draw", "board.yaml", "-o"), "a.dxf"),
    (("draw", "board.yaml", "-o"), "a.svg"),
    (("draw", "board.yaml", "-o"), "a.pdf"),
    (("gauge", "bench-router", "-o"), "a.ngc"),
    (("start", "--yes"), "a.yaml"),
    (("preview", "board.yaml", *COARSE, "-o"), "a.png"),
    (("preview", "board.yaml", *COARSE, "-o"), "a.html"),
)
SETS = (
    ("write", "board.yaml", *COARSE),
    ("write", "board.yaml", "second.yaml", *COARSE),
    ("compare", "board.yaml", "--bit", "eighth=3", *COARSE),
    ("coupon", "board.yaml", *COARSE),
)


@pytest.mark.slow
@pytest.mark.parametrize(("words", "name"), ONE_FILE)
def test_a_command_for_one_file_writes_that_file_and_through_no_link(
    world: Path, words: tuple[str, ...], name: str
) -> None:
    whole = snapshot(world)
    run(*words, name, code=0)
    # A gauge's page goes beside its program.
    page = ["work/a.html"] if words[0] == "gauge" else []
    assert [*page, f"work/{name}"] == [n for n in snapshot(world) if n not in whole]
    assert whole == {n: held for n, held in snapshot(world).items() if n in whole}
    (world / "work" / name).unlink()
    force = ("--force",) if words[0] == "start" else ()
    for target in (world / "mine.txt", world / "none", Path("/dev/full")):
        (world / "work" / name).symlink_to(target)
        before = snapshot(world)
        said = run(*words, name, *force, code=2)
        assert "is a link, and nothing is written through links" in said
        assert before == snapshot(world)
        (world / "work" / name).unlink()
    os.mkfifo(world / "work" / name)
    before = snapshot(world)
    assert "is a device or a pipe" in run(*words, name, *force, code=2)
    assert before == snapshot(world)


@pytest.mark.slow
@pytest.mark.parametrize("words", SETS)
def test_a_command_for_a_folder_writes_into_that_folder_and_through_no_link(
    world: Path, words: tuple[str, ...]
) -> None:
    folder = world / "work" / "set"
    before = snapshot(world, folder)
    run(*words, "-o", "set", code=0)
    assert before == snapshot(world, folder)
    names = [n for n, held in snapshot(folder).items() if held[2] != ""]
    assert all(not Path(n).is_absolute() and ".." not in Path(n).parts for n in names)
    # A name that is written, taken by a link: all stays as it is. One of each kind of file.
    kinds = list({Path(n).suffix: n for n in sorted(names)}.values())
    for name in kinds[:1] if "second.yaml" in words else kinds:
        path = folder / name
        kept = path.read_bytes()
        path.unlink()
        path.symlink_to(world / "mine.txt")
        whole = snapshot(world)
        said = run(*words, "-o", "set")
        assert "is a link, and nothing is written through links" in said, name
        changed = {n for n, held in snapshot(world).items() if whole.get(n) != held}
        # Of several jobs the other one is written all the same.
        assert all(n.startswith("work/set/") and Path(n).parent != Path(f"work/set/{name}").parent for n in changed)
        path.unlink()
        path.write_bytes(kept)


@pytest.mark.slow
@pytest.mark.parametrize(
    "words", [*SETS, ("gauge", "bench-router"), ("surface", "bench-router"), ("watch", "board.yaml")]
)
def test_a_folder_that_nobody_named_is_not_led_aside(world: Path, words: tuple[str, ...]) -> None:
    (world / "work" / "out").symlink_to(world / "mine")
    before = snapshot(world)
    assert "out is a link to another folder: where that is meant, name it with -o" in run(*words, code=2)
    assert before == snapshot(world)


@pytest.mark.slow
def test_a_folder_that_somebody_named_may_be_a_link(world: Path) -> None:
    (world / "work" / "there").symlink_to(world / "mine")
    (world / "mine" / "report.json").write_text('{"programs": [{"file": "../mine.txt"}], "setups": []}')
    run("write", "board.yaml", "-o", "there", *COARSE, code=0)
    assert "mine" == (world / "mine.txt").read_text()
    assert (world / "mine" / "report.json").read_text().startswith('{\n  "job": "board.yaml"')


READERS = (
    ("check", "ODD"),
    ("write", "ODD"),
    ("write", "board.yaml", "ODD"),
    ("preview", "ODD"),
    ("draw", "ODD", "-o", "a.svg"),
    ("frets", "ODD"),
    ("fit", "ODD", "board.yaml"),
    ("fit", "board.yaml", "ODD"),
    ("coupon", "ODD"),
    ("compare", "ODD", "--bit", "eighth=3"),
    ("verify", "ODD", "--job", "board.yaml"),
    ("verify", "board.yaml", "--job", "ODD"),
    ("preview", "program", "--job", "ODD"),
    ("preview", "ODD.ngc", "--job", "board.yaml"),
    ("machines", "--check", "ODD"),
    ("gauge", "./ODD"),
    ("surface", "./ODD"),
    ("start", "--yes", "--machine", "./ODD"),
    ("check", "of_instrument.yaml"),
    ("check", "of_machine.yaml"),
    ("check", "of_drawing.yaml"),
    ("check", "ODD", "--air", "20"),
)


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["pipe", "/dev/zero", "/dev/urandom", "/dev/full", "/dev/tty", "itself", "folder"])
def test_no_command_waits_for_a_pipe_or_reads_a_device_to_its_end(world: Path, seconds: None, kind: str) -> None:
    work = world / "work"
    for name in ("ODD", "ODD.yaml", "ODD.ngc", "ODD.svg"):
        if kind == "pipe":
            os.mkfifo(work / name)
        elif kind == "folder":
            (work / name).mkdir()
        else:
            (work / name).symlink_to(name if kind == "itself" else kind)
    text = board()
    head, _, rest = text.partition("instrument:")
    (work / "of_instrument.yaml").write_text(f"{head}instrument: ODD.yaml\n{rest[rest.index('stock:') :]}")
    (work / "of_machine.yaml").write_text(text.replace("bench-router", "./ODD"))
    (work / "of_drawing.yaml").write_text(text + "      - pocket: {bit: eighth, drawing: ODD.svg, depth: 1}\n")
    before = snapshot(world, work / "out")
    for words in READERS:
        said = run(*words, code=2)
        assert said.strip(), words
        assert "" == commands_to(said), words
        if words[-1] != "ODD" or words[0] != "write":
            assert before == snapshot(world, work / "out"), words


def test_a_pipe_as_a_job_is_told_at_once(world: Path, seconds: None) -> None:
    os.mkfifo(world / "work" / "pipe.yaml")
    said = run("check", "pipe.yaml", code=2)
    assert "pipe.yaml: this file cannot be read (a device or a pipe, not a file)" in said


@pytest.mark.slow
@pytest.mark.parametrize("words", [("check", "/dev/stdin"), ("verify", "/dev/stdin", "--job", "board.yaml")])
def test_an_input_that_nobody_writes_to_is_not_waited_for(world: Path, words: tuple[str, ...]) -> None:
    done = apart(*words)
    assert 2 == done.returncode
    assert b"a device or a pipe, not a file" in done.stderr


@pytest.mark.slow
def test_a_set_in_the_place_of_the_report_s_pipe_is_refused_at_once(world: Path, seconds: None) -> None:
    (world / "work" / "set").mkdir()
    os.mkfifo(world / "work" / "set" / "report.json")
    before = snapshot(world)
    assert "is in the way: it is not a plain file" in run("write", "board.yaml", "-o", "set", *COARSE, code=2)
    assert before == snapshot(world)


ODD_NAMES = (
    "\x1b]0;owned\x07\x1b[31mred.yaml",
    "one\ntwo\r\x9bthree.yaml",
    f"{TURNED}.yaml",
    f"{'long' * 60}.yaml",
    "...yaml",
    " .yaml",
    "a;rm -rf $(HOME) `x` & b.yaml",
    "<img src=x onerror=broken()>.yaml",
    "con.yaml",
    "\udcff\udcfe.yaml",
)


@pytest.mark.slow
@pytest.mark.parametrize("name", ODD_NAMES, ids=range(len(ODD_NAMES)))
def test_a_job_of_any_name_is_written_under_a_plain_one_and_commands_no_terminal(world: Path, name: str) -> None:
    work = world / "work"
    (work / "board.yaml").rename(work / name)
    before = snapshot(world, work / "out")
    # Its name stands in the page, the sheet and the warning of a stop too.
    said = run("write", name, *COARSE, code=0)
    assert "" == commands_to(said)
    assert before == snapshot(world, work / "out")
    (folder,) = (work / "out").iterdir()
    assert folder.name.isprintable()
    assert not set(folder.name) & set("/\\;$`<> ")
    for file in folder.glob("*.html"):
        assert "<img src=x" not in file.read_text(encoding="utf-8")
    (work / name).write_text(board() + "nonsense: 1\n", encoding="utf-8")
    for words in (("check", name), ("draw", name, "-o", "a.svg"), ("verify", name, "--job", name)):
        assert "" == commands_to(run(*words, code=2))
    (work / name).write_text(board().replace("length: 110", "length: 40"), encoding="utf-8")
    assert "" == commands_to(run("write", name, *COARSE, code=1))
    for told in folder.glob("*.txt"):
        assert "" == commands_to(told.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("name: face", "name: ../face"),
        ("name: face", "name: /etc/face"),
        ("name: face", "name: 'a/../../b'"),
        ("name: face", f"name: {'a' * 300}"),
        ("name: face", "name: '..'"),
        ("name: face", "name: 'face\n\n      .'"),
    ],
)
def test_a_setup_whose_name_would_lead_out_of_the_folder_is_refused(world: Path, key: str, value: str) -> None:
    (world / "work" / "board.yaml").write_text(board().replace(key, value), encoding="utf-8")
    before = snapshot(world)
    assert "setups[0].name" in run("check", "board.yaml", code=2)
    assert before == snapshot(world)


@pytest.mark.slow
def test_a_bit_whose_name_would_lead_out_and_a_machine_s_ending_are_refused(world: Path) -> None:
    bit = "bits:\n  {}: {{shape: flat, diameter: 3, cutting_length: 12, shank: 6, stickout: 25}}\n"
    for name in ("../x", "/x", "'a b/c'", "'x\\y'", "a" * 200, "'.x'"):
        (world / "work" / "board.yaml").write_text(board() + bit.format(name), encoding="utf-8")
        assert "this cannot be the name of a bit" in run("check", "board.yaml", code=2)
    shipped = Path(__file__).parents[2] / "machines" / "bench-router.yaml"
    text = shipped.read_text(encoding="utf-8")
    for ending in ("../x", "a/b", "ngc/../../x", "'sh '", "'NGC'", "x" * 30, "html", "bat"):
        (world / "work" / "mine.yaml").write_text(text.replace("ending: ngc", f"ending: {ending}"), encoding="utf-8")
        assert "ending" in run("machines", "--check", "mine.yaml", code=2)
