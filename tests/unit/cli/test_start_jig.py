"""A first jig for jobs that are there: it passes `check`, and what it cannot have is left out with the reason."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.jig_jobs import JigJobs
from tests.support.starting import run
from toolpaths.job.changes import Changes
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.run import make
from toolpaths.verification.finding import Severity

ROOT = Path(__file__).parents[3]
DEMOS = ROOT / "demo_jobs"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def features(path: Path) -> list[str]:
    return [f.key for setup in load_job(path).job.setups for f in setup.features]


def passes(path: Path) -> None:
    found = make(path, Changes(pitch=0.5)).findings
    assert [] == [f.message for f in found if f.severity is not Severity.note]


@pytest.mark.slow
@pytest.mark.parametrize("handed", ["right", "left"])
def test_it_has_what_the_jobs_ask_for_and_passes(here: Path, handed: str) -> None:
    files = JigJobs(handed=handed, offset="G55").write(here)
    files["jig"].unlink()
    said = run("jig.yaml", "--part", "jig", "--for", "board.yaml", "neck.yaml", "--title", "Jig of mine")
    assert 0 == said.exit_code, said.stdout + said.stderr
    assert "Written: jig.yaml. It passes `neckpath check`." in said.stdout
    assert features(files["jig"]) == ["plane", "jig_pins", "pilot_holes", "stop_pins", "guide_lines", "names"]
    job = load_job(files["jig"]).job
    assert (job.title, job.handed, job.setups[0].offset) == ("Jig of mine", handed, "G55")
    for path in files.values():
        passes(path)
    assert max(len(line) for line in files["jig"].read_text(encoding="utf-8").splitlines()) <= 120


@pytest.mark.parametrize(
    ("board", "neck", "keys"),
    [
        pytest.param(
            *("tenor_board.yaml", "tenor_neck.yaml", {"jig_pins", "pilot_holes", "stop_pins"}), marks=pytest.mark.slow
        ),
        ("tenor_board.yaml", "-", {"stop_pins"}),
        ("parlour_board_inch.yaml", "-", set()),
    ],
)
def test_jobs_that_do_not_lie_on_it_yet_are_served_too(here: Path, board: str, neck: str, keys: set[str]) -> None:
    jobs = [name if name == "-" else str(DEMOS / name) for name in (board, neck)]
    said = run("mine", "--part", "jig", "--for", *jobs)
    assert 0 == said.exit_code, said.stdout + said.stderr
    path = here / "mine.yaml"
    assert keys | {"guide_lines", "names"} <= set(features(path)) <= keys | {"plane", "guide_lines", "names"}
    passes(path)


@pytest.mark.slow
def test_a_jig_that_the_machine_cannot_plane_says_so(here: Path) -> None:
    """A neck of 648 mm with its headstock is longer than the planing bit can run off on 800 mm of travel."""
    assert 0 == run("twin", "--part", "neck", "--yes").exit_code
    said = run("mine", "--part", "jig", "--for", "-", "twin.yaml")
    assert 0 == said.exit_code, said.stdout + said.stderr
    text = (here / "mine.yaml").read_text(encoding="utf-8")
    assert "# Not planed: that takes 815.0 mm along x, and the machine travels 800.0 mm." in text


@pytest.mark.slow
def test_what_cannot_be_cut_is_left_out_with_the_reason(here: Path) -> None:
    """A pin through a screw: the jig has the pins, and says why it has no pilot holes."""
    files = JigJobs(neck_pins=((-20.0, 36.0, 6.0), (225.0, -9.0, 8.0))).write(here)
    files["jig"].unlink()
    said = run("jig.yaml", "--part", "jig", "--for", "board.yaml", "neck.yaml")
    assert 0 == said.exit_code, said.stdout + said.stderr
    assert "pilot_holes is left out: the pilot hole at" in said.stdout.replace("\n  ", " ")
    assert "# pilot_holes is left out: " in files["jig"].read_text(encoding="utf-8")
    assert "pilot_holes" not in features(files["jig"])
    assert "jig_pins" in features(files["jig"])


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "name the jobs that lie on the jig"),
        (("--for", "-", "-"), "name the jobs that lie on the jig"),
        (("--for", "neck.yaml", "board.yaml"), "name the board's job first"),
        (("--for", "nothing.yaml", "-"), "there is no such file"),
    ],
)
def test_without_its_jobs_nothing_is_written(here: Path, arguments: tuple[str, ...], says: str) -> None:
    JigJobs().write(here)
    said = run("mine.yaml", "--part", "jig", *arguments)
    assert 2 == said.exit_code
    assert says in said.stderr.replace("\n", " ").replace("│", "").replace("  ", " ")
    assert not (here / "mine.yaml").exists()
    assert {p.name for p in here.iterdir()} == {"board.yaml", "instrument.yaml", "jig.yaml", "neck.yaml"}


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--part", "board", "--for", "board.yaml", "neck.yaml"), "--for is for a jig"),
        (("--for", "board.yaml", "neck.yaml"), "--for is for a jig"),
        (("--part", "jig", "--for", "board.yaml", "neck.yaml", "--scale", "400"), "leave this out"),
    ],
)
def test_options_that_say_nothing_of_a_jig_are_refused(here: Path, arguments: tuple[str, ...], says: str) -> None:
    JigJobs().write(here)
    said = run("mine.yaml", *arguments)
    assert 2 == said.exit_code
    assert says in said.stderr.replace("\n", " ").replace("│", "").replace("  ", " ")
    assert not (here / "mine.yaml").exists()


@pytest.mark.slow
def test_nothing_is_written_over_unless_it_is_told(here: Path) -> None:
    JigJobs().write(here)
    before = (here / "jig.yaml").read_text(encoding="utf-8")
    said = run("jig.yaml", "--part", "jig", "--for", "board.yaml", "neck.yaml")
    assert 2 == said.exit_code
    assert before == (here / "jig.yaml").read_text(encoding="utf-8")
    assert 0 == run("jig.yaml", "--part", "jig", "--for", "board.yaml", "neck.yaml", "--force").exit_code
    assert before != (here / "jig.yaml").read_text(encoding="utf-8")
