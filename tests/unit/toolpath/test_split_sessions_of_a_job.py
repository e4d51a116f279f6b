"""Work in booked hours, the whole way: every program stands alone, and together they cut what one set would."""

from __future__ import annotations

import re
import tempfile
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from tests.support.made import made as make
from toolpaths.cli import app
from toolpaths.common.errors import JobError
from toolpaths.gcode.program import bit_changes
from toolpaths.gcode.reader.read import read
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import verify
from toolpaths.reports.output.report_json import report_json
from toolpaths.reports.pages.sheet import sheet
from toolpaths.reports.text.sessions import passes_table, sessions_table, total_words
from toolpaths.verification.outcome import Outcome

CASES = Path(__file__).parents[2] / "cases"
BOARD, NECK, CHANNELS = (CASES / f"{name}.yaml" for name in ("short_board", "two_sided_neck", "arc_rod"))
BOOKED = {BOARD: 12.0, NECK: 6.0, CHANNELS: 5.2}
CHANGE = 3.0
"""Minutes for a bit, where a machine file does not say."""


@cache
def careful_board() -> Path:
    """The short board with lines at the careful pace, so that they fill more than a booking."""
    path = Path(tempfile.mkdtemp()) / BOARD.name
    text = BOARD.read_text(encoding="utf-8").replace("depth: 0.4}", "depth: 0.4, pace: careful, pass_depth: 0.07}")
    path.write_text(text, encoding="utf-8")
    return path


def made(path: Path, session: float = 0.0, start: str | None = None) -> Outcome:
    path = careful_board() if path == BOARD else path
    return make(path, Changes(pitch=0.4, session=session, start=start))


@pytest.fixture(scope="module", params=BOOKED, ids=lambda p: p.stem)
def both(request: pytest.FixtureRequest) -> tuple[Outcome, Outcome]:
    """(undivided, divided)."""
    return made(request.param), made(request.param, BOOKED[request.param])


@pytest.fixture(scope="module")
def board() -> Outcome:
    return made(BOARD, BOOKED[BOARD])


def test_every_part_passes_the_judge(both: tuple[Outcome, Outcome]) -> None:
    whole, parts = both
    assert len(parts.programs) > len(whole.programs)
    assert not parts.stopped
    assert {f.code for f in whole.findings} == {f.code for f in parts.findings}


def test_the_parts_together_leave_the_same_wood(both: tuple[Outcome, Outcome]) -> None:
    whole, parts = both
    for a, b in zip(whole.setups, parts.setups, strict=True):
        assert np.allclose(a.after.heights, b.after.heights, atol=1e-5)
        assert a.removed_mm3 == pytest.approx(b.removed_mm3, abs=0.1)
        assert [f.name for f in a.features] == [f.name for f in b.features]


def test_every_session_is_inside_its_booking_by_the_minutes_of_the_text(both: tuple[Outcome, Outcome]) -> None:
    _, parts = both
    booked = parts.changes.session
    spent: dict[int, float] = {}
    for program, bits in zip(parts.programs, bit_changes(parts.programs), strict=True):
        spent[program.session] = spent.get(program.session, 0.0) + program.minutes + CHANGE * bits
    assert max(spent.values()) <= booked
    assert list(range(1, len(spent) + 1)) == list(spent)


def test_every_part_starts_and_ends_on_its_own(both: tuple[Outcome, Outcome]) -> None:
    _, parts = both
    for k, program in enumerate(parts.programs, 1):
        trace = read(program.text)
        assert (k, len(parts.programs)) == (trace.header.number, trace.header.count)
        assert program.touch_off is not None
        assert program.touch_off.surface == trace.header.touch_surface
        started = {"M0", "G4"} if parts.machine.spindle.set_by == "hand" else {"M3", "G4", "M5"}
        assert started <= {e.word for e in trace.events}
        assert trace.ended
        # Up first, at the spindle's start and before anything sideways.
        assert np.isnan(trace.start[0]).all()
        assert np.isnan(trace.end[0, :2]).all()
        assert trace.end[0, 2] == trace.end[-1, 2] == trace.end[:, 2].max()


def test_programs_are_numbered_and_named_through_the_set(board: Outcome) -> None:
    assert [f"{k:02d}" for k in range(1, len(board.programs) + 1)] == [p.name[:2] for p in board.programs]
    assert 2 <= sum(p.name.endswith("-face-scorer.ngc") for p in board.programs)


def test_the_header_says_which_session_and_that_it_goes_on(board: Outcome) -> None:
    last = board.programs[-1].session
    going = [p for p in board.programs if "(This program continues a cut of the program before it." in p.text]
    assert ["score_lines"] == sorted({one.feature for p in going for one in p.passes})
    for p in board.programs:
        assert f"(Session {p.session} of {last}. Each session is booked for 12 minutes.)" in p.text
        assert "(Written with the option: sessions of 12 min)" in p.text


def test_a_set_that_is_not_divided_says_nothing_of_sessions() -> None:
    whole = made(BOARD)
    assert not any("ession" in p.text for p in whole.programs)
    assert () == sessions_table(whole).rows
    assert {0} == {p.session for p in whole.programs}


def test_after_a_broken_bit_the_rest_is_divided_and_cut_from_what_stands() -> None:
    rest = made(BOARD, 12.0, start="score_lines")
    assert not rest.stopped
    assert ["score_lines", "marker_pockets", "pin_bores", "outline"] == list(
        dict.fromkeys(one.feature for p in rest.programs for one in p.passes)
    )
    assert len({p.session for p in rest.programs}) > 1
    for p in rest.programs:
        assert "(Written with the option: from score_lines)" in p.text
        assert re.search(r"\(Session \d of \d\. Each session is booked for 12 minutes\.\)", p.text)
        # What was planed before stands: the bit is set on the planed face, not on the stock's top.
        assert p.touch_off is not None
        assert "planed face" == p.touch_off.surface


def test_a_part_is_verified_in_its_place_and_one_that_ends_early_is_stopped(board: Outcome, tmp_path: Path) -> None:
    last = [p for p in board.programs if p.name.endswith("-scorer.ngc")][-1]
    changes = Changes(pitch=0.4, session=12.0)
    path = tmp_path / last.name
    path.write_text(last.text)
    assert not verify(careful_board(), [path], changes).stopped
    before, _, _ = last.text.rpartition("(Feature score_lines: fret 5")
    path.write_text(before + "M5\nM30\n")
    assert {"uncut"} == {f.code for f in verify(careful_board(), [path], changes).findings if str(f.severity) == "stop"}


def test_a_piece_that_no_booking_holds_is_refused_with_what_to_do() -> None:
    with pytest.raises(JobError) as caught:
        made(BOARD, 4.4)
    (problem,) = caught.value.problems
    assert "--session" == problem.key
    assert (
        "plane: planing, which is not divided because Z is zeroed on the stock's top, takes 1.5 minutes, and "
        "a booking of 4.4 leaves 1.4 for it after the bit change (3 minutes)"
    ) == problem.problem
    assert "book longer, or zero Z on the bed: then planing can stop between two levels" == problem.hint


# What a person sees


def test_the_sheet_lists_the_sessions_and_what_must_hold_between_them(board: Outcome) -> None:
    page = sheet(board)
    assert "Sessions of at most 12 min" in page
    assert "The blank must lie exactly as in the session before" in page
    assert "Sessions of" not in sheet(made(BOARD))


def test_the_table_counts_the_changes_of_bits(board: Outcome) -> None:
    table = sessions_table(board)
    assert board.programs[-1].session == len(table.rows)
    first = [p for p in board.programs if p.session == 1]
    spent = sum(p.minutes for p in first) + CHANGE * len({p.bits for p in first})
    assert ("1", f"1-{len(first)}") == table.rows[0][:2]
    assert (f"{spent:.1f} min" if spent < 9.95 else f"{spent:.0f} min") == table.rows[0][-1]


def test_the_total_names_what_hands_take_apart_from_cutting() -> None:
    whole = made(BOARD)
    minutes = sum(p.minutes for p in whole.programs)
    with_bits = minutes + 4 * CHANGE
    assert f"about {minutes:.0f} min of cutting, {with_bits:.0f} min including 4 bit changes" == total_words(whole)


def test_the_report_says_the_session_and_every_pass(board: Outcome) -> None:
    import json

    programs = json.loads(report_json(board))["programs"]
    assert [p.session for p in board.programs] == [p["session"] for p in programs]
    lines = [one["title"] for p in programs for one in p["passes"] if one["feature"] == "score_lines"]
    assert ["fret 1", "fret 2", "fret 3", "fret 4", "fret 5"] == [title.split(",")[0] for title in lines]


def test_passes_and_their_feeds_are_shown(board: Outcome) -> None:
    rows = passes_table(board).rows
    assert sum(len(p.passes) for p in board.programs) == len(rows)
    for _, _, _, _, feed, reached, average in rows:
        assert float(average) <= float(reached) <= float(feed) + 0.5


def test_a_bit_in_the_collet_stays_there_until_the_session_ends(board: Outcome) -> None:
    bits = [(p.session, p.bits[0]) for p in board.programs]
    expected = [int(i == 0 or bits[i] != bits[i - 1]) for i in range(len(bits))]
    assert tuple(expected) == bit_changes(board.programs)


@pytest.mark.slow
def test_the_command_divides_and_a_booking_of_a_minute_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    run = CliRunner().invoke(app, ["write", str(BOARD), "--session", "12", "--pitch", "0.5"])
    assert 0 == run.exit_code, run.output
    assert "Sessions of at most 12 min" in run.output
    assert (tmp_path / "out" / "short_board@sessions-of-12-min" / "report.json").is_file()
    assert "short_board@sessions-of-12-min" in run.output
    times = CliRunner().invoke(app, ["check", str(BOARD), "--brief", "--times", "--pitch", "0.5"])
    assert "Minutes pass by pass" in times.output
    assert "including 4 bit changes" in times.output
    wrong = CliRunner().invoke(app, ["check", str(BOARD), "--session", "1"])
    assert 2 == wrong.exit_code
    assert "a booking must be from 2 to 1440 minutes" in wrong.output
