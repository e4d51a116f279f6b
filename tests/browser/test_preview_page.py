"""The preview page in a real browser: pointing at the picture reads the depth there."""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from toolpaths.core.outcome import Changes
from toolpaths.pipeline import make
from toolpaths.reports.depth_picture import DepthPicture, depth_picture
from toolpaths.reports.preview_page import preview_page

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
JOB = Path(__file__).parents[2] / "demo_jobs" / "tenor_board.yaml"

pytestmark = [pytest.mark.slow, pytest.mark.skipif(BROWSER is None, reason="needs a browser without a window")]

_POINTING = """
const picture = document.querySelector(".picture"), seen = picture.getBoundingClientRect(), out = [];
for (const [u, v] of POINTS) {
  const clientX = seen.left + u * seen.width, clientY = seen.top + v * seen.height;
  picture.dispatchEvent(new PointerEvent("pointermove", {clientX, clientY}));
  out.push(document.querySelector(".reading").textContent);
}
document.body.innerHTML = "<pre id='said'>" + JSON.stringify(out).replaceAll("<", "&lt;") + "</pre>";
"""


def _read(tmp_path: Path, page: str, picture: DepthPicture, points: list[tuple[float, float]]) -> list[str]:
    """What the page says when pointed at x, y (mm)."""
    left, top, width, height = picture.panel
    x0, y0, x1, y1 = picture.box
    shares = [
        [
            (left + (x - x0) / (x1 - x0) * width) / picture.size[0],
            (top + (y1 - y) / (y1 - y0) * height) / picture.size[1],
        ]
        for x, y in points
    ]
    # The page's own policy refuses any script but its own: it is lifted for the finger of this test.
    page = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", page)
    page = page.replace("</body>", f"<script>{_POINTING.replace('POINTS', repr(shares))}</script></body>")
    file = tmp_path / "page.html"
    file.write_text(page, encoding="utf-8")
    command = [str(BROWSER), "--headless", "--no-sandbox", "--disable-gpu", "--window-size=1400,1200", "--dump-dom"]
    run = subprocess.run([*command, file.as_uri()], capture_output=True, text=True, timeout=120)
    said = re.search(r'<pre id="said">(.*?)</pre>', run.stdout, re.S)
    assert said is not None, run.stderr[-2000:]
    return list(json.loads(html.unescape(said.group(1))))


def test_pointing_reads_face_line_pocket_cut_and_the_table_beside(tmp_path: Path) -> None:
    outcome = make(JOB, Changes(pitch=0.2))
    picture = depth_picture(outcome, outcome.setups[0])
    # L = 584: fret 7 stands at 194.23 mm; the marker of fret 5 midway between frets 4 and 5, at 133.49 mm.
    points = [(100.0, 5.0), (194.23, 5.0), (133.49, 0.0), (-3.0, 0.0), (-33.0, 30.0)]
    page = preview_page(outcome, {"face": picture})
    face, line, pocket, through, beside = _read(tmp_path, page, picture, points)
    assert face.endswith(": 0.00 mm deep, 6.00 mm above the bed")
    assert line.endswith(": 0.50 mm deep, 5.50 mm above the bed")
    assert pocket.endswith(": 1.80 mm deep, 4.20 mm above the bed")
    assert through.endswith(": cut through to the bed")
    assert beside.endswith(": beside the stock")
    x = re.match(r"x (-?[\d.]+) mm, y (-?[\d.]+) mm", line)
    assert x is not None
    assert pytest.approx(194.23, abs=0.2) == float(x.group(1))
    assert pytest.approx(5.0, abs=0.2) == float(x.group(2))


def test_the_page_s_own_policy_lets_its_own_script_run(tmp_path: Path) -> None:
    outcome = make(JOB, Changes(pitch=0.5))
    page = preview_page(outcome, {"face": depth_picture(outcome, outcome.setups[0])})
    file = tmp_path / "page.html"
    file.write_text(page.replace("<body>", "<body><script>document.title = 'broken in'</script>"), encoding="utf-8")
    command = [str(BROWSER), "--headless", "--no-sandbox", "--disable-gpu", "--enable-logging=stderr", "--dump-dom"]
    run = subprocess.run([*command, file.as_uri()], capture_output=True, text=True, timeout=120)
    assert "<title>broken in" not in run.stdout
    refused = [line for line in run.stderr.splitlines() if "Content Security Policy" in line]
    assert 1 == len(refused), "the foreign script is refused, the page's own is not"
