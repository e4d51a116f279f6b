"""`neckpath coupon` and `neckpath gauge` as people type them, and what `check` says of a machine's truth."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from tests.support.commands import Page
from tests.support.commands import typed as run
from toolpaths.job.files.machine_file import load_machine
from toolpaths.pipeline.load import load_job

ROOT = Path(__file__).parents[3]
BOARD = ROOT / "demo_jobs" / "tenor_board.yaml"
NECK = ROOT / "demo_jobs" / "tenor_neck.yaml"
SHORT = ROOT / "tests" / "cases" / "short_board.yaml"
BENCH = (ROOT / "machines" / "bench-router.yaml").read_text(encoding="utf-8")
COARSE = ["--pitch", "0.5"]


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


# The coupon


def test_coupon_writes_its_programs_and_a_sheet(here: Path) -> None:
    result = run("coupon", BOARD)
    assert 0 == result.exit_code
    folder = here / "out" / "tenor_board-coupon"
    assert ["01-coupon-scorer.ngc", "02-coupon-eighth.ngc", "03-coupon-pin.ngc", "coupon.html"] == sorted(
        p.name for p in folder.iterdir()
    )
    assert "neckpath coupon" in result.output
    assert "--measured line=...,marker=...,pin=..." in result.output


def test_the_sheet_shows_every_piece_under_its_number_and_fetches_nothing(here: Path) -> None:
    run("coupon", NECK, "-o", here / "c")
    text = (here / "c" / "coupon.html").read_text(encoding="utf-8")
    page = Page(text)
    assert [] == page.fetched
    figures = re.findall(r'<text class="figure"[^>]*text-anchor="middle">(\d+)</text>', text)
    assert [str(n) for n in range(1, 11)] == figures
    assert {"rod", "adjuster", "bars", "nut", "tuner", "hole", "bolt", "pin1", "pin2"} <= set(page.said.split())
    assert 'width="126.000mm"' in text  # full size, room for the mark of the zero on the left


def test_a_later_coupon_leaves_no_program_of_an_earlier_one(here: Path) -> None:
    folder = here / "c"
    run("coupon", BOARD, "-o", folder)
    (folder / "notes.txt").write_text("mine", encoding="utf-8")
    run("coupon", NECK, "-o", folder)
    assert ["01-coupon-quarter.ngc", "02-coupon-pinner.ngc", "03-coupon-pin.ngc", "coupon.html", "notes.txt"] == sorted(
        p.name for p in folder.iterdir()
    )


def test_the_measured_widths_come_back_as_bits_to_paste(here: Path) -> None:
    result = run("coupon", BOARD, "--measured", "line=0.55,marker=6.05")
    assert 0 == result.exit_code
    block = YAML(typ="safe").load(result.output)["bits"]
    assert {"measured_diameter": 3.225} == block["eighth"]
    job = BOARD.read_text(encoding="utf-8").replace("instruments/", f"{BOARD.parent}/instruments/")
    pasted = re.sub(r"bits:\n  scorer:.*\n", result.output.split("\n", 1)[1].rstrip() + "\n", job)
    path = here / "board.yaml"
    path.write_text(pasted, encoding="utf-8")
    bits = load_job(path).job.bits
    assert (0.55, 0.5, 3.225) == (bits["scorer"].cut_diameter, bits["scorer"].diameter, bits["eighth"].cut_diameter)


def test_pieces_of_one_bit_that_disagree_are_told() -> None:
    result = run("coupon", NECK, "--measured", "bars=3.5", "--measured", "tuner=8.02")
    assert "# The pieces of pinner disagree by 0.080 mm; the mean is taken." in result.output
    assert "measured_diameter: 3.235" in result.output


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--measured", "rod"], "is not NAME=WIDTH"),
        (["--measured", "rod=wide"], "not a length"),
        (["--measured", "line=6"], "measure again"),
        (["--measured", "line=0.6", "--bit", "scorer=0.8"], "leave --bit out"),
        (["--stock", "120x60"], "is not LENGTHxWIDTHxTHICKNESS"),
        (["--stock", "0x60x10"], "more than 0"),
        (["--stock", "120x60x2"], "is too thin"),
        (["--stock", "30x60x10"], "pieces do not fit onto a scrap of"),
    ],
)
def test_what_a_coupon_cannot_be_made_of_ends_with_two(arguments: list[str], said: str, here: Path) -> None:
    result = run("coupon", BOARD, *arguments)
    assert 2 == result.exit_code
    assert said in " ".join(re.sub(r"[│╭╮╰╯─]", " ", result.output).split())
    assert [] == list(here.iterdir())


@pytest.mark.parametrize("thick", [4, 8, 12])
def test_the_sheet_says_each_finding_that_the_terminal_says(thick: int, here: Path) -> None:
    said = " ".join(run("coupon", NECK, "--stock", f"150x80x{thick}", "-o", here / "c", *COARSE).output.split())
    words = Page((here / "c" / "coupon.html").read_text(encoding="utf-8")).said
    found = re.findall(r"\d+ (?:warn|note) [a-z-]+ of [a-z0-9]+: (.+?) \S+tenor_neck\.yaml:\d+", said)
    assert found, "an up-cut spiral on thin work that tape holds is warned of"
    # What one types stands in a mark-up of its own, without its backticks.
    assert [] == [one for one in found if " ".join(one.replace("`", " ").split()) not in words]


def test_another_bit_makes_another_coupon(here: Path) -> None:
    run("coupon", BOARD, "--bit", "scorer=0.8", "-o", here / "c")
    assert "scorer, flat 0.8 mm" in (here / "c" / "01-coupon-scorer.ngc").read_text(encoding="utf-8")


# The gauge


def test_gauge_writes_one_program(here: Path) -> None:
    result = run("gauge", "bench-router", "--length", "120")
    assert 0 == result.exit_code
    text = (here / "out" / "gauge-bench-router.ngc").read_text(encoding="utf-8")
    page = Page((here / "out" / "gauge-bench-router.html").read_text(encoding="utf-8"))
    assert page.fetched == []
    for words in ("Gauge", "120.00 mm", "neckpath gauge bench-router --length 120 --axis x --measured ...", "Cautions"):
        assert words in page.said
    assert ("G0 X135 Y15" in text, "G0 X15 Y155" in text) == (True, True)
    assert "neckpath gauge bench-router --axis y --measured ... --length 120" in result.output


def test_the_printed_block_goes_into_the_machine_file(here: Path) -> None:
    result = run("gauge", "bench-router", "--measured", "399.68")
    assert 0 == result.exit_code
    assert "fret 12 of a 650.0 mm scale would stand 0.260 mm too near the nut, 1.4 cents flat" in result.output
    (here / "mine.yaml").write_text(f"{BENCH}\n{result.output}", encoding="utf-8")
    assert pytest.approx(400 / 399.68) == load_machine("mine.yaml").correction[0]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["nothing-here"], "no machine of this name"),
        (["bench-router", "--bit", "quarter"], "quarter cuts a line 6.35 mm wide"),
        (["bench-router", "--wood", "cheese"], "No wood is called `cheese`"),
        (["bench-router", "--measured", "380"], "measure again"),
        (["bench-router", "--length", "10"], "too short to measure"),
    ],
)
def test_what_cannot_be_gauged_ends_with_two(arguments: list[str], said: str, here: Path) -> None:
    result = run("gauge", *arguments)
    assert 2 == result.exit_code
    assert said in " ".join(re.sub(r"[│╭╮╰╯─]", " ", result.output).split())
    assert [] == list(here.iterdir())


# What check says


def test_check_says_what_an_unmeasured_axis_may_do_to_the_frets() -> None:
    # Fret 12 of 584 mm lies at 292; 0.1 mm in 500 moves it by 0.0584 mm: 1200 log2(292 / (292 - 0.0584)) = 0.346.
    found = run("check", BOARD, *COARSE).output
    assert (
        "The X axis has not been calibrated. An error of 0.1 mm in 500 mm would move fret 12 by 0.058 mm, 0.3 cents: "
        "`neckpath gauge bench-router` measures it." in found
    )


def test_check_says_what_is_corrected(here: Path) -> None:
    measured = "measured: {x: {commanded: 500, measured: 499.6}, backlash: {x: 0.08}}"
    (here / "mine.yaml").write_text(f"{BENCH}\n{measured}\n", encoding="utf-8")
    job = here / "job.yaml"
    job.write_text(SHORT.read_text(encoding="utf-8").replace("bench-router", "mine.yaml"), encoding="utf-8")
    found = run("check", job, *COARSE).output
    # The job has five frets: fret 5 of 300 mm lies at 75.25; 0.0008 of that is 0.060 mm, 0.46 cents.
    assert (
        "X is corrected: 500.00 mm was measured as 499.60 mm. Uncorrected, fret 5 would be 0.060 mm too near "
        "the nut, 0.5 cents flat." in found
    )
    assert "Backlash in X, 0.080 mm: the programs come to each line from lower X" in found


def test_a_job_without_frets_is_told_nothing_of_them() -> None:
    assert "taken as true" not in run("check", NECK, "--brief", *COARSE).output
