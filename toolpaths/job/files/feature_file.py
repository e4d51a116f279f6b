"""Features in files: each setup holds a list of entries with one key each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from toolpaths.common.errors import Problem
from toolpaths.common.units import Units
from toolpaths.job.bit import Bit
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.files.document import Document, KeyPath, describe
from toolpaths.job.files.key_places import advice, in_words
from toolpaths.job.files.likely_words import did_you_mean
from toolpaths.job.files.problems import problems_of

BIT_KEYS = ("bit", "then")
"""Keys of a feature that name a bit."""
Kinds = Mapping[str, type[FeatureKeys]]


def features_in(
    document: Document,
    setup: KeyPath,
    kinds: Kinds,
    units: Units,
    bits: Mapping[str, Bit],
    counts: dict[str, int],
) -> tuple[tuple[FeatureKeys, ...], list[Problem]]:
    """(features, problems) of one setup of a job, each feature with its name and line; faulty ones are left out.

    `kinds`: the class of each key; `units` of bare numbers; `bits` that may be named; `counts`: how many of each
    kind the setups before held, and this one adds to it, so that the second plane of a job is `plane 2`.
    """
    features: list[FeatureKeys] = []
    problems: list[Problem] = []
    entries = document.get((*setup, "features"))
    for i, entry in enumerate(entries if isinstance(entries, list) else []):
        path = (*setup, "features", i)
        if not isinstance(entry, dict) or len(entry) != 1:
            problems.append(document.problem(path, *_not_one_feature(entry, kinds)))
            continue
        name = str(next(iter(entry)))
        counts[name] = counts.get(name, 0) + 1
        feature, faults = _feature(document, (*path, name), kinds, units, bits)
        problems += faults
        if feature is not None:
            numbered = name if counts[name] == 1 else f"{name} {counts[name]}"
            features.append(feature.placed(numbered, document.place((*path, name), on_key=True)[0]))
    return tuple(features), problems


def bits_asked(document: Document) -> set[str]:
    """Names of the bits that a job's features ask for, faulty features too."""
    setups = document.data.get("setups")
    lists = [s.get("features") for s in setups if isinstance(s, dict)] if isinstance(setups, list) else []
    entries = [e for features in lists if isinstance(features, list) for e in features if isinstance(e, dict)]
    bits = [b.get(key) for e in entries for b in e.values() if isinstance(b, dict) for key in BIT_KEYS]
    return {b for b in bits if isinstance(b, str)}


# Private


def _feature(
    document: Document, path: KeyPath, kinds: Kinds, units: Units, bits: Mapping[str, Bit]
) -> tuple[FeatureKeys | None, list[Problem]]:
    """One feature as written; None where it is faulty."""
    name = str(path[-1])
    kind = kinds.get(name)
    if kind is None:
        words, hint = (
            "no feature has this name",
            in_words(advice(name, kinds, document, path, "job"), name, kinds, "job", "features"),
        )
        return None, [document.problem(path, words, hint, on_key=True)]
    body = document.get(path)
    body = {} if body is None else body
    if not isinstance(body, dict):
        words, hint = f"write keys and values here, not {describe(body)}", f"such as {name}: {{bit: quarter}}"
        return None, [document.problem(path, words, hint)]
    feature: FeatureKeys | None = None
    problems: list[Problem] = []
    try:
        feature = kind.model_validate(body, context={"units": units})
    except ValidationError as error:
        problems += problems_of(error, document, path, kind)
    for key in BIT_KEYS:
        bit = body.get(key) if key in kind.model_fields else None
        if isinstance(bit, str) and bit not in (known := _known(document, bits)):
            words = f"no bit is called `{bit[:60]}`"
            problems.append(document.problem((*path, key), words, did_you_mean(bit, known, "bits")))
    return (None if problems else feature), problems


def _known(document: Document, bits: Mapping[str, Bit]) -> list[str]:
    """Names of all bits, of the job's faulty ones too, so that one fault is not told twice."""
    own = document.data.get("bits")
    return list(dict.fromkeys([*bits, *(str(k) for k in (own if isinstance(own, dict) else {}))]))


def _not_one_feature(entry: Any, kinds: Kinds) -> tuple[str, str]:
    """(what is wrong, hint) with an entry that is not one feature."""
    if isinstance(entry, str) and entry in kinds:
        return f"`{entry}` has no keys", f"write `- {entry}: {{bit: quarter}}`"
    if not isinstance(entry, dict):
        return f"write a feature, not {describe(entry)}", "write `- outline: {bit: quarter}`"
    if not entry:
        return "an empty entry", "write `- outline: {bit: quarter}`, or take it out"
    first, value = next(iter(entry.items()))
    if value is None:
        return (
            f"the keys of `{first}` are beside it, not below it",
            f"indent them further, or write `- {first}: {{...}}`",
        )
    keys = ", ".join(f"`{str(k)[:40]}`" for k in list(entry)[:5])
    return f"{len(entry)} features in one entry: {keys}", "begin each with `- ` on a line of its own"
