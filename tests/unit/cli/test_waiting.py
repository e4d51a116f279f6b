"""The bar of a long run: it draws when it is told, and no thread runs beside the work."""

from __future__ import annotations

import sys
import threading

import pytest

from toolpaths.cli import screen


def test_the_bar_is_drawn_without_a_thread(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(screen, "_PATIENCE", -1.0)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    before = threading.active_count()
    with screen.Waiting() as progress:
        progress("cutting 01-face.ngc", 0.25)
        progress("cutting 02-face.ngc", 0.5)
        assert before == threading.active_count()
    said = capsys.readouterr().err
    assert "cutting 02-face.ngc" in said
    assert "50%" in said
