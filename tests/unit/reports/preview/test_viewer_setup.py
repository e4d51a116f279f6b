"""What the page is told of a setup: the finished map to a micrometre, its surroundings, its findings."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from tests.support.closed_forms import unpacked
from toolpaths.reports.preview.viewer_parts import SCRIPTS, script
from toolpaths.reports.preview.viewer_setup import map_data, setup_data
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.finding import Finding
from toolpaths.verification.outcome import Outcome


def test_a_map_comes_back_to_half_a_micrometre(outcome: Outcome) -> None:
    after = outcome.setups[0].after
    told = map_data(after)
    heights = unpacked(told["heights"]).astype(np.float64) * told["step"] + told["lowest"]
    assert after.heights.shape == (told["rows"], told["cols"])
    assert pytest.approx(0.0, abs=0.00055) == np.abs(heights.reshape(after.heights.shape) - after.heights).max()


def test_a_blank_too_thick_for_micrometres_takes_coarser_steps() -> None:
    tall = DepthMap(np.array([[0.0, 130.0]], dtype=np.float32), 0.0, 0.0, 1.0)
    told = map_data(tall)
    assert pytest.approx(0.002) == told["step"]
    assert pytest.approx([0.0, 130.0]) == unpacked(told["heights"]) * told["step"] + told["lowest"]


def test_of_a_very_fine_map_cells_are_left_out_and_those_that_stay_keep_their_places() -> None:
    fine = DepthMap(np.arange(9_000_000, dtype=np.float32).reshape(3000, 3000) / 1e6, 0.1, 0.2, 0.01)
    told = map_data(fine)
    assert (1500, 1500, 0.02) == (told["rows"], told["cols"], told["pitch"])
    heights = unpacked(told["heights"]).reshape(1500, 1500) * told["step"] + told["lowest"]
    assert pytest.approx(float(fine.heights[200, 40]), abs=0.001) == heights[100, 20]


def test_a_setup_is_told_in_plain_json(outcome: Outcome) -> None:
    told = json.loads(json.dumps(setup_data(outcome, outcome.setups[0]), allow_nan=False))
    assert "face" == told["name"]
    assert 5.5 == told["face"]
    # The first fret of L = 520: 520 (1 - 2^(-1/12)).
    assert ["1", pytest.approx(29.1854, abs=1e-4), 0.0] == told["frets"][0]
    stop = {"shape": "keep_out", "kind": "keep out", "name": "end stop", "x": [-60, -30], "y": [-25, 25], "radius": 0}
    assert [{**stop, "top": "6.00 mm above the bed"}] == told["clamps"]
    tape = {"shape": "tape", "words": "double-sided tape under the whole blank"}
    assert [{"shape": "keep_out", "words": "keep out: end stop, top 6.00 mm above the bed"}, tape] == told["keys"]
    assert ("bass side, operator's side", "treble side", ["nut", 0, 0]) == (told["near"], told["far"], told["nut"])


def test_findings_with_a_place_or_a_line_can_be_jumped_to(outcome: Outcome, gouge: Finding, thin_chip: Finding) -> None:
    told = setup_data(replace(outcome, findings=(thin_chip, gouge)), outcome.setups[0])["findings"]
    assert [2] == [f["number"] for f in told]
    assert [130.2, -4.0] == told[0]["place"]
    assert ("02-face-scorer.ngc", 3, "stop") == (told[0]["program"], told[0]["line"], told[0]["weight"])


def test_every_script_of_the_folder_is_joined_and_begins_strictly() -> None:
    from importlib.resources import files

    folder = files("toolpaths.reports.preview") / "viewer"
    there = {f.name[:-3] for f in folder.iterdir() if f.name.endswith(".js")}
    assert there == set(SCRIPTS)
    assert script().startswith('"use strict";')
    for word in ("</script", "<!--"):
        assert word not in script()
    assert "</style" not in (folder / "look.css").read_text(encoding="utf-8")
