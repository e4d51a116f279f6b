"""Every comment of every demo's programs: figures that a person at the machine can use, in the machine's own units."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import lay_out

DEMOS = sorted((Path(__file__).parents[2] / "demo_jobs").glob("*.yaml"))
NUMBER = re.compile(r"(?<![\w.])-?[0-9]+(?:\.[0-9]+)?(?![\w.]*[a-z][0-9])")
DECIMALS = {"mm": 3, "in": 4}
"""0.001 mm and 0.0001 in: what a dial indicator shows, and the last digit of a Z to enter."""
OTHER = {"mm": re.compile(r"[0-9] in\b"), "in": re.compile(r"[0-9] mm\b|[0-9] m/min")}


def comments_of(text: str) -> list[str]:
    """Each comment as one sentence, the lines that go on with it joined."""
    return re.findall(r"^\((.*)\)$", text.replace(")\n(+ ", " "), re.MULTILINE)


def faults(said: str, units: str) -> list[str]:
    """What is wrong with a comment's figures."""
    found = [f"-0 in {said}"] if re.search(r"-0(?:\.0+)?(?![0-9.])", said) else []
    digits = [n for n in NUMBER.findall(said) if len(n.partition(".")[2]) > DECIMALS[units]]
    found += [f"too many digits in {said}"] if digits else []
    return found + ([f"other units in {said}"] if OTHER[units].search(said) else [])


def test_the_rule_finds_what_it_is_for() -> None:
    assert ["-0 in Z -0.00 mm"] == faults("Z -0.00 mm", "mm")
    assert [] == faults("Z -0.01 to 0.00 mm, 1.587 mm", "mm")
    assert ["too many digits in 1.5875 mm"] == faults("1.5875 mm", "mm")
    assert ["other units in at most 0.15 mm"] == faults("at most 0.15 mm", "in")
    assert ["other units in at most 0.006 in"] == faults("at most 0.006 in", "mm")


def each_demo() -> list[object]:
    """Every demo; the two long ones are slow."""
    long = {"dunlin_neck", "tenor_neck"}
    return [pytest.param(p, id=p.stem, marks=[pytest.mark.slow] if p.stem in long else []) for p in DEMOS]


@pytest.mark.parametrize("job", each_demo())
def test_figures_have_no_more_digits_than_matter_and_the_machine_s_units(job: Path) -> None:
    layout = lay_out(job, Changes())
    units = layout.loaded.machine.units
    for _, program in layout.own:
        said = comments_of(program.text)
        assert [] == [fault for one in said if not one.startswith("Title: ") for fault in faults(one, units)]
