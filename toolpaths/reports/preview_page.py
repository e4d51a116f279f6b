"""`preview.html`: the depth pictures, to be pointed at, with findings, features and the programs' text.

Pointing reads a grid of heights that lies in the page: the lowest height of each of its cells, to 0.01 mm.
"""

from __future__ import annotations

import base64
import json
import math
from collections.abc import Mapping, Sequence

import numpy as np

from toolpaths.core.outcome import Outcome, SetupReport
from toolpaths.core.program import BESIDE
from toolpaths.core.units import show
from toolpaths.reports import shades
from toolpaths.reports.changed import Difference
from toolpaths.reports.depth_picture import DepthPicture
from toolpaths.reports.page import html_table, page
from toolpaths.reports.section_drawing import section_drawings
from toolpaths.reports.tables import (
    differences_table,
    features_table,
    findings_table,
    handwork_table,
    programs_table,
    reasons_table,
)
from toolpaths.reports.words import escaped, plain, verdict, zero_words

_CELLS = 300_000
_TEXT = 500_000
_SHIFT, _STEP = 10.0, 0.01

_STYLE = """
figure { margin: 0; }
.picture { position: relative; cursor: crosshair; touch-action: none; }
.picture img { display: block; width: 100%; height: auto; border: 1px solid var(--line); }
.reading { position: sticky; bottom: 0; background: var(--wash); padding: .4rem .7rem; min-height: 2.2rem;
  font-variant-numeric: tabular-nums; border: 1px solid var(--line); border-top: 0; }
pre { background: var(--wash); padding: .7rem; overflow: auto; max-height: 28rem; font-size: .8rem; line-height: 1.35; }
summary { cursor: pointer; padding: .25rem 0; }
"""

_SCRIPT = """
"use strict";
for (const figure of document.querySelectorAll("figure")) {
  const about = JSON.parse(figure.dataset.about);
  const raw = atob(figure.dataset.heights);
  const picture = figure.querySelector(".picture"), reading = figure.querySelector(".reading");
  const resting = reading.textContent;
  const inch = about.units === "in";
  const say = mm => inch ? (mm / 25.4).toFixed(3) + " in" : mm.toFixed(2) + " mm";
  const tidy = text => text.replace(/^-(0\\.0+ )/, "$1");
  const read = event => {
    const seen = picture.getBoundingClientRect();
    const px = (event.clientX - seen.left) / seen.width * about.size[0];
    const py = (event.clientY - seen.top) / seen.height * about.size[1];
    const u = (px - about.panel[0]) / about.panel[2], v = (py - about.panel[1]) / about.panel[3];
    if (u < 0 || u > 1 || v < 0 || v > 1) { reading.textContent = resting; return; }
    const x = about.view[0] + u * (about.view[2] - about.view[0]);
    const y = about.view[3] - v * (about.view[3] - about.view[1]);
    const col = Math.floor((x - about.box[0]) / (about.box[2] - about.box[0]) * about.cols);
    const row = Math.floor((about.box[3] - y) / (about.box[3] - about.box[1]) * about.rows);
    let words = "beside the stock";
    if (col >= 0 && col < about.cols && row >= 0 && row < about.rows) {
      const at = 2 * (row * about.cols + col);
      const height = (raw.charCodeAt(at) + 256 * raw.charCodeAt(at + 1)) * about.step - about.shift;
      const depth = about.face - height;
      words = height <= about.through ? "cut through to the bed"
        : depth < -about.step ? say(-depth) + " above the finished face, " + say(height) + " above the bed"
        : tidy(say(depth)) + " deep, " + say(height) + " above the bed";
    }
    reading.textContent = "x " + tidy(say(x)) + ", y " + tidy(say(y)) + ": " + words;
  };
  picture.addEventListener("pointermove", read);
  picture.addEventListener("pointerdown", read);
  picture.addEventListener("pointerleave", () => { reading.textContent = resting; });
}
"""


def preview_page(outcome: Outcome, pictures: Mapping[str, DepthPicture], changed: Sequence[Difference] = ()) -> str:
    """The page. `pictures` by setup name; `changed`: what the run changes against the job as written."""
    body = [_heading(outcome)]
    for setup in outcome.setups:
        body.append(_figure(outcome, setup, pictures[setup.scene.setup.name]))
    body.append(section_drawings(outcome))
    if changed:
        body.append(html_table(differences_table(changed, outcome.changes.words)))
    if outcome.findings:
        body.append(html_table(findings_table(outcome), weights=1))
        body.append('<p class="faint">Numbers in red rings on the picture are the numbers of this table.</p>')
    body += [html_table(features_table(outcome, s)) for s in outcome.setups]
    if outcome.handwork:
        body.append(html_table(handwork_table(outcome)))
    for setup in outcome.setups:
        table = reasons_table(setup, outcome)
        body.append(f"<details><summary>{escaped(table.title)}</summary>{html_table(table, heading=False)}</details>")
    if outcome.programs:
        body.append(html_table(programs_table(outcome)))
        body.append(_programs(outcome))
    return page(f"{plain(outcome.job.title)}: preview", "\n".join(body), _STYLE, _SCRIPT)


def _heading(outcome: Outcome) -> str:
    weight = "stop" if outcome.stopped else "warn" if any(f.severity == "warn" for f in outcome.findings) else ""
    changed = f" Changed: {escaped(', '.join(outcome.changes.words))}." if outcome.changes.words else ""
    accepted = f" Let pass on request: {escaped(', '.join(outcome.accepted))}." if outcome.accepted else ""
    return (
        f"<h1>{escaped(outcome.job.title)}</h1>"
        f'<p class="faint">{escaped(outcome.path.name)}, job {escaped(outcome.job_hash)}, machine '
        f"{escaped(outcome.machine.name)}, {escaped(outcome.wood.name)}.{changed}{accepted}</p>"
        f'<p class="verdict {weight}">{escaped(verdict(outcome))}</p>'
    )


def _figure(outcome: Outcome, setup: SetupReport, picture: DepthPicture) -> str:
    share = _CELLS / len(outcome.setups)
    x0, y0, x1, y1 = setup.scene.stock_box
    cell = max(setup.after.pitch, math.sqrt((x1 - x0) * (y1 - y0) / share))
    cols, rows = max(1, round((x1 - x0) / cell)), max(1, round((y1 - y0) / cell))
    heights = shades.lowest(setup.after, (x0, y0, x1, y1), cols, rows)
    steps = np.clip(np.rint((np.nan_to_num(heights, nan=0.0) + _SHIFT) / _STEP), 0, 65535).astype("<u2")
    about = {
        "units": outcome.job.units,
        "size": picture.size,
        "panel": picture.panel,
        "view": [round(v, 4) for v in picture.box],
        "box": [round(v, 4) for v in (x0, y0, x1, y1)],
        "cols": cols,
        "rows": rows,
        "face": round(setup.scene.face, 4),
        "through": shades.THROUGH,
        "shift": _SHIFT,
        "step": _STEP,
    }
    name = escaped(setup.scene.setup.name)
    resting = f"Point at the map to read x, y and depth (the deepest within {show(cell, outcome.job.units)})."
    return (
        f"<h2>Setup {name}</h2><p>Zero: {escaped(zero_words(setup))}.</p>"
        f'<figure data-about="{escaped(json.dumps(about))}" '
        f'data-heights="{base64.b64encode(steps.tobytes()).decode()}">'
        f'<div class="picture"><img alt="Depth of setup {name}" src="data:image/png;base64,'
        f'{base64.b64encode(picture.png).decode()}" width="{picture.size[0]}" height="{picture.size[1]}"></div>'
        f'<div class="reading" role="status">{escaped(resting)}</div></figure>'
    )


def _programs(outcome: Outcome) -> str:
    out = []
    share = _TEXT // len(outcome.programs)
    for program in outcome.programs:
        lines = program.text[:share].splitlines()
        text = "\n".join(f"{i:5d}  {escaped_line(line)}" for i, line in enumerate(lines, start=1))
        rest = "\n       the rest stands in the file" if len(program.text) > share else ""
        out.append(f"<details><summary>{escaped(program.name)}</summary><pre>{text}{rest}</pre></details>")
        if program.beside:
            words = "\n".join(escaped_line(line) for line in program.beside[:share].splitlines())
            out.append(f"<details><summary>{escaped(program.name + BESIDE)}</summary><pre>{words}</pre></details>")
    return "".join(out)


def escaped_line(line: str) -> str:
    """A line of a program for a page, its spaces kept."""
    import html

    return html.escape("".join(c if c.isprintable() else " " for c in line))
