"""`radius`, the whole way: cut, read back and measured, with the figures that were promised."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from tests.support.made import made as make
from tests.support.small_board import small_board, written
from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import verify
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome


def job(folder: Path, bit: str = "ball", radius: str = "241.3") -> Path:
    feature = f"radius: {{bit: {bit}, scallop: 0.01}}"
    return written(folder, small_board(feature, radius=radius, bits="ball: {spiral: straight}", length=140, nut_at=28))


def departures(outcome: Outcome, nut: float, end: float) -> np.ndarray:
    """Map less surface at every cell of the board, mm. Surface: elementary geometry, R linear over 81.254 mm."""
    after = outcome.setups[0].after
    x, y = np.meshgrid(after.xs, after.ys)
    on = (x > 0) & (x < 81.254) & (np.abs(y) < 20 + 2 * x / 75.254)
    r = nut + (end - nut) * x[on] / 81.254
    return np.asarray(after.heights[on] - (5.0 - (r - np.sqrt(r * r - y[on] ** 2))))


@pytest.mark.parametrize("radius", ["241.3", "{nut: 184.15, end: 406.4}"])
def test_the_top_is_within_twelve_thousandths_everywhere(tmp_path: Path, radius: str) -> None:
    outcome = make(job(tmp_path, radius=radius), Changes(pitch=0.1))
    assert [] == [f.message for f in outcome.findings if f.severity is not Severity.note]
    nut, end = (241.3, 241.3) if radius == "241.3" else (184.15, 406.4)
    off = departures(outcome, nut, end)
    assert len(off) > 300_000
    assert -0.002 <= off.min()
    assert off.max() < 0.012


def test_moves_and_size_stay_small(tmp_path: Path) -> None:
    outcome = make(job(tmp_path), Changes(pitch=0.5))
    program = next(p for p in outcome.programs if "ball" in p.bits)
    moves = [line for line in program.text.splitlines() if re.match(r"G[0123] ", line)]
    assert len(moves) < 400
    assert len(program.text) < 40_000


@pytest.mark.parametrize("bit", ["quarter", "bull"])
def test_other_bits_follow_it_too(tmp_path: Path, bit: str) -> None:
    outcome = make(job(tmp_path, bit), Changes(pitch=0.2))
    assert not outcome.stopped
    off = departures(outcome, 241.3, 241.3)
    assert -0.002 <= off.min()
    assert off.max() < 0.012


def test_much_wood_is_roughed_first(tmp_path: Path) -> None:
    path = job(tmp_path, radius="60")
    path.write_text(path.read_text(encoding="utf-8").replace("scallop: 0.01", "scallop: 0.05, pass_depth: 1.5"))
    outcome = make(path, Changes(pitch=0.2))
    assert [] == [f.message for f in outcome.findings if f.severity is Severity.stop]
    program = next(p for p in outcome.programs if "ball" in p.bits)
    assert "layer 1 of" in program.text


def test_a_pass_lowered_by_hand_is_a_gouge_and_a_hair_is_not(tmp_path: Path) -> None:
    path = job(tmp_path)
    outcome = make(path, Changes(pitch=0.2))
    program = next(p for p in outcome.programs if "ball" in p.bits)
    lines, file = program.text.splitlines(), tmp_path / program.name
    at = next(i for i, line in enumerate(lines) if re.match(r"G1 .*Z4\.[67]", line))
    z = float(re.search(r"Z([\d.]+)", lines[at])[1])  # type: ignore[index]
    for lower, refused in ((0.004, False), (0.05, True)):
        text = [*lines]
        text[at] = text[at].replace(f"Z{z:g}", f"Z{z - lower:.3f}")
        file.write_text("\n".join(text) + "\n", encoding="utf-8")
        found = verify(path, [file], Changes(pitch=0.2)).findings
        assert refused == any(f.code == "gouge" for f in found)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (", radius: 241.3", "", "no radius to follow"),
        ("bit: ball", "bit: vee60", "cannot cut a round top"),
        ("radius: 241.3", "radius: 20", "wider than a circle"),
    ],
)
def test_what_cannot_be_rounded_is_refused(tmp_path: Path, old: str, new: str, words: str) -> None:
    path = job(tmp_path)
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(JobError, match=words):
        make(path)
