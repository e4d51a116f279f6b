"""No harmful fault passes and no harmless one is refused: a small campaign each time, a larger one now and then."""

from __future__ import annotations

import random

import pytest

from tests.outside.interpreter import needed
from tests.tamper.campaign import DEMOS, PAGE, bound, count_of, tried
from tests.tamper.kinds import KINDS


def told(found: list) -> list[str]:
    return [
        f"{t.demo} {t.program}: {t.kind}: {t.what} ({t.why}), refused {t.refused}: {t.change}" for t in found if t.wrong
    ]


@needed
@pytest.mark.slow
def test_faults_in_a_scoring_pass() -> None:
    # Every eighth kind; every kind is tried below.
    found = tried("tenor_board", 1, [*list(KINDS)[::12], "a comment added"], tries=1, seed=7)
    assert {"harmful", "harmless"} <= {t.what for t in found}
    assert [] == told(found)


@needed
@pytest.mark.slow
@pytest.mark.parametrize("demo", DEMOS)
def test_faults_in_every_demo(demo: str) -> None:
    rng = random.Random(f"campaign {demo}")
    chosen: dict[int, list[str]] = {}
    # Every kind in one of the demos; `python -m tests.tamper.campaign` tries all of them in all programs.
    for kind in list(KINDS)[DEMOS.index(demo) :: len(DEMOS)]:
        chosen.setdefault(rng.randrange(count_of(demo)), []).append(kind)
    assert [] == told([t for place, kinds in chosen.items() for t in tried(demo, place, kinds, tries=1, seed=11)])


def test_the_page_tells_of_every_kind_and_every_demo_and_of_no_miss() -> None:
    page = PAGE.read_text(encoding="utf-8")
    table = (line.split("|") for line in page.splitlines() if line.startswith("| "))
    rows = {cells[1].strip(): [cell.strip() for cell in cells] for cells in table if len(cells) > 8}
    assert [] == [kind for kind in KINDS if kind not in rows]
    assert [] == [demo for demo in DEMOS if demo not in page]
    for kind in KINDS:
        harmful, refused, harmless_refused = (int(rows[kind][i]) for i in (3, 4, 7))
        assert (harmful, 0) == (refused, harmless_refused), kind


def test_the_bound_is_that_of_clopper_and_pearson() -> None:
    # 1 - 0.05^(1/n) where none of n was missed: derived. 5 of 100: 0.1023 (scipy, and tables of the method).
    assert 1 - 0.05 ** (1 / 59) == pytest.approx(bound(0, 59))
    assert 0.1023 == pytest.approx(bound(5, 100), abs=2e-4)
