"""What to measure after each program, where, and what it should be: from the job's own numbers, never from the cut."""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.core.bit import Bit
from toolpaths.core.feature import Feature
from toolpaths.core.outcome import Outcome, SetupReport
from toolpaths.core.program import Program
from toolpaths.core.units import Units, show
from toolpaths.reports.tables import Table
from toolpaths.trade.boards import board_end, half_width
from toolpaths.trade.fans import fret_x

_WITHIN = 0.1
"""How far a first measurement may be off before somebody looks for the reason, mm. Common practice, no source."""


def measures_table(outcome: Outcome, setup: SetupReport) -> Table:
    """One row for each thing to measure, in the order of the programs, with room for what was found."""
    units = outcome.job.units
    features = {f.name: f for f in setup.scene.setup.features}
    rows: list[tuple[str, str, str, str]] = []
    for program in (p for p in outcome.programs if p.setup == setup.scene.setup.name):
        for name in _finished(outcome, setup, program):
            for what, wanted in _of(features[name], setup, units):
                rows.append((str(program.number), what, wanted, ""))
    title = f"After each program, measure (within {show(_WITHIN, units)}; else stop and find out why)"
    return Table(title, ("after no.", "what and where", "should be", "found"), tuple(rows), frozenset({0}))


def _finished(outcome: Outcome, setup: SetupReport, program: Program) -> Iterator[str]:
    """The features whose last bit is in this program."""
    own = [p for p in outcome.programs if p.setup == setup.scene.setup.name]
    last: dict[str, int] = {}
    for p in own:
        for name in p.feature_minutes:
            last[name] = p.number
    known = {f.name for f in setup.scene.setup.features}
    yield from (name for name in program.feature_minutes if last.get(name) == program.number and name in known)


def _of(feature: Feature, setup: SetupReport, units: Units) -> Iterator[tuple[str, str]]:
    """(what and where, what it should be)."""
    scene = setup.scene
    job, bit = scene.job, scene.bits[feature.bits[-1]]
    values = {name: getattr(feature, name, None) for name in ("depth", "width", "diameter", "leave", "drop")}
    key, depth = feature.key, values["depth"]

    def say(mm: float | None) -> str:
        return "" if mm is None else show(mm, units)

    if key == "plane":
        yield "thickness at all four corners", say(values["leave"])
    elif key in ("score_lines", "fret_slots"):
        last = min(12, job.instrument.frets)
        yield f"from the nut line to the middle of line {last}, on the centreline", say(fret_x(job.instrument, last))
        yield "width of a line in the flat face", _width_of_line(feature, bit, units)
        deep = depth if isinstance(depth, float) else getattr(feature, "deep", None)
        yield "its depth on the centreline", say(deep)
    elif key == "marker_pockets":
        yield (
            "a pocket, across",
            say(values["diameter"] or values["width"]) if any((values["diameter"], values["width"])) else "as drawn",
        )
        yield "its depth", say(depth)
    elif key in ("truss_rod_channel", "reinforcement_slots", "nut_slot"):
        yield f"{key.replace('_', ' ')}: width, at both ends", say(values["width"])
        yield "its depth", say(depth) if depth is not None else "as the job's `floor` says"
    elif key in ("tuner_bores", "bolt_bores", "pin_bores", "bed_bores", "side_dots", "witness_ring"):
        yield (
            f"{key.replace('_', ' ')}: diameter, with the shank of a drill",
            say(values["diameter"]) or "as in the job",
        )
    elif key == "headstock_face":
        yield "from the glue face down to the headstock's face", say(values["drop"])
    elif key == "radius":
        yield "the top, with a gauge at both ends and in the middle", "no light under it"
    elif key == "outline" and job.part == "board":
        for name, x in (("the nut", 0.0), ("the far end", board_end(job.instrument))):
            yield f"width of the part at {name}", say(2 * float(half_width(job.instrument, x)))
    elif depth is not None:
        yield f"{key.replace('_', ' ')}: depth", say(depth)


def _width_of_line(feature: Feature, bit: Bit, units: Units) -> str:
    depth = getattr(feature, "deep", None) or getattr(feature, "depth", None) or 0.5
    return show(bit.width_at(depth), units)
