"""Read the jobs that a jig serves: how their blanks lie on it, and the instrument that they share.

Truth stays with them: their holders have the places. They are read without their own jig, so that no circle comes
about.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from toolpaths.common.errors import FeatureError, JobError, Problem
from toolpaths.common.units import Units, size
from toolpaths.features.kinds.bed_bores import BedBores
from toolpaths.features.kinds.pin_bores import PinBores
from toolpaths.instrument.places import x_of
from toolpaths.job.files.document import Document, KeyPath
from toolpaths.job.files.yaml_text import read_document
from toolpaths.job.holders import Hold, PinAt
from toolpaths.job.jig import Part, ServedSetup
from toolpaths.job.job import Instrument, Job
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.machine import Machine
from toolpaths.job.setup import Setup
from toolpaths.job.setup_context import setup_context_of

Load = Callable[[Path], LoadedJob]
Moved = Callable[[Instrument, Path, Path], Instrument]
"""An instrument as it is written in one folder, for another."""
_PINS: Mapping[Units, str] = {
    "mm": "{height: 12, at: [{x: 10, y: 0, diameter: 6}]}",
    "in": "{height: 0.5, at: [{x: 0.4, y: 0, diameter: 0.25}]}",
}
"""Pins as they may be written, in the job's units."""


@dataclass(frozen=True, slots=True)
class ServedJobs:
    """The jobs that a jig serves, by part; and the instrument that all are for, its paths from the jig's folder."""

    jobs: Mapping[Part, LoadedJob] = field(default_factory=dict)
    instrument: Instrument | None = None


def served_jobs(document: Document, path: Path, load: Load, moved: Moved, problems: list[Problem]) -> ServedJobs:
    """The jobs that a jig names; what is wrong with them is added to the problems."""
    given = document.data.get("for")
    found: dict[Part, LoadedJob] = {}
    parts: tuple[Part, ...] = ("board", "neck")
    named = given if isinstance(given, dict) else {}
    for part in parts:
        if isinstance(name := named.get(part), str):
            try:
                found[part] = _served(document, ("for", part), part, path.parent / name, load)
            except JobError as error:
                problems += error.problems
    instruments = {part: moved(one.job.instrument, one.path.parent, path.parent) for part, one in found.items()}
    first = next(iter(instruments.values()), None)
    if any(one != first for one in instruments.values()):
        words, hint = "the jobs that lie on it are for different instruments", "give both the same instrument file"
        problems.append(document.problem(("for",), words, hint, on_key=True))
    return ServedJobs(found, first)


def serving_faults(document: Document) -> Iterator[Problem]:
    """A jig that serves no job, and another job that would; told before anything is made of the job."""
    jig, given = document.data.get("part") == "jig", document.data.get("for")
    if jig and given is None:
        hint = "name the jobs that lie on it: `for: {board: my-board.yaml, neck: my-neck.yaml}`"
        yield document.problem(("part",), "a jig needs a job that lies on it", hint)
    if not jig and given is not None:
        words = "only a jig has `for`"
        yield document.problem(("for",), words, "write `part: jig`, or leave it out", on_key=True)


def jig_faults(document: Document, job: Job, others: ServedJobs, machine: Machine | None) -> Iterator[Problem]:
    """What a jig's job, or one that lies on a jig, says that cannot be."""
    for i, setup in enumerate(job.setups):
        at: KeyPath = ("setups", i)
        yield from _on_bed(document, at, setup) if setup.holders.jig is None else _on_jig(document, at, job, setup)
    if job.part == "jig":
        yield from _of_jig(document, job, others, machine)


def served_setups(others: ServedJobs, path: Path) -> tuple[ServedSetup, ...]:
    """How the blanks of the served jobs lie on the jig in that file, setup by setup; not those on another jig."""
    out: list[ServedSetup] = []
    for part, loaded in others.jobs.items():
        for setup in loaded.job.setups:
            context = setup_context_of(loaded.job, loaded.machine, loaded.wood, setup, loaded.path.parent)
            if context.apart or _elsewhere(loaded, setup, path):
                continue
            hold = setup.holders
            pins = [(p.x, p.y, p.diameter) for p in (hold.pins.at or ())] if hold.pins is not None else []
            bored = _bores(loaded.job, setup, BedBores)
            out.append(
                ServedSetup(
                    part=part,
                    setup=setup.name,
                    box=context.stock_box,
                    pins=tuple(pins or [(x, context.mirror * y, d) for x, y, d in bored]),
                    screws=hold.screws,
                    stops=hold.stops,
                )
            )
    return tuple(out)


def pins_placed(job: Job) -> Job:
    """The job with a place for each pin of a jig that has none: in the bores of the side that is cut before."""
    setups: list[Setup] = []
    for setup in job.setups:
        hold = setup.hold
        if isinstance(hold, Hold) and hold.jig is not None and hold.pins is not None and hold.pins.at is None:
            # A pin bore lies where the instrument has it; the machine sees it mirrored on the work's other side.
            mirror = -1.0 if (job.handed == "left") != (setup.flip is not None) else 1.0
            bored = [hole for other in job.setups if other.flip is None for hole in _bores(job, other, PinBores)]
            at = tuple(PinAt.model_construct(x=x, y=mirror * y, diameter=d) for x, y, d in bored)
            pins = hold.pins.model_copy(update={"at": at})
            setup = setup.model_copy(update={"hold": hold.model_copy(update={"pins": pins})})
        setups.append(setup)
    return job.model_copy(update={"setups": tuple(setups)})


def _elsewhere(loaded: LoadedJob, setup: Setup, jig: Path) -> bool:
    """Whether a setup says that it lies on another jig than that in a file."""
    named = setup.holders.jig
    return named is not None and not same_file(loaded.path.parent / named, jig)


def same_file(one: Path, other: Path) -> bool:
    """Whether two paths name one file."""
    return os.path.realpath(one) == os.path.realpath(other)


# Private


def _served(document: Document, at: KeyPath, part: Part, path: Path, load: Load) -> LoadedJob:
    """A job that a jig names. Raises JobError for one that is not there, is of another part, or cannot be used."""
    if not os.path.isfile(path):
        hint = "give its path from the jig's folder"
        raise JobError([document.problem(at, f"there is no file `{str(path)[:200]}`", hint)])
    found = read_document(path).data.get("part", "board")
    if found != part:
        words = f"that job makes a {str(found)[:40]}, not a {part}"
        raise JobError([document.problem(at, words, "name it under its own part: `for: {board: ..., neck: ...}`")])
    try:
        return load(path)
    except JobError as error:
        first = document.problem(at, "that job cannot be used", "correct its faults first; they are listed below")
        raise JobError([first, *error.problems]) from None


def _bores(job: Job, setup: Setup, kind: type[BedBores] | type[PinBores]) -> list[tuple[float, float, float]]:
    """x, y and diameter of a setup's bores of a kind, in instrument coordinates, mm; without those that are refused."""
    out: list[tuple[float, float, float]] = []
    for feature in setup.features:
        if isinstance(feature, kind):
            for place in feature.at or ():
                diameter = place.diameter or feature.diameter
                try:
                    x = x_of(place.x, job.instrument, "at")
                except FeatureError:
                    continue
                if diameter is not None:
                    out.append((x, place.y, diameter))
    return out


def _on_bed(document: Document, at: KeyPath, setup: Setup) -> Iterator[Problem]:
    """A setup without a jig takes no zero from one."""
    if any(setup.zero.on_jig):
        hint = "name the jig: `hold: {jig: my-jig.yaml}`, or zero at the nut, the centreline and the bed"
        yield document.problem((*at, "zero"), "the zero is on a jig, and `hold` names no jig", hint, on_key=True)


def _on_jig(document: Document, at: KeyPath, job: Job, setup: Setup) -> Iterator[Problem]:
    """What a setup on a jig must say, and may not."""
    if not all(setup.zero.on_jig):
        hint = "write `zero: {x: jig, y: jig, z: jig seat}`"
        yield document.problem((*at, "zero"), "a blank on a jig uses the jig's zero", hint, on_key=True)
    if setup.stock is not None:
        hint = "hold it another way"
        yield document.problem((*at, "hold", "jig"), "a setup with its own `stock` cannot use the jig", hint)
    if setup.under.thickness:
        hint = f"leave `under` out; the thickness of tape is in `hold: {{tape: {{thickness: {size(0.2, job.units)}}}}}`"
        yield document.problem((*at, "under"), "nothing else can be under a blank on a jig", hint, on_key=True)
    if setup.skew is not None:
        hint = "leave `skew` out: dowels and pins hold the blank straight"
        yield document.problem((*at, "skew"), "a blank on a jig cannot be skewed", hint, on_key=True)
    for k, feature in enumerate(setup.features):
        if isinstance(feature, BedBores):
            words = "with a jig the holes are in the jig, not in the bed"
            hint = "leave `bed_bores` out: `jig_pins` of the jig bores a hole for every pin of `hold`"
            yield document.problem((*at, "features", k, feature.key), words, hint, on_key=True)
    pins = setup.holders.pins
    bored = setup.flip is not None and any(
        isinstance(f, PinBores) for other in job.setups if other.flip is None for f in other.features
    )
    if pins is not None and pins.at is None and not bored:
        hint = f"give their places: `pins: {_PINS[job.units]}`, or bore `pin_bores` in the first side"
        yield document.problem((*at, "hold", "pins"), "no side that is cut before has bores for the pins", hint)


def _of_jig(document: Document, job: Job, others: ServedJobs, machine: Machine | None) -> Iterator[Problem]:
    """What a jig's setups and those of its jobs must have in common."""
    first = job.setups[0]
    for i, setup in enumerate(job.setups):
        at: KeyPath = ("setups", i)
        if setup.holders.jig is not None:
            yield document.problem((*at, "hold", "jig"), "a jig cannot lie on a jig", "screw it to the bed")
        if setup.flip is not None:
            yield document.problem((*at, "flip"), "a jig is cut from above only", "leave `flip` out")
        if setup.stock is not None:
            yield document.problem((*at, "stock"), "a jig is one board", "leave this `stock` out")
        if setup.skew is not None:
            hint = "leave `skew` out: its blanks are cut along the machine's axes too"
            yield document.problem((*at, "skew"), "a jig is cut along the machine's axes", hint, on_key=True)
        if (setup.zero.x, setup.zero.y) != ("nut", "centreline"):
            hint = "write `x: nut, y: centreline`: blanks on the jig use that zero"
            yield document.problem((*at, "zero"), "a jig must be zeroed at the nut line and the centreline", hint)
        if setup.offset != first.offset:
            yield document.problem(
                (*at, "offset"), "all setups of a jig need the same offset", f"write `offset: {first.offset}`"
            )
    for part, other in others.jobs.items():
        place: KeyPath = ("for", part)
        here = [s for s in other.job.setups if s.stock is None and not _elsewhere(other, s, Path(document.file))]
        if not here:
            words = "every setup of that job is on another jig"
            yield document.problem(place, words, "name this jig in its `hold`, or leave that job out here")
        for setup in here:
            if setup.holders.jig is not None and setup.offset != first.offset:
                words = f"setup {setup.name} of that job has offset {setup.offset}, and the jig {first.offset}"
                yield document.problem(place, words, f"write `offset: {first.offset}` in that job")
        if other.job.handed != job.handed:
            words = f"that job is {other.job.handed}-handed, and the jig {job.handed}-handed"
            yield document.problem(place, words, f"write `handed: {other.job.handed}` in the jig too")
        if machine is not None and other.machine != machine:
            words = f"that job is for {other.machine.name}, and the jig for {machine.name}"
            yield document.problem(place, words, f"write `machine: {other.job.machine}` in the jig too")
    if others.instrument is not None and job.instrument != others.instrument:
        hint = "leave `instrument` out: the jig then takes it from those jobs"
        yield document.problem(("instrument",), "the jobs that lie on it are for another instrument", hint)
