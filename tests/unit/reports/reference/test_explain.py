"""Everything that has a name here can be asked for, and each text stands in one place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pydantic import BaseModel

from toolpaths.cli.complete import names_to_explain
from toolpaths.features.kinds import FEATURES
from toolpaths.job.bits import BITS
from toolpaths.job.machine import Machine
from toolpaths.reports.reference.explain import every_name, explained
from toolpaths.reports.reference.keys import models_in, typed_name
from toolpaths.reports.reference.pages import CHECKS, code_texts, glossary, page_path
from toolpaths.verification.finding import SEVERITY

DOCS = Path(__file__).parents[4] / "docs"


def paths_of(model: type[BaseModel], before: str = "") -> list[str]:
    """The paths of all keys of a model, as its own fields give them."""
    out = []
    for name, field in model.model_fields.items():
        path = f"{before}{typed_name(name, field)}"
        out += [path, *(p for inner in models_in(model, name) for p in paths_of(inner, f"{path}."))]
    return out


def test_every_code_of_a_finding_has_a_section_and_none_is_left_over() -> None:
    assert set(SEVERITY) == set(code_texts())


@pytest.mark.parametrize("code", SEVERITY)
def test_every_code_is_explained_by_its_section(code: str) -> None:
    ((found, lines),) = explained(code).codes
    assert code == found
    page = (DOCS / CHECKS).read_text(encoding="utf-8")
    section = re.search(rf"^### {re.escape(code)}\n(.*?)(?=^#|\Z)", page, re.MULTILINE | re.DOTALL)
    assert section is not None
    links_off = re.sub(r"\[([^\]]*)\]\([^)]*\)|\*", r"\1", section[1])
    said = re.sub(r" \(docs/[^)]*\)", "", " ".join(lines))
    assert links_off.split() == said.split()
    assert lines


def test_every_key_of_a_machine_file_can_be_asked_for() -> None:
    for path in paths_of(Machine):
        assert any(key.path == path and key.file == "machine" for key in explained(path).keys), path
        (alone,) = [key for key in explained(f"machine.{path}").keys if key.path == path]
        assert alone.words, path
        assert alone.kind not in ("", "anything"), path


def test_every_key_of_every_feature_and_bit_can_be_asked_for() -> None:
    for feature, model in FEATURES.items():
        assert feature in {key.path for key in explained(feature).keys}
        for name, field in model.model_fields.items():
            typed = typed_name(name, field)
            assert {f"{feature}.{typed}", typed} & {key.path for key in explained(typed).keys}, f"{feature}.{typed}"
    for bit in BITS.values():
        for name in bit.model_fields:
            assert f"bits.{name}" in {key.path for key in explained(name).keys}


def test_every_word_of_the_glossary_can_be_asked_for_however_it_is_parted() -> None:
    for word in glossary():
        for name in word.names:
            for asked in (name, name.upper(), name.replace(" ", "-"), name.replace(" ", "_"), name.replace(" ", ".")):
                assert word in explained(asked).words, asked


def test_the_glossary_stands_in_the_order_of_the_alphabet_and_has_each_word_once() -> None:
    first = [word.names[0].casefold() for word in glossary()]
    assert sorted(first) == first
    names = [name.casefold() for word in glossary() for name in word.names]
    assert len(set(names)) == len(names)
    assert 100 < len(names)


def test_no_line_of_the_glossary_is_lost() -> None:
    lines = [line for line in (DOCS / "glossary.md").read_text(encoding="utf-8").splitlines() if line.startswith("- ")]
    assert len(glossary()) == len(lines)
    assert all(word.meaning.strip() for word in glossary())


def test_a_heading_holds_the_words_that_begin_so() -> None:
    heading = ""
    for line in (DOCS / "glossary.md").read_text(encoding="utf-8").splitlines():
        heading = line.removeprefix("## ") if line.startswith("## ") else heading
        if line.startswith("- **"):
            assert heading == line[4].upper(), line


@pytest.mark.parametrize(
    "name",
    [
        "nut line", "scale length", "fretboard radius", "kerf", "tang", "crown", "runout", "chip load", "step-over",
        "pass depth", "climb", "ramp", "plunge", "skim", "tab", "stick-out", "touch off", "zero", "offset", "waste",
        "blank", "part", "setup", "skew", "backing", "spoilboard", "bead", "volute", "heel", "truss rod", "scarf",
    ],
)  # fmt: skip
def test_the_words_that_a_beginner_asks_for_are_there(name: str) -> None:
    assert explained(name).words


def test_what_has_one_name_is_shown_together() -> None:
    found = explained("kerf")
    assert (1, 1, True) == (len(found.words), len(found.codes), "saw.kerf" in {key.path for key in found.keys})
    assert {"job", "machine"} == {key.file for key in explained("units").keys}


def test_a_word_of_several_words_finds_the_key_too() -> None:
    assert "instrument.scale_length" in {key.path for key in explained("scale length").keys}
    assert "bits.stickout" in {key.path for key in explained("stick-out").keys}


@pytest.mark.parametrize(
    ("asked", "near"), [("spindel.dial", "spindle.dial"), ("gauge-d", "gauge"), ("guoge", "gouge"), ("kerff", "kerf")]
)
def test_a_slip_is_answered_with_names_that_are_there(asked: str, near: str) -> None:
    found = explained(asked)
    assert not found.found
    assert near in found.near
    assert all(explained(name).found for name in found.near)


def test_every_name_that_the_shell_offers_is_explained() -> None:
    assert [] == [name for name in every_name() if not explained(name).found]


def test_the_pages_are_found() -> None:
    assert page_path(CHECKS).is_file()


def test_the_shell_completes_keys_codes_and_words() -> None:
    assert ["gouge"] == names_to_explain("goug")
    assert ["spindle.min_rpm"] == names_to_explain("spindle.min")
    assert "scale-length" in names_to_explain("scale")
