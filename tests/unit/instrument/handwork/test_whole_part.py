"""What a whole instrument leaves for the hands: figures by hand, and from the tables of the trade."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from tests.support.words_builder import job
from toolpaths.features.kinds import FEATURES
from toolpaths.instrument.handwork.whole_part import domes, general, positions, sixty_fourths, stations
from toolpaths.job.job import SAWN_FIRST, Board, Compound, Fan, Instrument, Job, Width


def board(radius: float | Compound | None = None, scale: float = 648.0) -> Job:
    width = Width(nut=43, there=56, at="end")
    own = Board(width=width, overhang=8, thickness=6, radius=None).model_copy(update={"radius": radius})
    return job(instrument=Instrument(scale_length=scale, frets=22, strings=6, board=own))


@pytest.mark.parametrize(
    ("mm", "text", "over"),
    [
        (38.1, "1 1/2", 0.0),
        (0.0, "0", 0.0),
        (25.4 / 64, "1/64", 0.0),
        (25.4 * 0.75, "3/4", 0.0),
        # Fret 1 of 648 mm lies at 36.369 (equal temperament, derived): 1.43185 in, nearest 1 7/16 = 36.5125.
        (36.369, "1 7/16", 36.369 - 36.5125),
        (25.4 * 2 + 0.1, "2", 0.1),
    ],
)
def test_inches_are_told_to_the_nearest_sixty_fourth(mm: float, text: str, over: float) -> None:
    found, left = sixty_fourths(mm)
    assert text == found
    assert over == pytest.approx(left, abs=1e-9)


def test_text_and_remainder_are_the_length_again() -> None:
    for k in range(500):
        mm = 1.37 * k
        text, over = sixty_fourths(mm)
        inches = sum(Fraction(word) for word in text.split())
        assert mm == pytest.approx(float(inches) * 25.4 + over, abs=1e-9)
        assert abs(over) <= 25.4 / 128 + 1e-9


def test_positions_are_those_of_equal_temperament() -> None:
    # L = 648: 1 at 36.369, 22 at 466.161 (derived, published in the facts of the trade).
    found = {n: x for n, _, x, _ in positions(board())}
    assert 36.369 == pytest.approx(found[1], abs=1e-3)
    assert 466.161 == pytest.approx(found[22], abs=1e-3)


def test_how_much_comes_off_is_the_sagitta() -> None:
    nut, _, end = domes(board(304.8))
    # R 304.8, 56 wide: 1.2888 (derived: R - sqrt(R^2 - (w/2)^2)); the board is 56 wide at its end.
    assert 1.2888 == pytest.approx(end.off, abs=1e-4)
    assert 304.8 - math.sqrt(304.8**2 - 21.5**2) == pytest.approx(nut.off)
    assert [] == domes(board())


def test_a_compound_top_has_its_own_radius_at_each_place() -> None:
    nut, twelfth, end = domes(board(Compound(nut=254, end=406.4)))
    assert (254.0, 406.4) == pytest.approx((nut.radius, end.radius))
    assert nut.radius < twelfth.radius < end.radius


def with_outline(of: Job, *more: str) -> Job:
    """The job with features of these keys, which is all that is looked at."""
    import types

    features = tuple(types.SimpleNamespace(key=key, name=key, cuts=FEATURES[key].cuts) for key in ("outline", *more))
    return of.model_copy(update={"setups": (types.SimpleNamespace(features=features),)})


def test_a_board_is_radiused_checked_and_fretted_in_that_order() -> None:
    words = [h.what for h in general(with_outline(board(304.8)), 0, "face")]
    assert words[0].startswith("Radius the top to 304.80 mm, with a block of that radius, before the slots are sawn")
    assert "Up to 1.29 mm comes off at the edges" in words[0]
    assert words[1].startswith("Before a fret goes in, lay a rule along the centreline")
    assert "fret 12 is at 324.00 mm" in words[1]
    assert words[2].startswith("Fit the frets: 22 lengths of wire, bent")


@pytest.mark.parametrize("frets", [1, 12, 22, 36])
@pytest.mark.parametrize("zero", [False, True])
@pytest.mark.parametrize("scale", [648.0, Fan(bass=673, treble=635, square_fret=7)])
def test_a_length_of_wire_for_every_fret_the_zero_fret_too(frets: int, zero: bool, scale: float | Fan) -> None:
    of = board()
    made = of.instrument.model_copy(update={"frets": frets, "zero_fret": zero, "scale_length": scale})
    words = [h.what for h in general(with_outline(of.model_copy(update={"instrument": made})), 0, "face")]
    wires = "1 length" if frets + zero == 1 else f"{frets + zero} lengths"
    assert [f"Fit the frets: {wires} of wire"] == [w.split(", bent")[0] for w in words if "Fit the frets" in w]


def test_slots_sawn_first_come_before_the_radius() -> None:
    sawn = with_outline(board(304.8)).model_copy(update={"by_hand": (SAWN_FIRST,)})
    assert "once the slots are sawn" in general(sawn, 0, "face")[0].what


def test_a_flat_top_and_one_that_the_router_rounds_want_no_radiusing() -> None:
    assert not any(h.what.startswith("Radius") for h in general(with_outline(board()), 0, "face"))
    assert not any(h.what.startswith("Radius") for h in general(with_outline(board(304.8), "radius"), 0, "face"))


def test_a_board_that_no_program_cuts_free_is_sawn_by_hand_and_keeps_the_rest_of_its_list() -> None:
    cut, uncut = (general(of, 0, "face") for of in (with_outline(board(304.8)), board(304.8)))
    assert [] == [h for h in cut if "outline by hand" in h.what]
    assert uncut[0].what.startswith("Once the slots are sawn: Saw and trim the board's outline by hand")
    assert [h.what for h in cut] == [h.what for h in uncut[1:]]


def test_a_board_has_no_stations() -> None:
    assert [] == stations(board())
