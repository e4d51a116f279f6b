"""`preview.html`: the depth map to be pointed at, sawn open and cut again move by move; findings, features, programs.

One file that asks for nothing. Its script and style are files of their own in `viewer/`; what they show travels in
the page as JSON, and every text of a job is set as text, never as markup.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

from toolpaths.gcode.program import BESIDE
from toolpaths.reports.pages.page import html_table, page
from toolpaths.reports.pages.section_drawing import section_drawings
from toolpaths.reports.pictures import shades
from toolpaths.reports.preview.packed import packed
from toolpaths.reports.preview.viewer_parts import bench, script, style
from toolpaths.reports.preview.viewer_setup import findings_data, setup_data
from toolpaths.reports.text.changed import Difference
from toolpaths.reports.text.tables import (
    differences_table,
    features_table,
    findings_table,
    handwork_table,
    programs_table,
    reasons_table,
)
from toolpaths.reports.text.words import escaped, plain, verdict
from toolpaths.verification.outcome import Outcome

_TEXT = 500_000
LEFT_COLOUR, DEEP_COLOUR = (0, 158, 115), (86, 180, 233)
"""Bluish green and sky blue of a set safe for colour-blind eyes.

Source: M. Okabe and K. Ito, Color Universal Design, 2008.
"""


def preview_page(outcome: Outcome, changed: Sequence[Difference] = ()) -> str:
    """The page. `changed`: what the run changes against the job as written."""
    body = [_heading(outcome)]
    data = ""
    if outcome.setups:
        body += [_setups(outcome), bench()]
        data = f'<script type="application/json" id="data">{_json(outcome)}</script>'
    if outcome.findings:
        body.append(_findings(outcome))
    body.append(section_drawings(outcome))
    if changed:
        body.append(html_table(differences_table(changed, outcome.changes.words)))
    body += [html_table(features_table(outcome, s)) for s in outcome.setups]
    if outcome.handwork:
        body.append(html_table(handwork_table(outcome)))
    for setup in outcome.setups:
        table = reasons_table(setup, outcome)
        body.append(f"<details><summary>{escaped(table.title)}</summary>{html_table(table, heading=False)}</details>")
    if outcome.programs:
        body.append(html_table(programs_table(outcome)))
        body.append(_programs(outcome))
    body.append(data)
    return page(f"{plain(outcome.job.title)}: preview", "\n".join(body), style(), script())


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


def _setups(outcome: Outcome) -> str:
    """A heading for one setup; a button for each of several."""
    names = [escaped(s.scene.setup.name) for s in outcome.setups]
    if len(names) == 1:
        return f"<h2>Setup {names[0]}</h2>"
    buttons = "".join(f'<button type="button" data-setup="{n}" aria-pressed="false">{n}</button>' for n in names)
    return f'<h2>Setups</h2><div class="row" role="group" aria-label="Setups">{buttons}</div>'


def _json(outcome: Outcome) -> str:
    """What the script shows. No `<` stands in it, so that nothing in it ends it."""
    data = {
        "units": outcome.job.units,
        "table": packed(shades.colour_table(), "u1", deflate=False),
        "rules": {**shades.rules(), "leftColour": LEFT_COLOUR, "deepColour": DEEP_COLOUR},
        "setups": [setup_data(outcome, s) for s in outcome.setups],
    }
    return json.dumps(data, separators=(",", ":"), allow_nan=False).replace("<", "\\u003c")


def _findings(outcome: Outcome) -> str:
    """The table of findings; the number of one that has a place is a button that goes there."""
    going = {f["number"] for setup in outcome.setups for f in findings_data(outcome, setup)}

    def cell(found: re.Match[str]) -> str:
        row, number = found.groups()
        if int(number) not in going:
            return found[0]
        return f'{row}<td><button type="button" data-finding="{number}">{number}</button></td>'

    table = re.sub(r'(<tr class="[a-z]+">)<td>(\d+)</td>', cell, html_table(findings_table(outcome), weights=1))
    words = "A number that is a button shows the place on the map, and the moment of the cut."
    return f'{table}<p class="faint">{words}</p>'


def _programs(outcome: Outcome) -> str:
    out = []
    share = _TEXT // len(outcome.programs)
    for program in outcome.programs:
        lines = program.text[:share].splitlines()
        text = "\n".join(f"{i:5d}  {escaped_line(line)}" for i, line in enumerate(lines, start=1))
        rest = "\n       the rest stands in the file" if len(program.text) > share else ""
        out.append(
            f"<details><summary>{escaped(program.name)}</summary>"
            f'<pre data-program="{escaped(program.name)}">{text}{rest}</pre></details>'
        )
        if program.beside:
            words = "\n".join(escaped_line(line) for line in program.beside[:share].splitlines())
            out.append(f"<details><summary>{escaped(program.name + BESIDE)}</summary><pre>{words}</pre></details>")
    return "".join(out)


def escaped_line(line: str) -> str:
    """A line of a program for a page, its spaces kept."""
    import html

    return html.escape("".join(c if c.isprintable() else " " for c in line))
