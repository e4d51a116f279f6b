"""However many digits a machine's programs carry, and in whatever unit, its sets pass their own judge."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.made import made as make
from toolpaths.common.errors import JobError
from toolpaths.gcode.reader.read import read
from toolpaths.job.changes import Changes
from toolpaths.job.files.machine_file import load_machine, machine_paths
from toolpaths.job.measured import Measured
from toolpaths.pipeline.build import lay_out_loaded
from toolpaths.pipeline.load import load_job
from toolpaths.verification.finding import Severity

JOB = """\
title: digits
units: UNITS
machine: MACHINE
wood: black cherry
instrument:
  scale_length: 220 mm
  frets: 4
  strings: 5
  board: {width: {nut: 40 mm, 4: 44 mm}, overhang: 6 mm, thickness: THICK}
stock: {length: 90 mm, width: 56 mm, thickness: STOCK}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: stock top}
    nut_at: 18 mm
    hold: tape
    features:
      - plane: {bit: planer, leave: THICK}
      - marker_pockets: {bit: eighth, diameter: 5 mm, depth: 1.5 mm, frets: [1]}
"""
# Stock, and what is left of it: 5/16 in is 7.9375 mm, and 13/64 in 5.159375 mm; exact.
STOCKS = [("5/16 in", "13/64 in"), ("6 mm", "5 mm"), ("{min: 6.1234567 mm, max: 6.3 mm}", "5.0499 mm")]
EXACT = {"5/16 in": 7.9375, "13/64 in": 5.159375, "6 mm": 6.0, "5 mm": 5.0, "5.0499 mm": 5.0499}
EXACT["{min: 6.1234567 mm, max: 6.3 mm}"] = 6.3
FACTORS = [None, (50.0, 50.13), (100.0, 99.7)]


def job(folder: Path, machine: str, stock: tuple[str, str], units: str = "mm") -> Path:
    text = JOB.replace("UNITS", units).replace("MACHINE", machine)
    path = folder / "job.yaml"
    path.write_text(text.replace("STOCK", stock[0]).replace("THICK", stock[1]), encoding="utf-8")
    return path


@pytest.mark.parametrize("stock", STOCKS)
@pytest.mark.parametrize("base", ["bench-router", "hand-dial", "shop-gantry"])
def test_the_header_gives_the_height_entered_to_the_last_digit_of_the_machine(
    tmp_path: Path, base: str, stock: tuple[str, str]
) -> None:
    shipped = load_machine(base)
    loaded = load_job(job(tmp_path, base, stock))
    for decimals in range(3 if shipped.units == "mm" else 4, 7):
        for told in FACTORS:
            stroke = None if told is None else {"z": {"commanded": told[0], "measured": told[1]}}
            measured = None if stroke is None else Measured.model_validate(stroke)
            changes = {"decimals": decimals, "measured": measured, "tool_change": "by hand"}
            machine = shipped.model_copy(update=changes)
            layout = lay_out_loaded(replace(loaded, machine=machine), Changes(air=12.34567))
            header = read(layout.own[-1][1].text, layout.own[-1][1].beside).header
            assert "planed face" == header.touch_surface
            wanted = (EXACT[stock[1]] - EXACT[stock[0]]) * (1.0 if told is None else told[0] / told[1])
            assert wanted == pytest.approx(header.touch_z, abs=machine.half_digit + 1e-9)
            assert 12.34567 == pytest.approx(header.lifted, abs=machine.half_digit + 1e-9)


@pytest.mark.parametrize(("units", "decimals"), [("mm", 2), ("in", 2), ("in", 3)])
def test_too_few_digits_are_refused(tmp_path: Path, units: str, decimals: int) -> None:
    base = "bench-router" if units == "mm" else "hand-dial"
    with pytest.raises(JobError, match="decimals must be at least"):
        make(job(tmp_path, own(tmp_path, base, decimals), STOCKS[0]))


def own(folder: Path, base: str, decimals: int, measured: tuple[float, float] | None = None) -> str:
    lines = machine_paths()[base].read_text(encoding="utf-8").splitlines()
    text = "\n".join(f"decimals: {decimals}" if line.startswith("decimals:") else line for line in lines)
    if measured is not None:
        text += f"\nmeasured: {{z: {{commanded: {measured[0]} mm, measured: {measured[1]} mm}}}}"
    (folder / "own.yaml").write_text(text + "\n", encoding="utf-8")
    return "own.yaml"


@pytest.mark.parametrize(
    ("base", "decimals", "stock", "units", "measured"),
    [
        ("bench-router", 3, STOCKS[0], "mm", FACTORS[1]),
        ("bench-router", 4, STOCKS[0], "in", None),
        ("bench-router", 5, STOCKS[2], "mm", FACTORS[2]),
        ("small-frame", 5, STOCKS[0], "mm", FACTORS[1]),
        ("shop-gantry", 5, STOCKS[0], "in", FACTORS[1]),
        ("shop-gantry", 3, STOCKS[1], "mm", FACTORS[2]),
        ("hand-dial", 5, STOCKS[0], "mm", FACTORS[2]),
        ("hand-dial", 4, STOCKS[2], "in", FACTORS[1]),
    ],
)
def test_a_set_of_such_a_machine_is_not_stopped(
    tmp_path: Path, base: str, decimals: int, stock: tuple[str, str], units: str, measured: tuple[float, float] | None
) -> None:
    outcome = make(job(tmp_path, own(tmp_path, base, decimals, measured), stock, units), Changes(pitch=0.5))
    assert [] == [(f.code, f.message) for f in outcome.findings if f.severity is Severity.stop]
