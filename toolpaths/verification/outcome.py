"""The results of a run: programs, simulated wood, findings and the work left by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from toolpaths.common.arrays import Array
from toolpaths.found.mark import Mark
from toolpaths.found.values import Correction
from toolpaths.gcode.program import Program
from toolpaths.gcode.reader.trace import Moves, Trace
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.changes import Changes
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.obstacles import Obstacle
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.wood import Wood
from toolpaths.operations.operation import Cutting
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.bounds import Bounds
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.standing_pins import pins_of

THROUGH = 0.02
"""Heights above the bed, or above what the other side has lost, up to which wood counts as cut through, mm."""


@dataclass(frozen=True, slots=True)
class FeatureReport:
    """One feature as cut. Lengths mm, volumes mm3, feed mm/min.

    `name` is unique in the job, `feature` its kind. `left_mm3` stands above the demand; `deepest_mm` is below the
    wood that the cut begins in; `width_mm` is the width of a line, runout included, where it makes lines; `passes` in
    depth; `one_way_minutes`: what it costs that the levels of its lines are all cut the same way, None where they are
    not.
    """

    name: str
    feature: str
    job_line: int
    bit: str
    minutes: float
    removed_mm3: float
    left_mm3: float
    deepest_mm: float
    chip_load_mm: float
    passes: int
    width_mm: float | None
    cutting: Cutting
    one_way_minutes: float | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """One program as it ran: every straight move of its text, arcs as chords, and the seconds that each takes (M,).

    In the setup's frame, with a lift or a skew taken off, as the wood sees them; moves of bits that the job does not
    know are among them, and cut nothing.
    """

    moves: Moves
    seconds: Array


@dataclass(frozen=True, slots=True)
class SetupReport:
    """One setup before and after. `features` in cutting order; `traces` and `runs` by program file name.

    `standing`: the wood at the end of it, exact at any point, from which finer maps of a small place can be made.
    `bounds`: by what its surface is judged then.
    `bits`: names of the job's bits by number. `beneath`: map and wood of the other side, where that was cut before.
    """

    context: SetupContext
    before: DepthMap
    after: DepthMap
    removed_mm3: float
    features: tuple[FeatureReport, ...]
    demands: tuple[Demand, ...]
    traces: dict[str, Trace]
    standing: StandingWood | None = None
    runs: dict[str, Run] = field(default_factory=dict)
    bits: dict[int, str] = field(default_factory=dict)
    bounds: Bounds = field(default_factory=Bounds)
    beneath: tuple[DepthMap, StandingWood] | None = None

    @property
    def obstacles(self) -> tuple[Obstacle, ...]:
        """Everything that stands on bed or blank at some time of the setup, in the order of the programs' headers."""
        return (*self.context.obstacles, *pins_of(self.context, self.demands))

    @property
    def seen(self) -> DepthMap:
        """The map as it is seen: through what the other side's programs cut away one sees the bed."""
        return self.after if self.beneath is None else self.after.opened(self.beneath[0], self.context.glue, THROUGH)


@dataclass(frozen=True, slots=True)
class Outcome:
    """The results of a run, for all reports. `findings` are sorted, worst first; accepted stops are warnings.

    `job`: as it was found, where its wood was measured; `asked`: as its file has it.
    `marks`: every place to measure of the whole job; `found`: what was measured so far, mm, by mark number;
    `corrections`: what the programs to come follow of it; `cut`: file names of the programs that are cut already, and
    were not judged again.
    """

    path: Path
    job: Job
    asked: Job
    machine: Machine
    wood: Wood
    job_hash: str
    changes: Changes
    programs: tuple[Program, ...]
    setups: tuple[SetupReport, ...]
    findings: tuple[Finding, ...]
    handwork: tuple[Handwork, ...]
    accepted: tuple[str, ...] = field(default=())
    marks: tuple[Mark, ...] = ()
    found: Mapping[int, float] = field(default_factory=dict)
    corrections: tuple[Correction, ...] = ()
    cut: frozenset[str] = frozenset()

    @property
    def stopped(self) -> bool:
        """Whether any finding stops the set from being written."""
        return any(f.severity is Severity.stop for f in self.findings)
