"""What no program does is in the list of handwork: planing, holes of screws, the outline, the headstock's face."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.instrument.handwork.uncut import uncut
from toolpaths.instrument.handwork.whole_part import general
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.holders import Hold, Screws
from toolpaths.job.job import Job
from toolpaths.job.stage import Stage
from toolpaths.pipeline.load import load_job
from toolpaths.reports.reference.first_answers import Answers
from toolpaths.reports.reference.first_job import files_of


@pytest.fixture(scope="module")
def neck(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """A neck that programs plane, lower at the headstock and cut out; held by tape."""
    (file, text), *_ = files_of(Answers(part="neck"), "neck").items()
    path: Path = tmp_path_factory.mktemp("neck") / file
    path.write_text(text)
    return load_job(path).job


def without(job: Job, *kinds: CutKind) -> Job:
    setups = (
        s.model_copy(update={"features": tuple(f for f in s.features if not f.cuts & set(kinds))}) for s in job.setups
    )
    return job.model_copy(update={"setups": tuple(setups)})


def with_screws(job: Job, *groups: Screws, flip: tuple[Screws, ...] = ()) -> Job:
    first = job.setups[0].model_copy(update={"hold": Hold(screws=groups)})
    turned = first.model_copy(update={"name": "back", "flip": "about x", "hold": Hold(screws=flip)})
    return job.model_copy(update={"setups": (first, *((turned,) if flip else ()))})


def screws(*at: tuple[float, float], sunk: float = 0.0) -> Screws:
    return Screws.model_construct(at=at, diameter=4.0, head=8.0, head_height=3.5, sunk=sunk, into_bed=12.0)


def test_a_neck_that_programs_cut_leaves_none_of_it(neck: Job) -> None:
    assert [] == uncut(neck)


def test_an_outline_and_a_headstock_left_out_are_done_by_hand_as_soon_as_the_programs_are_done(neck: Job) -> None:
    saw, lower = uncut(without(neck, CutKind.outline, CutKind.step))
    assert "Saw and trim the neck's outline by hand" in saw.what
    assert "neckpath draw JOB -o templates.pdf --templates" in saw.what
    assert lower.what.startswith("Lower the headstock's face by hand")
    assert [Stage.off_router, Stage.off_router] == [saw.stage, lower.stage]


def test_a_headstock_that_a_program_lowers_is_not_lowered_again(neck: Job) -> None:
    (saw,) = uncut(without(neck, CutKind.outline))
    assert "outline" in saw.what


def test_a_headstock_as_high_as_the_glue_face_stays_so_where_a_program_cuts_it_out(neck: Job) -> None:
    assert [] == uncut(without(neck, CutKind.step))


def test_a_neck_sawn_by_hand_is_glued_trimmed_and_carved_like_any_other(neck: Job) -> None:
    cut, sawn = general(neck, 0, "face"), general(without(neck, CutKind.outline), 0, "")
    assert [h.stage for h in cut] == [h.stage for h in sawn]
    assert {Stage.glue, Stage.trim, Stage.back, Stage.holes} == {h.stage for h in sawn}
    # A program leaves a margin beside the board, which is measured; a saw leaves no known one.
    assert [True, False] == [any(h.figures for h in work) for work in (cut, sawn)]


def test_a_blank_that_no_program_planes_is_planed_before_the_first_setup(neck: Job) -> None:
    (plane,) = uncut(without(neck, CutKind.face))
    assert plane.what.startswith("Plane the neck's blank by hand before setup face")
    # The blank of `start` is 25.3 to 25.8 mm thick.
    assert "25.30 to 25.80 mm thick" in plane.what
    assert ("before the setup", "face") == (plane.when, plane.setup)


places = st.tuples(st.integers(-200, 480), st.integers(-50, 50)).map(lambda p: (float(p[0]), float(p[1])))


@given(st.lists(places, min_size=1, max_size=20, unique=True), st.sampled_from([0.0, 6.0]))
def test_screws_whose_holes_no_program_bores_are_drilled_before_the_setup(
    neck: Job, at: list[tuple[float, float]], sunk: float
) -> None:
    (drill,) = uncut(with_screws(neck, screws(*at, sunk=sunk)))
    assert ("the screw hole " if len(at) == 1 else f"the {len(at)} screw holes ") in drill.what
    # 0.5 mm more than the thread of 4, 1 mm more than the head of 8: common practice, no source.
    assert "4.50 mm wide" in drill.what
    assert (sunk > 0) == ("9.00 mm wide and 6.00 mm deep for the head" in drill.what)
    assert ("before the setup", "face") == (drill.when, drill.setup)


@given(st.lists(places, min_size=1, max_size=8, unique=True), st.integers(0, 8))
def test_holes_that_an_earlier_setup_has_are_not_drilled_again(
    neck: Job, at: list[tuple[float, float]], kept: int
) -> None:
    # Turned over about the centreline, a hole at y is seen at -y.
    again, new = at[:kept], (999.0, 3.0)
    for more, count in (([], 0), ([new], 1)):
        turned = (screws(*((x, -y) for x, y in again), *more),) if again or more else ()
        drilled = [h for h in uncut(with_screws(neck, screws(*at), flip=turned)) if h.setup == "back"]
        assert count == len(drilled)
        assert all("Drill the screw hole " in h.what for h in drilled)
