"""Heel's seat and headstock's back as exact solids leave them, from the programs' text read by an outside interpreter.

The heights wanted come from the numbers of the job by a formula of this test's own: nothing of the product is asked
where a surface is to lie.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.outside.cut_work import cut_by
from tests.outside.exact_wood import left
from tests.support.made import made as make
from tests.support.needs import INTERPRETER, needs
from toolpaths.job.changes import Changes

pytestmark = needs(INTERPRETER)

JOB = Path(__file__).parents[1] / "cases" / "neck_faces.yaml"
MOST, STAIR = 0.05, 0.05
"""How far a finished surface may lie off, and how high a step of the ramp may be, mm."""
HEAD = "headstock_back: {bit: quarter, ramp: 12}"


@pytest.mark.parametrize(
    ("edits", "ramp"),
    [
        ((), 12.0),
        ((("units: mm", "units: mm\nhanded: left"),), 12.0),
        (((HEAD, "headstock_face: {bit: six, ramp: 20, from: -19}"),), 20.0),
        (((HEAD, "headstock_back: {bit: planer}"), ("heel_face: {bit: quarter}", "heel_face: {bit: planer}")), 0.0),
    ],
    ids=["plain", "left", "turned face", "wide bit"],
)
def test_both_surfaces_lie_where_the_numbers_say(
    tmp_path: Path, edits: tuple[tuple[str, str], ...], ramp: float
) -> None:
    text = JOB.read_text(encoding="utf-8")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "job.yaml"
    path.write_text(text, encoding="utf-8")
    programs = [p for p in make(path, Changes(pitch=0.5)).programs if p.setup == "back"]
    forms, pieces, setting = cut_by(path, "back", [p.text for p in programs])
    assert forms
    chance = np.random.default_rng(7)

    # The heel: 20 thick with a board of 5, from 95 to 150, 46 wide.
    seat = np.column_stack([chance.uniform(95.02, 149.99, 4000), chance.uniform(-22.99, 22.99, 4000)])
    # All four corners of it as well, and close along its wall.
    seat[:4] = [(95.02, 22.99), (95.02, -22.99), (149.99, 22.99), (149.99, -22.99)]
    seat[4:400, 0] = 95.02
    high = left(forms, pieces, seat, 18.0).heights
    assert float(np.abs(high - (20.0 - 5.0)).max()) <= MOST

    # The headstock: 12 thick behind a drop of 2, level from `from` less the ramp to the blank's end at -105.
    wall = -19.0 if "from: -19" in text else -18.0
    head = np.column_stack([chance.uniform(-104.9, wall - ramp - 0.02, 4000), chance.uniform(-39.9, 39.9, 4000)])
    high = left(forms, pieces, head, 18.0).heights
    assert float(np.abs(high - (2.0 + 12.0)).max()) <= MOST

    if ramp:
        # A circle level at its foot that rises 18 - 14 over the ramp: R = (l^2 + d^2) / (2 d).
        rise = 4.0
        radius = (ramp**2 + rise**2) / (2 * rise)
        on = np.column_stack([chance.uniform(wall - ramp + 0.02, wall - 0.02, 3000), chance.uniform(-39.9, 39.9, 3000)])
        along = on[:, 0] - (wall - ramp)
        asked = 14.0 + radius - np.sqrt(radius**2 - along**2)
        off = left(forms, pieces, on, 18.0).heights - asked
        assert float(off.min()) >= -0.01
        assert float(off.max()) <= STAIR + 0.02
    # Right behind the wall, and before the heel, the blank's back stands.
    stands = np.array([[wall + 0.05, y] for y in (-39.0, 0.0, 39.0)] + [[94.95, y] for y in (-22.0, 0.0, 22.0)])
    assert [18.0] * 6 == left(forms, pieces, stands, 18.0).heights.tolist()
    assert math.isclose(setting.top - setting.bed, 18.0)
