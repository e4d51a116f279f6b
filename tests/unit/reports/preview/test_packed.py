"""Arrays come out of the page's JSON as they went in."""

from __future__ import annotations

import json

import numpy as np
import pytest

from tests.support.closed_forms import unpacked
from toolpaths.reports.preview.packed import packed


@pytest.mark.parametrize("deflate", [True, False])
@pytest.mark.parametrize("kind", ["f4", "u2", "u1", "u4", "i4"])
def test_an_array_survives_the_way_through_json_row_after_row(kind: str, deflate: bool) -> None:
    array = np.array([[0, 1, 2], [3, 250, 7]])
    there = json.loads(json.dumps(packed(array, kind, deflate=deflate)))
    assert [0, 1, 2, 3, 250, 7] == unpacked(there).tolist()


def test_level_ground_shrinks_to_a_hundredth() -> None:
    level = np.full((500, 1000), 6000, dtype=np.uint16)
    assert level.nbytes / 100 > len(packed(level, "u2")["data"])
