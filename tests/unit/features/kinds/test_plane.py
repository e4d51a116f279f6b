"""`plane` asks for the whole blank at one height, and takes it down from the highest measured point."""

from __future__ import annotations

import pytest

from tests.support.setup_builder import context
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.plane import Plane
from toolpaths.operations.operation import Raster
from toolpaths.target_shape.demand import Level

UNEVEN = {"length": 510, "width": 70, "thickness": {"min": 7.6, "max": 8.2}}


def plane(**keys: object) -> Plane:
    return Plane.model_validate({"bit": "planer", "leave": 6, **keys}, context={"units": "mm"})


def operation(feature: Plane, **job: object) -> Raster:
    s = context(feature, **job)  # type: ignore[arg-type]
    (found,) = s.setup.features[0].operations(s)
    assert isinstance(found, Raster)
    return found


def test_it_wants_the_whole_blank_level_at_the_thickness_that_remains() -> None:
    s = context(plane())
    (d,) = s.setup.features[0].demands(s)
    # The blank of 510 x 70 mm, its nut line 15 mm from the left end; by hand.
    assert (-15.0, -35.0, 495.0, 35.0) == d.asked.bounds
    assert 510 * 70 == d.asked.area
    assert Level(6.0) == d.floor
    assert d.everywhere
    assert ("plane", 30, "face") == (d.feature, d.job_line, d.setup)


def test_on_a_blank_off_its_centreline_a_left_handed_one_lies_mirrored() -> None:
    s = context(plane(), setup={"centre_at": 30}, handed="left")
    (d,) = s.setup.features[0].demands(s)
    assert (-15.0, -40.0, 495.0, 30.0) == d.asked.bounds  # in instrument coordinates; the setup mirrors it back


def test_motion_begins_at_the_highest_measured_point() -> None:
    o = operation(plane(), stock=UNEVEN)
    assert (8.2, 6.0, 0.3) == (o.top, o.floor, o.skim)
    assert "plane the blank to 6.00 mm" == o.title


def test_planing_runs_at_the_wide_bit_s_own_careful_speed() -> None:
    # 25 mm at 720 m/min: 9167 rpm, below the hundred 9100. From the definition of surface speed.
    assert 9100 == operation(plane()).cutting.rpm


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"bit": "vee60"}, ("vee60 is not a flat bit; it cannot plane", "name a flat bit", "bit")),
        ({"leave": 8.1}, ("8.10 mm cannot be left of 8.00 mm", "leave less than the blank's thickness", "leave")),
    ],
)
def test_what_cannot_be_planed_is_refused(keys: dict[str, object], told: tuple[str, str, str]) -> None:
    with pytest.raises(FeatureError) as caught:
        operation(plane(**keys))
    assert told == (caught.value.problem, caught.value.hint, caught.value.key)


def test_more_than_is_planed_by_anyone_is_refused() -> None:
    blank = {"length": 510, "width": 70, "thickness": 26.1}
    with pytest.raises(FeatureError, match=r"it would take 20.10 mm off the blank") as caught:
        operation(plane(), stock=blank)
    assert "leave" == caught.value.key
    assert 26.0 == operation(plane(), stock={**blank, "thickness": 26.0}).top
