"""On a terminal of 80 columns each command says all that it says on a wide one: rows, names and figures, unbroken."""

from __future__ import annotations

import re
import shlex
import shutil
from collections import Counter
from pathlib import Path

import pytest
from typer.testing import CliRunner

from tests.support.made import made
from toolpaths.cli import GROUPS, app
from toolpaths.pipeline import run

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BOARD, NECK, FAN, JIG = (
    f"demo_jobs/{name}.yaml" for name in ("tenor_board", "tenor_neck", "fanned_seven", "tenor_jig")
)
SHORT = {f"write {NECK}": "write demo_jobs/carved_neck.yaml", f"plan {BOARD} {NECK}": f"plan {BOARD}"}
"""What takes long, and the same command with less work."""
TYPED = {
    SHORT.get(typed := shlex.join(shlex.split(line)[1:]), typed)
    for block in re.findall(r"^```sh\n(.*?)^```$", README, re.M | re.S)
    for line in block.splitlines()
    if line.startswith(".venv/bin/neckpath ")
}
"""Commands of the README, after the word `neckpath`."""
OTHERS = {
    "", "bits", "woods", "woods mahogany", "machines", "machines small-frame", "machines hand-dial",
    f"frets {BOARD}", f"frets {FAN}", "explain depth", "explain marker_pockets", f"check {BOARD} --reasons --times",
    f"check {BOARD} {FAN}", f"verify out/tenor_board/01-face-planer.ngc --job {BOARD}", f"found {BOARD} --list",
    f"coupon {BOARD}", "gauge bench-router", "gauge hand-dial", "surface bench-router", f"book {BOARD}",
    f"write {FAN} --session 20", "check demo_jobs/parlour_board_inch.yaml",
}  # fmt: skip
"""What the README names without its arguments, and what is widest."""
PITCHED = {"check", "write", "preview", "compare", "plan", "book", "coupon"}
NOT_RUN = {"start", "watch", "schema", "draw"}
"""They ask, go on for ever, or print what is not for people; `draw` needs no width."""
QUICK = {"bits", "woods", "machines", "frets", "explain", "gauge", "found", "fit"}
"""Commands that take less than a second; of the others one each is in the default run."""
DEFAULT = {f"check {BOARD} --reasons --times", f"write {BOARD}", ""}
RULE = re.compile(r"─+")


def said(command: str, columns: int, monkeypatch: pytest.MonkeyPatch) -> str:
    """What a command prints at a width. Its maps are coarse: the words are the same."""
    monkeypatch.setenv("COLUMNS", str(columns))
    words = shlex.split(command)
    result = CliRunner().invoke(app, [*words, *(["--pitch", "0.5"] if words and words[0] in PITCHED else [])])
    assert result.exit_code in (0, 1), result.output
    return result.output


def rows(output: str) -> Counter[str]:
    """The first word of each line below a table's rule, up to the next empty line."""
    first: Counter[str] = Counter()
    for part in re.split(r"^─+$", output, flags=re.M)[1:]:
        for line in part.strip("\n").split("\n\n")[0].splitlines():
            if line and not line.startswith(" "):
                first[line.split()[0]] += 1
    return first


@pytest.mark.parametrize(
    "command",
    [
        pytest.param(c, marks=[] if c in DEFAULT or c.split()[0] in QUICK else [pytest.mark.slow])
        for c in sorted(TYPED | OTHERS)
    ],
)
def test_it_says_the_same_on_80_columns(command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(ROOT / "demo_jobs", tmp_path / "demo_jobs")
    monkeypatch.chdir(tmp_path)
    # Made once for both widths: the words are what is compared.
    monkeypatch.setattr(run, "make", made)
    if command.startswith("verify"):
        said(f"write {BOARD}", 80, monkeypatch)
    # A finding names its job's folder only where three lines have room for that.
    wide = said(command, 1000, monkeypatch).replace("(demo_jobs/", "(")
    narrow = said(command, 80, monkeypatch).replace("(demo_jobs/", "(")
    assert "…" not in narrow
    for line in narrow.splitlines():
        assert len(line) <= 80 or copied(line), line
    missing = {w for w in wide.split() if not RULE.fullmatch(w)} - set(narrow.split())
    assert set() == missing
    few = {name: count for name, count in rows(wide).items() if rows(narrow)[name] < count}
    assert {} == few


def copied(line: str) -> bool:
    """Whether a line is one to copy whole, or a path with nothing beside it."""
    return bool(re.match(r"\s*(neckpath |#|bits:|measured:|[\w ]+: [{&]|\S+$|\(|[GMTS]\d)", line))


def test_every_command_is_tried() -> None:
    tried = {command.split()[0] for command in TYPED | OTHERS if command}
    assert {c.__name__ for commands in GROUPS.values() for c in commands} - NOT_RUN - {"fit"} <= tried
