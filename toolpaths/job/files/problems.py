"""Turn validation errors into problems with a place, in plain words; format a problem for people."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from toolpaths.common.errors import Problem
from toolpaths.common.input_model import FaultAt
from toolpaths.common.units import decimal_comma
from toolpaths.job.files.document import Document, KeyPath, describe
from toolpaths.job.files.key_places import advice, file_of, in_words, typed_names
from toolpaths.job.files.likely_words import did_you_mean, most_similar

_WIDEST = 160
_MOST = 200
"""More faults of one model than anybody mends at once."""


def problems_of(
    error: ValidationError,
    document: Document,
    at: KeyPath = (),
    model: type[BaseModel] | None = None,
    without: Collection[KeyPath] = (),
) -> list[Problem]:
    """Every fault of a refused model as a problem of the document that it was read from; at most a few hundred.

    `at` is where the model's mapping stands in the document; `model` the class that refused it, for its keys;
    `without` what is told elsewhere.
    """
    found: dict[Problem, None] = {}
    missing: dict[KeyPath, Problem] = {}
    misspelt: set[KeyPath] = set()
    data = document.get(at)
    for fault in _chosen(error, data):
        if len(found) >= _MOST:
            break
        path, given = _place(fault, data, model)
        if any(path[: len(told)] == told for told in without):
            continue
        inside = _model_at(model, fault["loc"][:-1])
        if fault["type"] in ("extra_forbidden", "invalid_key"):
            words, hint, on_key = "this key is not known here", _where_right(document, at + path, inside, model), True
        else:
            words, hint, on_key = _in_words(fault, given, inside, path)
        problem = document.problem(at + path, words, hint, on_key=on_key)
        found[problem] = None
        if fault["type"] == "missing":
            missing[path] = problem
        elif fault["type"] == "extra_forbidden" and inside is not None:
            misspelt.add((*path[:-1], most_similar(path[-1], typed_names(inside))))
    # A key that is only misspelt is not missing as well.
    return [p for p in found if all(p is not missing.get(path) for path in misspelt)]


def render(problem: Problem) -> str:
    """A problem for people: `FILE:LINE:COLUMN: key: problem` (never wrapped), the line, a mark, the hint."""
    place = f"{problem.file}:{problem.line}:{problem.column}" if problem.line else problem.file
    lines = [_printable(": ".join(part for part in (place, problem.key, problem.problem) if part))]
    if problem.line and problem.source.strip():
        # A window of a very long line, so that the mark stays in sight.
        start = max(0, problem.column - _WIDEST // 2) if len(problem.source) > _WIDEST else 0
        source = _printable(problem.source[start : start + _WIDEST])
        lines += [f"    {source.rstrip()}", f"    {' ' * (problem.column - 1 - start)}^"]
    if problem.hint:
        lines.append(f"    {_printable(problem.hint)}")
    return "\n".join(lines)


# Private


def _printable(text: str) -> str:
    """A text of the same length without control characters."""
    return "".join(c if c.isprintable() else " " for c in text)


def _chosen(error: ValidationError, data: Any) -> list[Mapping[str, Any]]:
    """The faults that count: where a value may be of several kinds, those of the kind that it looks like."""
    faults: list[Mapping[str, Any]] = list(error.errors(include_url=False))
    groups: dict[tuple[Any, ...], tuple[Any, dict[Any, None]]] = {}
    for fault in faults:
        for i, step, value in _labels(fault, data):
            groups.setdefault(fault["loc"][:i], (value, {}))[1][step] = None
    # A list whose items are all at fault is called too short as well: not a fault of its own.
    faults = [f for f in faults if f["type"] != "too_short" or not any(_within(g["loc"], f["loc"]) for g in faults)]
    for before, (value, labels) in groups.items():
        if len(labels) < 2:
            continue
        keep = {label for label in labels if _looks_like(str(label), value)} or {next(iter(labels))}
        n = len(before)
        faults = [f for f in faults if f["loc"][:n] != before or len(f["loc"]) <= n or f["loc"][n] in keep]
    return faults


def _within(loc: tuple[Any, ...], outer: tuple[Any, ...]) -> bool:
    return len(loc) > len(outer) and loc[: len(outer)] == outer


def _looks_like(label: str, value: Any) -> bool:
    """Whether a union's label (a class name, or a description of a plain kind) fits a value."""
    plain = {
        str: ("str", "literal"),
        bool: ("bool",),
        int: ("int", "float", "function"),
        float: ("float", "function"),
        list: ("tuple", "list", "function-before[_tuple"),
    }
    if isinstance(value, dict):
        return re.fullmatch(r"[A-Z]\w*", label) is not None or label.startswith("dict")
    if isinstance(value, str) and label.startswith("function"):
        return not label.startswith("function-before[_tuple")
    return any(label.startswith(begin) for begin in plain.get(type(value), ()))


def _labels(fault: Mapping[str, Any], data: Any) -> Iterator[tuple[int, Any, Any]]:
    """(index, step, value there) of each step of a fault's location that names a kind of value and no place."""
    loc, value = fault["loc"], data
    for i, step in enumerate(loc):
        inner = _step(value, step)
        if inner is not None:
            value = inner[0]
        elif i < len(loc) - 1 or fault["type"] != "missing":
            yield i, step, value


def _step(value: Any, step: Any) -> tuple[Any] | None:
    """The value one step on, in a tuple; None where there is none."""
    if isinstance(value, dict):
        return (value[step],) if step in value else None
    if isinstance(value, list | tuple) and isinstance(step, int) and 0 <= step < len(value):
        return (value[step],)
    return None


def _place(fault: Mapping[str, Any], data: Any, model: type[BaseModel] | None) -> tuple[KeyPath, Any]:
    """The key path that a fault means, and the value that stands there (None where there is none)."""
    loc = fault["loc"]
    path: list[str | int] = []
    value = data
    for i, step in enumerate(loc):
        inner = _step(value, step)
        if inner is None and isinstance(value, dict) and fault["type"] != "missing":
            other = _renamed(step, value, _model_at(model, loc[:i]))
            if other is not None:
                step, inner = other, (value[other],)
        if inner is not None:
            path.append(step if isinstance(value, list | tuple) else str(step))
            value = inner[0]
        elif i == len(loc) - 1 and fault["type"] == "missing" and isinstance(step, str):
            return (*path, step), None
    reason = fault.get("ctx", {}).get("error")
    return (*path, *(reason.at if isinstance(reason, FaultAt) else ())), value


def _renamed(step: Any, value: dict[Any, Any], model: type[BaseModel] | None) -> Any:
    """The one key of the data that the model knows by another name (`12` in `width: {nut: 42, 12: 52}`)."""
    if model is None or step not in model.model_fields:
        return None
    foreign = [k for k in value if k not in model.model_fields]
    return foreign[0] if len(foreign) == 1 and len(value) < len(model.model_fields) else None


def _model_at(model: type[BaseModel] | None, loc: tuple[Any, ...]) -> type[BaseModel] | None:
    """The model class at a location inside another, None where there is none."""
    for step in loc:
        if model is None:
            return None
        if isinstance(step, int) or step == model.__name__:
            continue
        info = model.model_fields.get(str(step))
        if info is None:
            continue
        model = _model_in(info.annotation)
    return model


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    origin = get_origin(annotation)
    if origin is Annotated:
        return _model_in(get_args(annotation)[0])
    if origin in (Union, UnionType, tuple, list, dict):
        return next((m for a in get_args(annotation) if (m := _model_in(a)) is not None), None)
    return None


def _where_right(
    document: Document, path: KeyPath, inside: type[BaseModel] | None, whole: type[BaseModel] | None
) -> str:
    """What is meant by an unknown key, and where it belongs."""
    known = typed_names(inside) if inside is not None else []
    word, file = str(path[-1]) if path else "", file_of(whole)
    return in_words(advice(word, known, document, path, file), word, known, file)


def _in_words(
    fault: Mapping[str, Any], given: Any, model: type[BaseModel] | None, path: KeyPath
) -> tuple[str, str, bool]:
    """(what is wrong, hint, whether the key itself is at fault)."""
    kind: str = fault["type"]
    context: Mapping[str, Any] = fault.get("ctx", {})
    if kind == "missing":
        if isinstance(fault["loc"][-1], int):
            return "this list has too few entries", "", False
        info = model.model_fields.get(str(path[-1])) if model is not None and path else None
        what = (info.description or "").rstrip(".") if info is not None else ""
        return "is missing", f"add it: {what[0].lower()}{what[1:]}" if what else "add it", True
    if kind == "value_error":
        reason = context.get("error", "not a value that can be used")
        return str(reason), "", isinstance(reason, FaultAt)
    if kind in ("literal_error", "enum"):
        choices = re.findall(r"'((?:[^'\\]|\\.)*)'", str(context.get("expected", ""))) or [str(context.get("expected"))]
        wrong = f"{describe(given)} is not one of the choices"
        return wrong, did_you_mean(given, choices, "choose from"), False
    comma = decimal_comma(given) if isinstance(given, str) and kind in _NUMBERS else ""
    if comma:
        return comma, "", False
    words = _WORDS.get(kind, "{given} cannot be used here")
    return words.format(given=describe(given), **context), "", False


_NUMBERS = frozenset(("int_type", "int_from_float", "int_parsing", "float_type", "float_parsing"))
"""Faults of what should be a number."""
_WORDS = {
    **dict.fromkeys(("int_type", "int_from_float", "int_parsing"), "write a whole number, not {given}"),
    "int_parsing_size": "write a smaller number, not {given}",
    **dict.fromkeys(("float_type", "float_parsing"), "write a number, not {given}"),
    "finite_number": "must be a finite number",
    "string_type": "write text, not {given}",
    **dict.fromkeys(("bool_type", "bool_parsing"), "write true or false, not {given}"),
    "greater_than": "must be more than {gt:g}",
    "greater_than_equal": "must be at least {ge:g}",
    "less_than": "must be less than {lt:g}",
    "less_than_equal": "must be at most {le:g}",
    "string_too_short": "must not be empty",
    "string_too_long": "must not be longer than {max_length} characters",
    "string_pattern_mismatch": "{given} has characters that cannot be used here",
    "too_short": "must hold at least {min_length}",
    "too_long": "must hold at most {max_length}",
    **dict.fromkeys(
        ("model_type", "model_attributes_type", "dict_type", "mapping_type"),
        "write keys and values here, not {given}",
    ),
    **dict.fromkeys(("tuple_type", "list_type"), "write a list, not {given}"),
}
"""What is wrong, by pydantic's type of fault: `given` is what stands there, the rest is pydantic's context."""
