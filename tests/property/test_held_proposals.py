"""What is proposed holds: screws, clamps and tabs, set in the job as printed."""

from __future__ import annotations

import copy
import os
import re
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from tests.property.any_job import jobs, text_of
from tests.property.draws import Job
from tests.property.held_jobs import Drawn, held_job
from tests.property.plain_part import Part
from tests.property.test_held import outcome_of
from tests.property.test_remedies import mended
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome

MANY = int(os.environ.get("NECKPATH_JOBS", "48"))
NEVER = ("keep-out", "holder-place", "holder-unplaced")
"""No proposal may leave or bring one of these."""
SMALL = ("board_with_screws", "narrow_blank", "neck_of_two_sides", "board_with_clamps")


def stops(outcome: Outcome, *codes: str) -> list[Finding]:
    return [f for f in outcome.findings if f.severity is Severity.stop and f.code in codes]


def unplaced(job: Job, word: str) -> Job:
    """The job, held in its setups by screws or clamps that have no place; no clamp fits where all is planed."""
    out = copy.deepcopy(job)
    for setup in out["setups"]:
        planed = any("plane" in feature for feature in setup["features"])
        setup["hold"] = "tape" if word == "clamps" and planed else word
        setup.pop("skew", None)
        setup["features"] = [f for f in setup["features"] if "screw_holes" not in f]
    return out


def pasted(job: Job, outcome: Outcome, tally: Counter[str]) -> Job | None:
    """The job with the places that its findings propose; None where one of them has no room."""
    out = copy.deepcopy(job)
    for setup in out["setups"]:
        if setup["hold"] == "tape":
            continue
        (finding,) = [f for f in stops(outcome, "holder-unplaced") if f"setup {setup['name']}:" in f.message]
        if not finding.remedies:
            assert "no room" in finding.message
            return None
        ((entry,),) = finding.remedies
        assert f"`{entry.key}: {entry.value}`" in finding.message
        setup["hold"] = YAML(typ="safe").load(f"{entry.key}: {entry.value}")["hold"]
        if any("sunk" in g for g in groups(setup["hold"])):
            _bore(out, setup)
            tally["with sunk heads"] += 1
    return out


def groups(hold: dict[str, Any]) -> list[dict[str, Any]]:
    given = hold.get("screws", [])
    return [given] if isinstance(given, dict) else given


def _bore(job: Job, setup: dict[str, Any]) -> None:
    """Holes for the screws; until these are in, a clamp at each end holds the blank."""
    part = Part(job, job["setups"].index(setup))
    top = part.top + part.under
    bit = "pinner" if job["part"] == "neck" else "eighth"
    setup["features"].append({"screw_holes": {"bit": bit}})
    ends = ((part.blank[0] - 20, part.blank[0] + 8), (part.blank[2] - 8, part.blank[2] + 20))
    setup["hold"]["clamps"] = [
        {
            "name": f"until then {k}", "x": [f"{a:.3f} mm", f"{b:.3f} mm"], "y": ["-7 mm", "7 mm"],
            "height": f"{top + 4:.3f} mm", "until": "screws",
        }
        for k, (a, b) in enumerate(ends, 1)
    ]  # fmt: skip


def followed(job: Job, word: str, folder: Path, tally: Counter[str]) -> list[str]:
    """All that is proposed for a job, set in it step by step; and what is wrong then, in words."""
    bare = unplaced(job, word)
    outcome = outcome_of(bare, folder)
    if outcome is None or stops(outcome, "unreadable"):
        tally["refused"] += 1
        return []
    asked = {f"setup {s['name']}:" for s in bare["setups"] if s["hold"] != "tape"}
    if not asked:
        tally["nothing asked"] += 1
        return []
    assert asked <= {m[0] for f in stops(outcome, "holder-unplaced") if (m := re.match(r"setup [^:]+:", f.message))}
    placed = pasted(bare, outcome, tally)
    if placed is None:
        tally[f"{word}: no room"] += 1
        return []
    tally[f"{word}: proposed"] += 1
    after = outcome_of(placed, folder)
    if after is None:
        return [f"refused as pasted:\n{text_of(placed)}"]
    wrong = [f"{f.code} of {f.program}: {f.message}" for f in stops(after, *NEVER)]
    loose = [f for f in stops(after, "part-loose") if f.program and f.remedies]
    tally["part-loose without a remedy"] += len(stops(after, "part-loose")) - len(loose)
    if loose:
        wrong += tabs_followed(placed, after, loose[0], folder, tally)
    return [*wrong, text_of(placed)] if wrong else []


def tabs_followed(job: Job, before: Outcome, finding: Finding, folder: Path, tally: Counter[str]) -> list[str]:
    """What is wrong with a job once the tabs are set that a finding proposes."""
    setups = {p.name: p.setup for p in before.programs}
    (remedy,) = finding.remedies
    other = mended(job, setups[finding.program], finding, remedy)
    after = outcome_of(other, folder)
    tally["tabs: proposed"] += 1
    if after is None:
        return [f"tabs refused: {remedy}"]
    still = [f for f in after.findings if f.program == finding.program and f.severity is Severity.stop]
    wrong = [
        f"tabs {remedy}: {f.code}: {f.message}" for f in still if f.code in ("part-loose", "hold-weak", "part-parted")
    ]
    weak = [f for f in after.findings if f.code == "hold-weak" and f.program == finding.program]
    tally["tabs: a warning stays"] += bool(weak and not wrong)
    tally["tabs: nothing stays"] += not weak and not wrong
    return wrong


def small(number: int) -> tuple[Job, str]:
    """A small board or neck, and what is to hold it."""
    name = f"proposed {number}"
    _, job = held_job(name, SMALL[number % len(SMALL)])
    for setup in job["setups"]:
        gone = {"screw_holes"} | ({"plane"} if job["part"] == "board" and number % 5 else set())
        setup["features"] = [f for f in setup["features"] if not gone & set(f)]
    return job, Drawn(name).one("screws", "clamps")


@pytest.mark.parametrize("number", range(4))
def test_a_few_proposals(number: int, tmp_path: Path) -> None:
    job, word = small(number)
    assert [] == followed(job, word, tmp_path, Counter())


@pytest.mark.slow
@pytest.mark.parametrize("chunk", range(4))
def test_proposals_for_small_jobs(chunk: int, tmp_path: Path) -> None:
    tally: Counter[str] = Counter()
    for number in range(chunk, MANY, 4):
        job, word = small(number)
        wrong = followed(job, word, tmp_path, tally)
        assert not wrong, f"{number}: " + "\n".join(wrong)
    print(dict(tally))
    assert tally["screws: proposed"] + tally["clamps: proposed"]


@pytest.mark.slow
@pytest.mark.parametrize("start", range(6001, 6001 + max(1, MANY // 24)))
def test_proposals_for_any_job(start: int) -> None:
    tally: Counter[str] = Counter()
    folder = Path(tempfile.mkdtemp())

    @seed(start)
    @settings(max_examples=6, suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.generate])
    @given(jobs(), st.sampled_from(["screws", "clamps"]))
    def each(job: Job, word: str) -> None:
        wrong = followed(job, word, folder, tally)
        assert not wrong, "\n".join(wrong)

    each()
    print(dict(tally))
