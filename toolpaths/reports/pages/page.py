"""The frame of the two pages: one self-contained file that asks for nothing from a network, and text escaped."""

from __future__ import annotations

import base64
import hashlib

from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import escaped

_STYLE = """
:root { color-scheme: light; --ink: #1d2733; --faint: #66727f; --line: #c9d0d6; --paper: #fff; --wash: #f5f3ee;
  --stop: #b80000; --warn: #8a5a00; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.2rem; max-width: 86rem; color: var(--ink); background: var(--paper);
  font: 15px/1.45 system-ui, "DejaVu Sans", sans-serif; }
h1 { font-size: 1.5rem; margin: 0 0 .2rem; }
h2 { font-size: 1.1rem; margin: 1.6rem 0 .5rem; border-bottom: 1px solid var(--line); padding-bottom: .2rem; }
p { margin: .3rem 0; }
.faint { color: var(--faint); }
.verdict { display: inline-block; margin: .6rem 0; padding: .35rem .7rem; font-weight: 600;
  border-left: 5px solid #3c7a57; background: var(--wash); }
.verdict.stop { border-color: var(--stop); color: var(--stop); }
.verdict.warn { border-color: var(--warn); }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; font-size: .88rem; width: 100%; }
th { text-align: left; font-weight: 600; color: var(--faint); border-bottom: 1px solid var(--ink);
  padding: .25rem .6rem .25rem 0; }
td { border-bottom: 1px solid var(--line); padding: .25rem .6rem .25rem 0; vertical-align: top; }
td.number, th.number { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
tr.stop td:nth-child(2) { color: var(--stop); font-weight: 700; }
tr.warn td:nth-child(2) { color: var(--warn); font-weight: 700; }
ul { margin: .3rem 0; padding-left: 1.2rem; }
"""


def page(title: str, body: str, style: str = "", script: str = "") -> str:
    """A whole HTML file. `body`, `style` and `script` are trusted; `title` is not.

    The page's own policy forbids every request, and every script but the one given.
    """
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    scripts = f"'sha256-{digest}'" if script else "'none'"
    policy = (
        f"default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src {scripts}; "
        "base-uri 'none'; form-action 'none'"
    )
    tail = f"<script>{script}</script>" if script else ""
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escaped(title)}</title>\n<style>{_STYLE}{style}</style>\n</head>\n<body>\n{body}\n{tail}</body>\n</html>\n"
    )


def html_table(table: Table, *, heading: bool = True, weights: int | None = None, ticks: bool = False) -> str:
    """A table as HTML, its text escaped.

    `weights`: column that names the row's weight; `ticks`: a box to tick before each row.
    """
    cells = [f'<th{_number(table, i)} scope="col">{escaped(h)}</th>' for i, h in enumerate(table.headers)]
    box = '<th scope="col">done</th>' if ticks else ""
    out = [f"<h2>{escaped(table.title)}</h2>" if heading else "", '<div class="scroll"><table><thead><tr>', box, *cells]
    out.append("</tr></thead><tbody>")
    for row in table.rows:
        weight = f' class="{escaped(row[weights])}"' if weights is not None else ""
        tick = '<td class="tick"><span></span></td>' if ticks else ""
        out.append(f"<tr{weight}>{tick}")
        out += [f"<td{_number(table, i)}>{escaped(cell)}</td>" for i, cell in enumerate(row)]
        out.append("</tr>")
    out.append("</tbody></table></div>")
    return "".join(out)


def _number(table: Table, column: int) -> str:
    return ' class="number"' if column in table.numbers else ""
