"""In shops that are a little off, what is cut after measuring is within tolerance, and no worse than without."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.shops.campaign import JOBS, told, work_of
from tests.shops.cutting import Cutting, Off, Work, cut
from tests.shops.shop import ASIDE, TAPE, THINNER, Shop

BOARD, NECK, ON_TOP = JOBS
NEAR = 0.006
"""How exactly the tests' wood is cut and measured, mm: chords, steps, the programs' last digit."""


def true_shop(job: str, **errors: Any) -> Shop:
    """A shop without errors but those named."""
    shop = work_of(job).shop(1)
    thick = next(iter(work_of(job).parts.values())).thick
    return replace(
        shop,
        **{
            "scale": (1.0, 1.0, 1.0),
            "thinner": dict.fromkeys(shop.thinner, 0.0),
            "tape": dict.fromkeys(shop.tape, 0.0),
            "aside": dict.fromkeys(shop.aside, (0.0, 0.0)),
            "corners": (thick,) * 4,
            "touch": 0.0,
            "calipers": 0.0,
            "rule": 0.0,
            **errors,
        },
    )


def both(job: str, shop: Shop, folder: Path) -> tuple[Cutting, Cutting]:
    without, follow = cut(work_of(job), shop), cut(work_of(job), shop, folder)
    assert follow.refused == ""
    return without, follow


def far(offs: list[Off]) -> set[tuple[str, str]]:
    return {(o.mark.feature, o.kind) for o in offs if not abs(o.by) <= NEAR}


@pytest.mark.parametrize("job", [BOARD, pytest.param(NECK, marks=pytest.mark.slow)])
def test_a_true_shop_cuts_what_the_sheet_asks_for(job: str) -> None:
    offs = cut(work_of(job), true_shop(job)).offs
    assert set() == far(offs)
    assert {o.mark.name for o in offs} >= {
        m.name for m in work_of(job).marks if m.after and m.measure.figures and not m.before
    }


def test_a_long_x_is_found_and_what_follows_lies_where_it_should(tmp_path: Path) -> None:
    without, follow = both(BOARD, true_shop(BOARD, scale=(1.002, 1.0, 1.0)), tmp_path)
    assert {("score_lines", "axis"), ("locating_pins", "part")} <= far(without.offs)
    assert {("score_lines", "axis")} == far(follow.offs)


def test_tape_that_nobody_knows_of_deepens_nothing(tmp_path: Path) -> None:
    shop = true_shop(BOARD, tape={"face": TAPE})
    without, follow = both(BOARD, shop, tmp_path)
    assert set() == far(without.offs) == far(follow.offs)


@pytest.mark.slow
def test_a_thin_bit_is_followed_to_the_end(tmp_path: Path) -> None:
    """Also after a cut that followed it was measured, and came out as asked."""
    thin = dict.fromkeys(work_of(NECK).shop(1).thinner, THINNER)
    without, follow = both(NECK, true_shop(NECK, thinner=thin), tmp_path)
    later = [o for o in follow.offs if o.follows]
    assert set() == far(later)
    assert {"tuner_bores", "bores", "bed_bores", "outline"} <= {feature for feature, _ in far(without.offs)}


ASKEW = "    skew: {points: [[-100, -41.2], [200, -38.9]]}\n    features:\n      - bed_bores"


@pytest.mark.slow
@pytest.mark.parametrize(
    "change",
    [
        pytest.param(("", ""), id="straight"),
        pytest.param(("    features:\n      - bed_bores", ASKEW), id="askew"),
        pytest.param(("units: mm\n", "units: mm\nhanded: left\n"), id="left-handed"),
    ],
)
def test_two_sides_that_lie_apart_are_brought_together(change: tuple[str, str], tmp_path: Path) -> None:
    path = tmp_path / "neck.yaml"
    path.write_text(JOBS[NECK][0].read_text(encoding="utf-8").replace(*change, 1), encoding="utf-8")
    work, folder = Work.of(path), tmp_path / "found"
    folder.mkdir()
    shop = true_shop(NECK, aside={"face": (0.0, 0.0), "back": (ASIDE, -0.8 * ASIDE)})
    without, follow = cut(work, shop), cut(work, shop, folder)
    across = [o for o in follow.offs if o.kind == "across"]
    assert len(across) == 6
    assert set() == far(across)
    assert 6 == sum(abs(o.by) > 0.1 for o in without.offs if o.kind == "across")


@pytest.mark.slow
def test_the_same_tape_under_both_sides_makes_nothing_thinner(tmp_path: Path) -> None:
    """How high a turned blank lies says nothing then: it is as much thinner as it lies higher."""
    without, follow = both(NECK, true_shop(NECK, tape={"face": TAPE, "back": TAPE}), tmp_path)
    assert {("headstock_back", "depth"), ("bores", "depth")} == far(without.offs)
    assert set() == far(follow.offs)


@pytest.mark.slow
@pytest.mark.parametrize("x", [0.998, 1.002])
def test_a_long_x_that_is_found_keeps_both_sides_together(x: float, tmp_path: Path) -> None:
    _, follow = both(NECK, true_shop(NECK, scale=(x, 1.0, 1.0)), tmp_path)
    assert {o.kind for o in follow.offs} >= {"across", "pins", "sides"}
    assert set() == {o for o in follow.offs if o.kind in ("across", "pins") and abs(o.by) > 0.02}


@pytest.mark.slow
def test_a_face_planed_too_low_keeps_the_other_side_s_thickness(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Z on the top of a turned blank, which is thinner than asked for: less is taken off its back."""
    monkeypatch.setattr(Shop, "set_off", lambda self, program: -0.2 if program == 0 else 0.0)
    without, follow = both(ON_TOP, true_shop(ON_TOP), tmp_path)
    assert {("plane", "face"), ("headstock_back", "depth"), ("bores", "depth")} == far(without.offs)
    assert {("plane", "face")} == far(follow.offs)


@pytest.mark.parametrize(
    ("job", "seeds"),
    [
        (BOARD, [1]),
        pytest.param(BOARD, range(2, 4), marks=pytest.mark.slow),
        pytest.param(NECK, range(1, 2), marks=pytest.mark.slow),
        pytest.param(ON_TOP, range(1, 2), marks=pytest.mark.slow),
    ],
)
def test_what_follows_is_within_tolerance_and_no_worse_than_without(job: str, seeds: list[int]) -> None:
    for seed in seeds:
        for one in told(job, seed):
            without, follow = one.over
            assert not math.isinf(follow), one
            if one.follows:
                assert follow <= one.slack, one
            if one.kind != "sides":
                # A ring that is as wide as asked, about a bore that is not: its rims are judged by their difference.
                assert follow <= without + one.slack, one
