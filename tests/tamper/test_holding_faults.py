"""Faults about what holds the wood are told by the check that is meant to tell them."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.property.any_job import text_of
from tests.tamper.holding_kinds import HOLDING
from tests.tamper.kinds import KINDS, spoilt
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import make, verify
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

COARSE = Changes(pitch=0.5)
PLACES = [[-20, -36], [-20, 36], [140, -36], [140, 36]]
JOB = {
    "title": "Held by screws", "units": "mm", "part": "board", "machine": "bench-router", "wood": "mahogany",
    "instrument": {
        "scale_length": 230, "frets": 10, "strings": 4,
        "board": {"width": {"nut": 40, "end": 44}, "overhang": 6, "thickness": 8},
    },
    "stock": {"length": 180, "width": 90, "thickness": 8},
    "setups": [
        {
            "name": "face", "zero": {"x": "nut", "y": "centreline", "z": "bed"}, "nut_at": 30,
            "hold": {
                "screws": {"at": PLACES, "sunk": 4},
                "clamps": [
                    {"name": "left", "x": [-50, -18], "y": [-10, 10], "height": 14, "until": "screws"},
                    {"name": "right", "x": [138, 170], "y": [-10, 10], "height": 14, "until": "screws"},
                ],
                "stops": [{"name": "end stop", "x": [-45, -30], "y": [20, 40], "height": 3}],
            },
            "features": [
                {"screw_holes": {"bit": "eighth"}},
                {"outline": {"bit": "quarter", "tabs": {"count": 4, "length": 8, "height": 3}}},
            ],
        }
    ],
}  # fmt: skip
TOLD = {
    "a tab lost": {"gouge"},
    "a kerf deeper": {"into-bed"},
    "a holder elsewhere in the header": {"header"},
    "a screw's hole moved": {"gouge", "uncut"},
    "a plunge beside a screw": {"keep-out"},
}


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Outcome]:
    path = tmp_path_factory.mktemp("held") / "job.yaml"
    path.write_text(text_of(JOB), encoding="utf-8")
    return path, make(path, COARSE)


def test_the_job_is_sound(sound: tuple[Path, Outcome]) -> None:
    assert [] == [f for f in sound[1].findings if f.severity is Severity.stop]


@pytest.mark.parametrize("kind", HOLDING)
@pytest.mark.parametrize("program", [0, 1])
def test_each_kind_is_told(kind: str, program: int, sound: tuple[Path, Outcome], tmp_path: Path) -> None:
    path, outcome = sound
    own, rng = outcome.programs[program], random.Random(7)
    texts = {text for _ in range(3) if (text := spoilt(own.text, kind, rng)) is not None}
    for text in texts:
        (tmp_path / own.name).write_text(text)
        found = verify(path, [tmp_path / own.name], COARSE).findings
        assert TOLD[kind] <= {f.code for f in found if f.severity is Severity.stop}, [f.message for f in found]


def test_both_programs_have_what_is_spoilt(sound: tuple[Path, Outcome]) -> None:
    rng = random.Random(3)
    has = [{k for k in HOLDING if spoilt(p.text, k, rng) is not None} for p in sound[1].programs]
    assert [
        {"a holder elsewhere in the header", "a screw's hole moved"},
        set(HOLDING) - {"a screw's hole moved"},
    ] == has


def test_they_are_part_of_the_campaign() -> None:
    assert set(HOLDING) == set(TOLD) <= set(KINDS)
