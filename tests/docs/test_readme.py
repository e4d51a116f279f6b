"""What the README says first, and CI does: two commands, each of one line, found by what they hold."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
CI = ROOT / ".ci" / "run"
BLOCKS = re.findall(r"^```sh\n(.*?)^```$", (ROOT / "README.md").read_text(encoding="utf-8"), re.M | re.S)


def test_the_first_two_blocks_are_one_command_line_each() -> None:
    first, second = BLOCKS[:2]
    assert 1 == len(first.splitlines()) == len(second.splitlines())
    assert first.startswith("python3 -m venv .venv && ")
    assert "neckpath write demo_jobs/" in first
    assert second.startswith("python3 -m venv .venv && ")
    assert second.endswith(".venv/bin/python -m pytest\n")


def found(words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """What CI takes out of the README of a folder."""
    function = re.search(r"^readme_command\(\) \{$.*?^\}$", CI.read_text(encoding="utf-8"), re.M | re.S)
    assert function
    command = ["bash", "-c", f"{function[0]}\nreadme_command '{words}'"]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True)


@pytest.mark.skipif(not CI.exists(), reason="a source package holds no CI")
@pytest.mark.parametrize(("words", "block"), [("neckpath write", 0), ("pytest", 1)])
def test_ci_finds_them_wherever_they_stand(tmp_path: Path, words: str, block: int) -> None:
    assert BLOCKS[block] == found(words, ROOT).stdout
    other = "```sh\nls\n```\n\n" + "\n".join(f"```sh\n{b}```\n" for b in reversed(BLOCKS))
    (tmp_path / "README.md").write_text(other, encoding="utf-8")
    assert BLOCKS[block] == found(words, tmp_path).stdout
    (tmp_path / "README.md").write_text(other.replace(BLOCKS[block], BLOCKS[block] + "ls\n"), encoding="utf-8")
    assert 0 != found(words, tmp_path).returncode
    (tmp_path / "README.md").write_text(other.replace("-m venv", "-m env"), encoding="utf-8")
    assert "must have one sh block" in found(words, tmp_path).stderr
