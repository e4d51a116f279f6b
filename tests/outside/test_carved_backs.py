"""Rough backs, facets and kerfs as the programs leave them, by exact sweeps, against the section's own formula.

The section of both necks, drawn here anew: half an ellipse from edge to edge of the board, 13 mm deep at fret 1 and 14
at fret 8 (18 and 19 less 5 of board); t^2 (3 - 2 t) of the way into the heel (16 deep, over 18 mm) and into the
headstock (14 deep, over 22 mm), flat there; 2 mm of (1 + cos) / 2 over 15 mm on both sides of the nut. Elementary
geometry, and the definitions of docs/job-file.md.
"""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from tests.outside.cut_work import ROOT, form_of, pieces_of
from tests.outside.exact_wood import left
from tests.support.made import made
from tests.tamper.described import setting_of
from toolpaths.job.changes import Changes

pytestmark = pytest.mark.slow

FRET_1, FRET_8 = 300 * (1 - 2 ** (-1 / 12)), 300 * (1 - 2 ** (-8 / 12))
POINTS = 4000


def eased(t: np.ndarray) -> np.ndarray:
    t = np.clip(t, 0, 1)
    return t * t * (3 - 2 * t)


def half(x: np.ndarray) -> np.ndarray:
    """34 wide at the nut and 40 at the board's end, 6 mm past fret 8; 50 and 46 wide beyond the flanks."""
    shaft = 17 + 3 * np.clip(x, 0, None) / (FRET_8 + 6)
    flare = np.interp(x, [-31, -6], [25.0, 17.0])
    into = 17 + 3 * 92 / (FRET_8 + 6)
    return np.where(x < -6, flare, np.where(x > 92, np.interp(x, [92, 110], [into, 23.0]), shaft))


def back(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    x, y = np.broadcast_arrays(x, y)
    depth = 13 + (np.clip(x, 0, None) - FRET_1) / (FRET_8 - FRET_1)
    heel, head = eased((x - 92) / 18), eased(-x / 22)
    depth = depth * (1 - heel) + 16 * heel
    depth = depth * (1 - head) + 14 * head
    depth = depth + 2 * (1 + np.cos(np.pi * np.clip(np.abs(x) / 15, 0, 1))) / 2
    flat = np.maximum(heel, head)
    round_ = np.sqrt(np.maximum(1 - (y / half(x)) ** 2, 0))
    return np.where(np.abs(y) < half(x), depth * (flat + (1 - flat) * round_), 0.0)


def planes(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """The lowest of planes at 0, 30 and 60 degrees on the section at each x, by 4001 of its places."""
    part = np.sin(np.linspace(0, np.pi / 2, 4001)) * (1 - 1e-12)
    out = np.full(len(x), np.inf)
    for k in range(3):
        a = math.pi / 6 * k
        for i, at in enumerate(x):
            across = part * half(np.array([at]))[0]
            support = (back(np.full(4001, at), across) * math.cos(a) + across * math.sin(a)).max()
            out[i] = min(out[i], (support - abs(y[i]) * math.sin(a)) / math.cos(a))
    return out


def on_the_shaft(rng: np.random.Generator, deep: float = 0.75) -> tuple[np.ndarray, np.ndarray]:
    """Places where the section is at least so deep, as a part of its depth on the centreline."""
    x = rng.uniform(-21.5, 109.5, POINTS)
    return x, rng.uniform(-1, 1, POINTS) * math.sqrt(1 - deep * deep) * half(x)


def heights(job: str, bits: tuple[str, ...], points: np.ndarray) -> np.ndarray:
    """Exact heights (N,) mm that the back's programs of some bits leave at points (N, 2). The bed's own are no part."""
    path = ROOT / job
    programs = [p for p in made(path, Changes(pitch=0.5)).programs if p.setup == "back" and "bed_bores" not in p.text]
    numbers = {int(n): name for p in programs for n, name in re.findall(r"\(Bit (\d+): ([^,]+),", p.text)}
    assert set(bits) <= set(numbers.values())
    setting = setting_of(path, "back", programs[0].text)
    shift = -np.array([setting.nut, setting.centre, setting.bed])
    pieces = [piece for p in programs for piece in pieces_of(p.text, shift)]
    forms = {number: form_of(path, bit) for number, bit in numbers.items()}
    return left(forms, pieces, points, setting.top - setting.bed).heights


def test_a_rough_back_and_its_kerfs() -> None:
    job = "tests/cases/kerfed_neck.yaml"
    rng = np.random.default_rng(5)
    x, y = on_the_shaft(rng)
    apart = (np.abs(x[:, None] - 20.0 * np.arange(1, 5)) > 1.6).all(axis=1)
    x, y = x[apart], y[apart]
    over = heights(job, ("ball", "pinner"), np.column_stack([x, y])) - back(x, y) - 2.0
    print(f"rough back: {over.min():+.4f} to {over.max():+.4f} mm over 2 mm; ridges of 0.5 mm asked for")
    assert over.min() >= -0.002
    assert over.max() <= 0.5 + 0.01
    kerfs = []
    turn = np.linspace(0, 2 * np.pi, 145)
    for at in 20.0 * np.arange(1, 5):
        u, v = rng.uniform(-1.45, 1.45, 150), rng.uniform(-13, 13, 150)
        # The highest place under a disc of 1.5 mm along the kerf; a place is as low as the lowest disc that reaches it.
        tips = np.linspace(-14.5, 14.5, 1161)
        rim = [back(at + r * np.cos(turn), tips[:, None] + r * np.sin(turn)).max(axis=1) for r in (0, 0.75, 1.5)]
        stands = np.max(rim, axis=0)
        covers = np.hypot(u[:, None], v[:, None] - tips) <= 1.5
        floor = np.where(covers, stands, np.inf).min(axis=1) + 0.5
        kerfs.append(heights(job, ("pinner",), np.column_stack([at + u, v])) - floor)
    found = np.concatenate(kerfs)
    print(f"kerfs: {found.min():+.4f} to {found.max():+.4f} mm off their floors")
    # Tips lie 0.025 mm apart here, on slopes of up to 1.2.
    assert found.min() >= -0.03
    assert found.max() <= 0.01


def test_facets() -> None:
    x, y = on_the_shaft(np.random.default_rng(6))
    over = heights("demo_jobs/carved_neck.yaml", ("ball",), np.column_stack([x, y])) - planes(x, y) - 0.5
    print(f"facets: {over.min():+.4f} to {over.max():+.4f} mm over 0.5 mm; ridges of 0.5 mm asked for")
    assert over.min() >= -0.002
    assert over.max() <= 0.5 + 0.01
