"""Rules of thumb for what a bit is made for. All figures: common practice, no source, unless a line says otherwise."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.support.check_input_builder import BITS, CUTTING, MACHINE, inputs, operation, program
from toolpaths.job.bits.flat import Flat
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.loads.bit_rules import bearable_pass, check
from toolpaths.verification.finding import Finding, Severity

FINE = Flat(shape="flat", diameter=0.6, flutes=2, cutting_length=2.5, shank=3.175, stickout=15.0)
SIX = BITS[1][1]


def slot(depth: float, bit: Flat | Any = SIX, *, asked: float = 9.0, feed: float = 1000, **rest: Any) -> CheckInput:
    text = program(f"G0 X-14 Y0\nG1 Z{10 - depth:g} F200\nG1 X44 F{feed:g}\nG0 Z16\n")
    cutting = replace(CUTTING, pass_depth=asked)
    return inputs(text, bits={**BITS, 1: ("six", bit)}, operations=[operation(cutting=cutting)], **rest)


def codes(found: list[Finding]) -> list[tuple[str, Severity]]:
    return [(f.code, f.severity) for f in found]


# How deep at once


def test_the_pass_that_a_bit_bears() -> None:
    # 0.5 D in hard wood, 1 D in soft, up to 0.5 D for bits up to 1.6 mm.
    assert (3.0, 6.0, 0.8) == (bearable_pass(SIX, 1450), bearable_pass(SIX, 400), bearable_pass(_thin(1.6), 400))


def _thin(diameter: float) -> Flat:
    return FINE.model_copy(update={"diameter": diameter})


@pytest.mark.parametrize(
    ("depth", "severity"), [(3.0, None), (3.3, Severity.warn), (6.2, Severity.warn), (6.4, Severity.stop)]
)
def test_a_pass_deeper_than_the_bit_bears(depth: float, severity: Severity | None) -> None:
    expected = [] if severity is None else [("pass-deep", severity)]
    assert expected == codes(check(slot(depth)))


def test_the_message_names_the_depth_that_would_do() -> None:
    (found,) = check(slot(4.0))
    assert "the pass is too deep for six. Set `pass_depth: 3`. 4.00 mm; most 3.00 mm" == found.message
    assert "pocket" == found.feature


def test_a_skim_along_a_high_wall_is_no_pass() -> None:
    levels = "".join(f"G1 Z{z} F200\nG1 X44 F1000\nG1 X-14 F1000\n" for z in (7.5, 5, 2.5, 0.5))
    text = program(f"G0 X-14 Y0\n{levels}G1 Y0.2 F1000\nG1 X44 F1000\nG0 Z16\n")
    cutting = replace(CUTTING, pass_depth=2.5)
    assert [] == [f for f in check(inputs(text, operations=[operation(cutting=cutting)])) if f.code == "pass-deep"]


# Slot bits under 1 mm


@pytest.mark.parametrize(("depth", "severity"), [(0.3, None), (0.33, Severity.warn), (0.66, Severity.stop)])
def test_a_fine_bit_bears_thin_passes_only(depth: float, severity: Severity | None) -> None:
    expected = [] if severity is None else [("fine-bit", severity)]
    found = [f for f in check(slot(depth, FINE)) if "straight down" not in f.message]
    assert expected == codes(found)


def test_a_fine_bit_never_plunges() -> None:
    text = program("G0 X20 Y0\nG1 Z9.9 F60\nG1 X30 F240\nG0 Z16\n")
    found = check(inputs(text, bits={**BITS, 1: ("six", FINE)}))
    assert [("fine-bit", Severity.stop)] == codes(found)
    assert "straight down" in found[0].message
    assert "0.10 mm of wood" == found[0].said.measured


@pytest.mark.parametrize(("run", "warned"), [(3.0, False), (2.0, True)])
def test_a_fine_bit_ramps_at_most_two_degrees(run: float, warned: bool) -> None:
    # 0.1 mm over 3 mm is 1.9 degrees, over 2 mm 2.9. Derived.
    text = program(f"G0 X20 Y0\nG1 Z10 F60\nG1 X{20 + run:g} Z9.9 F180\nG1 X40 F240\nG0 Z16\n")
    found = check(inputs(text, bits={**BITS, 1: ("six", FINE)}))
    assert warned == any("degrees" in f.said.measured for f in found)
    assert all(f.severity is Severity.warn for f in found)


# Chips, speed, spiral, runout


def test_chips_pack_in_a_slot_deeper_than_two_diameters() -> None:
    thin = Flat(shape="flat", diameter=2.0, flutes=2, cutting_length=9.0, shank=2.0, stickout=20.0)
    steps = "".join(f"G1 X-14 Z{z:g} F300\nG1 X44 F500\n" for z in (9, 8, 7, 6))
    whole = program("G0 X-14 Y0\n" + steps + "G0 Z16\n")
    bits = {**BITS, 1: ("six", thin)}
    assert [] == check(inputs(whole, bits=bits))
    deeper = program("G0 X-14 Y0\n" + steps + "G1 X-14 Z5.2 F300\nG1 X44 F500\nG0 Z16\n")
    (found,) = check(inputs(deeper, bits=bits))
    assert ("chips-pack", Severity.warn) == (found.code, found.severity)
    assert ("4.80 mm", "most 4.00 mm") == (found.said.measured, found.said.limit)
    assert "open the cut to 2.80 mm" in found.said.todo


def test_no_chips_pack_where_one_side_is_open() -> None:
    thin = Flat(shape="flat", diameter=2.0, flutes=2, cutting_length=9.0, shank=2.0, stickout=20.0)
    # 2 mm beside it the whole block is gone to the same depth.
    beside = "".join(f"G0 X-14 Y{y}\nG1 Z5 F300\nG1 X44 F500\nG0 Z16\n" for y in (1.9, 0))
    found = check(inputs(program(beside), bits={**BITS, 1: ("six", thin)}))
    assert ["chips-pack"] == [f.code for f in found if f.code == "chips-pack"], "the first pass has two walls"
    again = program("G0 X-14 Y0\nG1 Z5 F300\nG1 X44 F500\nG0 Z16\n")
    opened = program("".join(f"G0 X-14 Y{y}\nG1 Z5 F300\nG1 X44 F500\nG0 Z16\n" for y in (1.2, 2.4)))
    found = check(inputs(again, earlier=opened, bits={**BITS, 1: ("six", thin)}))
    assert [] == [f.code for f in found if f.code == "chips-pack"]


def test_a_wide_bit_without_its_maker_s_word_turns_slowly() -> None:
    # 20 mm at 18000 is 1131 m/min; 720 m/min (common practice, no source) is 11,459 rpm. Derived.
    wide = BITS[3][1]
    (found,) = [f for f in check(slot(1.0, wide)) if f.code == "surface-speed"]
    assert ("1131 m/min", "most 720") == (found.said.measured, found.said.limit)
    assert "set `rpm: 11400` or `max_rpm`" == found.said.todo
    known = wide.model_copy(update={"max_rpm": 18000})
    assert [] == [f for f in check(slot(1.0, known)) if f.code == "surface-speed"]


@pytest.mark.parametrize(
    ("spiral", "hold", "told"), [("up", "tape", True), ("up", "clamps", False), ("down", "vacuum", False)]
)
def test_an_up_cut_spiral_lifts_thin_work_off_tape(spiral: str, hold: str, told: bool) -> None:
    of = slot(1.0, SIX.model_copy(update={"spiral": spiral}))
    context = of.context
    held = replace(context, setup=context.setup.model_copy(update={"hold": hold}))
    found = check(replace(of, context=held))
    assert told == any("lift thin wood off" in f.message for f in found)


def test_runout_larger_than_a_fine_chip_is_said() -> None:
    # 240 / 36000 = 0.0067 mm a tooth. Derived.
    loose = MACHINE.model_copy(update={"runout": 0.08})
    fine = slot(0.1, FINE, feed=240, on=loose)
    (found,) = [f for f in check(fine) if f.code == "runout"]
    assert Severity.note is found.severity
    assert ("runout 0.080 mm, slot 0.680 mm", "chip 0.0067 mm") == (found.said.measured, found.said.limit)
    assert [] == [f for f in check(slot(0.1, FINE, feed=240)) if f.code == "runout"]
