"""Findings: what is wrong and how severe it is. Checks return them; nothing raises them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import Literal, TypedDict, Unpack

from toolpaths.verification.wording.message import Message


class Severity(StrEnum):
    """How severe a finding is. `stop` means that no program is written."""

    stop = "stop"
    warn = "warn"
    note = "note"


class Cause(IntEnum):
    """What a fault makes wrong beside itself: the smaller the number, the more. Findings are sorted by it."""

    text = 0
    job = 1
    units = 2
    plane = 3
    distance = 4
    offset = 5
    bit = 6
    spindle = 7
    nothing = 8


CAUSE: dict[str, Cause] = {
    "unreadable": Cause.text,
    "header": Cause.job,
    "air": Cause.offset,
    "wrong-bit": Cause.bit,
    "spindle": Cause.spindle,
}
"""Of the findings of a code, where its check says no other."""

SEVERITY: dict[str, Severity] = {
    "gouge": Severity.stop,
    "rapid-in-wood": Severity.stop,
    "keep-out": Severity.stop,
    "travel": Severity.stop,
    "shank-in-wood": Severity.stop,
    "deeper-than-flutes": Severity.stop,
    "into-bed": Severity.stop,
    "spindle": Severity.stop,
    "setup-words": Severity.stop,
    "safe-height": Severity.stop,
    "wrong-bit": Severity.stop,
    "no-touch-off": Severity.stop,
    "stock-too-small": Severity.stop,
    "covered-clamp": Severity.stop,
    "air": Severity.stop,
    "header": Severity.stop,
    "unreadable": Severity.stop,
    "uncut": Severity.stop,
    "inlay-fit": Severity.stop,
    "fret-off": Severity.stop,
    "fan-reversed": Severity.warn,
    "pins-apart": Severity.stop,
    "pins-alike": Severity.warn,
    "place-play": Severity.warn,
    "wall-too-thin": Severity.stop,
    "wood-between": Severity.stop,
    "rod-uncovered": Severity.stop,
    "carved-away": Severity.stop,
    "bolt-off-seat": Severity.stop,
    "off-part": Severity.warn,
    "feed-differs": Severity.stop,
    "rpm-differs": Severity.stop,
    "chip-thick": Severity.warn,
    "chip-thin": Severity.warn,
    "pass-depth": Severity.warn,
    "pass-deep": Severity.warn,
    "chips-pack": Severity.warn,
    "fine-bit": Severity.warn,
    "deflection": Severity.warn,
    "power": Severity.warn,
    "reach": Severity.warn,
    "surface-speed": Severity.warn,
    "spiral": Severity.warn,
    "runout": Severity.note,
    "plunge": Severity.warn,
    "kerf": Severity.warn,
    "part-loose": Severity.stop,
    "part-parted": Severity.stop,
    "hold-weak": Severity.stop,
    "gives-way": Severity.warn,
    "offcut-loose": Severity.warn,
    "holder-unplaced": Severity.stop,
    "holder-place": Severity.stop,
    "gone-after-radius": Severity.warn,
    "thin-after-radius": Severity.warn,
    "thin-under-slot": Severity.warn,
    "string-angle": Severity.warn,
    "moisture": Severity.warn,
    "idle-bit": Severity.note,
}
"""Severity by code. A check may raise a warning to a stop above twice its limit."""

NEVER_ACCEPTED: frozenset[str] = frozenset(
    {
        "spindle",
        "setup-words",
        "rapid-in-wood",
        "keep-out",
        "travel",
        "shank-in-wood",
        "header",
        "unreadable",
        "air",
        "wrong-bit",
        "wall-too-thin",
        "part-loose",
        "part-parted",
        "hold-weak",
        "holder-unplaced",
        "holder-place",
    }
)
"""Codes that `--accept` cannot accept. A check may say the same of one finding of another code."""


@dataclass(frozen=True, slots=True)
class Entry:
    """`key: value` as typed in a job file, in its units: of the finding's feature, of its setup, or of the job.

    A value that is a mapping is joined to what stands there.
    """

    key: str
    value: str
    of: Literal["feature", "setup", "job"] = "feature"


Remedy = tuple[Entry, ...]
"""Entries that end a finding, to be set together."""


class Where(TypedDict, total=False):
    """What a finding belongs to, as `Finding` has it."""

    feature: str
    job_line: int
    program: str
    program_line: int
    remedies: tuple[Remedy, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault or remark that a check has found. Returned, never raised.

    `said`: its words; lengths in them are written by the check in the job's units.
    `x`, `y` are mm in the setup's frame (nut line, centreline, as seen at the machine).
    `program` is the file name, `program_line` and `job_line` count from 1; 0 means none.
    `never_accepted`: `--accept` cannot let it pass.
    `remedies`: the entries of the job that `said` offers, one or the other; each ends the finding.
    """

    code: str
    said: Message
    feature: str = ""
    job_line: int = 0
    program: str = ""
    program_line: int = 0
    x: float | None = None
    y: float | None = None
    severity: Severity = Severity.note
    cause: Cause = Cause.nothing
    never_accepted: bool = False
    remedies: tuple[Remedy, ...] = ()

    @property
    def message(self) -> str:
        """Its words on one line, without places."""
        return self.said.text

    @staticmethod
    def of(
        code: str,
        said: Message,
        *,
        place: tuple[float, float] | None = None,
        severity: Severity | None = None,
        cause: Cause | None = None,
        **where: Unpack[Where],
    ) -> Finding:
        """A finding with the severity and the cause of the tables, unless others are given."""
        x, y = (None, None) if place is None else (float(place[0]), float(place[1]))
        return Finding(
            code,
            said,
            x=x,
            y=y,
            severity=SEVERITY[code] if severity is None else severity,
            cause=CAUSE.get(code, Cause.nothing) if cause is None else cause,
            never_accepted=code in NEVER_ACCEPTED,
            **where,
        )
