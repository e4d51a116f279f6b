"""The pen that strategies draw with."""

from __future__ import annotations

import pytest

from toolpaths.common.errors import FeatureError
from toolpaths.toolpath import toolpath
from toolpaths.toolpath.toolpath import ToolpathBuilder


def test_a_program_without_an_end_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(toolpath, "MOST_STEPS", 3)
    pen = ToolpathBuilder(safe=10.0)
    for x in (1.0, 2.0, 3.0):
        pen.cut(x, 0.0, 0.0, 100.0)
        pen.steps.clear()
    with pytest.raises(FeatureError, match="more than 3 moves"):
        pen.cut(4.0, 0.0, 0.0, 100.0)
