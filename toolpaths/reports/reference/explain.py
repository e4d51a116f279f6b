"""What can be asked for by name: keys of a job and of a machine file, codes of findings, words of the glossary."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from toolpaths.common.input_model import Meanings
from toolpaths.features.kinds import FEATURES
from toolpaths.job.bit import Bit
from toolpaths.job.bits import BITS
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.files.likely_words import named
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.reports.reference.keys import default_words, kind_of, models_in, parted, typed_name
from toolpaths.reports.reference.pages import Word, code_texts, glossary

File = Literal["job", "machine"]

_EVERY = "every feature"
_NEAREST = 3
_BEFORE = ("setups.features.", "features.", "job.")
"""What a path of a job's key may begin with, as people read it in an error."""


@dataclass(frozen=True, slots=True)
class Key:
    """One key. `path`: as it is asked for; `where`: its place in the file, in words; `below`: its own keys.

    `values`: each word that may be given, and what it means, empty where `words` say it.
    """

    path: str
    where: str
    words: str
    kind: str
    absent: str
    below: tuple[str, ...] = ()
    file: File = "job"
    values: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """All that has the name asked for. `codes`: code of a finding and lines about it; `near`: like names, if none.

    `values`: keys that take the word asked for, each with these values of it; only where nothing else has the name.
    """

    words: tuple[Word, ...] = ()
    codes: tuple[tuple[str, tuple[str, ...]], ...] = ()
    keys: tuple[Key, ...] = ()
    near: tuple[str, ...] = ()
    values: tuple[tuple[Key, tuple[tuple[str, str], ...]], ...] = ()

    @property
    def found(self) -> bool:
        """Whether anything has the name."""
        return bool(self.words or self.codes or self.keys or self.values)


def explained(asked: str) -> Answer:
    """The keys, findings and words that a word or a dotted path names.

    `depth` names every depth, `marker_pockets.depth` one of them, `marker_pockets` the feature itself, `machine.units`
    a key of the machine file. A name of several words may be written with blanks, hyphens or points.
    """
    wanted, plain = ".".join(re.split(r"[.\s]+", asked.strip().lower())), _normal(asked)
    words = tuple(word for word in glossary() if plain in map(_normal, word.names))
    words = words or tuple(word for word in glossary() if plain.removesuffix("s") in map(_normal, word.names))
    codes = tuple((code, lines) for code, lines in code_texts().items() if plain == _normal(code))
    keys = tuple(_named(wanted))
    found = Answer(words, codes, (*keys, *_of_several_words(plain, keys)))
    if found.found:
        return found
    values = tuple(_taking(asked))
    if values:
        return Answer(values=values)
    names = dict.fromkeys(part for name in every_name() for part in (name, name.rsplit(".", 1)[-1]))
    return Answer(near=_in_feature(wanted) or tuple(get_close_matches(wanted[:60], list(names), _NEAREST, 0.6)))


def every_name() -> tuple[str, ...]:
    """Everything that can be asked for: paths of keys, codes, words (with hyphens for their blanks)."""
    words = (name.replace(" ", "-") for word in glossary() for name in word.names)
    return tuple(dict.fromkeys((*(key.path for key in _keys()), *code_texts(), *words)))


# Private


def _in_feature(wanted: str) -> tuple[str, ...]:
    """Of a path whose feature exists and whose key does not: like keys of that feature, and the feature itself."""
    feature, _, key = wanted.rpartition(".")
    if feature not in FEATURES:
        return ()
    paths = {one.path.rsplit(".", 1)[-1]: one.path for one in _keys() if one.path.startswith(f"{feature}.")}
    return (*(paths[like] for like in get_close_matches(key, list(paths), _NEAREST, 0.6)), feature)


def _normal(name: str) -> str:
    """A name without the differences that do not count: capitals, and how its words are parted."""
    return " ".join(re.split(r"[\s._-]+", name.strip().casefold()))


def _named(wanted: str) -> Iterator[Key]:
    """The keys of a path: first of that very path, then those that end so."""
    paths = {("job", wanted)}
    for before in _BEFORE:
        paths.add(("job", wanted.removeprefix(before)))
    paths |= {("machine", wanted), ("machine", wanted.removeprefix("machine."))}
    yield from (key for key in _keys() if (key.file, key.path) in paths)
    ends = tuple((file, f".{path}") for file, path in paths)
    yield from (key for key in _keys() if any(key.file == file and key.path.endswith(end) for file, end in ends))


def _taking(asked: str) -> Iterator[tuple[Key, tuple[tuple[str, str], ...]]]:
    """Keys that take a word, or words that it is a part of, as their value."""
    for key in _keys():
        hits = named(asked, [value for value, _ in key.values])
        if hits:
            yield key, tuple(pair for pair in key.values if pair[0] in hits)


def _words_of(annotation: Any) -> Iterator[str]:
    """The words that a type lists."""
    if get_origin(annotation) is Literal:
        yield from (value for value in get_args(annotation) if isinstance(value, str))
    else:
        for inner in get_args(annotation):
            yield from _words_of(inner)


def _of_several_words(plain: str, keys: Collection[Key]) -> Iterator[Key]:
    """Keys whose own name is these words, however they are parted: `scale length`, `stick-out`."""
    joined = plain.replace(" ", "")
    for key in _keys():
        if _normal(key.path.rsplit(".", 1)[-1]).replace(" ", "") == joined and key not in keys:
            yield key


@cache
def _keys() -> tuple[Key, ...]:
    """Every key; of several with one path in one file the first."""
    found: dict[tuple[str, str], Key] = {}
    for key in _every_key():
        found.setdefault((key.file, key.path), key)
    return tuple(found.values())


def _every_key() -> Iterator[Key]:
    shapes = Key(
        "bits.shape",
        "in a bit, in `bits` of a job or of the rack",
        "What it is.",
        ", ".join(f"`{s}`" for s in BITS),
        "must be given",
    )
    common = frozenset(FeatureKeys.model_fields)
    yield from _of(Job, "", "at the left margin of the job file", without=(FeatureKeys, Bit))
    yield from _of(Bit, "bits.", "in a bit, in `bits` of a job or of the rack", skip={"shape"})
    yield shapes
    for shape, kind in BITS.items():
        yield from _of(kind, "bits.", f"in a bit of shape {shape}", skip=Bit.model_fields)
    yield from _of(FeatureKeys, "", f"in {_EVERY}")
    for feature, of in FEATURES.items():
        words = " ".join((of.__doc__ or "").split("\n\n")[0].split())
        below = tuple(typed_name(n, f) for n, f in of.model_fields.items() if n not in common)
        yield Key(feature, "a feature, in the `features` of a setup", words, "keys of its own", "", below)
        yield from _of(of, f"{feature}.", f"in `{feature}`", skip=common)
    yield from _of(Machine, "", "at the left margin of a machine file", file="machine")


def _of(
    model: type[BaseModel],
    before: str,
    where: str,
    without: Collection[type[BaseModel]] = (),
    skip: Collection[str] = (),
    file: File = "job",
) -> Iterator[Key]:
    """The keys of a model but those skipped, and of the models within it but those left out."""
    for name, field in model.model_fields.items():
        if name in skip:
            continue
        path = f"{before}{typed_name(name, field)}"
        yield _key(path, model, name, field, where, file)
        for inner in models_in(model, name):
            if inner not in without and inner is not model:
                of = "" if file == "job" else " of a machine file"
                yield from _of(inner, f"{path}.", f"in `{path}`{of}", without, file=file)


def _key(path: str, model: type[BaseModel], name: str, field: FieldInfo, where: str, file: File) -> Key:
    kind = kind_of(model, name).replace(", see below", "")
    if model is FeatureKeys and name in ("feed", "plunge"):
        kind = kind.replace("length", "length a minute")
    words, otherwise = parted(field.description or "")
    if field.is_required():
        absent = "must be given"
    elif field.default is None or field.default == () or field.default_factory is not None:
        absent = otherwise or ("chosen from bit, wood and machine" if model is FeatureKeys else "not given")
    else:
        absent = default_words(field.default, kind)
    below = tuple(
        typed_name(n, f)
        for inner in models_in(model, name)
        if not issubclass(inner, FeatureKeys | Bit)
        for n, f in inner.model_fields.items()
    )
    meanings = {value: means for m in field.metadata if isinstance(m, Meanings) for value, means in m.of}
    values = tuple((value, meanings.get(value, "")) for value in dict.fromkeys(_words_of(field.annotation)))
    return Key(path, where, words, kind, absent, below, file, values)
