"""`neckpath compare`: runs side by side, what cannot be cut among them, and what is typed wrong."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from tests.support.commands import typed
from toolpaths.cli import app

ROOT = Path(__file__).parents[3]
JOB = ROOT / "tests" / "cases" / "short_board.yaml"
COARSE = ["--pitch", "1"]


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def run(*arguments: str | Path) -> Result:
    return typed("compare", JOB, *arguments)


def report() -> dict[str, object]:
    (found,) = Path("out").glob("*/compare.json")
    loaded: dict[str, object] = json.loads(found.read_text(encoding="ascii"))
    return loaded


def test_four_bits_beside_the_job_as_written() -> None:
    result = run("--bit", "scorer=0.4,0.5,0.8,vee60", "--pitch", "0.2")
    assert 0 == result.exit_code, result.output
    whole = report()
    runs = {v["run"]: v for v in whole["variants"]}  # type: ignore[attr-defined]
    assert ["scorer=0.4", "scorer=0.5", "scorer=0.8", "scorer=vee60"] == list(runs)
    assert runs["scorer=0.5"]["same"]

    def lines(of: dict[str, object]) -> dict[str, float]:
        return next(f for f in of["features"] if f["name"] == "score_lines")  # type: ignore[attr-defined]

    # A flat bit's line is as wide as it, and wider by the 0.02 mm that the machine runs out of true.
    assert pytest.approx((0.42, 0.82)) == (lines(runs["scorer=0.4"])["width_mm"], lines(runs["scorer=0.8"])["width_mm"])
    assert lines(runs["scorer=vee60"])["passes"] < lines(whole["as_written"])["passes"]  # type: ignore[arg-type]
    # The kerf's limit of 0.02 over 0.58 is told of the widest line alone.
    assert {"scorer=0.8"} == {name for name, v in runs.items() if any(f["code"] == "kerf" for f in v["findings"])}
    for name in ("scorer=0.4", "scorer=0.8", "scorer=vee60"):
        picture = runs[name]["picture"]
        assert (Path("out") / "short_board@compare" / picture).read_bytes().startswith(b"\x89PNG")
    assert runs["scorer=0.8"]["deeper_mm3"] > 0 == runs["scorer=0.8"]["higher_mm3"]
    assert runs["scorer=0.4"]["higher_mm3"] > 0 == runs["scorer=0.4"]["deeper_mm3"]
    assert "it is the job as written" in result.output
    assert not list(Path("out").glob("*/*.ngc")), "no program is written"


@pytest.mark.slow
def test_the_demo_with_four_bits() -> None:
    """What the README and the docs show, on the demo itself."""
    demo = ROOT / "demo_jobs" / "tenor_board.yaml"
    bits = ["--bit", "scorer=0.5,0.6,0.8,vee60"]
    result = CliRunner().invoke(app, ["compare", str(demo), *bits, *COARSE])
    assert 0 == result.exit_code, result.output
    runs = {v["run"]: v for v in report()["variants"]}  # type: ignore[attr-defined]
    assert ["scorer=0.5", "scorer=0.6", "scorer=0.8", "scorer=vee60"] == list(runs)
    base = report()["as_written"]

    def lines(of: object) -> dict[str, float]:
        return next(f for f in of["features"] if f["name"] == "score_lines")  # type: ignore[index]

    # Depth 0.5: a flat bit's line is as wide as the bit; a V bit's tip (0.1) + 2 d tan(30 degrees) = 0.6774. Derived.
    # All of them by the machine's runout of 0.02 mm wider.
    wide = [0.52, 0.62, 0.82, 0.12 + 2 * 0.5 * math.tan(math.radians(30))]
    assert wide == pytest.approx([lines(v)["width_mm"] for v in runs.values()], abs=1e-4)
    # A thinner bit bears less: lower feed, more minutes; the V bit takes the line at once.
    minutes = [lines(v)["minutes"] for v in runs.values()]
    assert minutes[0] > minutes[1] > minutes[2] > minutes[3]
    assert lines(base)["minutes"] == minutes[0]
    assert 1 == lines(runs["scorer=vee60"])["passes"] < lines(base)["passes"]
    assert [True, False, False, False] == [v["same"] for v in runs.values()]
    # Kerf 0.58: lines of 0.82 and 0.70 mm are warned of, one of 0.62 is a note; 0.52 is within it.
    assert [[], ["kerf"], ["kerf"], ["kerf"]] == [[f["code"] for f in v["new_findings"]] for v in runs.values()]
    assert "lines do not guide the saw" in result.output


def test_a_smaller_bit_in_pockets_takes_longer() -> None:
    assert 0 == run("--bit", "three=2", *COARSE).exit_code
    (variant,) = report()["variants"]  # type: ignore[misc]
    base = report()["as_written"]
    pockets = [next(f for f in r["features"] if f["name"] == "marker_pockets") for r in (base, variant)]  # type: ignore[index]
    assert pockets[0]["minutes"] < pockets[1]["minutes"]


def test_a_bit_that_cannot_cut_it_is_told_in_its_row() -> None:
    result = run("--bit", "three=2,6", *COARSE)
    assert 0 == result.exit_code, result.output
    assert "cannot be cut so" in result.output
    refused = {v["run"]: v["refused"] for v in report()["variants"]}  # type: ignore[attr-defined]
    assert [] == refused["three=2"]
    assert any("the pockets only 5.00 mm" in words for words in refused["three=6"])


def test_a_bit_that_must_not_cut_it_is_told_with_the_judge_s_words() -> None:
    # Its flutes are shorter than the board is thick.
    result = run("--bit", "six=sixteenth,5", *COARSE)
    assert 0 == result.exit_code, result.output
    assert "no: stopped" in result.output
    runs = {v["run"]: v for v in report()["variants"]}  # type: ignore[attr-defined]
    assert [True, False] == [runs[name]["stopped"] for name in ("six=sixteenth", "six=5")]
    (stop,) = [f for f in runs["six=sixteenth"]["new_findings"] if f["severity"] == "stop"]
    assert ("shank-in-wood", "outline") == (stop["code"], stop["feature"])
    assert "the shank runs against wood" in result.output
    assert 1 == run("--bit", "six=sixteenth", *COARSE).exit_code


@pytest.mark.slow
def test_two_bits_are_each_changed_alone() -> None:
    assert 0 == run("--bit", "scorer=0.4", "--bit", "six=5", *COARSE).exit_code
    changed = [
        {f["name"] for f, g in zip(v["features"], report()["as_written"]["features"], strict=True) if f != g}  # type: ignore[index]
        for v in report()["variants"]  # type: ignore[attr-defined]
    ]
    assert "score_lines" in changed[0]
    assert "outline" not in changed[0]
    assert "outline" in changed[1]
    assert "score_lines" not in changed[1]


def test_one_feature_alone_may_be_compared() -> None:
    assert 0 == run("--bit", "scorer=0.4", "--only", "score_lines", *COARSE).exit_code
    assert ["score_lines"] == [f["name"] for f in report()["as_written"]["features"]]  # type: ignore[index]


def test_a_job_that_cannot_be_used_ends_with_two(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text(JOB.read_text(encoding="utf-8").replace("depth: 0.4", "depth: -1"), encoding="utf-8")
    result = CliRunner().invoke(app, ["compare", str(wrong), "--bit", "scorer=0.4"])
    assert 2 == result.exit_code
    assert "wrong.yaml:" in result.output
    assert not Path("out").exists()


def test_where_no_bit_may_be_cut_with_it_ends_in_a_stop() -> None:
    result = run("--bit", "three=6", *COARSE)
    assert 1 == result.exit_code
    assert "None of these bits may be cut with." in result.output


@pytest.mark.parametrize("given", ["scorer", "scorer=", "=0.5", "scorer=0.5,,0.8", "nothing=0.5", "scorer=nobody"])
def test_what_is_typed_wrong_ends_with_two(given: str) -> None:
    assert 2 == run("--bit", given, *COARSE).exit_code
    assert not Path("out").exists()


@pytest.mark.slow
def test_a_variant_is_what_the_job_gives_with_that_bit() -> None:
    """The same figures as `check --bit`: one way through the house, not two."""
    run("--bit", "scorer=0.8", *COARSE)
    (variant,) = report()["variants"]  # type: ignore[misc]
    result = CliRunner().invoke(app, ["write", str(JOB), "--bit", "scorer=0.8", "-o", "w", *COARSE])
    assert 0 == result.exit_code
    written = json.loads(Path("w/report.json").read_text(encoding="ascii"))
    assert sum(p["minutes"] for p in written["programs"]) == pytest.approx(variant["minutes"], abs=0.01)


def test_the_page_is_one_file_and_text_stays_text() -> None:
    run("--bit", "scorer=0.8", *COARSE)
    (page,) = Path("out").glob("*/compare.html")
    text = page.read_text(encoding="utf-8")
    assert "://" not in text.replace("http://www.w3.org", "")
    assert "<script" not in text
    assert 'name="viewport"' in text
