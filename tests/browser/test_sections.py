"""Cuts that the page measures in a section, at any moment of the slider, against the simulated wood measured in Python.

What is measured is the same everywhere: a hollow of the section that would hold water, its depth below the lower of
its two rims, and how far it is from wall to wall at half that depth.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.browser.chrome import SETTLED, Browser
from tests.support.brute_force import some_bits
from tests.support.made import made as make
from tests.support.needs import BROWSER, needs
from tests.support.patience import until
from tests.support.replaying import Asked, exact, in_page, replay_of, setup_of
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import verify
from toolpaths.reports.preview.preview_page import preview_page
from toolpaths.verification.outcome import THROUGH, Outcome, SetupReport

Array = NDArray[np.float64]

DEMOS = Path(__file__).parents[2] / "demo_jobs"
WITHIN = 0.001
"""mm, for every width and depth that can be read."""
SHALLOW = 0.03
"""Hollows no deeper than this are no cuts, mm: as the page has it."""
_COARSE, _NEAR, _DENSE = 0.02, 0.04, 801

pytestmark = [pytest.mark.slow, needs(BROWSER)]


@dataclass(frozen=True)
class Line:
    """A section from a to b at a moment: a move, and the part of it that is made."""

    a: tuple[float, float]
    b: tuple[float, float]
    move: int
    fraction: float

    @property
    def plain(self) -> list[Any]:
        return [list(self.a), list(self.b), self.move, self.fraction]


def measured(outcome: Outcome, setup: SetupReport, line: Line) -> list[tuple[float, float, float]]:
    """(middle, width, depth) of each cut under a line, from exact heights of the simulated wood; mm."""
    a, b = np.array(line.a), np.array(line.b)
    length = float(np.hypot(*(b - a)))

    def height(s: Array) -> Array:
        points = a + (b - a) * (s[:, None] / length)
        count = len(points)
        asked = Asked(points, np.full(count, line.move), np.full(count, line.fraction))
        z = exact(outcome, setup, asked)
        if setup.beneath is None:
            return z
        # Turned over about x: what the other side lost is open where this side is cut down to it.
        under = setup.context.glue - setup.beneath[1].heights(points * [1, -1])
        return np.where((under > 0) & (z <= under + THROUGH), 0.0, z)

    s = np.linspace(0, length, int(np.ceil(length / _COARSE)) + 1)
    z = height(s)
    left, right = np.maximum.accumulate(z), np.maximum.accumulate(z[::-1])[::-1]
    rim = np.minimum(left, right)
    hollow = rim - z > SHALLOW
    out = []
    for first, last in _stretches(hollow, rim):
        edges = [int(np.argmax(z[: first + 1])), first, last - 1 + int(np.argmax(z[last - 1 :]))]
        top = min(_extreme(height, s[i], np.argmax, length)[0] for i in edges if z[i] >= rim[first] - 1e-6)
        floor, deepest = min((_extreme(height, s[i], np.argmin, length)[0], i) for i in _lowest(z, first, last))
        level = (top + floor) / 2
        low = _wall(height, s, z, deepest, -1, level)
        high = _wall(height, s, z, deepest, 1, level)
        out.append(((low + high) / 2, high - low, top - floor))
    return out


def _stretches(hollow: NDArray[np.bool_], rim: Array) -> Iterator[tuple[int, int]]:
    start = None
    for i, deep in enumerate(hollow):
        if start is not None and (not deep or abs(rim[i] - rim[start]) > 1e-6):
            yield start, i
            start = None
        if deep and start is None:
            start = i
    if start is not None:
        yield start, len(hollow)


def _lowest(z: Array, first: int, last: int) -> list[int]:
    """The local lowest of a stretch, the deepest five of them."""
    inner = [i for i in range(first, last) if z[i] == z[max(i - 1, 0) : i + 2].min()]
    return sorted(inner, key=lambda i: float(z[i]))[:5]


def _extreme(
    height: Callable[[Array], Array], middle: float, which: Callable[[Array], Any], length: float
) -> tuple[float, float]:
    """(height, place) of the lowest or highest place around another, looked for twice, the second time closer."""
    for reach in (_NEAR, _NEAR / 50):
        near = np.clip(np.linspace(middle - reach, middle + reach, _DENSE), 0, length)
        found = height(near)
        middle = near[int(which(found))]
    return float(found[int(which(found))]), float(middle)


def _wall(height: Callable[[Array], Array], s: Array, z: Array, i: int, step: int, level: float) -> float:
    open_ = shut = s[i]
    while open_ == shut:
        i += step
        if not 0 <= i < len(z):
            return float(open_)
        crest, place = z[i], s[i]
        if level - 2 * WITHIN < crest < level and 0 < i < len(z) - 1 and crest >= max(z[i - 1], z[i + 1]):
            # Between two passes of a round bit a crest may reach up just so far.
            crest, place = _extreme(height, s[i], np.argmax, float(s[-1]))
        if crest >= level:
            shut = place
        else:
            open_ = shut = s[i]
    for _ in range(3):
        near = np.linspace(open_, shut, 41)
        k = int(np.argmax(height(near) >= level))
        open_, shut = near[k - 1], near[k]
    return float((open_ + shut) / 2)


def agree(lines: list[Line], got: list[list[list[float]]], want: list[list[tuple[float, float, float]]]) -> int:
    """Asserts that cut by cut the same was measured; how many there were."""
    count = 0
    for line, shown, true in zip(lines, got, want, strict=True):
        # What is just deep enough to be a cut may be one for the page or for Python alone.
        shown_cuts = sorted(c for c in shown if c[2] > SHALLOW + WITHIN)
        true_cuts = sorted(c for c in true if c[2] > SHALLOW + WITHIN)
        assert len(true_cuts) == len(shown_cuts), (line, true_cuts, shown_cuts)
        for t, c in zip(true_cuts, shown_cuts, strict=True):
            assert pytest.approx(t, abs=WITHIN) == tuple(c), line
            count += 1
    return count


_MEASURE = """
return data.map(({ replay, lines }) => {
  const cutting = new Cutting(replay);
  return lines.map(([a, b, move, fraction]) => {
    const work = { cutting, moment: { move, fraction }, section: new Section(a, b), target: () => 0, underside: () => 0,
      height: (x, y) => cutting.heightAt(x, y, move, fraction) };
    Work.prototype.look.call(work, MOVING);
    return work.section.cuts.map(c => [(c.from + c.to) / 2, c.width, c.rim - c.floor]);
  });
});
"""


@pytest.mark.parametrize("moving", [False, True], ids=["at rest", "while it moves"])
def test_lines_of_every_bit_are_measured_at_any_moment_whichever_way_the_section_goes(moving: bool) -> None:
    pages, asked, wanted = [], [], []
    for seed, (name, bit) in enumerate(some_bits().items()):
        rng = np.random.default_rng(seed)
        moves = []
        for _ in range(6):
            # Lines well apart and at all angles, level or gently ramped; 8 mm is the top. The shallowest are 0.05 deep.
            x, angle = 100 + 14 * len(moves), rng.uniform(0, np.pi)
            way = np.array([np.cos(angle), np.sin(angle)]) * 5
            deep = rng.uniform(0.05, 1.2)
            z = np.array([8 - deep, 8 - deep * rng.choice([1.0, 0.9])])
            moves.append(((x - way[0], -way[1], z[0]), (x + way[0], way[1], z[1]), name))
        outcome, setup = setup_of({name: bit}, moves)
        lines = []
        for _ in range(16):
            at, slant = int(rng.integers(0, 6)), rng.choice([0.0, np.pi / 2, rng.uniform(0, np.pi)])
            middle = np.array([100 + 14 * at, 0]) + rng.uniform(-2, 2, 2)
            way = np.array([np.cos(slant), np.sin(slant)]) * rng.uniform(6.5, 30)
            moment = int(rng.integers(at, 6))
            lines.append(Line(tuple(middle - way), tuple(middle + way), moment, float(rng.uniform(0.3, 1))))
        pages.append({"replay": replay_of(outcome, setup), "lines": [line.plain for line in lines]})
        asked.append(lines)
        wanted.append([measured(outcome, setup, line) for line in lines])
    script = f"const MOVING = {str(moving).lower()};{_MEASURE}"
    for lines, want, got in zip(asked, wanted, in_page(pages, script, ("moments", "section", "work")), strict=True):
        assert agree(lines, got, want) > 8


def test_lines_worked_by_hand() -> None:
    bits = some_bits()
    names = ("flat", "sharp vee", "tipped vee", "ball")
    outcome, setup = setup_of(
        bits, [((100, y, 7.4), (200, y, 7.4), n) for y, n in zip((-15, -5, 5, 15), names, strict=True)]
    )
    slant = 1.5
    lines = [Line((150, -25), (150, 25), 3, 1.0), Line((120, -25), (120 + 50 * slant, 25), 3, 1.0)]
    ((straight, askew),) = in_page(
        [{"replay": replay_of(outcome, setup), "lines": [line.plain for line in lines]}],
        f"const MOVING = false;{_MEASURE}",
        ("moments", "section", "work"),
    )
    # Plane geometry, 0.3 mm above a floor 0.6 mm deep: 3; 2 0.3 tan 30; 1 + 2 0.3 tan 45; 2 sqrt(0.3 (6 - 0.3)).
    widths = [3.0, 0.6 * np.tan(np.pi / 6), 1.6, 2 * np.sqrt(0.3 * 5.7)]
    assert pytest.approx(widths, abs=1e-4) == [c[1] for c in straight]
    assert pytest.approx([0.6] * 4, abs=1e-4) == [c[2] for c in straight]
    # A line that is crossed at a slant is longer there by the secant of it.
    assert pytest.approx([w * np.sqrt(1 + slant**2) for w in widths], abs=1e-3) == [c[1] for c in askew]


@cache
def _made(name: str) -> Outcome:
    return make(DEMOS / f"{name}.yaml", Changes(pitch=0.5))


def _drawn_lines(setup: SetupReport, rng: np.random.Generator, count: int, until: int | None = None) -> list[Line]:
    """Along, across and slanting, where the programs go and anywhere, at any moment; a few over the whole blank."""
    moves = np.concatenate([r.moves.end for r in setup.runs.values()])
    total = len(moves) if until is None else until + 1
    x0, y0, x1, y1 = setup.context.stock_box
    out = []
    for i in range(count):
        at = int(rng.integers(0, total))
        # Shortly after the bit was there.
        moment = min(total - 1, at + int(rng.integers(1, 400)))
        middle = np.clip(moves[at, :2] + rng.normal(0, 2, 2), (x0 + 1, y0 + 1), (x1 - 1, y1 - 1))
        slant = (0.0, np.pi / 2, float(rng.uniform(0, np.pi)))[i % 3]
        way = np.array([np.cos(slant), np.sin(slant)]) * rng.uniform(3, 25)
        a, b = (np.clip(p, (x0, y0), (x1, y1)) for p in (middle - way, middle + way))
        out.append(Line(tuple(a.tolist()), tuple(b.tolist()), moment, float(rng.uniform(0, 1))))
    for part in (0.4,) if until is None else ():
        y = float(rng.uniform(-15, 15))
        out.append(Line((x0, y), (x1, y), int(part * (total - 1)), 0.5))
    return out


@pytest.mark.parametrize("name", ["tenor_board", "tenor_neck", "compound_board"])
def test_the_sections_of_a_demo_are_exact_at_any_moment(name: str) -> None:
    outcome = _made(name)
    pages, asked, wanted = [], [], []
    for seed, setup in enumerate(s for s in outcome.setups if s.beneath is None):
        lines = _drawn_lines(setup, np.random.default_rng(seed), 12)
        pages.append({"replay": replay_of(outcome, setup), "lines": [line.plain for line in lines]})
        asked.append(lines)
        wanted.append([measured(outcome, setup, line) for line in lines])
    said = in_page(pages, f"const MOVING = false;{_MEASURE}", ("moments", "section", "work"))
    assert sum(agree(*three) for three in zip(asked, said, wanted, strict=True)) > 10


def _slid(chrome: Browser, part: float) -> tuple[int, float]:
    """The slider moved by a hand to a part of its length, through two other places; the moment it stands at."""
    for at in (0.05, 0.9 * part, part):
        chrome.run(
            f"(slider => {{ slider.value = {at} * slider.max; slider.dispatchEvent(new Event('input')); }})"
            "(document.querySelector('[data-is=time]'))"
        )
    chrome.run(SETTLED)
    said = chrome.run("b.work.moment")
    return int(said["move"]), float(said["fraction"])


@pytest.mark.parametrize(("name", "setup"), [("tenor_board", 0), ("tenor_neck", 0), ("tenor_neck", 1)])
def test_what_the_page_says_of_a_section_once_the_slider_was_moved(
    chrome: Browser, tmp_path: Path, name: str, setup: int
) -> None:
    outcome = _made(name)
    report = outcome.setups[setup]
    file = tmp_path / "page.html"
    file.write_text(preview_page(outcome), encoding="utf-8")
    chrome.size(1280, 900)
    chrome.open(file)
    chrome.run(f"ready.then(b => {{ globalThis.b = b; return b.open('{report.context.setup.name}'); }})")
    rng = np.random.default_rng(11)
    x0, _, x1, _ = report.context.stock_box
    told = 0
    for part in (0.4, 0.97):
        move, fraction = _slid(chrome, part)
        y = float(rng.uniform(-14, 14))
        lines = [
            # A long line first: its width was read from the coarse map once.
            Line((x0 + 1, y), (x1 - 1, y), move, fraction),
            *_drawn_lines(report, rng, 4, move),
        ]
        for line in lines:
            at = Line(line.a, line.b, move, fraction)
            chrome.run(f"b.saw({list(at.a)}, {list(at.b)}, true); {SETTLED}")
            want = [c for c in sorted(measured(outcome, report, at)) if c[2] > SHALLOW + WITHIN]
            got = chrome.run("b.work.section.cuts.map(c => [(c.from + c.to) / 2, c.width, c.rim - c.floor])")
            told += agree([at], [got], [want])
            words = str(chrome.run("document.getElementById('widths').textContent"))
            if 0 < len(want) == len(got) <= 3:
                shown = re.findall(r"([\d.]+) mm wall to wall at half depth, ([\d.]+) mm deep", words)
                figures = sorted((float(w), float(d)) for w, d in shown)
                true = sorted((width, depth) for _, width, depth in want)
                assert np.allclose(true, figures, rtol=0, atol=0.005 + WITHIN), (at, words)
    assert told > 4
    assert [] == chrome.errors


def test_a_section_after_a_jump_to_a_finding_is_measured_at_the_finding_s_moment(
    chrome: Browser, tmp_path: Path
) -> None:
    made = _made("tenor_neck")
    program = next(p for p in made.programs if p.setup == "back" and "Z15.5" in p.text)
    spoilt = tmp_path / program.name
    spoilt.write_text(program.text.replace("Z15.5", "Z15.3"))
    outcome = verify(DEMOS / "tenor_neck.yaml", [spoilt], Changes(pitch=0.5))
    number, finding = next((i, f) for i, f in enumerate(outcome.findings, 1) if f.code == "gouge" and f.x is not None)
    file = tmp_path / "page.html"
    file.write_text(preview_page(outcome), encoding="utf-8")
    chrome.size(1280, 900)
    chrome.open(file)
    chrome.run("ready.then(b => { globalThis.b = b; return true; })")
    chrome.run(f"document.querySelector('[data-finding=\"{number}\"]').click()")
    until(lambda: chrome.run(f"b.work.found === {number}"), "the page does not go to the finding")
    chrome.run(SETTLED)
    assert finding.program is not None
    report = next(s for s in outcome.setups if finding.program in s.traces)
    said = chrome.run("b.work.moment")
    count = 0
    # The section that stood there, then one square to the neck, and one at a slant.
    x, y = float(finding.x or 0), float(finding.y or 0)
    for drawn in (None, ([x, y - 9], [x, y + 9]), ([x - 4, y - 9], [x + 4, y + 9])):
        if drawn is not None:
            chrome.run(f"b.saw({list(drawn[0])}, {list(drawn[1])}, true); {SETTLED}")
        a, b = chrome.run("[b.work.section.a, b.work.section.b]")
        line = Line(tuple(a), tuple(b), int(said["move"]), float(said["fraction"]))
        got = chrome.run("b.work.section.cuts.map(c => [(c.from + c.to) / 2, c.width, c.rim - c.floor])")
        count += agree([line], [got], [measured(outcome, report, line)])
    assert count > 2
