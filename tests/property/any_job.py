"""Any job that the schema allows, drawn at random: boards and necks of every size, with features in any order.

A job is a plain mapping, as it would stand in a file; every length is text with its unit, or a bare number in the
job's units. What is drawn is meant to be cut more often than not, but nothing guarantees that it can be.
"""

from __future__ import annotations

import io
from typing import Any

from hypothesis import strategies as st
from ruamel.yaml import YAML

from tests.property.any_board import board
from tests.property.any_neck import neck
from tests.property.draws import Draw, Job

MACHINES = ("bench-router", "bench-router", "shop-gantry", "hand-dial", "small-frame")
WOODS = ("hard maple", "black walnut", "mahogany", "ebony", {"name": "pear", "janka": 1660, "density": 690})
TITLES = ("Board of pear", "Nr 7 (G0 Z-50)", "Hälfte & halb <b>", "- M30 -", "名 # 1")
BITS: dict[str, dict[str, Any]] = {
    "slotter": {
        "shape": "flat",
        "diameter": "0.6 mm",
        "cutting_length": "5 mm",
        "shank": "1/8 in",
        "stickout": "15 mm",
    },
    "long": {"shape": "flat", "diameter": "6.35 mm", "cutting_length": "32 mm", "shank": "1/4 in", "stickout": "38 mm"},
    "pinner": {
        "shape": "flat",
        "diameter": "1/8 in",
        "cutting_length": "26 mm",
        "shank": "1/8 in",
        "stickout": "32 mm",
    },
}


def text_of(job: Job) -> str:
    """The job's file."""
    out = io.StringIO()
    writer = YAML(typ="safe", pure=True)
    writer.default_flow_style = False
    writer.width = 10_000
    writer.sort_base_mapping_type_on_output = False
    writer.dump(job, out)
    return out.getvalue()


@st.composite
def jobs(draw: st.DrawFn, part: str | None = None, machines: tuple[str, ...] = MACHINES) -> Job:
    """A board's or a neck's job."""
    d = Draw(draw, draw(st.sampled_from(["mm", "mm", "in"])))
    chosen = part or d.one("board", "board", "neck")
    job: Job = {
        "title": d.one(*TITLES),
        "units": d.units,
        "part": chosen,
        "machine": d.one(*machines),
        "wood": d.one(*WOODS),
        "handed": d.one("right", "left"),
        "bits": {name: dict(bit) for name, bit in BITS.items()},
    }
    if d.seldom():
        job["bits"]["eighth"] = {"measured_diameter": d.one("3.1 mm", "3.22 mm"), "runout": "0.03 mm"}
    if d.seldom():
        job["moisture"] = {"shop": d.whole(30, 60), "home": [30, 65], "sawn": d.one("flat", "quarter")}
    return board(d, job) if chosen == "board" else neck(d, job)
