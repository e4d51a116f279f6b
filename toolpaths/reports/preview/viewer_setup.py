"""One setup as data of the preview page: finished map, surroundings, wanted shapes and programs."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from toolpaths.reports.pictures.holder_keys import height_words, holder_keys, shape_of
from toolpaths.reports.pictures.landmarks import findings_of, landmarks_of
from toolpaths.reports.pictures.sides import sides_of
from toolpaths.reports.preview.packed import packed
from toolpaths.reports.preview.viewer_data import replay_data
from toolpaths.reports.preview.viewer_wanted import wanted_data
from toolpaths.reports.text.holding import KIND_WORDS, patches_of
from toolpaths.reports.text.moving import lies_in, places_words
from toolpaths.reports.text.words import plain, zero_words
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.outcome import Outcome, SetupReport

_STEP = 0.001
_STEPS = 65_000
_CELLS = 8_000_000
"""Most cells of a map in the page; of a finer one every second or third is left out."""


def setup_data(outcome: Outcome, setup: SetupReport) -> dict[str, Any]:
    """Everything that the page shows of one setup, JSON-safe. Lengths mm, in the setup's frame; heights above the
    blank's underside, below which `bed` lies.

    `beneath`: the setup whose wood lies under this one's, turned over, its bed `thickness` above this one's;
    `frets`: number, x on the centreline, lean; `parts`: corners of each outline of what stays, none where nothing is
    waste; `near`, `far`, `nut`: see `Sides`; `keys`: of holders, for the legend; `findings`: see `findings_data`;
    `map`: see `map_data`; `wanted` and `replay`: see the modules of those names.
    """
    marks, context, sides = landmarks_of(outcome, setup), setup.context, sides_of(setup)
    units = outcome.job.units
    return {
        "name": context.setup.name,
        "surface": context.surface,
        "beneath": None
        if setup.beneath is None
        else next((s.context.setup.name for s in outcome.setups if s.standing is setup.beneath[1]), None),
        "thickness": context.glue,
        "zeroWords": ". ".join(filter(None, (zero_words(setup), places_words(outcome, setup)))),
        "face": context.face,
        "bed": context.bed,
        "top": context.top,
        "stock": list(context.stock_box),
        "view": list(marks.view),
        "frets": [[name, round(line.x, 5), round(line.lean, 7)] for name, line in marks.frets],
        "parts": [np.round(part, 4).tolist() for part in marks.parts],
        "partsAreCut": marks.board_is_cut or bool(marks.pieces),
        "near": sides.near_words,
        "far": sides.far,
        "sectionY": round(marks.section_y, 4),
        "nut": sides.nut and [sides.nut[0], round(sides.nut[1].x, 5), round(sides.nut[1].lean, 7)],
        "seams": [{"x": lie.low, "place": plain(lie.name, 20)} for lie in lies_in(outcome, setup)[1:]],
        "keys": [{"shape": key.shape, "words": key.words} for key in holder_keys(setup, units)],
        "clamps": [
            {
                "shape": shape_of(it.kind),
                "kind": KIND_WORDS[it.kind],
                "name": plain(it.name, 40),
                "top": height_words(setup, it, units),
                "x": [it.bounds[0], it.bounds[2]],
                "y": [it.bounds[1], it.bounds[3]],
                "radius": it.radius,
            }
            for it in setup.obstacles
        ],
        "patches": [{"name": name, "box": list(box)} for name, box in patches_of(setup)],
        "zero": list(context.zero),
        "findings": findings_data(outcome, setup),
        "map": map_data(setup.after),
        "wanted": wanted_data(setup),
        "replay": replay_data(outcome, setup),
    }


def map_data(depth_map: DepthMap) -> dict[str, Any]:
    """A map in whole steps of a micrometre (coarser for heights that do not fit), from `lowest` on; rows from low y."""
    every = max(1, math.ceil(math.sqrt(depth_map.heights.size / _CELLS)))
    h = depth_map.heights[::every, ::every]
    lowest, highest = float(h.min()), float(h.max())
    step = max(_STEP, (highest - lowest) / _STEPS)
    steps = h * np.float32(1 / step)
    steps += np.float32(0.5 - lowest / step)
    data = packed(steps.astype(np.uint16), "u2")
    rows, cols = h.shape
    return {
        "rows": rows,
        "cols": cols,
        "x0": depth_map.x0,
        "y0": depth_map.y0,
        "pitch": depth_map.pitch * every,
        "lowest": lowest,
        "step": step,
        "heights": data,
    }


def findings_data(outcome: Outcome, setup: SetupReport) -> list[dict[str, Any]]:
    """Findings of this setup that can be jumped to: number in the report's table, place, program and line, weight."""
    return [
        {
            "number": number,
            "place": place and list(place),
            "program": f.program,
            "line": f.program_line,
            "weight": str(f.severity),
        }
        for number, f, place in findings_of(outcome, setup)
        if place or f.program_line
    ]
