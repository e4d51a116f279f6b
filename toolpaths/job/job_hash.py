"""The mark of a job: what its programs, its report and `verify` recognise each other by."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.wood import Wood

_LATE_OF_SETUP = ("stock", "wood", "stand")
"""Keys that setups took on later: a job without them keeps its mark."""
_OF_WOOD = ("name", "janka", "density", "sensitises")
"""What of a wood may change a program."""


def hash_of(job: Job, machine: Machine, wood: Wood, drawings: Mapping[str, str] | None = None) -> str:
    """12 hex digits that change with anything that may change a program, and with nothing else of the file.

    `drawings`: the mark of each drawing's content, by the name that the job gives it.
    """
    whole = job.model_dump(mode="json", exclude={"bits", "machine", "wood", "setups", "moisture", "by_hand", "saw"})
    # How deep the hand saws, and when, is no business of a program.
    whole["saw"] = job.saw.model_dump(mode="json", exclude={"depth"})
    # A key that is left out and one that says the usual are the same instrument.
    for key, usual in (("zero_fret", False), ("nut_compensation", 0.0)):
        if whole["instrument"][key] == usual:
            del whole["instrument"][key]
    if whole["instrument"]["board"]["binding"] == 0.0:
        del whole["instrument"]["board"]["binding"]
    whole["setups"] = [
        {
            **{
                key: value
                for key, value in setup.model_dump(mode="json", exclude={"features"}).items()
                if value is not None or key not in _LATE_OF_SETUP
            },
            "features": [{f.key: _keys(f)} for f in setup.features],
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
    text = json.dumps(whole, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:12]


def _keys(feature: FeatureKeys) -> dict[str, Any]:
    """A feature's keys. Without a key that its kind has taken on since, it is the same feature as before."""
    keys, late = feature.model_dump(mode="json"), feature.late
    return {key: value for key, value in keys.items() if key not in late or value != late[key]}
