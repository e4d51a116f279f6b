"""How fast programs become depth maps, as ratios within one run, so that any machine can judge.

rho = T / (u tau): T the least time of several rounds of the simulation (the processor's, so that other work on the
machine does not count), u the number of (cell, move) coverings,
tau the time that one cell of `np.minimum(a, b, out=a)` takes over the whole grid. rho holds across machines.
The limits are what a study of such maps reached with numpy alone.
Run with `pytest tests/bench -m bench --benchmark-enable -s`.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial
from typing import Any, TypeVar

import numpy as np
import pytest

from tests.bench.workloads import PITCH, Workload, board, chords, patch_a_move, planing, radiused, seconds_a_cell
from toolpaths.simulation.simulate import simulate
from toolpaths.simulation.standing_wood import StandingWood

pytestmark = pytest.mark.bench

_LEVEL = 5e-7
T = TypeVar("T")


@pytest.mark.parametrize(
    ("make", "most", "gain", "turns", "rounds"),
    [
        (planing, 4.0, 0.0, 3, 5),
        (board, 22.0, 10.0, 5, 5),
        (partial(radiused, along=True), 4.0, 0.0, 2, 5),
        (partial(radiused, along=False), 12.0, 0.0, 1, 5),
        (chords, 24.0, 10.0, 1, 4),
    ],
    ids=["W1 planing", "W2 board", "W3 long", "W3 cross", "W4 chords"],
)
def test_the_simulation_is_fast_for_what_it_covers(
    make: Callable[[], Workload], most: float, gain: float, turns: int, rounds: int, benchmark: Any
) -> None:
    work = make()
    blank = work.blank
    after = benchmark.pedantic(simulate, args=(blank, work.moves, work.bits), rounds=3, warmup_rounds=1)
    plain = best = tau = np.inf
    # In turns, so that other work on the machine slows all of them alike; the least of each counts.
    for _ in range(turns):
        seconds, (heights, covered) = _timed(lambda: patch_a_move(work))
        plain, tau = min(plain, seconds), min(tau, seconds_a_cell())
        for _ in range(rounds):
            best = min(best, _timed(lambda: simulate(blank, work.moves, work.bits))[0])
    rho = best / (covered * tau)
    print(
        f"\n{work.name}: {len(work.moves)} moves, {covered / 1e6:.2f} million coverings at {PITCH} mm; "
        f"{best * 1e3:.1f} ms, tau {tau * 1e9:.3f} ns, rho {rho:.2f} (at most {most:g}); "
        f"patch a move {plain * 1e3:.0f} ms, {plain / best:.1f} times as long"
        f"{f' (at least {gain:g})' if gain else ''}"
    )
    assert np.abs(heights.astype(np.float64) - after.heights).max() <= _LEVEL
    assert most >= rho
    assert gain <= plain / best


def test_looking_up_the_standing_wood_is_faster_than_patching_every_move() -> None:
    # 40,000 points beside the moves, each asked for the wood before its move: less than the plain map takes.
    work = board()
    rng = np.random.default_rng(1)
    move = rng.integers(0, len(work.moves), 40_000)
    along = rng.uniform(0, 1, (40_000, 1))
    points = (work.moves.start[move] * (1 - along) + work.moves.end[move] * along)[:, :2]
    points = points + rng.normal(0, 2, points.shape)
    wood = StandingWood((0, 0, 520, 75), 7.0).after(work.moves, dict(work.bits))
    plain, _ = _timed(lambda: patch_a_move(work))
    best = min(_timed(lambda: wood.heights(points, before=move))[0] for _ in range(5))
    print(
        f"\nstanding wood: 40,000 points, {len(work.moves)} moves: {best * 1e3:.0f} ms; plain map {plain * 1e3:.0f} ms"
    )
    assert plain > best


def _timed(call: Callable[[], T]) -> tuple[float, T]:
    began = time.process_time()
    result = call()
    return time.process_time() - began, result
