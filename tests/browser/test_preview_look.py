"""What the preview page looks like on a phone, on a desk and on paper: labels, key, folded parts, targets, prints."""

from __future__ import annotations

import io
import re
from itertools import pairwise
from pathlib import Path

import pdfplumber
import pytest

from tests.browser.chrome import SETTLED, Browser
from tests.browser.reading import PAPERS
from tests.browser.test_preview_page import DEMOS, gouged_page, opened
from tests.support.made import made as make
from tests.support.needs import BROWSER, needs
from toolpaths.common.version import __version__
from toolpaths.job.changes import Changes
from toolpaths.reports.preview.preview_page import preview_page
from toolpaths.verification.outcome import Outcome

pytestmark = [pytest.mark.slow, needs(BROWSER)]

COARSE = Changes(pitch=0.5)
PHONE = (390, 844)
WIDTHS = (390, 900, 1400)
JOBS = ("tenor_board", "tenor_neck", "parlour_board_inch", "tenor_jig", "inlaid_board")
_WIDE = """
(({ view, ground: { painter } }) => {
  const w = painter.image.width, ratio = w / view.width;
  const [x, y] = view.toScreen(32.78, 5).map(v => Math.round(v * ratio));
  const near = Math.round(10 * view.scale * ratio);
  let n = 0;
  for (let i = Math.max(0, x - near); i < Math.min(w, x + near); i++) {
    n += Math.abs(painter.heights[y * w + i] - 5.5) < 0.02;
  }
  return [n, view.scale * ratio];
})(b)
"""
"""Pixels across the line of fret 1 of L = 584 mm, at y 5, and pixels to a millimetre."""
_SHARP = (
    "new Promise(done => { const ask = () => b.ground.painted.sharp ? done() : setTimeout(ask, 20); setTimeout(ask); })"
)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Path, Outcome]]:
    folder = tmp_path_factory.mktemp("pages")
    out = {}
    for name in (*JOBS, "dunlin_neck"):
        outcome = make(DEMOS / f"{name}.yaml", COARSE)
        file = folder / f"{name}.html"
        file.write_text(preview_page(outcome), encoding="utf-8")
        out[name] = (file, outcome)
    return out


def labels(chrome: Browser) -> dict[str, list[float]]:
    """Words on the map with their boxes in it: x0, y0, x1, y1."""
    chrome.run(SETTLED)
    return {said[0]: said[1:] for said in chrome.run("b.marks.said")}


def turned_to(chrome: Browser, setup: str) -> None:
    chrome.run(f"b.open('{setup}').then(() => true)")
    chrome.run(SETTLED)


@pytest.mark.parametrize(
    ("job", "setup", "far"),
    # Seen at the machine with the nut on the left, the bass side of a right-handed face lies at the operator; turned
    # over about the centreline, or left-handed, away from the operator; both at once: at the operator again.
    [
        ("tenor_board", "face", "treble side"),
        ("tenor_neck", "face", "treble side"),
        ("tenor_neck", "back", "bass side"),
        ("dunlin_neck", "face", "bass side"),
        ("dunlin_neck", "back", "treble side"),
    ],
)
def test_sides_nut_and_zero_are_named_where_they_are(
    chrome: Browser, pages: dict[str, tuple[Path, Outcome]], job: str, setup: str, far: str
) -> None:
    opened(chrome, pages[job][0], 1400, 900)
    turned_to(chrome, setup)
    found = labels(chrome)
    near = f"{'treble' if far == 'bass side' else 'bass'} side, operator's side"
    assert {far, near, "nut", "zero", "X", "Y"} <= set(found)
    top, bottom = chrome.run("[MARGIN.top, MARGIN.top + b.view.height]")
    assert found[far][3] <= top
    assert found[near][1] >= bottom
    nut = chrome.run("MARGIN.left + b.view.toScreen(0, b.view.toWood(0, 0)[1])[0]")
    assert found["nut"][0] < nut < found["nut"][2]
    # Both names stay true however close one looks.
    chrome.run("b.view.lookAt(200, 0, 30); b.need('map')")
    assert {far, near} <= set(labels(chrome))


def test_bass_tuners_lie_on_the_side_that_is_called_bass(
    chrome: Browser, pages: dict[str, tuple[Path, Outcome]]
) -> None:
    """By the strings: on a fan the bass scale is the longer one, so frets run away from the nut on the bass side."""
    outcome = make(DEMOS / "fanned_seven.yaml", COARSE)
    file = pages["tenor_board"][0].with_name("fanned.html")
    file.write_text(preview_page(outcome), encoding="utf-8")
    opened(chrome, file, 1400, 900)
    near, far = chrome.run("[b.work.setup.near, b.work.setup.far]")
    assert ("bass side, operator's side", "treble side") == (near, far)
    last, lean = chrome.run("b.work.setup.frets.at(-1).slice(1)")
    nut = chrome.run("b.work.setup.nut")
    low, high = (last + lean * y - nut[1] - nut[2] * y for y in (-25.0, 25.0))
    assert low > high, "the scale is longer at low y, at the operator: the bass side"


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("width", WIDTHS)
def test_no_word_of_map_or_key_covers_another(
    chrome: Browser, pages: dict[str, tuple[Path, Outcome]], job: str, width: int
) -> None:
    file, outcome = pages[job]
    opened(chrome, file, width, 900, phone=width < 500)
    for setup in outcome.setups:
        turned_to(chrome, setup.context.setup.name)
        for where in ("b.marks.said", "b.legend.said"):
            boxes = chrome.run(where)
            for i, (a, *p) in enumerate(boxes):
                for c, *q in boxes[:i]:
                    # The number of a finding, and zero, may lie where others are; nothing else.
                    if not (a.isdigit() or c.isdigit() or "zero" in (a, c)):
                        assert p[0] >= q[2] or p[2] <= q[0] or p[1] >= q[3] or p[3] <= q[1], (a, c)
        order = chrome.run(
            "['.stage', '#reading', '#legend', '#keys', '#sawn'].map(s => document.querySelector('#bench ' + s))"
            ".map(e => e.getBoundingClientRect()).map(r => [r.top, r.bottom])"
        )
        assert all(above[1] <= below[0] + 0.5 for above, below in pairwise(order))
        items = chrome.run(
            "[...document.querySelectorAll('#keys li')].map(e => e.getBoundingClientRect())"
            ".map(r => [r.left, r.top, r.right, r.bottom])"
        )
        assert all(box[2] <= width for box in items)
        for i, p in enumerate(items):
            assert all(p[0] >= q[2] or p[2] <= q[0] or p[1] >= q[3] - 1 or p[3] <= q[1] + 1 for q in items[:i])


@pytest.mark.parametrize("job", JOBS)
def test_on_a_phone_the_page_is_short_and_every_target_is_large(
    chrome: Browser, pages: dict[str, tuple[Path, Outcome]], job: str
) -> None:
    opened(chrome, pages[job][0], *PHONE, phone=True)
    chrome.run(SETTLED)
    wide, high = chrome.run("[document.documentElement.scrollWidth, document.documentElement.scrollHeight]")
    assert wide == PHONE[0]
    assert high < 5 * PHONE[1]
    chrome.run("document.querySelectorAll('details').forEach(d => (d.open = true))")
    small = chrome.run(
        "[...document.querySelectorAll('button, select, summary, label, input[type=range]')]"
        ".map(e => [e.textContent.slice(0, 30), e.getBoundingClientRect()])"
        ".filter(([, r]) => r.width > 0 && (r.height < 44 || r.width < 44)).map(([t]) => t)"
    )
    # A label that only holds a choice is as high as that choice.
    assert small == []
    assert chrome.run("document.documentElement.scrollWidth") == PHONE[0]


def test_on_a_phone_a_finding_is_read_without_zooming(chrome: Browser, tmp_path: Path) -> None:
    page, outcome = gouged_page(tmp_path)
    opened(chrome, page, *PHONE, phone=True)
    chrome.run(SETTLED)
    cards = chrome.run(
        "[...document.querySelectorAll('.cards .card')].filter(e => e.getClientRects().length).map(e => "
        "[e.getBoundingClientRect().left, e.getBoundingClientRect().right, "
        "parseFloat(getComputedStyle(e.querySelector('p')).fontSize), e.textContent])"
    )
    assert cards
    first = outcome.findings[0]
    assert first.said.wrong.replace("`", "") in cards[0][3]
    assert f"{first.program}:{first.program_line}" in cards[0][3]
    for left, right, size, _ in cards:
        assert left >= 0
        assert right <= PHONE[0]
        assert size >= 15


def test_a_scored_line_is_drawn_as_wide_as_it_is(chrome: Browser, pages: dict[str, tuple[Path, Outcome]]) -> None:
    """Lines of 0.50 mm and the runout of 0.02 mm: at every size within two pixels, and never gone."""
    opened(chrome, pages["tenor_board"][0], 1400, 900)
    for across in (480, 120, 30, 12, 6):
        chrome.run(f"b.view.lookAt(32.78, 5, {across}); b.need('map')")
        chrome.run(SETTLED)
        if chrome.run("b.ground.painted.fine > SMALL"):
            chrome.run(_SHARP)
        drawn, scale = chrome.run(_WIDE)
        assert 1 <= drawn
        assert abs(drawn - 0.5 * scale) < 2 + 0.02 * scale, across


def test_waste_is_paler_than_the_part_and_named(chrome: Browser, pages: dict[str, tuple[Path, Outcome]]) -> None:
    opened(chrome, pages["tenor_board"][0], 1400, 900)
    chrome.run(SETTLED)
    part, waste = chrome.run(
        "[[120, 10], [120, 29.5]].map(([x, y]) => { const { painter: p } = b.ground, w = p.image.width, "
        "[px, py] = b.view.toScreen(x, y).map(v => Math.round(v * w / b.view.width)); "
        "return p.pixels[py * w + px]; })"
    )
    assert part != waste
    assert waste == chrome.run("paled(b.work.palette.steps[0])")
    chrome.run("b.point([120, 29.5])")
    said = str(chrome.run("document.getElementById('reading').textContent"))
    assert "waste" in said.split(" · ")
    assert any(
        key.startswith("waste")
        for key in chrome.run("[...document.querySelectorAll('#keys li')].map(e => e.textContent)")
    )


def test_holders_are_named_in_the_key_and_when_touched(chrome: Browser, pages: dict[str, tuple[Path, Outcome]]) -> None:
    opened(chrome, pages["tenor_neck"][0], 1400, 900)
    chrome.run(SETTLED)
    keys = chrome.run("[...document.querySelectorAll('#keys li')].map(e => e.textContent)")
    # demo_jobs/tenor_neck.yaml: clamps 40 high, cams 18 high; screws with heads of 3.5 on wood of 27, two sunk.
    assert "clamp: clamp at the heel, clamp at the headstock, top 40.00 mm above the bed" in keys
    assert "stop: cam by the shaft, cam by the heel, top 18.00 mm above the bed" in keys
    assert any(re.match(r"\d screws?, top", key) for key in keys)
    chrome.run("b.point([430, 0])")
    assert "clamp at the heel, top 40.00 mm above the bed" in str(
        chrome.run("document.getElementById('reading').textContent")
    )


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("job", JOBS)
def test_on_paper_nothing_is_lost(
    chrome: Browser, pages: dict[str, tuple[Path, Outcome]], job: str, paper: str
) -> None:
    file, outcome = pages[job]
    opened(chrome, file, *PHONE, phone=True)
    chrome.run(SETTLED)
    chrome.run(
        f"Promise.all({[s.context.setup.name for s in outcome.setups]}.map(name => b._workOf(name))).then(() => 1)"
    )
    rows = chrome.run(
        "[...document.querySelectorAll('td')].filter(e => !e.closest('.texts')).map(e => e.textContent.trim())"
    )
    wide, high = PAPERS[paper]
    data = chrome.pdf(paperWidth=wide, paperHeight=high, printBackground=True, preferCSSPageSize=False)
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        text = "\n".join(page.extract_text() for page in pdf.pages)
        words = [w for page in pdf.pages for w in page.extract_words()]
        pictures = [(image, page) for page in pdf.pages for image in page.images]
        edge = pdf.pages[0].width
    assert all(w["x1"] <= edge - 20 and w["x0"] >= 20 for w in words)
    joined = re.sub(r"\s", "", text)
    for cell in rows:
        for word in cell.split():
            assert word in joined, cell
    for setup in outcome.setups:
        assert f"Setup {setup.context.setup.name}: map" in text
    assert f"neckpath {__version__} · {outcome.path.name} · job {outcome.job_hash}" in text
    assert all(image["x1"] <= page.width and image["bottom"] <= page.height for image, page in pictures)
    assert len([i for i, _ in pictures if i["width"] > 0.8 * edge]) >= 2 * len(outcome.setups)
    # Afterwards the screen is as it was.
    assert chrome.run("document.getElementById('prints').children.length") == 0
    assert chrome.run("document.querySelectorAll('.fold[open]').length") <= 1


def test_the_page_says_what_it_is_and_of_what(chrome: Browser, pages: dict[str, tuple[Path, Outcome]]) -> None:
    file, outcome = pages["tenor_board"]
    opened(chrome, file)
    assert chrome.run("document.title") == "Tenor board, 584 mm: preview of the fretboard (tenor_board.yaml)"
    footer = str(chrome.run("document.querySelector('footer').textContent"))
    assert f"neckpath {__version__} · tenor_board.yaml · job {outcome.job_hash}" == footer
    said = str(chrome.run("document.querySelector('.cautions').textContent"))
    for word in ("computed", "in the air first", "manual"):
        assert word in said


def test_nothing_on_the_page_is_minus_nothing(chrome: Browser, pages: dict[str, tuple[Path, Outcome]]) -> None:
    for job in ("tenor_board", "parlour_board_inch"):
        opened(chrome, pages[job][0])
        chrome.run("b.point([-0.001, -0.001])")
        said = str(chrome.run("document.getElementById('reading').textContent"))
        assert not re.search(r"-0\.0+ ", said)
        assert said.startswith("x 0.0")


@pytest.mark.parametrize("dark", [False, True])
def test_text_stands_out_seven_to_one(chrome: Browser, pages: dict[str, tuple[Path, Outcome]], dark: bool) -> None:
    """Contrast of ink and paper: (L1 + 0.05) / (L2 + 0.05) of relative luminances. Source: WCAG 2.2, 1.4.6."""
    opened(chrome, pages["tenor_board"][0], 1400, 900, dark=dark)
    colours = chrome.run(
        "(s => ['--ink', '--faint', '--stop', '--warn', '--paper', '--wash'].map(n => s.getPropertyValue(n).trim()))"
        "(getComputedStyle(document.documentElement))"
    )
    *inks, paper, wash = (_luminance(c) for c in colours)
    for ink in inks:
        for ground in (paper, wash):
            low, high = sorted((ink, ground))
            assert (high + 0.05) / (low + 0.05) >= 7


def _luminance(colour: str) -> float:
    text = colour.lstrip("#")
    text = "".join(c * 2 for c in text) if len(text) == 3 else text
    parts = [int(text[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
