"""Makes the tables of every key of a job from the models that read it:  python docs/keys.py

`job-keys.md` is what comes out; a test fails when it is stale. Kinds, ranges and defaults are the models' own, and so
are the words. Where a model has no words for a key, those of the hand-written tables (`job-file.md`, the pages of
features) stand in.
"""

from __future__ import annotations

import functools
import re
import sys
import types
import typing
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from toolpaths.bits import BITS
from toolpaths.core import holes, units
from toolpaths.core.bit import Bit
from toolpaths.core.feature import Feature
from toolpaths.core.job import Job
from toolpaths.core.place import Along
from toolpaths.features import FEATURES

HERE = Path(__file__).resolve().parent
PAGE = HERE / "job-keys.md"

_HEAD = """# Every key of a job

<!-- Made by docs/keys.py from the models that read a job. Do not write here: change the models, and make it anew. -->

What may stand in a job, key by key, as the program itself checks it.
[The job file](job-file.md) explains it with examples; each feature has [a page of its own](index.md).

Lengths are in the job's `units` when bare, and may carry their own: `6.35 mm`, `1/4 in`.
Defaults are given in mm, whatever the job's units.
A key that is not here is refused.
"""


@dataclass(frozen=True, slots=True)
class Row:
    """One key: what may be given, what holds if it is absent, what it is."""

    key: str
    kind: str
    absent: str
    words: str


def main() -> int:
    """Writes the page."""
    PAGE.write_text(page(), encoding="utf-8")
    print(f"{PAGE.name}: {sum(len(rows) for _, _, rows in sections())} keys")
    return 0


def page() -> str:
    """The whole page as it should stand."""
    every = list(sections())
    parts = [_HEAD, "\n", *(f"- [{title}](#{_anchor(title)})\n" for title, _, _ in every if "(of `" not in title)]
    for title, about, rows in every:
        parts.append(f"\n## {title}\n\n{about}\n")
        if rows:
            parts.append("\n| key | what may be given | if absent | what it is |\n|---|---|---|---|\n")
            parts += [f"| `{r.key}` | {r.kind} | {r.absent} | {r.words} |\n" for r in rows]
    return "".join(parts)


def sections() -> Iterator[tuple[str, str, list[Row]]]:
    """Heading, a sentence, and rows: the job, what stands in it from the top down, bits, then features."""
    done: set[type[BaseModel]] = {Feature, Bit}
    yield from _with_inner("The top of the file", Job, done, ())
    yield _titled(_BIT, Bit, ())
    for shape, kind in BITS.items():
        yield _titled(f"A bit of shape `{shape}`", kind, Bit.model_fields)
    yield _titled(_EVERY, Feature, ())
    for key, feature in FEATURES.items():
        yield from _with_inner(f"Feature `{key}`", feature, done, Feature.model_fields)


# Private

_ABOUT: dict[type[BaseModel], str] = {
    Job: "What stands at the left margin of the file.",
    Feature: "Each takes these beside its own. What is absent is chosen from bit, wood and machine.",
    Bit: "Each takes these beside those of its shape.",
}
_BIT, _EVERY = "Keys of every bit", "Keys of every feature"


def _anchor(title: str) -> str:
    """The place of a heading in the page."""
    return re.sub(r"[^a-z0-9_ -]", "", title.lower()).replace(" ", "-")


def _with_inner(
    title: str, model: type[BaseModel], done: set[type[BaseModel]], without: Iterable[str]
) -> Iterator[tuple[str, str, list[Row]]]:
    """A model's section, and one for each model that stands within it and has none yet."""
    done.add(model)
    yield _titled(title, model, without)
    for name, field in model.model_fields.items():
        if name in set(without) or _written(field.metadata):
            continue
        for inner in _models_in(field.annotation):
            if inner not in done and inner not in _FORMS:
                yield from _with_inner(f"`{_name(name, field)}` ({_where(model)})", inner, done, ())


def _titled(title: str, model: type[BaseModel], without: Iterable[str]) -> tuple[str, str, list[Row]]:
    skip = set(without) | {"shape"} if issubclass(model, Bit) and model is not Bit else set(without)
    rows = [_row(model, name, field) for name, field in model.model_fields.items() if name not in skip]
    about = _ABOUT.get(model) or " ".join((model.__doc__ or "").split("\n\n")[0].split())
    if issubclass(model, Feature) and model is not Feature:
        about += f" [More](features/{model.key}.md)."
    return title, about if rows else f"{about} It has no further keys.", rows


def _where(model: type[BaseModel]) -> str:
    if issubclass(model, Feature):
        return f"of `{model.key}`"
    return "of a job" if model is Job else f"of `{_spaced(model.__name__)}`"


def _spaced(name: str) -> str:
    return re.sub(r"(?<!^)(?=[A-Z])", " ", name).lower()


def _name(name: str, field: FieldInfo) -> str:
    return field.alias or name


def _row(model: type[BaseModel], name: str, field: FieldInfo) -> Row:
    key = _name(name, field)
    kind = _kind(field.annotation, field.metadata)
    if model is Feature and key in ("feed", "plunge"):
        kind = kind.replace("length", "length a minute")
    hand = _by_hand(model, key)
    words, otherwise = _parted(field.description or "")
    told = hand.get("what it is", "")
    words = words or (told if _says_more(told) else "") or _WORDS.get((model.__name__, key), "")
    if (model, key) == (Job, "bits"):
        absent = "the rack's alone"
    elif field.is_required():
        absent = "must be given"
    elif field.default is None or field.default == ():
        absent = hand.get("if absent") or otherwise or ("chosen" if model is Feature else "not said")
    else:
        absent = _default(field.default, kind)
    return Row(key, kind, absent, _clean(words))


def _parted(description: str) -> tuple[str, str]:
    """A description without what it says of an absent key, and that; as in "Below the face; through if absent."."""
    found = re.fullmatch(r"(?:(?P<words>.*)[;.] |)(?P<absent>[^;.]*?),? if absent\.?", description)
    if found is None:
        return description, ""
    return found["words"] or "", _clean(found["absent"])


def _says_more(words: str) -> bool:
    """Whether a cell is more than a list of the values."""
    return bool(re.sub(r"`[^`]*`|,| or ", "", words).strip())


def _clean(words: str) -> str:
    """A sentence without its full stop, in one line, and with no bar that would end a cell."""
    words = " ".join(words.split()).removesuffix(".").replace("|", "\\|")
    plain = words[1:2].islower() or words.startswith("A ")
    return words[:1].lower() + words[1:] if plain else words


def _default(value: Any, kind: str) -> str:
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, BaseModel):
        given = ", ".join(f"{_name(n, f)}: {getattr(value, n):g}" for n, f in type(value).model_fields.items())
        return f"`{{{given}}}`"
    if isinstance(value, float):
        return f"{value:g} mm" if kind.startswith("length") else f"{value:g}"
    if isinstance(value, tuple):
        return "`[" + ", ".join(f"{float(str(v).removesuffix(' mm')):g}" for v in value) + "]`"
    if isinstance(value, Along):
        return str(value).replace(".0 mm", " mm")
    return str(value) if isinstance(value, int) else f"`{value}`"


# What may be given

_FORMS: dict[type[Any], str] = {
    holes.HolePlace: "place: `[x, y]`, or `{x: 10, y: 0, diameter: 6}`",
    holes.PinPlace: "place: `[x, y]`, or `{x: 10, y: 0, diameter: 6, relief: 0.6}`",
    Along: "length, or a fret: `fret 12`",
}
"""Models that are written otherwise than key by key."""


def _kind(annotation: Any, metadata: Sequence[Any]) -> str:
    """A type and its limits in words."""
    limits = list(metadata)
    while typing.get_origin(annotation) is Annotated:
        annotation, *more = typing.get_args(annotation)
        limits += more
    limits += [inner for m in limits if isinstance(m, FieldInfo) for inner in m.metadata]
    form = _written(limits)
    if form:
        return form
    checks = {getattr(m, "func", None) for m in limits}
    origin, inner = typing.get_origin(annotation), typing.get_args(annotation)
    if origin in (typing.Union, types.UnionType):
        return "; or ".join(dict.fromkeys(_kind(a, metadata) for a in inner if a is not type(None)))
    if origin is Literal:
        return ", ".join(f"`{v}`" for v in inner)
    if origin is tuple:
        if len(inner) == 2 and inner[1] is ...:
            return f"list of {_plural(_kind(inner[0], ()))}"
        return "[" + ", ".join(_kind(a, ()) for a in inner) + "]"
    if origin is dict:
        return "names, and below each a bit"
    if isinstance(annotation, type) and annotation in _FORMS:
        return _FORMS[annotation]
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        names = [_name(n, f) for n, f in annotation.model_fields.items()]
        return f"`{{{', '.join(names)}}}`" if len(names) <= 6 else "keys of its own, see below"
    return _plain(annotation, limits, checks)


def _written(limits: Sequence[Any]) -> str:
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
    said += _ranges(limits, unit, annotation is str)
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

# Words of the hand-written tables

_WORDS: dict[tuple[str, str], str] = {
    ("Compound", "nut"): "at the nut line",
    ("Compound", "end"): "at the board's end",
    ("Skew", "points"): "the left one first",
    ("Heel", "width"): "of the block",
    ("Headstock", "width"): "of a symmetrical one",
    ("Headstock", "layer"): "of the drawing",
    ("Tang", "width"): "without its barbs",
    ("Row", "edge"): "along which they stand",
    ("Row", "offset"): "from that edge to the middle of a marker, straight across",
    ("MarkerPockets", "shape"): "of every one",
    ("Feature", "direction"): "which way the bit goes along a wall",
    ("Setup", "hold"): "how the work is held, for the cautions",
    ("Bit", "material"): "of its cutting edges",
    ("Bit", "spiral"): "which way its flutes carry the chips",
    ("TrussRodChannel", "ends"): "as the bit leaves them, or with a flat wall",
    ("Adjuster", "end"): "of the channel, at which it begins",
}
"""What neither the models nor the tables say."""


@functools.cache
def _tables(file: Path) -> dict[tuple[str, str], dict[str, str]]:
    """(name in the heading or of the table, key) to the cells of its row."""
    out: dict[tuple[str, str], dict[str, str]] = {}
    heading, columns = "", []
    for line in file.read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            found = re.search(r"`([^`]+)`", line)
            heading, columns = found.group(1) if found else line.strip("# "), []
        elif line.startswith("|"):
            cells = [c.strip() for c in line.strip().strip("|").split("|")]
            if not columns or cells[0].startswith("key"):
                columns = cells
            elif not cells[0].startswith("-"):
                inner = re.search(r"`([^`]+)`", columns[0])
                for key in re.findall(r"`([^`]+)`", cells[0]):
                    row = dict(zip(columns[1:], cells[1:], strict=False))
                    out.setdefault((inner.group(1) if inner else heading, key), row)
        else:
            columns = []
    return out


def _by_hand(model: type[BaseModel], key: str) -> dict[str, str]:
    """The row of a key in the hand-written tables, links taken off; empty where it has none."""
    if issubclass(model, Feature) and model is not Feature:
        names, files = [model.key], [HERE / "job-file.md", HERE / "features" / f"{model.key}.md"]
    else:
        own = {Job: ["The top of the file"], Feature: ["Keys that every feature takes"]}
        plain = _spaced(model.__name__)
        names = own.get(model, [plain, plain.replace(" ", "_"), f"{plain}s", plain.split()[-1]])
        files = [HERE / "job-file.md", *sorted((HERE / "features").glob("*.md"))]
    names += ["bits"] if issubclass(model, Bit) else []
    for file in files:
        for name in names:
            row = _tables(file).get((name, key))
            if row is not None:
                return {k: re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", v) for k, v in row.items()}
    return {}


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        if not issubclass(annotation, holes.HolePlace):
            yield annotation
        return
    for inner in typing.get_args(annotation):
        yield from _models_in(inner)


if __name__ == "__main__":
    sys.exit(main())
