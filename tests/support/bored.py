"""CheckInput of the bores of a job, without cutting them: what the checks of places look at.

The job is `cases/headstock.yaml`, an invented four-string neck, with some words exchanged: trimmed headstock 60 wide
from x -120, heel 56 wide from x 55 to 100.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from tests.support.check_input_builder import inputs, program
from toolpaths.job.changes import Changes
from toolpaths.job.setup_context import SetupContext
from toolpaths.pipeline.build import lay_out
from toolpaths.verification.check_input import CheckInput

JOB = Path(__file__).parents[1] / "cases" / "headstock.yaml"


def bored(folder: Path, *exchanged: tuple[str, str]) -> CheckInput:
    """The job's last program as if all features had been cut; its demands, its operations, its setup."""
    text = JOB.read_text()
    for old, new in exchanged:
        assert old in text
        text = text.replace(old, new)
    path = folder / "job.yaml"
    path.write_text(text)
    layout = lay_out(path, Changes())
    operations = tuple(o for batch, _ in layout.own for o in batch.operations)
    return of_setup(layout.contexts["face"], layout.target.demands["face"], operations)


def of_setup(context: SetupContext, demands: tuple, operations: tuple) -> CheckInput:  # type: ignore[type-arg]
    """CheckInput of a setup: every feature of the demands is begun and belongs to this program."""
    names = frozenset(d.feature for d in demands)
    plain = inputs(program("G0 X-20 Y0"))
    return replace(
        plain,
        context=context,
        demands=demands,
        operations=operations,
        begun=names,
        finished=names,
        of_job=((context, demands),),
    )
