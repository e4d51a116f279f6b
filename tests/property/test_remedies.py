"""Each remedy of a finding works: set in the job as printed, the finding is gone, and nothing new stops.

Jobs are drawn from the whole schema and then driven badly: feeds, speeds, passes, tabs and lengths of bits anywhere.
"""

from __future__ import annotations

import copy
import os
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

MANY = int(os.environ.get("NECKPATH_JOBS", "100"))
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


def tried(job: Job, folder: Path, tally: Counter[str]) -> None:
    """Every remedy of a job's findings, one at a time."""
    before = drawn(job, folder)
    assume(before is not None and any(f.remedies for f in before.findings))
    assert before is not None
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


def of_seed(start: int, count: int) -> Counter[str]:
    """Remedies tried of so many jobs, by code."""
    tally: Counter[str] = Counter()
    folder = Path(tempfile.mkdtemp())

    @seed(start)
    @settings(max_examples=count, suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.generate])
    @given(driven_badly())
    def each(job: Job) -> None:
        tried(job, folder, tally)

    each()
    return tally


def test_remedies_of_a_few_jobs() -> None:
    assert 2 <= of_seed(7, 2).total()


@pytest.mark.slow
@pytest.mark.parametrize("start", range(3001, 3001 + max(1, MANY // 50)))
def test_remedies_of_many_jobs(start: int) -> None:
    tally = of_seed(start, CHUNK)
    print(dict(tally))
    assert 3 <= len(tally)


def test_a_remedy_is_joined_to_what_stands_in_the_job() -> None:
    job = {"bits": {"a": {"diameter": 3}}, "setups": [{"name": "face", "features": [{"outline": {"bit": "a"}}]}]}
    finding = Finding("tab-weak", "", feature="outline")
    remedy = (Entry("bits", "{a: {stickout: 20}}", of="job"), Entry("tabs", "{count: 2, length: 5}"))
    assert {
        "bits": {"a": {"diameter": 3, "stickout": 20}},
        "setups": [{"name": "face", "features": [{"outline": {"bit": "a", "tabs": {"count": 2, "length": 5}}}]}],
    } == mended(job, "face", finding, remedy)
