"""Each remedy of a finding works: set in the job as printed, the finding is gone, and nothing new stops.

Jobs are drawn from the whole schema and then driven badly: feeds, speeds, passes, tabs and lengths of bits anywhere.
"""

from __future__ import annotations

import copy
import os
import random
import re
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, assume, given, seed, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from tests.property.any_job import jobs, text_of
from tests.property.draws import Draw, Job
from tests.support.made import made as make
from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.verification.finding import Entry, Finding, Remedy, Severity
from toolpaths.verification.outcome import Outcome
from toolpaths.verification.wording.message import Message

MANY = int(os.environ.get("NECKPATH_JOBS", "48"))
CHUNK = 6
ADVICE = re.compile(r"`(\w+: [^`]+)`")


@st.composite
def driven_badly(draw: st.DrawFn) -> Job:
    job = draw(jobs(machines=("bench-router", "shop-gantry", "hand-dial")))
    d = Draw(draw, job["units"])
    for setup in job["setups"]:
        for feature in setup["features"]:
            (values,) = feature.values()
            if d.often():
                values["feed"] = d.length(d.between(100, 3000, 7))
                if d.seldom():
                    values["plunge"] = d.length(d.between(50, 900, 7))
            if d.seldom():
                values["rpm"] = d.whole(100, 240) * 100
            if d.seldom():
                values["pass_depth"] = d.length(d.between(0.2, 6))
    for name in ("pinner", "long"):
        if d.seldom():
            job["bits"][name]["stickout"] = d.length(d.between(20, 50))
    return job


def drawn(job: Job, folder: Path) -> Outcome | None:
    path = folder / "job.yaml"
    path.write_text(text_of(job), encoding="utf-8")
    try:
        return make(path, Changes(pitch=1.0))
    except JobError:
        return None


def mended(job: Job, setup: str, finding: Finding, remedy: Remedy) -> Job:
    """The job with the entries of a remedy."""
    out = copy.deepcopy(job)
    for entry in remedy:
        place: Any = out
        if entry.of == "feature":
            features = next(s for s in out["setups"] if s["name"] == setup)["features"]
            kind = finding.feature.split()[0].rstrip("-_0123456789")  # numbered where a job has several of a kind
            place = next(f for f in features if kind in f)[kind]
        _join(place, YAML(typ="safe").load(f"{entry.key}: {entry.value}"))
    return out


def _join(place: dict[str, Any], new: dict[str, Any]) -> None:
    for key, value in new.items():
        if isinstance(value, dict) and isinstance(place.get(key), dict):
            _join(place[key], value)
        else:
            place[key] = value


def stops(outcome: Outcome) -> set[tuple[str, str, str]]:
    return {(f.code, f.feature, f.program) for f in outcome.findings if f.severity is Severity.stop}


def like(finding: Finding) -> tuple[str, str, str]:
    return finding.code, finding.feature, finding.program


def tried(job: Job, folder: Path, tally: Counter[str]) -> bool:
    """Every remedy of a job's findings, one at a time; whether there were any."""
    before = drawn(job, folder)
    if before is None or not any(f.remedies for f in before.findings):
        return False
    setups = {p.name: p.setup for p in before.programs}
    for finding in before.findings:
        said = [w for remedy in finding.remedies for w in (f"{e.key}: {e.value}" for e in remedy)]
        assert said == ADVICE.findall(finding.message)[: len(said)], finding.message
        for remedy in finding.remedies:
            other = mended(job, setups[finding.program], finding, remedy)
            after = drawn(other, folder)
            told = f"{finding.code} of {finding.feature}: {finding.message}\n{remedy}\n{text_of(job)}"
            assert after is not None, f"refused: {told}"
            # A chip that is thick enough on a full cut may be thin for a moment on a narrow one: a note, and no remedy.
            same = [f.message for f in after.findings if f.remedies and like(f) == like(finding)]
            assert [] == same, f"still there: {told}"
            # What a warning with its own remedy told before is not new: passes that are too deep, deeper with tabs.
            assert set() == stops(after) - {like(f) for f in before.findings}, f"a new stop: {told}"
            tally[finding.code] += 1
    return True


def of_seed(start: int, count: int) -> Counter[str]:
    """Remedies tried of so many jobs, by code."""
    tally: Counter[str] = Counter()
    folder = Path(tempfile.mkdtemp())

    @seed(start)
    @settings(max_examples=count, suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.generate])
    @given(driven_badly())
    def each(job: Job) -> None:
        assume(tried(job, folder, tally))

    each()
    return tally


@pytest.mark.slow
def test_remedies_of_a_few_jobs() -> None:
    assert 2 <= of_seed(7, 2).total()


@pytest.mark.slow
@pytest.mark.parametrize("start", range(3001, 3001 + max(1, MANY // 50)))
def test_remedies_of_many_jobs(start: int) -> None:
    tally = of_seed(start, CHUNK)
    print(dict(tally))
    assert 3 <= len(tally)


BOARD = {
    "title": "Remedies", "units": "mm", "machine": "bench-router", "wood": "black cherry",
    "instrument": {
        "scale_length": 400, "frets": 12, "strings": 4,
        "board": {"width": {"nut": 40, "end": 54}, "overhang": 8, "thickness": 6, "radius": 241},
    },
    "stock": {"length": 330, "width": 90, "thickness": 6},
    "bits": {"slit": {"shape": "flat", "diameter": 0.58, "cutting_length": 4, "shank": 3.175, "stickout": 15}},
    "setups": [
        {
            "name": "face", "zero": {"x": "nut", "y": "centreline", "z": "bed"}, "nut_at": 40, "hold": "tape",
            "features": [{"score_lines": {"bit": "scorer", "depth": 0.5}}],
        }
    ],
}  # fmt: skip
NECK = {
    "title": "Remedies", "units": "mm", "part": "neck", "machine": "bench-router", "wood": "hard maple",
    "instrument": {
        "scale_length": 400, "frets": 14, "strings": 4,
        "board": {"width": {"nut": 36, 12: 44}, "overhang": 8, "thickness": 6},
        "neck": {"thickness": {1: 20, 12: 22}, "back": "round", "margin": 0.5},
    },
    "stock": {"length": 340, "width": 90, "thickness": 26},
    "setups": [
        {
            "name": "face", "zero": {"x": "nut", "y": "centreline", "z": "bed"}, "nut_at": 40, "hold": "tape",
            "features": [],
        }
    ],
}  # fmt: skip


def with_features(job: Job, *features: dict[str, Any], **instrument: object) -> Job:
    out = copy.deepcopy(job)
    out["setups"][0]["features"] = list(features)
    _join(out["instrument"], instrument)
    return out


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(2))
def test_remedies_for_what_radiusing_takes_and_for_lines_wider_than_the_saw(seed: int, tmp_path: Path) -> None:
    rng, tally = random.Random(f"radius {seed}"), Counter[str]()
    board: dict[str, Any] = {"board": {"radius": rng.choice([184, 241, 305])}}
    line: dict[str, Any] = {"bit": rng.choice(["slit", "vee60"]), "depth": round(rng.uniform(0.2, 1.2), 2)}
    wide = {"score_lines": {"bit": "vee60", "depth": round(rng.uniform(0.45, 1.2), 2), "below": "radius"}}
    thin = {"score_lines": {"bit": "slit", "depth": round(rng.uniform(0.05, 0.14), 3), "below": "radius"}}
    slots = {"fret_slots": {"bit": "slit", "depth": round(rng.uniform(1.0, 2.2), 2)}}
    markers = {"marker_pockets": {"bit": "sixteenth", "diameter": 5, "depth": round(rng.uniform(0.3, 1.1), 2)}}
    dots = {"marker_pockets": {**markers["marker_pockets"], "shape": "round", "offset": 16}}
    for features in ([{"score_lines": line}, rng.choice([markers, dots])], [wide], [thin], [slots]):
        tried(with_features(BOARD, *features, **board), tmp_path, tally)
    assert {"kerf"} < set(tally)
    assert sum(n for code, n in tally.items() if code.endswith("after-radius")) >= 2


@pytest.mark.parametrize("seed", [0, pytest.param(1, marks=pytest.mark.slow)])
def test_remedies_for_thin_walls(seed: int, tmp_path: Path) -> None:
    rng, tally = random.Random(f"walls {seed}"), Counter[str]()
    for _ in range(2):
        deep = round(rng.uniform(9.0, 12.0), 1)
        rod = {"truss_rod_channel": {"bit": "quarter", "width": 6.4, "depth": deep, "from": 8, "to": 240}}
        bar = {"bit": "eighth", "width": 3.4, "depth": round(rng.uniform(5.0, 10.0), 1), "offset": 10}
        bars = {"reinforcement_slots": {**bar, "from": 20, "to": 200}}
        tried(with_features(NECK, rng.choice([rod, bars])), tmp_path, tally)
    assert {"wall-too-thin"} <= set(tally)


def test_a_remedy_is_joined_to_what_stands_in_the_job() -> None:
    job = {"bits": {"a": {"diameter": 3}}, "setups": [{"name": "face", "features": [{"outline": {"bit": "a"}}]}]}
    finding = Finding("part-loose", Message(""), feature="outline")
    remedy = (Entry("bits", "{a: {stickout: 20}}", of="job"), Entry("tabs", "{count: 2, length: 5}"))
    assert {
        "bits": {"a": {"diameter": 3, "stickout": 20}},
        "setups": [{"name": "face", "features": [{"outline": {"bit": "a", "tabs": {"count": 2, "length": 5}}}]}],
    } == mended(job, "face", finding, remedy)


def test_a_line_over_a_slot_that_the_router_cuts_is_no_guide_for_a_saw(tmp_path: Path) -> None:
    """A slot 0.7 mm wide at fret 5, and a line 0.677 wide there and elsewhere: the widest told is the line's."""
    slot = {"shape": "flat", "diameter": 0.7, "cutting_length": 4, "shank": 3.175, "stickout": 15}
    job = with_features(
        BOARD,
        {"score_lines": {"bit": "vee60", "depth": 0.5}},
        {"fret_slots": {"bit": "wide", "depth": 1.8, "frets": [5]}},
    )
    job["bits"]["wide"], job["by_hand"] = slot, "slots sawn before radiusing"
    tally = Counter[str]()
    assert tried(job, tmp_path, tally)
    assert tally["kerf"] == 1
