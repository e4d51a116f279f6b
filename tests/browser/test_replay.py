"""The replay in a real browser: its heights against those of the proof, for every bit, at any place and moment."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import box

from tests.support.brute_force import KINDS, some_bits, some_move
from tests.support.made import made as make
from tests.support.needs import BROWSER, needs
from tests.support.replaying import Asked, exact, in_page, replay_of, setup_of
from toolpaths.job.changes import Changes
from toolpaths.job.cut_kind import CutKind
from toolpaths.reports.preview.viewer_wanted import wanted_data
from toolpaths.target_shape.crown_floor import ConeGroove, CrownFloor
from toolpaths.target_shape.demand import Demand, Floor, Level
from toolpaths.verification.bounds import Bounded, Bounds
from toolpaths.verification.outcome import Outcome

DEMOS = Path(__file__).parents[2] / "demo_jobs"
CASES = Path(__file__).parents[1] / "cases"
VIEWER = Path(__file__).parents[2] / "toolpaths" / "reports" / "preview" / "viewer"
NEAR = 1e-4
"""mm. Asked for is a hundredth; places come in millionths, which matters most beside a ball's upright rim."""

pytestmark = [pytest.mark.slow, needs(BROWSER)]

_HEIGHTS = """
return data.map(({replay, asked}) => {
  const cutting = new Cutting(replay);
  return asked.map(([x, y, move, fraction]) => cutting.heightAt(x, y, move, fraction));
});
"""


@cache
def _made(job: Path) -> Outcome:
    return make(job, Changes(pitch=0.5))


def test_every_bit_leaves_the_exact_height_on_every_kind_of_move() -> None:
    pages, wanted = [], {}
    for seed, (name, bit) in enumerate(some_bits().items()):
        rng = np.random.default_rng(seed)
        moves = [some_move(kind, rng, 9.0) for kind in KINDS for _ in range(9)]
        order = rng.permutation(len(moves))
        middle = np.array([100.0, 0.0, 4.2])
        outcome, setup = setup_of({name: bit}, [(moves[i][0] + middle, moves[i][1] + middle, name) for i in order])
        asked = Asked.at_random(600, (90, -10, 110, 10), len(moves), seed)
        pages.append({"replay": replay_of(outcome, setup), "asked": asked.plain})
        wanted[name] = exact(outcome, setup, asked)
    for (name, want), got in zip(wanted.items(), in_page(pages, _HEIGHTS), strict=True):
        assert np.mean(want < 8.0) > 0.5, "most of the places are cut"
        assert np.allclose(want, got, rtol=0, atol=NEAR), name


def test_heights_worked_by_hand() -> None:
    bits = some_bits()
    level = [((100, 0, 6), (120, 0, 6), name) for name in ("ball", "sharp vee", "tipped vee", "drill")]
    pages = []
    for move in level:
        outcome, setup = setup_of(bits, [move])
        asked = [[110, 0, 0, 1], [110, 1, 0, 1], [110, 1, 0, 0.25], [121, 0, 0, 1], [300, 0, 0, 1]]
        pages.append({"replay": replay_of(outcome, setup), "asked": asked})
    ball, sharp, tipped, drill = in_page(pages, _HEIGHTS)
    # Plane geometry: R - sqrt(R^2 - 1) for the 6 mm ball; 1 / tan of half the included angle for points.
    assert pytest.approx([6, 9 - math.sqrt(8), 8, 9 - math.sqrt(8), 8], abs=1e-5) == ball
    assert pytest.approx([6, 6 + math.sqrt(3), 8, 6 + math.sqrt(3), 8], abs=1e-5) == sharp
    assert pytest.approx([6, 6.5, 8, 6.5, 8], abs=1e-5) == tipped
    beside = 6 + 1 / math.tan(math.radians(59))
    assert pytest.approx([6, beside, 8, beside, 8], abs=1e-5) == drill


def test_a_setup_begins_with_what_earlier_ones_left() -> None:
    bits = {"flat": some_bits()["flat"]}
    outcome, setup = setup_of(
        bits, [((100, 0, 5), (120, 0, 5), "flat")], earlier=[((90, 0, 7), (110, 0, 7), "flat")] * 3
    )
    data = replay_of(outcome, setup)
    asked = [[95, 0, 0, 0], [105, 0, 0, 0], [115, 0, 0, 0], [95, 0, 0, 1], [105, 0, 0, 1], [115, 0, 0, 1]]
    assert [[7, 7, 8, 7, 5, 5]] == in_page([{"replay": data, "asked": asked}], _HEIGHTS)
    script = """
        const cutting = new Cutting(data), lowest = () => cutting.heights.reduce((a, b) => Math.min(a, b));
        const out = [cutting.moves.count];
        for (const fraction of [0, 1, 0]) { cutting.seek(0, fraction); out.push(lowest()); }
        return out;
    """
    assert [1, 7, 5, 7] == in_page(data, script)


@pytest.mark.parametrize(
    "job", [DEMOS / "tenor_board.yaml", DEMOS / "tenor_neck.yaml", CASES / "two_sided_neck.yaml"], ids=lambda p: p.stem
)
def test_a_demo_s_wood_is_exact_at_any_place_and_moment(job: Path) -> None:
    outcome = _made(job)
    pages, wanted = [], []
    for setup in outcome.setups:
        count = sum(len(r.moves) for r in setup.runs.values())
        asked = Asked.at_random(600, setup.context.stock_box, count)
        # And as many where the programs went.
        places = np.concatenate([r.moves.end[:, :2] for r in setup.runs.values()])
        near = np.random.default_rng(5).integers(0, count, 600)
        x0, y0, x1, y1 = setup.context.stock_box
        points = np.clip(places[near] + np.random.default_rng(6).normal(0, 2, (600, 2)), (x0, y0), (x1, y1))
        asked = Asked(
            np.concatenate([asked.points, points]),
            np.concatenate([asked.moves, np.minimum(near + asked.moves % 40, count - 1)]),
            np.tile(asked.fractions, 2),
        )
        pages.append({"replay": replay_of(outcome, setup), "asked": asked.plain})
        wanted.append(exact(outcome, setup, asked))
    for want, got in zip(wanted, in_page(pages, _HEIGHTS), strict=True):
        assert np.allclose(want, np.array(got, dtype=np.float64), rtol=0, atol=NEAR)


def test_one_feature_alone_lifted_into_the_air_is_cut_from_what_those_before_it_left() -> None:
    outcome = make(DEMOS / "tenor_board.yaml", Changes(pitch=0.5, only="outline", air=30.0))
    (setup,) = outcome.setups
    data = replay_of(outcome, setup)
    assert data["earlier"] > 5000, "planing, lines and markers came before"
    count = sum(len(r.moves) for r in setup.runs.values())
    asked = Asked.at_random(600, setup.context.stock_box, count)
    (got,) = in_page([{"replay": data, "asked": asked.plain}], _HEIGHTS)
    assert np.allclose(exact(outcome, setup, asked), got, rtol=0, atol=NEAR)


@pytest.mark.parametrize("job", ["tenor_board", "tenor_neck"])
def test_the_grid_ends_as_the_finished_map(job: str) -> None:
    outcome = _made(DEMOS / f"{job}.yaml")
    for setup in outcome.setups:
        after = setup.after
        rows, cols = after.heights.shape
        grid = {"rows": rows, "cols": cols, "x0": after.x0, "y0": after.y0, "pitch": after.pitch}
        script = """
            const cutting = new Cutting(data);
            cutting.seek(Math.floor(cutting.moves.count / 3), 0.5);
            cutting.seek(cutting.moves.count - 1);
            return Array.from(cutting.heights);
        """
        got = np.array(in_page(replay_of(outcome, setup, grid=grid), script)).reshape(rows, cols)
        assert np.allclose(after.heights, got, rtol=0, atol=NEAR)


_JUMPS = """
const cutting = new Cutting(data), { moves, cols } = cutting;
if (HOW === "worked ahead") while (!cutting.prepare(8));
let seed = 7, beside = 0, apart = 0;
const random = () => (seed = (seed * 16807) % 2147483647) / 2147483647;
const before = cutting.heights.slice();
for (let n = 0; n < COUNT; n++) {
  // Far jumps, and steps on from there.
  const on = Math.min(cutting.at.move + n % 7, moves.count - 1), far = Math.floor(random() * moves.count);
  const move = n % 3 ? on : far, fraction = random();
  for (let there = false; !there; ) {
    there = cutting.seek(move, fraction, HOW === "hurried" ? 1 : Infinity);
    const [r0, c0, r1, c1] = cutting.dirty ?? [0, 0, 0, 0], { heights } = cutting;
    for (let i = 0; i < before.length; i++) {
      if (before[i] === heights[i]) continue;
      const row = Math.floor(i / cols), col = i % cols;
      if (!(row >= r0 && row < r1 && col >= c0 && col < c1)) beside++;
    }
    before.set(cutting.heights);
  }
  for (let k = 0; k < 300; k++) {
    const i = Math.floor(random() * before.length);
    const x = cutting.x0 + (i % cols) * cutting.pitch, y = cutting.y0 + Math.floor(i / cols) * cutting.pitch;
    apart = Math.max(apart, Math.abs(before[i] - cutting.heightAt(x, y, move, fraction)));
  }
}
return { beside, apart };
"""


@pytest.mark.parametrize("how", ["cold", "hurried", "worked ahead"])
@pytest.mark.parametrize("job", ["tenor_board", "tenor_neck_on_jig"])
def test_jumps_in_time_bring_the_grid_to_that_moment(job: str, how: str) -> None:
    outcome = _made(DEMOS / f"{job}.yaml")
    for setup in outcome.setups:
        # Hurried, each jump takes many turns, after each of which the whole grid is looked at.
        count = 6 if how == "hurried" else 60
        said = in_page(replay_of(outcome, setup), f"const HOW = '{how}', COUNT = {count};{_JUMPS}")
        assert 0 == said["beside"], "nothing changes outside the box that is named"
        assert said["apart"] < NEAR, "every cell is the height over its centre"


def test_moves_are_told_with_their_words() -> None:
    outcome = _made(DEMOS / "tenor_board.yaml")
    (setup,) = outcome.setups
    script = """
        const { moves } = new Cutting(data), { count, seconds, line, program, feature } = moves;
        const cutting = new Cutting(data), last = count - 1;
        return {
          count, minutes: seconds[last] / 60, kinds: [...new Set(moves.kind)].sort(),
          lines: moves.programs.map((_, p) => line[program.lastIndexOf(p)]), programs: moves.programs,
          features: [...new Set(feature)].map(f => moves.features[f]), start: Array.from(moves.start.slice(0, 3)),
          end: Array.from(moves.end.slice(-3)), radii: [cutting.radiusOf(0), cutting.radiusOf(last)],
        };
    """
    said: dict[str, Any] = in_page(replay_of(outcome, setup), script)
    runs = list(setup.runs.values())
    assert sum(len(r.moves) for r in runs) == said["count"]
    assert pytest.approx(sum(float(r.seconds.sum()) for r in runs) / 60, rel=1e-5) == said["minutes"]
    assert [0, 1, 2] == said["kinds"]
    assert list(setup.traces) == said["programs"]
    last = [int(t.line[r.moves.parent[-1]]) for t, r in zip(setup.traces.values(), runs, strict=True)]
    assert last == said["lines"]
    assert {f.name for f in setup.features} <= set(said["features"])
    assert pytest.approx(runs[0].moves.start[0], abs=1e-6) == said["start"]
    assert pytest.approx(runs[-1].moves.end[-1], abs=1e-6) == said["end"]
    # planer 25 mm, quarter of an inch
    assert [12.5, 3.175] == said["radii"]


@pytest.mark.parametrize("under", [Level(5.0), CrownFloor(Level(5.0), 150.0, 240.0, 400.0)], ids=["level", "domed"])
def test_the_floor_of_a_pointed_bit_s_line_is_the_same_in_the_page(under: Floor) -> None:
    floors = [ConeGroove(under, (100.0 + 20 * m, -24.0), (100.0 - 20 * m, 26.0), 0.1, 1.7, 3.0) for m in (0, 0.6, -0.7)]
    rng = np.random.default_rng(11)
    y = rng.uniform(-26, 28, 200)
    x = 100 + rng.uniform(-14, 14, 200)
    demands = tuple(
        Demand("line", 7, "face", "fret 1", box(60, -30, 140, 30), floor, 0.3, kind=CutKind.line) for floor in floors
    )
    bounds = Bounds(tuple(Bounded.of(d, 0.02) for d in demands), ())
    told = wanted_data(replace(_made(DEMOS / "tenor_board.yaml").setups[0], bounds=bounds))
    page = {"floors": [d["floor"] for d in told["demands"]], "places": np.stack([x, y], axis=1).tolist()}
    script = (VIEWER / "floors.js").read_text(encoding="utf-8") + (
        "return data.floors.map(floorOf).map(f => data.places.map(([x, y]) => [f.height(x, y), f.slope(x, y)]));"
    )
    for floor, said in zip(floors, in_page(page, script), strict=True):
        expected = np.stack([floor.height(x, y), floor.slope(x, y)], axis=1)
        assert np.allclose(expected, said, rtol=0, atol=NEAR)
