"""A second, smaller bit takes what the first left in the corners of a pocket, and nothing else.

A bit of radius r leaves r^2 (1 - pi / 4) in each square corner. Derived from a square and its quarter circle.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely

from tests.support.made import made as make
from tests.support.pocket_job import DEPTH, PLACE, written
from toolpaths.common.errors import JobError
from toolpaths.gcode.reader.read import read
from toolpaths.job.changes import Changes
from toolpaths.operations.rest_material import OVERLAP
from toolpaths.pipeline.build import lay_out
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

LENGTH, WIDTH = 20.0, 12.0


def _left(radius: float) -> float:
    return 4 * radius**2 * (1 - math.pi / 4)


def _corner(outcome: Outcome) -> float:
    side = outcome.setups[0]
    return sum(d.corner_region(side.context.tolerance).area for d in side.demands if d.feature == "pocket")


@pytest.mark.parametrize(("bit", "then"), [("quarter", "eighth"), ("quarter", "sixteenth"), ("eighth", "sixteenth")])
def test_each_bit_leaves_what_its_radius_says(tmp_path: Path, bit: str, then: str) -> None:
    alone, both = make(written(tmp_path, bits=bit)), None
    first, second = (alone.setups[0].context.bits[name].radius for name in (bit, then))
    assert _left(first) == pytest.approx(_corner(alone), rel=0.02)
    both = make(written(tmp_path, bits=f"{bit}, {then}"))
    assert _left(second) == pytest.approx(_corner(both), rel=0.02)
    assert [] == [f.message for f in both.findings if f.severity is not Severity.note]
    # What the second took is the difference, to the depth.
    taken = next(f.removed_mm3 for f in both.setups[0].features if f.name == "pocket" and f.bit == then)
    assert DEPTH * (_left(first) - _left(second)) == pytest.approx(taken, rel=0.05)
    assert LENGTH * WIDTH - _left(second) == pytest.approx(
        sum(f.removed_mm3 for f in both.setups[0].features if f.name == "pocket") / DEPTH, rel=2e-3
    )


def test_the_second_bit_stays_where_the_first_left_wood(tmp_path: Path) -> None:
    """Below the face its middle is never farther from a corner's wood than its radius, the overlap and a hair."""
    layout = lay_out(written(tmp_path, bits="quarter, sixteenth"), Changes())
    context = layout.contexts["face"]
    first, second = context.bits["quarter"].radius, context.bits["sixteenth"].radius
    box = shapely.box(-LENGTH / 2, -WIDTH / 2, LENGTH / 2, WIDTH / 2)
    box = shapely.affinity.translate(box, *PLACE)
    wood = box.difference(box.buffer(-first, quad_segs=64).buffer(first, quad_segs=64))
    program = next(p for b, p in layout.own if "sixteenth" in b.bits)
    trace = read(program.text, program.beside)
    below = trace.end[:, 2] < 5 - 1e-6
    feeds = below & (trace.kind != 0)
    assert feeds.sum() > 8
    away = shapely.distance(shapely.points(trace.end[feeds, :2]), wood)
    assert away.max() <= second + OVERLAP + 0.25
    inside = shapely.distance(shapely.points(trace.end[feeds, :2]), box.exterior)
    assert inside.min() >= second - 0.01


def test_the_report_tells_the_two_bits_apart(tmp_path: Path) -> None:
    both = make(written(tmp_path, bits="quarter, eighth"))
    mine = [f for f in both.setups[0].features if f.name == "pocket"]
    assert ["quarter", "eighth"] == [f.bit for f in mine]
    assert all(f.minutes > 0 for f in mine)
    assert np.all([f.removed_mm3 > 0 for f in mine])


@pytest.mark.parametrize(
    ("bit", "then", "words"),
    [
        ("eighth", "quarter", "only a smaller bit cuts what the first leaves"),
        ("eighth", "eighth", "only a smaller bit cuts what the first leaves"),
        ("quarter", "vee60", "not a flat bit"),
    ],
)
def test_a_second_bit_that_cannot_follow_is_refused(tmp_path: Path, bit: str, then: str, words: str) -> None:
    with pytest.raises(JobError) as caught:
        make(written(tmp_path, bits=f"{bit}, {then}"))
    (problem,) = caught.value.problems
    assert words in problem.problem
    assert ("pocket.then", 20) == (problem.key, problem.line)
