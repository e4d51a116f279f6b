"""Cards of findings on the preview page: the gravest open, the rest folded, each with its parts."""

from __future__ import annotations

from dataclasses import replace
from html.parser import HTMLParser

from toolpaths.reports.preview.preview_page import preview_page
from toolpaths.reports.preview.viewer_findings import OPEN, cards_of
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome
from toolpaths.verification.wording.message import Message

SAID = Message("the wall <b>is</b> too thin", "fret 7", "set `depth: 9.2`", "1.83 mm of wood", "least 2.00 mm")


class _Seen(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self.text = ""
        self.feed(page)
        self.text = " ".join(self.text.split())

    def handle_data(self, data: str) -> None:
        self.text += f" {data}"


def test_stops_and_warnings_are_open_and_notes_are_folded(outcome: Outcome) -> None:
    warns = [Finding.of("chip-thick", Message(f"warning {i}")) for i in range(OPEN + 2)]
    notes = [Finding.of("runout", Message("a note"))] * 3
    cards = cards_of(replace(outcome, findings=(*warns, *notes)))
    assert [1, 2, 3, 4] == [c.number for c in cards.open]
    assert [5, 6, 7, 8, 9] == [c.number for c in cards.folded]
    assert "2 warnings, 3 notes" == cards.summary
    assert {"Warning"} == {c.kind for c in cards.open}


def test_a_card_says_what_is_wrong_what_to_do_what_was_measured_and_where(outcome: Outcome) -> None:
    finding = Finding.of("wall-too-thin", SAID, place=(10.0, -0.001), feature="pocket", job_line=12)
    text = _Seen(preview_page(replace(outcome, findings=(finding,)))).text
    assert Severity.stop is finding.severity
    for words in (
        "Stop 1 the wall <b>is</b> too thin at fret 7",
        "What to do: set depth: 9.2",
        "Measured: 1.83 mm of wood; Limit: least 2.00 mm",
        "wall-too-thin , feature pocket , bass_uke.yaml:12, x 10.00, y 0.00 mm",
        "Show 1 on the map",
    ):
        assert words.replace(" ,", ",") in text.replace(" ,", ",").replace(" ;", ";"), words


def test_a_finding_without_a_place_has_no_button(outcome: Outcome) -> None:
    page = preview_page(replace(outcome, findings=(Finding.of("moisture", Message("the wood is damp")),)))
    assert "data-finding=" not in page.split("<script", 1)[0]
    assert "the wood is damp" in page
