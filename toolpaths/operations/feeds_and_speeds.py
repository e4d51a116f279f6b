"""Feeds and speeds: every value that a job leaves open is chosen on the safe side, with the reason.

A job's own value is kept as it stands; where the machine cannot do it, it is refused, never quietly changed.
The rules are common practice for small routers, no source, unless a line says otherwise; see docs/sources.md.
"""

from __future__ import annotations

import math

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import MM_PER_INCH, marked_feed, show_fine
from toolpaths.job.bit import Bit
from toolpaths.job.feature_keys import FeatureKeys, LineDirection, MillingDirection
from toolpaths.job.machine import Machine
from toolpaths.job.wood import Wood
from toolpaths.operations import limit_words as words
from toolpaths.operations.bit_strength import EDGE_RADIUS, limits_of, safety
from toolpaths.operations.chip_load import bit_band, chip_load, softness, surface_speed
from toolpaths.operations.depth_of_cut import finish_allowance, pass_depth, step_over
from toolpaths.operations.machine_stiffness import steady_depth
from toolpaths.operations.operation import Cutting, Limit
from toolpaths.operations.speeds_context import ROUNDED, WIDE, SpeedsContext, stoutness

USUAL_RPM = 18000.0
NO_BACKLASH = 0.01
"""Backlash in x, mm, under which levels of a line may be cut there and back: half of what a line may be off."""
HIGHEST_SURFACE_SPEED = 720.0
"""m/min; holds for bits over 12.7 mm, which at this speed just turn at 18000."""
PLUNGE, RAMP, RAMP_THIN = 0.30, 0.75, 0.70
PLUNGE_DRILL = 0.50
"""Parts of the feed."""


def settle(feature: FeatureKeys, bit: Bit, wood: Wood, machine: Machine, slot: bool = False) -> Cutting:
    """Speeds, feeds (mm/min), depths (mm) and directions for one feature, with the reason for each.

    `slot`: the bit cuts as wide as itself, so that the chip load is taken lower in its band.
    The reasons' keys are the fields of `Cutting`, with `direction` for `rough` and `finish`.
    Raises FeatureError, naming the key, where the job asks for what machine or bit cannot do,
    or where bit and machine do not fit together.
    """
    case = SpeedsContext(feature, bit, wood, machine, bit_band(bit, wood.janka), slot)
    depth = pass_depth(case)
    rpm, feed = _rpm_and_feed(case, depth)
    ramp_angle = _ramp_angle(case)
    lines, walls = _directions(case)
    return Cutting(
        rpm=rpm,
        feed=feed,
        plunge=_plunge(case, feed),
        ramp=_ramp(case, feed, ramp_angle),
        pass_depth=steady_depth(case, depth, feed, rpm),
        step_over=step_over(case),
        finish_allowance=finish_allowance(case),
        rough=walls or "conventional",
        finish=walls or "climb",
        ramp_angle=ramp_angle,
        reasons=case.reasons,
        z_limit=machine.feed_limit.z,
        limits=case.limits,
        lines=lines,
        twice=case.careful,
        safety=safety(bit, chip_load(feed, rpm, bit.flutes), depth, case.runout) if case.fine else None,
    )


def _directions(case: SpeedsContext) -> tuple[LineDirection | None, MillingDirection | None]:
    """The way in which levels of lines are cut, None where none are; and the way along walls that the job asks for.

    Screw backlash moves a line where a level is cut the other way, unless it is known to be less than `NO_BACKLASH`.
    """
    asked = case.feature.direction
    if not case.feature.lined:
        if asked is None:
            case.because("direction", "usual", words.ROUGH_AND_SKIM)
        else:
            case.because("direction", "job", words.JOB)
        return None, asked if asked in ("climb", "conventional") else None
    if asked in ("both", "one way"):
        case.because("direction", "job", words.JOB)
        return asked, None
    measured = case.machine.measured
    backlash = None if measured is None or measured.backlash is None else measured.backlash.x
    if backlash is None:
        case.because("direction", "machine", words.BACKLASH_UNKNOWN)
        return "one way", None
    if backlash >= NO_BACKLASH:
        width = show_fine(backlash, case.machine.units)
        case.because("direction", "machine", words.BACKLASH.format(width=width))
        return "one way", None
    width = show_fine(NO_BACKLASH, case.machine.units)
    case.because("direction", "machine", words.BACKLASH_SMALL.format(width=width))
    return "both", None


# Speed of the spindle and feed


def _rpm_and_feed(case: SpeedsContext, depth: float) -> tuple[float, float]:
    rpm, limit = _rpm(case), min(case.machine.feed_limit.x, case.machine.feed_limit.y)
    if (asked := case.asked("feed")) is not None:
        if asked > limit * (1 + 1e-9):
            raise FeatureError(
                f"{marked_feed(asked)} is more than the machine's feed limit, {marked_feed(limit)}",
                "give a lower `feed`, or leave it out",
                "feed",
            )
        return rpm, asked
    chip, whose, why = _chip(case, depth)
    if chip * rpm * case.bit.flutes <= limit:
        case.because("feed", whose, why)
        return rpm, _sensible_feed(chip * rpm * case.bit.flutes, rpm, case)
    case.because("feed", "machine", words.FEED_LIMIT)
    if case.feature.rpm is None and chip_load(limit, rpm, case.bit.flutes) < case.band.low:
        # So slowly that the chip is just not too thin: from there on it goes down evenly.
        slower = _turning(limit / (case.band.low * case.bit.flutes), case.machine) or _slowest(case.machine)
        if slower < rpm:
            case.because("rpm", "machine", words.SLOW_ENOUGH)
            rpm = slower
    return rpm, _sensible_feed(min(limit, chip * rpm * case.bit.flutes), rpm, case)


def _chip(case: SpeedsContext, depth: float) -> tuple[float, Limit, str]:
    """The chip load to feed at, mm a tooth, whose limit that is and in words: a fine bit's strength is asked too."""
    chip = case.wanted_chip
    if case.careful:
        return chip, "job", words.CAREFUL_CHIP
    found: tuple[float, Limit, str] = (chip, "chip", words.CHIP.format(size=case.size(), wood=case.wood.name))
    if case.slender:
        if chip <= EDGE_RADIUS[case.bit.material]:
            found = chip, "bit", words.RUBS
        for borne in limits_of(case.bit, case.machine.units):
            thickest = borne.thickest(depth, case.runout, chip * ROUNDED) / ROUNDED
            if (less := max(thickest, case.band.low)) < chip * (1 - 1e-9):
                less += stoutness(case.bit.weak_diameter) * (chip - less)
                found = min(found, (less, "bit", borne.why), key=lambda one: one[0])
    return found


def _rpm(case: SpeedsContext) -> float:
    spindle, bit = case.machine.spindle, case.bit
    if (asked := case.asked("rpm")) is not None:
        if not spindle.min_rpm <= asked <= spindle.max_rpm:
            raise FeatureError(
                f"{asked:.0f} rpm is outside the spindle's range, {spindle.min_rpm} to {spindle.max_rpm} rpm",
                "give an `rpm` in that range, or leave it out",
                "rpm",
            )
        if bit.max_rpm is not None and asked > bit.max_rpm:
            raise FeatureError(
                f"{asked:.0f} rpm is more than this bit's highest speed, {bit.max_rpm} rpm",
                "give a lower `rpm`, or leave it out",
                "rpm",
            )
        return asked
    return _default_rpm(case)


def _default_rpm(case: SpeedsContext) -> float:
    """The lowest of all limits, or the spindle's slowest where only a rule of thumb asks for less than that."""
    spindle, bit = case.machine.spindle, case.bit
    limits: list[tuple[float, str, Limit]] = [
        (USUAL_RPM, words.USUAL_SPEED, "usual"),
        (float(spindle.max_rpm), words.SPINDLE_HIGHEST, "machine"),
    ]
    if bit.max_rpm is not None:
        limits.append((float(bit.max_rpm), words.BIT_HIGHEST, "bit"))
    if bit.diameter > WIDE:
        widest = HIGHEST_SURFACE_SPEED / surface_speed(bit.diameter, 1.0)
        limits.append((widest, words.SURFACE_SPEED.format(speed=_surface_speed_words(case.machine)), "bit"))
    wanted, reason, limit = min(limits)
    rpm = _turning(wanted, case.machine)
    if rpm is None:
        rpm, reason, limit = _slowest(case.machine), words.SPINDLE_LOWEST, "machine"
        if bit.max_rpm is not None and rpm > bit.max_rpm:
            raise FeatureError(
                f"this bit's highest speed is {bit.max_rpm} rpm, and the spindle's lowest is {rpm:.0f} rpm",
                "take another bit",
                "bit",
            )
    elif _dialled(case.machine) and rpm < wanted:
        reason = words.ON_DIAL.format(reason=reason)
    case.because("rpm", limit, reason)
    return rpm


def _surface_speed_words(machine: Machine) -> str:
    """The highest surface speed, in the machine's units: `720 m/min` or `2362 ft/min`."""
    if machine.units == "in":
        return f"{HIGHEST_SURFACE_SPEED * 1000.0 / MM_PER_INCH / 12.0:.0f} ft/min"
    return f"{HIGHEST_SURFACE_SPEED:.0f} m/min"


def _turning(wanted: float, machine: Machine) -> float | None:
    """The speed at or next below the one wanted, in hundreds or on the dial; None below the spindle's slowest."""
    dial = _dialled(machine)
    if dial:
        return max((speed for speed in dial if speed <= wanted), default=None)
    if wanted < machine.spindle.min_rpm:
        return None
    return max(math.floor(wanted / 100) * 100.0, float(machine.spindle.min_rpm))


def _slowest(machine: Machine) -> float:
    return min(_dialled(machine), default=float(machine.spindle.min_rpm))


def _dialled(machine: Machine) -> tuple[float, ...]:
    """The dial's speeds within the spindle's range, where the speed is set by hand."""
    spindle = machine.spindle
    if not spindle.dialled:
        return ()
    return tuple(float(v) for v in spindle.dial.values() if spindle.min_rpm <= v <= spindle.max_rpm)


def _sensible_feed(feed: float, rpm: float, case: SpeedsContext) -> float:
    """A feed rounded to what reads well, unless that would leave the chip's band or the machine's limit."""
    limit = min(case.machine.feed_limit.x, case.machine.feed_limit.y)
    rounded = _rounded(feed, case.machine)
    chip = chip_load(rounded, rpm, case.bit.flutes)
    inside = case.band.low <= chip <= case.band.high or not (
        case.band.low <= chip_load(feed, rpm, case.bit.flutes) <= case.band.high
    )
    return rounded if inside and 0 < rounded <= limit else feed


def _rounded(feed: float, machine: Machine) -> float:
    """The nearest 10 mm/min, below 300 the nearest 5; on an inch machine 0.5 in/min, below 12 the nearest 0.1."""
    if machine.units == "in":
        inches = feed / MM_PER_INCH
        step = 0.5 if inches >= 12 else 0.1
        return round(round(inches / step) * step, 1) * MM_PER_INCH
    step = 10.0 if feed >= 300 else 5.0
    return round(feed / step) * step


# Going down


def _plunge(case: SpeedsContext, feed: float) -> float:
    limit = case.machine.feed_limit.z
    if (asked := case.asked("plunge")) is not None:
        if asked > limit * (1 + 1e-9):
            raise FeatureError(
                f"{marked_feed(asked)} is more than the machine's feed limit in Z, {marked_feed(limit)}",
                "give a lower `plunge`, or leave it out",
                "plunge",
            )
        return asked
    part = PLUNGE_DRILL if case.bit.shape == "drill" else PLUNGE
    return _part_of_feed(case, "plunge", part, feed, limit)


def _ramp(case: SpeedsContext, feed: float, angle: float) -> float:
    part = RAMP_THIN + (RAMP - RAMP_THIN) * stoutness(case.bit.weak_diameter)
    return _part_of_feed(case, "ramp", part, feed, case.machine.feed_limit.z / math.sin(math.radians(angle)))


def _part_of_feed(case: SpeedsContext, key: str, part: float, feed: float, limit: float) -> float:
    if part * feed > limit:
        case.because(key, "machine", words.FEED_LIMIT_Z)
        return limit
    case.because(key, "feed", words.PART_OF_FEED.format(part=100 * part))
    rounded = _rounded(part * feed, case.machine)
    # A very slow feed rounds too coarsely: a tenth of it either way is the most that rounding may change.
    return rounded if rounded <= limit and abs(rounded - part * feed) <= 0.1 * part * feed else part * feed


def _ramp_angle(case: SpeedsContext) -> float:
    """3 degrees in hard wood to 10 in soft; 2 for thin bits, and evenly more until they are stout."""
    stout = stoutness(case.bit.weak_diameter)
    if stout == 0.0:
        case.because("ramp_angle", "bit", words.THIN_BIT)
    elif stout < 1.0:
        case.because("ramp_angle", "bit", words.SMALL_BIT)
    else:
        case.because("ramp_angle", "wood", words.HARDNESS.format(wood=case.wood.name))
    return 2.0 + stout * (1.0 + 7.0 * softness(case.wood.janka))
