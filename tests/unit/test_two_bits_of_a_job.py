"""A pocket with `then`, through the whole house: order, commands, header, sheet, report, machines, bookings."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from typer.testing import CliRunner

from tests.support.made import made as make
from tests.support.pocket_job import SQUARE, written
from toolpaths.cli import app
from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import verify
from toolpaths.reports.text.words import plain
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

STAR = (
    '<polygon points="'
    + " ".join(
        f"{r * math.cos(k * math.pi / 5):.4f},{r * math.sin(k * math.pi / 5):.4f}" for k, r in enumerate([12, 6] * 5)
    )
    + '"/>'
)
RING = '<rect x="-12" y="-9" width="24" height="18"/><rect x="-3" y="-2.5" width="12.4" height="5"/>'
SLIT = SQUARE + '<rect x="-10" y="9" width="14" height="2"/>'
COARSE = 0.4


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return written(tmp_path, SQUARE)


def cut(path: Path, **changes: object) -> Outcome:
    return make(path, Changes(pitch=COARSE, **changes))  # type: ignore[arg-type]


def stops(outcome: Outcome) -> list[str]:
    return [f.message for f in outcome.findings if f.severity is Severity.stop]


def bits(outcome: Outcome) -> list[tuple[str, ...]]:
    return [p.bits for p in outcome.programs]


@pytest.mark.parametrize("machine", ["bench-router", "hand-dial", "small-frame", "shop-gantry"])
@pytest.mark.parametrize("shapes", [SQUARE, STAR, RING, SLIT], ids=["square", "star", "island", "slit"])
def test_any_machine_cuts_it_and_every_program_is_proven(tmp_path: Path, machine: str, shapes: str) -> None:
    found = cut(written(tmp_path, shapes, machine))
    assert [] == stops(found)
    pocket = [f for f in found.setups[0].features if f.name == "pocket"]
    assert ["ample", "sixteenth"] == [f.bit for f in pocket]
    assert all(f.minutes > 0 and f.removed_mm3 > 0 for f in pocket)


def test_the_second_bit_comes_last_before_the_part_is_freed(job: Path) -> None:
    assert [("planer",), ("ample",), ("eighth",), ("sixteenth",), ("quarter",)] == bits(cut(job))


def test_a_machine_that_changes_bits_has_all_in_one_program(tmp_path: Path) -> None:
    found = cut(written(tmp_path, SQUARE, "shop-gantry"))
    assert [("planer", "ample", "eighth", "sixteenth", "quarter")] == bits(found)
    text = found.programs[0].text
    assert text.index("what is left of rect") > text.index("marker at fret 1")
    # Each pass counts for the bit that makes it, not for the one that is put in after it.
    (program,) = found.programs
    passes = [(p.feature, "left of" in p.title, p.minutes) for p in program.passes]
    minutes = {(f.name, f.bit): f.minutes for f in found.setups[0].features}
    assert sum(m for name, _, m in passes if name == "plane") == pytest.approx(minutes["plane", "planer"])
    assert sum(m for _, corner, m in passes if corner) == pytest.approx(minutes["pocket", "sixteenth"])
    assert sum(m for *_, m in passes) == pytest.approx(sum(minutes.values()))


def test_only_writes_both_bits_of_the_pocket(job: Path) -> None:
    found = cut(job, only="pocket")
    assert [] == stops(found)
    assert [("ample",), ("sixteenth",)] == bits(found)


def test_only_a_later_feature_counts_both_bits_as_cut(job: Path) -> None:
    found = cut(job, only="marker_pockets")
    assert [] == stops(found)
    assert [("eighth",)] == bits(found)


def test_from_a_later_feature_on_the_corners_are_still_cut(job: Path) -> None:
    # The markers' bit broke: the pocket's second bit has not been in the collet yet.
    found = cut(job, start="marker_pockets")
    assert [] == stops(found)
    assert [("eighth",), ("sixteenth",), ("quarter",)] == bits(found)
    whole = next(f for f in cut(job).setups[0].features if (f.name, f.bit) == ("pocket", "sixteenth"))
    rest = next(f for f in found.setups[0].features if (f.name, f.bit) == ("pocket", "sixteenth"))
    assert whole.removed_mm3 == pytest.approx(rest.removed_mm3, rel=1e-6)


@pytest.mark.parametrize(("change", "wide"), [(("ample", "4"), (4.0, 1.5875)), (("sixteenth", "2"), (5.0, 2.0))])
def test_either_bit_may_be_another_one(job: Path, change: tuple[str, str], wide: tuple[float, float]) -> None:
    found = cut(job, bits=(change,))
    assert [] == stops(found)
    context = found.setups[0].context
    assert wide == tuple(context.bits[name].cut_diameter for name in ("ample", "sixteenth"))


@pytest.mark.parametrize("change", [("ample", "1.5"), ("sixteenth", "6")])
def test_a_second_bit_that_is_no_smaller_is_refused_from_the_command_line_too(
    job: Path, change: tuple[str, str]
) -> None:
    with pytest.raises(JobError, match="only a smaller bit cuts what the first leaves"):
        cut(job, bits=(change,))


@pytest.mark.slow
def test_the_set_says_which_bit_does_what(job: Path, tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["write", str(job), "-o", str(tmp_path / "out"), "--pitch", "0.4"])
    assert 0 == result.exit_code, result.output
    text = (tmp_path / "out" / "04-face-sixteenth.ngc").read_text(encoding="ascii")
    assert "(Program 4 of 5, setup face)" in text
    assert "sixteenth, flat 1.587 mm" in text.split("G21")[0]
    assert "(Feature pocket: what is left of rect on line 1, 4 places, 4 levels)" in text
    # Its own speeds and reasons, not those of the first.
    assert "(pocket: pass depth 0.40 mm, reason: 0.25 of the bit's diameter, the most for" in text
    sheet = (tmp_path / "out" / "sheet.html").read_text(encoding="utf-8")
    hands = (tmp_path / "out" / "handwork.html").read_text(encoding="utf-8")
    programs = sheet[sheet.index("The programs, in this order") :]
    assert programs.index("02-face-ample.ngc") < programs.index("04-face-sixteenth.ngc")
    assert "Square the corners of rect on line 1: the bit left a radius of 0.79 mm." in plain(hands, 100_000)
    report = json.loads((tmp_path / "out" / "report.json").read_text(encoding="ascii"))
    pocket = [f for f in report["setups"][0]["features"] if f["name"] == "pocket"]
    assert ["ample", "sixteenth"] == [f["bit"] for f in pocket]
    # r^2 (1 - pi / 4) in each of four corners, to the depth: derived. Cells of 0.4 mm count a corner coarsely.
    assert 1.5 * 4 * (2.5**2 - 0.79375**2) * (1 - math.pi / 4) == pytest.approx(pocket[1]["removed_mm3"], rel=0.1)


@pytest.mark.slow
def test_side_by_side_a_smaller_bit_leaves_less_and_takes_longer(job: Path, tmp_path: Path) -> None:
    text = job.read_text(encoding="utf-8").replace(", then: sixteenth", "")
    job.write_text(text, encoding="utf-8")
    out = tmp_path / "side"
    given = ["compare", str(job), "--bit", "ample=4,3,1.5", "-o", str(out), "--pitch", "0.4"]
    result = CliRunner().invoke(app, given)
    assert 0 == result.exit_code, result.output
    whole = json.loads((out / "compare.json").read_text(encoding="ascii"))
    pockets = [
        next(f for f in one["features"] if f["name"] == "pocket") for one in (whole["as_written"], *whole["variants"])
    ]
    # r^2 (1 - pi / 4) in each of four corners: derived. They stand as high as the pocket is deep.
    form = [4 * (d / 2) ** 2 * (1 - math.pi / 4) for d in (5, 4, 3, 1.5)]
    assert form == pytest.approx([p["corner_mm2"] for p in pockets], rel=0.03)
    assert [1.5] * 4 == pytest.approx([p["highest_mm"] for p in pockets], abs=1e-3)
    minutes = [p["minutes"] for p in pockets]
    assert minutes == sorted(minutes)
    assert minutes[0] < minutes[-1]
    assert "corners" in result.output
    # What is cut less and more is the difference of what the bits leave, to the depth, as coarse cells count it.
    last = whole["variants"][-1]
    assert last["deeper_mm3"] == pytest.approx(1.5 * (form[0] - form[-1]), rel=0.2)
    assert 0.0 == pytest.approx(last["higher_mm3"], abs=0.05)


def test_an_edited_second_program_is_judged_on_what_the_first_left(job: Path, tmp_path: Path) -> None:
    found = cut(job)
    place = tmp_path / "mine.ngc"
    program = found.programs[3]
    place.write_text(program.text, encoding="ascii")
    assert [] == stops(verify(job, [place], Changes(pitch=COARSE)))
    deeper = program.text.replace("Z3.5", "Z3.4")
    assert deeper != program.text
    place.write_text(deeper, encoding="ascii")
    assert {"gouge"} <= {f.code for f in verify(job, [place], Changes(pitch=COARSE)).findings}


def test_a_second_program_that_leaves_a_corner_is_stopped(job: Path, tmp_path: Path) -> None:
    program = cut(job).programs[3]
    lines = program.text.splitlines(keepends=True)
    # The last place, from the way to it up to the lift after it; the last way of all is to where the machine waits.
    rapids = [i for i, line in enumerate(lines) if line.startswith("G0 X")]
    ends = next(i for i in range(rapids[-2], len(lines)) if lines[i].startswith("G0 Z"))
    place = tmp_path / "short.ngc"
    place.write_text("".join(lines[: rapids[-2]] + lines[ends:]), encoding="ascii")
    assert {"uncut"} <= {f.code for f in verify(job, [place], Changes(pitch=COARSE)).findings}


@pytest.mark.parametrize("shapes", [SQUARE, STAR, RING, SLIT], ids=["square", "star", "island", "slit"])
def test_a_first_program_alone_is_judged_by_what_its_bit_can_reach(tmp_path: Path, shapes: str) -> None:
    job = written(tmp_path, shapes)
    first = cut(job).programs[1]
    path = tmp_path / first.name
    path.write_text(first.text)
    assert [] == stops(verify(job, [path], Changes(pitch=COARSE)))
    # The floor left 0.3 mm too high: whatever the second bit does, it does not come there.
    path.write_text(first.text.replace("Z3.5", "Z3.8"))
    (found,) = stops(verify(job, [path], Changes(pitch=COARSE)))
    assert "wood is left uncut" in found


def test_booked_hours_divide_the_second_bit_s_work_too(job: Path) -> None:
    found = cut(job, session=5.0)
    assert [] == stops(found)
    assert ("sixteenth",) in bits(found)


def test_a_second_bit_without_work_is_told_and_no_program_is_made(tmp_path: Path) -> None:
    path = written(tmp_path, '<circle r="6"/>')
    found = cut(path)
    (idle,) = [f for f in found.findings if f.code == "idle-bit"]
    assert (Severity.note, "pocket", 20) == (idle.severity, idle.feature, idle.job_line)
    assert "sixteenth has nothing to cut, because ample reaches all of it. Leave out `then`" == idle.message
    assert [("planer",), ("ample",), ("eighth",), ("quarter",)] == bits(found)


def test_a_pocket_too_narrow_for_the_first_bit_is_the_second_s_alone(tmp_path: Path) -> None:
    found = cut(written(tmp_path, SLIT))
    text = found.programs[3].text
    assert ("sixteenth",) == found.programs[3].bits
    assert "rect on line 1" in text
    # 14 x 2 mm less its four corners, by a bit of 1.5875 mm, beside the corners of the square.
    slit = 14 * 2 - 4 * 0.79375**2 * (1 - math.pi / 4)
    corners = 4 * (2.5**2 - 0.79375**2) * (1 - math.pi / 4)
    second = next(f for f in found.setups[0].features if (f.name, f.bit) == ("pocket", "sixteenth"))
    assert 1.5 * (slit + corners) == pytest.approx(second.removed_mm3, rel=0.05)


def test_where_the_first_bit_fits_nowhere_it_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path, '<rect x="-10" y="9" width="14" height="2"/>')
    with pytest.raises(JobError, match="ample does not fit into any of the pockets"):
        cut(path)


def test_round_markers_leave_a_second_bit_nothing(tmp_path: Path) -> None:
    path = written(tmp_path, SQUARE)
    text = path.read_text(encoding="utf-8").replace("{bit: eighth, diameter", "{bit: eighth, then: sixteenth, diameter")
    path.write_text(text, encoding="utf-8")
    found = cut(path)
    assert ["marker_pockets"] == [f.feature for f in found.findings if f.code == "idle-bit"]
    assert [] == stops(found)
