"""A short board with what was measured on its wood, for tests of what follows from that. Invented."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.gcode.program import Program
from toolpaths.job.changes import Changes
from toolpaths.job.files.found_file import found_path, write_found
from toolpaths.job.files.found_model import FoundValue
from toolpaths.pipeline.as_found import history_of
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.load import load_job

ROOT = Path(__file__).parents[2]
SHORT = (ROOT / "tests" / "cases" / "short_board.yaml").read_text(encoding="utf-8")
COARSE = Changes(pitch=0.4)


def board(folder: Path, zero: str = "stock top") -> Path:
    """The job file of a short board. `zero`: where its Z is zeroed."""
    path = folder / "board.yaml"
    path.write_text(SHORT.replace("z: stock top", f"z: {zero}"), encoding="utf-8")
    return path


def marks(job: Path) -> tuple[Mark, ...]:
    """The measuring list of a job without measured values."""
    return history_of(load_job(job)).marks


def of(every: tuple[Mark, ...], meaning: Meaning) -> list[Mark]:
    """The marks of one meaning."""
    return [m for m in every if m.meaning is meaning]


def tell(job: Path, values: Mapping[str, float], cut: Mapping[str, int] | None = None) -> None:
    """Write measured values, mm, by mark name; `cut`: how many programs were cut when each was written down."""
    late = cut or {}
    found = {name: FoundValue.model_construct(value=v, cut=late.get(name, 0)) for name, v in values.items()}
    found_path(job).unlink(missing_ok=True)
    loaded = load_job(job)
    write_found(job, loaded.job_hash, found, {}, loaded.job.units)


def texts(job: Path) -> dict[str, str]:
    """The text of every program of a job by file name."""
    return {p.name: p.text for p in programs(job)}


def programs(job: Path) -> tuple[Program, ...]:
    """Every program of a job."""
    return tuple(p for _, p in lay_out(job, COARSE).own)
