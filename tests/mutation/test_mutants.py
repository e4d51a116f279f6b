"""The faults that are put into sources are what they say, and the tests that are to see them do run them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.mutation.campaign import PAGE, ROOT, TARGETS, WIDER, files_for, modules, run
from tests.mutation.mutants import Mutant, mutant, places

SOURCE = '''"""Words."""
LIMIT: float = 0.5

def f(x: int, on: bool = True) -> float:
    if x < 3 and on:
        return -min(x, 2) * LIMIT
    return x + 1.0
'''


def test_each_fault_is_one_small_change() -> None:
    made = [mutant("m", SOURCE, place) for place in places(SOURCE)]
    found = {m.what: m.source for m in made}
    assert {
        "0.5: doubled", "True: not", "if x < 3 and on: not", "x < 3 and on: Or", "x < 3: LtE", "3: + 1",
        "-min(x, 2) * LIMIT: Div", "-min(x, 2): bare", "min: max", "2: + 1", "x + 1.0: Sub", "1.0: doubled",
    } == set(found)  # fmt: skip
    assert len(made) == len(found)
    assert "x <= 3 and on" in found["x < 3: LtE"]
    assert "return x - 1.0" in found["x + 1.0: Sub"]
    for source in found.values():
        compile(source, "m", "exec")
    assert len(set(found.values())) == len(found)


def test_files_for_a_module_are_those_that_import_it() -> None:
    assert "tests/unit/instrument/test_frets.py" == files_for("toolpaths.instrument.frets")[0]
    assert (
        "tests/unit/verification/checks/shape/test_gouge.py"
        == files_for("toolpaths.verification.checks.shape.gouge")[0]
    )


@pytest.mark.parametrize("group", TARGETS)
def test_every_group_has_its_modules(group: str) -> None:
    assert modules(group)
    assert set(TARGETS) == set(WIDER)
    assert all((ROOT / place).exists() for place in WIDER[group])
    assert all(path.is_file() for path in modules(group))


@pytest.mark.slow
def test_a_wrong_formula_is_seen_and_the_right_one_passes() -> None:
    path = Path("toolpaths/instrument/frets.py")
    source = (ROOT / path).read_text(encoding="utf-8")
    assert 1 == source.count("STEPS = 12\n")
    wrong = source.replace("STEPS = 12\n", "STEPS = 12.01\n")
    assert (
        "its own tests"
        == run("instrument and operations", Mutant("toolpaths.instrument.frets", 1, "a wrong root", wrong)).seen_by
    )


def test_the_page_has_the_score() -> None:
    found = re.search(r"<!-- mutants -->\n(.*?)<!-- end of mutants -->", PAGE.read_text(encoding="utf-8"), re.S)
    assert found
    for group in TARGETS:
        assert re.search(rf"\| {group} \| \d+ \| \d+ \| \d+ \| \d+ \| [\d.]+ % \|", found[1])
