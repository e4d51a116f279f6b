"""What may stand in a job, key by key, in words: the kind of value, its limits, and what holds where it is absent.

Read from the models that read a job, so that it cannot say anything else than they do.
"""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Iterator, Sequence
from typing import Annotated, Any, Literal

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from toolpaths.common import units
from toolpaths.job import holes
from toolpaths.job.place import Along


def typed_name(name: str, field: FieldInfo) -> str:
    """A key as people type it."""
    return field.alias or name


def default_words(value: Any, kind: str) -> str:
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, BaseModel):
        given = ", ".join(f"{typed_name(n, f)}: {getattr(value, n):g}" for n, f in type(value).model_fields.items())
        return f"`{{{given}}}`"
    if isinstance(value, float):
        return f"{value:g} mm" if kind.startswith("length") else f"{value:g}"
    if isinstance(value, tuple):
        return "`[" + ", ".join(f"{float(str(v).removesuffix(' mm')):g}" for v in value) + "]`"
    if isinstance(value, Along):
        return str(value).replace(".0 mm", " mm")
    return str(value) if isinstance(value, int) else f"`{value}`"


def models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        if not issubclass(annotation, holes.HolePlace):
            yield annotation
        return
    for inner in typing.get_args(annotation):
        yield from models_in(inner)


# The kind of value

FORMS: dict[type[Any], str] = {
    holes.HolePlace: "place: `[x, y]`, or `{x: 10, y: 0, diameter: 6}`",
    holes.PinPlace: "place: `[x, y]`, or `{x: 10, y: 0, diameter: 6, relief: 0.6}`",
    Along: "length, or a fret: `fret 12`",
}
"""Models that are written otherwise than key by key."""


def kind_of(annotation: Any, metadata: Sequence[Any]) -> str:
    """A type and its limits in words."""
    limits = list(metadata)
    while typing.get_origin(annotation) is Annotated:
        annotation, *more = typing.get_args(annotation)
        limits += more
    limits += [inner for m in limits if isinstance(m, FieldInfo) for inner in m.metadata]
    form = written(limits)
    if form:
        return form
    checks = {getattr(m, "func", None) for m in limits}
    origin, inner = typing.get_origin(annotation), typing.get_args(annotation)
    if origin in (typing.Union, types.UnionType):
        return "; or ".join(dict.fromkeys(kind_of(a, metadata) for a in inner if a is not type(None)))
    if origin is Literal:
        return ", ".join(f"`{v}`" for v in inner)
    if origin is tuple:
        if len(inner) == 2 and inner[1] is ...:
            return f"list of {_plural(kind_of(inner[0], ()))}"
        return "[" + ", ".join(kind_of(a, ()) for a in inner) + "]"
    if origin is dict:
        return "names, and below each a bit"
    if isinstance(annotation, type) and annotation in FORMS:
        return FORMS[annotation]
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        names = [typed_name(n, f) for n, f in annotation.model_fields.items()]
        return f"`{{{', '.join(names)}}}`" if len(names) <= 6 else "keys of its own, see below"
    return _plain(annotation, limits, checks)


def written(limits: Sequence[Any]) -> str:
    """The form of a value that has one of its own; empty where it has none."""
    names = (getattr(getattr(m, "func", None), "__qualname__", "") for m in limits)
    return next((_WRITTEN[name] for name in names if name in _WRITTEN), "")


def _plural(kind: str) -> str:
    return re.sub("^(place|whole number|text)", r"\1s", kind)


_LENGTHS = {units._positive: "above 0", units._not_negative: "0 or more", units._from_job: ""}


def _plain(annotation: Any, limits: Sequence[Any], checks: set[Any]) -> str:
    """A number, a length, text: with its limits."""
    found = next((f for f in _LENGTHS if f in checks), None)
    unit = " mm" if found is not None else ""
    said = [_LENGTHS[found]] if found is not None and _LENGTHS[found] else []
    ranges = _ranges(limits, unit, annotation is str)
    # A least value says more than "above 0".
    said = ([] if any(r[:1].isdigit() for r in ranges) else said) + ranges
    names = {bool: "`true`, `false`", int: "whole number", str: "text", float: "number"}
    name = "length" if found is not None else names.get(annotation, "anything")
    return ", ".join([name, *dict.fromkeys(said)])


def _ranges(limits: Sequence[Any], unit: str, text: bool) -> list[str]:
    values: dict[str, Any] = {}
    for m in limits:
        for attribute in ("gt", "ge", "lt", "le", "min_length", "max_length"):
            value = getattr(m, attribute, None)
            if value is not None:
                values[attribute] = value
        held = getattr(m, "func", None)
        if isinstance(held, units.Between):
            values |= {"ge": held.least, "le": held.most}
    out = []
    if text and "max_length" in values:
        out.append(f"{values.get('min_length', 0)} to {values['max_length']} characters")
    if "ge" in values and "le" in values:
        out.append(f"{values['ge']:g} to {values['le']:g}{unit}")
    elif "ge" in values:
        out.append(f"{values['ge']:g}{unit} or more")
    if "gt" in values and "ge" not in values:
        out.append(f"above {values['gt']:g}")
    if "le" in values and "ge" not in values:
        out.append(f"at most {values['le']:g}{unit}")
    if "lt" in values:
        out.append(f"below {values['lt']:g}{unit}")
    return out


_WRITTEN = {
    "_width": "`{nut: 42, 12: 52}` or `{nut: 42, end: 56}`: lengths, above 0",
    "_thickness": "length, or `{min: 7.8, max: 8.1}`",
    "_stations": "`{1: 20.5, 12: 22}`: lengths, above 0, at frets",
    "_back": "`round`, `soft vee`, or a profile of pairs `[part of half width, part of depth]`",
    "_sides": "whole number, or `[treble side, bass side]`",
    "_several": "`slots sawn before radiusing`, alone or in a list",
    "_level_head": "nothing: it is refused",
}
"""Values that are typed in a form of their own, by the name of what reads them."""
