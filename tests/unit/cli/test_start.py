"""A first job from a few answers: it loads, it passes `check`, and nothing is written over or half written."""

from __future__ import annotations

import math
import os
import re
import select
import shlex
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from tests.support.patience import LONGEST
from tests.support.starting import run
from toolpaths.cli import app
from toolpaths.cli.begin import questions
from toolpaths.cli.begin.questions import command_line, own_bit
from toolpaths.features.kinds.locating_pins import LocatingPins
from toolpaths.instrument.woods import WOODS
from toolpaths.job.changes import Changes
from toolpaths.job.files.machine_file import machine_folder
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.load import load_job
from toolpaths.reports.reference.first_answers import Answers, usual_widths, way_of
from toolpaths.reports.reference.first_job import files_of


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_without_a_terminal_it_takes_what_is_offered(here: Path) -> None:
    result = run()
    assert 0 == result.exit_code
    assert "Written: first-board.yaml. It passes `neckpath check`." in result.stdout
    job = load_job(here / "first-board.yaml").job
    assert (648.0, 22, 6) == (job.instrument.scale_length, job.instrument.frets, job.instrument.strings)


@pytest.mark.slow
def test_board_and_neck_share_an_instrument(here: Path) -> None:
    result = run("twin.yaml", "--part", "both", "--radius", "305", "--scale", "345", "--frets", "12")
    assert 0 == result.exit_code
    names = ["twin-board.yaml", "twin-instrument.yaml", "twin-neck.yaml"]
    assert names == sorted(p.name for p in here.iterdir())
    board, neck = load_job(here / names[0]).job, load_job(here / names[2]).job
    assert board.instrument == neck.instrument
    fitted = CliRunner().invoke(app, ["fit", names[0], names[2]])
    assert 0 == fitted.exit_code, fitted.stdout


@pytest.mark.parametrize("frets", [12, 13, 14, 22])
def test_board_and_neck_are_bored_for_the_same_pins(here: Path, frets: int) -> None:
    for file, text in files_of(Answers(part="both", frets=frets, scale=600), "twin").items():
        (here / file).write_text(text)
    board, neck = (load_job(here / f"twin-{part}.yaml").job for part in ("board", "neck"))
    one, other = (
        next(f for f in job.setups[0].features if isinstance(f, LocatingPins)) for job in (board, neck)
    )  # fmt: skip
    assert one.model_dump() == other.model_dump()
    assert [1, min(13, frets - 1)] == [place.fret for place in one.at]


@pytest.mark.parametrize("part", ["board", "neck", "both"])
def test_pins_are_left_out_where_none_are_wanted(part: Any) -> None:
    answers = Answers(part=part, pins="none" if part == "both" else "pin")
    assert "pin" not in "".join(files_of(answers, "job").values())


def test_nothing_is_written_over_unless_it_is_told(here: Path) -> None:
    mine = here / "first-board.yaml"
    mine.write_text("mine")
    result = run()
    assert 2 == result.exit_code
    assert "exists already" in result.stderr
    assert "mine" == mine.read_text()
    assert 0 == run("--force", "--scale", "345", "--frets", "12").exit_code
    assert "mine" != mine.read_text()


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [
        ("--scale", "2000", "from 300 to 900 mm"),
        ("--frets", "some", "a whole number from 12 to 36"),
        ("--wood", "mapel", "is none of the answers"),
        ("--machine", "bench", "no machine is called `bench`"),
        ("--radius", "5", "0 for a flat board"),
        ("--scorer", "planer", "a line wider than 1 mm"),
        ("--nut", "wide", "not a length"),
    ],
)
def test_an_answer_that_cannot_be_is_refused_with_words(here: Path, option: str, value: str, words: str) -> None:
    result = run(option, value)
    assert 2 == result.exit_code
    assert words in " ".join(result.stderr.split())
    assert [] == list(here.iterdir())


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--rod", "triple"], "is none of the answers"),
        (["--rod-length", "20"], "from 100 to 460 mm"),
        (["--rod-length", "long"], "not a length"),
        (["--bars", "3.2"], "is neither `none` nor a width and a depth such as 3.2 x 5.5"),
        (["--bars", "3.2 x"], "is neither `none`"),
        (["--bars", "2 x 5"], "width 3 to 8, depth 3 to 10"),
        (["--bars", "3.2 x 50"], "width 3 to 8, depth 3 to 10"),
        (["--bars", "a x b"], "width 3 to 8, depth 3 to 10"),
    ],
)
def test_a_rod_and_bars_that_cannot_be_are_refused_with_words(here: Path, options: list[str], words: str) -> None:
    result = run("--part", "neck", *options)
    assert 2 == result.exit_code
    assert words in " ".join(re.sub("[^ -~]", " ", result.stderr).split())
    assert [] == list(here.iterdir())


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("rod", ["double acting", "single bent", "two-way wheel", "none"])
@pytest.mark.parametrize("bars", [None, (3.2, 5.5), (6.0, 6.0)])
def test_a_first_neck_takes_its_channel_from_its_rod(here: Path, units: Any, rod: Any, bars: Any) -> None:
    (here / "neck.yaml").write_text(
        files_of(Answers(part="neck", units=units, rod=rod, bars=bars), "neck")["neck.yaml"]
    )
    job = load_job(here / "neck.yaml").job
    neck, features = job.instrument.neck, {f.key: f for f in job.setups[0].features}
    assert neck is not None
    assert (rod != "none", bars is not None) == ("truss_rod_channel" in features, "reinforcement_slots" in features)
    assert (rod != "none") == (neck.rod is not None)
    for key, sold in (("truss_rod_channel", neck.rod), ("reinforcement_slots", neck.bars)):
        if sold is not None:
            assert sold.width is not None
            # 0.05 mm more for a rod, 0.15 for a bar, and a thousandth of an inch as it is written.
            assert 0.05 - 1e-9 <= getattr(features[key], "width") - sold.width <= 0.15 + 1e-9  # noqa: B009
    layout = lay_out(here / "neck.yaml", Changes())
    assert layout.target.demands["face"]


def test_what_cannot_be_cut_is_kept_with_the_reasons_at_its_top(here: Path) -> None:
    result = run("--machine", "small-frame", "--title", "Kept")
    assert 1 == result.exit_code
    assert "most 300.00 mm" in result.stdout
    assert "Written: first-board.yaml. Not ready to cut" in result.stdout
    text = (here / "first-board.yaml").read_text()
    assert text.startswith("# NOT READY")
    assert "most 300.00 mm" in text.partition("# A first board")[0]
    assert "Kept" == load_job(here / "first-board.yaml").job.title
    assert 1 == CliRunner().invoke(app, ["check", "first-board.yaml"]).exit_code


def test_a_check_that_breaks_off_loses_no_answer(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("of the test")

    monkeypatch.setattr("toolpaths.pipeline.run.make", broken)
    result = run("--scale", "610")
    assert 1 == result.exit_code
    assert "the check failed (ZeroDivisionError: of the test)" in result.stdout
    assert 610 == load_job(here / "first-board.yaml").job.instrument.scale_length


def test_where_nothing_can_be_written_the_answers_are_told(here: Path) -> None:
    (here / "out").write_text("a file where a folder is wanted")
    result = run("out/mine.yaml", "--title", "It's mine", "--frets", "14")
    assert 2 == result.exit_code
    line = next(row for row in result.stderr.splitlines() if "neckpath start" in row)
    words = shlex.split(line)
    assert ["neckpath", "start", "out/mine.yaml"] == words[:3]
    assert {"--title": "It's mine", "--frets": "14"}.items() <= dict(zip(words[3::2], words[4::2], strict=True)).items()
    assert ["out"] == [p.name for p in here.iterdir()]


def test_files_that_belong_together_are_written_together(here: Path) -> None:
    (here / "mine-neck.yaml").mkdir()
    assert 2 == run("mine.yaml", "--part", "both", "--force").exit_code
    assert ["mine-neck.yaml"] == [p.name for p in here.iterdir()]


@pytest.mark.parametrize("name", ["no.yaml", "a: b #c.yaml", "my-instrument.yaml", "1e5", "v1.2"])
def test_any_name_of_a_file_gives_jobs_that_load(here: Path, name: str) -> None:
    answers, stem = Answers(part="both"), name.removesuffix(".yaml")
    for file, text in files_of(answers, stem).items():
        (here / file).write_text(text)
    assert 22 == load_job(here / f"{stem}-neck.yaml").job.instrument.frets


def terminal(folder: Path, answers: list[str], *options: str) -> str:
    """What a person sees who types answers on a terminal. An answer of one control character is that key alone."""
    pty = pytest.importorskip("pty", reason="this system has no terminal that a test can type on")
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(folder)
        os.environ["PYTHONPATH"] = str(Path(__file__).parents[3])
        os.environ["TERM"] = "dumb"
        os.execv(sys.executable, [sys.executable, "-c", "from toolpaths.cli import main; main()", "start", *options])
    seen = ""
    waiting = list(answers)
    last, quiet = "", 0
    while True:
        ready, _, _ = select.select([terminal], [], [], 5.0)
        if not ready:
            quiet += 5
            assert quiet < LONGEST, f"it says no more: {seen}"
            if last in ("\x03", "\x04"):
                # A key that comes before anybody reads it may be lost, as on any terminal: it is pressed again.
                os.write(terminal, last.encode())
            continue
        quiet = 0
        try:
            data = os.read(terminal, 4096)
        except OSError:
            break
        if not data:
            break
        seen += data.decode()
        if waiting and seen.endswith("]: "):
            answer = last = waiting.pop(0)
            os.write(terminal, answer.encode() if answer in ("\x03", "\x04") else answer.encode() + b"\n")
            seen += " "
    os.close(terminal)
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    return f"{seen.replace(chr(13), '')}\nexit {status}"


def test_on_a_terminal_it_asks_and_asks_again(here: Path) -> None:
    answers = ["", "", "", "My board", "584", "fifty", "19", "4", "36", "44", "", "", "", "mapel", "hard maple"]
    answers += ["", "quarter", "", "sixteenth", "", "", ""]
    seen = terminal(here, answers)
    assert "write a whole number from 12 to 36, not `fifty`" in seen
    assert "`mapel` is none of the answers" in seen
    assert "a line wider than 1 mm can be seen beside the fret" in seen
    assert "Written: first-board.yaml. It passes `neckpath check`." in seen
    job = load_job(here / "first-board.yaml").job
    assert ("My board", 584.0, 19, 36.0) == (
        job.title,
        job.instrument.scale_length,
        job.instrument.frets,
        job.instrument.board.width.nut,
    )


@pytest.mark.parametrize("key", [pytest.param("\x03", marks=pytest.mark.slow), "\x04"], ids=["Ctrl-C", "Ctrl-D"])
def test_who_stops_keeps_the_answers(here: Path, key: str) -> None:
    seen = terminal(here, ["neck", "", "in", "Mine, mine", "25.5", key])
    assert "Stopped. Nothing was written." in seen
    assert "neckpath start --part neck --machine bench-router --units in --title 'Mine, mine' --scale 25.5" in seen, (
        seen
    )
    assert "Traceback" not in seen
    assert seen.endswith("exit 2")
    assert [] == list(here.iterdir())


@pytest.mark.slow
def test_a_neck_s_rod_and_bars_are_asked_for_on_a_terminal(here: Path) -> None:
    options = ["--part", "neck", "--scale", "345", "--frets", "12", "--strings", "4", "--nut", "35", "--octave", "42"]
    options += ["--machine", "bench-router", "--units", "mm", "--title", "T", "--radius", "0", "--thickness", "5"]
    rest = ["--handed", "right", "--wood", "mahogany", "--planer", "planer", "--pocket", "eighth"]
    answers = ["bent", "single bent", "9", "170", "3.2", "3.2 x 5.5"]
    seen = terminal(here, answers, *options, *rest, "--outline", "quarter", "--long", "long")
    assert "`bent` is none of the answers" in seen
    assert "from 100 to" in seen
    assert "is neither `none` nor a width and a depth such as 3.2 x 5.5" in seen
    neck = load_job(here / "first-neck.yaml").job.instrument.neck
    assert neck is not None
    assert neck.rod is not None
    assert neck.bars is not None
    assert ("single bent", 170.0, 3.2) == (neck.rod.kind, neck.rod.length, neck.bars.width)
    assert "It passes `neckpath check`." in seen


@pytest.mark.slow
def test_a_bit_of_ones_own_is_described_tried_and_written(here: Path) -> None:
    """Sizes of a common 2 mm bit, from memory; the second is one that does not reach through the neck."""
    own = ["own", "2", "12", "3.175", "20", "2", "26000"]
    short, longer = ["own", "6", "20", "6", "24", "2", "0"], ["own", "6", "30", "6", "36", "2", "0"]
    options = ["--part", "neck", "--scale", "345", "--frets", "12", "--strings", "4", "--nut", "35", "--octave", "42"]
    options += ["--machine", "bench-router", "--units", "mm", "--title", "T", "--radius", "0", "--thickness", "5"]
    options += ["--rod", "double acting", "--rod-length", "130", "--bars", "none"]
    seen = terminal(here, ["", "", *own, "", *short, *longer], *options, "--wood", "mahogany")
    assert seen.count("neck's outline and tuner holes") == 2, seen
    bits = load_job(here / "first-neck.yaml").job.bits
    mine = bits["my-pocket"]
    assert (2.0, 12.0, 3.175, 20.0, 26000) == (
        mine.diameter, mine.cutting_length, mine.shank, mine.stickout, mine.max_rpm
    )  # fmt: skip
    assert 30.0 == bits["my-long"].cutting_length
    assert "It passes `neckpath check`." in seen


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [
        ("--scorer", "diameter: 0.6, cutting_length: 2.5, shank: 3, stickout", "stickout"),
        ("--scorer", "diameter: 3, cutting_length: 12, shank: 3, stickout: 20", "wider than 1 mm"),
        ("--scorer", "shape: vee, diameter: 6, cutting_length: 3, shank: 6, stickout: 20, angle: 60", "must reach"),
        ("--scorer", "diameter: 0.5, cutting_length: 0.3, shank: 3.175, stickout: 15", "must cut 0.5 mm deep"),
        ("--outline", "diameter: 3, cutting_length: 4, shank: 6, stickout: 20", "its cutting edges are 4 long"),
        ("--outline", "diameter: 3, cutting_length: 12, shank: 3, stickout: 6", "it stands 6 out"),
        (
            "--pocket",
            "diameter: 8, cutting_length: 20, shank: 8, stickout: 30",
            "8.00 mm wide, and the pockets only 6.00 mm",
        ),
        (
            "--pocket",
            "diameter: 3, cutting_length: 12, shank: 3, stickout: 20}, x: {a: 1",
            "write keys and values",
        ),
        ("--planer", "scorr", "did you mean `scorer`"),
    ],
)
def test_a_bit_that_cannot_do_its_work_is_refused_at_its_question(
    here: Path, option: str, value: str, words: str
) -> None:
    result = run("--scale", "345", "--frets", "12", "--strings", "4", option, value)
    assert 2 == result.exit_code, result.stdout
    assert words in " ".join(result.stderr.split()), result.stderr
    assert [] == list(here.iterdir())


def test_a_bit_in_inches_is_written_as_exactly_as_it_was_given(here: Path) -> None:
    own = 'diameter: 3/32", flutes: 3, cutting_length: 3/8 in, shank: 0.125, stickout: 20 mm'
    assert 0 == run("--units", "in", "--scale", "13.6", "--frets", "12", "--strings", "4", "--pocket", own).exit_code
    bit = load_job(here / "first-board.yaml").job.bits["my-pocket"]
    assert (3, pytest.approx(3 / 32 * 25.4, abs=0.002), pytest.approx(20, abs=0.002)) == (
        bit.flutes,
        bit.diameter,
        bit.stickout,
    )


def own_machine(here: Path, **changes: str) -> str:
    """The bench router's file with other values of some keys."""
    text = (machine_folder() / "bench-router.yaml").read_text()
    for key, value in changes.items():
        text, count = re.subn(rf"(?m)^(\s*){key}:.*$", rf"\1{key}: {value}", text)
        assert 1 == count
    path = here / "machine of mine.yaml"
    path.write_text(text)
    return str(path)


def test_a_machine_of_ones_own_that_turns_too_fast_for_the_planer(here: Path) -> None:
    """The rack's planer may turn at 16,000 rpm; a trim router's slowest speed is often 18,000 (from memory)."""
    result = run("--machine", own_machine(here, min_rpm="18000"), "--scale", "345", "--frets", "12", "--strings", "4")
    assert 0 == result.exit_code, result.stdout
    assert "Plane the board's blank to 6.0 mm by hand before this job" in result.stdout
    assert "16000 rpm" in (here / "first-board.yaml").read_text()


def test_a_machine_file_is_judged_at_its_question(here: Path) -> None:
    result = run("--machine", own_machine(here, travel="{x: 800, y: wide, z: 90}"))
    assert 2 == result.exit_code
    assert "travel.y: not a length" in " ".join(result.stderr.split())


@pytest.mark.parametrize(
    ("travel", "planed", "freed"), [(2000, True, True), (745, True, True), (725, False, True), (670, False, False)]
)
def test_what_the_machine_cannot_reach_is_left_to_the_hands(here: Path, travel: int, planed: bool, freed: bool) -> None:
    """864 (1 - 2^(-24/12)) = 648, and 8 of overhang. To plane: at least 20 + 656 + 20, up to 700, 25 for the bit, 5.
    To cut out: 656, and a kerf of 1.4 x 6.35 on both sides. (Waste, run-off and kerf: this project's own.)"""
    answers = Answers(
        scale=864,
        frets=24,
        strings=4,
        nut=40,
        octave=55,
        machine=own_machine(here, travel=f"{{x: {travel}, y: 500, z: 90}}"),
    )
    way = way_of(answers, "board")
    assert (planed, freed) == (not way.unplaned, not way.unfreed)


@st.composite
def sensible(draw: st.DrawFn) -> Answers:
    """Answers over the whole range of what may be answered."""
    scale = draw(st.floats(300, 900))
    strings = draw(st.integers(3, 12))
    nut, octave = usual_widths(strings, scale)
    nut, octave = nut * draw(st.floats(0.9, 1.2)), octave * draw(st.floats(0.95, 1.2))
    return Answers(
        part=draw(st.sampled_from(["board", "neck", "both"])),
        units=draw(st.sampled_from(["mm", "in"])),
        machine=draw(st.sampled_from(["bench-router", "hand-dial", "shop-gantry"])),
        wood=draw(st.sampled_from(sorted(WOODS))),
        scale=scale,
        frets=draw(st.integers(12, 36)),
        strings=strings,
        nut=nut,
        octave=octave,
        thickness=draw(st.floats(4, 9)),
        radius=draw(st.sampled_from([0.0, 184.15, 241.3, 305.0, 406.4])),
        handed=draw(st.sampled_from(["right", "left"])),
        scorer=draw(st.sampled_from(["scorer", "vee60"])),
    )


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(answers=sensible())
def test_whatever_is_answered_gives_jobs_that_load(answers: Answers, tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = tmp_path_factory.mktemp("start")
    for name, text in files_of(answers, "job").items():
        (folder / name).write_text(text, encoding="utf-8")
        assert max(len(line) for line in text.splitlines()) <= 120
    for name in (n for n in files_of(answers, "job") if not n.endswith("-instrument.yaml")):
        job = load_job(folder / name).job
        assert answers.frets == job.instrument.frets
        assert answers.scale == pytest.approx(job.instrument.scale_length, abs=0.013)


@pytest.mark.parametrize("angle", [30, 60, 90])
def test_a_v_line_is_no_wider_than_the_saw(angle: int) -> None:
    """Width 2 d tan(a/2) + tip (geometry); the usual saw's kerf is 0.58 mm (common practice, no source)."""
    vee = own_bit(f"shape: vee, angle: {angle}, diameter: 6, cutting_length: 12, shank: 6, stickout: 22", "v", "mm")
    depth = Answers(scorer="v", own={"v": vee}).line
    assert 0.2 <= depth <= 0.5
    assert 2 * depth * math.tan(math.radians(angle / 2)) <= 0.58
    assert 0.5 == Answers().line


def test_a_thickness_that_the_radius_eats_is_refused_with_the_reason(here: Path) -> None:
    """184 - sqrt(184^2 - (71.6 / 2)^2) = 3.5 mm for a board 71.6 wide at its end (sagitta)."""
    result = run("--strings", "8", "--nut", "54", "--octave", "66", "--radius", "184", "--thickness", "4")
    assert 2 == result.exit_code
    assert "the radius takes 3.51 mm off the edges" in " ".join(result.stderr.split()), result.stderr


@pytest.mark.parametrize(
    ("file", "named"), [("job.yaml", "tools/my-router.yaml"), ("jobs/job.yaml", "../tools/my-router.yaml")]
)
def test_a_machine_file_is_named_from_the_job_s_folder_as_it_was_given(here: Path, file: str, named: str) -> None:
    (here / "tools").mkdir()
    (here / "jobs").mkdir()
    os.rename(own_machine(here), here / "tools" / "my-router.yaml")
    given = os.path.join("tools", "my-router.yaml")
    assert 0 == run(file, "--machine", given, "--scale", "345", "--frets", "12", "--yes").exit_code
    text = (here / file).read_text()
    assert named == load_job(here / file).job.machine
    assert str(here) not in text


def test_a_whole_path_of_a_machine_file_stays_whole(here: Path) -> None:
    path = own_machine(here)
    assert 0 == run("--machine", path, "--scale", "345", "--frets", "12", "--yes").exit_code
    assert f'machine: "{path}"' in (here / "first-board.yaml").read_text()


def test_without_a_terminal_it_says_that_usual_values_are_taken(here: Path) -> None:
    said = "There is no terminal to ask on: usual values are taken"
    assert said in run("--scale", "345", "--frets", "12").stdout
    assert said not in run("other.yaml", "--scale", "345", "--frets", "12", "--yes").stdout


def test_a_command_to_paste_is_one_line_with_its_file_quoted(here: Path) -> None:
    name = "a first board with quite a long name of many words, so that no line of eighty holds it whole.yaml"
    out = run(name, "--scale", "345", "--frets", "12", "--yes").stdout.splitlines()
    for command in ("check", "write"):
        assert ["neckpath", command, name] in [shlex.split(line) for line in out if line.startswith("  neckpath")]


@given(words=st.lists(st.text(min_size=1, max_size=30), min_size=1, max_size=6))
def test_a_command_line_is_one_line_whatever_was_typed(words: list[str]) -> None:
    assert 1 == len(command_line("neckpath", "start", *words).splitlines())
    plain = [w for w in words if w.isprintable()]
    if os.name != "nt":
        assert ["neckpath", *plain] == shlex.split(command_line("neckpath", *plain))


def test_what_goes_on_from_there_can_be_pasted_from_a_narrow_terminal(here: Path) -> None:
    options = ["--machine", "bench-router", "--units", "in", "--title", "A title of many words that is long enough"]
    seen = terminal(here, ["\x03"], "--part", "neck", *options)
    (command,) = [line for line in seen.splitlines() if line.startswith("neckpath start")]
    assert ["neckpath", "start", "--part", "neck", *options] == shlex.split(command)[: 4 + len(options)]


@settings(max_examples=200)
@given(
    words=st.lists(st.text("abcdefghijk-", min_size=1, max_size=12), min_size=1, max_size=40),
    offered=st.text("abcdef-", min_size=1, max_size=20),
    columns=st.integers(50, 120),
)
def test_a_prompt_breaks_between_words_and_leaves_room_for_the_answer(
    words: list[str], offered: str, columns: int
) -> None:
    shown: list[str] = []

    def prompt(text: str, default: str, show_default: bool) -> str:
        assert not show_default
        shown.append(text)
        return default

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(questions, "width", lambda: columns)
        patch.setattr(questions, "say", shown.append)
        patch.setattr(questions.typer, "prompt", prompt)
        assert offered == questions.prompted(" ".join(words), offered)
    assert " ".join([*words, f"[{offered}]"]) == " ".join(shown)
    assert max(map(len, shown)) <= columns - 12


def test_the_bits_that_no_rack_holds_are_marked_as_proposed(here: Path) -> None:
    options = ["--machine", "bench-router", "--units", "mm", "--title", "T", "--scale", "345", "--frets", "12"]
    options += ["--strings", "4", "--nut", "36", "--octave", "44", "--radius", "0", "--thickness", "6"]
    options += ["--handed", "right", "--wood", "hard maple", "--rod", "none", "--bars", "none"]
    for part, proposed in (("board", ""), ("neck", "long 6.35"), ("both", "long 6.35, pin 2")):
        seen = " ".join(terminal(here, ["\x03"], "--part", part, *options).split())
        rack = seen.partition("The rack has:")[2].partition(" wide")[0]
        assert "planer" in rack
        assert "long" not in rack
        assert "pin " not in rack
        assert (f"Not in the rack, proposed for this job: {proposed} mm wide" in seen) == bool(proposed), seen
