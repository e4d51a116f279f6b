"""Cautions of commands that write a first file, or a program for a scrap: a few lines, in one place."""

from __future__ import annotations

from toolpaths.common.units import Units, show

FIRST_JOB = (
    "Caution: a router can hurt you and ruin wood. Read docs/safety.md and the machine's manual before the first cut.",
    "The sizes in the file are usual ones, not yours. Measure blank, bits and machine, and correct the file.",
    "Run every program in the air first: neckpath write FILE --air {}",
)
"""Of a first job, on the screen and at the top of its file."""
_AIR = {"mm": "30", "in": "1.25"}
"""How high a first run goes above the work, as it is typed."""
_LIFT = {"mm": 30.0, "in": 31.75}


def first_job(units: Units, file: str) -> tuple[str, ...]:
    """The cautions of a first job, for its file."""
    return tuple(line.format(_AIR[units]).replace("FILE", file) for line in FIRST_JOB)


def scrap(units: Units) -> tuple[str, ...]:
    """The cautions of a program that cuts a scrap or a waste board."""
    return (
        f"Caution: run it in the air first, with Z zero set {show(_LIFT[units], units)} too high; then set Z right.",
        "Extraction on, eyes, ears and lungs protected, no gloves. Stay at the stop button.",
    )
