"""`neckpath machines`: the list, one of them, and a file of one's own looked over."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import Result

from tests.support.commands import typed
from toolpaths.job.files.machine_file import machine_paths


def run(*arguments: str | Path) -> Result:
    return typed("machines", *arguments)


@pytest.fixture
def own(tmp_path: Path) -> Path:
    path = tmp_path / "mine.yaml"
    path.write_text(machine_paths()["small-frame"].read_text(encoding="utf-8"), encoding="utf-8")
    return path


def spoil(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_the_list_has_all_four() -> None:
    out = run().stdout
    for name in ("bench-router", "hand-dial", "shop-gantry", "small-frame"):
        assert f"\n{name} " in out
    assert "set by its dial" in out


def test_one_is_shown_with_its_meaning_and_its_text() -> None:
    out = run("small-frame").stdout
    assert "small-frame: small frame" in out
    assert "M3 and M5 switch it, a hand turns its dial" in out
    assert "\n    S18000 M3\n" in out


def test_a_name_that_is_not_there_is_answered() -> None:
    result = run("small-fram")
    assert 2 == result.exit_code
    assert "No machine is called `small-fram`; did you mean `small-frame`?" in result.stderr


def test_a_good_file_of_one_s_own_is_said_to_be_good(own: Path) -> None:
    result = run("--check", own)
    assert 0 == result.exit_code
    assert "The file can be used. No figure in it is unlikely." in result.stdout


def test_an_unlikely_figure_is_a_warning_with_its_place(own: Path) -> None:
    spoil(own, "acceleration: {x: 60,", "acceleration: {x: 0.5,")
    spoil(own, "safe_height: 4\n", "safe_height: 40\n")
    result = run("--check", own)
    assert 0 == result.exit_code
    line = own.read_text(encoding="utf-8").splitlines().index("acceleration: {x: 0.5, y: 60, z: 40}") + 1
    assert f"warn {own}:{line}:19: acceleration.x: X accelerates at 0.5 mm/s2" in result.stdout
    assert (
        "safe_height: 40.00 mm above stock and clamps is more than half of the 45.00 mm that Z travels" in result.stdout
    )
    assert "Unlikely: 2 figures; look again." in result.stdout


def test_a_fault_is_told_with_its_place_and_nothing_else_is_shown(own: Path) -> None:
    spoil(own, "dwell: milliseconds", "dwel: milliseconds")
    spoil(own, "decimals: 3", "decimals: 9")
    result = run("--check", own)
    assert 2 == result.exit_code
    assert "dwel: this key is not known here" in result.stderr
    assert "did you mean `dwell`?" in result.stderr
    assert "decimals: must be at most 6" in result.stderr
    assert "" == result.stdout


def test_a_file_that_is_not_there_ends_with_2(tmp_path: Path) -> None:
    result = run("--check", tmp_path / "none.yaml")
    assert 2 == result.exit_code
    assert "none.yaml" in result.stderr


def test_a_name_and_a_file_are_not_asked_for_at_once(own: Path) -> None:
    assert 2 == run("small-frame", "--check", own).exit_code


def test_what_a_file_leaves_open_is_listed_with_what_follows(own: Path) -> None:
    said = run("--check", own).stdout
    assert "Not known of this machine:" in said
    assert "- stiffness: Not measured: taken as 120 N/mm" in said
    assert f"`neckpath gauge {own}` measures X and Y." in said
    spoil(own, "runout:", "# runout:")
    assert "- runout: Not given; 0 is taken." in run("--check", own).stdout


def test_a_check_of_a_file_makes_nothing_and_says_nothing_of_it(own: Path) -> None:
    good = own.read_text()
    for faults, said in ((1, "1 problem: the file cannot be used yet."), (2, "2 problems: the file cannot be used")):
        own.write_text(good + "".join(f"oddkey{n}: 1\n" for n in range(faults)))
        found = run("--check", own)
        assert 2 == found.exit_code
        assert said in found.stderr
        assert "made" not in found.stderr
