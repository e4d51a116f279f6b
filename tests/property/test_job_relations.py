"""What must not change what: the place of zero, units, hands, the map's pitch, the order of keys."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, assume, given, seed, settings
from scipy.ndimage import maximum_filter, minimum_filter

from tests.property.any_job import jobs, text_of
from tests.property.draws import Job
from tests.tamper.described import mm
from toolpaths.common.errors import JobError
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import ARC_CCW, ARC_CW, Trace
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import make
from toolpaths.simulation.depth_map import Heights
from toolpaths.verification.outcome import Outcome

FEW, MANY = 1, 3
LARGE = ("bench-router", "shop-gantry")
"""Machines on which most jobs fit."""


def cut(job: Job, folder: Path, pitch: float = 1.0) -> Outcome:
    """The outcome; a job that is refused is not looked at."""
    path = folder / "job.yaml"
    path.write_text(text_of(job), encoding="utf-8")
    try:
        return make(path, Changes(pitch=pitch))
    except JobError:
        assume(False)
        raise


def counted(test: Callable[..., None]) -> Callable[..., None]:
    """The test with a few examples, and once more, slowly, with many."""
    return pytest.mark.parametrize(
        "examples", [pytest.param(FEW, id="few"), pytest.param(MANY, id="many", marks=pytest.mark.slow)]
    )(test)


def over(examples: int, check: Callable[[Job], None], **kinds: Any) -> None:
    """Runs a check over drawn jobs."""

    @seed(7)
    @settings(max_examples=examples, suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.generate])
    @given(jobs(**kinds))
    def each(job: Job) -> None:
        check(job)

    each()


def digit(outcome: Outcome) -> float:
    """One unit of the last digit of the programs, mm."""
    return 2 * outcome.machine.half_digit


def same_moves(a: Trace, b: Trace, shift: tuple[float, float, float], within: float) -> None:
    """Asserts that b is a moved by a shift and nothing else."""
    assert len(a) == len(b)
    assert [(e.word, e.before, e.value) for e in a.events] == [(e.word, e.before, e.value) for e in b.events]
    for name in ("kind", "plane", "feed", "rpm", "bit"):
        assert np.array_equal(getattr(a, name), getattr(b, name)), name
    np.testing.assert_allclose(b.end, a.end + np.array(shift), atol=within)
    arcs = np.isin(a.kind, [ARC_CW, ARC_CCW])
    np.testing.assert_allclose(b.centre[arcs], (a.centre + np.array(shift))[arcs], atol=2 * within)


@counted
def test_another_zero_shifts_the_moves_and_nothing_else(tmp_path: Path, examples: int) -> None:
    def check(job: Job) -> None:
        setup, width = job["setups"][0], mm(job["stock"]["width"], job["units"])
        here, there = ("nut", "centreline"), ("stock end", "stock edge")
        setup["zero"] |= dict(zip("xy", here, strict=True))
        before = cut(job, tmp_path)
        setup["zero"] |= dict(zip("xy", there, strict=True))
        after = cut(job, tmp_path)
        shift = (mm(setup["nut_at"], job["units"]), width / 2, 0.0)
        for a, b in zip(before.programs, after.programs, strict=True):
            if a.setup == setup["name"]:
                same_moves(read(a.text), read(b.text), shift, 1.01 * digit(before))

    over(examples, check, machines=LARGE)


@counted
def test_millimetres_and_inches_cut_the_same(tmp_path: Path, examples: int) -> None:
    def check(job: Job) -> None:
        assume(job["units"] == "mm")
        before = cut(job, tmp_path)
        other = _in_inches(job)
        assert "in" == other["units"]
        after = cut(other, tmp_path)
        assert [p.name for p in before.programs] == [p.name for p in after.programs]
        for a, b in zip(before.programs, after.programs, strict=True):
            same_moves(read(a.text), read(b.text), (0.0, 0.0, 0.0), 1.01 * digit(before))

    over(examples, check, machines=("bench-router", "hand-dial"))


@counted
def test_a_mirrored_job_cuts_a_mirrored_map(tmp_path: Path, examples: int) -> None:
    def check(job: Job) -> None:
        # The blank reaches as far to both sides of the centreline: cells then lie in mirrored pairs.
        job["stock"]["width"] = f"{2 * round(mm(job['stock']['width'], job['units']) / 2)} mm"
        job["handed"] = "right"
        before = cut(job, tmp_path, 0.5)
        job["handed"] = "left"
        after = cut(job, tmp_path, 0.5)
        assert [f.code for f in before.findings if f.severity == "stop"] == [
            f.code for f in after.findings if f.severity == "stop"
        ]
        for a, b in zip(before.setups, after.setups, strict=True):
            off = np.abs(a.after.heights - b.after.heights[::-1])
            # Chords, the way around and where a skim begins are other ones; cells on walls may fall to either side.
            assert 0.002 > np.mean(off > 0.03), np.argwhere(off > 0.03)[:5]

    over(examples, check, machines=LARGE)


@counted
def test_a_finer_map_changes_no_verdict(tmp_path: Path, examples: int) -> None:
    def check(job: Job) -> None:
        found = [
            {
                (f.code, f.severity, f.feature, f.program)
                for f in cut(job, tmp_path, pitch).findings
                if f.severity != "note"
            }
            for pitch in (1.0, 0.31)
        ]
        assert found[0] == found[1]

    over(examples, check)


@counted
def test_another_order_of_keys_writes_the_same_bytes(tmp_path: Path, examples: int) -> None:
    def check(job: Job) -> None:
        before = [p.text for p in cut(job, tmp_path).programs]
        after = [p.text for p in cut(_turned(job), tmp_path).programs]
        assert before == after

    over(examples, check)


def _turned(value: Any) -> Any:
    """The same with the keys of every mapping the other way round; lists keep their order."""
    if isinstance(value, dict):
        return {k: _turned(v) for k, v in reversed(value.items())}
    return [_turned(v) for v in value] if isinstance(value, list) else value


_PLAIN = {"frets", "strings", "square_fret", "flutes", "count", "step_over", "doubles", "janka", "density"}
_PLAIN |= {"shop", "home", "rpm", "angle", "zero_fret", "max_rpm"}


def _in_inches(job: Job) -> Job:
    """The same job with `units: in`: every bare length becomes a number of inches, to all its digits."""

    def turned(value: Any, key: str) -> Any:
        if isinstance(value, dict):
            return {k: v if k in _PLAIN else turned(v, str(k)) for k, v in value.items()}
        if isinstance(value, list):
            return [turned(v, key) for v in value]
        if isinstance(value, float | int) and not isinstance(value, bool):
            return value / 25.4
        return value

    out: Job = turned(deepcopy(job), "")
    out["units"] = "in"
    return out


def moved_along(job: Job, part: float) -> Job:
    """The job with its first setup cut in two places, the seam at a part of the blank's length."""
    out = deepcopy(job)
    setup, units = out["setups"][0], out["units"]
    seam = mm(out["stock"]["length"], units) * part - mm(setup["nut_at"], units)
    setup["placed"] = [
        {"name": "near", "shift": 0, "from": "start", "to": f"{seam:.1f} mm"},
        {"name": "far", "shift": "90 mm", "from": f"{seam:.1f} mm", "to": "end"},
    ]
    return out


def apart(one: Heights, other: Heights) -> float:
    """How far two maps are apart, mm; a cell on a wall counts as what either map has in the cells around it."""
    low, high = ((f(one, size=3), f(other, size=3)) for f in (minimum_filter, maximum_filter))
    over = np.maximum(other - high[0], one - high[1])
    under = np.maximum(low[0] - other, low[1] - one)
    return float(np.maximum(over, under).max())


@counted
def test_a_blank_that_is_moved_along_becomes_the_same(tmp_path: Path, examples: int) -> None:
    def check(job: Job) -> None:
        for setup in job["setups"]:
            setup.pop("skew", None)
            setup.pop("keep_out", None)  # it stays on the machine, and the blank may move into it
        whole, moved = cut(job, tmp_path), None
        path = tmp_path / "moved.yaml"
        for part in (0.4, 0.47, 0.55, 0.63, 0.7):
            path.write_text(text_of(moved_along(job, part)), encoding="utf-8")
            try:
                moved = make(path, Changes(pitch=1.0))
                break
            except JobError as error:  # a line or a hole lies in this seam
                if "across the seam" not in str(error) and "across a seam" not in str(error):
                    raise
        assume(moved is not None)
        assert moved is not None
        for a, b in zip(whole.setups, moved.setups, strict=True):
            most = 0.03 + 2 * max(digit(whole), digit(moved))
            off = apart(a.after.heights, b.after.heights)
            assert off < most, f"{a.context.setup.name}\n{path.read_text(encoding='utf-8')}"
        # No pins are asked for here; all else is judged alike.
        stops = [{f.code for f in o.findings if str(f.severity) == "stop"} for o in (whole, moved)]
        assert stops[1] <= stops[0] | {"pins-apart"}

    over(2 * examples, check)
