"""Every check that stops is tripped by a fault in the text, and lets a near miss pass; on a job that is no demo."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.faults import FAULTS, JOB, PITCH, Edit, Fault
from tests.support.judging import judged as judged_alone
from tests.support.made import made
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import verify
from toolpaths.verification.finding import SEVERITY, Finding, Severity

IN_THE_JOB = {
    "stock-too-small",
    "covered-clamp",
    "pins-apart",
    "rod-uncovered",
    "carved-away",
    "bolt-off-seat",
    "wood-between",
    "wall-too-thin",
    "holder-unplaced",
    "holder-place",
}
"""Faults of the job, not the text."""
LIFTED = {"air"}
ON_TABS = {"part-loose", "part-parted", "hold-weak"}
"""Told of parts that hang on tabs, and this one lies on tape: `tests/tamper/holding_kinds.py` has faults of them."""
OF_TWO_PIECES = {"inlay-fit"}
"""Told of a board and a sheet together: see `tests/unit/test_inlaid_board.py`."""


def judged(program: int, edit: Edit, air: float = 0.0) -> list[Finding]:
    changes = Changes(pitch=PITCH, air=air)
    outcome = made(JOB, changes)
    return list(judged_alone(JOB, program - 1, edit(outcome.programs[program - 1].text, outcome), changes))


# One for each program, one that cannot be read, one that claims another's place, and one in the air.
@pytest.mark.parametrize(
    ("program", "old", "new", "air"),
    [
        pytest.param(1, "M5", "G1 Z-3 F100\nM5", 0.0, marks=pytest.mark.slow),
        pytest.param(2, "\nM3", "\nM5", 0.0, marks=pytest.mark.slow),
        (3, "\nM5\n", "\nG0 X63 Y34\nG1 Z-3 F100\nM5\n", 0.0),
        (4, "\nM5\n", "\nG0 X63 Y34\nG1 Z-1.25 F90\nM5\n", 0.0),
        pytest.param(3, "G21", "G38.2", 0.0, marks=pytest.mark.slow),
        (2, "(Program 2 of 4", "(Program 3 of 4", 0.0),
        (4, "\nM5\n", "\nG0 Z3.7\nM5\n", 20.0),
        (3, "", "", 0.0),
    ],
)
def test_a_program_judged_alone_is_judged_as_by_verify(
    program: int, old: str, new: str, air: float, tmp_path: Path
) -> None:
    changes = Changes(pitch=PITCH, air=air)
    own = made(JOB, changes).programs[program - 1]
    text = own.text.replace(old, new, 1) if old else own.text
    assert bool(old) == (text != own.text)
    (tmp_path / own.name).write_text(text)
    whole = verify(JOB, [tmp_path / own.name], changes).findings
    for _ in range(2):
        alone = judged_alone(JOB, program - 1, text, changes)
        assert whole == alone
        assert bool(old) == any(f.severity is Severity.stop for f in alone)


def test_the_set_as_written_has_no_finding_that_stops() -> None:
    assert [] == [f for f in made(JOB, Changes(pitch=PITCH)).findings if f.severity is Severity.stop]


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_a_fault_is_told(fault: Fault) -> None:
    found = [f for f in judged(fault.program, fault.bad) if f.severity is Severity.stop]
    assert fault.code in {f.code for f in found}
    assert all(f.message for f in found)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_a_near_miss_is_not(fault: Fault) -> None:
    assert [] == [f for f in judged(fault.program, fault.near) if f.code == fault.code]


def test_a_lifted_program_that_dips_to_the_wood_is_told() -> None:
    def lowered(z: float) -> Edit:
        return lambda text, _: text.replace("\nM5\n", f"\nG0 Z{z}\nM5\n", 1)

    # Lifted by 20, the fence at Z 2.8 is the highest: a millimetre above it is clear.
    assert "air" not in {f.code for f in judged(4, lowered(3.8), air=20.0)}
    assert "air" in {f.code for f in judged(4, lowered(3.7), air=20.0)}


def changed_job(folder: Path, old: str, new: str) -> set[str]:
    text = JOB.read_text()
    assert old in text
    path = folder / "job.yaml"
    path.write_text(text.replace(old, new))
    return {f.code for f in made(path, Changes(pitch=PITCH)).findings if f.severity is Severity.stop}


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        # The part ends at 300 (1 - 2^(-5/12)) + 6 = 81.254; the nut is 18 in, so it needs 99.254.
        ("length: 124", "length: 99.3", False),
        ("length: 124", "length: 99.2", True),
        ("min: 5.9", "min: 5", False),
        ("min: 5.9", "min: 4.95", True),
    ],
)
def test_a_blank_too_small_is_told(old: str, new: str, expected: bool, tmp_path: Path) -> None:
    text = JOB.read_text().replace(", [96, 0]]", "]")
    path = tmp_path / "job.yaml"
    path.write_text(text.replace(old, new))
    found = {f.code for f in made(path, Changes(pitch=PITCH)).findings if f.severity is Severity.stop}
    assert expected == ("stock-too-small" in found)


@pytest.mark.parametrize(("x", "expected"), [("[-40, -18]", False), ("[-40, -17]", True)])
def test_a_clamp_on_a_blank_to_be_planed_is_told(x: str, expected: bool, tmp_path: Path) -> None:
    codes = changed_job(tmp_path, "x: [-40, 120], y: [-66, -56], height: 9", f"x: {x}, y: [-5, 5], height: 9")
    assert expected == ("covered-clamp" in codes)


def test_every_code_that_stops_has_its_fault() -> None:
    stops = {code for code, severity in SEVERITY.items() if severity is Severity.stop}
    assert set() == stops - {f.code for f in FAULTS} - IN_THE_JOB - ON_TABS - LIFTED - OF_TWO_PIECES
