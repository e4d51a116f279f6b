"""What may stand in a job, key by key, in words: the kind of value, its limits, and what holds where it is absent.

Read from the schema of the models that read a job, so that it cannot say anything else than they do.
"""

from __future__ import annotations

import re
import typing
from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from toolpaths.common.units import KIND
from toolpaths.job.place import Along, HolePlace
from toolpaths.reports.reference.schema import Schema, definitions_of_all, definitions_of_machine

_PLAIN = {"boolean": "`true`, `false`", "integer": "whole number", "string": "text", "number": "number"}


def typed_name(name: str, field: FieldInfo) -> str:
    """A key as people type it."""
    return field.alias or name


def default_words(value: Any, kind: str) -> str:
    """What holds where a key is absent, as it would be typed."""
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


def parted(description: str) -> tuple[str, str]:
    """A description without what it says of an absent key, and that: `Below the face; through if absent.`"""
    found = re.fullmatch(r"(?:(?P<words>.*)[;.] |)(?P<absent>[^;.]*?),? if absent\.?", description)
    found = found or re.fullmatch(r"(?P<words>.*)[;.] absent: (?P<absent>[^;]*?)\.?", description)
    if found is None:
        return description, ""
    words = found["words"] or ""
    return f"{words}." if words and not words.endswith(".") else words, found["absent"]


def models_in(model: type[BaseModel], name: str) -> Iterator[type[BaseModel]]:
    """The models whose keys stand below a key; none where it is written in a form of its own."""
    if KIND not in _schema(model, name):
        yield from _models(model.model_fields[name].annotation)


def kind_of(model: type[BaseModel], name: str) -> str:
    """What may be given for a key: its type and its limits in words."""
    kind = _kind(_schema(model, name))
    # A limit of a length is in mm, whatever the job's units: it stands in no schema.
    most = [m.le for m in model.model_fields[name].metadata if getattr(m, "le", None) is not None]
    return f"{kind}, at most {most[0]:g} mm" if most and kind.startswith("length") else kind


def _schema(model: type[BaseModel], name: str) -> Schema:
    found: Schema = _definitions()[model.__name__]["properties"][typed_name(name, model.model_fields[name])]
    return found


def _definitions() -> dict[str, Schema]:
    """Every model of a job and of a machine file by its name: no two have the same."""
    return {**definitions_of_machine(), **definitions_of_all()}


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        if not issubclass(annotation, HolePlace):
            yield annotation
        return
    for inner in typing.get_args(annotation):
        yield from _models(inner)


def _kind(schema: Schema) -> str:
    if KIND in schema:
        return str(schema[KIND])
    if "$ref" in schema:
        return _kind(_definitions()[schema["$ref"].rsplit("/", 1)[1]])
    if "allOf" in schema:
        return _kind(schema["allOf"][0])
    if "anyOf" in schema:
        return "; or ".join(dict.fromkeys(_kind(inner) for inner in schema["anyOf"]))
    if "enum" in schema or "const" in schema:
        return ", ".join(f"`{v}`" for v in schema.get("enum", [schema.get("const")]))
    if "properties" in schema:
        names = list(schema["properties"])
        return f"`{{{', '.join(names)}}}`" if len(names) <= 6 else "keys of its own, see below"
    if schema.get("type") == "object":
        return "names, and below each a bit"
    if "prefixItems" in schema:
        return "[" + ", ".join(_kind(inner) for inner in schema["prefixItems"]) + "]"
    if "items" in schema:
        return "list of " + re.sub("^(place|whole number|text)", r"\1s", _kind(schema["items"]))
    return ", ".join([_PLAIN.get(schema.get("type", ""), "anything"), *_ranges(schema)])


def _ranges(schema: Schema) -> Iterator[str]:
    least, most = schema.get("minimum", schema.get("ge")), schema.get("maximum", schema.get("le"))
    above, below = schema.get("exclusiveMinimum", schema.get("gt")), schema.get("exclusiveMaximum", schema.get("lt"))
    if "maxLength" in schema:
        yield f"{schema.get('minLength', 0)} to {schema['maxLength']} characters"
    if least is not None:
        yield f"{least:g} to {most:g}" if most is not None else f"{least:g} or more"
    elif above is not None:
        yield f"above {above:g}"
    if most is not None and least is None:
        yield f"at most {most:g}"
    if below is not None:
        yield f"below {below:g}"
