"""Any job ends in a clear refusal, in a finding that stops, or in programs that another judge finds good."""

from __future__ import annotations

import os
import re
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, seed, settings

from tests.property.any_job import BITS, jobs
from tests.property.draws import Job
from tests.property.many_jobs import PAGE, judged, outcome_of, wrong_with
from toolpaths.job.holders import Clamp, Foot, Hold, Pins, Screws, Stop, Tape, Under, Vacuum
from toolpaths.verification.outcome import Outcome

MANY = int(os.environ.get("NECKPATH_JOBS", "48"))
OF_A_SEED = 6
JOB = {
    "title": "Plain", "units": "mm", "part": "board", "machine": "bench-router", "wood": "mahogany", "handed": "right",
    "bits": BITS,
    "instrument": {
        "scale_length": 300, "frets": 12, "strings": 4,
        "board": {"width": {"nut": 40, "end": 48}, "overhang": 8, "thickness": 6, "radius": 300},
    },
    "stock": {"length": 220, "width": 76, "thickness": 6.5},
    "setups": [
        {
            "name": "face", "zero": {"x": "nut", "y": "centreline", "z": "bed"}, "nut_at": 30, "hold": "tape",
            "features": [
                {"plane": {"bit": "planer", "leave": 6}},
                {"score_lines": {"bit": "scorer", "depth": 0.5}},
                {"marker_pockets": {"bit": "eighth", "shape": "round", "diameter": 6, "depth": 1.8}},
                {"radius": {"bit": "ball", "scallop": 0.2}},
                {"outline": {"bit": "quarter", "tabs": {"count": 4, "length": 8, "height": 1.5}}},
            ],
        }
    ],
}  # fmt: skip


@pytest.mark.parametrize("part", ["board", "neck"])
def test_a_few_jobs(part: str) -> None:
    tally = judged(2035, 2, part)
    assert 2 == tally["drawn"]
    assert 1 <= tally["written"]


def test_a_few_boards_that_are_moved_along() -> None:
    assert 1 <= judged(3, 4, "board", moved=True)["written"]


@pytest.mark.slow
@pytest.mark.parametrize("start", [7001, 7002])
def test_boards_that_are_moved_along(start: int) -> None:
    assert 2 <= judged(start, 12, "board", moved=True)["written"]


@pytest.mark.slow
def test_every_key_of_what_holds_is_drawn() -> None:
    """Of every holder, of what lies under the blank, and the clearance; but for `jig`, which names another job."""
    found: dict[str, set[str]] = {}

    def keep(name: str, given: object) -> None:
        for one in given if isinstance(given, list) else [given]:
            if isinstance(one, dict):
                found.setdefault(name, set()).update(one)
                for key, value in one.items():
                    keep(key, value)

    @seed(7)
    @settings(max_examples=1400, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(jobs())
    def each(job: Job) -> None:
        for setup in job["setups"]:
            for key in ("hold", "under", "clearance"):
                if key in setup:
                    found.setdefault("setup", set()).add(key)
                    keep(key, setup[key])
            for feature in setup["features"]:
                keep("screw_holes", feature.get("screw_holes"))

    each()
    assert {"hold", "under", "clearance"} == found["setup"]
    models = {
        "hold": Hold, "screws": Screws, "clamps": Clamp, "foot": Foot, "stops": Stop, "pins": Pins, "tape": Tape,
        "vacuum": Vacuum, "under": Under,
    }  # fmt: skip
    for name, model in models.items():
        assert set(model.model_fields) - {"jig"} == found[name], name
    assert {"bit", "diameter", "head"} == found["screw_holes"]


@pytest.mark.slow
@pytest.mark.parametrize("start", range(1001, 1001 + max(1, MANY // OF_A_SEED)))
def test_many_jobs(start: int) -> None:
    """Few of each seed: of many, most are the first ones with one value changed."""
    tally = judged(start, OF_A_SEED, ("board", "neck", None)[start % 3])
    assert OF_A_SEED == tally["drawn"]
    assert 2 <= tally["written"]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    outcome = outcome_of(JOB, tmp_path_factory.mktemp("plain"))
    assert outcome is not None
    assert not outcome.stopped
    return outcome


def test_the_other_judge_finds_nothing_in_a_plain_job(plain: Outcome) -> None:
    assert [] == wrong_with(JOB, plain)


@pytest.mark.parametrize(
    ("feature", "before", "after", "said"),
    [
        ("score_lines", r"^G0 X(\d+\.?\d*)", lambda m: f"G0 X{float(m[1]) + 0.1:.3f}", "score_lines"),
        ("marker_pockets", r"Z4\.2\b", "Z4.1", "cut below 4.165"),
        ("marker_pockets", r"Z4\.2\b", "Z4.3", "marker_pockets: .* left above 4.235"),
        ("outline", r"^M5", "G1 X100 Y0 Z3 F900\nG0 Z11\nM5", "cut below"),
        ("radius", r"Z5\.(\d+)", r"Z5.0\1", "the top at"),
        ("plane", r"M3\n", "M5\n", "cuts with the spindle off"),
        ("plane", r"^G1 X", "G0 X", "a rapid through wood"),
        ("outline", r"^G0 X(-?\d+\.?\d*) Y", lambda m: f"G0 X2{abs(float(m[1])):07.3f} Y", "x spans"),
    ],
)  # fmt: skip
def test_the_other_judge_sees_what_is_put_in(
    plain: Outcome, feature: str, before: str, after: object, said: str
) -> None:
    programs = []
    for program in plain.programs:
        text = program.text
        if f"Feature {feature}" in text:
            text = re.sub(before, after, text, flags=re.M)  # type: ignore[call-overload]
            assert text != program.text
        programs.append(replace(program, text=text))
    wrong = wrong_with(JOB, replace(plain, programs=tuple(programs)))
    assert any(re.search(said, what) for what in wrong), wrong


def test_the_page_has_the_figures_of_many_jobs() -> None:
    text = PAGE.read_text(encoding="utf-8")
    found = re.search(r"<!-- any job -->\n(.*?)<!-- end of any job -->", text, re.S)
    assert found
    rows: Counter[str] = Counter({what: int(n) for what, n in re.findall(r"\| (.+?) \| (\d+) \|", found[1])})
    assert 500 <= rows["jobs drawn"]
    assert 0 == rows["written, and wrong by the other judge"]
    ends = [
        "refused in the job file, each problem with its line and what to do",
        "stopped by a finding, nothing written",
    ]
    assert rows["jobs drawn"] == sum(rows[k] for k in [*ends, "written: boards", "written: necks"])
