"""The pages for beginners are true: their jobs are jobs, and their commands answer what the pages show."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from tests.docs.answers import CUT, PAGES, ROOT, Unanswered, all_answered, answered, excerpt, in_folder
from tests.support.made import made
from toolpaths.instrument.frets import fret_distances
from toolpaths.pipeline import run

BOARD, NECK = PAGES
PATH = [*PAGES, ROOT / "docs" / "at-the-machine.md", ROOT / "docs" / "by-hand.md"]
SET_UP = "python3 -m venv"


def _blocks(page: Path) -> list[tuple[str, str]]:
    return re.findall(r"^```(\w+)\n(.*?)^```$", page.read_text(encoding="utf-8"), re.M | re.S)


def _commands(page: Path) -> list[str]:
    return [text.strip() for kind, text in _blocks(page) if kind == "sh" and not text.startswith(SET_UP)]


@pytest.mark.slow
def test_every_command_answers_as_the_pages_show(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run, "make", made)
    stale = [path.name for path, text in all_answered().items() if path.read_text(encoding="utf-8") != text]
    assert [] == stale, "look at the difference: python tests/docs/answers.py"


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.stem)
def test_every_command_shows_its_answer(page: Path) -> None:
    blocks = _blocks(page)
    for (kind, text), after in zip(blocks, [*blocks[1:], ("", "")], strict=True):
        if kind == "sh" and not text.startswith(SET_UP):
            assert 1 == len(text.splitlines())
            assert "text" == after[0], text
            assert after[1].strip(f"{CUT} \n"), text


def test_the_pages_show_the_commands_that_a_first_board_and_neck_need() -> None:
    assert {"check", "compare", "frets", "write"} <= {shlex.split(command)[1] for command in _commands(BOARD)}
    assert {"start", "check", "fit", "write", "draw", "plan"} <= {shlex.split(c)[1] for c in _commands(NECK)}


def test_each_page_of_the_path_ends_with_the_next() -> None:
    last = [page.read_text(encoding="utf-8").rstrip().splitlines()[-1] for page in PATH]
    assert [page.name for page in PATH[1:]] == [re.findall(r"\((\S+)\)", line)[-1] for line in last[:-1]]
    titles = [page.read_text(encoding="utf-8").splitlines()[0].removeprefix("# ") for page in PATH]
    assert [f"**Next: [{title}]({page.name}).**" for title, page in zip(titles[1:], PATH[1:], strict=True)] == last[:-1]


def test_the_job_of_the_page_is_the_job_of_its_picture() -> None:
    first, added = [text for kind, text in _blocks(BOARD) if kind == "yaml"]
    job = first.replace("stock:", f"{added}\nstock:", 1)
    pictured = (ROOT / "docs" / "pictures" / "first_board.yaml").read_text(encoding="utf-8")
    without_remark = "".join(line for line in pictured.splitlines(keepends=True) if not line.startswith("#"))
    assert [line for line in without_remark.splitlines() if line] == [line for line in job.splitlines() if line]


def test_the_figures_for_the_hands_are_right() -> None:
    page = (ROOT / "docs" / "by-hand.md").read_text(encoding="utf-8")
    # Sagitta R - sqrt(R^2 - (w/2)^2) (a circle's, Euclid III.3 with Pythagoras) at the nut, 36 mm wide, and at fret 19.
    far = 36 + 8 / 292.0 * float(fret_distances(584, 19)[-1])
    nut, end = (305 - (305**2 - (w / 2) ** 2) ** 0.5 for w in (36, far))
    assert f"{nut:.2f} mm off the edges, at the far end {end:.2f} mm" in page
    # The saw's stop: 2 mm and the sagitta at that fret.
    for fret in (1, 12, 19):
        width = 36 + 8 / 292.0 * float(fret_distances(584, fret)[-1])
        assert f"{2 + 305 - (305**2 - (width / 2) ** 2) ** 0.5:.2f}" in page


ANSWER = ["Title", "", "one 1", "one 2", "", "", "two", "three"]


@pytest.mark.parametrize(
    ("wanted", "shown"),
    [
        ("all", ANSWER),
        ("Title; one ..", ["Title", "", "one 1", "one 2", CUT]),
        ("one 2; three", [CUT, "one 2", CUT, "three"]),
        ("none|three", [CUT, "three"]),
        ("two ..", [CUT, "two", "three"]),
    ],
)
def test_an_excerpt_has_the_lines_asked_for(wanted: str, shown: list[str]) -> None:
    assert shown == excerpt(ANSWER, wanted)


@pytest.mark.parametrize("wanted", ["four", "three; two"])
def test_an_excerpt_asks_for_no_line_that_is_not_there(wanted: str) -> None:
    with pytest.raises(Unanswered, match="no line of the answer"):
        excerpt(ANSWER, wanted)


def test_a_stale_answer_is_made_anew_and_a_failing_command_is_told() -> None:
    page = "<!-- answer: Usage -->\n```text\nold\n```\n"
    with in_folder() as folder:
        new = answered(f"```sh\nneckpath frets --help\n```\n\n{page}", folder)
        assert re.search(r"```text\n(…\n)?.*Usage: .*frets.*\n…\n```\n$", new), new
        with pytest.raises(Unanswered, match=r"gone\.yaml"):
            answered(f"```sh\nneckpath frets gone.yaml\n```\n\n{page}", folder)
