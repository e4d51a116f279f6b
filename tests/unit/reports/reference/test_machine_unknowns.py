"""What a machine file leaves open is said, with what is taken instead; what it gives is not."""

from __future__ import annotations

from typing import Any

import pytest

from toolpaths.job.files.machine_file import machine_paths
from toolpaths.job.files.yaml_text import read_document
from toolpaths.job.machine import Machine
from toolpaths.reports.reference.machine_unknowns import Unknown, unknowns

STROKE = {"commanded": 400, "measured": 400.1}
WHOLE: dict[str, Any] = {
    "acceleration": {"x": 111, "y": 112, "z": 113}, "corner_deviation": 0.02, "change_minutes": 2,
    "offsets": {"G54": [1, 2, -3]}, "dwell": "seconds", "precision": "double", "arcs": "xy", "line_length": 80,
    "comments": True, "bed_allowance": 0, "runout": 0.01, "stiffness": 90,
    "measured": {
        "x": STROKE,
        "y": STROKE,
        "z": STROKE,
        "square": {"x": 400, "y": 300, "from_left": 500, "from_right": 500},
        "backlash": {"x": 0, "y": 0.02, "z": 0},
    },
    "spindle": {"min_rpm": 8000, "max_rpm": 24000, "set_by": "program", "spin_up": 4, "power": 800},
}  # fmt: skip
"""Everything that a file can give. Invented."""


def of(**changes: Any) -> dict[str, Unknown]:
    """What is open, by key. A key that is given as None is left out."""
    data = {**read_document(machine_paths()["bench-router"]).data, **WHOLE, **changes}
    data = {str(k): v for k, v in data.items() if v is not None}
    machine = Machine.model_validate(data, context={"units": data["units"]})
    return {one.key: one for one in unknowns(machine, "mine.yaml")}


def test_a_file_that_gives_everything_leaves_nothing_open() -> None:
    assert {} == of()


@pytest.mark.parametrize(
    ("key", "taken"),
    [
        ("corner_deviation", "0.010 mm is taken"),
        ("change_minutes", "3 minutes for each bit change"),
        ("dwell", "seconds are taken"),
        ("precision", "double is taken"),
        ("arcs", "xy is taken"),
        ("line_length", "80 characters are taken"),
        ("comments", "are taken as allowed"),
        ("bed_allowance", "0.20 mm is taken"),
        ("runout", "0 is taken"),
        ("stiffness", "taken as 150 N/mm"),
    ],
)
def test_a_key_that_is_left_out_is_said_with_what_is_taken(key: str, taken: str) -> None:
    found = of(**{key: None})
    assert [key] == list(found)
    assert taken in found[key].taken
    assert found[key].follows.endswith(".")
    assert found[key].find.endswith(".")


def test_axes_that_were_not_measured_are_named() -> None:
    found = of(measured={"x": STROKE, "backlash": {"x": 0.05}})
    assert ["measured.y, measured.z", "measured.square", "measured.backlash.y, measured.backlash.z"] == list(found)
    assert "`neckpath gauge mine.yaml --square` cuts four crosses" in found["measured.square"].find
    assert "Y and Z are not calibrated" in found["measured.y, measured.z"].taken
    assert "`neckpath gauge mine.yaml` measures X and Y." in found["measured.y, measured.z"].find
    assert "gauge mine.yaml" not in of(measured={**WHOLE["measured"], "z": None})["measured.z"].find


def test_the_spindle_s_own_are_named_too() -> None:
    spindle = {k: v for k, v in WHOLE["spindle"].items() if k not in ("spin_up", "power")}
    assert ["spindle.spin_up", "spindle.power"] == list(of(spindle=spindle))


def test_zeros_without_machine_coordinates_are_named() -> None:
    found = of(offsets={"G54": [1, 2, -3], "G55": None, "G56": None})
    assert "No machine coordinates are given for G55, G56." == found["offsets"].taken


def test_a_changer_without_pockets_is_told_what_its_numbers_are() -> None:
    assert ["pockets"] == list(of(tool_change="automatic"))
    assert ["pocket_count"] == list(of(tool_change="automatic", pockets={"planer": 1}))
    assert {} == of(tool_change="automatic", pockets={"planer": 1}, pocket_count=6)


def test_accelerations_copied_from_an_example_are_noticed() -> None:
    shipped = read_document(machine_paths()["small-frame"]).data["acceleration"]
    assert "These are the figures of the example `small-frame`." == of(acceleration=shipped)["acceleration"].taken


@pytest.mark.parametrize("arcs", ["none", "xy", "all planes"])
def test_long_arcs_are_named_only_where_the_machine_takes_arcs(arcs: str) -> None:
    assert (arcs != "none") == ("arcs" in of(precision=None, arcs=arcs)["precision"].follows)
