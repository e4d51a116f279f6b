"""`book.html`: every mark as asked and as found, nothing from elsewhere, no markup from anybody's names."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.commands import Page
from tests.support.made import made
from tests.support.paired_jobs import pair
from toolpaths.found.corrections import said
from toolpaths.found.doubt import doubt
from toolpaths.job.changes import Changes
from toolpaths.reports.pages.book_page import Pictures, book_page
from toolpaths.reports.text.book_tables import as_measured
from toolpaths.reports.text.found_words import follows
from toolpaths.reports.text.words import plain
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome
from toolpaths.verification.wording.message import Message
from toolpaths.workshop.plan_of_instrument import InstrumentPlan, plan_of_instrument

DEMOS = Path(__file__).parents[4] / "demo_jobs"
PNG = b"\x89PNG\r\n\x1a\n"


def page_of(*outcomes: Outcome) -> str:
    plan = plan_of_instrument(outcomes)
    return book_page(plan, pictures_of(plan))


def pictures_of(plan: InstrumentPlan) -> Pictures:
    return {piece: {s.context.setup.name: PNG for s in o.setups} for piece, o in plan.outcomes.items()}


def cells(page: str, mark: str) -> list[str]:
    """The cells of a mark's row, as they are read."""
    row = re.search(rf'<tr[^>]*><th scope="row">{mark}</th>(.*?)</tr>', page)
    assert row is not None
    return [" ".join(Page(cell).said.split()) for cell in re.findall(r"<td[^>]*>(.*?)</td>", row[1])]


@pytest.fixture(scope="module", params=["inlaid_board", "parlour_board_inch"])
def outcome(request: pytest.FixtureRequest) -> Outcome:
    return made(DEMOS / f"{request.param}.yaml", Changes(pitch=0.5))


@pytest.fixture(scope="module")
def board() -> Outcome:
    return made(DEMOS / "inlaid_board.yaml", Changes(pitch=0.5))


def test_every_mark_stands_in_it_as_asked_with_room_for_what_is_found(outcome: Outcome) -> None:
    page = page_of(outcome)
    assert outcome.marks
    for mark in outcome.marks:
        when, what, asked, *room = cells(page, mark.name)
        number = mark.after + 1 if mark.before else mark.after
        assert when == f"{'before' if mark.before else 'after'} {number}"
        assert what == plain(mark.measure.words, 2000)
        assert asked == mark.wanted(outcome.job.units)
        assert room == ["", "", ""]


def test_what_was_found_stands_beside_what_was_asked(outcome: Outcome) -> None:
    units = outcome.job.units
    found = {m.number: m.figure.value + 1.5 * m.figure.within[0] for m in outcome.marks if m.measure.figures}
    assert all(doubt(m, found[m.number], outcome.job) is None for m in outcome.marks if m.number in found)
    page = page_of(replace(outcome, found=found))
    for mark in (m for m in outcome.marks if m.number in found):
        *_, shown, _, followed = cells(page, mark.name)
        assert shown == as_measured(found[mark.number], units)
        # What one types stands in a mark-up of its own, without its backticks.
        assert followed.split() == follows(mark, found, outcome.job).replace("`", " ").split()


def test_programs_are_there_and_those_that_are_cut_are_ticked(board: Outcome) -> None:
    first, *rest = board.programs
    page = page_of(replace(board, cut=frozenset({first.name})))
    for program in board.programs:
        row = re.search(rf"<tr>.{{0,80}}<td>{re.escape(program.name)}</td>.*?</tr>", page)
        assert row is not None
        assert ("&#10003;" in row[0]) == (program is first)
        assert all(bit in row[0] for bit in program.bits)
    assert f"1 of {1 + len(rest)} programs cut" in Page(page).said
    assert "They are not judged again" in Page(page).said
    assert "They are not judged again" not in Page(page_of(board)).said


def test_pictures_slots_and_work_by_hand_are_in_it(board: Outcome) -> None:
    page = page_of(board)
    images = re.findall(r'<img alt="([^"]+)" src="data:image/png;base64,iVBORw0KGgo="', page)
    assert len(images) == len(board.setups)
    assert all(s.context.setup.name in alt for s, alt in zip(board.setups, images, strict=True))
    text = Page(page).said
    assert "Slots from the nut line" in text
    for work in board.handwork:
        assert " ".join(work.what.split()) in text
    assert len(re.findall('<li class="todo">', page)) == len(board.handwork)


def test_corrections_are_told(tmp_path: Path) -> None:
    job, _ = pair(tmp_path)
    plain_run = made(job, Changes(pitch=1.0))
    # The face lies 0.06 lower than asked: its four marks come after the six of the blank.
    values = "\n".join(f"  M{n}: {8 if n < 7 else 5.94}" for n in range(1, 11))
    (tmp_path / "board.found.yaml").write_text(f"job: {plain_run.job_hash}\nfound:\n{values}\n", encoding="utf-8")
    run = made(job, Changes(pitch=1.0))
    assert run.corrections
    text = Page(page_of(run)).said
    assert all(f"{said(c, run.job)}." in text for c in run.corrections)
    # As asked stays what the job said: a face of 6 mm, a blank of 8.
    assert cells(page_of(run), "M7")[2:5] == ["6.00 mm ± 0.10", "5.94 mm", "-0.06"]
    assert "8.00 mm, M1 to M6" in text


def test_stops_what_was_accepted_and_warnings_are_told(board: Outcome) -> None:
    stop = Finding.of("stock-too-small", Message("Too short."))
    let = replace(
        Finding.of("uncut", Message("Wood is left", todo="accepted"), feature="outline"),
        severity=Severity.warn,
    )
    page = page_of(replace(board, findings=(stop, let), accepted=("uncut@outline",)))
    text = Page(page).said
    assert text.index("Must not be cut stock-too-small: Too short.") < text.index(
        "Accepted despite a stop uncut of outline"
    )
    assert "Must not be cut" not in Page(page_of(replace(board, findings=()))).said


def test_it_asks_for_nothing_and_runs_nothing(board: Outcome) -> None:
    page = page_of(board)
    assert all(url.startswith("data:image/png;base64,") for url in Page(page).fetched)
    assert "<script" not in page
    assert "default-src 'none'" in page
    assert "script-src 'none'" in page


def test_titles_and_names_are_text(board: Outcome) -> None:
    evil = board.job.model_copy(update={"title": '<b>bold</b> & <script> " onload="x'})
    page = page_of(replace(board, job=evil, path=Path("a<i>b.yaml")))
    assert "<script" not in page
    assert "&lt;b&gt;bold&lt;/b&gt; &amp; &lt;script&gt;" in page
    assert "a&lt;i&gt;b.yaml" in page


def test_the_same_bytes_twice(board: Outcome) -> None:
    assert page_of(board) == page_of(board)


def test_a_job_in_inches_speaks_of_no_millimetre() -> None:
    job = made(DEMOS / "parlour_board_inch.yaml", Changes(pitch=0.5))
    found = {m.number: m.figure.value for m in job.marks if m.measure.figures}
    words = Page(re.sub(r"<style.*?</style>", "", page_of(replace(job, found=found)), flags=re.DOTALL)).said
    assert re.findall(r".{0,40}\bmm\b", words) == []
