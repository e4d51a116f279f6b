"""Does the bit that a feature names to follow the first find anything to do?"""

from __future__ import annotations

from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.wording import shape as wording


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `idle-bit`, reported with the program in which a feature is finished."""
    mine = {o.feature for o in inputs.operations}
    out: list[Finding] = []
    for feature in inputs.context.setup.features:
        if feature.name not in mine & inputs.finished:
            continue
        done = {o.bit for o in inputs.operations if o.feature == feature.name}
        first, *after = feature.bits
        out += [
            Finding.of(
                "idle-bit",
                wording.idle_bit(name, first),
                feature=feature.name,
                job_line=feature.line,
            )
            for name in after
            if name not in done
        ]
    return out
