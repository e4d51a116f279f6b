"""The order of the work on an instrument, against a list of its own of what must come before what."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations, product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.jig_jobs import JigJobs
from tests.support.made import made
from toolpaths.job.changes import Changes
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop import steps_of_piece
from toolpaths.workshop.measures import Row, measures
from toolpaths.workshop.step import Step
from toolpaths.workshop.steps_of_instrument import steps_of_instrument

DEMOS = Path(__file__).parents[3] / "demo_jobs"
COARSE = Changes(pitch=0.5)
OF = {
    "jig": ("tenor_jig",),
    "board": (
        "tenor_board", "tenor_board_on_jig", "compound_board", "fanned_seven", "inlaid_board", "parlour_board_inch",
    ),
    "neck": ("tenor_neck", "tenor_neck_on_jig"),
}  # fmt: skip
BEFORE = """
jig prepare: jig program
jig program: board lay
jig program: neck lay
jig hand off_router: board lay
jig hand off_router: neck lay
board prepare: board lay
neck prepare: neck lay
board prepare: jig hand off_router
neck prepare: jig hand off_router
board prepare: board wait blank
neck prepare: neck wait blank
board wait blank: board lay
neck wait blank: neck lay
board lay: board hand off_router
neck lay: neck hand off_router
neck program: neck hand off_router
board hand off_router: board wait part
neck hand off_router: neck wait part
board wait part: board hand slots
board wait part: board hand top
board wait part: neck hand glue
neck wait part: neck hand glue
neck wait part: neck hand bars
neck program: neck hand bars
board program: neck hand glue
board measure: neck hand glue
board hand slots: board hand edges
board hand slots: neck hand glue
board hand top: neck hand glue
board hand edges: neck hand glue
board hand fill: neck hand glue
board wait inlays: neck hand glue
board wait binding: neck hand glue
neck hand bars: neck wait bars
neck wait bars: neck hand channel
neck hand bars: neck hand channel
neck hand channel: neck hand glue
neck try on: neck hand glue
board hand slots: neck try on
neck hand channel: neck try on
neck hand glue: neck wait board
neck wait board: neck hand trim
neck hand trim: board hand frets
neck hand glue: board hand frets
neck wait board: board hand frets
board hand slots: board hand frets
board hand fill: board hand frets
board hand edges: board hand frets
board hand top: board hand frets
board wait binding: board hand frets
neck hand trim: neck hand back
board hand frets: neck hand back
neck hand back: neck hand holes
"""
"""What a maker knows: common practice, no source. Read as: every step so called before every one so called."""
PAIRS = [tuple(part.strip() for part in line.split(":")) for line in BEFORE.strip().splitlines()]


@pytest.fixture(scope="module", autouse=True)
def _measured_once() -> Iterator[None]:
    """What is measured hangs on no handwork: it is worked out once for each run of a job."""
    known: dict[tuple[int, str], list[Row]] = {}

    def once(outcome: Outcome, setup: SetupReport) -> list[Row]:
        key = id(outcome.setups), setup.context.setup.name
        if key not in known:
            known[key] = list(measures(outcome, setup))
        return known[key]

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(steps_of_piece, "measures", once)
        yield


def called(step: Step) -> str:
    words = [step.piece, step.kind.value]
    if step.kind.value == "hand" and step.stage is not None:
        words.append(step.stage.name)
    return " ".join([*words, step.wait.name] if step.wait is not None else words)


def demo(name: str) -> Outcome:
    return made(DEMOS / f"{name}.yaml", COARSE)


def wrong(steps: tuple[Step, ...]) -> list[tuple[str, ...]]:
    """Pairs that stand the wrong way round."""
    places: dict[str, list[int]] = {}
    for k, step in enumerate(steps):
        places.setdefault(called(step), []).append(k)
    found = [(a, b) for a, b in PAIRS if a in places and b in places and max(places[a]) > min(places[b])]
    # A board that stands on edge at the machine is worked on by hand before: its last programs come late.
    late = {step.piece for step in steps if step.setup == "edge"}
    allowed = {"board lay", "board program", "board measure", "board wait inlays", "board hand fill"} if late else set()
    return [pair for pair in found if not (pair[0] in allowed and pair[1].startswith("board"))]


SETS = [
    tuple(name for name in names if name)
    for names in product(("", *OF["jig"]), ("", *OF["board"]), ("", *OF["neck"]))
    if any(names)
]


@pytest.mark.slow
@pytest.mark.parametrize("names", SETS, ids="+".join)
def test_every_step_stands_where_a_maker_would_do_it(names: tuple[str, ...]) -> None:
    """All demos, in every set of at most one a piece, whether or not they are of one instrument."""
    steps = steps_of_instrument([demo(name) for name in names])
    assert wrong(steps) == []
    assert len({s.id for s in steps}) == len(steps)
    mixed = list(names)
    random.Random(len(names)).shuffle(mixed)
    assert steps_of_instrument([demo(name) for name in mixed]) == steps
    assert steps_of_instrument([demo(name) for name in reversed(names)]) == steps


@pytest.mark.slow
@settings(max_examples=60)
@given(st.data())
def test_with_any_part_of_the_handwork_the_order_holds(data: st.DataObject) -> None:
    """What another job leaves to the hands: any part of these lists, and nothing of it gets lost."""
    outcomes = []
    for names in OF.values():
        name = data.draw(st.sampled_from(["", *names]))
        if name:
            whole = demo(name)
            kept = [w for w in whole.handwork if data.draw(st.booleans())]
            outcomes.append(replace(whole, handwork=tuple(kept)))
    steps = steps_of_instrument(data.draw(st.permutations(outcomes)))
    assert wrong(steps) == []
    told = [s.work.what for s in steps if s.work is not None]
    assert set(told) == {w.what for o in outcomes for w in o.handwork}


def test_three_jobs_on_a_jig_in_any_order_of_their_files(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    outcomes = [made(path, Changes(pitch=1.0)) for path in files.values()]
    first, *others = [steps_of_instrument(order) for order in permutations(outcomes)]
    assert wrong(first) == []
    assert all(steps == first for steps in others)


@pytest.mark.slow
def test_every_program_is_there_once_and_in_its_order() -> None:
    outcomes = [demo(name) for name in ("tenor_neck_on_jig", "tenor_jig", "tenor_board_on_jig")]
    steps = steps_of_instrument(outcomes)
    for outcome in outcomes:
        own = [s.program for s in steps if s.piece == outcome.job.part and s.kind.value == "program"]
        assert own == [p.number for p in outcome.programs]
    assert sum(s.minutes for s in steps) == pytest.approx(sum(p.minutes for o in outcomes for p in o.programs))


def test_a_board_on_edge_is_finished_but_for_its_frets() -> None:
    """docs/features/side_dots.md: the finished board stands on its other edge."""
    names = [called(s) + f" {s.setup}" for s in steps_of_instrument([demo("inlaid_board")])]
    edge = names.index("board lay edge")
    assert names.index("board wait binding ") < edge < names.index("board hand frets ")
    fills = [k for k, name in enumerate(names) if name == "board hand fill "]
    assert fills[0] < edge < fills[-1]  # markers before, side dots after


def test_slots_that_are_sawn_first_come_before_the_top(tmp_path: Path) -> None:
    text = (DEMOS / "tenor_board.yaml").read_text(encoding="utf-8")
    text = text.replace("instrument: instruments/tenor.yaml", f"instrument: {DEMOS / 'instruments/tenor.yaml'}")
    (tmp_path / "board.yaml").write_text(text + "by_hand: slots sawn before radiusing\n", encoding="utf-8")
    for path, order in ((tmp_path / "board.yaml", ["slots", "top"]), (DEMOS / "tenor_board.yaml", ["top", "slots"])):
        steps = steps_of_instrument([made(path, COARSE), demo("tenor_neck")])
        stages = [s.stage.name for s in steps if s.stage is not None]
        assert [name for name in stages if name in order] == order
        assert wrong(steps) == []


def test_the_board_is_tried_on_only_where_both_are_there() -> None:
    def tried(*names: str) -> bool:
        return any(s.kind.value == "try on" for s in steps_of_instrument([demo(name) for name in names]))

    assert tried("tenor_board", "tenor_neck")
    assert not tried("tenor_neck")
    assert not tried("tenor_board")


def test_a_board_alone_is_fretted_by_its_own_list() -> None:
    steps = steps_of_instrument([demo("tenor_board")])
    assert steps[-1].stage is not None
    assert steps[-1].stage.name == "frets"
