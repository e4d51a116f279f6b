"""A fault that repeats on every line ends in a count."""

import numpy as np

from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_limit import shortened, worst_of_each
from toolpaths.verification.wording.message import Message


def findings(count: int, feature: str = "outline") -> list[Finding]:
    return [Finding.of("into-bed", Message("too deep"), feature=feature, program_line=i + 1) for i in range(count)]


def test_up_to_four_are_told_one_by_one() -> None:
    assert findings(4) == shortened(findings(4))


def test_the_rest_is_counted_by_feature_and_keeps_its_weight() -> None:
    found = shortened(findings(6) + findings(1, "plane"))
    assert 6 == len(found)
    assert [
        "and 2 more of this kind in outline, the next in line 5",
        "and one more of this kind in plane, the next in line 1",
    ] == [f.message for f in found[4:]]
    assert {Severity.stop} == {f.severity for f in found}
    assert ["outline", "plane"] == [f.feature for f in found[4:]]


def test_the_worst_of_each_line_stands_for_it() -> None:
    assert [1, 2] == worst_of_each(np.array([5, 5, 3, 3]), np.array([0.1, 0.3, 0.9, 0.2]))
