"""The job hash, by which programs, report and `verify` identify a job."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from enum import Enum
from typing import Any

from toolpaths.job.jig import Jig, ServedSetup
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.wood import Wood

_OF_WOOD = ("name", "janka", "density", "sensitises")
"""What of a wood may change a program."""


def hash_of(
    job: Job,
    machine: Machine,
    wood: Wood,
    drawings: Mapping[str, str] | None = None,
    served: Sequence[ServedSetup] = (),
    jigs: Mapping[str, Jig] | None = None,
) -> str:
    """12 hex digits that change with anything that may change a program, and with nothing else of the file.

    `drawings`: the mark of each drawing's content, by the name that the job gives it. `served`, `jigs`: what was read
    of other jobs.
    """
    whole = job.model_dump(mode="json", exclude={"bits", "machine", "wood", "setups", "moisture", "by_hand", "saw"})
    del whole["instrument"]["string_run"]
    neck = job.instrument.neck
    if neck is not None:
        # What rod and bars say of a channel stands in its feature; the body's pocket is cut by no program.
        for aside in ("rod", "bars", *(("volute",) if neck.volute is None else ())):
            del whole["instrument"]["neck"][aside]
        if neck.heel is not None:
            del whole["instrument"]["neck"]["heel"]["pocket"]
    # How deep the hand saws, and when, is no business of a program.
    whole["saw"] = job.saw.model_dump(mode="json", exclude={"depth"})
    whole["setups"] = [
        {
            **setup.model_dump(mode="json", exclude={"features", *(() if setup.placed else ("placed", "play"))}),
            "features": [{f.key: f.model_dump(mode="json")} for f in setup.features],
        }
        for setup in job.setups
    ]
    used = sorted({name for setup in job.setups for f in setup.features for name in f.bits})
    whole["bits"] = {name: job.bits[name].model_dump(mode="json") for name in used}
    # A key that is left out and one that says the usual are the same machine.
    whole["machine"] = machine.model_dump(mode="json", exclude_defaults=True)
    whole["wood"] = {key: getattr(wood, key) for key in _OF_WOOD}
    if drawings:
        whole["drawings"] = dict(drawings)
    if job.serves is None:
        del whole["serves"]
    if served:
        whole["served"] = [one.cut for one in served]
    if jigs:
        whole["jigs"] = {name: asdict(jig) for name, jig in jigs.items()}
    text = json.dumps(whole, sort_keys=True, separators=(",", ":"), default=_plain)
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:12]


def _plain(value: Any) -> Any:
    """What JSON has no form for, in one that changes with it."""
    if isinstance(value, Enum):
        return value.value
    raise TypeError(f"no plain form of {value!r}")
