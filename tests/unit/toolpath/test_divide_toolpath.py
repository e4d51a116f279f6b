"""A toolpath in two, each complete."""

from __future__ import annotations

from typing import Literal

import pytest

from tests.support.setup_builder import context
from toolpaths.features.kinds.outline import Outline, Tabs
from toolpaths.features.kinds.plane import Plane
from toolpaths.features.kinds.score_lines import ScoreLines
from toolpaths.job.setup_context import SetupContext
from toolpaths.pipeline.move import move
from toolpaths.pipeline.plan import plan
from toolpaths.toolpath.divide_toolpath import in_two, may_begin, section_in_two
from toolpaths.toolpath.toolpath import Feed, Rapid, Toolpath


def works(z: Literal["bed", "stock top"] = "bed", tabs: bool = True) -> list[tuple[Toolpath, SetupContext]]:
    outline = Outline(bit="quarter", tabs=Tabs(count=4, length=8, height=1.5) if tabs else None)
    features = (Plane(bit="planer", leave=4), ScoreLines(bit="scorer", depth=0.5), outline)
    here = context(*features, setup={"zero": {"x": "nut", "y": "centreline", "z": z}})
    return [(move(p, here), here) for p in plan([here])]


def test_both_parts_together_are_the_whole_and_each_begins_and_ends_high() -> None:
    tried = 0
    for toolpath, here in works():
        for k in range(1, len(toolpath.sections)):
            first, rest = in_two(toolpath, here, k)
            titles = [s.title for part in (first, rest) for s in part.sections]
            assert [s.title for s in toolpath.sections] == titles
            assert isinstance(rest.sections[0].steps[0], Rapid)
            assert here.travel_height == rest.sections[0].steps[0].z
            assert here.travel_height == first.sections[-1].steps[-1].z
            tried += 1
    assert tried > 10


def test_a_level_that_begins_in_the_wood_is_come_down_to_where_the_bit_was_lifted() -> None:
    toolpath, here = works(tabs=False)[-1]  # the outline, whose levels follow each other without lifting the bit
    k = next(k for k, s in enumerate(toolpath.sections) if not isinstance(s.steps[0], Rapid))
    end = toolpath.sections[k - 1].steps[-1]
    assert end.z < here.travel_height
    _, rest = in_two(toolpath, here, k)
    over, slow, down, *_ = rest.sections[0].steps
    assert Rapid(end.x, end.y, here.travel_height) == over
    assert isinstance(slow, Feed)
    assert isinstance(down, Feed)
    assert [(end.x, end.y)] * 2 == [(slow.x, slow.y), (down.x, down.y)]
    assert (pytest.approx(end.z + 0.5), end.z) == (slow.z, down.z)
    assert toolpath.program_plan.operations[0].cutting.plunge == down.feed
    assert toolpath.sections[k].steps == rest.sections[0].steps[3:]


def test_a_section_is_divided_before_any_of_its_rows() -> None:
    toolpath, here = works()[0]  # planing
    section = toolpath.sections[1]
    assert len(section.rows) > 2
    assert 0 == section.rows[0]
    twice = section_in_two(toolpath, 1, section.rows[2], "going on")
    assert len(twice.sections) == len(twice.owners) == len(toolpath.sections) + 1
    a, b = twice.sections[1:3]
    assert section.steps == (*a.steps, *b.steps)
    assert (section.title, f"{section.title}, going on") == (a.title, b.title)
    _, rest = in_two(twice, here, 2)
    (over, slow, down, *steps), end = rest.sections[0].steps, a.steps[-1]
    assert [(end.x, end.y)] * 3 == [(s.x, s.y) for s in (over, slow, down)]
    assert (here.travel_height, end.z) == (over.z, down.z)
    assert b.steps == tuple(steps)


@pytest.mark.parametrize(("z", "may"), [("bed", True), ("stock top", False)])
def test_planing_is_begun_amid_only_where_z_is_zeroed_on_what_stays(z: Literal["bed", "stock top"], may: bool) -> None:
    toolpath, here = works(z)[0]
    assert len(toolpath.sections) > 1
    assert may_begin(toolpath, here, 0)
    assert all(may is may_begin(toolpath, here, k) for k in range(1, len(toolpath.sections)))
    lines, here = works(z)[1]
    assert all(may_begin(lines, here, k) for k in range(len(lines.sections)))
