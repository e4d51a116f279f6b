"""A fault in the formula that cuts are made by is stopped: demand and judge have derivations of their own.

Each fault is put into `instrument/fans.py` or `instrument/frets.py` while a whole set is made, on square and on
fanned boards.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.property.any_fan import fanned_job
from tests.property.any_job import text_of
from toolpaths.features.fret_strips import across
from toolpaths.features.kinds import score_lines
from toolpaths.instrument import fans, frets
from toolpaths.job.changes import Changes
from toolpaths.job.job import Fan, Instrument
from toolpaths.pipeline.run import make
from toolpaths.verification.checks.instrument import fret_off
from toolpaths.verification.finding import Severity

Patch = Callable[[pytest.MonkeyPatch], None]

FAN = {"bass": 420, "treble": 395, "square_fret": 5}
SLIGHT = {"bass": 405, "treble": 397, "square_fret": 5}
"""Half of its shift is less than the millimetre within which the judge looks for a line."""
LINES = {"score_lines": {"bit": "scorer", "depth": 0.5}}
VEE = {"score_lines": {"bit": "vee60", "depth": 0.4, "below": "radius", "ends": {"blind": 2}}}
SLOTS = {"fret_slots": {"bit": "slit", "depth": 1.8, "frets": [1, 5, 12]}}
NUT = {"nut_slot": {"bit": "eighth", "width": 3.4, "depth": 1.0, "edge": -1.0}}
OUTLINE = {"outline": {"bit": "quarter"}}


def codes(folder: Path, scale: object, *features: dict[str, Any], **instrument: object) -> set[str]:
    """The codes of all that stops such a board."""
    board = {"width": {"nut": 44, "end": 55}, "overhang": 9, "thickness": 6, "radius": 300}
    path = folder / "job.yaml"
    path.write_text(
        text_of(
            {
                "title": "Faults",
                "units": "mm",
                "machine": "bench-router",
                "wood": "black cherry",
                "instrument": {"scale_length": scale, "frets": 12, "strings": 6, "board": board, **instrument},
                "stock": {"length": 330, "width": 90, "thickness": 6},
                "bits": {
                    "slit": {"shape": "flat", "diameter": 0.6, "cutting_length": 4, "shank": 3.175, "stickout": 15}
                },
                "setups": [
                    {
                        "name": "face",
                        "zero": {"x": "nut", "y": "centreline", "z": "bed"},
                        "nut_at": 40,
                        "hold": "tape",
                        "features": list(features),
                    }
                ],
            }
        ),
        encoding="utf-8",
    )
    return {f.code for f in make(path, Changes(pitch=1.0)).findings if f.severity is Severity.stop}


def steps(to: float) -> Patch:
    return lambda m: m.setattr(frets, "STEPS", to)


def strings(change: Callable[[Any, Any, float, float], Any]) -> Patch:
    """The settled strings, changed: `change(right, fan, half, taper)`."""
    right = fans._settled
    return lambda m: m.setattr(fans, "_settled", lambda fan, half, taper: change(right, fan, half, taper))


def halved(right: Any, fan: Fan, half: float, taper: float) -> Any:
    found = right(fan, half, taper)
    return replace(found, bass=found.bass / 2, treble=found.treble / 2)


def treble_moved(right: Any, fan: Fan, half: float, taper: float) -> Any:
    found = right(fan, half, taper)
    return replace(found, treble=found.treble + 0.3)


def next_square(right: Any, fan: Fan, half: float, taper: float) -> Any:
    return right(fan.model_copy(update={"square_fret": fan.square_fret + 1}), half, taper)


def spread_wrong(right: Any, fan: Fan, half: float, taper: float) -> Any:
    return right(fan, half + 0.5, taper)


def nut_turned(monkeypatch: pytest.MonkeyPatch) -> None:
    """By an eighth of its lean: 0.4 degrees here."""
    right = fans._Strings.line

    def line(self: Any, fan: Fan, fret: float) -> Any:
        found = right(self, fan, fret)
        return replace(found, lean=found.lean * 1.125) if fret == 0 else found

    monkeypatch.setattr(fans._Strings, "line", line)


def scaled(part: float) -> Patch:
    right = frets.fret_distance
    return lambda m: m.setattr(fans, "fret_distance", lambda scale, fret: right(scale, fret) * part)


@pytest.fixture(autouse=True)
def forgotten() -> Iterator[None]:
    """What a formula gave under a fault must not be remembered."""
    fans._strings.cache_clear()
    yield
    fans._strings.cache_clear()


FAULTS: dict[str, tuple[object, Patch]] = {
    "twelve and a hundredth to the octave": (FAN, steps(12.01)),
    "the same with one scale": (400, steps(12.01)),
    "places a ten-thousandth too far": (FAN, scaled(1.0002)),
    "the same with one scale ": (400, scaled(1.0002)),
    "the fan's shift halved": (SLIGHT, strings(halved)),
    "the treble string 0.3 mm on": (FAN, strings(treble_moved)),
    "the square fret one off": (FAN, strings(next_square)),
    "a half millimetre of spread": (FAN, strings(spread_wrong)),
    "the nut turned": (FAN, nut_turned),
}


@pytest.mark.parametrize("scale", [400, FAN])
@pytest.mark.parametrize("feature", [LINES, VEE, SLOTS])
def test_without_a_fault_nothing_stops(tmp_path: Path, scale: object, feature: dict[str, Any]) -> None:
    assert set() == codes(tmp_path, scale, feature, NUT, OUTLINE, zero_fret=True)


@pytest.mark.parametrize("feature", [LINES, VEE], ids=["lines", "vee"])
@pytest.mark.parametrize("fault", FAULTS)
def test_the_judge_measures_every_fault_in_the_frets(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: str, feature: dict[str, Any]
) -> None:
    scale, patch = FAULTS[fault]
    patch(monkeypatch)
    found = codes(tmp_path, scale, feature, zero_fret=True)
    assert "fret-off" in found


@pytest.mark.parametrize("fault", FAULTS)
def test_the_demand_stops_every_fault_without_the_judge_s_formula(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    scale, patch = FAULTS[fault]
    patch(monkeypatch)
    assert codes(tmp_path, scale, LINES, zero_fret=True) & {"gouge", "uncut"}


@pytest.mark.parametrize("feature", [NUT, OUTLINE], ids=["nut slot", "outline"])
def test_a_turned_nut_is_stopped_where_no_fret_lies_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, feature: dict[str, Any]
) -> None:
    nut_turned(monkeypatch)
    assert codes(tmp_path, FAN, feature) & {"gouge", "uncut"}


@pytest.mark.parametrize("to", [12.01, 11.99])
def test_a_fault_in_the_demand_is_no_excuse(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, to: float) -> None:
    """Cut and demand wrong alike: the judge's own derivation is left."""

    def wrong(instrument: Instrument, fret: float) -> Any:
        return across(instrument, fret * 12 / to)

    steps(to)(monkeypatch)
    monkeypatch.setattr(score_lines, "across", wrong)
    assert "fret-off" in codes(tmp_path, FAN, LINES)


@pytest.mark.parametrize("seed", range(40))
def test_three_derivations_agree(seed: int) -> None:
    job = fanned_job(seed)
    instrument = Instrument.model_validate(job["instrument"], context={"units": job["units"]})
    for fret in range(instrument.frets + 1):
        cut, asked, judged = (
            fans.fret_line(instrument, fret),
            across(instrument, fret),
            fret_off._line(instrument, fret),
        )
        for y in (-20.0, 0.0, 25.0):
            assert cut.at(y) == pytest.approx(asked.at(y)[0], abs=1e-9)
            assert cut.at(y) == pytest.approx(judged.at(y)[0], abs=1e-9)
            assert fans.scale_at(instrument, fret, y) == pytest.approx(judged.at(y)[1], abs=1e-9)
    assert math.isclose(2.0, fret_off.SEMITONE**12, rel_tol=1e-14)
