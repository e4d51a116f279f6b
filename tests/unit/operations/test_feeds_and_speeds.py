"""What a job leaves open is chosen carefully, and says why. Rules: common practice, no source (docs/sources.md)."""

import math

import pytest

from tests.support.said import said
from toolpaths.common.errors import FeatureError
from toolpaths.common.units import in_units
from toolpaths.job.wood import Wood
from toolpaths.operations.chip_load import bit_band, chip_load, surface_speed
from toolpaths.operations.feeds_and_speeds import settle

DIAL = {"1": 10000, "2": 14000, "3": 17000, "4": 21000}
BITS = [0.3, 0.5, 0.6, 0.8, 1.0, 1.5875, 2.0, 3.0, 3.175, 6.0, 6.35, 12.7, 19.0, 25.4]
MIDDLING = Wood("middling", janka=800, density=550, source="test")


@pytest.fixture
def by_hand(make_machine):
    """A machine whose spindle is switched and set by hand."""
    return make_machine(spindle={"min_rpm": 10000, "max_rpm": 30000, "set_by": "hand", "dial": DIAL})


# A job's own values


def test_the_jobs_own_values_stand(ask, make_bit, maple, machine) -> None:
    feature = ask(rpm=15000, feed=777, plunge=111, pass_depth=0.33, step_over=0.2, finish_allowance=0.05)
    c = settle(feature, make_bit(6.35), maple, machine)
    assert (15000, 777, 111, 0.33, 0.2, 0.05) == (
        c.rpm,
        c.feed,
        c.plunge,
        c.pass_depth,
        c.step_over,
        c.finish_allowance,
    )
    given = ("rpm", "feed", "plunge", "pass_depth", "step_over", "finish_allowance")
    assert {"the job file"} == {c.reasons[key] for key in given}


@pytest.mark.parametrize(
    ("keys", "key", "says"),
    [
        ({"feed": 3001}, "feed", "3001 mm/min is more than the machine's feed limit, 3000 mm/min"),
        ({"plunge": 1201}, "plunge", "1201 mm/min is more than the machine's feed limit in Z, 1200 mm/min"),
        ({"rpm": 24001}, "rpm", "24001 rpm is outside the spindle's range, 8000 to 24000 rpm"),
        ({"rpm": 7999}, "rpm", "7999 rpm is outside the spindle's range, 8000 to 24000 rpm"),
    ],
)
def test_what_the_machine_cannot_do_is_refused(ask, make_bit, maple, machine, keys, key, says) -> None:
    with pytest.raises(FeatureError) as caught:
        settle(ask(**keys), make_bit(6.35), maple, machine)
    assert (key, says) == (caught.value.key, said(caught.value))
    assert caught.value.hint


@pytest.mark.parametrize("keys", [{"feed": 3000}, {"plunge": 1200}, {"rpm": 24000}, {"rpm": 8000}])
def test_what_the_machine_just_can_do_is_kept(ask, make_bit, maple, machine, keys) -> None:
    c = settle(ask(**keys), make_bit(6.35), maple, machine)
    ((key, value),) = keys.items()
    assert value == getattr(c, key)


def test_a_speed_above_the_bits_own_is_refused(ask, make_bit, maple, machine) -> None:
    with pytest.raises(FeatureError, match="16001 rpm is more than this bit's highest speed, 16000 rpm") as caught:
        settle(ask(rpm=16001), make_bit(19, max_rpm=16000), maple, machine)
    assert "rpm" == caught.value.key


def test_limits_are_told_in_the_units_of_the_job(ask, make_bit, maple, make_machine) -> None:
    machine = make_machine(units="in", feed_limit={"x": 2540, "y": 2540, "z": 500})
    with pytest.raises(FeatureError) as caught:
        settle(ask(feed=2600), make_bit(6.35), maple, machine)
    assert "2600 mm/min is more than the machine's feed limit, 2540 mm/min" == said(caught.value)
    assert "102.4 in/min is more than the machine's feed limit, 100.0 in/min" == said(caught.value, "in")


# Spindle


def test_the_usual_speed_is_18000(ask, make_bit, maple, machine) -> None:
    c = settle(ask(), make_bit(6.35), maple, machine)
    assert (18000, "the usual speed") == (c.rpm, c.reasons["rpm"])


def test_the_lowest_limit_decides(ask, make_bit, maple, make_machine) -> None:
    slow = make_machine(spindle={"min_rpm": 5000, "max_rpm": 12000, "set_by": "program"})
    c = settle(ask(), make_bit(6.35), maple, slow)
    assert (12000, "the spindle's highest speed") == (c.rpm, c.reasons["rpm"])
    c = settle(ask(), make_bit(6.35, max_rpm=11000), maple, slow)
    assert (11000, "the bit's highest speed") == (c.rpm, c.reasons["rpm"])


@pytest.mark.parametrize("diameter", [15, 19, 22, 25.4])
def test_a_wide_bit_turns_slower(ask, make_bit, maple, machine, diameter) -> None:
    c = settle(ask(), make_bit(diameter), maple, machine)
    assert surface_speed(diameter, c.rpm) <= 720 < surface_speed(diameter, c.rpm + 100)
    assert "a wide bit: at most 720 m/min at its edge" == c.reasons["rpm"]


def test_a_very_wide_bit_turns_as_slowly_as_the_spindle_can(ask, make_bit, maple, machine) -> None:
    c = settle(ask(), make_bit(38), maple, machine)
    assert (8000, "the spindle's lowest speed") == (c.rpm, c.reasons["rpm"])


def test_a_bit_too_slow_for_the_spindle_is_refused(ask, make_bit, maple, machine) -> None:
    with pytest.raises(FeatureError, match="highest speed is 7000 rpm, and the spindle's lowest is 8000 rpm") as caught:
        settle(ask(), make_bit(38, max_rpm=7000), maple, machine)
    assert "bit" == caught.value.key


def test_a_dial_is_set_to_the_mark_at_or_below(ask, make_bit, maple, by_hand) -> None:
    c = settle(ask(), make_bit(6.35), maple, by_hand)
    assert (17000, "the usual speed, then the next lower speed on the dial") == (c.rpm, c.reasons["rpm"])
    assert 14000 == settle(ask(), make_bit(6.35, max_rpm=16999), maple, by_hand).rpm


def test_a_bit_below_the_dials_first_mark_is_refused(ask, make_bit, maple, by_hand) -> None:
    with pytest.raises(FeatureError, match="highest speed is 9000 rpm, and the spindle's lowest is 10000 rpm"):
        settle(ask(), make_bit(6.35, max_rpm=9000), maple, by_hand)


# Feed


@pytest.mark.parametrize("slot", [False, True])
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("flutes", [1, 2, 3])
@pytest.mark.parametrize("diameter", BITS)
@pytest.mark.parametrize("janka", [400, 800, 1450])
def test_the_default_chip_is_always_in_its_band(
    ask, make_bit, make_machine, slot, units, flutes, diameter, janka
) -> None:
    bit, wood = make_bit(diameter, flutes=flutes), Wood("wood", janka, 500, "test")
    machine = make_machine(units=units)
    c = settle(ask(), bit, wood, machine, slot)
    band = bit_band(bit, janka)
    assert band.low <= chip_load(c.feed, c.rpm, flutes) <= band.high
    assert c.feed <= 3000


@pytest.mark.parametrize("pointed", [False, True])
def test_a_default_feed_lies_in_the_lower_half_of_its_band(ask, make_bit, maple, machine, pointed) -> None:
    bit = make_bit(6.35, pointed)
    band = bit_band(bit, maple.janka)
    c = settle(ask(), bit, maple, machine)
    assert band.low < chip_load(c.feed, c.rpm, 2) < (band.low + band.high) / 2
    assert "chip load of a 6.35 mm bit in hard maple" == c.reasons["feed"]


def test_a_scoring_bit_goes_between_140_and_400(ask, make_bit, maple, machine) -> None:
    # 0.6 mm at 18000 rpm with 2 flutes; common practice, no source.
    c = settle(ask(), make_bit(0.6), maple, machine, slot=True)
    assert 140 < c.feed < 400


def test_a_slot_as_wide_as_the_bit_is_cut_slower(ask, make_bit, maple, machine) -> None:
    bit = make_bit(6.35)
    assert settle(ask(), bit, maple, machine, slot=True).feed < settle(ask(), bit, maple, machine).feed


def test_feeds_read_well(ask, make_bit, maple, machine, make_machine) -> None:
    assert 0 == settle(ask(), make_bit(6.35), maple, machine).feed % 10
    assert 0 == settle(ask(), make_bit(0.6), maple, machine).feed % 5
    inches = settle(ask(), make_bit(6.35), maple, make_machine(units="in")).feed / 25.4
    assert round(inches * 2) / 2 == pytest.approx(inches, abs=1e-9)
    inches = settle(ask(), make_bit(0.6), maple, make_machine(units="in")).feed / 25.4
    assert round(inches, 1) == pytest.approx(inches, abs=1e-9)


def test_the_machines_feed_limit_holds(ask, make_bit, softwood, make_machine) -> None:
    # 0.108 mm in soft wood at 18000 rpm and 2 flutes would be 3888 mm/min; 2500 is 0.069, still in the band.
    slow = make_machine(feed_limit={"x": 4000, "y": 2500, "z": 800})
    c = settle(ask(), make_bit(6.35), softwood, slow)
    assert (18000, 2500, "the machine's feed limit") == (c.rpm, c.feed, c.reasons["feed"])


def test_a_slow_machine_turns_slower_so_that_the_chip_stays_thick_enough(ask, make_bit, maple, make_machine) -> None:
    slow = make_machine(feed_limit={"x": 1500, "y": 1500, "z": 500})
    c = settle(ask(), make_bit(6.35), maple, slow)
    band = bit_band(make_bit(6.35), maple.janka)
    assert c.rpm < 18000
    assert c.feed <= 1500
    assert band.low <= chip_load(c.feed, c.rpm, 2) <= band.high
    assert "feed limit" in c.reasons["rpm"]


def test_a_jobs_own_speed_is_not_lowered_for_the_chip(ask, make_bit, maple, make_machine) -> None:
    slow = make_machine(feed_limit={"x": 1500, "y": 1500, "z": 500})
    c = settle(ask(rpm=18000), make_bit(6.35), maple, slow)
    assert (18000, "the job file", 1500) == (c.rpm, c.reasons["rpm"], c.feed)


# Going down


@pytest.mark.parametrize("diameter", BITS)
def test_plunge_and_ramp_are_parts_of_the_feed(ask, make_bit, maple, machine, diameter) -> None:
    # 25 to 50 % and 70 to 95 %; common practice, no source. Rounding may move the ramp a little.
    c = settle(ask(), make_bit(diameter), maple, machine)
    assert 0.25 <= c.plunge / c.feed <= 0.5
    assert 0.65 <= c.ramp / c.feed <= 0.95


def test_z_bounds_plunge_and_the_fall_of_a_ramp(ask, make_bit, softwood, make_machine) -> None:
    slow = make_machine(feed_limit={"x": 4000, "y": 4000, "z": 100})
    c = settle(ask(), make_bit(6.35), softwood, slow)
    assert 100 == c.plunge
    assert 100 == pytest.approx(c.ramp * math.sin(math.radians(c.ramp_angle)))
    assert "the machine's feed limit in Z" == c.reasons["plunge"] == c.reasons["ramp"]


def test_ramps_are_flat_in_hard_wood_and_steeper_in_soft(ask, make_bit, maple, softwood, machine) -> None:
    # 2 to 5 degrees hard, up to 10 soft, at most 2 for thin bits; common practice, no source.
    angles = [settle(ask(), make_bit(6), w, machine).ramp_angle for w in (maple, MIDDLING, softwood)]
    assert [3.0, 6.5, 10.0] == angles
    assert 2.0 == settle(ask(), make_bit(1.5875), softwood, machine).ramp_angle


# Depth and width


@pytest.mark.parametrize(
    ("diameter", "janka", "depth"),
    [
        (6.0, 1450, 3.0),  # half the diameter in hard wood
        (6.0, 800, 4.5),
        (6.0, 400, 6.0),  # the whole in soft wood
        (1.6, 400, 0.4),  # a quarter for a thin bit, in any wood
        (0.5, 1450, 0.25),  # half of a scoring bit
        (0.6, 1450, 0.3),  # 0.2 to 0.3 is what the trade takes: from memory
        (0.9, 400, 0.3),
        (25.4, 400, 1.0),
    ],
)
def test_a_pass_is_as_deep_as_the_bit_bears(ask, make_bit, machine, diameter, janka, depth) -> None:
    wood, stiff = Wood("wood", janka, 500, "test"), machine.model_copy(update={"stiffness": 1000.0})
    bit = make_bit(diameter, cutting_length=4 * diameter)
    assert depth == pytest.approx(settle(ask(), bit, wood, stiff).pass_depth)


def test_a_slender_bit_takes_less_by_its_strength_or_its_bending_and_says_so(ask, make_bit, maple, machine) -> None:
    # Edges of 4.5 mm on 0.5 mm: the root is stressed most; a core of steel as thick bends first.
    weak = settle(ask(), make_bit(0.5, cutting_length=4.5, runout=0.02), maple, machine, True)
    assert weak.pass_depth < 0.25
    assert "the strength of the carbide bit at the root of its flutes" == weak.reasons["pass_depth"]
    assert weak.safety is not None
    assert 4.0 <= weak.safety < 4.5
    bent = settle(ask(), make_bit(1.0, cutting_length=20, material="HSS"), maple, machine, True)
    assert bent.pass_depth < 0.3
    assert "at most 0.020 mm of bending at the bit's tip" == bent.reasons["pass_depth"]


def test_a_deeper_pass_that_the_job_asks_for_is_fed_more_slowly(ask, make_bit, maple, machine) -> None:
    bit = make_bit(0.5, cutting_length=4.0)
    usual, deep = (settle(ask(**keys), bit, maple, machine, True) for keys in ({}, {"pass_depth": 0.5}))
    assert deep.feed < usual.feed
    assert "the strength of the carbide bit at the root of its flutes" == deep.reasons["feed"]


def test_a_thin_chip_is_as_thick_as_the_edge_is_round(ask, make_bit, maple, machine) -> None:
    # The band of 0.22 mm ends at 0.00416, and nine tenths up it a chip would be thinner than the edge: 0.004.
    cutting = settle(ask(), make_bit(0.22, cutting_length=0.6), maple, machine, True)
    assert 0.004 == pytest.approx(chip_load(cutting.feed, cutting.rpm, 2), rel=0.03)
    assert cutting.reasons["feed"].startswith("a thinner chip rubs")


def test_a_pass_is_never_deeper_than_the_edges_are_long(ask, make_bit, maple, machine) -> None:
    c = settle(ask(), make_bit(6, cutting_length=2.5), maple, machine)
    assert (2.5, "the length of the bit's cutting edges") == (c.pass_depth, c.reasons["pass_depth"])


def test_a_point_goes_as_deep_as_its_width_allows(ask, make_bit, maple, machine) -> None:
    # In hard wood half of 3.175 wide, which 60 degrees reach at 1.5875 / (2 tan 30) = 1.375 mm.
    bit = make_bit(6.35, pointed=True)
    depth = settle(ask(), bit, maple, machine).pass_depth
    assert 1.375 == pytest.approx(depth, abs=2e-3)
    assert bit.diameter / 4 == pytest.approx(bit.width_at(depth), abs=2e-3)


def test_skims_are_lighter_for_smaller_bits(ask, make_bit, maple, machine) -> None:
    got = [settle(ask(), make_bit(d), maple, machine).finish_allowance for d in (6.35, 3.0, 2.0, 1.5)]
    assert [0.25, 0.25, 0.1, 0.0] == got


def test_the_step_over_is_four_tenths(ask, make_bit, maple, machine) -> None:
    assert 0.4 == settle(ask(), make_bit(6.35), maple, machine).step_over


# Direction and reasons


def test_roughing_goes_against_and_the_last_skim_with_the_cut(ask, make_bit, maple, machine) -> None:
    c = settle(ask(), make_bit(6.35), maple, machine)
    assert ("conventional", "climb") == (c.rough, c.finish)


@pytest.mark.parametrize("turn", ["climb", "conventional"])
def test_a_direction_in_the_job_holds_for_both(ask, make_bit, maple, machine, turn) -> None:
    c = settle(ask(direction=turn), make_bit(6.35), maple, machine)
    assert (turn, turn, "the job file") == (c.rough, c.finish, c.reasons["direction"])


def test_every_value_has_its_reason(ask, make_bit, maple, machine) -> None:
    reasons = settle(ask(), make_bit(6.35), maple, machine).reasons
    assert {
        "rpm",
        "feed",
        "plunge",
        "ramp",
        "pass_depth",
        "step_over",
        "finish_allowance",
        "direction",
        "ramp_angle",
    } == set(reasons)
    assert all(reasons.values())
    assert set(reasons) == set(settle(ask(), make_bit(6.35), maple, machine).limits)


def test_each_reason_says_whose_limit_it_was(ask, machine, make_bit, maple) -> None:
    decided = settle(ask(plunge=100), make_bit(0.6), maple, machine).limits
    assert {
        "rpm": "usual",
        "feed": "chip",
        "plunge": "job",
        "ramp": "feed",
        "pass_depth": "bit",
        "step_over": "usual",
        "finish_allowance": "bit",
        "direction": "usual",
        "ramp_angle": "bit",
    } == decided
    slow = machine.model_copy(update={"feed_limit": machine.feed_limit.model_copy(update={"x": 100.0, "z": 20.0})})
    assert ("machine", "machine") == tuple(
        settle(ask(), make_bit(6.35), maple, slow).limits[key] for key in ("feed", "plunge")
    )


@pytest.mark.parametrize(
    ("units", "diameter", "size"),
    [("mm", 3.175, "3.175 mm"), ("mm", 0.6, "0.6 mm"), ("in", 1.5875, "0.0625 in"), ("in", 25.4, "1 in")],
)
def test_a_reason_names_the_bit_as_the_machine_measures(
    ask, make_bit, maple, make_machine, units, diameter, size
) -> None:
    c = settle(ask(), make_bit(diameter), maple, make_machine(units=units))
    assert f"chip load of a {size} bit in hard maple" == c.reasons["feed"]


def test_a_last_skim_too_thick_for_its_bit_is_refused(ask, make_bit, maple, machine) -> None:
    # It is taken at full depth: beyond 0.3 of the radius the bit's middle would be in the wood.
    bit = make_bit(1.5875)
    assert 0.22 == settle(ask(finish_allowance=0.22), bit, maple, machine).finish_allowance
    with pytest.raises(FeatureError) as refused:
        settle(ask(finish_allowance=0.25), bit, maple, machine)
    assert "0.25 mm is too thick" in said(refused.value)
    assert "finish_allowance" == refused.value.key
    assert "leave at most 0.22 mm" in in_units(refused.value.hint, "mm")
