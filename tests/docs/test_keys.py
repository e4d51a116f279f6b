"""The tables of every key are made from the models, and the page that holds them is never stale."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from toolpaths.features.kinds import FEATURES
from toolpaths.job.bits import BITS
from toolpaths.job.holders import Clamp, Hold, Pins, Screws, Tape, Under, Vacuum
from toolpaths.job.job import Board, Instrument, Job
from toolpaths.job.setup import Setup
from toolpaths.job.stock import KeepOut, Stock, Zero
from toolpaths.reports.reference.keys import parted

DOCS = Path(__file__).parents[2] / "docs"


def _script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("docs_keys", DOCS / "keys.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


KEYS = _script()
ROWS = [(title, row) for title, _, rows in KEYS.sections() for row in rows]


def test_the_page_is_as_the_models_are() -> None:
    assert KEYS.page() == (DOCS / "job-keys.md").read_text(encoding="utf-8"), "stale: python docs/keys.py"


def test_every_key_of_every_model_has_a_row() -> None:
    models = [
        Job,
        Instrument,
        Board,
        Stock,
        Setup,
        Zero,
        KeepOut,
        Hold,
        Screws,
        Clamp,
        Pins,
        Tape,
        Vacuum,
        Under,
        *FEATURES.values(),
        *BITS.values(),
    ]
    keys = {field.alias or name for model in models for name, field in model.model_fields.items()}
    assert keys <= {row.key for _, row in ROWS}


def test_every_row_says_what_its_key_is_and_what_may_be_given() -> None:
    assert [(title, row.key) for title, row in ROWS if not row.words or not row.kind or row.kind == "anything"] == []


@pytest.mark.parametrize(
    ("title", "key", "kind", "absent"),
    [
        # As the models say: job/job.py, features/kinds/radius.py, features/kinds/outline.py, job/bits/vee.py.
        ("`instrument` (of a job)", "frets", "whole number, 1 to 60", "must be given"),
        ("Feature `radius`", "scallop", "length, 0.0001 to 0.5 mm", "0.02 mm"),
        ("`tabs` (of `outline`)", "count", "whole number, 1 to 40", "must be given"),
        ("A bit of shape `vee`", "angle", "number, 10 to 170", "must be given"),
        ("Keys of every feature", "feed", "length a minute, above 0", "chosen"),
        ("`saw` (of a job)", "kerf", "length, above 0", "0.58 mm"),
        ("Feature `pocket`", "place", "[length, a fret (`fret 12`) or `nut`, length]", "`[0, 0]`"),
    ],
)
def test_a_row_gives_range_and_default_as_the_model_does(title: str, key: str, kind: str, absent: str) -> None:
    (row,) = [row for its, row in ROWS if its == title and row.key == key]
    assert (kind, absent) == (row.kind, row.absent)


def test_what_a_description_says_of_an_absent_key_is_told_once() -> None:
    assert ("Below the finished face.", "through to the bed") == parted(
        "Below the finished face; through to the bed if absent."
    )
    assert ("Radius of the top.", "flat") == parted("Radius of the top; absent: flat.")
    assert ("Left on walls.", "") == parted("Left on walls.")
