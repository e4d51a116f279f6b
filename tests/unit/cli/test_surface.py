"""`neckpath surface` as people type it: a program and a page, or words and nothing written."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.testing import Result

from tests.support.commands import Page, typed
from toolpaths.job.files.machine_file import machine_paths

ROOT = Path(__file__).parents[3]
BENCH = ROOT / "machines" / "bench-router.yaml"


def run(*arguments: str | Path) -> Result:
    return typed("surface", *arguments)


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("machine", list(machine_paths()))
def test_it_writes_a_program_and_a_page(machine: str, here: Path) -> None:
    result = run(machine)
    assert 0 == result.exit_code
    names = sorted(p.name for p in (here / "out").iterdir())
    assert [f"surface-{machine}"] * 2 == [n.rpartition(".")[0] for n in names]
    page = Page((here / "out" / f"surface-{machine}.html").read_text(encoding="utf-8"))
    assert [] == page.fetched
    for words in (
        "After the machine is trammed",
        "Before a jig or a stop goes onto the board, and before the bores for pins in the bed",
        "After a new board, after it has swollen",
        "No screw of the waste board may lie within the depth taken plus",
        "look first.",
        "Take off the blank, and the clamps",
        "extraction on, respirator on",
        "Set Z zero where the bit touches first: the highest place",
        "until the whole surface shows marks of the bit",
        "Lay a straight edge along X, along Y and on both diagonals",
        "May be cut; no findings.",
    ):
        assert words in page.said


def test_the_screen_says_the_least_that_must_be_known() -> None:
    said = run("bench-router").output
    assert "X and Y zero: left front corner of the area. Z zero: where the board is highest." in said
    assert "No screw of the board may lie within 2.3 mm of its top: look first." in said
    assert "Run it again until the whole surface shows marks of the bit." in said
    assert "Left standing" not in said
    # On the usual terminal nothing is broken but where it says so.
    assert 80 >= max(len(line) for line in said.splitlines())


def test_lengths_are_in_the_machine_s_units(here: Path) -> None:
    result = run("hand-dial", "--area", "10x6", "--take", "0.02", "--clear", "1,1,2,2,0.5")
    assert 0 == result.exit_code
    # 0.02 in are 0.508 mm: two levels. From 1 in the clearance of 1 mm reaches down to 0.96 in.
    for words in ("X 10.00 in, Y 6.00 in", "0.02 in off the highest place, in 2 equal levels", "X 0.96 to 2.04 in"):
        assert words in result.output
    text = (here / "out" / "surface-hand-dial.nc").read_text(encoding="utf-8")
    assert "G20" in text
    assert "Z-0.02" in text


def test_millimetres_may_be_named_on_an_inch_machine() -> None:
    assert "X 10.00 in" in run("hand-dial", "--area", "254mmx150mm").output


def test_what_is_left_standing_is_told_on_screen_and_page(here: Path) -> None:
    result = run("bench-router", "--clear", "100,80,130,120,5", "--clear", "300,-20,340,30,40")
    said = " ".join(result.output.split())
    assert "X 99.0 to 131.0 mm, Y 79.0 to 121.0 mm 32.0 mm x 42.0 mm box 1, kept clear, with the room round it" in said
    page = Page((here / "out" / "surface-bench-router.html").read_text(encoding="utf-8"))
    assert "box 1, kept clear, with the room round it" in page.said
    assert "box 2, kept clear" in page.said


def test_a_machine_may_be_a_file_and_the_program_have_a_name(here: Path) -> None:
    (here / "mine.yaml").write_bytes(BENCH.read_bytes())
    assert 0 == run("mine.yaml").exit_code
    assert (here / "out" / "surface-mine.ngc").is_file()
    assert 0 == run("mine.yaml", "-o", "b/level.nc").exit_code
    assert ["level.html", "level.nc"] == sorted(p.name for p in (here / "b").iterdir())
    assert "level.nc" in (here / "b" / "level.html").read_text(encoding="utf-8")


def test_an_air_run_has_a_name_of_its_own_and_says_so(here: Path) -> None:
    assert 0 == run("bench-router", "--air", "20").exit_code
    assert "(Lifted: 20" in (here / "out" / "surface-bench-router-air.ngc").read_text(encoding="utf-8")
    page = Page((here / "out" / "surface-bench-router-air.html").read_text(encoding="utf-8"))
    assert "This program runs in the air: it touches nothing." in page.said


def test_other_woods_and_bits_may_be_named(here: Path) -> None:
    assert 0 == run("bench-router", "--bit", "quarter", "--wood", "hard maple", "--area", "100x80").exit_code
    text = (here / "out" / "surface-bench-router.ngc").read_text(encoding="utf-8")
    assert "Blank: hard maple" in text
    assert "quarter" in text


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["nothing-here"], "no machine of this name"),
        (["bench-router", "--bit", "nothing"], "no bit is called `nothing`"),
        (["bench-router", "--bit", "vee60"], "it cannot skim a board level"),
        (["bench-router", "--wood", "cheese"], "No wood is called `cheese`"),
        (["bench-router", "--take", "0"], "cannot be taken off"),
        (["bench-router", "--take", "3.5"], "more than 0 and at most 3 mm at once"),
        (["bench-router", "--take", "deep"], "not a length"),
        (["bench-router", "--area", "600"], "is not XxY"),
        (["bench-router", "--area", "600xwide"], "not a length"),
        (["bench-router", "--area", "900x400"], "900.00 mm along X is more than the machine's travel"),
        (["bench-router", "--area", "20x400"], "20.00 mm along X is less than the width of planer, 25.00 mm"),
        (["bench-router", "--clear", "1,2,3,4"], "is not x0,y0,x1,y1,height"),
        (["bench-router", "--clear", "1,2,3,4,tall"], "not a length"),
        (["bench-router", "--clear", "10,10,10,20,5"], "box 1 has no size"),
        (["bench-router", "--clear", "2000,10,2010,20,5"], "box 1 is out of the bit's reach"),
        (["bench-router", "--clear", "-50,-50,900,600,5"], "leave nothing to skim"),
        (["bench-router", "--air", "0"], "the height must be more than 0"),
        (["bench-router", "-o", "level.html"], "is the page's name"),
    ],
)
def test_what_cannot_be_skimmed_ends_with_two(arguments: list[str], said: str, here: Path) -> None:
    result = run(*arguments)
    assert 2 == result.exit_code
    assert said in " ".join(re.sub(r"[│╭╮╰╯─]", " ", result.output).split())
    assert [] == list(here.iterdir())


@pytest.mark.parametrize(
    ("arguments", "code"),
    [(["small-frame", "--clear", "60,60,80,80,60"], "travel"), (["bench-router", "--air", "0.1"], "air")],
)
def test_what_the_judge_stops_is_not_written(arguments: list[str], code: str, here: Path) -> None:
    result = run(*arguments)
    assert 1 == result.exit_code
    assert f"stop {code}" in result.output
    assert "No program was written." in result.output
    assert [] == list(here.iterdir())


def test_a_machine_of_a_stranger_puts_nothing_into_the_page(here: Path) -> None:
    odd = "</title><script>alert(1)</script>"
    text = BENCH.read_text(encoding="utf-8").replace("name: bench router", f'name: "{odd}"')
    (here / "mine.yaml").write_text(text, encoding="utf-8")
    assert 0 == run("mine.yaml").exit_code
    text = (here / "out" / "surface-mine.html").read_text(encoding="utf-8")
    assert "<script" not in text
    assert "&lt;/title&gt;" in text
