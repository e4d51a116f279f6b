"""Fret lines are measured in the wood that the program leaves, against the formula. The scale is 100 mm."""

import pytest
from shapely.geometry import box

from tests.support.check_input_builder import BITS, THIN, demand, inputs, operation, program
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.instrument import fret_off
from toolpaths.verification.finding import Finding, Severity

PLACES = {1: 5.612569, 2: 10.910128, 5: 25.084646}
"""100 (1 - 2^(-n/12)), rounded. Derived."""


def lines(places: dict[int, float], frets: tuple[int, ...] = (1, 2, 5)) -> str:
    return program(
        "\n".join(f"G0 X{places[n]:.3f} Y-11\nG1 Z9.6 F200\nG1 Y11 F500\nG0 Z16" for n in frets),
        bit=2,
        feature="score_lines",
    )


def asked(frets: tuple[int, ...] = (1, 2, 5), wrong: float = 0.0) -> list[object]:
    return [
        demand(box(x - 0.5, -10, x + 0.5, 10), 9.6, feature="score_lines", name=f"fret {n}", fret=n, radius=0.5,
               run_out=box(x - 0.5, -12, x + 0.5, 12))
        for n in frets for x in [PLACES[n] + wrong]
    ]  # fmt: skip


def judged(text: str, **rest: object):  # type: ignore[no-untyped-def]
    wrong = float(rest.pop("wrong", 0.0))  # type: ignore[arg-type]
    return inputs(
        text, demands=asked(wrong=wrong), operations=[operation("score_lines", bit="thin")],  # type: ignore[arg-type]
        begun=["score_lines"], **rest,
    )  # fmt: skip


def measured(of: CheckInput) -> list[tuple[int, float, float]]:
    """(fret, x as cut, x of the formula) of the first place at which each line was measured, by fret."""
    demands = {d.fret: d for d in of.demands if d.fret is not None}
    found = {fret: (x, wanted) for fret, _, x, wanted in reversed(fret_off.measured_frets(of, demands))}
    return [(fret, *found[fret]) for fret in sorted(found)]


def moved(fret: int, by: float) -> list[Finding]:
    return fret_off.check(judged(lines({**PLACES, fret: PLACES[fret] + by})))


def test_lines_in_their_places_pass_and_are_measured_to_the_last_digit() -> None:
    of = judged(lines(PLACES))
    assert [] == fret_off.check(of)
    assert [1, 2, 5] == [fret for fret, _, _ in measured(of)]
    for fret, x, wanted in measured(of):
        assert wanted == pytest.approx(PLACES[fret], abs=1e-6)
        assert x == pytest.approx(PLACES[fret], abs=0.0006)  # the text carries three decimals


@pytest.mark.parametrize(("by", "expected"), [(0.019, 0), (0.021, 1), (-0.021, 1)])
def test_two_hundredths_are_the_limit(by: float, expected: int) -> None:
    found = moved(5, by)
    assert expected == len(found)
    assert all(f.severity is Severity.stop for f in found)


def test_the_message_says_millimetres_and_cents() -> None:
    (found,) = moved(5, 0.1)
    # 1200 log2(l / (l - 0.1)), l = 100 - 25.0846: 2.3125 cents.
    assert ("0.100 mm, 2.3 cents sharp", "most 0.020 mm") == (found.said.measured, found.said.limit)
    assert "fret 5 is too far from the nut" == found.said.wrong
    (found,) = moved(5, -0.1)
    assert ("fret 5 is too near the nut", "0.100 mm, 2.3 cents flat") == (found.said.wrong, found.said.measured)


def test_a_slanted_line_is_off_at_its_ends() -> None:
    text = lines(PLACES).replace("G1 Y11 F500", "G1 X5.7 Y11 F500", 1)
    (found,) = fret_off.check(judged(text))
    assert found.message.startswith("fret 1")
    assert found.y == pytest.approx(9.0)


def test_demands_that_stand_wrong_do_not_excuse_the_lines() -> None:
    shifted = {n: x + 0.05 for n, x in PLACES.items()}
    found = fret_off.check(judged(lines(shifted), wrong=0.05))
    assert 3 == len(found)


def test_the_worst_comes_first() -> None:
    found = fret_off.check(judged(lines({**PLACES, 1: PLACES[1] + 0.03, 2: PLACES[2] + 0.06})))
    assert ["fret 2", "fret 1"] == [f.message[:6] for f in found]


def test_a_line_that_is_not_there_is_another_questions_matter() -> None:
    of = judged(lines(PLACES, frets=(1, 5)))
    assert [] == fret_off.check(of)
    assert [1, 5] == [fret for fret, _, _ in measured(of)]


def test_a_line_cut_with_a_wider_bit_is_judged_by_its_middle() -> None:
    wider = {**BITS, 2: ("thin", THIN.model_copy(update={"diameter": 1.4}))}
    of = judged(lines(PLACES), bits=wider)
    assert [] == fret_off.check(of)
    assert [1, 2, 5] == [fret for fret, _, _ in measured(of)]


def test_a_line_in_a_marker_is_measured_where_the_marker_is_not() -> None:
    """A pocket over the middle of fret 2 says nothing about where the line stands."""
    pocket = demand(box(PLACES[2] - 0.2, -3, PLACES[2] + 2, 3), 9.0, feature="markers", name="marker at fret 2")
    text = lines(PLACES).replace("M5", f"G0 X{PLACES[2] + 0.9:.3f} Y-2\nG1 Z9 F200\nG1 Y2 F500\nG0 Z16\nM5")
    of = inputs(
        text,
        demands=[*asked(), pocket],  # type: ignore[list-item]
        operations=[operation("score_lines", bit="thin")],
        begun=["score_lines", "markers"],
    )
    assert [] == fret_off.check(of)
    assert [1, 2, 5] == [fret for fret, _, _ in measured(of)]
