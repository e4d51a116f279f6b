"""What the page replays is the trace that was read back, move by move."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from tests.support.brute_force import some_bits
from tests.support.closed_forms import unpacked
from tests.support.made import made as make
from tests.support.replaying import setup_of
from toolpaths.job.changes import Changes
from toolpaths.reports.preview.viewer_data import NO_BIT, replay_data
from toolpaths.verification.outcome import Outcome

DEMOS = Path(__file__).parents[4] / "demo_jobs"


@pytest.fixture(scope="module")
def board() -> Outcome:
    return make(DEMOS / "tenor_board.yaml", Changes(pitch=0.5))


def _places(data: dict) -> tuple[np.ndarray, np.ndarray]:
    """Starts and ends (N, 3) mm, as the page finds them again."""
    steps = np.stack([unpacked(data[key]).reshape(-1, 3) for key in ("start", "run")], axis=1).astype(np.int64)
    places = np.cumsum(steps.reshape(-1, 3), axis=0).reshape(-1, 2, 3) * data["quantum"]
    return places[:, 0], places[:, 1]


def test_every_move_of_every_program_is_sent_in_order_within_a_millionth(board: Outcome) -> None:
    (setup,) = board.setups
    data = replay_data(board, setup)
    start, end = _places(data)
    moves = [run.moves for run in setup.runs.values()]
    assert np.allclose(np.concatenate([m.start for m in moves]), start, rtol=0, atol=6e-7)
    assert np.allclose(np.concatenate([m.end for m in moves]), end, rtol=0, atol=6e-7)
    assert [len(m) for m in moves] == np.bincount(unpacked(data["program"])).tolist()
    lines = np.concatenate([t.line[m.parent] for t, m in zip(setup.traces.values(), moves, strict=True)])
    assert lines.tolist() == np.cumsum(unpacked(data["line"])).tolist()


def test_the_seconds_are_those_of_the_programs(board: Outcome) -> None:
    (setup,) = board.setups
    data = replay_data(board, setup)
    moving = sum(minutes for p in board.programs for minutes in p.feature_minutes.values())
    # The way to the parking place is no feature's own.
    assert pytest.approx(moving, rel=0.03) == float(unpacked(data["seconds"]).sum()) / 60


def test_features_and_bits_are_named_and_shaped(board: Outcome) -> None:
    (setup,) = board.setups
    data = replay_data(board, setup)
    names = [data["features"][i] for i in unpacked(data["feature"])]
    assert {f.name for f in setup.features} == set(names) - {""}
    assert ["planer", "scorer", "eighth", "pin", "quarter"] == [bit["name"] for bit in data["bits"]]
    assert {"name": "scorer", "shape": "flat", "radius": 0.25} == data["bits"][1]
    assert 8.1 == data["top"], "the blank is 7.9 to 8.1 thick"


def test_it_is_light_and_plain_json(board: Outcome) -> None:
    (setup,) = board.setups
    assert len(json.dumps(replay_data(board, setup), allow_nan=False)) < 100_000


def test_what_earlier_setups_cut_comes_first_with_nothing_but_its_bit() -> None:
    bits = some_bits()
    earlier = [((90, 0, 7), (110, 0, 7), "ball"), ((90, 5, 9), (110, 5, 9), "ball")]
    outcome, setup = setup_of(bits, [((100, 0, 5), (120, 0, 5), "flat")], earlier)
    data = replay_data(outcome, setup)
    # The second never came below the top.
    assert 1 == data["earlier"]
    assert ["ball", "flat"] == [data["bits"][i]["shape"] for i in unpacked(data["bit"])]
    assert 1 == len(unpacked(data["kind"]))
    start, end = _places(data)
    assert pytest.approx(np.array([[90, 0, 7], [100, 0, 5]]), abs=1e-6) == start
    assert pytest.approx(np.array([[110, 0, 7], [120, 0, 5]]), abs=1e-6) == end


def test_a_bit_that_is_not_known_has_no_shape() -> None:
    outcome, setup = setup_of({"flat": some_bits()["flat"]}, [((100, 0, 9), (120, 0, 9), "flat")])
    (run,) = setup.runs.values()
    run.moves.bit[:] = 9
    data = replay_data(outcome, setup)
    assert [NO_BIT] == unpacked(data["bit"]).tolist()
    assert [] == data["bits"]


def test_straight_down_is_told_from_cutting_aside() -> None:
    moves = [((5, 0, 9), (5, 0, 6), "flat"), ((5, 0, 6), (9, 0, 6), "flat"), ((9, 0, 6), (9, 0, 9), "flat")]
    outcome, setup = setup_of(some_bits(), moves)
    assert [2, 1, 1] == unpacked(replay_data(outcome, setup)["kind"]).tolist()
