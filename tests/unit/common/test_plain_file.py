"""Files of strangers are read without waiting, and no further than asked for."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.support.needs import has_pipes
from toolpaths.common.plain_file import plain_bytes


def test_a_plain_file_is_read_as_far_as_asked_for_through_a_link_too(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"0123456789")
    (tmp_path / "b").symlink_to("a")
    assert b"0123456789" == plain_bytes(tmp_path / "b", 100)
    assert b"0123" == plain_bytes(tmp_path / "a", 4)


@has_pipes
def test_a_device_and_a_pipe_that_nobody_writes_to_are_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "zero").symlink_to("/dev/zero")
    for path in (tmp_path / "pipe", tmp_path / "zero", Path("/dev/zero")):
        with pytest.raises(OSError, match="a device or a pipe, not a file"):
            plain_bytes(path, 100)


def test_a_folder_and_what_is_not_there_keep_their_own_errors(tmp_path: Path) -> None:
    with pytest.raises(IsADirectoryError):
        plain_bytes(tmp_path, 1)
    with pytest.raises(FileNotFoundError):
        plain_bytes(tmp_path / "none", 1)
