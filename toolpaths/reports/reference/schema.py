"""The job file as a JSON Schema, so that editors complete and underline what people type.

Made by pydantic from the models that read a job. It says what each value may look like; what hangs on other keys (a
drop that takes all the wood) is for `neckpath check`.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, models_json_schema
from pydantic_core import core_schema

from toolpaths.common.units import KIND
from toolpaths.features.kinds import FEATURES
from toolpaths.job.bits import BITS
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine

Schema = dict[str, Any]

_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_BIT_NAME = "^[A-Za-z0-9][A-Za-z0-9 _-]{0,39}$"
_WHOLE = {"type": "integer", "minimum": 0}
_KEYWORDS = {"gt": "exclusiveMinimum", "ge": "minimum", "lt": "exclusiveMaximum", "le": "maximum"}
"""Pydantic leaves its own words for limits of a number whose reader is the project's own."""


def job_schema() -> Schema:
    """The schema of a job file, JSON Schema 2020-12."""
    definitions = {name: _bare(found) for name, found in definitions_of_all().items()}
    whole = definitions.pop(Job.__name__)
    keys = whole["properties"]
    instrument = {"$ref": "#/$defs/Instrument"}
    keys["instrument"] = {"description": keys["instrument"]["description"], "anyOf": [{"type": "string"}, instrument]}
    keys["bits"] = {"description": keys["bits"]["description"], **_bits(definitions)}
    # What is left out of most jobs: the rack's bits are there, and a piece of its own has no nut.
    whole["required"].remove("bits")
    # A jig's instrument is that of the jobs that lie on it.
    whole["required"].remove("instrument")
    whole["if"] = {"properties": {"part": {"const": "jig"}}, "required": ["part"]}
    whole |= {"then": {"required": ["for"]}, "else": {"required": ["instrument"]}}
    definitions["Setup"]["required"].remove("nut_at")
    definitions["FeatureKeys"] = {
        "type": "object",
        "properties": {key: {"$ref": f"#/$defs/{kind.__name__}"} for key, kind in FEATURES.items()},
        "additionalProperties": False,
        "minProperties": 1,
        "maxProperties": 1,
    }
    return {"$schema": _DIALECT, **whole, "title": "A job for neckpath", "$defs": definitions}


@cache
def definitions_of_all() -> dict[str, Schema]:
    """The schema of every model of a job by its name; what a value is in words stands under `KIND`."""
    models: list[type[BaseModel]] = [Job, FeatureKeys, *FEATURES.values(), *BITS.values()]
    _, whole = models_json_schema([(model, "validation") for model in models], schema_generator=_Generator)
    found: dict[str, Schema] = whole["$defs"]
    # How these two are typed is known to the readers of their features alone.
    found["Layout"]["properties"]["per_side"] |= {
        "anyOf": [_WHOLE, {"type": "array", "items": _WHOLE, "minItems": 2, "maxItems": 2}],
        KIND: "whole number, or `[treble side, bass side]`",
    }
    for key in ("type", "prefixItems", "minItems", "maxItems"):
        del found["Layout"]["properties"]["per_side"][key]
    found["HeadstockFace"]["properties"]["angle"] |= {"not": {}, KIND: "nothing: it is refused"}
    return found


@cache
def definitions_of_machine() -> dict[str, Schema]:
    """The schema of every model of a machine file by its name."""
    _, whole = models_json_schema([(Machine, "validation")], schema_generator=_Generator)
    found: dict[str, Schema] = whole["$defs"]
    return found


class _Generator(GenerateJsonSchema):
    """As people type a job: a key is left out, never empty, and defaults are plain values."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        return False

    def nullable_schema(self, schema: core_schema.NullableSchema) -> Schema:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> Schema:
        found, default = self.generate_inner(schema["schema"]), schema.get("default")
        return {**found, "default": default} if isinstance(default, bool | int | float | str) else found


def _bits(definitions: dict[str, Schema]) -> Schema:
    """Bits by name: one of a shape, or without a shape some keys that amend one of the rack."""
    amends: dict[str, Schema] = {}
    shapes = []
    for kind in BITS.values():
        own = definitions[kind.__name__]
        own["properties"]["shape"]["description"] = own["description"]
        amends |= {key: value for key, value in own["properties"].items() if key != "shape"}
        shapes.append({"$ref": f"#/$defs/{kind.__name__}"})
    amended = {"type": "object", "properties": amends, "additionalProperties": False}
    chosen = {"if": {"required": ["shape"]}, "then": {"oneOf": shapes}, "else": amended}
    return {
        "type": "object",
        "patternProperties": {_BIT_NAME: {"type": "object", **chosen}},
        "additionalProperties": False,
    }


def _bare(schema: Any) -> Any:
    """A copy in the words of JSON Schema alone; of a description its first part."""
    if isinstance(schema, list):
        return [_bare(inner) for inner in schema]
    if not isinstance(schema, dict):
        return schema
    found = {_KEYWORDS.get(key, key): _bare(inner) for key, inner in schema.items() if key != KIND}
    if isinstance(words := found.get("description"), str):
        found["description"] = " ".join(words.split("\n\n")[0].split())
    return found
