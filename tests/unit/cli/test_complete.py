"""What a shell is told when somebody asks it to complete: asked for as a shell does, through the environment."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from toolpaths.cli import main
from toolpaths.instrument.woods import WOODS
from toolpaths.job.files.machine_file import machine_paths

ROOT = Path(__file__).parents[3]
BOARD = "demo_jobs/tenor_board.yaml"


Completed = Callable[[str], list[str]]


@pytest.fixture
def completed(monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Completed:
    """What comes for the last word of a line (empty after a blank)."""

    def of(line: str) -> list[str]:
        monkeypatch.chdir(ROOT)
        monkeypatch.setattr(sys, "argv", ["neckpath"])
        for name, value in (
            ("COMP_WORDS", line), ("COMP_CWORD", str(line.count(" "))), ("_TYPER_COMPLETE_ARGS", line),
            ("_NECKPATH_COMPLETE", "complete_bash"),
        ):  # fmt: skip
            monkeypatch.setenv(name, value)
        with pytest.raises(SystemExit) as ended:
            main()
        assert 0 == ended.value.code
        out, error = capfd.readouterr()
        assert "" == error
        return out.removesuffix("\n").split("\n")

    return of


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("neckpath wr", ["write"]),
        ("neckpath write --on", ["--only"]),
        (
            f"neckpath write {BOARD} --only ",
            ["locating_pins", "marker_pockets", "outline", "pin_bores", "plane", "score_lines"],
        ),
        (f"neckpath check {BOARD} --from p", ["pin_bores", "plane"]),
        (f"neckpath check {BOARD} --from pin_bores:", ["pin_bores: pin 1", "pin_bores: pin 2"]),
        (f"neckpath check {BOARD} --from fret", [f"fret {k}" for k in sorted(range(1, 20), key=str)]),
        ("neckpath check no-such.yaml --from fret", []),
        (f"neckpath write {BOARD} --bit s", ["scorer="]),
        (f"neckpath write {BOARD} --bit scorer=v", ["scorer=vee60"]),
        (f"neckpath write {BOARD} --accept gou", ["gouge@"]),
        (f"neckpath write {BOARD} --accept gouge@o", ["gouge@outline"]),
        ("neckpath machines ", sorted(machine_paths())),
        ("neckpath woods mah", [name for name in sorted(WOODS) if name.startswith("mah")]),
        ("neckpath explain setups.zero.", ["setups.zero.x", "setups.zero.y", "setups.zero.z"]),
        ("neckpath write no-such.yaml --only ", []),
        ("neckpath write tests/cases/drawings/medallion.svg --bit ", []),
    ],
)
def test_a_word_is_completed(completed: Completed, line: str, wanted: list[str]) -> None:
    found = [word for word in completed(line) if word]
    assert wanted == found


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_script_can_be_had_for_every_usual_shell(shell: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from toolpaths.cli import main; main()", "--show-completion", shell],
        cwd=ROOT, capture_output=True, text=True, check=True,
        env={**os.environ, "_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"},
    )  # fmt: skip
    assert f"complete_{shell}" in done.stdout
