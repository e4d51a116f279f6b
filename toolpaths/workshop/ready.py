"""What must be ready before the machine is booked: blanks, holders, bits, a jig that is cut elsewhere."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Level
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.step import Piece

_ALIKE = 0.01
"""Lengths of screws that differ by less are one length, mm."""


@dataclass(frozen=True, slots=True)
class Blank:
    """A piece of wood at the size that its programs rely on, mm. `setup`: of a sheet; empty for the job's blank."""

    piece: Piece
    wood: str
    length: float
    width: float
    thinnest: float
    thickest: float
    setup: str = ""


@dataclass(frozen=True, slots=True)
class ScrewsReady:
    """Waste screws of one length under their heads, mm: from where the head stands down into the bed or the jig.

    `longest`: the most that the length may be; a longer one goes deeper into bed or jig than the job says.
    """

    piece: Piece
    setups: tuple[str, ...]
    count: int
    diameter: float
    longest: float


@dataclass(frozen=True, slots=True)
class PinsReady:
    """Pins of one diameter that stand in bed or jig, mm. `length`: none where their hole's depth is not known."""

    piece: Piece
    setup: str
    count: int
    diameter: float
    length: float | None


@dataclass(frozen=True, slots=True)
class Laid:
    """How the work lies in a setup besides screws and pins: names of clamps and stops; what lies under it, mm.

    `unplaced`: screws or clamps that the job asks for without their places. `jig`: of a jig whose job is not among
    those of the plan.
    """

    piece: Piece
    setup: str
    clamps: tuple[str, ...]
    stops: tuple[str, ...]
    backing: float
    tape: bool
    vacuum: bool
    unplaced: str
    jig: str


@dataclass(frozen=True, slots=True)
class BitReady:
    """A bit by its name, and the pieces that it cuts. Jobs may call different bits by one name."""

    name: str
    bit: Bit
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Ready:
    """Everything that must be there. `machines`: their names."""

    blanks: tuple[Blank, ...]
    screws: tuple[ScrewsReady, ...]
    pins: tuple[PinsReady, ...]
    laid: tuple[Laid, ...]
    bits: tuple[BitReady, ...]
    machines: tuple[str, ...]


def ready_for(outcomes: Mapping[Piece, Outcome]) -> Ready:
    """What the jobs of an instrument need at the machine, piece by piece."""
    every = [(piece, outcome, setup) for piece, outcome in outcomes.items() for setup in outcome.setups]
    return Ready(
        blanks=tuple(blank for piece, outcome in outcomes.items() for blank in blanks_of(piece, outcome)),
        screws=tuple(screws for piece, outcome in outcomes.items() for screws in _screws(piece, outcome)),
        pins=tuple(pins for piece, _, setup in every for pins in _pins(piece, setup, outcomes.get("jig"))),
        laid=tuple(_laid(piece, setup, "jig" in outcomes) for piece, _, setup in every),
        bits=_bits(outcomes),
        machines=tuple(dict.fromkeys(outcome.machine.name for outcome in outcomes.values())),
    )


def blanks_of(piece: Piece, outcome: Outcome) -> Iterator[Blank]:
    """The blank of a job, and each sheet of its own that is bought for it."""
    stock = outcome.asked.stock
    yield Blank(piece, outcome.wood.name, stock.length, stock.width, stock.thickness.min, stock.thickness.max)
    for setup in outcome.setups:
        context = setup.context
        if context.apart and context.setup.stand is None:
            own, thick = context.stock, context.stock.thickness
            yield Blank(piece, context.wood.name, own.length, own.width, thick.min, thick.max, context.setup.name)


# Private


def _screws(piece: Piece, outcome: Outcome) -> Iterator[ScrewsReady]:
    """Screws of each length: those of two setups that go through the same holes are counted once."""
    found: dict[tuple[float, float], dict[str, int]] = {}
    for setup in outcome.setups:
        context = setup.context
        for group in context.setup.screw_groups:
            long = context.top - group.sunk - context.bed + group.into_bed
            key = next((k for k in found if k[0] == group.diameter and abs(k[1] - long) < _ALIKE), None)
            own = found.setdefault(key or (group.diameter, long), {})
            own[context.setup.name] = own.get(context.setup.name, 0) + len(group.at)
    for (diameter, long), counts in found.items():
        yield ScrewsReady(piece, tuple(counts), max(counts.values()), diameter, long)


def _pins(piece: Piece, setup: SetupReport, jig: Outcome | None) -> Iterator[PinsReady]:
    context = setup.context
    pins = context.setup.holders.pins
    if pins is None:
        return
    bored = [d for d in setup.demands if d.kind is CutKind.bed_hole]
    placed = [round(pin.diameter, 3) for pin in pins.at or ()]
    for diameter, count in Counter(placed or [round(d.across, 3) for d in bored]).items():
        deep = _bed_depth(setup) if not context.setup.holders.jig else _jig_depth(jig)
        yield PinsReady(piece, context.setup.name, count, diameter, None if deep is None else pins.height + deep)


def _bed_depth(setup: SetupReport) -> float | None:
    """How deep a setup's bores go into the bed, mm; None without one."""
    floors = [d.floor for d in setup.demands if d.kind is CutKind.bed_hole]
    deep = [setup.context.bed - floor.z for floor in floors if isinstance(floor, Level)]
    return min(deep) if deep else None


def _jig_depth(jig: Outcome | None) -> float | None:
    """How deep a jig's holes for pins go below its seat, mm; None where the jig is not known."""
    if jig is None:
        return None
    found = [
        setup.context.seat.height - d.floor.z
        for setup in jig.setups
        for d in setup.demands
        if d.kind is CutKind.jig_pin and isinstance(d.floor, Level)
    ]
    return min(found) if found else None


def _laid(piece: Piece, setup: SetupReport, jig_is_there: bool) -> Laid:
    asked = setup.context.setup
    hold = asked.holders
    return Laid(
        piece=piece,
        setup=asked.name,
        clamps=tuple(clamp.name for clamp in hold.clamps),
        stops=tuple(stop.name for stop in hold.stops),
        backing=asked.under.backing,
        tape=hold.tape is not None or asked.under.tape > 0,
        vacuum=hold.vacuum is not None,
        unplaced=asked.unplaced or "",
        jig="" if hold.jig is None or jig_is_there else hold.jig,
    )


def _bits(outcomes: Mapping[Piece, Outcome]) -> tuple[BitReady, ...]:
    found: list[tuple[str, Bit, list[Piece]]] = []
    for piece, outcome in outcomes.items():
        for name in _used(outcome):
            bit = outcome.job.bits[name]
            known = next((pieces for other, it, pieces in found if other == name and it == bit), None)
            if known is None:
                found.append((name, bit, [piece]))
            else:
                known.append(piece)
    return tuple(BitReady(name, bit, tuple(pieces)) for name, bit, pieces in found)


def _used(outcome: Outcome) -> Sequence[str]:
    """Names of the bits of a job's programs, in the order of their work."""
    return list(dict.fromkeys(b for p in outcome.programs for b in p.bits if b in outcome.job.bits))
