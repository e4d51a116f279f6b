"""Each operation is handed to the strategy of its name, one after another, with one pen."""

from __future__ import annotations

from itertools import pairwise

import pytest

from tests.support.setup_builder import context
from toolpaths.common.errors import FeatureError
from toolpaths.features.kinds.marker_pockets import MarkerPockets
from toolpaths.features.kinds.outline import Outline, Tabs
from toolpaths.features.kinds.pin_bores import PinBores
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.kinds.score_lines import ScoreLines
from toolpaths.job.setup_context import SetupContext
from toolpaths.pipeline.move import move
from toolpaths.pipeline.plan import plan
from toolpaths.toolpath.toolpath import Arc, Rapid, Step, Toolpath

PINS = PinBores.model_validate({"bit": "eighth", "at": [[-8, 5], [490, 0]], "diameter": 4})


def whole(**job: object) -> SetupContext:
    return context(
        Plane(bit="planer", leave=6),
        ScoreLines(bit="scorer", depth=0.5),
        MarkerPockets(bit="eighth", diameter=6, depth=1.8),
        PINS,
        Outline(bit="quarter", tabs=Tabs(count=4, length=8, height=1.5)),
        **job,  # type: ignore[arg-type]
    )


def paths(s: SetupContext) -> list[Toolpath]:
    return [move(b, s) for b in plan([s])]


def steps(path: Toolpath) -> list[Step]:
    return [step for section in path.sections for step in section.steps]


def test_every_operation_becomes_sections_that_name_its_feature_and_bit() -> None:
    found = [(s.feature, s.bit) for path in paths(whole()) for s in path.sections]
    assert [
        ("plane", "planer"),
        ("score_lines", "scorer"),
        ("marker_pockets", "eighth"),
        ("pin_bores", "eighth"),
        ("outline", "quarter"),
    ] == list(dict.fromkeys(found))


def test_planing_has_a_section_a_level_scoring_one_a_line_and_pockets_one_each() -> None:
    counts: dict[str, int] = {}
    for path in paths(whole()):
        for s in path.sections:
            counts[s.feature] = counts.get(s.feature, 0) + 1
    # 2 mm in levels of at most 1, the last 0.3: three. 22 lines, 10 pockets, 2 pins.
    # The outline of 6.2: at most 3.175 a level and one at the tabs' top makes three, and the skim.
    assert {"plane": 3, "score_lines": 22, "marker_pockets": 10, "pin_bores": 2, "outline": 4} == counts


def test_every_program_begins_with_a_rapid_at_the_travel_height_and_ends_up_there() -> None:
    high = {"name": "clamp", "x": (-40, -20), "y": (-10, 10), "height": 22}
    for path in paths(whole(setup={"keep_out": [high]})):
        found = steps(path)
        assert isinstance(found[0], Rapid)
        assert 27.0 == found[0].z == found[-1].z  # 22 and the safe height of 5


def test_no_rapid_of_any_program_goes_sideways_below_the_travel_height() -> None:
    for path in paths(whole()):
        for a, b in pairwise(steps(path)):
            if isinstance(b, Rapid) and (a.x, a.y) != (b.x, b.y):
                assert 13.0 == a.z == b.z


def test_round_shapes_leave_as_arcs() -> None:
    kinds = {s.feature: set() for path in paths(whole()) for s in path.sections}  # type: ignore[var-annotated]
    for path in paths(whole()):
        for s in path.sections:
            kinds[s.feature] |= {type(step) for step in s.steps}
    assert [True, True, True] == [Arc in kinds[f] for f in ("marker_pockets", "pin_bores", "outline")]
    assert [False, False] == [Arc in kinds[f] for f in ("plane", "score_lines")]


def test_a_pocket_that_the_bit_cannot_enter_is_refused() -> None:
    s = context(Plane(bit="planer", leave=6), MarkerPockets(bit="six", diameter=6.05, depth=1.8))
    with pytest.raises(FeatureError, match="marker at fret 3: the bit is about as wide as the pocket"):
        paths(s)
