"""The job file as a JSON Schema, so that editors complete and underline what people type.

Made from the models that read a job. It says what each value may look like; what hangs on other keys (a drop that
takes all the wood) is for `neckpath check`.
"""

from __future__ import annotations

import types
import typing
from collections.abc import Sequence
from typing import Annotated, Any, Literal

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from toolpaths.common import units
from toolpaths.features.kinds import FEATURES
from toolpaths.job import holes
from toolpaths.job.bit import Bit
from toolpaths.job.bits import BITS
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Instrument, Job, Setup
from toolpaths.job.place import Along
from toolpaths.reports.reference.keys import typed_name

Schema = dict[str, Any]

_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_LENGTH_TEXT = r'^\s*[+-]?\s*(\d+[ \t]+\d+/\d+|\d+/\d+|\d+(\.\d*)?|\.\d+)\s*(mm|in|inch|inches|")?\s*$'
_FRET_TEXT = r"^\s*[Ff][Rr][Ee][Tt]\s+\d{1,2}\s*$"
_BIT_NAME = "^[A-Za-z0-9][A-Za-z0-9 _-]{0,39}$"
_LIMITS = {
    "gt": "exclusiveMinimum",
    "ge": "minimum",
    "lt": "exclusiveMaximum",
    "le": "maximum",
}
_OF_TEXT = {"min_length": "minLength", "max_length": "maxLength"}
_OF_LISTS = {"min_length": "minItems", "max_length": "maxItems"}


_OFTEN_ABSENT = {(Setup, "nut_at")}
"""Required of most, but not of all."""


def job_schema() -> Schema:
    """The schema of a job file, JSON Schema 2020-12."""
    maker = _Maker()
    whole = maker.keys_of(Job)
    whole["properties"]["instrument"] = {
        "description": whole["properties"]["instrument"].get("description", ""),
        "anyOf": [{"type": "string"}, maker.model(Instrument)],
    }
    whole["properties"]["bits"] = _bits(maker, whole["properties"]["bits"].get("description", ""))
    whole["required"] = [key for key in whole["required"] if key != "bits"]
    return {"$schema": _DIALECT, "title": "A job for neckpath", **whole, "$defs": maker.definitions}


def _bits(maker: _Maker, words: str) -> Schema:
    """Bits by name: one of a shape, or without a shape some keys that amend one of the rack."""
    shapes = []
    amends: dict[str, Schema] = {}
    for shape, kind in BITS.items():
        own = maker.keys_of(kind)
        own["properties"]["shape"] = {"const": shape, "description": _first_sentence(kind)}
        amends.update({k: v for k, v in own["properties"].items() if k != "shape"})
        name = f"bit-{shape}".replace(" ", "-")
        maker.definitions[name] = own
        shapes.append({"$ref": f"#/$defs/{name}"})
    amended = {"type": "object", "properties": amends, "additionalProperties": False}
    chosen = {"if": {"required": ["shape"]}, "then": {"oneOf": shapes}, "else": amended}
    return {
        "type": "object",
        "description": words or Bit.__doc__,
        "patternProperties": {_BIT_NAME: {"type": "object", **chosen}},
        "additionalProperties": False,
    }


class _Maker:
    """Collects the definitions of models while they are named."""

    def __init__(self) -> None:
        self.definitions: dict[str, Schema] = {}

    def keys_of(self, model: type[BaseModel]) -> Schema:
        """A model as a mapping of its keys, no others."""
        properties: dict[str, Schema] = {}
        required: list[str] = []
        for name, field in model.model_fields.items():
            key = typed_name(name, field)
            properties[key] = self._field(model, field)
            if field.is_required() and (model, key) not in _OFTEN_ABSENT:
                required.append(key)
        return {"type": "object", "properties": properties, "required": required, "additionalProperties": False}

    def model(self, model: type[BaseModel]) -> Schema:
        """A reference to a model's definition."""
        name = model.__name__
        if name not in self.definitions:
            self.definitions[name] = {}
            self.definitions[name] = {"description": _first_sentence(model), **self.keys_of(model)}
        return {"$ref": f"#/$defs/{name}"}

    def _field(self, model: type[BaseModel], field: FieldInfo) -> Schema:
        if model is Job and field.annotation is not None and "bits" in str(field.annotation):
            return {"description": field.description or ""}
        found = self.value(field.annotation, field.metadata)
        if field.description:
            found = {"description": field.description, **found}
        if not field.is_required() and isinstance(field.default, bool | int | float | str):
            found["default"] = field.default
        return found

    def value(self, annotation: Any, metadata: Sequence[Any]) -> Schema:
        """What a value may look like."""
        limits = list(metadata)
        while typing.get_origin(annotation) is Annotated:
            annotation, *more = typing.get_args(annotation)
            limits += more
        limits += [inner for m in limits if isinstance(m, FieldInfo) for inner in m.metadata]
        names = {getattr(getattr(m, "func", None), "__qualname__", "") for m in limits}
        form = next((form for name, form in self._forms().items() if name in names), None)
        if form is not None:
            return form
        origin, inner = typing.get_origin(annotation), typing.get_args(annotation)
        if origin in (typing.Union, types.UnionType):
            return _any_of([self.value(a, metadata) for a in inner if a is not type(None)])
        if origin is Literal:
            return {"enum": list(inner)}
        if origin is tuple:
            return self._list(inner, limits)
        if origin is not None and issubclass(origin, typing.Mapping):
            return {"type": "object"}
        if isinstance(annotation, type) and issubclass(annotation, FeatureKeys):
            return self._features()
        if isinstance(annotation, type) and issubclass(annotation, holes.HolePlace):
            pair = self._list((Along, units.Length), [])
            return _any_of([pair, self.model(annotation)])
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            return self.model(annotation)
        return _plain(annotation, limits)

    def _list(self, inner: tuple[Any, ...], limits: Sequence[Any]) -> Schema:
        if len(inner) == 2 and inner[1] is ...:
            return {"type": "array", "items": self.value(inner[0], ()), **_limits(limits, _OF_LISTS)}
        count = len(inner)
        items = [self.value(a, ()) for a in inner]
        return {"type": "array", "prefixItems": items, "items": False, "minItems": count, "maxItems": count}

    def _features(self) -> Schema:
        """One feature: its key, and below it its own."""
        for key, kind in FEATURES.items():
            if key not in self.definitions:
                self.definitions[key] = {}
                self.definitions[key] = {"description": _first_sentence(kind), **self.keys_of(kind)}
        return {
            "type": "object",
            "properties": {key: {"$ref": f"#/$defs/{key}"} for key in FEATURES},
            "additionalProperties": False,
            "minProperties": 1,
            "maxProperties": 1,
        }

    def _forms(self) -> dict[str, Schema]:
        """Values that are typed in a form of their own, by the name of what reads them."""
        size, part = _length(units._positive, ()), {"type": "number", "minimum": 0, "maximum": 1}
        whole = {"type": "integer", "minimum": 0}
        pairs = {"type": "array", "prefixItems": [part, part], "items": False, "minItems": 2}
        return {
            "_width": {
                "type": "object",
                "properties": {"nut": size},
                "patternProperties": {"^([1-9]|[1-5][0-9]|60|end)$": size},
                "required": ["nut"],
                "additionalProperties": False,
                "minProperties": 2,
                "maxProperties": 2,
            },
            "_thickness": _any_of(
                [
                    size,
                    {
                        "type": "object",
                        "properties": {"min": size, "max": size},
                        "required": ["min", "max"],
                        "additionalProperties": False,
                    },
                ]
            ),
            "_stations": {
                "type": "object",
                "patternProperties": {"^([0-9]|[1-5][0-9]|60)$": size},
                "additionalProperties": False,
                "minProperties": 1,
                "maxProperties": 12,
            },
            "_back": _any_of(
                [{"enum": ["round", "soft vee"]}, {"type": "array", "items": pairs, "minItems": 2}],
            ),
            "_sides": _any_of([whole, {"type": "array", "items": whole, "minItems": 2, "maxItems": 2}]),
            "_several": _any_of(
                [
                    {"enum": ["slots sawn before radiusing"]},
                    {"type": "array", "items": {"enum": ["slots sawn before radiusing"]}},
                ]
            ),
            "_level_head": {"not": {}},
        }


def _any_of(some: list[Schema]) -> Schema:
    return some[0] if len(some) == 1 else {"anyOf": some}


_LENGTHS: dict[Any, Schema] = {
    units._positive: {"exclusiveMinimum": 0},
    units._not_negative: {"minimum": 0},
    units._from_job: {},
}


def _length(check: Any, limits: Sequence[Any]) -> Schema:
    """A number in the job's units, or text with its own. Limits are in mm, and bare numbers may be inches."""
    return {"anyOf": [{"type": "number", **_LENGTHS[check]}, {"type": "string", "pattern": _LENGTH_TEXT}]}


def _plain(annotation: Any, limits: Sequence[Any]) -> Schema:
    check = next((m.func for m in limits if getattr(m, "func", None) in _LENGTHS), None)
    if check is not None:
        return _length(check, limits)
    if annotation is Along:
        return _any_of([_length(units._from_job, ()), {"type": "string", "pattern": _FRET_TEXT}])
    if annotation is bool:
        return {"type": "boolean"}
    if annotation is int:
        return {"type": "integer", **_limits(limits, _LIMITS)}
    if annotation is float:
        return {"type": "number", **_limits(limits, _LIMITS)}
    if annotation is str:
        found: Schema = {"type": "string", **_limits(limits, _OF_TEXT)}
        pattern = next((p for m in limits if isinstance(p := getattr(m, "pattern", None), str)), None)
        return {**found, "pattern": pattern} if pattern else found
    return {}


def _limits(limits: Sequence[Any], names: dict[str, str]) -> Schema:
    out: Schema = {}
    for m in limits:
        for attribute, name in names.items():
            value = getattr(m, attribute, None)
            if value is not None:
                out[name] = value
    return out


def _first_sentence(model: type[BaseModel]) -> str:
    return " ".join((model.__doc__ or "").split("\n\n")[0].split())
