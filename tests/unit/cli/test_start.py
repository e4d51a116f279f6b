"""A first job from a few answers: it loads, it passes `check`, and nothing is written over or half written."""

from __future__ import annotations

import os
import select
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner, Result

from tests.patience import LONGEST
from toolpaths.cli import app
from toolpaths.core.finding import Severity
from toolpaths.core.outcome import Changes
from toolpaths.pipeline import make
from toolpaths.reports.first_job import Answers, files_of, usual_widths
from toolpaths.stages.load import load_job
from toolpaths.trade.woods import WOODS


def run(*arguments: str | Path) -> Result:
    result = CliRunner().invoke(app, ["start", *(str(a) for a in arguments)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


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


def test_board_and_neck_share_an_instrument(here: Path) -> None:
    result = run("twin.yaml", "--part", "both", "--radius", "305")
    assert 0 == result.exit_code
    names = ["twin-board.yaml", "twin-instrument.yaml", "twin-neck.yaml"]
    assert names == sorted(p.name for p in here.iterdir())
    board, neck = load_job(here / names[0]).job, load_job(here / names[2]).job
    assert board.instrument == neck.instrument
    fitted = CliRunner().invoke(app, ["fit", names[0], names[2]])
    assert 0 == fitted.exit_code, fitted.stdout


def test_nothing_is_written_over_unless_it_is_told(here: Path) -> None:
    mine = here / "first-board.yaml"
    mine.write_text("mine")
    result = run()
    assert 2 == result.exit_code
    assert "stands there already" in result.stderr
    assert "mine" == mine.read_text()
    assert 0 == run("--force").exit_code
    assert "mine" != mine.read_text()


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [
        ("--scale", "2000", "from 300 to 900 mm"),
        ("--frets", "some", "a whole number from 12 to 36"),
        ("--wood", "mapel", "is not among them"),
        ("--machine", "bench", "no machine is called `bench`"),
        ("--radius", "5", "0 for a flat board"),
        ("--scorer", "planer", "is not among them"),
        ("--nut", "wide", "not a length"),
    ],
)
def test_an_answer_that_cannot_be_is_refused_with_words(here: Path, option: str, value: str, words: str) -> None:
    result = run(option, value)
    assert 2 == result.exit_code
    assert words in " ".join(result.stderr.split())
    assert [] == list(here.iterdir())


def test_a_part_that_the_machine_cannot_reach_is_told_and_not_written(here: Path) -> None:
    result = run("--machine", "small-frame")
    assert 1 == result.exit_code
    assert "the machine travels 300.00 mm" in result.stdout
    assert [] == list(here.iterdir())


def answered(folder: Path, answers: list[str]) -> str:
    """What a person sees who types answers on a terminal."""
    pty = pytest.importorskip("pty", reason="this system has no terminal that a test can type on")
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(folder)
        os.environ["PYTHONPATH"] = str(Path(__file__).parents[3])
        os.environ["TERM"] = "dumb"
        os.execv(sys.executable, [sys.executable, "-c", "from toolpaths.cli import main; main()", "start"])
    seen, waiting = "", list(answers)
    while True:
        ready, _, _ = select.select([terminal], [], [], LONGEST)
        assert ready, f"it says no more: {seen}"
        try:
            data = os.read(terminal, 4096)
        except OSError:
            break
        if not data:
            break
        seen += data.decode()
        if seen.endswith("]: "):
            assert waiting, f"it asks more: {seen}"
            os.write(terminal, waiting.pop(0).encode() + b"\n")
            seen += " "
    os.waitpid(child, 0)
    return seen


def test_on_a_terminal_it_asks_and_asks_again(here: Path) -> None:
    answers = ["", "", "", "My board", "584", "fifty", "19", "4", "36", "44", "", "", ""]
    answers += ["mapel", "hard maple", "", "", ""]
    seen = answered(here, answers)
    assert "a whole number from 12 to 36 is wanted, not `fifty`" in seen
    assert "`mapel` is not among them" in seen
    assert "Written: first-board.yaml. It passes `neckpath check`." in seen
    job = load_job(here / "first-board.yaml").job
    assert ("My board", 584.0, 19, 36.0) == (
        job.title,
        job.instrument.scale_length,
        job.instrument.frets,
        job.instrument.board.width.nut,
    )


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


TYPICAL = [
    Answers(scale=584, frets=19, strings=4, nut=36, octave=44),
    Answers(scale=300, frets=12, strings=4, nut=30, octave=36, units="in", machine="hand-dial"),
    Answers(scale=863.6, frets=24, strings=4, nut=40, octave=55, part="both", machine="shop-gantry", radius=305),
    Answers(scale=628.65, frets=22, part="both", radius=241.3, units="in", machine="hand-dial"),
    Answers(scale=650, frets=36, strings=8, nut=54, octave=65, handed="left", wood="ebony", scorer="vee60"),
    Answers(part="neck", strings=5, nut=40, octave=48, scale=500, frets=17, wood="mahogany"),
]


@pytest.mark.slow
@pytest.mark.parametrize("answers", TYPICAL, ids=lambda a: f"{a.part} {a.scale:g} {a.machine}")
def test_typical_answers_pass_the_whole_check(answers: Answers, tmp_path: Path) -> None:
    files = files_of(answers, "job")
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    for name in (n for n in files if not n.endswith("-instrument.yaml")):
        found = make(tmp_path / name, Changes(pitch=0.5)).findings
        assert [] == [f"{f.code}: {f.message}" for f in found if f.severity is Severity.stop]
