"""The table of checks that every program must pass: name to function, one file each.

A check looks at `CheckInput` alone and returns findings; none knows of another.
"""

from __future__ import annotations

from collections.abc import Callable

from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.collisions import (
    covered_clamp,
    deeper_than_flutes,
    into_bed,
    keep_out,
    rapid_in_wood,
    reach,
    safe_height,
    shank_in_wood,
    stock_too_small,
    travel,
)
from toolpaths.verification.checks.holding import holders_placed, offcuts, on_jig, part_held
from toolpaths.verification.checks.instrument import (
    after_radius,
    bolt_off_seat,
    carved_away,
    fan_reversed,
    fret_off,
    kerf,
    moisture,
    pins_meet,
    rod_uncovered,
    string_angle,
    thin_under_slot,
    wall_too_thin,
    wood_between,
)
from toolpaths.verification.checks.loads import bit_rules, chip, deflection, pass_depth, plunge, power
from toolpaths.verification.checks.program import air, feed_rpm, header, setup_words, spindle, touch_off, wrong_bit
from toolpaths.verification.checks.shape import gouge, idle_bit, inlay_fit, off_part, uncut
from toolpaths.verification.finding import Finding

Check = Callable[[CheckInput], list[Finding]]
"""A check of one program."""

CHECKS: dict[str, Check] = {
    "header": header.check,
    "setup_words": setup_words.check,
    "spindle": spindle.check,
    "wrong_bit": wrong_bit.check,
    "touch_off": touch_off.check,
    "air": air.check,
    "stock_too_small": stock_too_small.check,
    "covered_clamp": covered_clamp.check,
    "travel": travel.check,
    "into_bed": into_bed.check,
    "safe_height": safe_height.check,
    "keep_out": keep_out.check,
    "rapid_in_wood": rapid_in_wood.check,
    "shank_in_wood": shank_in_wood.check,
    "deeper_than_flutes": deeper_than_flutes.check,
    "gouge": gouge.check,
    "uncut": uncut.check,
    "wall_too_thin": wall_too_thin.check,
    "rod_uncovered": rod_uncovered.check,
    "wood_between": wood_between.check,
    "carved_away": carved_away.check,
    "bolt_off_seat": bolt_off_seat.check,
    "fret_off": fret_off.check,
    "fan_reversed": fan_reversed.check,
    "pins_meet": pins_meet.check,
    "pass_depth": pass_depth.check,
    "plunge": plunge.check,
    "feed_rpm": feed_rpm.check,
    "chip": chip.check,
    "bit_rules": bit_rules.check,
    "deflection": deflection.check,
    "power": power.check,
    "reach": reach.check,
    "kerf": kerf.check,
    "holders_placed": holders_placed.check,
    "on_jig": on_jig.check,
    "part_held": part_held.check,
    "offcuts": offcuts.check,
    "after_radius": after_radius.check,
    "thin_under_slot": thin_under_slot.check,
    "off_part": off_part.check,
    "string_angle": string_angle.check,
    "moisture": moisture.check,
    "idle_bit": idle_bit.check,
    "inlay_fit": inlay_fit.check,
}
"""Every check, in the order in which they run."""

OF_INSTRUMENT = frozenset(
    {
        "wall_too_thin",
        "rod_uncovered",
        "wood_between",
        "carved_away",
        "bolt_off_seat",
        "fret_off",
        "pins_meet",
        "after_radius",
        "thin_under_slot",
        "off_part",
        "string_angle",
        "moisture",
    }
)
"""Checks of the instrument: not made for a sheet for inlays, a board on edge or a jig."""
