"""`neckpath found`: values are kept at once, checked, and followed by what is written after them."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.support.commands import on_a_terminal, typed
from tests.support.measured_job import board, marks, of
from toolpaths.found.meaning import Meaning
from toolpaths.job.files.found_file import found_path


def kept(job: Path) -> str:
    path = found_path(job)
    return path.read_text() if path.exists() else ""


def test_values_are_kept_beside_the_job_with_its_hash(tmp_path: Path) -> None:
    job = board(tmp_path)
    result = typed("found", job, "--set", "M7=4.94", "--set", "M8=4.95mm", "--set", "M9=4.93", "--set", "M10=4.94")
    assert result.exit_code == 0
    assert "Wood 4.94 mm thick instead of 5.00 mm, M7 to M10. The next cuts follow it." in result.output
    assert "  M8: 4.95    # thickness once planed" in kept(job)
    assert typed("check", job).exit_code == 0


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("M7=3.8", "3.80 mm is too far from 5.00 mm ± 0.10 to be right"),
        ("M7=zwei", "not a length"),
        ("M99=5", "No place of the measuring list is called `M99`"),
        ("M12=0.2", "narrower than scorer"),
        ("M7", "MARK=VALUE"),
    ],
)
def test_a_value_that_cannot_be_true_changes_nothing(value: str, words: str, tmp_path: Path) -> None:
    job = board(tmp_path)
    typed("found", job, "--set", "M7=5.02")
    before = kept(job)
    result = typed("found", job, "--set", value)
    assert result.exit_code == 2
    assert words in " ".join(result.output.split())
    assert before == kept(job)


def test_a_value_is_taken_out_again(tmp_path: Path) -> None:
    job = board(tmp_path)
    typed("found", job, "--set", "M7=5.02", "--set", "M8=5.01")
    assert typed("found", job, "--forget", "M7").exit_code == 0
    assert ("M7:" in kept(job), "M8:" in kept(job)) == (False, True)
    assert typed("found", job, "--forget", "M7").exit_code == 2


def test_programs_that_are_cut_stay_as_they_are(tmp_path: Path) -> None:
    job = board(tmp_path)
    typed("found", job, "--cut", "3", "--set", "M7=5.02")
    assert "M7: {value: 5.02, cut: 3}" in kept(job)
    assert typed("found", job, "--cut", "9", "--set", "M7=5.02").exit_code == 2


def test_a_value_typed_after_later_ones_counts_as_late(tmp_path: Path) -> None:
    job = board(tmp_path)
    pocket = next(m for m in of(marks(job), Meaning.bit) if m.bit == "three")
    typed("found", job, "--set", f"{pocket.name}={pocket.figure.value}")
    typed("found", job, "--set", "M7=5.02")
    assert f"M7: {{value: 5.02, cut: {pocket.after}}}" in kept(job)


def test_the_list_shows_every_mark(tmp_path: Path) -> None:
    job = board(tmp_path)
    output = typed("found", job, "--list").output
    assert all(f"{m.name} " in output for m in marks(job))
    assert not found_path(job).exists()


def test_a_link_is_not_followed(tmp_path: Path) -> None:
    job = board(tmp_path)
    (tmp_path / "board.found.yaml").symlink_to(tmp_path / "elsewhere.yaml")
    assert typed("found", job, "--set", "M7=5.02").exit_code == 2
    assert not (tmp_path / "elsewhere.yaml").exists()


def test_on_a_terminal_it_asks_in_order_and_keeps_each_answer_at_once(tmp_path: Path) -> None:
    job = board(tmp_path)
    run, outer = on_a_terminal("found", job)
    os.write(outer, b"6.05\n9.9\n6.1\n\nq\n")
    said = b""
    while True:
        try:
            got = os.read(outer, 4096)
        except OSError:
            break
        if not got:
            break
        said += got
    assert run.wait() == 0
    text = " ".join(said.decode().split())
    assert "M1, as it lies: thickness of the blank: left end, edge on your side (5.90 to 6.20 mm)" in text
    assert "9.90 mm is too far from" in text
    assert ("M1: 6.05" in kept(job), "M2: 6.1" in kept(job), "M3:" in kept(job)) == (True, True, False)
