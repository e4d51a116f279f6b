"""Machine files: where they are kept, and how one is read."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from pydantic import ValidationError

from toolpaths.common.errors import JobError, Problem
from toolpaths.common.plain_file import Stamp, stamp_of
from toolpaths.common.units import Units
from toolpaths.job.files.document import Document
from toolpaths.job.files.likely_words import did_you_mean
from toolpaths.job.files.problems import problems_of
from toolpaths.job.files.yaml_text import read_document
from toolpaths.job.machine import Machine

RACK = "bits"
"""Stem of the file beside the machines that holds the rack of bits."""


def machine_folder() -> Path:
    """The folder of the shipped machine files: inside the package as installed, beside it in a clone."""
    package = Path(__file__).resolve().parents[2]
    inside = package / "machines"
    return inside if inside.is_dir() else package.parent / "machines"


def machine_paths() -> dict[str, Path]:
    """The shipped machine files by name, sorted."""
    return {p.stem: p for p in sorted(machine_folder().glob("*.yaml")) if p.stem != RACK}


def machine_path(name_or_path: str, beside: Path | None = None) -> Path | None:
    """Where a machine's file is: a shipped one by name, else a path from the folder `beside`; None where neither."""
    shipped = machine_paths().get(name_or_path)
    if shipped is not None:
        return shipped
    if "/" in name_or_path or "\\" in name_or_path or name_or_path.endswith((".yaml", ".yml")):
        return (beside or Path()) / name_or_path
    return None


def load_machine(name_or_path: str, beside: Path | None = None) -> Machine:
    """A machine by name, or from a file whose path counts from the folder `beside`.

    Raises JobError with every problem of the file, or where there is none of that name.
    """
    path = machine_path(name_or_path, beside)
    if path is None:
        raise JobError([Problem(name_or_path[:60], 0, 0, "", "no machine of this name", machine_hint(name_or_path))])
    return read_machine(path)


def read_machine(path: Path) -> Machine:
    """The machine in a file. Raises JobError with every problem found."""
    return _machine(path, stamp_of(path))


@lru_cache(maxsize=16)
def _machine(path: Path, _: Stamp) -> Machine:
    document = read_document(path)
    try:
        return Machine.model_validate(document.data, context={"units": units_of(document)})
    except ValidationError as error:
        raise JobError(problems_of(error, document, model=Machine)) from None


def machine_hint(name: str) -> str:
    """What to write for a machine that is not known."""
    return did_you_mean(name, machine_paths(), "machines", "name a file of your own, such as my-router.yaml")


def units_of(document: Document, default: Units = "mm") -> Units:
    """The units of a file's bare numbers; `default` where it does not say."""
    units = document.data.get("units", default)
    return "in" if units == "in" else "mm"


def units_problems(document: Document) -> list[Problem]:
    """Faults of the `units` at the top of a file, where it has them."""
    units = document.data.get("units")
    if units in (None, "mm", "in"):
        return []
    return [document.problem(("units",), "units are mm or in", did_you_mean(units, ("mm", "in"), "choose from"))]
