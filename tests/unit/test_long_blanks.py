"""A blank that is moved along its bed: the same wood as if it were cut in one place, within a shorter travel."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from tests.support.made import made as make
from toolpaths.found.meaning import Meaning
from toolpaths.instrument.frets import fret_distance
from toolpaths.job.changes import Changes
from toolpaths.job.cut_kind import CutKind
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.prove import prove
from toolpaths.reports.pages.sheet import sheet
from toolpaths.reports.preview.viewer_setup import setup_data
from toolpaths.reports.text.tables import programs_table
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[2]
CASE = (ROOT / "tests" / "cases" / "short_board.yaml").read_text(encoding="utf-8")
DEMO = ROOT / "demo_jobs" / "curlew_bass_neck.yaml"
SHIFT, SEAM = 40.0, 45.0
PLACED = (
    f"    placed: [{{name: near, shift: 0, from: start, to: {SEAM:g}}}, "
    f"{{name: far, shift: {SHIFT:g}, from: {SEAM:g}, to: end}}]\n"
)
BED = "      - bed_bores: {bit: three, diameter: 4, depth: 6, at: [[-10, -34], [0, 34]]}\n"
MOVED = "at: [[-11, 0], [96, 0], [30, -34], [40, 34]]"
COARSE = Changes(pitch=0.4)


def board(folder: Path, *edits: tuple[str, str], placed: str = PLACED, bed: str = BED, pins: str = MOVED) -> Path:
    """The practice board, wider, in two places of one setup."""
    text = CASE.replace("width: 70", "width: 80").replace("centre_at: 34", "centre_at: 40")
    text = text.replace("y: [-66, -56]", "y: [-80, -70]")
    text = text.replace("    hold: tape\n", f"{placed}    hold: tape\n").replace(
        "    features:\n", f"    features:\n{bed}"
    )
    text = text.replace("at: [[-11, 0], [96, 0]]", pins)
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new)
    path = folder / "board.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def stops(outcome: Outcome) -> set[str]:
    return {f.code for f in outcome.findings if f.severity is Severity.stop}


def xs(text: str) -> list[float]:
    return [float(x) for x in re.findall(r"^G[0-3] .*?X(-?[\d.]+)", text, re.M)]


@cache
def demo() -> Outcome:
    return make(DEMO, Changes(pitch=0.5))


@pytest.mark.parametrize("zero", ["stock top", "bed"])
def test_the_wood_is_the_same_as_if_it_were_cut_in_one_place(tmp_path: Path, zero: str) -> None:
    edit = ("z: stock top", f"z: {zero}")
    moved = make(board(tmp_path, edit), COARSE)
    assert set() == stops(moved)
    (tmp_path / "one").mkdir()
    whole = make(board(tmp_path / "one", edit, placed="", bed=""), COARSE)
    assert set() == stops(whole)
    a, b = (o.setups[0].after.heights for o in (moved, whole))
    assert np.abs(a - b).max() < 0.03


def test_each_program_says_its_place_and_lies_within_its_reach(tmp_path: Path) -> None:
    outcome = make(board(tmp_path), COARSE)
    for program in outcome.programs[1:]:
        lie = program.lie
        assert lie is not None
        assert lie.name in program.name
        words = " ".join(line.strip("()").removeprefix("+ ") for line in program.text.splitlines())
        shift = 0 if lie.name == "near" else SHIFT
        assert (
            f"Place {lie.number} of 2, {lie.name}: the blank lies {shift:.2f} mm further left than at first." in words
        )
        assert ("Do not set X and Y zero again." in words) == (lie.name == "far")
        # Zero is the blank's left end, 18 before the nut; the tip stays within 10 of the seam.
        cuts = [x - 18 + shift for x in xs(program.text)[:-1]]  # the last is the parking place
        assert max(cuts) <= SEAM + 10 + 1e-6 if lie.name == "near" else min(cuts) >= SEAM - 10 - 1e-6


def test_frets_of_the_far_place_lie_at_the_formula_less_the_shift(tmp_path: Path) -> None:
    outcome = make(board(tmp_path), COARSE)
    scored = [p for p in outcome.programs if p.bits == ("scorer",)]
    assert ["near", "far"] == [p.lie.name for p in scored if p.lie is not None]
    # L - L / 2^(n / 12), and 18 from the blank's end to the nut.
    wanted = {n: fret_distance(300, n) + 18 for n in range(1, 6)}
    near, far = ({round(x, 3) for x in xs(p.text)} for p in scored)
    for n, x in wanted.items():
        if x - 18 + 0.25 <= SEAM + 10:  # whole in the near place, which reaches half the overlap past the seam
            assert round(x, 3) in near, n
        else:
            assert round(x - SHIFT, 3) in far, n


def test_the_parking_place_stays_where_it_is_on_the_machine(tmp_path: Path) -> None:
    outcome = make(board(tmp_path), COARSE)
    assert 1 == len({re.findall(r"^G0 X(\S+) Y(\S+)$", p.text, re.M)[-1] for p in outcome.programs})


@pytest.mark.parametrize(
    ("bed", "pins", "words"),
    [
        ("", MOVED, "no pins bring the blank to its place far"),
        (BED.replace(", [0, 34]", ""), MOVED, "one pin does not bring the blank"),
        (BED, "at: [[-11, 0], [96, 0], [30, -34], [40.1, 34]]", "does not meet"),
        (BED, "at: [[-11, 0], [96, 0], [30, -34]]", "does not meet"),
        (BED.replace("diameter: 4", "diameter: 3.6"), MOVED, "does not fit"),
        (BED.replace("[0, 34]", "[20, 34]"), MOVED.replace("[40, 34]", "[60, 34]"), "is not bored yet when the blank"),
    ],
)
def test_without_two_pins_in_bores_that_are_cut_nothing_is_written(
    tmp_path: Path, bed: str, pins: str, words: str
) -> None:
    outcome = make(board(tmp_path, bed=bed, pins=pins), COARSE)
    assert "pins-apart" in stops(outcome)
    assert any(words in f.message for f in outcome.findings if f.code == "pins-apart")


def tampered(path: Path, old: str, new: str, *, far: bool = True) -> Outcome:
    """The set with one text changed in the outline's program of the far place, judged anew."""
    layout = lay_out(path, COARSE)
    index = max(i for i, (plan, _) in enumerate(layout.own) if plan.lie and (plan.lie.number == 2) == far)
    program = layout.own[index][1]
    assert re.search(old, program.text)
    return prove(layout, {index: replace(program, text=re.sub(old, new, program.text))})


def test_a_header_with_another_place_or_none_is_stopped(tmp_path: Path) -> None:
    path = board(tmp_path)
    for old, new in (
        (r"the blank lies 40\.00 mm", "the blank lies 41.00 mm"),
        (r"Place 2 of 2, far", "Place 1 of 2, near"),
        (r"\(Place 2 of 2, far: [^)]*\)\n(\(\+ [^)]*\)\n)?", ""),
    ):
        assert {"header"} == stops(tampered(path, old, new)), old


def test_a_program_for_another_shift_is_stopped(tmp_path: Path) -> None:
    path = board(tmp_path)
    moved = tampered(path, r"X(-?[\d.]+)", "X0")  # replaced below
    assert moved.stopped
    layout = lay_out(path, COARSE)
    index = max(i for i, (plan, _) in enumerate(layout.own) if plan.lie and plan.lie.number == 2)
    program = layout.own[index][1]
    for off in (0.3, -0.3, SHIFT):
        text = re.sub(
            r"^(G[0-3].*?X)(-?[\d.]+)", lambda m, by=off: f"{m[1]}{float(m[2]) + by:.3f}", program.text, flags=re.M
        )
        found = stops(prove(layout, {index: replace(program, text=text)}))
        assert found & {"gouge", "uncut", "keep-out", "rapid-in-wood"}, off


def test_what_stands_in_the_way_stays_on_the_machine(tmp_path: Path) -> None:
    # A post 100 to the right of the nut, beside the board: the far place lies 40 further left, so it is at 140 there.
    near = ("keep_out:\n", "keep_out:\n      - {name: post, x: [%g, %g], y: [-30, -24], height: 20}\n")
    free = make(board(tmp_path, (near[0], near[1] % (100, 104))), COARSE)
    assert "keep-out" not in stops(free)
    hit = make(board(tmp_path, (near[0], near[1] % (40, 44))), COARSE)  # at 80 in the far place
    assert "keep-out" in stops(hit)


@pytest.mark.parametrize(("play", "code"), [("0.02", None), ("0.09", Severity.warn), ("0.3", Severity.stop)])
def test_the_play_of_the_pins_is_proven(tmp_path: Path, play: str, code: Severity | None) -> None:
    outcome = make(board(tmp_path, ("    hold: tape\n", f"    hold: tape\n    play: {play}\n")), COARSE)
    found = [f for f in outcome.findings if f.code == "place-play"]
    assert code == (max((f.severity for f in found), key=lambda s: s is Severity.stop) if found else None)
    if code is Severity.stop:
        # Two pins 68.7 apart, each 0.3 off: the seam lies 10 past the middle between them, no further than the pins.
        assert any("Step at the seam 0.300 mm" in f.message for f in found)


def test_the_sheet_says_how_the_blank_is_moved_and_tested(tmp_path: Path) -> None:
    page = re.sub(r"<[^>]+>", " ", sheet(make(board(tmp_path), COARSE)))
    said = re.sub(r"\s+", " ", page)
    assert "Move it 40.00 mm to the left, to place far: 40.00 mm from where it lay first." in said
    assert "x 30.00 mm, y -34.00 mm and x 40.00 mm, y 34.00 mm" in said
    assert "X and Y zero stay where they are: do not set them again." in said
    assert 1 == said.count("Take the blank off its holders.")
    found = re.findall(
        r"Test: lift to Z \S+ mm, go to X (-?[\d.]+) mm Y (-?[\d.]+) mm\. The tip must be over (.*?),", said
    )
    # The line of fret 3, 300 - 300 / 2^(3 / 12) from the nut, is the last that the near place has cut.
    *_, (x, _, mark) = found
    assert "the end of the line of fret 3" == mark
    assert fret_distance(300, 3) + 18 - SHIFT == pytest.approx(float(x), abs=0.01)


def test_left_handed_instruments_are_moved_alike(tmp_path: Path) -> None:
    # Places of bores are the instrument's: mirrored, they meet as before.
    assert set() == stops(make(board(tmp_path, ("title:", "handed: left\ntitle:")), COARSE))


def test_inches_are_moved_alike(tmp_path: Path) -> None:
    machine = (ROOT / "machines" / "hand-dial.yaml").read_text(encoding="utf-8")
    (tmp_path / "own.yaml").write_text(machine.replace("G55: null", "G55: null"), encoding="utf-8")
    outcome = make(board(tmp_path, ("machine: bench-router", "machine: own.yaml")), COARSE)
    assert set() == stops(outcome)
    assert "(Place 2 of 2, far: the blank lies 1.575 in further left" in outcome.programs[-1].text


@pytest.mark.parametrize("machine", ["bench-router", "hand-dial", "small-frame", "shop-gantry"])
def test_every_machine_cuts_it(tmp_path: Path, machine: str) -> None:
    outcome = make(board(tmp_path, ("machine: bench-router", f"machine: {machine}")), COARSE)
    assert set() == stops(outcome)
    if machine == "shop-gantry":  # it changes bits by itself: one program for the bed, and one for each place
        assert [1, 1, 2] == [p.lie.number for p in outcome.programs if p.lie is not None]


def turned(folder: Path, bores: str) -> Path:
    """The carved neck, its back cut in two places on pins whose bores the face's setup has made."""
    text = (DEMO.parent / "carved_neck.yaml").read_text(encoding="utf-8")
    old = "at: [{x: -90, y: 0, diameter: 5}, {x: 170, y: 0, diameter: 6, relief: 0.6}]"
    assert old in text
    text = text.replace(old, f"at: {bores}")
    # Seen from the back, y is the other way round; places in the job are the instrument's.
    text = text.replace(
        "at: [{x: -90, y: 0, diameter: 5}, {x: 170, y: 0, diameter: 6}]",
        "at: [{x: -90, y: -37, diameter: 5}, {x: 60, y: 37, diameter: 6}]",
    )
    head, tail = text.split("  - name: back")
    places = "[{name: near, shift: 0, from: start, to: 60}, {name: far, shift: 80, from: 60, to: end}]"
    path = folder / "neck.yaml"
    path.write_text(f"{head}  - name: back\n    placed: {places}\n    play: 0.02{tail}", encoding="utf-8")
    return path


def test_a_blank_that_is_turned_over_and_moved_meets_its_pins_in_both_places(tmp_path: Path) -> None:
    near, far = "{x: -90, y: -37, diameter: 5}, {x: 60, y: 37, diameter: 6}", "{x: -10, y: -37, diameter: 5}"
    last = "{x: 140, y: 37, diameter: 6}"
    assert "pins-apart" not in stops(make(turned(tmp_path, f"[{near}, {far}, {last}]"), COARSE))
    for wrong in (f"[{near}, {far}]", f"[{far}, {last}]", f"[{near}, {far}, {last.replace('140', '141')}]"):
        assert "pins-apart" in stops(make(turned(tmp_path, wrong), COARSE)), wrong


def test_a_seam_named_by_a_fret_lies_behind_its_line(tmp_path: Path) -> None:
    placed = PLACED.replace(f"to: {SEAM:g}", "to: fret 3").replace(f"from: {SEAM:g}", "from: fret 3")
    outcome = make(board(tmp_path, placed=placed), COARSE)
    lie = outcome.programs[-1].lie
    assert lie is not None
    assert (fret_distance(300, 3) + fret_distance(300, 4)) / 2 == pytest.approx(lie.low)


@pytest.mark.slow
def test_a_neck_of_864_mm_on_300_mm_of_travel() -> None:
    outcome = demo()
    assert [] == [f for f in outcome.findings if f.severity is not Severity.note]
    for program in outcome.programs:
        span = max(xs(program.text)) - min(xs(program.text))
        assert span <= 300.0, program.name
    assert ["head", "low", "middle", "heel"] == list(
        dict.fromkeys(p.lie.name for p in outcome.programs if p.lie is not None)
    )
    # Through, and nowhere else: the outline's kerf is one closed way round all four places.
    setup = outcome.setups[0]
    kerf = setup.after.heights < 0
    assert kerf.any(axis=0)[20:-20].mean() > 0.9


def in_one_place() -> str:
    """The demo as somebody writes it who does not know that it is too long: without places, pins and marks."""
    text = DEMO.read_text(encoding="utf-8")
    first, last = text.index("    play: 0.05"), text.index("    hold: {screws: {at: [[-110")
    text = text[:first] + text[last:]
    text = re.sub(r"      - (bed|pin)_bores:.*\n( {10,}at:.*\n)?", "", text)
    return text.replace("shallow marks in the waste", "marks")


@pytest.mark.slow
def test_the_places_that_are_proposed_end_the_finding(tmp_path: Path) -> None:
    path = tmp_path / "neck.yaml"
    path.write_text(in_one_place(), encoding="utf-8")
    outcome = make(path, Changes(pitch=1.0))
    (paste,) = [f.said.paste for f in outcome.findings if f.code == "travel" and f.said.paste]
    placed, bed, blank = paste.split("\n")
    text = in_one_place().replace("    hold:", f"    {placed}\n    hold:", 1)
    text = text.replace("    features:\n", f"    features:\n      {bed}\n      {blank}\n", 1)
    path.write_text(text, encoding="utf-8")
    after = make(path, Changes(pitch=1.0))
    # Its screws are still those of one place.
    assert set() == stops(after) - {"hold-weak"}


def test_what_is_proposed_in_inches_is_typed_in_inches(tmp_path: Path) -> None:
    demo = (DEMO.parent / "parlour_board_inch.yaml").read_text(encoding="utf-8")
    path = tmp_path / "board.yaml"
    path.write_text(re.sub(r"^machine: .*", "machine: small-frame", demo, flags=re.M), encoding="utf-8")
    outcome = make(path, Changes(pitch=1.0))
    (paste,) = [f.said.paste for f in outcome.findings if f.code == "travel" and f.said.paste]
    shifts = [float(s) for s in re.findall(r"shift: ([\d.]+)", paste)]
    assert 0 == shifts[0]
    assert [] == [s for s in shifts if (s / 0.25) % 1]
    seams = [float(s) for s in re.findall(r"to: (-?[\d.]+)", paste)]
    lines = [d for d in outcome.setups[0].demands if d.kind is CutKind.line]
    assert lines
    assert [] == [s for s in seams for d in lines if d.asked.bounds[0] - 1 < s * 25.4 < d.asked.bounds[2] + 1]


def test_a_distance_over_a_move_says_nothing_of_the_machine(tmp_path: Path) -> None:
    outcome = make(board(tmp_path), COARSE)
    one = make(board(tmp_path, placed="", bed=""), COARSE)
    axes = [{m.feature for m in o.marks if m.meaning is Meaning.axis} for o in (outcome, one)]
    assert "score_lines" in axes[1]
    assert "score_lines" not in axes[0]


def test_the_programs_and_the_preview_name_the_places(tmp_path: Path) -> None:
    outcome = make(board(tmp_path), COARSE)
    moves = [row[4] for row in programs_table(outcome).rows if "move the blank" in row[4]]
    assert 1 == len(moves)
    assert moves[0].startswith("move the blank to place far, 40.00 mm left of its first; touch the planed face")
    data = setup_data(outcome, outcome.setups[0])
    assert [{"x": SEAM, "place": "far"}] == data["seams"]
    assert "The blank is moved along: near, far (40.00 mm further left)" in data["zeroWords"]
