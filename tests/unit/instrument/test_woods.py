"""Every wood says how hard it is and where that comes from. Figures: tests/outside/test_handbook.py."""

import pytest

from toolpaths.instrument.woods import WOODS, density_at_12, gravity_at_12, wood_of
from toolpaths.job.wood import OwnWood, Shrinkage

TROPICAL = {"mahogany", "sapele", "indian rosewood", "ebony"}


def test_these_woods_can_be_named() -> None:
    assert {"hard maple", "black walnut", "black cherry", "white ash"} | TROPICAL == set(WOODS)
    assert all(name == wood.name for name, wood in WOODS.items())


def test_every_wood_has_a_source() -> None:
    assert all("Wood Handbook" in w.source or "from memory" in w.source for w in WOODS.values())


def test_every_wood_carries_a_caution_and_tropical_ones_that_they_can_sensitise() -> None:
    assert all("respirator" in wood.caution for wood in WOODS.values())
    assert TROPICAL == {name for name, wood in WOODS.items() if wood.sensitises}
    assert TROPICAL == {name for name, wood in WOODS.items() if "can sensitise" in wood.caution}


@pytest.mark.parametrize("name", sorted(set(WOODS) - {"ebony"}))
def test_every_figure_has_a_source_of_its_own(name: str) -> None:
    wood = WOODS[name]
    figures = {"janka", "density", "radial", "tangential", "volumetric", "radial_coefficient", "tangential_coefficient"}
    assert figures == {key for key, source in wood.sources.items() if source}
    assert all(getattr(wood, key) is not None for key in figures)


def test_a_wood_without_public_figures_says_nothing_of_them() -> None:
    assert {"janka", "density"} == set(WOODS["ebony"].sources)


def test_woods_of_listed_genera_say_so() -> None:
    listed = {name for name, wood in WOODS.items() if "check the rules before shipping" in wood.caution}
    assert {"mahogany", "indian rosewood", "ebony"} == listed
    assert listed == {name for name, wood in WOODS.items() if wood.listed}


def test_a_job_may_describe_its_own() -> None:
    wood = wood_of(OwnWood(name="shed oak", janka=1290, density=760))
    assert ("shed oak", 1290, 760, "the job") == (wood.name, wood.janka, wood.density, wood.source)


def test_its_shrinkage_is_what_it_gives_and_its_coefficients_follow() -> None:
    own = OwnWood(name="shed oak", janka=1290, density=760, shrinkage=Shrinkage(tangential=9.9), sensitises=True)
    wood = wood_of(own)
    assert (None, 9.9, None) == (wood.radial, wood.tangential, wood.volumetric)
    # (9.9 / 30) / (100 - 20 x 9.9 / 30), by hand.
    assert (None, pytest.approx(0.33 / 93.4)) == (wood.radial_coefficient, wood.tangential_coefficient)
    assert {"janka", "density", "tangential"} == {key for key, source in wood.sources.items() if source == "the job"}
    assert "can sensitise" in wood.caution


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


def test_a_basic_gravity_is_brought_to_12_percent_by_the_shrinkage() -> None:
    # Wood Handbook, chapter 4: green volume to that at 12 % is 18 of the 30 points of shrinkage (7.8 % for mahogany).
    assert 1120 * 0.45 / (1 - 0.078 * 18 / 30) == pytest.approx(WOODS["mahogany"].density, abs=0.6)
