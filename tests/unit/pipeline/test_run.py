"""The whole way: a job becomes programs that are proven, and texts that somebody hands in are judged alike."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from toolpaths.common.errors import JobError, Problem
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import make, verify
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

JOB = """\
title: Five-fret sampler, 200 mm
units: mm
machine: bench-router
wood: black cherry
instrument:
  scale_length: 200
  frets: 5
  strings: 3
  board:
    width: {nut: 30, 5: 33}
    overhang: 5
    thickness: 5
stock: {length: 90, width: 56, thickness: {min: 5.6, max: 5.8}}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: stock top}
    nut_at: 16
    hold: tape
    features:
      - plane: {bit: planer, leave: 5}
      - score_lines: {bit: scorer, depth: 0.3, frets: [2, 4]}
      - marker_pockets: {bit: three, diameter: 5, depth: 1.5, frets: [3]}
      - outline: {bit: three, tabs: {count: 2, length: 5, height: 1.2}}
"""
COARSE = Changes(pitch=0.5)


def job(folder: Path, text: str = JOB, **replaced: str) -> Path:
    for old, new in replaced.items():
        assert 1 == text.count(old)
        text = text.replace(old, new)
    path = folder / "sampler.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def but(old: str, new: str, text: str = JOB) -> str:
    assert 1 == text.count(old), old
    return text.replace(old, new)


def made(folder: Path, text: str = JOB, **changes: Any) -> Outcome:
    return make(job(folder, text), Changes(pitch=0.5, **changes))


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    return made(tmp_path_factory.mktemp("job"))


@pytest.fixture
def written(whole: Outcome, tmp_path: Path) -> list[Path]:
    """The programs of the whole set as files."""
    paths = []
    for program in whole.programs:
        paths.append(tmp_path / program.name)
        paths[-1].write_text(program.text, encoding="utf-8")
    return paths


def told(outcome: Outcome) -> list[tuple[str, str]]:
    return [(f.code, f.program) for f in outcome.findings if f.severity is Severity.stop]


# Making


def test_a_sound_job_makes_programs_without_a_finding(whole: Outcome) -> None:
    assert ["01-face-planer.ngc", "02-face-scorer.ngc", "03-face-three.ngc"] == [p.name for p in whole.programs]
    assert () == whole.findings
    assert not whole.stopped


def test_every_feature_is_reported_with_its_minutes_and_volume(whole: Outcome) -> None:
    (setup,) = whole.setups
    features = {f.name: f for f in setup.features}
    assert ["plane", "score_lines", "marker_pockets", "outline"] == list(features)
    assert 0 < min(f.minutes for f in features.values())
    # Planing takes 90 x 56 x 0.8 mm, all over: exactly.
    assert 90 * 56 * 0.8 == pytest.approx(features["plane"].removed_mm3, rel=1e-6)
    assert setup.removed_mm3 == pytest.approx(sum(f.removed_mm3 for f in setup.features))
    assert 0.3 == pytest.approx(features["score_lines"].deepest_mm)
    # The bit, and the 0.02 mm that the bench router runs out of true.
    assert pytest.approx(0.52) == features["score_lines"].width_mm
    # 0.3 mm in passes of at most 0.25; the outline's 5.2 mm in passes of at most 1.7, one of them at the tabs' top.
    assert (2, 4) == (features["score_lines"].passes, features["outline"].passes)


def test_the_same_job_gives_the_same_bytes(whole: Outcome, tmp_path: Path) -> None:
    assert [p.text for p in whole.programs] == [p.text for p in made(tmp_path).programs]


def test_each_program_says_what_its_bit_touches(whole: Outcome) -> None:
    assert [("stock top", 0.0), ("planed face", -0.8), ("planed face", -0.8)] == [
        (p.touch_off.surface, pytest.approx(p.touch_off.z)) for p in whole.programs if p.touch_off
    ]


def test_progress_is_told_from_nothing_to_all(tmp_path: Path) -> None:
    seen: list[float] = []
    make(job(tmp_path), COARSE, lambda _, part: seen.append(part))
    assert [0.0, 1.0] == [seen[0], seen[-1]]
    assert seen == sorted(seen)


def test_a_pitch_too_fine_for_any_memory_is_refused_with_one_that_fits(tmp_path: Path) -> None:
    with pytest.raises(MemoryError, match=r"^0\.007$"):  # 90 x 56 mm in at most 120 million cells
        make(job(tmp_path), Changes(pitch=0.001))


# A part of the set


def test_only_one_feature_is_cut_in_the_wood_that_the_earlier_ones_left(tmp_path: Path) -> None:
    found = made(tmp_path, only="marker_pockets")
    (program,) = found.programs
    assert "01-face-three.ngc" == program.name
    assert "(Program 1 of 1, setup face)" in program.text
    assert "(Written with the option: only marker_pockets)" in program.text
    assert () == found.findings
    # The pocket's disc of 5 mm, 1.5 deep from the planed face, and nothing of what was planed before.
    assert 3.14159 / 4 * 25 * 1.5 == pytest.approx(found.setups[0].removed_mm3, rel=0.06)  # cells of 0.5 mm


@pytest.mark.slow
def test_only_one_feature_s_own_work_is_left_to_the_hands(tmp_path: Path) -> None:
    demo = Path(__file__).parents[3] / "demo_jobs" / "tenor_board.yaml"
    everything = make(demo, Changes(pitch=0.5)).handwork
    names = ("plane", "score_lines", "marker_pockets", "outline")
    told = {name: make(demo, Changes(pitch=0.5, only=name)).handwork for name in names}
    for name, found in told.items():
        assert [h.what for h in everything if h.feature == name] == [h.what for h in found]
    assert told["marker_pockets"]
    assert {"board"} < {h.feature for h in everything}, "fretting is a whole board's work, and no feature's"


def test_from_a_feature_on_the_rest_of_the_set_is_made(tmp_path: Path) -> None:
    found = made(tmp_path, start="score_lines")
    assert ["01-face-scorer.ngc", "02-face-three.ngc"] == [p.name for p in found.programs]
    assert () == found.findings
    assert ["planed face"] * 2 == [p.touch_off.surface for p in found.programs if p.touch_off]


def test_the_text_of_a_part_cuts_what_it_cuts_in_the_whole(whole: Outcome, tmp_path: Path) -> None:
    def moves(text: str) -> list[str]:
        return [line for line in text.splitlines() if not line.startswith("(")]

    alone = made(tmp_path, only="score_lines").programs[0]
    assert moves(whole.programs[1].text) == moves(alone.text)


def test_a_feature_that_is_not_there_is_answered_with_those_that_are(tmp_path: Path) -> None:
    with pytest.raises(JobError) as caught:
        made(tmp_path, only="plain")
    there = "the job has plane, score_lines, marker_pockets, outline"
    wanted = Problem("command line", 0, 0, "--only", "no feature is called `plain`", there)
    assert (wanted,) == caught.value.problems
    with pytest.raises(JobError) as caught:
        made(tmp_path, start="plain")
    (problem,) = caught.value.problems
    assert "--from" == problem.key
    assert f"did you mean `plane`? {there}; " in problem.hint


def test_in_the_air_nothing_is_found_and_every_program_says_so(tmp_path: Path) -> None:
    found = made(tmp_path, air=20.0)
    assert () == found.findings
    assert all("(Lifted: 20.000 mm)" in p.text for p in found.programs)


def test_too_low_in_the_air_stops(tmp_path: Path) -> None:
    assert "air" in {code for code, _ in told(made(tmp_path, air=1.0))}


def test_another_bit_for_one_run_is_written_with_its_own_width(tmp_path: Path) -> None:
    found = made(tmp_path, bits=(("scorer", "0.8"),))
    assert "flat 0.8 mm" in found.programs[1].text
    assert pytest.approx(0.82) == next(f.width_mm for f in found.setups[0].features if f.name == "score_lines")


# Verifying


def test_the_set_as_written_is_judged_sound(whole: Outcome, written: list[Path]) -> None:
    found = verify(whole.path, written, COARSE)
    assert () == found.findings
    assert [p.text for p in whole.programs] == [p.text for p in found.programs]


@pytest.mark.parametrize("k", [0, 1, 2])
def test_one_program_of_the_set_is_judged_in_its_place(whole: Outcome, written: list[Path], k: int) -> None:
    assert () == verify(whole.path, [written[k]], COARSE).findings


def test_a_program_under_another_name_is_known_by_its_header(whole: Outcome, written: list[Path]) -> None:
    other = written[2].with_name("last.txt")
    written[2].rename(other)
    found = verify(whole.path, [other], COARSE)
    assert () == found.findings
    assert "last.txt" == found.programs[2].name


def test_a_program_edited_to_cut_deeper_is_a_gouge(whole: Outcome, written: list[Path]) -> None:
    text = written[2].read_text(encoding="utf-8")
    line = next(ln for ln in text.splitlines() if ln.startswith("G2") and "Z-2.3" in ln)
    written[2].write_text(text.replace(line, line.replace("Z-2.3", "Z-2.6")), encoding="utf-8")
    found = verify(whole.path, [written[2]], COARSE)
    assert ("gouge", "03-face-three.ngc") in told(found)
    first = next(f for f in found.findings if f.code == "gouge")
    # The line is that of the first move too deep at the worst place: the edited one, or one that kept its depth.
    assert 0 <= first.program_line - (1 + text.splitlines().index(line)) <= 8
    assert "marker_pockets" in first.feature + first.message


def test_a_program_of_an_older_job_is_not_this_job_s(whole: Outcome, written: list[Path], tmp_path: Path) -> None:
    newer = job(tmp_path, but("depth: 0.3", "depth: 0.35"))
    found = verify(newer, [written[1]], COARSE)
    assert ("header", "02-face-scorer.ngc") in told(found)


def test_a_program_out_of_its_place_stops(whole: Outcome, written: list[Path]) -> None:
    # The outline's header on the scoring program: it is taken at its word, and does not do what stands there.
    text = written[1].read_text(encoding="utf-8").replace("(Program 2 of 3", "(Program 3 of 3")
    written[1].write_text(text, encoding="utf-8")
    codes = {code for code, _ in told(verify(whole.path, [written[1]], COARSE))}
    assert {"uncut", "wrong-bit"} <= codes


def test_two_programs_that_claim_one_place_are_told(whole: Outcome, written: list[Path]) -> None:
    twin = written[1].with_name("twin.ngc")
    twin.write_text(written[1].read_text(encoding="utf-8"), encoding="utf-8")
    found = verify(whole.path, [written[1], twin], COARSE)
    assert [
        (
            "header",
            "twin.ngc and 02-face-scorer.ngc both say that they are program 2. Give only one of them",
            "twin.ngc",
        )
    ] == [(f.code, f.message, f.program) for f in found.findings]
    assert found.stopped


def test_a_program_without_its_header_stops(whole: Outcome, written: list[Path]) -> None:
    text = written[1].read_text(encoding="utf-8")
    written[1].write_text(text[text.index("G21") :], encoding="utf-8")
    found = verify(whole.path, [written[1]], COARSE)
    assert ("header", "02-face-scorer.ngc") in told(found)
    assert ("no-touch-off", "02-face-scorer.ngc") in told(found)


def test_a_text_outside_the_subset_is_told_with_its_line(whole: Outcome, written: list[Path]) -> None:
    text = written[1].read_text(encoding="utf-8").replace("G54\n", "G54\nG92 Z0\n")
    written[1].write_text(text, encoding="utf-8")
    (finding,) = verify(whole.path, [written[1]], COARSE).findings
    assert ("unreadable", Severity.stop) == (finding.code, finding.severity)
    assert 1 + text.splitlines().index("G92 Z0") == finding.program_line


def test_a_file_that_is_not_text_or_not_there_is_not_judged(whole: Outcome, tmp_path: Path) -> None:
    binary = tmp_path / "01.ngc"
    binary.write_bytes(b"\xff\xfe\x00G1")
    with pytest.raises(UnicodeDecodeError):
        verify(whole.path, [binary], COARSE)
    with pytest.raises(FileNotFoundError):
        verify(whole.path, [tmp_path / "none.ngc"], COARSE)


# Letting pass


def test_what_the_maker_accepts_is_a_warning_and_stands_in_the_programs(whole: Outcome, written: list[Path]) -> None:
    text = written[2].read_text(encoding="utf-8")
    shallow = text.replace("Z-2.3", "Z-2.2")
    written[2].write_text(shallow, encoding="utf-8")
    stops = {code for code, _ in told(verify(whole.path, [written[2]], COARSE))}
    assert {"uncut"} == stops
    accepted = Changes(pitch=0.5, accept=(("uncut", "marker_pockets"),))
    found = verify(whole.path, [written[2]], accepted)
    assert not found.stopped
    assert ("uncut@marker_pockets",) == found.accepted
    assert "(Accepted despite a stop: uncut of marker_pockets)" in make(whole.path, accepted).programs[0].text


# Refusals


def refused(folder: Path, text: str) -> list[str]:
    with pytest.raises(JobError) as caught:
        make(job(folder, text), COARSE)
    return [f"{p.line}:{p.column}: {p.key}: {p.problem} [{p.hint}]" for p in caught.value.problems]


def line(text: str, words: str) -> int:
    return 1 + next(i for i, ln in enumerate(text.splitlines()) if words in ln)


def test_refusals_are_told_all_at_once_at_the_keys_at_fault(tmp_path: Path) -> None:
    text = but("leave: 5}", "leave: 7}")
    text = but("frets: [2, 4]", "frets: [2, 9]", text)
    text = but("diameter: 5, depth: 1.5", "diameter: 2.5, depth: 1.5", text)
    plane, lines, pockets = (line(text, f"- {k}:") for k in ("plane", "score_lines", "marker_pockets"))
    source = text.splitlines()
    assert [
        f"{plane}:{source[plane - 1].index('leave') + 1}: plane.leave: "
        "7.00 mm cannot be left of 5.80 mm [leave less than the blank's thickness]",
        f"{lines}:{source[lines - 1].index('frets') + 1}: score_lines.frets: "
        "there is no fret 9 [the instrument has 5 frets]",
        f"{pockets}:{source[pockets - 1].index('bit') + 1}: marker_pockets.bit: "
        "three is 3.00 mm wide, and the pockets only 2.50 mm [take a smaller bit]",
    ] == refused(tmp_path, text)


def test_a_refusal_points_at_a_key_on_a_line_of_its_own(tmp_path: Path) -> None:
    keys = ("bit: scorer", "# depth: 0.2", "frets: [2, 9]", "depth: 0.3")
    block = "      - score_lines:\n" + "".join(f"          {key}\n" for key in keys)
    text = but("      - score_lines: {bit: scorer, depth: 0.3, frets: [2, 4]}\n", block)
    at = line(text, "frets: [2, 9]")
    assert [f"{at}:11: score_lines.frets: there is no fret 9 [the instrument has 5 frets]"] == refused(tmp_path, text)


def test_what_only_the_strategy_can_tell_names_the_right_feature(tmp_path: Path) -> None:
    # Both features are cut in one program, with one bit: the fault is the pockets'.
    text = but("- marker_pockets: {bit: three, diameter: 5", "- pin_bores: {bit: three, diameter: 5, at: [[-8, 0]]}\n"
               "      - marker_pockets: {bit: three, diameter: 3.05")  # fmt: skip
    at = line(text, "- marker_pockets:")
    assert [
        f"{at}:{text.splitlines()[at - 1].index('bit') + 1}: marker_pockets.bit: marker at fret 3: the bit is about as "
        "wide as the pocket and cannot enter on a helix [take a smaller bit]"
    ] == refused(tmp_path, text)


def test_a_board_whose_sides_would_meet_is_refused_once_where_its_width_stands(tmp_path: Path) -> None:
    text = but("width: {nut: 30, 5: 33}", "width: {nut: 30, 1: 20}")
    at = line(text, "width: {nut")
    assert [
        f"{at}:5: instrument.board.width: the board's sides meet before its end "
        "[give a second width nearer to the width at the nut]"
    ] == refused(tmp_path, text)


def test_tabs_that_leave_the_bit_no_room_are_refused(tmp_path: Path) -> None:
    text = but("count: 2, length: 5", "count: 8, length: 5")
    at = line(text, "- outline:")
    assert [
        f"{at}:{text.splitlines()[at - 1].index('tabs') + 1}: outline.tabs: "
        "the long edges have no room for these tabs [give fewer or shorter tabs]"
    ] == refused(tmp_path, text)


def test_a_lone_carriage_return_in_a_program_is_refused_and_windows_line_ends_are_not(tmp_path: Path) -> None:
    """A controller may take a lone return for a line end where an editor shows none."""
    job = Path(__file__).parents[2] / "cases" / "short_board.yaml"
    outcome = make(job, Changes(pitch=0.5))
    program = outcome.programs[1]
    path = tmp_path / program.name
    path.write_bytes(program.text.replace("\n", "\r\n").encode("ascii"))
    assert not verify(job, [path], Changes(pitch=0.5)).stopped
    path.write_bytes(program.text.replace("M5", "(all is well)\rG1 Z0\nM5").encode("ascii"))
    assert "unreadable" in {f.code for f in verify(job, [path], Changes(pitch=0.5)).findings}
