"""One key of a job: its meaning, allowed values, default and place."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import cache

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from toolpaths.features.kinds import FEATURES
from toolpaths.job.bit import Bit
from toolpaths.job.bits import BITS
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.files.problems import did_you_mean
from toolpaths.job.job import Job
from toolpaths.reports.reference.keys import default_words, kind_of, models_in, typed_name

_EVERY = "every feature"


@dataclass(frozen=True, slots=True)
class Key:
    """One key. `path`: as it is asked for; `where`: where in a job it stands, in words; `below`: its own keys."""

    path: str
    where: str
    words: str
    kind: str
    absent: str
    below: tuple[str, ...] = ()


def explained(asked: str) -> tuple[list[Key], str]:
    """The keys that a word or a dotted path names, and what to say where there are none.

    `depth` names every depth, `marker_pockets.depth` one of them, `marker_pockets` the feature itself.
    """
    wanted = ".".join(re.split(r"[.\s]+", asked.strip().lower()))
    wanted = wanted.removeprefix("setups.features.").removeprefix("features.").removeprefix("job.")
    keys = _keys()
    named = [keys[wanted]] if wanted in keys else []
    named += [key for path, key in keys.items() if path.endswith(f".{wanted}")]
    if named:
        return named, ""
    names = {*keys, *(path.rsplit(".", 1)[-1] for path in keys)}
    return [], f"no key of a job is called `{asked.strip()[:60]}`; {did_you_mean(wanted, sorted(names), 'keys')}"


def every_path() -> tuple[str, ...]:
    """The paths of all keys of a job, in its order."""
    return tuple(_keys())


@cache
def _keys() -> dict[str, Key]:
    """Every key by its path; of several with one path the first."""
    found: dict[str, Key] = {}
    for key in _every_key():
        found.setdefault(key.path, key)
    return found


def _every_key() -> Iterator[Key]:
    shapes = Key("bits.shape", "in a bit of the job", "What it is.", ", ".join(f"`{s}`" for s in BITS), "must be given")
    common = frozenset(FeatureKeys.model_fields)
    yield from _of(Job, "", "at the left margin of the file", without=(FeatureKeys, Bit))
    yield from _of(Bit, "bits.", "in a bit of the job", skip={"shape"})
    yield shapes
    for shape, kind in BITS.items():
        yield from _of(kind, "bits.", f"in a bit of shape {shape}", skip=Bit.model_fields)
    yield from _of(FeatureKeys, "", f"in {_EVERY}")
    for feature, of in FEATURES.items():
        words = " ".join((of.__doc__ or "").split("\n\n")[0].split())
        below = tuple(typed_name(n, f) for n, f in of.model_fields.items() if n not in common)
        yield Key(feature, "a feature, in the `features` of a setup", words, "keys of its own", "", below)
        yield from _of(of, f"{feature}.", f"in `{feature}`", skip=common)


def _of(
    model: type[BaseModel],
    before: str,
    where: str,
    without: Collection[type[BaseModel]] = (),
    skip: Collection[str] = (),
) -> Iterator[Key]:
    """The keys of a model but those skipped, and of the models within it but those left out."""
    for name, field in model.model_fields.items():
        if name in skip:
            continue
        path = f"{before}{typed_name(name, field)}"
        yield _key(path, model, name, field, where)
        for inner in models_in(model, name):
            if inner not in without and inner is not model:
                yield from _of(inner, f"{path}.", f"in `{path}`", without)


def _key(path: str, model: type[BaseModel], name: str, field: FieldInfo, where: str) -> Key:
    kind = kind_of(model, name).replace(", see below", "")
    if model is FeatureKeys and name in ("feed", "plunge"):
        kind = kind.replace("length", "length a minute")
    if field.is_required():
        absent = "must be given"
    elif field.default is None or field.default == ():
        absent = "chosen from bit, wood and machine" if model is FeatureKeys else "not said"
    else:
        absent = default_words(field.default, kind)
    below = tuple(
        typed_name(n, f)
        for inner in models_in(model, name)
        if not issubclass(inner, FeatureKeys | Bit)
        for n, f in inner.model_fields.items()
    )
    return Key(path, where, field.description or "", kind, absent, below)
