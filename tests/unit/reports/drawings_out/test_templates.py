"""The carver's gauges: where they belong, and that their hollow is the finished back."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.neck_builder import PLAIN, WHOLE, instrument
from tests.support.paired_jobs import pair
from toolpaths.common.errors import FeatureError
from toolpaths.job.job import Instrument
from toolpaths.pipeline.load import load_job
from toolpaths.reports.drawings_out.marks import OutlineMark, TextMark
from toolpaths.reports.drawings_out.templates import BACK_OF_CARD, LEG, section, stations_of, templates_of


def test_gauges_stand_at_four_frets_and_the_heel() -> None:
    found = stations_of(instrument(WHOLE))
    assert ["fret 1", "fret 5", "fret 9", "fret 12", "heel"] == [s.name for s in found]
    # Thickness less the board of 6 mm: 20.5 at fret 1, 22 at fret 12, 25 at the heel, as the instrument says.
    assert [14.5, 16.0, 19.0] == pytest.approx([found[0].depth, found[3].depth, found[4].depth])
    # Half widths: 44 / 2 at fret 12, the heel's 52 / 2.
    assert [22.0, 26.0] == pytest.approx([found[3].half, found[4].half])


def test_a_neck_without_a_heel_has_gauges_at_frets_alone() -> None:
    assert ["fret 1", "fret 5", "fret 9", "fret 12"] == [s.name for s in stations_of(instrument(PLAIN))]


def test_an_instrument_without_a_neck_has_none() -> None:
    keys = {"scale_length": 584, "frets": 19, "board": {"width": {"nut": 36, 12: 44}, "overhang": 8, "thickness": 6}}
    bare = Instrument.model_validate(keys, context={"units": "mm"})
    with pytest.raises(FeatureError, match="the instrument has no neck"):
        stations_of(bare)


def test_a_round_section_is_half_an_ellipse() -> None:
    station = stations_of(instrument(WHOLE))[3]
    y, depth = section(instrument(WHOLE), station).T
    # Half width 22, depth 16: y^2 / 22^2 + d^2 / 16^2 = 1.
    np.testing.assert_allclose((y / 22) ** 2 + (depth / 16) ** 2, 1.0, atol=1e-9)


def test_a_drawn_profile_keeps_its_corners() -> None:
    shape = instrument({**PLAIN, "back": [[0, 1], [0.5, 0.8], [1, 0]]})
    station = stations_of(shape)[3]
    found = {(round(y, 6), round(d, 6)) for y, d in section(shape, station)}
    assert {(0.0, 16.0), (11.0, 12.8), (-11.0, 12.8)} <= found


def test_a_heel_s_gauge_has_upright_sides() -> None:
    whole = instrument(WHOLE)
    heel = stations_of(whole)[-1]
    assert {19.0} == {round(float(d), 9) for d in section(whole, heel)[:, 1]}


def test_each_card_is_one_closed_line_whose_legs_reach_the_glue_face(tmp_path) -> None:  # type: ignore[no-untyped-def]
    job = load_job(pair(tmp_path)[1]).job
    drawing = templates_of(job)
    cards = [m for m in drawing.layers["gauges"] if isinstance(m, OutlineMark)]
    stations = stations_of(job.instrument)
    assert len(stations) == len(cards)
    for card, station in zip(cards, stations, strict=True):
        shape = card.loop.shape(1e-5)
        x0, y0, x1, y1 = shape.bounds
        assert 2 * (station.half + LEG) == pytest.approx(x1 - x0)
        assert station.depth + BACK_OF_CARD == pytest.approx(y1 - y0)
        # Card less hollow: half an ellipse pi a b / 2, or the heel's rectangle.
        hollow = 2 * station.half * station.depth * (1.0 if station.name == "heel" else np.pi / 4)
        assert (x1 - x0) * (y1 - y0) - hollow == pytest.approx(shape.area, abs=0.05)
    # Cards keep clear of each other.
    shapes = [c.loop.shape() for c in cards]
    assert all(a.distance(b) > 5 for i, a in enumerate(shapes) for b in shapes[:i])


def test_a_card_says_which_edge_counts_and_how_thick_the_neck_is(tmp_path) -> None:  # type: ignore[no-untyped-def]
    drawing = templates_of(load_job(pair(tmp_path)[1]).job)
    said = [w.text for w in drawing.layers["words"] if isinstance(w, TextMark)]
    assert "14.50 mm below the glue face" in said
    assert "20.50 mm with the board" in said
    assert any("flush with the glue face" in line for line in drawing.lines)
    assert any("0.50 mm wider on each side" in line for line in drawing.lines)
