"""A key that is unknown at its place is answered with the place where it is right, or with the key that was meant.

What is right is taken from the JSON schemas here, which pydantic makes, and not from the walk through the models.
"""

from __future__ import annotations

import string
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic.json_schema import models_json_schema

from tests.support.small_board import small_board, written
from toolpaths.common.errors import JobError, Problem
from toolpaths.features.kinds import FEATURES
from toolpaths.job.files.document import Document
from toolpaths.job.files.found_model import Found
from toolpaths.job.files.key_places import Place, advice, every_place, in_words
from toolpaths.job.files.machine_file import machine_paths, read_machine
from toolpaths.job.files.yaml_text import parse_document
from toolpaths.job.job import Instrument
from toolpaths.job.machine import Machine
from toolpaths.pipeline.load import load_job
from toolpaths.reports.reference.schema import job_schema

PLACES = tuple(place for places in every_place().values() for place in places)
KEYS = tuple(every_place())
EMPTY = parse_document(b"title: t", "job.yaml")


def _schemas() -> dict[str, Any]:
    models = {"machine": Machine, "instrument": Instrument, "found": Found}
    out: dict[str, Any] = {"job": job_schema()}
    for file, model in models.items():
        _, whole = models_json_schema([(model, "validation")])
        out[file] = {"$ref": f"#/$defs/{model.__name__}", "$defs": whole["$defs"]}
    return out


SCHEMAS = _schemas()


def inside(schema: Any, whole: Any, step: str) -> list[Any]:
    """Every schema one step below another: of a key, of an entry of a list, or of a name that a person gives."""
    if not isinstance(schema, dict):
        return []
    out: list[Any] = []
    if "$ref" in schema:
        out += inside(whole["$defs"][schema["$ref"].rsplit("/", 1)[1]], whole, step)
    for word in ("anyOf", "oneOf", "allOf"):
        for one in schema.get(word, ()):
            out += inside(one, whole, step)
    for word in ("then", "else"):
        out += inside(schema.get(word), whole, step)
    if step == "[]":
        items = [schema.get("items"), *schema.get("prefixItems", ())]
        # Where one group of screws may stand alone, its keys stand without a list too.
        return out + [one for one in items if isinstance(one, dict)]
    if step in ("NAME", "FEATURE"):
        named = [*schema.get("patternProperties", {}).values(), schema.get("additionalProperties")]
        named += schema.get("properties", {}).values() if step == "FEATURE" else []
        return out + [one for one in named if isinstance(one, dict)]
    return out + ([schema["properties"][step]] if step in schema.get("properties", {}) else [])


def is_right(place: Place) -> bool:
    """Whether the schema of a file has a key at a place."""
    whole = SCHEMAS[place.file]
    level = [whole]
    for step in (*place.steps, place.key):
        level = [one for schema in level for one in inside(schema, whole, step)]
    return bool(level)


def known_at(place: Place) -> list[str]:
    """The keys that may stand beside a key."""
    return [p.key for p in PLACES if (p.file, p.steps) == (place.file, place.steps)]


def path_to(place: Place, key: str) -> tuple[str | int, ...]:
    return (*(0 if step == "[]" else step for step in place.steps), key)


def asked(word: str, at: Place, document: Document = EMPTY) -> tuple[list[str], str]:
    """(the keys that the answer names, its text) for a word beside a key, each place of them looked up."""
    known = known_at(at)
    found = advice(word, known, document, path_to(at, word), at.file)
    assert 2 >= len(found.places)
    assert all(map(is_right, found.places)), found
    if found.near:
        assert found.near in known
    return [name for name in (found.near, found.key) if name], in_words(found, word, known, at.file)


@pytest.mark.parametrize("place", PLACES, ids=lambda p: f"{p.file}-{'.'.join((*p.steps, p.key))}")
def test_every_place_is_one_that_the_schema_of_its_file_has(place: Place) -> None:
    assert is_right(place)


def test_every_key_of_every_schema_has_a_place() -> None:
    def names(schema: Any) -> set[str]:
        if isinstance(schema, list):
            return set().union(*map(names, schema)) if schema else set()
        if not isinstance(schema, dict):
            return set()
        own = set(schema["properties"]) if isinstance(schema.get("properties"), dict) else set()
        return own.union(*(names(value) for value in schema.values()))

    # What is no key as people type it: parts of values that have a form of their own.
    made = {"fret", "there"}
    assert names(SCHEMAS) - made <= set(KEYS) | set(FEATURES)


@settings(max_examples=400, deadline=None)
@given(key=st.sampled_from(KEYS), at=st.sampled_from(PLACES))
def test_a_key_at_a_wrong_place_is_answered_with_a_right_one(key: str, at: Place) -> None:
    if key not in known_at(at):
        named, words = asked(key, at)
        assert named, f"{key} at {at}: {words}"
        assert key in named or named[0] in known_at(at)


@settings(max_examples=400, deadline=None)
@given(place=st.sampled_from(PLACES), at=st.sampled_from(PLACES), data=st.data())
def test_a_key_with_one_letter_wrong_is_answered_with_one_that_is_right(place: Place, at: Place, data: Any) -> None:
    i = data.draw(st.integers(0, len(place.key) - 1))
    letter = data.draw(st.sampled_from(string.ascii_lowercase))
    word = place.key[:i] + letter + place.key[i + 1 :]
    for where in (place, at):
        if word not in known_at(where):
            named, words = asked(word, where)
            # Of a very short key too little is left to guess it: then all that may stand there are named.
            assert named or len(word) < 4 or words.startswith("keys known here: "), f"{word} at {where}: {words}"
            if len(word) >= 5 and where is place:
                assert named


def problems(folder: Path, text: str) -> list[Problem]:
    with pytest.raises(JobError) as caught:
        load_job(written(folder, text))
    return list(caught.value.problems)


@pytest.mark.parametrize(
    ("old", "new", "hint"),
    [
        ("units: mm", "units: mm\nbacklash: {x: 0.1}", "`backlash` belongs in the machine file, under `measured`: "
         "`measured: {backlash: {x: ...}}`"),
        ("units: mm", "units: mm\nscore_lines: {bit: scorer}", "`score_lines` belongs in the `features` of a setup: "
         "`- score_lines: {bit: ...}`"),
        ("units: mm", "units: mm\nflip: about x", "`flip` belongs in a setup: `flip: ...`"),
        ("{bit: planer,", "{stickout: 30, bit: planer,", "`stickout` belongs in a bit: "
         "`bits: {NAME: {stickout: ...}}`"),
        ("hold: tape", "hold: tape\n    scale_length: 300", "`scale_length` belongs under `instrument`: "
         "`instrument: {scale_length: ...}`"),
        ("hold: tape", "hold: tape\n    binding: 1", "`binding` belongs under `instrument.board`: "
         "`instrument: {board: {binding: ...}}`"),
        ("units: mm", "units: mm\nspindel: 3", "did you mean `spindle`? It belongs in the machine file: "
         "`spindle: {min_rpm: ...}`"),
        ("- plane:", "- tape: {thickness: 1}\n      - plane:", "`tape` belongs under `hold` of a setup or under "
         "`under` of a setup: `hold: {tape: {x: ...}}` or `under: {tape: ...}`"),
        ("{bit: planer,", "{bti: planer,", "did you mean `bit`?"),
    ],
)  # fmt: skip
def test_a_job_is_told_where_its_key_belongs(old: str, new: str, hint: str, tmp_path: Path) -> None:
    assert hint in {p.hint for p in problems(tmp_path, small_board().replace(old, new, 1))}


def test_a_bit_is_told_where_its_key_belongs(tmp_path: Path) -> None:
    (problem,) = problems(tmp_path, small_board(bits="planer: {feed: 300}"))
    assert "`feed` belongs in a feature: `plane: {feed: ...}`" == problem.hint


@pytest.mark.parametrize(
    ("line", "hint"),
    [
        ("backlash: {x: 0.1}", "`backlash` belongs under `measured`: `measured: {backlash: {x: ...}}`"),
        ("max_rpm: 20000", "`max_rpm` belongs under `spindle`: `spindle: {max_rpm: ...}`"),
        ("wood: oak", "`wood` belongs in the job file: `wood: ...`"),
        ("shank: 6", "`shank` belongs in the job file, in a bit: `bits: {NAME: {shank: ...}}`"),
        ("safe_hight: 6", "did you mean `safe_height`?"),
    ],
)
def test_a_machine_file_is_told_where_its_key_belongs(line: str, hint: str, tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    text = machine_paths()["bench-router"].read_text(encoding="utf-8")
    path.write_text(f"{line}\n{text}", encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_machine(path)
    assert [hint] == [p.hint for p in caught.value.problems]


def test_an_instrument_in_a_file_of_its_own_is_the_right_place_for_its_keys(tmp_path: Path) -> None:
    instrument = "{scale_length: 300, frets: 5, board: {width: {nut: 40, 5: 44}, overhang: 6, thickness: 5}, saw: 1}"
    (tmp_path / "mine.yaml").write_text(instrument, encoding="utf-8")
    text = small_board()
    whole = text[text.index("instrument:") : text.index("stock:")]
    hints = {p.hint for p in problems(tmp_path, text.replace(whole, "instrument: mine.yaml\nstrings: 5\n"))}
    assert "`strings` belongs in the instrument file: `strings: ...`" in hints
    assert "`saw` belongs in the job file: `saw: {kerf: ...}`" in hints
