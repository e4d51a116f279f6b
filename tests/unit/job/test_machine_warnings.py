"""What is asked about a machine file: figures that are seldom right, each at its key; the shipped files raise none."""

from __future__ import annotations

from typing import Any

import pytest

from toolpaths.job.files.machine_file import machine_paths, read_machine
from toolpaths.job.files.yaml_text import read_document
from toolpaths.job.machine import Machine
from toolpaths.job.machine_warnings import doubts


def machine(name: str = "bench-router", **changes: Any) -> Machine:
    data = {str(k): v for k, v in read_document(machine_paths()[name]).data.items()}
    for key, value in changes.items():
        data[key] = {**data[key], **value} if isinstance(value, dict) and isinstance(data.get(key), dict) else value
    return Machine.model_validate(data, context={"units": data["units"]})


@pytest.mark.parametrize("name", machine_paths())
def test_no_figure_of_a_shipped_machine_is_doubted(name: str) -> None:
    assert [] == doubts(read_machine(machine_paths()[name]))


# All limits are common practice, no source.
@pytest.mark.parametrize(
    ("changes", "key", "says"),
    [
        (
            {"acceleration": {"x": 0.5}},
            ("acceleration", "x"),
            "X accelerates at 0.5 mm/s2: 10 to 5000 mm/s2 is usual",
        ),
        ({"rapid": {"x": 20001}}, ("rapid", "x"), "X goes 20001 mm/min: 300 to 20000 mm/min is usual"),
        (
            {"rapid": {"y": 2900}},
            ("feed_limit", "y"),
            "Y would cut at 3000 mm/min, faster than its rapid of 2900 mm/min",
        ),
        (
            {"safe_height": 46},
            ("safe_height",),
            "46.00 mm above stock and clamps is more than half of the 90.00 mm that Z travels",
        ),
        ({"safe_height": 1}, ("safe_height",), "is low: a bit may hit a clamp"),
        ({"stiffness": 8}, ("stiffness",), "8 N/mm: 20 to 3000 N/mm is usual, also in a file in inches"),
        ({"stiffness": 4000}, ("stiffness",), "4000 N/mm: 20 to 3000 N/mm is usual"),
        (
            {"travel": {"x": 32}},
            ("travel", "x"),
            "X travels 32.00 mm: 100 to 4000 mm is usual; bare numbers here are mm",
        ),
        ({"spindle": {"min_rpm": 100}}, ("spindle", "min_rpm"), "100 rpm: router spindles turn at 3000 to 60000"),
        ({"spindle": {"spin_up": 0.5}}, ("spindle", "spin_up"), "0.5 s is a short time for a spindle"),
        (
            {"offsets": {"G54": [10, 10, 5]}},
            ("offsets", "G54"),
            "Z of G54 at 5.00 mm lies outside the travel, -90.00 mm",
        ),
        ({"precision": "single", "decimals": 5}, ("decimals",), "beside 3 whole ones of this travel it keeps 4 behind"),
        ({"line_length": 50}, ("line_length",), "lines of 50 characters"),
        ({"arcs": "none", "chord_tolerance": 0.03}, ("chord_tolerance",), "is seen in the wood"),
        ({"arcs": "none", "chord_tolerance": 0.0004}, ("chord_tolerance",), "very many short moves"),
        ({"park": {"y": -600}}, ("park", "y"), "outside the travel"),
        ({"bed_allowance": 3}, ("bed_allowance",), "into the bed"),
        ({"runout": 0.2}, ("runout",), "breaks small bits"),
        ({"corner_deviation": 0.2}, ("corner_deviation",), "seen in the wood"),
        ({"collet": {"nut_diameter": 70}}, ("collet", "holder_diameter"), "narrower than the collet nut"),
    ],
)
def test_an_unlikely_figure_is_doubted_at_its_key(changes: dict[str, Any], key: tuple[str, ...], says: str) -> None:
    ((at, words),) = doubts(machine(**changes))
    assert key == at
    assert says in words


@pytest.mark.parametrize(
    "changes",
    [
        {"acceleration": {"x": 10}},
        {"rapid": {"x": 20000}},
        {"safe_height": 45},
        {"safe_height": 2},
        {"precision": "single", "decimals": 4},
        {"arcs": "xy", "chord_tolerance": 0.03},
        {"offsets": {"G54": [0, 500, -90]}},
    ],
)
def test_a_figure_at_the_edge_of_the_usual_is_not(changes: dict[str, Any]) -> None:
    assert [] == doubts(machine(**changes))


def test_a_dial_that_slows_down_is_doubted() -> None:
    ((at, words),) = doubts(machine("small-frame", spindle={"dial": {1: 10000, 2: 14000, 3: 13000}}))
    assert (("spindle", "dial", "3"), "mark 3 gives 13000 rpm, mark 2 before it 14000: not faster") == (
        at,
        words,
    )


def test_inch_machines_are_asked_in_inches() -> None:
    # 0.5 in/s2 is 12.7 mm/s2 (an inch is 25.4 mm by definition): slow, but likely. 0.3 in/s2 is 7.62.
    assert [] == doubts(machine("hand-dial", acceleration={"x": 0.5}))
    ((_, words),) = doubts(machine("hand-dial", acceleration={"x": 0.3}))
    assert words.startswith("X accelerates at 0.3 in/s2: 0.4 to 200 in/s2 is usual")
