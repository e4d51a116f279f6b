"""Bits in files: in the rack, and in a job that adds to it or changes it."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from pydantic import ConfigDict, TypeAdapter, ValidationError

from toolpaths.common.errors import JobError, Problem
from toolpaths.common.units import Units, decimal_comma, length, show
from toolpaths.job.bit import Bit
from toolpaths.job.files.document import Document, KeyPath, describe
from toolpaths.job.files.key_places import advice, in_words
from toolpaths.job.files.likely_words import did_you_mean, nearest
from toolpaths.job.files.problems import problems_of

BitChanges = Sequence[tuple[str, str]]
"""Pairs of a bit's name and another diameter, or the name of the bit that takes its place."""

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,39}")
_SUCH_AS = "such as my bit: {shape: flat, diameter: 3, cutting_length: 12, shank: 6, stickout: 25}"


def bits_in(
    document: Document, kinds: Mapping[str, type[Bit]], units: Units, rack: Mapping[str, Bit] | None = None
) -> tuple[dict[str, Bit], list[Problem]]:
    """(bits by name, problems) of the `bits` of a document; faulty bits are left out.

    `kinds`: the class of each shape; `units` of bare numbers; `rack`: bits that an entry without `shape` amends.
    """
    given = document.data.get("bits")
    if given is None:
        return {}, []
    if not isinstance(given, dict):
        return {}, [document.problem(("bits",), f"write bits by their names, not {describe(given)}", _SUCH_AS)]
    rack = rack or {}
    bits: dict[str, Bit] = {}
    problems: list[Problem] = []
    for key, entry in given.items():
        name, path = str(key), ("bits", str(key))
        if _NAME.fullmatch(name) is None:
            # File names are made of it.
            hint = "use at most 40 letters, figures, spaces, - and _, and begin with a letter or a figure"
            problems.append(document.problem(path, "this cannot be the name of a bit", hint, on_key=True))
        elif not isinstance(entry, dict):
            problems.append(document.problem(path, f"write keys and values here, not {describe(entry)}", _SUCH_AS))
        else:
            try:
                bits[name] = (
                    _amended(document, path, rack[name], units)
                    if name in rack and "shape" not in entry
                    else _whole(document, path, kinds, rack, units)
                )
            except JobError as error:
                problems += error.problems
    return bits, problems


def changed(
    bits: Mapping[str, Bit], used: Collection[str], changes: BitChanges, units: Units
) -> tuple[dict[str, Bit], list[Problem]]:
    """(bits, problems) after `--bit NAME=VALUE`; a VALUE names a bit as it was before. `used`: by features."""
    out = dict(bits)
    problems: list[Problem] = []
    for name, value in changes:
        try:
            out[name] = _other(bits, used, name, value.strip(), units)
        except ValueError as error:
            words, hint = (*error.args, "")[:2]
            problems.append(Problem("command line", 0, 0, f"--bit {name[:40]}={value[:40]}", words, hint))
    return out, problems


# Private


def _whole(
    document: Document, path: KeyPath, kinds: Mapping[str, type[Bit]], rack: Mapping[str, Bit], units: Units
) -> Bit:
    """One bit as written. Raises JobError with every problem of it."""
    entry: dict[Any, Any] = document.get(path)
    if "shape" not in entry:
        close = nearest(path[-1], rack)
        shapes = f"shapes: {', '.join(kinds)}"
        hint = f"did you mean `{close}` of the rack? {shapes}" if close else shapes
        raise JobError([document.problem((*path, "shape"), "is missing", hint, on_key=True)])
    shape = entry["shape"]
    kind = kinds.get(shape) if isinstance(shape, str) else None
    if kind is None:
        words, hint = f"{describe(shape)} is not a shape of bit", did_you_mean(shape, kinds, "shapes")
        raise JobError([document.problem((*path, "shape"), words, hint)])
    try:
        return kind.model_validate(entry, context={"units": units})
    except ValidationError as error:
        raise JobError(problems_of(error, document, path, kind)) from None


def _amended(document: Document, path: KeyPath, base: Bit, units: Units) -> Bit:
    """The rack's bit with other values. Raises JobError with every problem of them.

    The rack has units of its own, so each value is read alone, then all in mm.
    """
    kind = type(base)
    config = ConfigDict(strict=True, allow_inf_nan=False)
    values: dict[str, Any] = {}
    faults: list[Problem] = []
    for key, value in document.get(path).items():
        at = (*path, str(key))
        field = kind.model_fields.get(str(key))
        if field is None:
            meant = advice(str(key), kind.model_fields, document, at, "job")
            hint = in_words(meant, str(key), kind.model_fields, "job")
            faults.append(document.problem(at, "this key is not known here", hint, on_key=True))
            continue
        try:
            adapter: TypeAdapter[Any] = TypeAdapter(field.rebuild_annotation(), config=config)
            values[str(key)] = adapter.validate_python(value, context={"units": units})
        except ValidationError as error:
            faults += problems_of(error, document, at)
    if faults:
        raise JobError(faults)
    try:
        return kind.model_validate({**base.model_dump(), **values}, context={"units": "mm"})
    except ValidationError as error:
        raise JobError(problems_of(error, document, path, kind)) from None


def _other(bits: Mapping[str, Bit], used: Collection[str], name: str, value: str, units: Units) -> Bit:
    """The bit that takes the place of `name`. Raises ValueError(words, hint)."""
    if name not in bits:
        raise ValueError(f"no bit is called `{name[:40]}`", did_you_mean(name, sorted(used), "bits of this job"))
    if name not in used:
        raise ValueError("no feature of this job uses this bit", f"bits of this job: {', '.join(sorted(used))}")
    if value in bits:
        return bits[value]
    try:
        diameter = length(_number_or_text(value), units)
    except ValueError:
        wanted = "write a diameter, such as 0.8, 0.8mm or 1/32in"
        hint = decimal_comma(value) or did_you_mean(value, bits, "bits", wanted)
        raise ValueError("neither a bit nor a diameter", hint) from None
    if diameter <= 0:
        raise ValueError("a diameter must be more than 0", "such as 0.8, 0.8mm or 1/32in")
    bit = bits[name]
    # A test slot measured the old bit, not this one.
    try:
        changes = {"diameter": diameter, "measured_diameter": None}
        return type(bit).model_validate({**bit.model_dump(), **changes}, context={"units": "mm"})
    except ValidationError as error:
        words = "; ".join(str(e.get("ctx", {}).get("error", "it does not fit")) for e in error.errors())
        raise ValueError(f"the bit cannot have a diameter of {show(diameter, units)}: {words}") from None


def _number_or_text(value: str) -> float | str:
    return float(value) if re.fullmatch(r"[0-9]{1,12}(\.[0-9]{0,12})?|\.[0-9]{1,12}", value) else value
