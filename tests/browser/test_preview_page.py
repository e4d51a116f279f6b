"""The preview page in a real browser: it is pointed at, sawn open, run, jumped about in, on a desk and on a phone.

Fret places: L = 584 mm, d(n) = L (1 - 2^(-n/12)): fret 7 at 194.23 mm, the marker of fret 5 midway between frets 4
and 5 at 133.49 mm. Depths are those of the job file.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.browser.chrome import SETTLED, Browser
from tests.support.made import made as make
from tests.support.needs import BROWSER, needs
from tests.support.patience import until
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import verify
from toolpaths.reports.preview.preview_page import preview_page
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[2]
DEMOS = ROOT / "demo_jobs"
JOB = DEMOS / "tenor_board.yaml"
NECK = DEMOS / "tenor_neck.yaml"
PICTURES = ROOT / "out" / "pages"
"""Screenshots are kept here, to be looked at after a run."""

pytestmark = [pytest.mark.slow, needs(BROWSER)]

FRET_7 = 194.23
_BENCH = "ready.then(b => { globalThis.b = b; return true; })"


@pytest.fixture(scope="module")
def board() -> Outcome:
    return make(JOB, Changes(pitch=0.1))


@pytest.fixture(scope="module")
def page(board: Outcome, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("page") / "preview.html"
    file.write_text(preview_page(board), encoding="utf-8")
    return file


def opened(chrome: Browser, file: Path, width: int = 1280, height: int = 900, **how: bool) -> Browser:
    chrome.size(width, height, **how)  # type: ignore[arg-type]
    chrome.open(file)
    chrome.run(_BENCH)
    return chrome


def window_place(chrome: Browser, x: float, y: float) -> tuple[float, float]:
    """Where a place of the wood (mm) is seen in the window."""
    found = chrome.run(
        "(() => { const seen = document.getElementById('marks').getBoundingClientRect(), "
        f"[px, py] = b.view.toScreen({x}, {y}); "
        "return [seen.left + MARGIN.left + px, seen.top + MARGIN.top + py]; })()"
    )
    return float(found[0]), float(found[1])


def reading(chrome: Browser) -> str:
    return str(chrome.run("document.getElementById('reading').textContent"))


def pointed(chrome: Browser, x: float, y: float) -> str:
    chrome.mouse("mouseMoved", *window_place(chrome, x, y))
    return reading(chrome)


def dragged(chrome: Browser, a: tuple[float, float], b: tuple[float, float]) -> None:
    """The mouse pressed at one place of the wood, moved and let go at another."""
    p, q = window_place(chrome, *a), window_place(chrome, *b)
    chrome.mouse("mousePressed", *p, down=True)
    for t in (0.3, 0.7, 1.0):
        chrome.mouse("mouseMoved", p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t, down=True)
    chrome.mouse("mouseReleased", *q)
    chrome.run(SETTLED)


def test_the_page_opens_without_errors_and_asks_for_nothing(chrome: Browser, page: Path) -> None:
    opened(chrome, page)
    chrome.run(SETTLED)
    chrome.picture(PICTURES / "board.png")
    assert [] == chrome.errors
    assert [page.as_uri()] == chrome.asked
    assert page.stat().st_size < 6_000_000


def test_pointing_reads_face_line_pocket_cut_and_the_table_beside(chrome: Browser, page: Path) -> None:
    opened(chrome, page)
    places = [(100.0, 5.0), (FRET_7, 5.0), (133.49, 0.0), (-3.0, 0.0), (-45.0, 30.0)]
    face, line, pocket, through, beside = (pointed(chrome, x, y) for x, y in places)
    assert "0.00 mm below the finished face, 6.00 mm above the bed" in face
    assert "0.50 mm below the finished face, 5.50 mm above the bed" in line
    assert "score_lines: fret 7, wanted 0.50 mm deep" in line
    assert "1.80 mm below the finished face, 4.20 mm above the bed" in pocket
    assert "marker_pockets: marker at fret 5, wanted 1.80 mm deep" in pocket
    assert "cut through to the bed" in through
    assert "beside the blank" in beside
    place = re.match(r"x (-?[\d.]+) mm, y (-?[\d.]+) mm", line)
    assert place is not None
    assert pytest.approx(FRET_7, abs=0.4) == float(place.group(1))  # a pixel is 0.4 mm wide here
    assert pytest.approx(5.0, abs=0.4) == float(place.group(2))


def test_pointing_tells_the_nearest_fret(chrome: Browser, page: Path) -> None:
    opened(chrome, page)
    chrome.run(f"b.point([{FRET_7 + 2.5}, 3])")
    assert "2.50 mm from fret 7, toward the bridge" in reading(chrome)
    chrome.run(f"b.point([{FRET_7 - 1.25}, 3])")
    assert "1.25 mm from fret 7, toward the nut" in reading(chrome)


def test_the_height_under_the_pointer_is_the_exact_height_at_any_moment(
    chrome: Browser, page: Path, board: Outcome
) -> None:
    opened(chrome, page)
    standing = board.setups[0].standing
    assert standing is not None
    assert standing.count == chrome.run("b.work.moments.count")
    rng = np.random.default_rng(7)
    points = np.column_stack([rng.uniform(-30, 450, 400), rng.uniform(-32, 32, 400)])
    moves = rng.integers(0, standing.count, 400)
    exact = standing.heights(points, moves + 1)
    asked = [[float(x), float(y), int(m)] for (x, y), m in zip(points, moves, strict=True)]
    shown = chrome.run(
        f"{asked}.map(([x, y, move]) => {{ b.work.moment = {{ move, fraction: 1 }}; return b.work.height(x, y); }})"
    )
    assert pytest.approx(exact, abs=0.01) == np.array(shown)


def test_a_dragged_section_measures_a_line_as_a_probe_does(chrome: Browser, page: Path, board: Outcome) -> None:
    opened(chrome, page)
    chrome.run("b.view.lookAt(194, 5, 12); b.need('map')")
    dragged(chrome, (192.0, 5.0), (197.0, 5.1))
    chrome.picture(PICTURES / "section.png")
    said = str(chrome.run("document.getElementById('widths').textContent"))
    assert "0.50 mm wall to wall at half depth, 0.50 mm deep." in said
    cut = chrome.run("b.work.section.cuts[0]")
    start = chrome.run("b.work.section.a")
    standing = board.setups[0].standing
    assert standing is not None
    # A probe of 0.001 mm across the line, of exact heights.
    x = np.arange(192.0, 197.0, 0.001)
    open_ = x[standing.heights(np.column_stack([x, np.full(len(x), start[1])])) < 5.75]
    assert pytest.approx(open_[-1] - open_[0], abs=0.02) == cut["width"]
    assert pytest.approx(open_[0], abs=0.02) == start[0] + cut["from"]


def test_a_section_shows_target_and_wood_alike_where_all_is_well(chrome: Browser, page: Path) -> None:
    opened(chrome, page)
    chrome.run("b.saw([120, 0.3], [150, 0.3], true)")
    chrome.run(SETTLED)
    # But for the walls themselves, where a sample may fall between the two.
    off = chrome.run(
        "(({ s, wood }) => Array.from(s, (far, i) => Math.abs(wood[i] - b.work.target(...b.work.section.place(far))))"
        ".filter(d => d > 0.021).length)(b.work.section)"
    )
    assert 8 >= off


def test_the_player_begins_uncut_and_ends_at_the_final_map(chrome: Browser, page: Path, board: Outcome) -> None:
    opened(chrome, page)
    chrome.run("document.querySelector('[data-is=begin]').click()")
    # The blank is 8.1 mm thick at its thickest: demo_jobs/tenor_board.yaml.
    assert "2.10 mm above the finished face, 8.10 mm above the bed" in pointed(chrome, 100.0, 5.0)
    chrome.run("b.goTo({ move: b.work.moments.count - 1, fraction: 0.5 })")
    chrome.run("document.querySelector('[data-is=on]').click()")
    assert chrome.run("b.work.atEnd") is True
    chrome.run("b.work.cutting.seek(b.work.moment.move, 1)")
    worst = chrome.run(
        "(() => { const { cutting: c } = b.work; let worst = 0; for (let row = 0; row < c.rows; row++) "
        "for (let col = 0; col < c.cols; col++) { const x = c.x0 + col * c.pitch, y = c.y0 + row * c.pitch; "
        "const z = c.heights[row * c.cols + col]; "
        "worst = Math.max(worst, Math.abs(z - c.heightAt(x, y, b.work.moment.move))); } return worst; })()"
    )
    assert 0.002 > worst
    after = board.setups[0].after
    rows, cols = [40, 111, 320, 500], [200, 1500, 2243, 4000]
    for row, col in zip(rows, cols, strict=True):
        x, y = float(after.xs[col]), float(after.ys[row])
        assert pytest.approx(float(after.heights[row, col]), abs=0.002) == chrome.run(f"b.work.height({x}, {y})")


def test_running_goes_on_by_itself_and_names_program_feature_and_line(chrome: Browser, page: Path) -> None:
    opened(chrome, page)
    chrome.run("document.querySelector('[data-layer=motion]').click()")
    chrome.run("b.goTo(b.work.moments.at(b.work.moments.total * 0.4)); document.querySelector('[data-is=run]').click()")
    chrome.run("new Promise(done => setTimeout(done, 700))")
    chrome.picture(PICTURES / "running.png")
    chrome.run("document.querySelector('[data-is=run]').click()")
    assert chrome.run("b.work.moments.seconds(b.work.moment) > b.work.moments.total * 0.4 + 5")
    said = str(chrome.run("document.querySelector('[data-is=now]').textContent"))
    assert re.search(r"score_lines, 02-face-scorer\.ngc, line \d+: ?G", said)
    assert [] == chrome.errors


def test_keys_move_the_cross_mark_a_section_and_step(chrome: Browser, page: Path) -> None:
    opened(chrome, page)
    chrome.run(f"document.getElementById('marks').focus(); b.point([{FRET_7 - 2}, 5])")
    chrome.key("Enter", "\r")
    for _ in range(4):
        chrome.key("ArrowRight")
    assert f"x {FRET_7 + 2:.2f} mm, y 5.00 mm" in reading(chrome)
    chrome.key("Enter", "\r")
    chrome.run(SETTLED)
    assert "0.50 mm wall to wall" in str(chrome.run("document.getElementById('widths').textContent"))
    chrome.key("[", "[")
    assert chrome.run("b.work.moment.move === b.work.moments.count - 2")
    chrome.key("]", "]")
    assert chrome.run("b.work.atEnd")
    scale = chrome.run("b.view.scale")
    chrome.key("+", "+")
    assert chrome.run("b.view.scale") == pytest.approx(1.5 * scale)


def test_layers_show_the_target_and_a_good_cut_has_nothing_left_nor_too_deep(chrome: Browser, page: Path) -> None:
    opened(chrome, page)
    chrome.run("document.querySelector('[data-layer=left]').click()")
    chrome.run(SETTLED)
    assert 0 == chrome.run("b.work.final.levels[0].marks.reduce((n, m) => n + (m ? 1 : 0), 0)")
    chrome.run("document.querySelector('[data-layer=target]').click()")
    chrome.run(SETTLED)
    chrome.picture(PICTURES / "target.png")
    assert 4.2 == pytest.approx(chrome.run("b.work.asked.grid.heights[b.work.asked.grid.cell(133.49, 0)]"), abs=0.001)
    assert 5.5 == pytest.approx(
        chrome.run(f"b.work.asked.grid.heights[b.work.asked.grid.cell({FRET_7}, 5)]"), abs=0.001
    )


@pytest.fixture(scope="module")
def gouged(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Outcome]:
    return gouged_page(tmp_path_factory.mktemp("gouged"))


def gouged_page(folder: Path) -> tuple[Path, Outcome]:
    """The page of a set in which one marker was cut 0.3 mm too deep, by hand in the text."""
    program = make(JOB, Changes(pitch=0.1)).programs[2]
    assert program.text.count("Z4.2") > 1
    at = program.text.index("Z4.2")
    file = folder / program.name
    file.write_text(program.text[:at] + "Z3.9" + program.text[at + 4 :])
    outcome = verify(JOB, [file], Changes(pitch=0.2))
    page = folder / "preview.html"
    page.write_text(preview_page(outcome), encoding="utf-8")
    return page, outcome


def test_a_finding_jumps_to_its_place_its_moment_and_its_line(chrome: Browser, gouged: tuple[Path, Outcome]) -> None:
    page, outcome = gouged
    number, finding = next((i, f) for i, f in enumerate(outcome.findings, 1) if f.code == "gouge")
    opened(chrome, page)
    chrome.run(f"document.querySelector('[data-finding=\"{number}\"]').click()")
    until(lambda: chrome.run(f"b.work.found === {number}"), "the page does not go to the finding")
    chrome.run(SETTLED)
    chrome.picture(PICTURES / "finding.png")
    assert finding.x is not None
    assert finding.y is not None
    x, y = window_place(chrome, finding.x, finding.y)
    seen = chrome.run(
        "(r => [r.left, r.top, r.right, r.bottom])(document.getElementById('marks').getBoundingClientRect())"
    )
    assert seen[0] < x < seen[2]
    assert seen[1] < y < seen[3]
    assert finding.program_line == chrome.run("b.work.moments.moves.line[b.work.moment.move]")
    marked = str(chrome.run("document.querySelector('pre mark').textContent"))
    assert f"{finding.program_line:5d}  " == marked[:7]
    row = str(chrome.run(f"document.querySelector('[data-finding=\"{number}\"]').closest('li').textContent"))
    assert f"{finding.program}:{finding.program_line}" in row
    assert f"tenor_board.yaml:{finding.job_line}" in row


def test_what_is_cut_too_deep_shows_on_the_map(chrome: Browser, gouged: tuple[Path, Outcome]) -> None:
    page, _ = gouged
    opened(chrome, page)
    chrome.run(SETTLED)
    # The markers of frets 3 and 5: midway between the frets before, 78.32 and 133.49 mm. The first was cut too deep.
    marks = chrome.run("[78.32, 133.49].map(x => b.work.final.levels[0].marks[b.work.final.grid.cell(x, 0)])")
    assert [2, 0] == marks
    chrome.run("b.point([78.32, 0])")
    assert "2.10 mm below the finished face" in reading(chrome)
    assert "wanted 1.80 mm deep" in reading(chrome)


def test_a_title_with_markup_stays_text(chrome: Browser, board: Outcome, tmp_path: Path) -> None:
    title = "</script><img src=x onerror=\"document.title='broken in'\"><b>Board</b>"
    file = tmp_path / "page.html"
    outcome = replace(board, job=board.job.model_copy(update={"title": title}))
    file.write_text(preview_page(outcome), encoding="utf-8")
    opened(chrome, file)
    assert title == chrome.run("document.querySelector('h1').textContent")
    assert 0 == chrome.run("document.querySelectorAll('img, h1 b').length")
    assert "broken in" != chrome.run("document.title")
    assert [] == chrome.errors


def test_the_page_s_own_policy_refuses_a_foreign_script(chrome: Browser, page: Path, tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    text = page.read_text(encoding="utf-8")
    file.write_text(text.replace("<body>", "<body><script>document.title = 'broken in'</script>"), encoding="utf-8")
    opened(chrome, file)
    assert "broken in" != chrome.run("document.title")
    assert 1 == len([e for e in chrome.errors if "Content Security Policy" in e])


@pytest.mark.parametrize("dark", [False, True])
def test_on_a_phone_it_fits_is_read_by_a_tap_and_sawn_by_a_finger(chrome: Browser, page: Path, dark: bool) -> None:
    opened(chrome, page, 390, 844, phone=True, dark=dark)
    chrome.run(SETTLED)
    assert 390 == chrome.run("document.documentElement.scrollWidth")
    small = chrome.run(
        "[...document.querySelectorAll('.bench button, .bench select')]"
        ".filter(e => e.offsetHeight < 44 && e.offsetHeight > 0).map(e => e.id)"
    )
    assert [] == small
    chrome.run("document.getElementById('marks').scrollIntoView({ block: 'center' })")
    at = window_place(chrome, 32.78, 5)  # fret 1 of L = 584
    chrome.touch("touchStart", [at])
    chrome.touch("touchEnd", [])
    assert "0.50 mm below the finished face" in reading(chrome)
    a, b = window_place(chrome, 30, 5), window_place(chrome, 36, 5)
    chrome.touch("touchStart", [a])
    for t in (0.4, 0.8, 1.0):
        chrome.touch("touchMove", [(a[0] + (b[0] - a[0]) * t, a[1])])
    chrome.touch("touchEnd", [])
    chrome.run(SETTLED)
    assert "0.50 mm wall to wall" in str(chrome.run("document.getElementById('widths').textContent"))
    scale = chrome.run("b.view.scale")
    chrome.touch("touchStart", [(150, a[1]), (200, a[1])])
    for apart in (35, 50, 70):
        chrome.touch("touchMove", [(175 - apart, a[1]), (175 + apart, a[1])])
    chrome.touch("touchEnd", [])
    assert 1.5 * scale < chrome.run("b.view.scale")
    chrome.picture(PICTURES / f"phone-{'dark' if dark else 'light'}.png", whole=True)


def test_dark_and_paper(chrome: Browser, page: Path) -> None:
    opened(chrome, page, dark=True)
    chrome.run(SETTLED)
    chrome.picture(PICTURES / "board-dark.png")
    assert "rgb(21, 25, 29)" == chrome.run("getComputedStyle(document.body).backgroundColor")
    printed = chrome.pdf(paperWidth=8.27, paperHeight=11.69)
    (PICTURES / "board.pdf").write_bytes(printed)
    # Tables that the screen folds are printed whole.
    assert 4 >= len(re.findall(rb"/Type\s*/Page\b", printed))


def test_a_neck_of_two_setups_opens_and_turns_over(chrome: Browser, tmp_path: Path) -> None:
    file = tmp_path / "neck.html"
    file.write_text(preview_page(make(NECK, Changes(pitch=0.5))), encoding="utf-8")
    opened(chrome, file)
    # The rod channel is 9.5 mm deep: demo_jobs/tenor_neck.yaml.
    assert "9.50 mm below the finished face" in pointed(chrome, 100.0, 0.0)
    chrome.picture(PICTURES / "neck.png")
    chrome.run("document.querySelector('[data-setup=back]').click()")
    until(lambda: "back" == chrome.run("b.work.setup.name"), "the page does not turn over")
    chrome.run(SETTLED)
    chrome.picture(PICTURES / "neck-back.png")
    assert "back" == chrome.run("b.work.setup.name")
    chrome.run("b.goTo(b.work.moments.at(b.work.moments.total / 2))")
    chrome.run(SETTLED)
    assert [] == chrome.errors
    assert file.stat().st_size < 6_000_000
    opened(chrome, file, 390, 844, phone=True)
    assert 390 == chrome.run("document.documentElement.scrollWidth")


def test_on_the_back_one_sees_through_what_the_face_has_lost(chrome: Browser, tmp_path: Path) -> None:
    outcome = make(NECK, Changes(pitch=0.5))
    back = outcome.setups[1]
    file = tmp_path / "neck.html"
    file.write_text(preview_page(outcome), encoding="utf-8")
    opened(chrome, file)
    chrome.run(f"b.open('back').then(() => {{ b.goTo(b.work.moments.begin); return {SETTLED}; }})")
    tuner = "cut through from the other side"
    # demo_jobs/tenor_neck.yaml: tuner bores of 8 mm at (-52, 19) and (-98, 14), seen turned over; the waste beside the
    # shaft stands.
    rng = np.random.default_rng(5)
    box = np.concatenate([rng.uniform((-190, -48), (420, 48), (300, 2)), rng.uniform((-58, -25), (-46, -13), (100, 2))])
    for moment in ("begin", "end"):
        chrome.run(f"b.goTo(b.work.moments.{moment}); {SETTLED}")
        assert tuner in pointed(chrome, -52.0, -19.0)
        assert tuner in pointed(chrome, -98.0, 14.0)
        assert "0.00 mm below the back face, 25.00 mm above the bed" in pointed(chrome, 100.0, 46.0)
        chrome.run(f"b.saw([-52, -29], [-52, -9], true); {SETTLED}")
        said = str(chrome.run("document.getElementById('widths').textContent"))
        # The headstock's back, 18 above the bed, is cut by the end.
        deep = "25.00" if moment == "begin" else "18.00"
        assert f"8.00 mm wall to wall at half depth, {deep} mm deep." in said
        cells = "(({ grid, levels }) => [grid.cell(-52, -19), grid.cell(100, 46)].map(i => levels[0].heights[i]))"
        assert pytest.approx([0.0, 25.0], abs=0.001) == chrome.run(f"{cells}(b.work.surface(false))")
        assert back.standing is not None
        assert back.beneath is not None
        over = np.full(len(box), 25.0) if moment == "begin" else back.standing.heights(box)
        under = 25.0 - back.beneath[1].heights(box * [1, -1])
        want = np.where((over <= under + 0.02) & (under > 0), 0.0, over)
        got = chrome.run(f"{box.tolist()}.map(([x, y]) => b.work.height(x, y))")
        assert pytest.approx(want, abs=0.001) == got
        assert (want == 0).sum() > 20
    chrome.picture(PICTURES / "neck-back-through.png")
    chrome.run("document.querySelector('[data-layer=left]').click()")
    chrome.run(SETTLED)
    assert 0 == chrome.run("b.work.final.levels[0].marks.reduce((n, m) => n + (m ? 1 : 0), 0)")
    assert [] == chrome.errors


@pytest.mark.parametrize("name", ["compound_board", "fanned_seven", "inlaid_board", "parlour_board_inch"])
def test_on_the_page_as_for_the_judge_nothing_is_left_nor_too_deep(chrome: Browser, tmp_path: Path, name: str) -> None:
    outcome = make(ROOT / "demo_jobs" / f"{name}.yaml", Changes(pitch=0.5))
    assert not outcome.stopped
    file = tmp_path / "page.html"
    file.write_text(preview_page(outcome), encoding="utf-8")
    opened(chrome, file)
    chrome.run("document.querySelector('[data-layer=left]').click()")
    for setup in outcome.setups:
        chrome.run(f"b.open('{setup.context.setup.name}').then(() => {SETTLED})")
        marked = "b.work.final.levels[0].marks.reduce((n, m) => n + (m ? 1 : 0), 0)"
        assert 0 == chrome.run(marked)
        # Uncut wood is left wherever something is asked for.
        chrome.run(f"b.goTo(b.work.moments.begin); {SETTLED}")
        assert 0 < chrome.run("b.work.live.levels[0].marks.reduce((n, m) => n + (m & 1), 0)")
    assert [] == chrome.errors
