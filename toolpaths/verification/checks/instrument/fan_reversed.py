"""Is the bass side of a fanned board the longer one, as is usual?

A thick string rings clearer when it is long. A bass that is shorter than the treble can be built, but is most often
two numbers that changed places.
"""

from __future__ import annotations

from toolpaths.job.job import Fan
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.wording import instrument as words


def check(inputs: CheckInput) -> list[Finding]:
    """A finding `fan-reversed` with a set's first program."""
    fan, units = inputs.job.instrument.scale_length, inputs.job.units
    if not isinstance(fan, Fan) or fan.bass >= fan.treble or inputs.program.number != 1:
        return []
    return [
        Finding.of(
            "fan-reversed",
            words.fan_reversed(fan.bass, fan.treble, units=units),
            program=inputs.program.name,
        )
    ]
