"""Fret places against an independent tuning library and the tables of docs/sources.md.

The tables are derived from d = L (1 - 2^(-n/12)) apart from this code; what else is published stands beside it.
"""

import re
from pathlib import Path

import numpy as np
import pytest

from tests.property.any_job import text_of
from toolpaths.instrument.fans import outer_places
from toolpaths.instrument.frets import cents_between, cents_off, fret_distance, fret_distances
from toolpaths.job.changes import Changes
from toolpaths.job.job import Instrument
from toolpaths.pipeline.run import make

TABLES = {
    650.0: {
        1: 36.482,
        2: 70.916,
        3: 103.417,
        5: 163.050,
        7: 216.177,
        9: 263.508,
        12: 325.000,
        15: 376.709,
        19: 433.089,
        22: 467.600,
        24: 487.500,
    },
    628.65: {1: 35.283, 12: 314.325, 22: 452.241},
    863.6: {1: 48.470, 12: 431.800, 24: 647.700},
    648.0: {1: 36.369, 22: 466.161},
}
ROWS = [(scale, fret, at) for scale, table in TABLES.items() for fret, at in table.items()]


@pytest.mark.parametrize(("scale", "fret", "at"), ROWS)
def test_frets_stand_where_the_table_says(scale: float, fret: int, at: float) -> None:
    assert at == pytest.approx(fret_distance(scale, fret), abs=5.001e-4)


@pytest.mark.parametrize("scale", [584.0, 609.6, 628.65, 648.0, 762.0, 863.6])
def test_frets_stand_where_a_tuning_library_divides_the_octave(scale: float) -> None:
    """PyTuning builds twelve equal steps as exact roots; a string's length goes inversely with its pitch."""
    expected = [scale * (1 - 1 / r) for r in roots(24)[1:]]
    np.testing.assert_allclose(fret_distances(scale, 24), expected, rtol=0, atol=1e-9)


@pytest.mark.parametrize(("bass", "treble"), [(650.0, 628.65), (863.6, 650.0), (648.0, 628.65)])
@pytest.mark.parametrize("square", [0.0, 7.0, 12.0])
def test_the_outer_strings_of_a_fan_have_the_tables_of_one_scale(bass: float, treble: float, square: float) -> None:
    board = {"width": {"nut": 54, "end": 70}, "overhang": 8, "thickness": 6}
    scale = {"bass": bass, "treble": treble, "square_fret": square}
    fan = Instrument.model_validate({"scale_length": scale, "frets": 24, "strings": 7, "board": board})
    nut = outer_places(fan, 0)
    for string, table in enumerate((TABLES[bass], TABLES[treble])):
        for fret, at in table.items():
            assert at == pytest.approx(outer_places(fan, fret)[string][0] - nut[string][0], abs=5.001e-4)


def roots(count: int) -> list[float]:
    """How much higher each fret sounds than the open string, by a tuning library's exact roots; fret 0 first."""
    from pytuning import scales

    degrees = scales.create_edo_scale(12)
    return [float(degrees[n % 12]) * 2 ** (n // 12) for n in range(count + 1)]


def scored(text: str) -> list[tuple[np.ndarray, np.ndarray]]:
    """Both ends of each line that a program scores, (x, y) mm, in the order of the text: read by words alone."""
    at, lines = {"X": 0.0, "Y": 0.0, "Z": 99.0}, []
    for line in text.splitlines():
        words = dict(re.findall(r"([GXYZ])(-?\d+\.?\d*)", re.sub(r"\(.*?\)", "", line)))
        before = np.array([at["X"], at["Y"]])
        at |= {k: float(v) for k, v in words.items() if k in at}
        here = np.array([at["X"], at["Y"]])
        # The way back of the last pass is level at the floor, 5.5 above the bed.
        if at["Z"] == 5.5 and "Z" not in words and abs(here[1] - before[1]) > 20:
            lines.append((here, before))
    return lines


@pytest.mark.parametrize(
    ("bass", "treble", "square"), [(480, 480, 0), (480, 455, 0), (480, 455, 7), (455, 480, 12), (520, 440, 5.5)]
)
@pytest.mark.parametrize("end", [44, 58])
def test_the_text_s_lines_divide_both_outer_strings_as_a_tuning_library_does(
    tmp_path: Path, bass: float, treble: float, square: float, end: float
) -> None:
    ratios, overhang, half = roots(15), 8, 17.0
    scale: object = {"bass": bass, "treble": treble, "square_fret": square} if bass != treble else bass
    board = {"width": {"nut": 44, "end": end}, "overhang": overhang, "thickness": 6}
    job = {
        "title": "Strings",
        "units": "mm",
        "machine": "bench-router",
        "wood": "black cherry",
        "instrument": {
            "scale_length": scale, "frets": 15, "strings": 6, "nut_spread": 2 * half, "zero_fret": True, "board": board
        },
        "stock": {"length": 420, "width": 90, "thickness": 6},
        "setups": [
            {
                "name": "face",
                "zero": {"x": "nut", "y": "centreline", "z": "bed"},
                "nut_at": 60,
                "hold": "tape",
                "features": [{"score_lines": {"bit": "scorer", "depth": 0.5}}],
            }
        ],
    }  # fmt: skip
    (tmp_path / "job.yaml").write_text(text_of(job), encoding="utf-8")
    (program,) = make(tmp_path / "job.yaml", Changes(pitch=1.0)).programs
    lines = scored(program.text)
    assert 16 == len(lines)
    leans = [(b[0] - a[0]) / (b[1] - a[1]) for a, b in lines]
    middles = [a[0] - lean * a[1] for (a, _), lean in zip(lines, leans, strict=True)]
    # The strings run as far from the edges all along, and the board is `end` wide on the centreline at its end.
    taper = (end - 44) / 2 / (middles[-1] + overhang)
    for side, length in ((-1, bass), (1, treble)):
        # x on the string y = side (half + taper x), where the line x = middle + lean y meets it.
        met = [
            (middle + side * lean * half) / (1 - side * lean * taper)
            for middle, lean in zip(middles, leans, strict=True)
        ]
        expected = [length * (1 - 1 / ratio) for ratio in ratios]
        # The text has three decimals.
        assert expected == pytest.approx([x - met[0] for x in met], abs=0.003)
    assert 0.0 == pytest.approx(middles[0], abs=0.001)
    if square == int(square):
        assert 0.0 == pytest.approx(leans[int(square)], abs=5e-5)


def test_the_divisor_is_the_fret_makers() -> None:
    # 17.817154 = 1 / (1 - 2^(-1/12)), derived.
    assert 17.817154 == pytest.approx(650 / fret_distance(650, 1), abs=5e-7)


def test_the_old_rule_of_18_would_fall_short_of_the_octave() -> None:
    # R. M. Mottola, American Lutherie 130 (2017): the rule divides what is left by 18. Fret 12 at 0.496364 L, derived.
    rest = 1.0
    for _ in range(12):
        rest -= rest / 18
    assert 0.496364 == pytest.approx(1 - rest, abs=5e-7)
    assert 0.5 - 0.496364 == pytest.approx(fret_distance(1, 12) - (1 - rest), abs=5e-7)


def test_cents_fit_standard_pitch() -> None:
    # ISO 16: A4 is 440 Hz. Notes 60 and 127 of the equal scale as a package's own test values give them.
    assert 900 == pytest.approx(cents_between(261.6255653005986, 440), abs=1e-9)
    assert 6700 == pytest.approx(cents_between(261.6255653005986, 12543.853951415975), abs=1e-9)


def test_a_tenth_of_a_millimetre_at_the_octave() -> None:
    # 0.1 mm at fret 12 of 648 mm: 0.534 cents, derived.
    assert 0.534 == pytest.approx(cents_off(648, 12, 0.1), abs=5e-4)


def test_648_is_not_25_and_a_half_inches() -> None:
    # Common practice, no source: the two are mixed up; at fret 12 they differ by 0.15 mm.
    assert 0.15 == pytest.approx(fret_distance(648, 12) - fret_distance(25.5 * 25.4, 12), abs=1e-9)
