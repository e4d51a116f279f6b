"""Bits of the job or the rack that would cut a feature in less than half of its time, leaving the same shape.

A long thin bit clears a wide channel slowly. Each wider flat bit is tried for the feature alone: it must ask for the
same shape and leave no larger corners, and a proof on a coarse map must find nothing that stops it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError, JobError
from toolpaths.features.feature import Feature
from toolpaths.job.bit import Bit
from toolpaths.job.changes import Changes
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.bit_choice import CHIPS_OUT
from toolpaths.operations.operation import ProgramPlan
from toolpaths.pipeline.build import lay_out_loaded
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.move import move
from toolpaths.pipeline.plan import seen
from toolpaths.pipeline.prove import prove
from toolpaths.reports.text.better_bits import BetterBit
from toolpaths.target_shape.demand import Demand, opened
from toolpaths.toolpath.time_estimate import minutes_of
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import FeatureReport, Outcome, SetupReport

LONG = 3.0
"""Features that take fewer minutes are not looked at. This project's own."""
PART = 0.5
"""A better bit takes less than this part of the time. This project's own."""
_PITCH = 0.5
"""Of the map of the proof, mm: walls are judged between its cells too."""
_MOST = 3
"""Candidates tried for one feature: the widest come first."""
_SAME, _HEIGHT = 0.05, 1e-3
"""Areas and heights that differ by less are the same shape, mm2 and mm."""


def better_bits(outcome: Outcome) -> tuple[BetterBit, ...]:
    """For each feature that takes long, the bit with which it would take least; none for a job that is stopped."""
    if outcome.stopped:
        return ()
    slow = [(setup, row) for setup in outcome.setups for row in setup.features if _looked_at(setup, row)]
    if not slow:
        return ()
    loaded = load_job(outcome.path, outcome.changes.bits)
    found = (_best(outcome, loaded, setup, row) for setup, row in slow)
    return tuple(one for one in found if one is not None)


def with_bit(loaded: LoadedJob, feature: str, bit: str) -> LoadedJob:
    """The job with another bit named by one of its features."""
    return replace(
        loaded,
        job=loaded.job.with_features(lambda f: f.model_copy(update={"bit": bit}) if f.name == feature else f),
    )


# Private


def _looked_at(setup: SetupReport, row: FeatureReport) -> bool:
    """Whether a row is of a feature that one flat bit cuts for long. A line is as wide as its bit: no other will do."""
    own = [f for f in setup.features if f.name == row.name]
    flat = setup.context.bits[row.bit].shape == "flat"
    return len(own) == 1 and row.minutes > LONG and row.width_mm is None and flat


def _best(outcome: Outcome, loaded: LoadedJob, setup: SetupReport, row: FeatureReport) -> BetterBit | None:
    """The first candidate, from the quickest on, that a proof finds nothing against."""
    change = outcome.machine.change_minutes
    used = {f.bit for f in setup.features}
    # Of two that take the same time, the shorter one bends less.
    quick = sorted(
        (round(spent + (0.0 if name in used else change), 1), setup.context.bits[name].stickout, name)
        for name, spent in _tried(loaded, setup.context, row)
        if spent < PART * row.minutes
    )
    for total, _, name in quick:
        if total >= row.minutes:
            continue
        spent = _proven(outcome, with_bit(loaded, row.name, name), setup, row.name)
        if spent is not None and spent < PART * row.minutes:
            return BetterBit(row.name, row.job_line, row.bit, row.minutes, name, spent)
    return None


def _tried(loaded: LoadedJob, context: SetupContext, row: FeatureReport) -> Iterator[tuple[str, float]]:
    """(name, minutes by the toolpath) of each wider flat bit with which the feature asks for the same shape."""
    feature = _feature(context, row.name)
    asked = list(feature.demands(context))
    for name, _ in _wider(context, row)[:_MOST]:
        other = with_bit(loaded, row.name, name).job
        at = next(s for s in other.setups if s.name == context.setup.name)
        there = replace(context, job=other, setup=at)
        try:
            changed = _feature(there, row.name)
            if not _alike(asked, list(changed.demands(there)), context.tolerance):
                continue
            plan = ProgramPlan(at.name, tuple(seen(o, there) for o in changed.operations(there)))
            yield name, minutes_of(move(plan, there), there)[1][row.name]
        except FeatureError:
            continue


def _wider(context: SetupContext, row: FeatureReport) -> list[tuple[str, Bit]]:
    """Flat bits that are wider than a row's and whose edges reach deeper than it goes; the widest first."""
    bits, own = context.bits, context.bits[row.bit]
    reach = [
        (name, bit)
        for name, bit in bits.items()
        if bit.shape == "flat" and bit.diameter > own.diameter and bit.cutting_length >= row.deepest_mm + CHIPS_OUT
    ]
    return sorted(reach, key=lambda one: (-one[1].diameter, one[0]))


def _feature(context: SetupContext, name: str) -> Feature:
    found = next(f for f in context.setup.features if f.name == name)
    if not isinstance(found, Feature):
        raise TypeError(f"{name} holds keys that are of no feature")
    return found


def _alike(these: Sequence[Demand], those: Sequence[Demand], eps: float) -> bool:
    """Whether two bits are asked for the same shapes, and the second leaves no larger corners or ridges."""
    if len(these) != len(those):
        return False
    for a, b in zip(these, those, strict=True):
        if a.asked.symmetric_difference(b.asked).area > _SAME or b.scallop > a.scallop or a.reach != b.reach:
            return False
        places = shapely.get_coordinates(shapely.segmentize(a.asked.boundary, 20.0))
        if np.abs(_heights(a, places) - _heights(b, places)).max(initial=0.0) > _HEIGHT:
            return False
        if _left(b, eps) > _left(a, eps) + _SAME:
            return False
    return True


def _left(demand: Demand, eps: float) -> float:
    """Area that the demand's bit does not reach, mm2: its corners, whether or not they are told to the hands."""
    if demand.everywhere:
        return 0.0
    whole = demand.asked if demand.run_out is None else shapely.union(demand.asked, demand.run_out)
    return float(demand.asked.difference(opened(whole, demand.radius - eps)).area)


def _heights(demand: Demand, places: Array) -> Array:
    return demand.floor.height(places[:, 0], places[:, 1])


def _proven(outcome: Outcome, changed: LoadedJob, setup: SetupReport, name: str) -> float | None:
    """Minutes of the feature in its own program, as its text has them; None where something speaks against it.

    What else lies inside the part is left out, and what comes after the setup: the bit then meets more wood than it
    will, never less, and the shape that it leaves is the same.
    """
    job = changed.job
    last = next(i for i, s in enumerate(job.setups) if s.name == setup.context.setup.name)
    kept = tuple(f for f in job.setups[last].features if f.name == name or f.order not in ("inside", "free"))
    setups = (*job.setups[:last], job.setups[last].model_copy(update={"features": kept}))
    short = replace(changed, job=job.model_copy(update={"setups": setups}))
    known = {f.code for f in outcome.findings if f.feature == name}
    try:
        tried = prove(lay_out_loaded(short, Changes(only=name, pitch=_PITCH, units=outcome.changes.units)))
    except JobError:
        return None
    if tried.stopped or any(
        f.feature == name and f.severity is Severity.warn and f.code not in known for f in tried.findings
    ):
        return None
    return next((f.minutes for s in tried.setups for f in s.features if f.name == name), None)
