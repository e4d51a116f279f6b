"""Where two runs differ: the map, the place that is looked at closely, exact heights there, colours, the picture."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.support.setup_builder import flat
from toolpaths.gcode.reader.trace import Moves
from toolpaths.reports.compare.difference_map import (
    change_of,
    closest,
    coloured,
    difference,
    heights_within,
    legend,
    strongest,
)
from toolpaths.reports.compare.difference_picture import WIDTH, difference_picture
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.verification.outcome import Outcome, SetupReport

FACE = 5.5


def altered(outcome: Outcome, box: tuple[float, float, float, float], height: float) -> Outcome:
    """The same outcome with the wood at another height in a box."""
    setup = outcome.setups[0]
    h = setup.after.heights.copy()
    rows, cols = setup.after.window(*box)
    h[rows, cols] = height
    return replace(outcome, setups=(replace(setup, after=setup.after.with_heights(h)),))


def scored(setup: SetupReport, diameter: float, x: float = 60.0) -> SetupReport:
    """The blank with one line at x across it, 0.5 mm deep, as the exact wood alone tells it."""
    line = (np.array([[x, -40.0, 6.5]]), np.array([[x, 40.0, 6.5]]))
    moves = Moves(*line, np.zeros(1, dtype=np.int64), np.ones(1, dtype=np.int64))
    wood = StandingWood(setup.context.stock_box, 7.0).after(moves, {1: flat(diameter)})
    return replace(setup, standing=wood)


def test_deeper_is_below_0_and_what_is_cut_of_the_bed_is_no_wood(outcome: Outcome) -> None:
    setup = outcome.setups[0]
    deeper = change_of(setup, altered(outcome, (100, -2, 104, 2), FACE - 2).setups[0])
    assert deeper is not None
    assert -2.0 == pytest.approx(float(deeper.heights.min()))
    assert 0.0 == deeper.heights.max()
    through = altered(outcome, (100, -2, 104, 2), -0.1)
    assert change_of(through.setups[0], altered(outcome, (100, -2, 104, 2), -0.2).setups[0]) is None


def test_less_than_two_thousandths_is_no_difference(outcome: Outcome) -> None:
    setup = outcome.setups[0]
    assert change_of(setup, setup) is None
    assert change_of(setup, altered(outcome, (100, -2, 104, 2), FACE - 0.001).setups[0]) is None


def test_the_closest_look_is_where_most_wood_differs(outcome: Outcome) -> None:
    both = altered(altered(outcome, (100, -2, 101, -1), FACE - 1), (221, 9, 224, 12), FACE - 3)
    change = change_of(outcome.setups[0], both.setups[0])
    assert change is not None
    x0, y0, x1, y1 = closest(change, 10.0, 8.0)
    assert (10.0, 8.0) == pytest.approx((x1 - x0, y1 - y0))
    assert x0 < 221 < 224 < x1
    assert y0 < 9 < 12 < y1


@pytest.mark.parametrize(("one", "two"), [(0.6, 0.5), (0.6, 0.58)])
def test_a_line_that_is_narrower_by_less_than_a_cell_is_seen_on_both_sides(
    outcome: Outcome, one: float, two: float
) -> None:
    # Cells of the map are 0.25 mm here; the line's edges move by 0.05 and by 0.01 mm.
    setup = outcome.setups[0]
    box, cols, rows = (59.0, -1.0, 61.0, 1.0), 1000, 1000
    a, b = (heights_within(scored(setup, d), box, cols, rows) for d in (one, two))
    change = difference(a, b)
    assert {0.0, 0.5} == set(np.round(np.unique(change), 4).tolist())
    middle = np.nonzero(change[500])[0]
    left, right = middle[middle < 500], middle[middle >= 500]
    # Each side is half of the difference wide, in pictures cells of 0.002 mm, one more or less.
    assert len(left) == pytest.approx((one - two) / 2 / 0.002, abs=1)
    assert len(right) == pytest.approx((one - two) / 2 / 0.002, abs=1)


def test_exact_heights_are_those_of_the_standing_wood(outcome: Outcome) -> None:
    setup = scored(outcome.setups[0], 0.6)
    assert setup.standing is not None
    box = (58.0, 33.0, 62.0, 37.0)  # over the blank's edge at y 35
    found = heights_within(setup, box, 80, 80)
    x = 58.0 + 0.05 * (np.arange(80) + 0.5)
    y = 37.0 - 0.05 * (np.arange(80) + 0.5)
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    exact = setup.standing.heights(points).reshape(80, 80)
    assert np.array_equal(np.isnan(found), np.isinf(exact))
    assert np.allclose(found[np.isfinite(exact)], exact[np.isfinite(exact)], atol=1e-6)


def test_without_the_wood_the_map_is_taken(outcome: Outcome) -> None:
    found = heights_within(outcome.setups[0], (100, -3, 106, 3), 6, 6)
    assert found.shape == (6, 6)
    assert FACE >= np.nanmax(found)


def test_no_narrow_strip_vanishes_in_a_small_picture() -> None:
    blank = DepthMap.over((0, 0, 100, 20), 0.0, 0.1)
    h = np.zeros_like(blank.heights)
    h[:, 500] = -0.4
    h[:, 700] = 0.3
    seen = strongest(blank.with_heights(h), (0, 0, 100, 20), 50, 10)
    assert [-0.4, 0.0, 0.3] == pytest.approx(sorted(set(np.round(seen, 3).ravel().tolist())))


def test_colours_tell_deeper_from_higher_from_the_same() -> None:
    change = np.array([[-0.5, -0.003, 0.0, 0.003, 0.5, np.nan]], dtype=np.float32)
    deep, little_deep, same, little_high, high, beside = coloured(change, 0.5)[0].astype(int)
    assert deep[2] > deep[1], "violet: more blue than green"
    assert high[0] > high[2], "orange: more red than blue"
    assert sum(deep[:3]) < sum(little_deep[:3]) < sum(same[:3]) + 40
    assert len({tuple(same[:3]), tuple(little_deep[:3]), tuple(little_high[:3])}) == 3
    assert 0 == beside[3]


def test_the_legend_has_the_colours_of_the_picture() -> None:
    colours, places = legend(0.5)
    for place, value in places:
        row = round((1 - place) / 2 * 400)
        ours = coloured(np.array([[value]], dtype=np.float32), 0.5)[0, 0].astype(int)
        assert np.abs(colours[row, 0].astype(int) - ours).max() <= 6


@pytest.mark.slow
def test_a_picture_says_how_much_wood_differs_and_is_the_same_twice(outcome: Outcome) -> None:
    from matplotlib.image import imread

    variant = altered(altered(outcome, (100, -2, 104, 2), FACE - 2), (200, -2, 203, 2), FACE + 1)
    picture = difference_picture(outcome, variant, "scorer=0.8")
    assert picture is not None
    change = change_of(outcome.setups[0], variant.setups[0])
    assert change is not None
    assert -float(change.heights[change.heights < 0].sum()) * 0.0625 == pytest.approx(picture.deeper_mm3, rel=1e-5)
    assert float(change.heights[change.heights > 0].sum()) * 0.0625 == pytest.approx(picture.higher_mm3, rel=1e-5)
    assert "difference-scorer=0.8.png" == picture.file
    again = difference_picture(outcome, variant, "scorer=0.8")
    assert again is not None
    assert picture.png == again.png
    seen: Any = imread(io.BytesIO(picture.png))
    assert WIDTH == seen.shape[1]
    red, green, blue = (seen[..., k] for k in range(3))
    assert ((blue > green + 0.1) & (red < 0.6)).sum() > 100, "violet"
    assert ((red > blue + 0.3) & (red > 0.4) & (green < red)).sum() > 100, "orange"


def test_nothing_of_the_picture_is_cut_off_at_its_edges(outcome: Outcome) -> None:
    from matplotlib.image import imread

    picture = difference_picture(outcome, altered(outcome, (100, -2, 104, 2), FACE - 2), "scorer=0.8")
    assert picture is not None
    seen: Any = imread(io.BytesIO(picture.png))
    for edge in (seen[:8], seen[-8:], seen[:, :8], seen[:, -8:]):
        assert 1.0 == edge.min()


def test_runs_that_leave_the_same_wood_have_no_picture(outcome: Outcome) -> None:
    assert difference_picture(outcome, outcome, "scorer=0.6") is None


def test_a_label_from_the_command_line_cannot_leave_the_folder(outcome: Outcome) -> None:
    picture = difference_picture(outcome, altered(outcome, (100, -2, 104, 2), FACE - 2), "scorer=1/32in")
    assert picture is not None
    assert "difference-scorer=1-32in.png" == picture.file
