"""Programs kept as they were: a change of a single byte is seen, and has to be meant.

Make them anew with `python tests/golden/test_golden.py` and read the difference before you commit it.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
JOBS = {
    "short_board": HERE.parent / "cases" / "short_board.yaml",
    "inch_board": HERE.parent / "cases" / "inch_board.yaml",
    "two_sided_neck": HERE.parent / "cases" / "two_sided_neck.yaml",
}


def programs(job: Path) -> dict[str, str]:
    from toolpaths.job.changes import Changes
    from toolpaths.pipeline.build import lay_out

    return {program.name: program.text for _, program in lay_out(job, Changes()).own}


@pytest.mark.parametrize("name", JOBS)
def test_a_job_gives_the_same_bytes_as_before(name: str) -> None:
    kept = {p.name: p.read_text(encoding="ascii") for p in sorted((HERE / name).iterdir())}
    assert kept, "nothing is kept for this job"
    made = programs(JOBS[name])
    assert sorted(kept) == sorted(made)
    for file, text in made.items():
        assert kept[file].splitlines() == text.splitlines(), file


if __name__ == "__main__":
    sys.path.insert(0, str(HERE.parents[1]))
    for name, job in JOBS.items():
        folder = HERE / name
        folder.mkdir(exist_ok=True)
        for old in folder.iterdir():
            old.unlink()
        for file, text in programs(job).items():
            (folder / file).write_text(text, encoding="ascii")
