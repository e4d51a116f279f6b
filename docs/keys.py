"""Makes the tables of every key of a job from the models that read it:  python docs/keys.py

`job-keys.md` is what comes out; a test fails when it is stale. Kinds, ranges and defaults are the models' own, and so
are the words. Where a model has no words for a key, those of the hand-written tables (`job-file.md`, the pages of
features) stand in.
"""

from __future__ import annotations

import functools
import re
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from toolpaths.features.kinds import FEATURES
from toolpaths.job.bit import Bit
from toolpaths.job.bits import BITS
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Job
from toolpaths.reports.reference.keys import default_words, kind_of, models_in, parted, typed_name

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
    done: set[type[BaseModel]] = {FeatureKeys, Bit}
    yield from _with_inner("The top of the file", Job, done, ())
    yield _titled(_BIT, Bit, ())
    for shape, kind in BITS.items():
        yield _titled(f"A bit of shape `{shape}`", kind, Bit.model_fields)
    yield _titled(_EVERY, FeatureKeys, ())
    for key, feature in FEATURES.items():
        yield from _with_inner(f"Feature `{key}`", feature, done, FeatureKeys.model_fields)


# Private

_ABOUT: dict[type[BaseModel], str] = {
    Job: "What stands at the left margin of the file.",
    FeatureKeys: "Each takes these beside its own. What is absent is chosen from bit, wood and machine.",
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
        if name in set(without):
            continue
        for inner in models_in(model, name):
            if inner not in done:
                yield from _with_inner(f"`{typed_name(name, field)}` ({_where(model)})", inner, done, ())


def _titled(title: str, model: type[BaseModel], without: Iterable[str]) -> tuple[str, str, list[Row]]:
    skip = set(without) | {"shape"} if issubclass(model, Bit) and model is not Bit else set(without)
    rows = [_row(model, name, field) for name, field in model.model_fields.items() if name not in skip]
    about = _ABOUT.get(model) or " ".join((model.__doc__ or "").split("\n\n")[0].split())
    if issubclass(model, FeatureKeys) and model is not FeatureKeys:
        about += f" [More](features/{model.key}.md)."
    return title, about if rows else f"{about} It has no further keys.", rows


def _where(model: type[BaseModel]) -> str:
    if issubclass(model, FeatureKeys):
        return f"of `{model.key}`"
    return "of a job" if model is Job else f"of `{_spaced(model.__name__)}`"


def _spaced(name: str) -> str:
    return re.sub(r"(?<!^)(?=[A-Z])", " ", name).lower()


def _row(model: type[BaseModel], name: str, field: FieldInfo) -> Row:
    key = typed_name(name, field)
    kind = kind_of(model, name)
    if model is FeatureKeys and key in ("feed", "plunge"):
        kind = kind.replace("length", "length a minute")
    hand = _by_hand(model, key)
    words, otherwise = parted(field.description or "")
    told = hand.get("what it is", "")
    words = words or (told if _says_more(told) else "") or _WORDS.get((model.__name__, key), "")
    if (model, key) == (Job, "bits"):
        absent = "the rack's alone"
    elif field.is_required():
        absent = "must be given"
    elif field.default is None or field.default == ():
        absent = hand.get("if absent") or _clean(otherwise) or ("chosen" if model is FeatureKeys else "not said")
    else:
        absent = default_words(field.default, kind)
    return Row(key, kind, absent, _clean(words))


def _says_more(words: str) -> bool:
    """Whether a cell is more than a list of the values."""
    return bool(re.sub(r"`[^`]*`|,| or ", "", words).strip())


def _clean(words: str) -> str:
    """A sentence without its full stop, in one line, and with no bar that would end a cell."""
    words = " ".join(words.split()).removesuffix(".").replace("|", "\\|")
    plain = words[1:2].islower() or words.startswith("A ")
    return words[:1].lower() + words[1:] if plain else words


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
    ("FeatureKeys", "direction"): "which way the bit goes along a wall",
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
    if issubclass(model, FeatureKeys) and model is not FeatureKeys:
        names, files = [model.key], [HERE / "job-file.md", HERE / "features" / f"{model.key}.md"]
    else:
        own = {Job: ["The top of the file"], FeatureKeys: ["Keys that every feature takes"]}
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


if __name__ == "__main__":
    sys.exit(main())
