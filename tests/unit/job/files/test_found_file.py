"""The file of measured values: read like a job, with the place of every fault; written whole."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.common.errors import JobError
from toolpaths.common.units import Units
from toolpaths.job.files.found_file import found_path, read_found, write_found
from toolpaths.job.files.found_model import FoundValue

HASH = "0123456789ab"


def job_at(folder: Path, text: str) -> Path:
    job = folder / "board.yaml"
    found_path(job).write_text(text, encoding="utf-8")
    return job


@given(
    values=st.dictionaries(
        st.integers(1, 999).map(lambda n: f"M{n}"),
        st.tuples(st.floats(0, 600).map(lambda v: round(v, 3)), st.integers(0, 9)),
        max_size=8,
    ),
    units=st.sampled_from(["mm", "in"]),
)
@settings(max_examples=40)
def test_what_is_written_is_read_again(
    values: dict[str, tuple[float, int]], units: Units, tmp_path_factory: pytest.TempPathFactory
) -> None:
    job = tmp_path_factory.mktemp("job") / "board.yaml"
    kept = {m: FoundValue.model_construct(value=v, cut=cut) for m, (v, cut) in values.items()}
    write_found(job, HASH, kept, dict.fromkeys(kept, "a place: with # signs"), units)
    file = read_found(job, units)
    assert file is not None
    assert HASH == file.found.job
    assert {m: one.cut for m, one in kept.items()} == {m: one.cut for m, one in file.found.found.items()}
    for mark, one in kept.items():
        assert file.found.found[mark].value == pytest.approx(one.value, abs=2e-4)


def test_a_job_of_which_nothing_was_measured_has_none(tmp_path: Path) -> None:
    assert read_found(tmp_path / "board.yaml", "mm") is None


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("job: 0123456789ab\nfound:\n  M3: five\n", (3, 7), "not a length"),
        ("job: 0123456789ab\nfound:\n  M3: -1\n", (3, 7), "must not be less than 0"),
        ("job: 0123456789ab\nfound:\n  mark 3: 5\n", (3, 11), "write a mark of the sheet"),
        ("job: 0123456789ab\nfound:\n  M3: {value: 5, cut: -1}\n", (3, 23), "at least 0"),
        ("job: 0123456789ab\nfound:\n  M3: {value: 5, late: 1}\n", (3, 18), "not known here"),
        ("job: now\nfound: {}\n", (1, 6), "characters that cannot be used here"),
        ("found: {}\n", (1, 1), "is missing"),
        ("job: 0123456789ab\nfound:\n  M3: 5\n  M3: 6\n", (4, 3), "given twice"),
        ("job: 0123456789ab\nfound: [5]\n", (2, 8), "write keys and values here"),
        ("job: 0123456789ab\nfound:\n  M3: 5 mn\n", (3, 7), "not a length"),
    ],
)
def test_a_fault_is_told_with_its_place(text: str, place: tuple[int, int], words: str, tmp_path: Path) -> None:
    with pytest.raises(JobError) as caught:
        read_found(job_at(tmp_path, text), "mm")
    problem = caught.value.problems[0]
    assert place == (problem.line, problem.column)
    assert words in problem.problem
    assert problem.file.endswith("board.found.yaml")


def test_bare_numbers_are_in_the_units_of_the_job(tmp_path: Path) -> None:
    job = job_at(tmp_path, "job: 0123456789ab\nfound: {M1: 0.25, M2: 5.94 mm}\n")
    file = read_found(job, "in")
    assert file is not None
    assert [6.35, 5.94] == pytest.approx([one.value for one in file.found.found.values()])
