"""Machine files and the rack are read once for as long as they stay as they are, and anew when they change."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from toolpaths.common.errors import JobError
from toolpaths.job.files.machine_file import machine_folder, read_machine
from toolpaths.job.files.rack_file import load_rack


@pytest.fixture
def own(tmp_path: Path) -> Path:
    path = tmp_path / "mine.yaml"
    path.write_text((machine_folder() / "bench-router.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    return path


def test_a_file_that_stays_is_read_once(own: Path) -> None:
    assert read_machine(own) is read_machine(own)


def test_a_changed_file_is_read_anew(own: Path) -> None:
    """Of the same length, so that its time alone tells; then one that is gone, and one that is faulty."""
    before = read_machine(own).spindle.min_rpm
    text = own.read_text(encoding="utf-8")
    other = text.replace("min_rpm: 8000", "min_rpm: 9000")
    assert other != text
    own.write_text(other, encoding="utf-8")
    os.utime(own, ns=(1, own.stat().st_mtime_ns + 1))
    assert (8000, 9000) == (before, read_machine(own).spindle.min_rpm)
    own.write_text("travel: wide\n", encoding="utf-8")
    with pytest.raises(JobError):
        read_machine(own)
    own.unlink()
    with pytest.raises(JobError, match="there is no such file"):
        read_machine(own)


def test_nobody_can_change_the_rack_of_another() -> None:
    mine = load_rack()
    mine.pop("quarter")
    assert "quarter" in load_rack()
