"""Commands are tried on the same jobs again and again: what they come to is made once (`tests/support/made.py`)."""

from __future__ import annotations

import pytest

from tests.support.made import made
from toolpaths.pipeline import run


@pytest.fixture(autouse=True)
def _made_once(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not where a test says that its commands make all anew."""
    if request.node.get_closest_marker("made_anew") is None:
        monkeypatch.setattr(run, "make", made)
