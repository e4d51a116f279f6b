"""No false alarm: jobs of every kind, soundly held, of which no check of what holds says a word."""

from __future__ import annotations

import os
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from tests.property.any_job import jobs, text_of
from tests.property.draws import Job
from tests.property.plain_part import Part
from tests.property.test_held import outcome_of
from tests.property.test_held_proposals import pasted, stops, unplaced
from tests.support.plain_held import judged_plainly
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome

MANY = int(os.environ.get("NECKPATH_JOBS", "48"))
HOLDING = frozenset(
    {"part-loose", "part-parted", "hold-weak", "offcut-loose", "holder-place", "holder-unplaced", "keep-out"}
)
HELD = ("tape", "vacuum", "screws", "clamps", "tape and stops")


def soundly(job: Job, held: str, folder: Path, tally: Counter[str]) -> Job | None:
    """The job with its blank held so in every setup, and with tabs where it wants them; None where it cannot be."""
    assert held in HELD
    for setup in job["setups"]:
        setup.pop("keep_out", None)
        setup["features"] = [f for f in setup["features"] if "screw_holes" not in f]
        for feature in setup["features"]:
            outline = feature.get("outline")
            if outline is not None and held in ("screws", "clamps"):
                _with_tabs(job, setup, outline)
    if held == "clamps":
        if any("plane" in f for s in job["setups"] for f in s["features"]):
            return None
        for place, setup in enumerate(job["setups"]):
            setup["hold"] = {"clamps": list(_end_clamps(Part(job, place)))}
    elif held == "screws":
        bare = unplaced(job, "screws")
        outcome = outcome_of(bare, folder)
        return None if outcome is None or stops(outcome, "unreadable") else pasted(bare, outcome, tally)
    elif held == "tape and stops":
        for place, setup in enumerate(job["setups"]):
            part = Part(job, place)
            x0 = part.blank[0]
            stop = {
                "name": "end stop", "x": [f"{x0 - 15:.3f} mm", f"{x0:.3f} mm"], "y": ["-20 mm", "20 mm"],
                "height": f"{part.under + min(part.glue, part.top) / 2 - 1:.3f} mm",
            }  # fmt: skip
            setup["hold"] = {"tape": {}, "stops": [stop]}
    else:
        for setup in job["setups"]:
            setup["hold"] = held
    return job


def _with_tabs(job: Job, setup: Job, outline: dict[str, Any]) -> None:
    """Six tabs of 10 x 3 mm, on what the other side has left."""
    part = Part(job)
    deepest = 0.0
    if "flip" in setup:
        first = [f["outline"] for f in job["setups"][0]["features"] if "outline" in f]
        deepest = max((part.mm(o.get("depth", 0.0)) for o in first), default=0.0)
    elif "depth" in outline and part.glue - part.mm(outline["depth"]) > 3:
        return
    outline["tabs"] = {"count": 6, "length": "10 mm", "height": f"{deepest + min(3.0, part.glue / 2):.2f} mm"}


def _end_clamps(part: Part) -> list[dict[str, Any]]:
    x0, _, x1, _ = part.blank
    boxes = ((x0 - 25, x0 + 12), (x1 - 12, x1 + 25))
    return [
        {
            "name": f"clamp {k}", "x": [f"{a:.3f} mm", f"{b:.3f} mm"], "y": ["8 mm", "24 mm"],
            "height": f"{part.top + part.under + 12:.3f} mm",
        }
        for k, (a, b) in enumerate(boxes, 1)
    ]  # fmt: skip


def alarms(outcome: Outcome) -> list[Finding]:
    """What is said of holding, louder than a note."""
    return [f for f in outcome.findings if f.code in HOLDING and f.severity is not Severity.note]


def unsound(job: Job, outcome: Outcome) -> set[str]:
    """The codes of which brute force says the same, or is not sure."""
    plain = judged_plainly(job, [(p.setup, p.name, p.text) for p in outcome.programs], 0.5)
    by_code = {"part-loose": plain.loose, "keep-out": plain.near, "holder-place": plain.placed}
    return {code for code, found in by_code.items() if any(v is not False for v in found.values())}


def heard(job: Job, held: str, folder: Path, tally: Counter[str]) -> list[str]:
    """False alarms of one job, in words."""
    placed = soundly(job, held, folder, tally)
    outcome = None if placed is None else outcome_of(placed, folder)
    if placed is None or outcome is None:
        tally["refused, or no room"] += 1
        return []
    tally[f"held by {held}"] += 1
    found = alarms(outcome)
    if held == "vacuum":
        # Friction under half an atmosphere truly bears less than twice a planer on a small blank, by the formulas.
        weak = [f for f in found if f.code == "hold-weak" and f.severity is Severity.warn]
        tally["held by vacuum: a warning"] += bool(weak)
        found = [f for f in found if f not in weak]
    if not found:
        return []
    truly = unsound(placed, outcome)
    tally.update(f"{code}: truly so" for code in {f.code for f in found} & truly)
    false = [f for f in found if f.code not in truly]
    return (
        [*(f"{f.severity.name} {f.code} of {f.program}: {f.message}" for f in false), text_of(placed)] if false else []
    )


def sounded(start: int, count: int) -> Counter[str]:
    """Draws so many jobs from one seed; raises AssertionError with the first of which something is said."""
    tally: Counter[str] = Counter()
    folder = Path(tempfile.mkdtemp())

    @seed(start)
    @settings(
        max_examples=count,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.explicit, Phase.generate],
    )
    @given(jobs(machines=("bench-router",)), st.sampled_from(HELD))
    def each(job: Job, held: str) -> None:
        tally["drawn"] += 1
        wrong = heard(job, held, folder, tally)
        assert not wrong, "\n".join(wrong)

    each()
    return tally


def test_nothing_is_said_of_a_few_sound_jobs() -> None:
    assert sum(n for what, n in sounded(501, 2).items() if what.startswith("held by"))


@pytest.mark.slow
@pytest.mark.parametrize("start", range(1, 1 + max(1, MANY // 5)))
def test_nothing_is_said_of_many_sound_jobs(start: int) -> None:
    print(dict(sounded(start, 6)))
