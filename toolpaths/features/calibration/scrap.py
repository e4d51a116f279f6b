"""A setup and a job of its own for what is cut in scrap or in the waste board: no job file can ask for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from toolpaths.features.feature import Feature
from toolpaths.job.bit import Bit
from toolpaths.job.holders import HoldWord
from toolpaths.job.job import Board, Instrument, Job, Saw, Width
from toolpaths.job.job_hash import hash_of
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.machine import Machine, OffsetName
from toolpaths.job.setup import Setup
from toolpaths.job.stock import KeepOut, Stock, Zero
from toolpaths.job.wood import Wood

_KERF = 1.2
"""No saw follows these cuts; a job has one, mm."""


def scrap_setup(
    name: str,
    offset: OffsetName,
    scrap: Stock,
    features: Sequence[Feature],
    hold: HoldWord | None = "tape",
    keep_out: Sequence[KeepOut] = (),
) -> Setup:
    """A setup that cuts in a piece of its own, its zero at the piece's end, edge and top."""
    return Setup(
        name=name,
        offset=offset,
        zero=Zero(x="stock end", y="stock edge", z="stock top"),
        stock=scrap,
        nut_at=0.0,
        hold=hold,
        keep_out=tuple(keep_out),
        features=tuple(features),
    )


def machine_job(
    file: str, title: str, machine: Machine, wood: Wood, bits: Mapping[str, Bit], setup: Setup
) -> LoadedJob:
    """The job in memory of a program about the machine itself: one setup, no instrument.

    `file`: what findings call it. Where the machine's offsets lie is left out: zero is set anew for this.
    """
    if (stock := setup.stock) is None:
        raise ValueError("a setup about the machine itself cuts a piece of its own")
    # A job begins with a blank of its instrument; this one has none, so the model's rules are not asked.
    job = Job.model_construct(
        title=title,
        units=machine.units,
        machine=machine.name,
        wood=wood.name,
        # No instrument is cut; a job has one.
        instrument=Instrument(
            scale_length=100.0, frets=1, board=Board(width=Width(nut=10, there=10, at="end"), overhang=1, thickness=1)
        ),
        stock=stock,
        bits=dict(bits),
        saw=Saw(kerf=_KERF),
        setups=(setup,),
    )
    free = machine.model_copy(update={"offsets": dict.fromkeys(machine.offsets)})
    return LoadedJob(Path(file), job, free, wood, "", hash_of(job, free, wood))
