"""A drawn headstock is one closed outline in instrument coordinates that meets the shaft behind the nut."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.support.neck_builder import instrument
from tests.support.said import said
from toolpaths.common.errors import DrawingError, FeatureError
from toolpaths.instrument.drawn_headstock import head_polygon, neck_part
from toolpaths.job.job import Instrument

DEMO = Path(__file__).parents[3] / "demo_jobs" / "drawings"
PAGE = 'xmlns="http://www.w3.org/2000/svg" width="400mm" height="200mm" viewBox="-200 -100 400 200"'
# The nut of the builder's instrument is 36 wide; its shaft has 0.5 mm of margin a side.
GOOD = '<polygon id="head" points="-120,-30 -20,-30 -4,-18 -4,18 -20,30 -120,30"/>'
OPEN = GOOD.replace("polygon", "polyline")


@pytest.fixture
def drawn(tmp_path: Path) -> Any:
    def made(body: str, **head: Any) -> tuple[Instrument, Path]:
        (tmp_path / "head.svg").write_text(f"<svg {PAGE}>{body}</svg>")
        keys = {"drawing": "head.svg", "thickness": 14, **head}
        return instrument({"thickness": {1: 20.5, 12: 22}, "headstock": keys}), tmp_path

    return made


def test_the_outline_is_taken_as_it_is_drawn(drawn: Any) -> None:
    outline = head_polygon(*drawn(GOOD))
    assert outline is not None
    # 100 x 60, and a trapezium of 16 between 60 and 36: 6000 + 768, by hand.
    assert 6768.0 == pytest.approx(outline.area)
    assert (-120.0, -30.0, -4.0, 30.0) == pytest.approx(outline.bounds)


def test_the_demo_s_is_165_by_74() -> None:
    made = instrument(
        {"thickness": {1: 20.5}, "headstock": {"drawing": "headstock.dxf", "layer": "OUTLINE", "thickness": 14}}
    )
    outline = head_polygon(made, DEMO)
    assert outline is not None
    assert (-165.0, -37.0, 0.0, 37.0) == pytest.approx(outline.bounds, abs=0.002)
    whole = neck_part(made, 0.5, DEMO)
    assert outline.area > 0.999 * whole.intersection(outline).area > 0.998 * outline.area


def test_one_that_is_not_drawn_is_none() -> None:
    made = instrument({"thickness": {1: 20.5}, "headstock": {"length": 150, "width": 66, "thickness": 14}})
    assert None is head_polygon(made, Path())
    assert None is head_polygon(instrument({"thickness": {1: 20.5}}), Path())


@pytest.mark.parametrize(
    ("body", "head", "words"),
    [
        (
            GOOD.replace("-4,", "-9,"),
            {},
            "it ends at x -9.00 mm and does not meet the shaft, which begins at x -6.00 mm",
        ),
        ('<rect x="-5" y="-3" width="4" height="6"/>', {}, "it reaches from x -5.00 mm to x -1.00 mm"),
        (
            GOOD.replace("-4,-18 -4,18", "4,-25 4,25"),
            {},
            "in front of the nut it is wider than the shaft (to x 4.00 mm)",
        ),
        (GOOD + '<circle r="3" cx="-60"/>', {}, "it has 2 outlines, and needs one"),
        (OPEN, {}, "polyline head is open: it ends at x -120.00 mm, y -30.00 mm, 60.00 mm from where it begins"),
        (GOOD, {"layer": "OUTLINE"}, "it has no group with the id `OUTLINE`"),
        (GOOD, {"drawing": "tail.svg"}, "there is no file `tail.svg`"),
    ],
)  # fmt: skip
def test_what_makes_no_headstock_is_said(drawn: Any, body: str, head: dict[str, Any], words: str) -> None:
    made, folder = drawn(body, **head)
    with pytest.raises(DrawingError) as caught:
        head_polygon(made, folder)
    assert f"headstock, {head.get('drawing', 'head.svg')}: {words}" == said(caught.value)


def test_the_neck_refuses_it_with_the_same_words(drawn: Any) -> None:
    with pytest.raises(FeatureError, match=r"headstock, head\.svg: it has 2 outlines, and needs one"):
        neck_part(*_with_margin(drawn(GOOD + '<circle r="3" cx="-60"/>')))


def _with_margin(made: tuple[Instrument, Path]) -> tuple[Instrument, float, Path]:
    return made[0], 0.5, made[1]
