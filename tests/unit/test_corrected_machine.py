"""A set of programs for a machine that is a little off: judged by where that machine truly goes."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.made import made as make
from toolpaths.instrument.frets import fret_distance
from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.prove import prove
from toolpaths.verification.finding import Finding
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[2]
JOB = (ROOT / "tests" / "cases" / "short_board.yaml").read_text(encoding="utf-8")
BENCH = (ROOT / "machines" / "bench-router.yaml").read_text(encoding="utf-8")
CHANGES = Changes(pitch=0.4)
SHORT = "measured: {x: {commanded: 500, measured: 499.6}, backlash: {x: 0.08}}"
ALIKE = "measured: {x: {commanded: 500, measured: 499.6}, y: {commanded: 500, measured: 499.6}}"
SKEWED = "measured: {square: {x: 400, y: 300, from_left: 501.2, from_right: 498.8}}"
"""Y leans by asin((501.2^2 - 498.8^2) / (4 * 400 * 300)) = 0.005 toward higher X: derived."""
DEEP = "measured: {z: {commanded: 50, measured: 50.5}}"


def job(folder: Path, measured: str = "", edits: tuple[tuple[str, str], ...] = ()) -> Path:
    text = JOB.replace("machine: bench-router", "machine: mine.yaml")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    (folder / "mine.yaml").write_text(f"{BENCH}\n{measured}\n", encoding="utf-8")
    path = folder / "job.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def as_if_true(folder: Path, measured: str) -> Outcome:
    """The texts of a machine that was taken as true, cut on the machine that is off."""
    plain = make(job(folder), CHANGES)
    layout = lay_out(job(folder, measured), CHANGES)
    own = layout.loaded.job_hash
    given = {
        i: replace(p, text=p.text.replace(f"job {plain.job_hash}", f"job {own}")) for i, p in enumerate(plain.programs)
    }
    return prove(layout, given)


def stops(outcome: Outcome) -> list[Finding]:
    return [f for f in outcome.findings if f.severity == "stop"]


@pytest.mark.parametrize("measured", [SHORT, ALIKE, SKEWED, DEEP])
def test_the_corrected_set_passes(tmp_path: Path, measured: str) -> None:
    assert [] == stops(make(job(tmp_path, measured), CHANGES))


def test_an_uncorrected_set_is_stopped_for_its_frets(tmp_path: Path) -> None:
    outcome = as_if_true(tmp_path, SHORT)
    told = [re.match(r"fret (\d) is too near the nut.* ([\d.]+) mm, [\d.]+ cents", f.message) for f in stops(outcome)]
    off = {int(m[1]): float(m[2]) for m in told if m}
    # The zero is at the stock's end, 18 mm before the nut: a place d from the nut comes out (d + 18) / 1.0008 - 18.
    # The nut line is measured by the maker from that same end, so fret n stands 0.0008 (d + 18) too near.
    assert {2, 3, 4, 5} <= set(off)
    assert pytest.approx({n: 0.0008 * (fret_distance(300, n) + 18) for n in off}, abs=0.0015) == off


def test_an_uncorrected_set_that_goes_too_deep_is_stopped(tmp_path: Path) -> None:
    # 1 % of depths of 1 mm and more below the zero: 0.012 mm at the planed face, over gouge's 0.01.
    assert "gouge" in {f.code for f in stops(as_if_true(tmp_path, DEEP))}


def test_travel_is_judged_by_the_text_and_clamps_by_where_the_bit_truly_goes(tmp_path: Path) -> None:
    path = job(tmp_path, "measured: {x: {commanded: 100, measured: 98.5}}")
    true = make(job(tmp_path), CHANGES)
    span = max(map(float, re.findall(r"X(-?[\d.]+)", "".join(p.text for p in true.programs))))
    reach = span - min(map(float, re.findall(r"X(-?[\d.]+)", "".join(p.text for p in true.programs))))
    # Between what the bit truly travels and what the machine is told: 1.5 % more.
    tight = BENCH.replace("travel: {x: 800,", f"travel: {{x: {reach * 1.007:.3f},")
    (tmp_path / "mine.yaml").write_text(f"{tight}\n", encoding="utf-8")
    assert [] == stops(make(path, CHANGES))
    (tmp_path / "mine.yaml").write_text(
        f"{tight}\nmeasured: {{x: {{commanded: 100, measured: 98.5}}}}\n", encoding="utf-8"
    )
    assert {"travel"} == {f.code for f in stops(make(path, CHANGES))}


def test_a_clamp_is_where_the_rule_says(tmp_path: Path) -> None:
    # The outline's cut reaches x 87.2 (board's end at 81.2, a bit of 6); told 1.5 % more, it would be x 88.8. The
    # clearance of 1 mm comes to it.
    clamp = ("height: 9}", "height: 9}\n      - {name: cleat, x: [88.9, 92], y: [-16, -8], height: 9}")
    only = Changes(pitch=0.4, only="outline")
    machine = "measured: {x: {commanded: 101.5, measured: 100}}"
    assert "keep-out" not in {f.code for f in make(job(tmp_path, machine, (clamp,)), only).findings}
    nearer = (clamp[0], clamp[1].replace("88.9", "87.9"))
    assert "keep-out" in {f.code for f in make(job(tmp_path, machine, (nearer,)), only).findings}


def test_the_report_s_hash_tells_a_measured_machine_from_the_other(tmp_path: Path) -> None:
    hashes = {make(job(tmp_path, m), Changes(pitch=1.0, only="score_lines")).job_hash for m in ("", SHORT, ALIKE)}
    assert 3 == len(hashes)


def test_a_machine_out_of_square_cuts_what_a_true_one_cuts(tmp_path: Path) -> None:
    none = (BENCH.replace("arcs: xy", "arcs: none"), "arcs: none")
    assert none[1] in none[0]
    outcomes = []
    for measured in ("", SKEWED):
        path = job(tmp_path, measured)
        (tmp_path / "mine.yaml").write_text(f"{none[0]}\n{measured}\n", encoding="utf-8")
        outcomes.append(make(path, CHANGES))
    for true, leaning in zip(outcomes[0].programs, outcomes[1].programs, strict=True):
        assert not re.search(r"^G[23] ", leaning.text, re.M)
        here, there = (places(p.text) for p in (true, leaning))
        assert len(here) == len(there)
        for (x, y), (u, v) in zip(here, there, strict=True):
            # Along the axes themselves: the second points 0.005 rad off to the right.
            assert pytest.approx((x, y), abs=0.0012) == (u + v * 0.005, v * 0.9999875)


def places(text: str) -> list[tuple[float, float]]:
    """Where a program's moves end in X and Y, as written."""
    x = y = 0.0
    out = []
    for line in text.splitlines():
        if re.match(r"G[01] ", line):
            words = {w[0]: float(w[1:]) for w in line.split()[1:]}
            moved = {"X", "Y"} & set(words)
            x, y = words.get("X", x), words.get("Y", y)
            out += [(x, y)] if moved else []
    return out


def test_an_uncorrected_set_of_a_machine_out_of_square_is_stopped(tmp_path: Path) -> None:
    # A line of 40 mm would be 0.2 mm out of square from end to end, in the joint of the outline too.
    assert {"gouge", "uncut"} & {f.code for f in stops(as_if_true(tmp_path, SKEWED))}


def test_the_header_says_how_far_it_is_out_of_square(tmp_path: Path) -> None:
    text = make(job(tmp_path, SKEWED), CHANGES).programs[0].text
    assert "Y leans to the right by 1.500 mm in 300 mm." in " ".join(
        line.strip("()").removeprefix("+ ") for line in text.splitlines()
    )
