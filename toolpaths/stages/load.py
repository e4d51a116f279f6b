"""From a job file to a `Job` with its machine and its wood: everything checked, every fault at once.

The instrument may stand in a file of its own; bits of the job are laid over the rack.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from toolpaths.bits import BITS
from toolpaths.core.bit import Bit
from toolpaths.core.bitfile import BitChanges, bits_in, changed
from toolpaths.core.document import Document, KeyPath, describe
from toolpaths.core.feature import Feature
from toolpaths.core.finding import JobError, Problem
from toolpaths.core.job import Instrument, Job
from toolpaths.core.jobhash import hash_of
from toolpaths.core.machine import Machine
from toolpaths.core.machinefile import (
    RACK,
    load_machine,
    machine_folder,
    machine_hint,
    machine_path,
    machine_paths,
    read_machine,
    units_problems,
)
from toolpaths.core.problems import did_you_mean, problems_of
from toolpaths.core.units import Units
from toolpaths.core.wood import Wood
from toolpaths.core.yamltext import read_document
from toolpaths.features import FEATURES
from toolpaths.trade.woods import WOODS, wood_of

__all__ = ["Loaded", "load_job", "load_machine", "load_rack", "machine_paths"]

LATER_FEATURES = (
    "fret_slots",
    "nut_slot",
    "radius",
    "truss_rod_channel",
    "reinforcement_slots",
    "tuner_bores",
    "bolt_bores",
    "headstock_face",
    "pocket",
    "engraving",
)
LATER_KEYS = {"job": ("by_hand",), "setup": ("flip", "skew", "at", "by_hand"), "instrument": ("neck",)}
"""Names that the job file keeps free for what is not built yet."""
_LATER = "not built yet in this version"


@dataclass(frozen=True, slots=True)
class Loaded:
    """A job that can be used, with what it names. `source` is the job file's text, `job_hash` 12 hex digits."""

    path: Path
    job: Job
    machine: Machine
    wood: Wood
    source: str
    job_hash: str


def load_job(path: Path, bit_changes: BitChanges = ()) -> Loaded:
    """The job in a file. `bit_changes`: pairs of a bit's name and another diameter, or another bit's name.

    Raises JobError with every problem of the job, its instrument, its bits, its machine and the changes.
    """
    document = read_document(path)
    data = document.data
    problems: list[Problem] = [*units_problems(document)]
    units: Units = "in" if data.get("units") == "in" else "mm"
    machine = _machine(document, path.parent, problems)
    bits = _bits(document, units, problems)
    instrument = _instrument(document, path.parent, units, problems)
    setups = _setups(document, units, bits, problems)
    job = _job(document, {"bits": bits, "instrument": instrument, "setups": setups}, problems)
    wood = _wood(document, job, problems)
    if machine is not None:
        _check_offsets(document, machine, problems)
    resolved, faults = changed(bits, _bits_named(document), bit_changes, units)
    problems += faults
    if problems or job is None or machine is None or wood is None:
        raise JobError(_sorted(problems, document.file))
    job = job.model_copy(update={"bits": resolved})
    return Loaded(path, job, machine, wood, document.text, hash_of(job, machine, wood))


def load_rack() -> dict[str, Bit]:
    """The shipped rack of bits by name. Raises JobError with every problem of its file."""
    document = read_document(machine_folder() / f"{RACK}.yaml")
    problems = units_problems(document)
    units: Units = "in" if document.data.get("units") == "in" else "mm"
    bits, faults = bits_in(document, BITS, units)
    if problems or faults:
        raise JobError(problems + faults)
    return bits


# Private


def _machine(document: Document, folder: Path, problems: list[Problem]) -> Machine | None:
    name = document.data.get("machine")
    if not isinstance(name, str):
        return None  # the job's model says so
    path = machine_path(name, folder)
    if path is None:
        problems.append(document.problem(("machine",), f"no machine is called `{name[:60]}`", machine_hint(name)))
    elif not path.exists():
        problems.append(
            document.problem(("machine",), f"there is no file `{name[:200]}`", "its path counts from the job's folder")
        )
    else:
        try:
            return read_machine(path)
        except JobError as error:
            problems += error.problems
    return None


def _wood(document: Document, job: Job | None, problems: list[Problem]) -> Wood | None:
    given = document.data.get("wood")
    if isinstance(given, str) and given not in WOODS:
        hint = did_you_mean(given, WOODS, "woods", "describe it: {name: my wood, janka: 1200, density: 650}")
        problems.append(document.problem(("wood",), f"no wood is called `{given[:60]}`", hint))
        return None
    return None if job is None else wood_of(job.wood)


def _instrument(document: Document, folder: Path, units: Units, problems: list[Problem]) -> Any:
    """The instrument: a model from a file of its own, or what stands in the job; None where it is faulty."""
    given = document.data.get("instrument")
    if not isinstance(given, str):
        return _without_later(document, ("instrument",), given, "instrument", problems)
    path = folder / given
    if not path.exists():
        hint = "its path counts from the job's folder"
        problems.append(document.problem(("instrument",), f"there is no file `{given[:200]}`", hint))
        return None
    try:
        own = read_document(path)
    except JobError as error:
        problems += error.problems
        return None
    faults = units_problems(own)
    body = _without_later(own, (), own.data, "instrument", faults)
    stated = body.pop("units", units)
    try:
        instrument = Instrument.model_validate(body, context={"units": "in" if stated == "in" else "mm"})
    except ValidationError as error:
        faults += problems_of(error, own, model=Instrument)
    problems += faults
    return None if faults else instrument


def _without_later(document: Document, at: KeyPath, given: Any, what: str, problems: list[Problem]) -> Any:
    """A copy of a mapping without what is not built yet, each of which is a problem."""
    if not isinstance(given, dict):
        return given
    for key in LATER_KEYS[what]:
        if key in given:
            problems.append(document.problem((*at, key), _LATER, "leave this key out for now", on_key=True))
    if what == "instrument" and isinstance(given.get("scale_length"), dict):
        hint = "give one scale length for all strings for now"
        problems.append(document.problem((*at, "scale_length"), f"fanned frets are {_LATER}", hint))
        given = {**given, "scale_length": "1 mm"}
    return {k: v for k, v in given.items() if k not in LATER_KEYS[what]}


def _bits(document: Document, units: Units, problems: list[Problem]) -> dict[str, Bit]:
    """The rack with the job's bits laid over it. Faulty ones are left out."""
    rack = load_rack()
    bits, faults = bits_in(document, BITS, units, rack)
    problems += faults
    return {**rack, **bits}


def _setups(
    document: Document, units: Units, bits: Mapping[str, Bit], problems: list[Problem]
) -> list[tuple[Any, tuple[Feature, ...]]]:
    """Each setup as written with what is not built yet left out, beside its features; faulty ones are left out."""
    given = document.data.get("setups")
    out: list[tuple[Any, tuple[Feature, ...]]] = []
    counts: dict[str, int] = {}
    names: dict[str, int] = {}
    for i, setup in enumerate(_list(given)):
        path: KeyPath = ("setups", i)
        features: tuple[Feature, ...] = ()
        if isinstance(setup, dict):
            entries = setup.get("features")
            for j, entry in enumerate(_list(entries)):
                feature = _feature(document, (*path, "features", j), entry, units, bits, counts, problems)
                features = features if feature is None else (*features, feature)
            name = str(setup.get("name")).casefold()
            if name in names:
                hint = "file names are made of it"
                words = f"a second setup of this name; the first is on line {names[name]}"
                problems.append(document.problem((*path, "name"), words, hint))
            names.setdefault(name, document.place((*path, "name"))[0])
        out.append((_without_later(document, path, setup, "setup", problems), features))
    return out


def _feature(
    document: Document,
    path: KeyPath,
    entry: Any,
    units: Units,
    bits: Mapping[str, Bit],
    counts: dict[str, int],
    problems: list[Problem],
) -> Feature | None:
    """One entry of a setup's features, placed; None where it is faulty. `counts` numbers those of a kind."""
    if not isinstance(entry, dict) or len(entry) != 1:
        problems.append(document.problem(path, *_not_one_feature(entry)))
        return None
    key, body = next(iter(entry.items()))
    name, path = str(key), (*path, str(key))
    kind = FEATURES.get(name)
    if kind is None:
        if name in LATER_FEATURES:
            words, hint = _LATER, "leave this feature out for now"
        else:
            words, hint = "no feature has this name", did_you_mean(name, [*FEATURES, *LATER_FEATURES], "features")
        problems.append(document.problem(path, words, hint, on_key=True))
        return None
    counts[name] = counts.get(name, 0) + 1
    body = {} if body is None else body
    if not isinstance(body, dict):
        hint = f"such as {name}: {{bit: quarter}}"
        problems.append(document.problem(path, f"keys in a mapping are wanted, not {describe(body)}", hint))
        return None
    faults: list[Problem] = []
    feature: Feature | None = None
    try:
        feature = kind.model_validate(body, context={"units": units})
    except ValidationError as error:
        faults += problems_of(error, document, path, kind)
    bit = body.get("bit")
    if isinstance(bit, str) and bit not in bits and bit not in _written(document):
        known = [*bits, *_written(document)]
        faults.append(
            document.problem((*path, "bit"), f"no bit is called `{bit[:60]}`", did_you_mean(bit, known, "bits"))
        )
    problems += faults
    if feature is None or faults:
        return None
    numbered = name if counts[name] == 1 else f"{name} {counts[name]}"
    return feature.placed(numbered, document.place(path, on_key=True)[0])


def _bits_named(document: Document) -> set[str]:
    """Names of the bits that features ask for, faulty features too."""
    given = document.data.get("setups")
    entries = [e for s in _list(given) if isinstance(s, dict) for e in _list(s.get("features"))]
    bodies = [b for e in entries if isinstance(e, dict) for b in e.values() if isinstance(b, dict)]
    return {b["bit"] for b in bodies if isinstance(b.get("bit"), str)}


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _written(document: Document) -> list[str]:
    """Names of the job's own bits, faulty ones too, so that one fault is not told twice."""
    given = document.data.get("bits")
    return [str(k) for k in given] if isinstance(given, dict) else []


def _not_one_feature(entry: Any) -> tuple[str, str]:
    """(what is wrong, hint) with an entry that is not one feature."""
    if isinstance(entry, str) and entry in FEATURES:
        return f"`{entry}` lacks its keys", f"write `- {entry}: {{bit: quarter}}`"
    if not isinstance(entry, dict):
        return f"a feature is wanted, not {describe(entry)}", "write `- outline: {bit: quarter}`"
    if not entry:
        return "an empty entry", "write `- outline: {bit: quarter}`, or take it out"
    first, value = next(iter(entry.items()))
    if value is None:
        return (
            f"the keys of `{first}` stand beside it, not in it",
            f"indent them further, or write `- {first}: {{...}}`",
        )
    keys = ", ".join(f"`{str(k)[:40]}`" for k in list(entry)[:5])
    return f"{len(entry)} features in one entry: {keys}", "begin each with `- ` on a line of its own"


def _check_offsets(document: Document, machine: Machine, problems: list[Problem]) -> None:
    given = document.data.get("setups")
    for i, setup in enumerate(_list(given)):
        offset = setup.get("offset", "G54") if isinstance(setup, dict) else None
        if isinstance(offset, str) and re.fullmatch(r"G5[4-9](\.[1-3])?", offset) and offset not in machine.offsets:
            hint = f"offsets that it knows: {', '.join(machine.offsets)}"
            problems.append(document.problem(("setups", i, "offset"), f"{machine.name} does not know {offset}", hint))


def _job(document: Document, parts: dict[str, Any], problems: list[Problem]) -> Job | None:
    """The whole job as a model, or None with its problems."""
    body = _without_later(document, (), document.data, "job", problems)
    if body.get("part") == "neck":
        problems.append(document.problem(("part",), f"necks are {_LATER}", "leave `part` out, or write `part: board`"))
    done: list[tuple[str | int, ...]] = [("bits",)]
    if isinstance(body.get("instrument"), str):
        done.append(("instrument",))
    if "instrument" in body:
        body["instrument"] = parts["instrument"]
    if isinstance(body.get("setups"), list):
        setups = []
        for i, (setup, features) in enumerate(parts["setups"]):
            if isinstance(setup, dict) and isinstance(setup.get("features"), list) and setup["features"]:
                setup = {**setup, "features": features}
                done.append(("setups", i, "features"))
            setups.append(setup)
        body["setups"] = setups
    body["bits"] = parts["bits"]
    units = "in" if body.get("units") == "in" else "mm"
    try:
        return Job.model_validate(body, context={"units": units})
    except ValidationError as error:
        if any(p.key == "units" for p in problems):
            done.append(("units",))
        problems += problems_of(error, document, model=Job, without=done)
        return None


def _sorted(problems: list[Problem], file: str) -> list[Problem]:
    """The job's own problems first, each file's by place; none twice."""
    return sorted(dict.fromkeys(problems), key=lambda p: (p.file != file, p.file, p.line, p.column))
