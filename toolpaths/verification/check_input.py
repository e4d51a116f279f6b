"""The input of a check: the job, the wanted shapes, the program's text, and the wood before and after it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from toolpaths.common.arrays import Ints
from toolpaths.gcode.program import Program
from toolpaths.gcode.reader.trace import Moves, Trace
from toolpaths.job.bit import Bit
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.obstacles import Obstacle, there_while
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Operation
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.bounds import Comparison
from toolpaths.verification.standing_pins import pins_of


@dataclass(frozen=True, slots=True)
class CheckInput:
    """One program, read back, in its place in the set.

    `bits`: the job's bits by number; `expected`: names of the bits that the job gives this program.
    `trace`: where the machine truly goes, as far as it was measured; `as_written`: what the text says, and what the
    machine takes its place to be: its travel is judged by this.
    `moves` are in the setup's frame with any `--air` lift taken off (`lift` mm); `first` is the number of
    this program's first move in `standing`, which holds all moves up to this program's last. `at_machine`: the moves
    with the skew of the blank left in, by which clamps are judged.
    `before`, `after`: maps at the program's ends. `demands`: the setup's; `begun`, `finished`: feature names.
    `lowered`: moves, by number, from which on no cell of the map is higher than a height, mm.
    `halfway`: what a first bit had to do of a feature that a smaller one goes on with.
    `job_hash`: what the header must say. `other_side`: the map and the demands of the work's other side where that
    was cut before; `on_bed`: the program cuts the bare bed, before the work lies on it.
    `face`: where a piece of its own is cut, the instrument's face as far as that was cut before, and `other_demands`
    those of it. `of_job`: every setup of the job with its demands, each in its setup's frame.
    `kept`: a cache that checks share; empty in a copy.
    """

    context: SetupContext
    program: Program
    trace: Trace
    moves: Moves
    bits: dict[int, tuple[str, Bit]]
    expected: tuple[str, ...]
    operations: tuple[Operation, ...]
    demands: tuple[Demand, ...]
    begun: frozenset[str]
    finished: frozenset[str]
    standing: StandingWood
    first: int
    before: DepthMap
    after: DepthMap
    comparison: Comparison
    job_hash: str
    at_machine: Moves
    as_written: Trace
    lift: float = 0.0
    halfway: tuple[Demand, ...] = ()
    lowered: tuple[tuple[int, float], ...] = ()
    other_side: DepthMap | None = None
    other_demands: tuple[Demand, ...] = ()
    on_bed: bool = False
    face: StandingWood | None = None
    of_job: tuple[tuple[SetupContext, tuple[Demand, ...]], ...] = ()
    kept: dict[str, object] = field(default_factory=dict, init=False, repr=False, compare=False)

    def bit_named(self, name: str) -> Bit:
        """A bit of the job. Raises KeyError for a name that it has not."""
        return dict(self.bits.values())[name]

    def bits_in(self, numbers: Ints) -> Iterator[tuple[int, str, Bit]]:
        """(number, name, bit) of each number that occurs among these (N,), where the job has a bit of that number.

        Of any other number `wrong-bit` makes a stop, and no check can judge its shape.
        """
        for number in np.unique(numbers).tolist():
            if number in self.bits:
                yield number, *self.bits[number]

    @property
    def obstacles(self) -> tuple[Obstacle, ...]:
        """What stands in the way while this program runs, pins too."""
        there = there_while(self.context.setup, {o.feature for o in self.operations}, self.on_bed)
        return tuple(o for o in (*self.context.obstacles, *pins_of(self.context, self.demands)) if o.present in there)

    @property
    def window(self) -> tuple[slice, slice]:
        """Rows and columns of the maps that this program's moves may have lowered."""
        if not len(self.moves):
            return slice(0, 0), slice(0, 0)
        reach = max(bit.radius for _, bit in self.bits.values()) + self.after.pitch
        low = np.minimum(self.moves.start, self.moves.end).min(axis=0) - reach
        high = np.maximum(self.moves.start, self.moves.end).max(axis=0) + reach
        return self.after.window(float(low[0]), float(low[1]), float(high[0]), float(high[1]))

    @property
    def job(self) -> Job:
        """The job."""
        return self.context.job

    @property
    def machine(self) -> Machine:
        """The machine."""
        return self.context.machine
