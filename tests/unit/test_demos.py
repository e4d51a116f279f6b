"""Every demo job, and every job that tests lean on, makes a set of programs that nothing stops."""

from __future__ import annotations

from pathlib import Path

import pytest
from ruamel.yaml import YAML

from tests.support.made import made as make
from toolpaths.instrument.frets import fret_distances
from toolpaths.job.changes import Changes
from toolpaths.verification.finding import Severity

ROOT = Path(__file__).parents[2]


def jobs(folder: str) -> list[Path]:
    """The jobs of a folder; an instrument that several share is none."""
    loader = YAML(typ="safe")
    return [p for p in sorted((ROOT / folder).glob("*.yaml")) if "setups" in loader.load(p.read_text(encoding="utf-8"))]


DEMOS = jobs("demo_jobs")
LONG = ROOT / "tests" / "cases" / "long_scale.yaml"


def test_there_are_demos_in_millimetres_and_in_inches() -> None:
    units = {YAML(typ="safe").load(p.read_text(encoding="utf-8"))["units"] for p in DEMOS}
    assert {"mm", "in"} == units


@pytest.mark.parametrize("path", [*DEMOS, LONG], ids=lambda p: p.stem)
def test_it_makes_programs_that_nothing_stops(path: Path) -> None:
    found = make(path, Changes(pitch=0.5))
    assert [] == [f.message for f in found.findings if f.severity is Severity.stop]
    assert found.programs
    assert all(p.text.endswith("M30\n") for p in found.programs)


def test_a_long_scale_fits_the_table_router() -> None:
    # 24 frets of 864 mm: the last at 648 mm, three quarters of the scale. A blank of 700 mm on 800 mm of travel.
    found = make(LONG, Changes(pitch=0.5))
    assert 648.0 == pytest.approx(fret_distances(864, 24)[-1])
    # It lies on a vacuum bed, 8.4 mm thick, and its outline's bit is an up-cut spiral.
    assert ["spiral"] == [f.code for f in found.findings if f.severity is not Severity.note]
    assert "(Motion: X -14.50 to 714.50 mm, " in found.programs[0].text


@pytest.mark.parametrize("path", DEMOS, ids=lambda p: p.stem)
def test_a_demo_says_how_it_is_run(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# ")
    assert f"neckpath check demo_jobs/{path.name}" in text
