"""Every wood says how hard it is and where that comes from. Figures: tests/outside/test_handbook.py."""

import pytest

from toolpaths.core.job import OwnWood
from toolpaths.trade.woods import WOODS, density_at_12, gravity_at_12, wood_of

TROPICAL = {"mahogany", "sapele", "indian rosewood", "ebony"}


def test_these_woods_can_be_named() -> None:
    assert {"hard maple", "black walnut", "black cherry", "white ash"} | TROPICAL == set(WOODS)
    assert all(name == wood.name for name, wood in WOODS.items())


def test_every_wood_has_a_source() -> None:
    assert all("Wood Handbook" in w.source or "from memory" in w.source for w in WOODS.values())


def test_tropical_woods_carry_a_caution() -> None:
    assert TROPICAL == {name for name, wood in WOODS.items() if "respirator" in wood.caution}


def test_woods_of_listed_genera_say_so() -> None:
    listed = {name for name, wood in WOODS.items() if "check the rules before shipping" in wood.caution}
    assert {"mahogany", "indian rosewood", "ebony"} == listed


def test_a_job_may_describe_its_own() -> None:
    wood = wood_of(OwnWood(name="shed oak", janka=1290, density=760))
    assert ("shed oak", 1290, 760, "the job") == (wood.name, wood.janka, wood.density, wood.source)


def test_an_unknown_wood_is_a_key_error() -> None:
    with pytest.raises(KeyError, match="driftwood"):
        wood_of("driftwood")


def test_moist_wood_weighs_its_water_too() -> None:
    # 12 % of water on 0.5 of dry wood.
    assert 560 == pytest.approx(density_at_12(0.5))


def test_wood_that_shrinks_gets_denser() -> None:
    # 10 % from green to dry is 6 % from green to 12 % moisture.
    assert 0.5 / 0.94 == pytest.approx(gravity_at_12(0.5, 10.0))
    assert 0.5 == gravity_at_12(0.5, 0.0)
