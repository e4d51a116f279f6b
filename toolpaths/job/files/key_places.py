"""Where every key of a job, machine, instrument or found file belongs, from the models that read them.

A key that is not known at its place may be misspelt, or right at another place or in another file.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher, get_close_matches
from functools import cache
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BaseModel, WithJsonSchema

from toolpaths.common.units import KIND
from toolpaths.job.bit import Bit
from toolpaths.job.bits import BITS
from toolpaths.job.feature_keys import KINDS, FeatureKeys
from toolpaths.job.files.document import Document, KeyPath
from toolpaths.job.files.found_model import Found
from toolpaths.job.job import Instrument, Job
from toolpaths.job.machine import Machine

File = Literal["job", "machine", "instrument", "found"]

_ROOTS: dict[File, type[BaseModel]] = {"job": Job, "machine": Machine, "instrument": Instrument, "found": Found}
_FILES: dict[File, str] = {
    "job": "job file", "machine": "machine file", "instrument": "instrument file", "found": "file of measured values",
}  # fmt: skip
_ITEM, _NAME, _FEATURE = "[]", "NAME", "FEATURE"
"""Steps of a path that are no key: an entry of a list, a name that a person gives, any feature."""
_SUCH_AS = {_FEATURE: "plane"}
"""How such a step is written in an example."""
_MOST = 2
"""Places named at most: more would not help."""
_HERE, _SURE, _ELSEWHERE = 0.6, 0.8, 0.7
"""How alike two words are, of 1, so that one may be meant: at this place, at this place for sure, at another one."""


@dataclass(frozen=True, slots=True)
class Place:
    """A place where a key is right. `steps`: the keys around it, from the top; `inner`: the first key below it."""

    file: File
    steps: tuple[str, ...]
    key: str
    inner: str = ""

    def where(self, file: File) -> str:
        """Where it belongs, in words, for somebody who reads such a file."""
        within = self._within()
        if self.file == file:
            return within or f"at the top of the {_FILES[file]}"
        return f"in the {_FILES[self.file]}{f', {within}' if within else ''}"

    @property
    def example(self) -> str:
        """How it is written there."""
        text = f"{self.key}: {{{self.inner}: ...}}" if self.inner else f"{self.key}: ..."
        around, steps = self._parted()
        if around == "features":
            return f"- {text}"
        for step in reversed(steps):
            text = f"[{{{text}}}]" if step == _ITEM else f"{_SUCH_AS.get(step, step)}: {{{text}}}"
        return text.replace("{[", "[").replace("]}", "]") if _ITEM in steps else text

    def _parted(self) -> tuple[str, tuple[str, ...]]:
        """Around which thing it lies (a feature, a setup, nothing), and the steps within that."""
        if self.steps[:4] == ("setups", _ITEM, "features", _ITEM):
            return "feature" if len(self.steps) > 4 else "features", self.steps[4:]
        if self.steps[:2] == ("setups", _ITEM):
            return "setup", self.steps[2:]
        return "bit" if self.steps[:1] == ("bits",) else "", self.steps

    def _within(self) -> str:
        around, steps = self._parted()
        if around == "features":
            return "in the `features` of a setup"
        if around == "feature":
            feature = "a feature" if steps[0] == _FEATURE else f"the feature `{steps[0]}`"
            return f"under `{_dotted(steps[1:])}` of {feature}" if steps[1:] else f"in {feature}"
        if around == "setup":
            return f"under `{_dotted(steps)}` of a setup" if steps else "in a setup"
        if around == "bit":
            return "in a bit"
        return f"under `{_dotted(steps)}`" if steps else ""


@dataclass(frozen=True, slots=True)
class Advice:
    """What may be meant by a key. `near`: a key of this very place; `places`: where `key`, or one like it, is right."""

    near: str = ""
    key: str = ""
    places: tuple[Place, ...] = ()


def advice(word: str, known: Collection[str], document: Document, path: KeyPath, file: File) -> Advice:
    """What may be meant by a key that is unknown at a path of a file, where the keys `known` may stand."""
    word = word[:60]
    here = get_close_matches(word.lower(), list(known), 1, _HERE)
    near = here[0] if here else ""
    if near and _alike(word, near) >= _SURE:
        return Advice(near)
    places = _ranked(word, document, path, file)
    if places:
        # A key that is right elsewhere is hardly misspelt here, unless it is a part of one: `length`, `cutting_length`.
        return Advice(near if word.lower() in near else "", word, places)
    if near:
        return Advice(near)
    others = get_close_matches(word.lower(), list(every_place()), 1, _ELSEWHERE)
    return Advice(key=others[0], places=_ranked(others[0], document, path, file)) if others else Advice()


def in_words(found: Advice, word: str, known: Collection[str], file: File, what: str = "keys known here") -> str:
    """The advice as a hint: what is meant at this place, or where the key belongs."""
    if not found.places:
        return f"did you mean `{found.near}`?" if found.near else f"{what}: {', '.join(known)}"
    belongs = " or ".join(place.where(file) for place in found.places)
    written = " or ".join(f"`{place.example}`" for place in found.places)
    if found.near:
        return f"did you mean `{found.near}`? `{found.key}` belongs {belongs}: {written}"
    if found.key != word:
        return f"did you mean `{found.key}`? It belongs {belongs}: {written}"
    return f"`{found.key}` belongs {belongs}: {written}"


def file_of(model: type[BaseModel] | None) -> File:
    """Which kind of file a model reads the whole of; parts of a job are read by themselves."""
    return next((file for file, root in _ROOTS.items() if model is root), "job")


def every_place() -> dict[str, tuple[Place, ...]]:
    """Every key with all places where it is right."""
    return _catalogue(tuple(KINDS.items()))


def typed_names(model: type[BaseModel]) -> list[str]:
    """The keys of a model as people type them."""
    return [field.alias or name for name, field in model.model_fields.items()]


# Private


def _alike(one: str, other: str) -> float:
    return SequenceMatcher(None, one.lower(), other).ratio()


def _dotted(steps: tuple[str, ...]) -> str:
    return ".".join(steps).replace(f".{_ITEM}", "")


def _ranked(key: str, document: Document, path: KeyPath, file: File) -> tuple[Place, ...]:
    """At most two places of a key, the most likely first: near by, and where the keys around it are there."""
    apart = isinstance(document.data.get("instrument"), str)
    steps = _steps_of(path)

    def foreign(place: Place) -> bool:
        return place.file not in (file, "instrument" if apart else file)

    def rank(place: Place) -> tuple[bool, int, bool, int]:
        shared = next((i for i, pair in enumerate(zip(place.steps, steps, strict=False)) if pair[0] != pair[1]), None)
        near = min(len(place.steps), len(steps)) if shared is None else shared
        return foreign(place), -near, not _there(place.steps, document.data), len(place.steps)

    found = [p for p in every_place().get(key, ()) if p.steps != steps or p.file != file]
    if file != "instrument":
        # The instrument's keys stand in the job, or in a file of their own: named once.
        found = [p for p in found if p.file != "instrument" if not (apart and p.steps[:1] == ("instrument",))] + [
            p for p in found if p.file == "instrument" and apart
        ]
    else:
        found = [p for p in found if p.steps[:1] != ("instrument",)]
    found.sort(key=rank)
    own = [place for place in found if not foreign(place)]
    return tuple(own[:_MOST] or found[:1])


def _steps_of(path: KeyPath) -> tuple[str, ...]:
    """The steps around the last key of a path, as places have them."""
    out = [_ITEM if isinstance(step, int) else step for step in path[:-1]]
    if out[:1] == ["bits"] and len(out) > 1:
        out[1] = _NAME
    return tuple(out)


def _there(steps: tuple[str, ...], data: Any) -> bool:
    """Whether a file has all of these keys."""
    if not steps:
        return True
    first, rest = steps[0], steps[1:]
    if isinstance(data, list):
        return first == _ITEM and any(_there(rest, item) for item in data)
    if not isinstance(data, dict):
        return False
    if first in (_NAME, _FEATURE):
        return any(_there(rest, value) for value in data.values())
    return first in data and _there(rest, data[first])


@cache
def _catalogue(kinds: tuple[tuple[str, type[FeatureKeys]], ...]) -> dict[str, tuple[Place, ...]]:
    found: dict[str, dict[Place, None]] = {}
    for file, root in _ROOTS.items():
        for place in _places(root, file, (), kinds):
            found.setdefault(place.key, {})[place] = None
    return {key: tuple(places) for key, places in found.items()}


def _places(
    model: type[BaseModel],
    file: File,
    steps: tuple[str, ...],
    kinds: tuple[tuple[str, type[FeatureKeys]], ...],
    skip: Collection[str] = (),
) -> Iterator[Place]:
    """The keys of a model and of all models within it."""
    if model is FeatureKeys:
        for key, kind in kinds:
            yield Place(file, steps, key, "bit")
            yield from _places(kind, file, (*steps, key), kinds, FeatureKeys.model_fields)
        steps = (*steps, _FEATURE)
    if model is Bit:
        for shape in BITS.values():
            yield from _places(shape, file, steps, kinds, Bit.model_fields)
    for name, field in model.model_fields.items():
        if name in skip:
            continue
        key = field.alias or name
        within = list(_within(field.annotation, field.metadata))
        yield Place(file, steps, key, _first_key(field.annotation, within))
        for between, inside, only in within:
            found = _places(inside, file, (*steps, key, *between), kinds)
            yield from (p for p in found if only is None or p.key in only or len(p.steps) > len(steps) + 1)


def _first_key(annotation: Any, within: list[tuple[tuple[str, ...], type[BaseModel], Any]]) -> str:
    """The first key below one that is always a mapping of keys; else nothing."""
    kinds = [one for one in get_args(annotation) or (annotation,) if one is not type(None)]
    if len(within) != 1 or within[0][2] is not None or kinds != [within[0][1]]:
        return ""
    return typed_names(within[0][1])[0]


def _within(annotation: Any, metadata: Collection[Any] = ()) -> Iterator[tuple[tuple[str, ...], type[BaseModel], Any]]:
    """(steps between, model, the keys of it that are typed or None for all) of each model within a type."""
    forms = [one.json_schema for one in metadata if isinstance(one, WithJsonSchema) and one.json_schema]
    forms = [form for form in forms if KIND in form]
    only = {key for form in forms for key in _properties(form)} if forms else None
    if only == set():
        return
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield (), annotation, only
        return
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        yield from _within(arguments[0], arguments[1:])
        return
    between = {dict: (_NAME,), tuple: (_ITEM,), list: (_ITEM,)}.get(origin, ()) if origin is not None else ()
    for argument in dict.fromkeys(a for a in arguments if a is not Ellipsis):
        for steps, model, keys in _within(argument):
            yield (*between, *steps), model, keys if only is None else only


def _properties(form: Any) -> Iterator[str]:
    if isinstance(form, dict):
        yield from form.get("properties", {})
        for value in form.values():
            yield from _properties(value)
    elif isinstance(form, list):
        for value in form:
            yield from _properties(value)
