"""Any round holes: judged, drawn, measured and listed like every other hole, by what they are alone."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.support.bored import JOB, bored
from toolpaths.job.changes import Changes
from toolpaths.job.cut_kind import CutKind
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.run import make
from toolpaths.reports.drawings_out.draw import drawing_of
from toolpaths.verification.checks.instrument import wood_between
from toolpaths.verification.finding import Severity
from toolpaths.workshop.measures import measures

TUNERS = "      - tuner_bores:"


def holes(*places: tuple[float, float], depth: str = "depth: 8, ") -> tuple[str, str]:
    """The words that put holes of 3 mm into the case's job, before the tuners' holes."""
    at = ", ".join(f"[{x}, {y}]" for x, y in places)
    return TUNERS, f"      - bores: {{bit: eighth, for: string guides, diameter: 4, {depth}at: [{at}]}}\n{TUNERS}"


def stops(folder: Path, *places: tuple[float, float]) -> list[str]:
    found = wood_between.check(bored(folder, holes(*places)))
    return [f.message for f in found if f.severity is Severity.stop and "hole" in f.message]


def test_each_hole_is_a_disc_to_its_depth(tmp_path: Path) -> None:
    """Area pi d^2 / 4; its floor 8 mm below the glue face (geometry)."""
    seen = bored(tmp_path, holes((-30, 0), (-40, 0)))
    found = [d for d in seen.demands if d.kind is CutKind.hole]
    assert 2 == len(found)
    for demand in found:
        assert demand.asked.area == pytest.approx(math.pi * 4, rel=2e-4)
        assert not demand.through
        assert seen.context.glue - 8 == pytest.approx(float(demand.floor.height(np.zeros(1), np.zeros(1))[0]))


def test_clear_of_everything_it_is_sound(tmp_path: Path) -> None:
    assert [] == stops(tmp_path, (-70, 0))


@pytest.mark.parametrize("place", [(-50, 10.2), (-50, 29.0), (-50, 45.0), (75, 9.0)], ids=str)
def test_over_a_tuner_at_the_edge_beside_the_part_or_near_a_bolt_it_is_stopped(
    place: tuple[float, float], tmp_path: Path
) -> None:
    """The tuners of 8 mm stand at y 14; the headstock is 60 wide; the counterbore of 12 mm at (75, 14)."""
    assert stops(tmp_path, place)


def test_it_is_drawn_measured_and_listed(tmp_path: Path) -> None:
    text = JOB.read_text()
    old, new = holes((-70, 0))
    path = tmp_path / "job.yaml"
    path.write_text(text.replace(old, new))
    layout = lay_out(path, Changes())
    drawn = drawing_of(layout.loaded.job, layout.contexts, layout.target)
    assert any(layer == "bores" and marks for layer, marks in dict(drawn.layers).items())
    outcome = make(path, Changes(pitch=1.0))
    assert any("string guides" in work.what for work in outcome.handwork)
    assert any(row.feature == "bores" for row in measures(outcome, outcome.setups[0]))
