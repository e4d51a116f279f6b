"""Names, titles and labels are for people: with random words in their place all findings stay the same."""

from __future__ import annotations

import random
import string
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, ClassVar

import pytest

from tests.support.made import laid_out, made
from toolpaths.features.feature import Feature
from toolpaths.features.kinds import FEATURES
from toolpaths.job.changes import Changes
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Job
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import ProgramPlan
from toolpaths.pipeline import design
from toolpaths.pipeline.run import make
from toolpaths.target_shape.demand import Target
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "tests" / "cases").glob("*.yaml"))
# The same neck lies on a jig in another demo.
DEMOS = sorted(p for p in (ROOT / "demo_jobs").glob("*.yaml") if p.stem != "tenor_neck")
SMALL = ("short_board", "two_sided_neck")
COARSE = Changes(pitch=0.5)


def facts(outcome: Outcome) -> list[tuple[Any, ...]]:
    """Everything of the findings but their words."""
    return [(f.code, f.feature, f.job_line, f.program, f.x, f.y, f.severity) for f in outcome.findings]


def word(chance: random.Random) -> str:
    return "".join(chance.choices(string.ascii_lowercase, k=9))


def renamed_target(contexts: Sequence[SetupContext], own: Any, chance: random.Random) -> Target:
    found: Target = own(contexts)
    return Target({n: tuple(replace(d, name=word(chance)) for d in ds) for n, ds in found.demands.items()})


def renamed_plan(contexts: Sequence[SetupContext], own: Any, chance: random.Random) -> tuple[ProgramPlan, ...]:
    out = []
    for program_plan in own(contexts):
        operations = tuple(
            replace(
                o,
                title=word(chance),
                **({"names": tuple(word(chance) for _ in o.names)} if hasattr(o, "names") else {}),
                **({"areas": tuple(replace(a, name=word(chance)) for a in o.areas)} if hasattr(o, "areas") else {}),
            )
            for o in program_plan.operations
        )
        out.append(replace(program_plan, operations=operations))
    return tuple(out)


def check(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = facts(made(path, COARSE))
    chance = random.Random(14)
    own_target, own_plan = design.target, design.plan
    monkeypatch.setattr(design, "target", lambda contexts, _: renamed_target(contexts, own_target, chance))
    monkeypatch.setattr(design, "plan", lambda contexts, _: renamed_plan(contexts, own_plan, chance))
    assert before == facts(make(path, COARSE))


@pytest.mark.parametrize("path", [p for p in CASES if p.stem in SMALL], ids=lambda p: p.stem)
def test_a_case_is_judged_alike_whatever_its_parts_are_called(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    check(path, monkeypatch)


@pytest.mark.slow
@pytest.mark.parametrize(
    "path", [*(p for p in CASES if p.stem not in SMALL and "setups" in p.read_text()), *DEMOS], ids=lambda p: p.stem
)
def test_every_job_is_judged_alike_whatever_its_parts_are_called(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    check(path, monkeypatch)


# Every feature has its facts


@pytest.mark.parametrize("kind", FEATURES.values(), ids=lambda kind: kind.key)
def test_a_feature_says_what_it_cuts_and_where_its_work_by_hand_belongs(kind: type[FeatureKeys]) -> None:
    assert kind.cuts
    assert "cuts" in vars(kind)
    assert kind.stage is not None


@pytest.mark.parametrize("fact", ["cuts", "stage"])
def test_a_forgotten_fact_is_told_at_import(fact: str) -> None:
    facts = {"key": "toy", "cuts": frozenset({CutKind.pocket}), "stage": Stage.fill, "__module__": __name__}
    types = {"key": ClassVar[str], "cuts": ClassVar[frozenset[CutKind]], "stage": ClassVar[Stage]}
    own = {name: value for name, value in facts.items() if name != fact}
    annotations = {name: types[name] for name in own if name in types}
    with pytest.raises(TypeError, match=f"Toy does not say its {fact}: see job/feature_keys.py"):
        type("Toy", (Feature,), {**own, "__annotations__": annotations})


def test_every_kind_of_cut_is_some_feature_s() -> None:
    cut = frozenset(c for kind in FEATURES.values() for c in kind.cuts)
    assert set(CutKind) - {CutKind.trial} == cut


@pytest.mark.parametrize("path", DEMOS, ids=lambda p: p.stem)
def test_what_a_feature_wants_is_of_the_kinds_that_it_says(path: Path) -> None:
    layout = laid_out(path, COARSE)
    job: Job = layout.loaded.job
    cuts = {f.name: f.cuts for s in job.setups for f in s.features}
    for demands in layout.target.demands.values():
        assert all(d.kind in cuts[d.feature] for d in demands)
