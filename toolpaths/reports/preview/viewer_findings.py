"""Findings of the preview page: a card for each, the gravest open and the rest folded."""

from __future__ import annotations

from dataclasses import dataclass

from toolpaths.reports.preview.viewer_setup import findings_data
from toolpaths.reports.text.words import count, places, plain
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome
from toolpaths.verification.wording.message import Message

OPEN = 4
"""Stops and warnings that stand open; further ones and all notes are folded."""
WORDS = {Severity.stop: "Stop", Severity.warn: "Warning", Severity.note: "Note"}


@dataclass(frozen=True, slots=True)
class Card:
    """One finding: its number in the report, its weight in a word and as a class, its words and its places.

    `shown`: the map has a place or a line to go to.
    """

    number: int
    weight: str
    kind: str
    said: Message
    feature: str
    code: str
    where: str
    shown: bool


@dataclass(frozen=True, slots=True)
class Cards:
    """All findings of a page: `open` first, then `folded` under `summary`."""

    open: tuple[Card, ...]
    folded: tuple[Card, ...]
    summary: str


def cards_of(outcome: Outcome) -> Cards:
    """The cards of a run, in the order of the report."""
    going = {f["number"] for setup in outcome.setups for f in findings_data(outcome, setup)}
    all_of_them = [_card(n, f, outcome, n in going) for n, f in enumerate(outcome.findings, start=1)]
    grave = [c for c in all_of_them if c.weight != Severity.note]
    folded = [*grave[OPEN:], *(c for c in all_of_them if c.weight == Severity.note)]
    return Cards(tuple(grave[:OPEN]), tuple(folded), _summary(folded))


# Private


def _card(number: int, finding: Finding, outcome: Outcome, shown: bool) -> Card:
    return Card(
        number=number,
        weight=str(finding.severity),
        kind=WORDS[finding.severity],
        said=finding.said,
        feature=plain(finding.feature),
        code=finding.code,
        where=places(finding, outcome),
        shown=shown,
    )


def _summary(cards: list[Card]) -> str:
    """`2 warnings, 3 notes`."""
    names = (("stop", "stop"), ("warn", "warning"), ("note", "note"))
    counts = [(sum(c.weight == weight for c in cards), noun) for weight, noun in names]
    return ", ".join(count(n, noun) for n, noun in counts if n)
