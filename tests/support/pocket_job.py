"""A job with a drawn pocket that two bits cut, one after the other; the square one is 20 x 12 mm."""

from __future__ import annotations

from pathlib import Path

from tests.support.small_board import small_board

AMPLE = "ample: {shape: flat, diameter: 5, flutes: 2, cutting_length: 15, shank: 6, stickout: 25, material: carbide}"
MARKERS = "marker_pockets: {bit: eighth, diameter: 5, depth: 1.5, frets: [1], double_spacing: 18}"
PAGE = '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="-20 -15 40 30">'
SQUARE = '<rect x="-10" y="-6" width="20" height="12"/>'
PLACE, DEPTH = (45.0, 0.0), 1.5


def written(folder: Path, shapes: str = SQUARE, machine: str = "bench-router", bits: str = "ample, sixteenth") -> Path:
    """The job's path; `bits`: the first and the second, or the first alone."""
    (folder / "drawn.svg").write_text(PAGE + f'<g fill="none" stroke="black">{shapes}</g></svg>', encoding="utf-8")
    keys = ("bit", "then")
    named = ", ".join(f"{key}: {bit.strip()}" for key, bit in zip(keys, bits.split(","), strict=False))
    pocket = f"{{{named}, drawing: drawn.svg, depth: {DEPTH}, place: [{PLACE[0]:g}, {PLACE[1]:g}]}}"
    features = (f"pocket: {pocket}", MARKERS, "outline: {bit: quarter}")
    path = folder / "job.yaml"
    path.write_text(small_board(*features, bits=AMPLE, machine=machine), encoding="utf-8")
    return path
