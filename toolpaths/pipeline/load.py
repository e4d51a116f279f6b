"""Load a job file with its machine and its wood: everything checked, every fault reported at once.

The instrument may stand in a file of its own; bits of the job are laid over the rack.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, Literal

from pydantic import ValidationError

from toolpaths.common.errors import DrawingError, JobError, Problem
from toolpaths.common.units import Units
from toolpaths.features.feature import features_of
from toolpaths.features.kinds import FEATURES
from toolpaths.features.lined_feature import CAREFUL, paced
from toolpaths.geometry.drawings_in.drawing import drawing_bytes
from toolpaths.instrument.fan_faults import fan_faults
from toolpaths.instrument.woods import WOODS, wood_of
from toolpaths.job.bit import Bit
from toolpaths.job.bits import BITS
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.files.bit_file import BitChanges, bits_in, changed
from toolpaths.job.files.document import Document, KeyPath
from toolpaths.job.files.feature_file import bits_asked, features_in
from toolpaths.job.files.found_file import hash_faults, read_found
from toolpaths.job.files.likely_words import did_you_mean
from toolpaths.job.files.machine_file import (
    machine_hint,
    machine_path,
    read_machine,
    units_of,
    units_problems,
)
from toolpaths.job.files.problems import problems_of
from toolpaths.job.files.rack_file import load_rack
from toolpaths.job.files.yaml_text import read_document
from toolpaths.job.job import Instrument, Job
from toolpaths.job.job_hash import hash_of
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.machine import Machine
from toolpaths.pipeline.load_jig import jigs_under
from toolpaths.pipeline.load_served import (
    ServedJobs,
    jig_faults,
    pins_placed,
    served_jobs,
    served_setups,
    serving_faults,
)


def load_job(path: Path, bit_changes: BitChanges = ()) -> LoadedJob:
    """The job in a file. `bit_changes`: pairs of a bit's name and another diameter, or another bit's name,
    or `careful`: its lines at the careful pace.

    A jig's job reads those that it serves, and these read their jig, which reads them no further.
    Raises JobError with every problem of the job, its instrument, its bits, its machine and the changes, and of the
    jobs that it reads.
    """
    return _load(path, bit_changes, "all")


def load_alone(path: Path) -> LoadedJob:
    """The job in a file without the jig that it lies on, which need not be there yet. Raises JobError."""
    return _load(path, (), "nothing")


# Private

_Reads = Literal["all", "served", "nothing"]
"""Which other jobs are read: jigs and served ones, served ones alone, or none, so that no circle comes about."""


def _load(path: Path, bit_changes: BitChanges = (), reads: _Reads = "all") -> LoadedJob:
    document = read_document(path)
    problems = units_problems(document)
    units = units_of(document)
    machine = _machine(document, path.parent, problems)
    bits = _bits(document, units, problems)
    problems += serving_faults(document)
    others = ServedJobs()
    if document.data.get("part") == "jig" and reads != "nothing":
        others = served_jobs(document, path, lambda other: _load(other, reads="nothing"), _drawn_from, problems)
    instrument, (written, at) = _instrument(document, path.parent, units, problems)
    if instrument is None and others.instrument is not None and "instrument" not in document.data:
        instrument = others.instrument
    features = _features(document, units, bits, problems)
    job = _job(document, bits, instrument, features, problems, others)
    problems += _unknown_woods(document)
    if machine is not None:
        problems += _unknown_offsets(document, machine)
    if job is not None:
        problems += jig_faults(document, job, others, machine)
        for fault in fan_faults(job.instrument, job.saw.kerf, job.units):
            problems.append(written.problem(_nearest(written, at, fault.key), fault.problem, fault.hint))
    careful = [name for name, value in bit_changes if value.strip() == CAREFUL and CAREFUL not in bits]
    others_changed = [pair for pair in bit_changes if pair[1].strip() != CAREFUL or CAREFUL in bits]
    resolved, faults = changed(bits, bits_asked(document), others_changed, units)
    problems += faults
    if job is not None:
        job, wrong = paced(job, careful)
        problems += wrong
    if problems or job is None or machine is None:
        # The job's own problems first, each file's by place; none twice.
        own = document.file
        raise JobError(sorted(dict.fromkeys(problems), key=lambda p: (p.file != own, p.file, p.line, p.column)))
    job, wood = pins_placed(_completed(job.model_copy(update={"bits": resolved}))), wood_of(job.wood)
    jigs = {}
    if reads == "all":
        jigs = jigs_under(document, path, job, lambda other: _load(other, reads="served"))
    served = served_setups(others, path)
    drawings = _drawings(job, path.parent)
    job_hash = hash_of(job, machine, wood, drawings, served, jigs)
    found = read_found(path, job.units) if reads == "all" else None
    if found is not None:
        # They were measured in cuts of the job as it is written, not as the command line changes it.
        as_written = pins_placed(job.model_copy(update={"bits": bits})) if bit_changes else job
        faults = hash_faults(found, hash_of(as_written, machine, wood, drawings, served, jigs))
        if faults:
            raise JobError(faults)
    return LoadedJob(path, job, machine, wood, document.text, job_hash, served, jigs, found)


def _completed(job: Job) -> Job:
    """The job with what its instrument says for features that leave it out, such as a rod's sizes."""
    setups = tuple(
        setup.model_copy(update={"features": tuple(f.completed(job.instrument) for f in features_of(setup))})
        for setup in job.setups
    )
    return job.model_copy(update={"setups": setups})


def _machine(document: Document, folder: Path, problems: list[Problem]) -> Machine | None:
    name = document.data.get("machine")
    if not isinstance(name, str):
        return None  # the job's model says so
    path = machine_path(name, folder)
    if path is None:
        problems.append(document.problem(("machine",), f"no machine is called `{name[:60]}`", machine_hint(name)))
    elif not os.path.exists(path):
        problems.append(
            document.problem(("machine",), f"there is no file `{name[:200]}`", "give its path from the job's folder")
        )
    else:
        try:
            return read_machine(path)
        except JobError as error:
            problems += error.problems
    return None


def _unknown_woods(document: Document) -> Iterator[Problem]:
    """Woods that the job or a setup names and that are in no list."""
    named: list[tuple[KeyPath, Any]] = [(("wood",), document.data.get("wood"))]
    named += [(("setups", i, "wood"), setup.get("wood")) for i, setup in _setups_of(document)]
    for path, wood in named:
        if isinstance(wood, str) and wood not in WOODS:
            hint = did_you_mean(wood, WOODS, "woods", "describe it: {name: my wood, janka: 1200, density: 650}")
            yield document.problem(path, f"no wood is called `{wood[:60]}`", hint)


def _setups_of(document: Document) -> Iterator[tuple[int, dict[Any, Any]]]:
    """Each setup that is written as a mapping, with its place in the list."""
    setups = document.data.get("setups")
    for i, setup in enumerate(setups if isinstance(setups, list) else []):
        if isinstance(setup, dict):
            yield i, setup


def _instrument(
    document: Document, folder: Path, units: Units, problems: list[Problem]
) -> tuple[Any, tuple[Document, KeyPath]]:
    """The instrument: a model from a file of its own, or what stands in the job; None where it is faulty.

    Beside it the document that describes it, and the key path from which on it does.
    """
    given = document.data.get("instrument")
    here: tuple[Document, KeyPath] = document, ("instrument",)
    if not isinstance(given, str):
        return given, here
    path = folder / given
    if not os.path.exists(path):
        hint = "give its path from the job's folder"
        problems.append(document.problem(("instrument",), f"there is no file `{given[:200]}`", hint))
        return None, here
    try:
        own = read_document(path)
    except JobError as error:
        problems += error.problems
        return None, here
    faults = units_problems(own)
    body = {k: v for k, v in own.data.items() if k != "units"}
    try:
        instrument = Instrument.model_validate(body, context={"units": units_of(own, units)})
    except ValidationError as error:
        faults += problems_of(error, own, model=Instrument)
    problems += faults
    drawn = None if faults else _drawn_from(instrument, path.parent, folder)
    return drawn, (own, ())


def _nearest(document: Document, at: KeyPath, key: KeyPath) -> KeyPath:
    """The path of a key of the instrument, or of the nearest key around it that is written down."""
    while key and document.get((*at, *key)) is None:
        key = key[:-1]
    return *at, *key


def _drawn_from(instrument: Instrument, own: Path, folder: Path) -> Instrument:
    """The instrument with its headstock's drawing counted from the job's folder, not from its own file's."""
    head = None if instrument.neck is None else instrument.neck.headstock
    if instrument.neck is None or head is None or head.drawing is None:
        return instrument
    drawing = os.path.relpath(own / head.drawing, folder)
    neck = instrument.neck.model_copy(update={"headstock": head.model_copy(update={"drawing": drawing})})
    return instrument.model_copy(update={"neck": neck})


def _bits(document: Document, units: Units, problems: list[Problem]) -> dict[str, Bit]:
    """The rack with the job's bits laid over it. Faulty ones are left out."""
    rack = load_rack()
    bits, faults = bits_in(document, BITS, units, rack)
    problems += faults
    return {**rack, **bits}


def _features(
    document: Document, units: Units, bits: Mapping[str, Bit], problems: list[Problem]
) -> dict[int, tuple[FeatureKeys, ...]]:
    """The features of each setup, by its place in the list; faulty ones are left out."""
    out: dict[int, tuple[FeatureKeys, ...]] = {}
    counts: dict[str, int] = {}
    names: dict[str, int] = {}
    for i, setup in _setups_of(document):
        out[i], faults = features_in(document, ("setups", i), FEATURES, units, bits, counts)
        problems += faults
        name = setup.get("name")
        if isinstance(name, str):
            # File names are made of it, and some file systems do not tell capitals from small letters.
            first = names.setdefault(name.casefold(), i)
            if first != i:
                line, _ = document.place(("setups", first, "name"))
                words = f"two setups have this name; the first is on line {line}"
                problems.append(document.problem(("setups", i, "name"), words, "give it a name of its own"))
    return out


def _drawings(job: Job, folder: Path) -> dict[str, str]:
    """The SHA-256 of every drawing that the job names, by name. One that cannot be read is refused by its feature."""
    neck = job.instrument.neck
    head = None if neck is None or neck.headstock is None else neck.headstock.drawing
    named = [head, *(getattr(f, "drawing", None) for setup in job.setups for f in setup.features)]
    out: dict[str, str] = {}
    for name in named:
        if name is not None:
            with suppress(DrawingError):
                out[name] = hashlib.sha256(drawing_bytes(folder / name)).hexdigest()
    return out


def _unknown_offsets(document: Document, machine: Machine) -> Iterator[Problem]:
    for i, setup in _setups_of(document):
        offset = setup.get("offset", "G54")
        if isinstance(offset, str) and re.fullmatch(r"G5[4-9](\.[1-3])?", offset) and offset not in machine.offsets:
            hint = f"its offsets are {', '.join(machine.offsets)}"
            yield document.problem(("setups", i, "offset"), f"{machine.name} has no offset {offset}", hint)


def _job(
    document: Document,
    bits: dict[str, Bit],
    instrument: Any,
    features: Mapping[int, tuple[FeatureKeys, ...]],
    problems: list[Problem],
    others: ServedJobs,
) -> Job | None:
    """The whole job as a model, or None with its problems."""
    body = {**document.data, "bits": bits}
    done: list[KeyPath] = [("bits",)]
    if "instrument" not in body and document.data.get("part") == "jig":
        done.append(("instrument",))
        body["instrument"] = others.instrument
    elif "instrument" in body:
        if isinstance(body["instrument"], str):
            done.append(("instrument",))
        body["instrument"] = instrument
    if isinstance(body.get("setups"), list):
        body["setups"] = list(body["setups"])
        for i, setup in _setups_of(document):
            if isinstance(setup.get("features"), list) and setup["features"]:
                body["setups"][i] = {**setup, "features": features[i]}
                done.append(("setups", i, "features"))
    try:
        return Job.model_validate(body, context={"units": units_of(document)})
    except ValidationError as error:
        if any(p.key == "units" and p.file == document.file for p in problems):
            done.append(("units",))
        problems += problems_of(error, document, model=Job, without=done)
        return None
