"""One file, whole or not at all, and only where a plain file may stand."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.support.needs import has_pipes
from toolpaths.common.whole_files import put


def test_a_file_is_put_whole_in_place_of_an_earlier_one(tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_bytes(b"old")
    put(tmp_path / "a.svg", b"new")
    assert {"a.svg": b"new"} == {p.name: p.read_bytes() for p in tmp_path.iterdir()}


def test_the_same_file_under_another_name_keeps_its_content(tmp_path: Path) -> None:
    (tmp_path / "mine").write_bytes(b"mine")
    os.link(tmp_path / "mine", tmp_path / "a.svg")
    put(tmp_path / "a.svg", b"new")
    assert b"mine" == (tmp_path / "mine").read_bytes()


@has_pipes
def test_a_link_a_folder_a_pipe_and_a_device_are_refused_and_stay(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    for name, said in (("link", "is a link"), ("folder", "is a folder"), ("pipe", "is a device or a pipe")):
        with pytest.raises(OSError, match=said):
            put(tmp_path / name, b"new")
    with pytest.raises(OSError, match="is a device or a pipe"):
        put(Path("/dev/null"), b"new")
    assert Path("/dev/null").is_char_device()
    assert ["folder", "link", "pipe"] == sorted(p.name for p in tmp_path.iterdir())
