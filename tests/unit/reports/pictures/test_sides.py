"""The long sides of a setup by name, as they are seen at the machine, and the words of what holds the blank."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.made import made as make
from toolpaths.job.changes import Changes
from toolpaths.job.obstacles import Obstacle, ObstacleKind
from toolpaths.reports.pictures.holder_keys import holder_keys, shape_of
from toolpaths.reports.pictures.sides import sides_of
from toolpaths.verification.outcome import Outcome, SetupReport

DEMOS = Path(__file__).parents[4] / "demo_jobs"
COARSE = Changes(pitch=0.5)


def _handed(setup: SetupReport, handed: str) -> SetupReport:
    context = setup.context
    return replace(setup, context=replace(context, job=context.job.model_copy(update={"handed": handed})))


@pytest.fixture(scope="module")
def neck() -> Outcome:
    return make(DEMOS / "tenor_neck.yaml", COARSE)


def test_bass_and_treble_change_places_when_turned_over_or_left_handed_but_not_when_both(neck: Outcome) -> None:
    # Seen at the machine, nut on the left: a right-handed face has its bass side at the operator.
    at_the_operator = {
        (hand, setup.context.setup.name): sides_of(_handed(setup, hand)).near
        for hand in ("right", "left")
        for setup in neck.setups
    }
    bass, treble = "bass side", "treble side"
    want = {("right", "face"): bass, ("right", "back"): treble, ("left", "face"): treble, ("left", "back"): bass}
    assert want == at_the_operator
    face = sides_of(neck.setups[0])
    assert ("bass side, operator's side", treble) == (face.near_words, face.far)


def test_the_nut_of_a_fan_leans_as_its_frets_do_also_turned_over() -> None:
    setup = make(DEMOS / "fanned_seven.yaml", COARSE).setups[0]
    right, left = (sides_of(_handed(setup, hand)).nut for hand in ("right", "left"))
    assert right is not None
    assert left is not None
    assert right[1].lean == -left[1].lean != 0


def test_pieces_of_their_own_have_an_operator_s_side_alone_and_edges_a_face_and_a_back() -> None:
    face, pieces, edge = make(DEMOS / "inlaid_board.yaml", COARSE).setups
    assert "bass side" == sides_of(face).near
    assert ("operator's side", "", None) == (sides_of(pieces).near_words, sides_of(pieces).far, sides_of(pieces).nut)
    # docs/features/side_dots.md: of a right-handed board with its bass edge up the face looks away from the operator.
    assert ("bass edge up", "right") == (edge.context.setup.stand, edge.context.job.handed)
    assert ("back of the board, operator's side", "face of the board") == (
        sides_of(edge).near_words,
        sides_of(edge).far,
    )


def test_every_kind_of_holder_has_a_drawing_and_equal_ones_share_an_entry(outcome: Outcome) -> None:
    assert len(ObstacleKind) == len({shape_of(kind) for kind in ObstacleKind})
    setup = outcome.setups[0]
    screws = tuple(Obstacle(ObstacleKind.screw, f"screw {i}", (i, 0, i, 0), 9.0, radius=4.0) for i in range(3))

    class Held:
        context = setup.context
        obstacles = (*screws, replace(screws[0], top=7.5))

    (key, tape) = holder_keys(Held, "mm")  # type: ignore[arg-type]
    assert ("screw", "3 screws, top 9.00 mm above the bed; 1 screw, top 7.50 mm above the bed") == (
        key.shape,
        key.words,
    )
    assert "double-sided tape under the whole blank" == tape.words
