"""A whole neck's job: it passes as it stands, and each fault put into it gives its own finding with its line."""

import math
from pathlib import Path

import numpy as np
import pytest

from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import make
from toolpaths.verification.finding import Severity

CASE = Path(__file__).parents[4] / "cases" / "walled_neck.yaml"


@pytest.fixture
def found(tmp_path):
    def judge(*changes: tuple[str, str]):
        text = CASE.read_text(encoding="utf-8")
        for old, new in changes:
            assert 1 == text.count(old)
            text = text.replace(old, new)
        path = tmp_path / "neck.yaml"
        path.write_text(text, encoding="utf-8")
        lines = text.splitlines()
        outcome = make(path, Changes(pitch=0.25))
        return [(f, lines[f.job_line - 1]) for f in outcome.findings if f.severity is not Severity.note]

    return judge


def wall_at_the_nut(depth: float) -> float:
    """Least distance from (3.2, depth) to half an ellipse by 400,000 of its points, less 0.5 mm: the nut's section.

    Half width 18; 20.5 at fret 1 and 22 at fret 12 make 20.31 at the nut, 14.31 below the glue face.
    """
    first = 584 * (1 - 2 ** (-1 / 12))
    deep = 14.5 - 1.5 * first / (292 - first)
    t = np.linspace(0, math.pi / 2, 400_001)
    return float(np.hypot(18 * np.sin(t) - 3.2, deep * np.cos(t) - depth).min()) - 0.5


@pytest.mark.slow
def test_a_channel_of_nine_and_a_half_in_a_neck_of_twenty_and_a_half_passes(found) -> None:
    assert [] == found()


def test_a_channel_of_thirteen_is_stopped_with_place_and_millimetres(found) -> None:
    # So deep a channel also packs its chips; that is another question.
    [(one, line)] = [pair for pair in found(("depth: 9.5", "depth: 13")) if pair[0].code != "chips-pack"]
    assert ("wall-too-thin", Severity.stop, "truss_rod_channel") == (one.code, one.severity, one.feature)
    assert "truss_rod_channel" in line
    left = float(one.said.measured.split(" mm below")[0])
    # The neck is thinnest at the nut, and behind it grows into the headstock.
    assert wall_at_the_nut(13.0) == pytest.approx(left, abs=0.01)
    assert 0.0 == pytest.approx(one.x, abs=0.5)
    assert one.program_line > 0


@pytest.mark.slow
def test_a_channel_of_eleven_is_a_warning(found) -> None:
    [(one, _)] = found(("depth: 9.5", "depth: 11"))
    assert Severity.warn is one.severity
    assert wall_at_the_nut(11.0) == pytest.approx(float(one.said.measured.split(" mm")[0]), abs=0.01)


@pytest.mark.slow
def test_bars_that_leave_the_neck_are_stopped(found) -> None:
    codes = {(f.code, line.split(":")[0].strip("- ")) for f, line in found(("offset: 9,", "offset: 22,"))}
    assert {("wall-too-thin", "reinforcement_slots"), ("wood-between", "reinforcement_slots")} == codes


@pytest.mark.slow
def test_a_rod_longer_than_the_board_is_stopped(found) -> None:
    every = found(("to: 350", "to: 399"))
    assert "rod-uncovered" in [f.code for f, line in every if "truss_rod_channel" in line]


@pytest.mark.slow
def test_bars_against_the_rod_are_stopped(found) -> None:
    [(one, line)] = found(("offset: 9,", "offset: 6,"))
    assert "wood-between" == one.code
    # 6 - 1.7 - 3.2
    assert "1.10 mm" == one.said.measured
    assert "reinforcement_slots" in line
