"""Lines and slots that follow the future top, the whole way: cut, read back, and measured in the wood."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.support.made import made as make
from tests.support.small_board import small_board, written
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import verify
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[2]
SLOTTER = (
    "slotter: {shape: flat, diameter: 0.6, flutes: 2, cutting_length: 4, shank: 3.175, stickout: 15, material: carbide}"
)


def job(folder: Path, feature: str, radius: str = "241.3") -> Path:
    return written(folder, small_board(feature, radius=radius, bits=SLOTTER, hold="tape"))


def depth_at(outcome: Outcome, x: float, y: float) -> float:
    """Below the flat face, in the map after the last program."""
    after = outcome.setups[0].after
    col, row = round((x - after.x0) / after.pitch), round((y - after.y0) / after.pitch)
    return 5.0 - float(after.heights[row - 1 : row + 2, col - 1 : col + 2].min())


@pytest.mark.parametrize("bit", ["slotter", "vee60"])
@pytest.mark.parametrize("radius", ["241.3", "{nut: 184.15, end: 406.4}"])
def test_a_line_is_there_at_the_edge_and_nothing_is_found(tmp_path: Path, bit: str, radius: str) -> None:
    feature = f"score_lines: {{bit: {bit}, depth: 0.4, below: radius}}"
    outcome = make(job(tmp_path, feature, radius), Changes(pitch=0.1))
    assert [] == [f.message for f in outcome.findings if f.severity is not Severity.note]
    # Fret 5 of 300 lies at 75.254, where the board is 44 mm wide; its end at 81.254. Derived.
    r = 241.3 if radius == "241.3" else 184.15 + (406.4 - 184.15) * 75.254 / 81.254
    drop = r - np.sqrt(r * r - 21.5**2)
    assert 0.4 + drop == pytest.approx(depth_at(outcome, 75.254, 21.5), abs=0.02)
    assert 0.4 == pytest.approx(depth_at(outcome, 75.254, 0.0), abs=0.02)


def test_a_flat_line_on_a_board_to_be_radiused_is_told_with_the_edge_s_sagitta(tmp_path: Path) -> None:
    outcome = make(job(tmp_path, "score_lines: {bit: slotter, depth: 0.4}"), Changes(pitch=0.2))
    (found,) = [f for f in outcome.findings if f.code == "gone-after-radius"]
    # 241.3 - sqrt(241.3^2 - 22^2) = 1.0050 at fret 5. Derived.
    assert found.said.measured in ("fret 5: 1.01 mm", "fret 5: 1.00 mm")


def test_slots_of_full_depth_follow_too_and_end_blind(tmp_path: Path) -> None:
    feature = "fret_slots: {bit: slotter, tang: {height: 1.5, width: 0.8}, below: radius, ends: {blind: 2.5}}"
    outcome = make(job(tmp_path, feature), Changes(pitch=0.1))
    assert [] == [f.message for f in outcome.findings if f.severity is not Severity.note]
    drop = 241.3 - np.sqrt(241.3**2 - 15.0**2)
    assert 1.9 + drop == pytest.approx(depth_at(outcome, 75.254, 15.0), abs=0.02)
    assert 0.0 == depth_at(outcome, 75.254, 20.5)


@pytest.mark.parametrize("bit", ["slotter", "vee60"])
@pytest.mark.parametrize("below", ["face", "radius"])
def test_a_blind_line_stops_short_of_the_edges_and_nothing_is_found(tmp_path: Path, bit: str, below: str) -> None:
    feature = f"score_lines: {{bit: {bit}, depth: 0.4, below: {below}, ends: {{blind: 3}}}}"
    outcome = make(job(tmp_path, feature), Changes(pitch=0.1))
    assert [] == [f.message for f in outcome.findings if f.severity is not Severity.note and "radius" not in f.code]
    drop = 241.3 - np.sqrt(241.3**2 - 17.0**2) if below == "radius" else 0.0
    # Fret 5 of 300 lies at 75.254 (derived), where the board is 44 wide: the line is there at 17, and gone at 19.2.
    assert 0.4 + drop == pytest.approx(depth_at(outcome, 75.254, 17.0), abs=0.02)
    assert 0.0 == depth_at(outcome, 75.254, 19.2)
    assert 0.0 == depth_at(outcome, 75.254, -19.2)
    assert any("stop 3.00 mm before the edges" in h.what for h in outcome.handwork if h.feature == "score_lines")


FAN = """\
title: Fan with a radius
units: mm
machine: bench-router
wood: black cherry
instrument:
  scale_length: {bass: 330, treble: 290, square_fret: 3}
  frets: 5
  strings: 5
  board: {width: {nut: 46, 5: 50}, overhang: 6, thickness: 5, radius: 241.3}
stock: {length: 150, width: 76, thickness: 6}
bits:
  slotter: {shape: flat, diameter: 0.6, flutes: 2, cutting_length: 4, shank: 3.175, stickout: 15, material: carbide}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 30
    hold: tape
    features:
      - plane: {bit: planer, leave: 5}
      - FEATURE
"""


@pytest.mark.parametrize(
    "feature",
    [
        "fret_slots: {bit: slotter, depth: 1.8, below: radius, ends: {blind: 2.5}}",
        "score_lines: {bit: slotter, depth: 0.6, below: radius, ends: {blind: 2.5}}",
        "score_lines: {bit: vee60, depth: 0.4, below: radius, ends: {blind: 2.5}}",
    ],
)
def test_fanned_slots_that_are_blind_follow_the_top_too(tmp_path: Path, feature: str) -> None:
    """The ends of a leaning slot lie unlike far from the centreline, and unlike deep."""
    path = tmp_path / "fan.yaml"
    path.write_text(FAN.replace("FEATURE", feature), encoding="utf-8")
    outcome = make(path, Changes(pitch=0.2))
    assert [] == [f.message for f in outcome.findings if f.severity is not Severity.note]


@pytest.mark.slow
def test_a_slot_raised_in_the_text_by_a_tenth_is_refused(tmp_path: Path) -> None:
    """A fault and a near miss: the deepest height of one slot, by hand, in the text."""
    path = job(tmp_path, "fret_slots: {bit: slotter, depth: 1.8, below: radius}")
    outcome = make(path, Changes(pitch=0.2))
    program = next(p for p in outcome.programs if "slotter" in p.bits)
    file = tmp_path / program.name
    lines = program.text.splitlines()
    last = max(i for i, line in enumerate(lines) if line.startswith("G1 ") and " Z3." in line)
    place = lines[last].index(" Z") + 2
    z = float(lines[last][place:].split()[0])
    for lower, refused in ((0.005, False), (0.15, True)):
        text = [*lines]
        text[last] = text[last].replace(f"Z{z:g}", f"Z{z - lower:.3f}")
        file.write_text("\n".join(text) + "\n", encoding="utf-8")
        found = verify(path, [file], Changes(pitch=0.2))
        assert refused == any(f.code == "gouge" for f in found.findings)


@pytest.mark.slow
def test_slots_that_the_router_cuts_are_not_left_to_saw(tmp_path: Path) -> None:
    both = (
        "score_lines: {bit: vee60, depth: 0.4, below: radius}\n"
        "      - fret_slots: {bit: slotter, depth: 1.8, below: radius, frets: [4, 5]}"
    )
    outcome = make(job(tmp_path, both), Changes(pitch=0.3))
    (words,) = [h.what for h in outcome.handwork if h.feature == "score_lines"]
    assert words.startswith("Saw 3 fret slots after radiusing")
    every = both.replace(", frets: [4, 5]", "")
    assert [] == [h.what for h in make(job(tmp_path, every), Changes(pitch=0.3)).handwork if h.feature == "score_lines"]
