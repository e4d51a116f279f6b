"""Cut each program into the simulated blank and compare the wood with what is wanted by then."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby

import numpy as np

from toolpaths.gcode.program import Program
from toolpaths.gcode.reader.trace import Moves, Trace, flattened
from toolpaths.geometry.blank_top import BlankTop
from toolpaths.job.bit import Bit
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Clear, ProgramPlan
from toolpaths.operations.rest_material import ROOM
from toolpaths.pipeline.build import ProgramSet
from toolpaths.pipeline.setup_report import feature_reports, volume_between
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.machine_time import Times, times_of
from toolpaths.simulation.simulate import simulate
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.bounds import Bounded, Bounds
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.outcome import Run, SetupReport
from toolpaths.verification.running_comparison import RunningComparison

_BED_PITCH = 0.4
"""The bare bed's map need not be finer, mm: probes decide walls, and nobody looks at it."""


@dataclass(slots=True)
class _Side:
    """One side of the blank, or the bare bed, while it is cut. `box` is what it covers."""

    standing: StandingWood
    map: DepthMap
    ledger: RunningComparison
    bounded: dict[str, list[Bounded]] = field(default_factory=dict)
    demands: tuple[Demand, ...] = ()

    @staticmethod
    def of(
        box: tuple[float, float, float, float], top: float, pitch: float, measured_top: BlankTop | None = None
    ) -> _Side:
        """Uncut. Raises MemoryError for a pitch too fine."""
        blank = DepthMap.over(box, top, pitch)
        if measured_top is not None:
            blank = blank.with_heights(measured_top.at(blank.xs[None, :], blank.ys[:, None]).astype(np.float32))
        # Each program is judged before the next is compared, or by a child that keeps what it saw.
        return _Side(StandingWood(box, top, measured_top), blank, RunningComparison(blank, keep=False))


@dataclass(frozen=True, slots=True)
class _Ends:
    """The blank in one setup: its map when the setup began, and what stands after its last program so far.

    `beneath`: map and wood of the other side, where that was cut before.
    """

    before: DepthMap
    after: DepthMap
    standing: StandingWood
    bounds: Bounds
    beneath: tuple[DepthMap, StandingWood] | None


@dataclass(slots=True)
class Workpiece:
    """The blank while the programs cut it, each setup and each side by itself.

    `removed`: mm3 by feature name and bit, in the set's own programs. `ends` by setup; `traces`, `times` and `runs` by
    program file name.
    """

    layout: ProgramSet
    to_come: list[ProgramPlan]
    bit_names: dict[int, str]
    sides: dict[str, _Side] = field(default_factory=dict)
    removed: dict[tuple[str, str], float] = field(default_factory=dict)
    ends: dict[str, _Ends] = field(default_factory=dict)
    traces: dict[str, Trace] = field(default_factory=dict)
    times: dict[str, Times] = field(default_factory=dict)
    runs: dict[str, Run] = field(default_factory=dict)

    @staticmethod
    def of(layout: ProgramSet) -> Workpiece:
        """The blank before anything."""
        plans = [plan for plan, _ in (*layout.earlier, *layout.own)]
        return Workpiece(layout, plans, {number: name for name, number in layout.numbers.items()})

    def cut(self, program_plan: ProgramPlan, program: Program, written: Trace, lift: float) -> CheckInput:
        """One program cut; what the checks of it get. `lift` is taken off its heights."""
        layout, context = self.layout, self.layout.contexts[program_plan.setup].at(program_plan.lie)
        x, y, z = context.zero
        bits = {n: (name, context.bits[name]) for n, name in self.bit_names.items()}
        shapes = {n: bit for n, (_, bit) in bits.items()}
        # A machine that is a little off goes elsewhere than it is told: what it does to the wood is judged.
        machine = context.machine
        trace = self.traces[program.name] = written.truly(machine.correction, machine.lean)
        at_machine = flattened(written, (x, y, z - lift), correction=machine.correction, lean=machine.lean)
        at_machine = self._as_measured(program_plan, at_machine)
        times = self.times[program.name] = times_of(written, at_machine, context.machine)
        self.runs[program.name] = Run(at_machine.unskewed(*context.skew, context.zero), times.seconds)
        # A number that the job does not know has no shape: `wrong-bit` stops it, nothing is simulated for it.
        at_machine = at_machine.where(np.isin(at_machine.bit, list(bits)))
        moves = at_machine.unskewed(*context.skew, context.zero)
        side = self._side(program_plan, context)
        other = self.sides.get("face" if context.flipped or context.apart else "back")
        before, first = side.map, side.standing.count
        side.standing = side.standing.after(moves, shapes)
        lowered = self._lower(side, program_plan, trace, moves, shapes)
        self.to_come.remove(program_plan)
        begun, finished = self._progress(side, program_plan)
        allow, ask = ([b for name in names for b in side.bounded[name]] for names in (begun, finished))
        halfway = self._halfway(program_plan, finished)
        beneath = None
        if not program_plan.on_bed:
            if other is not None and not context.apart:
                beneath = other.map, other.standing
            began = self.ends[program_plan.setup].before if program_plan.setup in self.ends else before
            bounds = Bounds(tuple(allow), tuple(ask))
            self.ends[program_plan.setup] = _Ends(began, side.map, side.standing, bounds, beneath)
        return CheckInput(
            context=context,
            program=program,
            trace=trace,
            moves=moves,
            bits=bits,
            expected=program_plan.bits,
            operations=program_plan.operations,
            demands=layout.target.demands[program_plan.setup],
            begun=frozenset(begun),
            finished=frozenset(finished),
            standing=side.standing,
            first=first,
            before=before,
            after=side.map,
            comparison=side.ledger.compare(side.map, side.standing, allow, [*ask, *halfway]),
            job_hash=layout.loaded.job_hash,
            of_job=tuple((s, layout.target.demands[name]) for name, s in layout.contexts.items()),
            lift=lift,
            at_machine=at_machine,
            as_written=written,
            halfway=tuple(b.demand for b in halfway),
            lowered=lowered,
            other_side=None if beneath is None else beneath[0],
            other_demands=() if other is None else other.demands,
            face=None if other is None or not context.apart else other.standing,
            on_bed=program_plan.on_bed,
        )

    def _as_measured(self, program_plan: ProgramPlan, moves: Moves) -> Moves:
        """The moves of a program as far up or down as its cuts were measured to be, where it is cut already."""
        was = self.layout.history.was_cut(program_plan)
        if was is None or not was.off:
            return moves
        up = np.zeros((len(moves), 3))
        for number, name in self.bit_names.items():
            up[moves.bit == number, 2] = was.off.get(name, 0.0)
        return replace(moves, start=moves.start + up, end=moves.end + up)

    def timed(self, program: Program) -> Program:
        """The program with the minutes of its text, as far as that was cut."""
        times = self.times.get(program.name)
        if times is None:
            return program
        return replace(program, minutes=times.minutes, feature_minutes=times.by_feature, passes=times.passes)

    def _side(self, program_plan: ProgramPlan, context: SetupContext) -> _Side:
        """The side that a plan cuts; the bare bed of its setup where it lies free."""
        key = f"bed of {program_plan.setup}" if program_plan.on_bed else "back" if context.flipped else "face"
        if context.apart:
            key = f"piece of {program_plan.setup}"
        if key not in self.sides:
            top = context.bed if program_plan.on_bed else context.top
            pitch, measured = self.layout.changes.pitch, context.found.measured_top
            if program_plan.on_bed:
                pitch, measured = max(pitch, _BED_PITCH), None
            self.sides[key] = _Side.of(context.stock_box, top, pitch, measured)
        return self.sides[key]

    def _lower(
        self, side: _Side, program_plan: ProgramPlan, trace: Trace, moves: Moves, bits: Mapping[int, Bit]
    ) -> tuple[tuple[int, float], ...]:
        """The map lowered feature by feature, as the text names them; the volumes are for reports only.

        Returns how high it is at most from the first move of each feature but the first on: (move, mm).
        """
        if not len(moves):
            return ()  # no bit of the job is ever named
        section = trace.section[moves.parent]
        cuts = np.nonzero(np.diff(section) | np.diff(moves.bit))[0] + 1
        starts = np.concatenate([[0], cuts])
        names = [trace.sections[s][0] if s >= 0 else "" for s in section[starts]]
        stretches = zip(names, moves.bit[starts].tolist(), starts.tolist(), [*cuts.tolist(), len(moves)], strict=True)
        lowered: list[tuple[int, float]] = []
        for (name, number), group in groupby(stretches, key=lambda s: s[:2]):
            (_, _, lo, hi), *more = group
            if lo > 0:
                lowered.append((lo, float(side.map.heights.max())))
            part = moves.where(slice(lo, more[-1][3] if more else hi))
            after = simulate(side.map, part, bits)
            key = (name or program_plan.operations[0].feature, self.bit_names[number])
            reach = max((bits[int(n)].radius for n in np.unique(part.bit)), default=0.0) + side.map.pitch
            places = np.concatenate([part.start, part.end])[:, :2]
            window = side.map.window(*(places.min(axis=0) - reach), *(places.max(axis=0) + reach))
            volume = volume_between(side.map, after, window, on_bed=program_plan.on_bed)
            if any(program_plan is own for own, _ in self.layout.own):
                self.removed[key] = self.removed.get(key, 0.0) + volume
            side.map = after
        return tuple(lowered)

    def _progress(self, side: _Side, program_plan: ProgramPlan) -> tuple[list[str], list[str]]:
        """(begun, finished): names of the side's features with an operation done, and of those with all done."""
        context = self.layout.contexts[program_plan.setup]
        for name in dict.fromkeys(o.feature for o in program_plan.operations):
            if name not in side.bounded:
                demands = [d for d in self.layout.target.demands[program_plan.setup] if d.feature == name]
                side.bounded[name] = [Bounded.of(d, context.tolerance) for d in demands]
                side.demands = (*side.demands, *demands)
        begun = list(side.bounded)
        waiting = {o.feature for b in self.to_come for o in b.operations}
        return begun, [name for name in begun if name not in waiting]

    def _halfway(self, program_plan: ProgramPlan, finished: Sequence[str]) -> list[Bounded]:
        """What the plan's bits had to do of pockets in which a smaller bit is still to come."""
        context = self.layout.contexts[program_plan.setup]
        waiting = {(o.feature, o.bit) for b in self.to_come for o in b.operations}
        done: dict[str, float] = {}
        for o in program_plan.operations:
            if isinstance(o, Clear) and o.feature not in finished and (o.feature, o.bit) not in waiting:
                done[o.feature] = max(done.get(o.feature, 0.0), context.bits[o.bit].radius)
        demands = self.layout.target.demands[program_plan.setup]
        # Where the bit has hardly room it does not go: `goes_in`.
        wider = [d.by_bit(done[d.feature] + ROOM + context.tolerance) for d in demands if d.feature in done]
        return [Bounded.of(d, context.tolerance) for d in wider]

    def _minutes(self, program: Program) -> Iterator[tuple[tuple[str, str], float]]:
        """Each pass of a program that was cut: (feature, bit) and its minutes."""
        trace = self.traces[program.name]
        for i, one in enumerate(program.passes):
            numbers = trace.bit[trace.section == i]
            if len(numbers):
                # The first, for a pass may end with the change to the next one's bit.
                yield (one.feature, self.bit_names.get(int(numbers[0]), "")), one.minutes

    def reports(self) -> Iterator[SetupReport]:
        """The report of each setup, in order."""
        for name, ends in ((name, self.ends[name]) for name in self.layout.contexts if name in self.ends):
            mine = [(b, self.timed(p)) for b, p in self.layout.own if b.setup == name]
            operations = [o for b, _ in mine for o in b.operations]
            cut = [p for _, p in mine if p.name in self.traces]
            minutes: dict[tuple[str, str], float] = defaultdict(float)
            for program in cut:
                for key, spent in self._minutes(program):
                    minutes[key] += spent
            context, demands = self.layout.contexts[name], self.layout.target.demands[name]
            yield SetupReport(
                context,
                ends.before,
                ends.after,
                removed_mm3=sum(
                    self.removed.get(key, 0.0) for key in dict.fromkeys((o.feature, o.bit) for o in operations)
                ),
                features=feature_reports(context, operations, demands, ends.after, minutes, self.removed),
                demands=demands,
                traces={p.name: self.traces[p.name] for p in cut},
                standing=ends.standing,
                runs={p.name: self.runs[p.name] for p in cut},
                bits=self.bit_names,
                bounds=ends.bounds,
                beneath=ends.beneath,
            )
