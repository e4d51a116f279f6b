"""The two pages: what they say, and that no title becomes a command of the browser."""

from __future__ import annotations

import re
from collections.abc import Callable
from html.parser import HTMLParser

import pytest

from toolpaths.reports.pages.sheet import sheet
from toolpaths.reports.preview.preview_page import preview_page
from toolpaths.verification.outcome import Outcome
from toolpaths.verification.wording.message import Message

HOSTILE = [
    "</title><script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "</style><style>body{display:none}</style>",
    "<!-- ",
    "&lt;script&gt;",
    "]]><svg/onload=alert(1)>",
]


class _Seen(HTMLParser):
    """What a browser would find: tags, attributes, text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        self.text += data


def _preview(outcome: Outcome) -> str:
    return preview_page(outcome)


@pytest.mark.parametrize("page", [_preview, sheet])
@pytest.mark.parametrize("hostile", HOSTILE)
def test_a_hostile_title_is_shown_and_never_obeyed(
    make_outcome: Callable[..., Outcome], page: Callable[[Outcome], str], hostile: str
) -> None:
    plain, attacked = _Seen(page(make_outcome())), _Seen(page(make_outcome(title=hostile)))
    assert plain.tags == attacked.tags
    assert [a for a, _ in plain.attributes] == [a for a, _ in attacked.attributes]
    assert " ".join(hostile.split()) in attacked.text


@pytest.mark.parametrize("page", [_preview, sheet])
def test_hostile_names_and_messages_are_shown_and_never_obeyed(make_outcome, page) -> None:
    from toolpaths.verification.finding import Finding

    def made(text: str) -> Outcome:
        setup = make_outcome().job.setups[0].model_dump(include={"name", "zero", "nut_at", "hold"})
        features = make_outcome().job.setups[0].features
        clamp = {"name": text[:60], "x": [-60, -30], "y": [-25, 25], "height": 6}
        finding = Finding.of("uncut", Message(text), feature=text, program=text)
        return make_outcome(setups=[{**setup, "features": features, "keep_out": [clamp]}], findings=(finding,))

    for hostile in HOSTILE:
        assert _Seen(page(made("clamp"))).tags == _Seen(page(made(hostile))).tags


@pytest.mark.parametrize("page", [_preview, sheet])
def test_a_page_asks_for_nothing_from_a_network(outcome, page) -> None:
    text = page(outcome)
    assert "default-src 'none'" in text
    markup = re.sub(r"<script.*?</script>", "", text, flags=re.S)
    assert not re.findall(r"""(?:src|href|action)\s*=(?!\s*"data:)""", markup)
    assert not re.findall(r"https?:|//[a-z]|@import|url\(", markup)
    scripts = "".join(re.findall(r"<script>(.*?)</script>", text, flags=re.S))
    assert not re.findall(r"https?:|\bfetch\b|XMLHttp|WebSocket|EventSource|sendBeacon|\bimport\b|\.src\b", scripts)
    assert not re.findall(r"\beval\b|innerHTML|document\.write|insertAdjacentHTML", scripts)


def test_the_sheet_tells_what_to_touch_and_what_to_enter(outcome) -> None:
    text = _Seen(sheet(outcome)).text
    for words in (
        "Touch the planed face. Enter Z 5.50 mm",
        "scorer: flat 0.6 mm, 2 flutes",
        "Z on the bed",
        "Held by tape",
        "Keep out 1: end stop",
        "--air 15mm",
        "Prepare the blank",
        "No gloves",
        "local law",
    ):
        assert words in text


def test_the_sheet_shows_the_dial_where_a_hand_sets_the_speed(outcome) -> None:
    from dataclasses import replace

    spindle = {**outcome.machine.spindle.model_dump(), "set_by": "hand", "dial": {"1": 10000, "4": 17800}}
    machine = type(outcome.machine).model_validate(
        {**outcome.machine.model_dump(), "spindle": spindle}, context={"units": "mm"}
    )
    assert "dial 4 (17800 rpm), switched on by hand" in _Seen(sheet(replace(outcome, machine=machine))).text


def test_the_preview_numbers_the_lines_of_its_programs(outcome) -> None:
    assert "    3  G0 Z14." in _Seen(_preview(outcome)).text


def test_the_preview_stays_small(outcome) -> None:
    from dataclasses import replace

    long = replace(outcome.programs[0], text="G1 X1.000 Y1.000 Z1.000\n" * 200_000)
    assert len(_preview(replace(outcome, programs=(long,)))) < 3_000_000


def test_the_sheet_carries_the_woods_own_caution(make_outcome) -> None:
    from dataclasses import replace

    from toolpaths.instrument.woods import WOODS

    plain = make_outcome()
    for name in ("indian rosewood", "hard maple"):
        assert WOODS[name].caution in sheet(replace(plain, wood=WOODS[name]))
    assert "Its genus is listed in CITES" not in sheet(replace(plain, wood=WOODS["hard maple"]))
