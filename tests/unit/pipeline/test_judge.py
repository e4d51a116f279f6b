"""What was found is told once, worst first; what the maker accepts is weakened, never hidden."""

from __future__ import annotations

from dataclasses import replace

from toolpaths.pipeline.judge import settled
from toolpaths.verification.finding import NEVER_ACCEPTED, SEVERITY, Finding, Severity
from toolpaths.verification.wording.message import Message


def finding(code: str, feature: str = "outline", line: int = 1, program: str = "01.ngc") -> Finding:
    return Finding.of(code, Message(f"{code} of {feature}."), feature=feature, program=program, program_line=line)


def test_the_worst_comes_first_and_then_the_program_s_order() -> None:
    kerf, tab = finding("kerf", line=2), finding("spiral", line=1)
    gouge, later = finding("gouge", line=9), finding("gouge", line=3, program="02.ngc")
    found, _ = settled([kerf, later, tab, gouge], ())
    assert (gouge, later, tab, kerf) == found


def test_nothing_is_told_twice() -> None:
    found, _ = settled([finding("gouge"), finding("gouge")], ())
    assert 1 == len(found)


def test_an_accepted_stop_becomes_a_warning_that_says_so() -> None:
    found, accepted = settled([finding("uncut")], [("uncut", "outline")])
    assert [Severity.warn] == [f.severity for f in found]
    assert ["accepted"] == [f.said.todo for f in found]
    assert all(f.message.startswith("uncut of outline.") and f.message.endswith("Accepted") for f in found)
    assert ("uncut@outline",) == accepted


def test_only_the_named_feature_s_is_let_pass() -> None:
    found, accepted = settled([finding("uncut"), finding("uncut", feature="plane")], [("uncut", "plane")])
    assert [("outline", Severity.stop), ("plane", Severity.warn)] == [(f.feature, f.severity) for f in found]
    assert ("uncut@plane",) == accepted


def test_what_can_hurt_is_never_accepted() -> None:
    for code in NEVER_ACCEPTED:
        found, accepted = settled([finding(code)], [(code, "outline")])
        assert [Severity.stop] == [f.severity for f in found]
        assert () == accepted


def test_a_finding_that_is_never_accepted_stays_a_stop_beside_one_that_may_be() -> None:
    deep = replace(Finding.of("gouge", Message("a deep one"), feature="outline"), never_accepted=True)
    found, accepted = settled([finding("gouge"), deep], [("gouge", "outline")])
    assert [("a deep one", Severity.stop)] == [(f.message, f.severity) for f in found if f.severity is Severity.stop]
    assert 2 == len(found)
    assert ("gouge@outline",) == accepted


def test_every_code_that_is_never_accepted_is_a_stop() -> None:
    assert {Severity.stop} == {SEVERITY[code] for code in NEVER_ACCEPTED}


def test_a_warning_needs_no_acceptance_and_stays_one() -> None:
    found, accepted = settled([finding("kerf")], [("kerf", "outline")])
    assert ["kerf of outline."] == [f.message for f in found]
    assert () == accepted
