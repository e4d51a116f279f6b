"""Woods, chips, sagitta and motion against published tables and worked values.

Marks beside a number: read in the source; quoted in another text; derived apart from this code; from memory.
"""

import math

import numpy as np
import pytest

from tests.support.closed_forms import corner_speed, trapezoid_seconds, travel_seconds
from toolpaths.instrument.boards import sagitta
from toolpaths.instrument.woods import WOODS
from toolpaths.job.machine import Machine
from toolpaths.operations.chip_load import chip_load, surface_speed, thickest_share

LBF = 4.4482216152605  # newtons; exact by definition of the pound and of standard gravity

# Wood Handbook (USDA FPL-GTR-190, 2010; FPL-GTR-282, 2021), Tables 5-3 and 5-5: Janka side hardness, lbf.
JANKA = [
    ("hard maple", 1450),  # quoted in another text
    ("black walnut", 1010),  # quoted in another text
    ("black cherry", 950),  # from memory
    ("white ash", 1320),  # from memory
    ("mahogany", 800),  # quoted in another text
    ("sapele", 1500),  # quoted in another text
    ("indian rosewood", 3170),  # read
    ("ebony", 3000),  # from memory; not in the handbook
]
# The same tables, specific gravity at 12 % moisture, quoted in another text.
GRAVITY_12 = [("hard maple", 0.63), ("black walnut", 0.55), ("black cherry", 0.50), ("white ash", 0.60)]
# The same tables, basic specific gravity (volume green), lowest and highest;
# with volumetric shrinkage in percent (Tables 4-3, 4-4).
BASIC = [
    ("mahogany", 0.40, 0.68, 7.8),  # quoted in another text
    ("sapele", 0.55, 0.55, 14.0),  # quoted in another text
    ("indian rosewood", 0.70, 0.70, 8.5),  # read
]


@pytest.mark.parametrize(("name", "janka"), JANKA)
def test_hardness_is_the_handbooks(name: str, janka: float) -> None:
    assert janka == WOODS[name].janka


def test_every_wood_is_checked() -> None:
    assert {name for name, _ in JANKA} == set(WOODS)


def test_hard_maple_is_as_hard_in_newtons() -> None:
    # 6400 N in the handbook's metric table, which rounds on its own: 1450 lbf is 6450 N.
    assert 6400 == pytest.approx(WOODS["hard maple"].janka * LBF, rel=0.01)


@pytest.mark.parametrize(("name", "gravity"), GRAVITY_12)
def test_density_is_dry_mass_and_its_water_over_the_moist_volume(name: str, gravity: float) -> None:
    # Specific gravity at 12 %: oven-dry mass over volume at 12 %, of water's 1000 kg/m3. Maple: 706 kg/m3, derived.
    dry, water = 1000 * gravity, 0.12 * 1000 * gravity
    assert dry + water == pytest.approx(WOODS[name].density)


def test_hard_maple_weighs_706() -> None:
    assert 706 == round(WOODS["hard maple"].density)


@pytest.mark.parametrize(("name", "low", "high", "shrinkage"), BASIC)
def test_density_from_basic_gravity_shrinks_the_volume(name: str, low: float, high: float, shrinkage: float) -> None:
    """Linear shrinkage from 30 % to 0 % moisture (handbook, chapter 13): 18/30 of it is done at 12 %."""
    volume = 1 - shrinkage / 100 * 18 / 30
    lightest, heaviest = 1120 * low / volume, 1120 * high / volume
    assert lightest - 1e-9 <= WOODS[name].density <= heaviest + 1e-9


def test_woods_from_memory_say_so() -> None:
    for name in ("black cherry", "white ash", "ebony", "mahogany"):
        assert "from memory" in WOODS[name].source
    for name in ("hard maple", "black walnut", "sapele", "indian rosewood"):
        assert "from memory" not in WOODS[name].source


# Chips


def test_chip_load_and_surface_speed() -> None:
    # All derived.
    assert 0.05 == pytest.approx(chip_load(1800, 18000, 2))
    assert 339.29 == pytest.approx(surface_speed(6, 18000), abs=5e-3)
    feet = 0.3048
    assert 1178.1 == pytest.approx(surface_speed(6.35, 18000) / feet, abs=0.05)


def thinning(q: float) -> float:
    """How many times thinner the thickest chip of a level cut is than the chip load."""
    return 1 / float(thickest_share(np.array([q]), np.array([0.0]), 30.0)[0])


@pytest.mark.parametrize(("q", "factor"), [(0.05, 2.2942), (0.1, 1.6667), (0.25, 1.1547), (0.5, 1.0), (0.8, 1.0)])
def test_thinning_is_the_tables(q: float, factor: float) -> None:
    # 1 / sqrt(1 - (1 - 2q)^2); derived.
    assert factor == pytest.approx(thinning(q), abs=5e-5)


@pytest.mark.parametrize("q", [0.05, 0.1, 0.25, 0.4, 0.5, 0.7])
def test_thinning_is_the_geometry_of_two_circles(q: float) -> None:
    """The crescent between where an edge goes and where the last one went, measured along rays from the axis."""
    radius, step = 1.0, 1e-4
    width = 2 * radius * q
    angle = np.linspace(0, math.pi, 400_001)
    across = np.stack([np.sin(angle), -np.cos(angle)])  # the first touches the wood's finished side, at -radius
    last = -step * across[0] + np.sqrt(radius**2 - step**2 * (1 - across[0] ** 2))
    thickness = radius - last
    in_wood = radius * across[1] <= -radius + width
    thickest = thickness[in_wood].max()
    # The crescent's height differs from step x sin(angle) by about step^2 / 2 radius.
    assert step / thickest == pytest.approx(thinning(q), rel=5e-4)
    # The crescent's area is what one edge takes off: step times width.
    area = np.trapezoid(np.where(in_wood, (radius**2 - last**2) / 2, 0.0), angle)
    assert step * width == pytest.approx(area, rel=1e-3)


# A rounded top


@pytest.mark.parametrize(
    ("radius", "width", "depth"),
    [
        (184.15, 42, 1.2013),
        (241.3, 42, 0.9155),
        (254, 42, 0.8696),
        (304.8, 42, 0.7243),
        (304.8, 56, 1.2888),
        (406.4, 56, 0.9657),
        (508, 56, 0.7722),
    ],
)
def test_sagitta_is_the_tables(radius: float, width: float, depth: float) -> None:
    # Derived.
    assert depth == pytest.approx(sagitta(radius, width), abs=5e-5)


# Motion


def test_a_move_from_rest_to_rest() -> None:
    # 50 mm/s, 200 mm/s2: the speed is reached from 12.5 mm on. Derived.
    assert 2.25 == pytest.approx(trapezoid_seconds(100, 50, 200))
    assert 0.31623 == pytest.approx(trapezoid_seconds(5, 50, 200), abs=5e-6)
    assert 0.5 == pytest.approx(trapezoid_seconds(12.5, 50, 200))
    assert 0.5 == pytest.approx(trapezoid_seconds(12.4999999, 50, 200))


@pytest.mark.parametrize(
    ("angle", "feed"), [(60, 84.853), (90, 131.842), (120, 215.735), (135, 295.613), (150, 451.778)]
)
def test_corner_speed_is_the_tables(angle: float, feed: float) -> None:
    # 200 mm/s2, 0.01 mm; mm/min. Derived.
    assert feed == pytest.approx(60 * corner_speed(angle, 200, 0.01), abs=5e-4)


@pytest.mark.parametrize("angle", [30, 60, 90, 120, 150, 170])
def test_corner_speed_is_that_of_the_circle_which_strays_so_far(angle: float) -> None:
    """The circle that touches both legs and passes the corner at the deviation, found by halving."""
    deviation, half = 0.01, math.radians(angle) / 2
    low, high = 0.0, 1e4
    for _ in range(200):
        r = (low + high) / 2
        # Its centre lies r / sin(half) from the corner, so it passes r / sin(half) - r from it.
        low, high = (r, high) if r / math.sin(half) - r < deviation else (low, r)
    assert math.sqrt(200 * low) == pytest.approx(corner_speed(angle, 200, deviation), rel=1e-6)


def test_a_path_obeys_the_laws_of_motion_step_by_step() -> None:
    """A staircase, integrated in small steps of distance: fastest speed that all limits ahead and behind allow."""
    machine = Machine.model_validate(
        {
            "name": "stepper",
            "units": "mm",
            "travel": {"x": 800, "y": 500, "z": 90},
            "rapid": {"x": 5000, "y": 5000, "z": 5000},
            "feed_limit": {"x": 5000, "y": 5000, "z": 5000},
            "acceleration": {"x": 200, "y": 200, "z": 200},
            "spindle": {"min_rpm": 8000, "max_rpm": 24000, "set_by": "program"},
            "offsets": {"G54": None},
            "decimals": 3,
            "safe_height": 5,
            "park": {"x": 0, "y": 0},
            "collet": {"nut_diameter": 20, "nut_height": 15, "holder_diameter": 52},
            "ending": "nc",
        }
    )
    legs = [30.0, 2.0, 0.5, 0.5, 12.0, 0.1, 40.0]
    points = [np.zeros(3)]
    for i, leg in enumerate(legs):
        points.append(points[-1] + leg * np.array([[1, 0, 0], [0, 1, 0]][i % 2]))
    feed = 2400.0
    got = travel_seconds(np.array(points), np.full(len(legs), feed), machine)

    h, corner = 1e-4, corner_speed(90, 200, machine.corner_deviation)
    ends = np.rint(np.cumsum(legs) / h).astype(int)
    most = np.full(ends[-1] + 1, feed / 60)
    most[ends[:-1]] = corner
    most[0] = most[-1] = 0.0
    squared = most**2
    for order in (range(1, len(squared)), range(len(squared) - 2, -1, -1)):
        back = -1 if order.step > 0 else 1
        values = squared.tolist()
        for i in order:
            values[i] = min(values[i], values[i + back] + 2 * 200 * h)
        squared = np.array(values)
    v = np.sqrt(squared)
    seconds = h / ((v[1:] + v[:-1]) / 2)
    assert [s.sum() for s in np.split(seconds, ends[:-1])] == pytest.approx(got, rel=1e-3)
