"""The plan's tables: whole words on 80 columns, the instrument's units, steps numbered through."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.made import made
from tests.support.paired_jobs import pair
from toolpaths.job.changes import Changes
from toolpaths.reports.text import plan_words as words
from toolpaths.reports.text.plan_tables import bookings_table, buy_table, ready_table, steps_tables, stretch_titles
from toolpaths.reports.text.printed_tables import printed
from toolpaths.reports.text.tables import Table
from toolpaths.verification.finding import Finding
from toolpaths.verification.wording.message import Message
from toolpaths.workshop.plan_of_instrument import InstrumentPlan, plan_of_instrument
from toolpaths.workshop.step import StepKind, Wait

DEMOS = Path(__file__).parents[4] / "demo_jobs"


def planned(*names: str) -> InstrumentPlan:
    return plan_of_instrument([made(DEMOS / f"{name}.yaml", Changes(pitch=0.5)) for name in names])


def tables(plan: InstrumentPlan) -> list[Table]:
    return [buy_table(plan), ready_table(plan), bookings_table(plan), *steps_tables(plan)]


@pytest.mark.parametrize(
    "names",
    [
        ("inlaid_board",),
        ("parlour_board_inch",),
        pytest.param(("tenor_jig", "tenor_board_on_jig", "tenor_neck_on_jig"), marks=pytest.mark.slow),
    ],
    ids="+".join,
)
def test_on_80_columns_nothing_is_cut_or_torn(names: tuple[str, ...]) -> None:
    for table in tables(planned(*names)):
        out = printed(table, 80)
        lines = out.splitlines()
        assert max(len(line) for line in lines) <= 80
        said = set(out.split())
        wanted = {word for row in table.rows for cell in row for word in cell.split()}
        assert wanted <= said, sorted(wanted - said)
        assert "…" not in out


def test_a_job_in_inches_is_planned_in_inches() -> None:
    plan = planned("parlour_board_inch")
    said = " ".join(cell for table in tables(plan) for row in table.rows for cell in row)
    assert re.findall(r".{0,20}\d mm\b.{0,10}", said) == []
    # 18 frets of the parlour board, each 0.12 in over at both ends (3 mm).
    (wire,) = (row for row in buy_table(plan).rows if row[1] == "fret wire")
    assert wire[2] == "18 lengths"
    assert "0.12 in over at each end" in wire[3]


def test_the_steps_are_numbered_through_all_tables() -> None:
    plan = planned("inlaid_board")
    rows = [row for table in steps_tables(plan) for row in table.rows]
    assert [row[0] for row in rows] == [str(k) for k in range(1, len(plan.steps) + 1)]
    assert all(row[2] for row in rows)
    assert len(stretch_titles(plan)) == len(plan.stretches)
    assert stretch_titles(plan)[0] == "Before the machine"
    assert [title[:9] for title in stretch_titles(plan)[1::2]] == ["Booking 1", "Booking 2"]
    assert stretch_titles(plan)[2::2] == ["By hand, between two bookings", "By hand"]


def test_waits_have_hours_and_programs_minutes() -> None:
    plan = planned("inlaid_board")
    for step in plan.steps:
        long = words.how_long(step)
        if step.wait is not None:
            assert long == ("1 to 24 h" if step.wait is Wait.inlays else "12 to 24 h")
        else:
            assert bool(long) == (step.kind is StepKind.program)
    assert all(low < high for low, high in (wait.hours for wait in Wait))


def test_what_is_measured_is_told_with_the_value_that_is_wanted() -> None:
    """demo_jobs/tenor_board.yaml: planed to 6; marker pockets of 6, 1.8 deep."""
    plan = planned("tenor_board")
    said = [row[2] for table in steps_tables(plan) for row in table.rows if row[2].startswith("Measure:")]
    assert said[0].startswith(
        "Measure:\nM1 to M6, thickness of the blank: 7.80 to 8.10 mm, at 6 places: left end, edge on your side; middle"
    )
    assert said[0].endswith("right end, far edge")
    assert said[1].startswith("Measure:\nM7 to M10, planed face above the bed: 6.00 mm ± 0.10, at 4 places: left end,")
    assert any("marker at fret 3 and 8 more like it: depth from the face: 1.80 mm ± 0.10" in text for text in said)


def test_the_last_row_of_the_bookings_has_all_of_them() -> None:
    plan = planned("inlaid_board")
    rows = bookings_table(plan).rows
    assert [row[0] for row in rows] == ["1", "1", "2", ""]
    assert int(rows[-1][5]) == sum(int(row[5]) for row in rows[:-1])
    assert bookings_table(planned("tenor_board")).rows[-1][0] == "1"  # one setup is its own sum


def test_blanks_holders_and_bits_must_be_ready() -> None:
    """demo_jobs/tenor_board.yaml: stock, tape, an end stop; five bits with their stick-out."""
    rows = ready_table(planned("tenor_board")).rows
    said = [" ".join(row) for row in rows]
    assert any("480.00 mm x 64.00 mm, 7.80 mm to 8.10 mm thick" in text for text in said)
    assert any("waste board" in text and "skim it if it is not level" in text for text in said)
    bits = {row[1]: row[2] for row in rows if row[1].startswith("bit ")}
    assert set(bits) == {"bit planer", "bit scorer", "bit eighth", "bit pin", "bit quarter"}
    assert "stick-out 15.00 mm" in bits["bit scorer"]


def test_a_stop_is_told_first_with_where_to_look(tmp_path: Path) -> None:
    board = made(pair(tmp_path)[0], Changes(pitch=1.0))
    stop = Finding.of("stock-too-small", Message("The blank is too short."), job_line=6)
    plan = plan_of_instrument([replace(board, findings=(stop,))])
    ((sentence, stops),) = words.not_to_be_cut(plan)
    assert sentence.startswith("board.yaml may not be cut")
    assert "`neckpath check board.yaml`" in sentence
    assert stops == ["stock-too-small: The blank is too short. (board.yaml:6)"]
    assert words.not_to_be_cut(plan_of_instrument([replace(board, findings=())])) == []


def test_screws_without_a_place_and_a_jig_elsewhere_are_told() -> None:
    plan = planned("tenor_board_on_jig")
    assert any(row[1] == "jig" and "tenor_jig.yaml: cut" in row[2] for row in ready_table(plan).rows)
