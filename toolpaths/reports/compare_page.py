"""Runs side by side, as people read them: two tables for terminal and page, the page itself, and `compare.json`."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from typing import Any

from toolpaths import __version__
from toolpaths.core.units import MM_PER_INCH, Units, show
from toolpaths.reports.compared import AS_WRITTEN, Compared, Picture, Row, Run
from toolpaths.reports.page import html_table, page
from toolpaths.reports.tables import Table
from toolpaths.reports.words import chip, escaped, feed, plain

REPORT = "compare.json"
PAGE = "compare.html"
NOTE = (
    "In brackets: the change against the job as written. 'leans' is the most that the bit may bend aside in a pass, "
    "'corners' what round bits leave there and how high it stands. Minutes, chips and forces are estimates."
)
_STYLE = "figure { margin: 1rem 0; } figure img { width: 100%; height: auto; border: 1px solid var(--line); }"

_Text = Callable[[float], str]


def features_compared(compared: Compared) -> Table:
    """Each feature that some variant changes: as written, then with each bit that changes it."""
    units = compared.written.job.units
    written = _by_feature(compared.base)
    runs = [v for v in compared.variants if not (v.refused or v.same)]
    lines = any(r.width_mm is not None for run in (compared.base, *runs) for r in run.rows)
    rows: list[tuple[str, ...]] = []
    for key in dict.fromkeys(key for run in (compared.base, *runs) for key in _by_feature(run)):
        old = written.get(key)
        found = [(run.label, _by_feature(run).get(key)) for run in runs]
        changed = [(label, new) for label, new in found if new is not None and new != old]
        if changed:
            if old is not None:
                rows.append(_cells(AS_WRITTEN, old, None, units, lines))
            rows += [_cells(label, new, old, units, lines) for label, new in changed]
    head = ["feature", "run", "bit", *([f"line\n{units}"] if lines else []), "passes", f"pass\n{units}"]
    head += [f"feed\n{units}/min", f"chip\n{units}", f"leans\n{units}", "time\nmin", f"corners\n{units}²"]
    head.append(f"stand there\n{units}")
    if not any(r.corner_mm2 > 0 for run in (compared.base, *runs) for r in run.rows):
        # Nothing is left in corners by any bit: two columns less to read.
        head, rows = head[:-2], [row[:-2] for row in rows]
    return Table("Each feature that a bit changes", tuple(head), tuple(rows), frozenset(range(3, len(head))))


def sets_compared(compared: Compared) -> Table:
    """Each run as a whole: time, corners, findings, and whether it may be cut."""
    units, base = compared.written.job.units, compared.base
    rows = [_set_cells(base, None, units), *(_set_cells(v, base, units) for v in compared.variants)]
    head = ("run", "time\nmin", f"corners\n{units}²", f"stand there\n{units}", "what was found", "")
    return Table("The whole set with each bit", head, tuple(rows), frozenset({1, 2, 3}))


def compare_page(compared: Compared) -> str:
    """`compare.html`: one self-contained file."""
    job = compared.written.job
    out = [
        f"<h1>{escaped(job.title)}: other bits side by side</h1>",
        f'<p class="faint">{escaped(compared.written.machine.name)}, {escaped(compared.written.wood.name)}, '
        f"job {escaped(compared.written.job_hash)} as written. No program was made.</p>",
        html_table(sets_compared(compared)),
        html_table(features_compared(compared)),
        f"<p>{escaped(NOTE)}</p>",
        "<h2>Where they differ</h2>",
        "<p>Violet is deeper than in the job as written, orange stands higher, grey is the same.</p>",
    ]
    for run in compared.variants:
        if run.picture is None:
            out.append(f"<p>{escaped(_no_picture(run))}</p>")
            continue
        data = base64.b64encode(run.picture.png).decode("ascii")
        words = escaped(f"{run.label}: {_amounts(run.picture, job.units)}")
        out.append(f'<figure><img alt="{words}" src="data:image/png;base64,{data}"><figcaption>{words}</figcaption>')
        out.append("</figure>")
    return page(f"{plain(job.title, 80)}: other bits", "\n".join(out), _STYLE)


def compare_files(compared: Compared) -> dict[str, bytes]:
    """Every file of a comparison by its name: pictures, page, and the report last."""
    files = {v.picture.file: v.picture.png for v in compared.variants if v.picture is not None}
    return {**files, PAGE: compare_page(compared).encode(), REPORT: compare_json(compared)}


def compare_json(compared: Compared) -> bytes:
    """`compare.json`: the same, for other programs; lengths mm, areas mm2, volumes mm3."""
    written = compared.written
    whole = {
        "job": written.path.name,
        "job_hash": written.job_hash,
        "version": __version__,
        "machine": written.machine.name,
        "as_written": _run_json(compared.base),
        "variants": [_run_json(v) for v in compared.variants],
    }
    return json.dumps(whole, indent=1, ensure_ascii=True).encode("ascii") + b"\n"


# Private


def _by_feature(run: Run) -> dict[tuple[str, str, int], Row]:
    """Rows by setup, feature and which of the feature's bits."""
    out: dict[tuple[str, str, int], Row] = {}
    for row in run.rows:
        place = sum(key[:2] == (row.setup, row.feature) for key in out)
        out[(row.setup, row.feature, place)] = row
    return out


def _cells(label: str, new: Row, old: Row | None, units: Units, lines: bool) -> tuple[str, ...]:
    def cell(value: float | None, before: float | None, text: _Text) -> str:
        return _with_change(value, before if old is not None else value, text)

    was = new if old is None else old
    size, small = _length(units), _fine(units)
    return (
        new.feature if old is None else "",
        label,
        f"{new.bit} {_bare(show(new.diameter_mm, units, 3 if units == 'mm' else 4))}",
        *([cell(new.width_mm, was.width_mm, size)] if lines else []),
        cell(new.passes, was.passes, lambda n: f"{n:.0f}"),
        cell(new.pass_mm, was.pass_mm, size),
        cell(new.feed_mm_min, was.feed_mm_min, lambda v: _bare(feed(v, units))),
        cell(new.chip_mm, was.chip_mm, lambda v: _bare(chip(v, units))),
        cell(new.bend_mm, was.bend_mm, small),
        cell(new.minutes, was.minutes, lambda v: f"{v:.1f}"),
        cell(new.corner_mm2, was.corner_mm2, _area(units)),
        cell(new.highest_mm, was.highest_mm, size),
    )


def _set_cells(run: Run, base: Run | None, units: Units) -> tuple[str, ...]:
    if run.refused:
        return (run.label, "", "", "", "; ".join(run.refused), "cannot be cut so")
    was = run if base is None else base
    said = "is the job as written" if run.same else "stopped" if run.stopped else "may be cut"
    return (
        run.label,
        _with_change(run.minutes, was.minutes, lambda v: f"{v:.1f}"),
        _with_change(run.corner_mm2, was.corner_mm2, _area(units)),
        _with_change(run.highest_mm, was.highest_mm, _length(units)),
        _found(run, was),
        said,
    )


def _found(run: Run, was: Run) -> str:
    """Codes and how many of each, with what the job as written has of them; what that alone has comes last."""
    before = {code: n for code, _, n in was.findings}
    now = {code: n for code, _, n in run.findings}
    words = []
    for code, severity, n in run.findings:
        old = before.get(code, 0)
        change = "" if n == old else " (new)" if old == 0 else f" (was {old})"
        words.append(f"{severity} {code} {n}{change}")
    words += [f"no {code} (was {n})" for code, n in before.items() if code not in now]
    return ", ".join(words) or "nothing"


def _with_change(value: float | None, before: float | None, text: _Text) -> str:
    """A figure, and how it changed as far as the figures shown tell."""
    if value is None:
        return "" if before is None else "none"
    said = text(value)
    if before is None or said == text(before):
        return said
    change = value - before
    return f"{said} ({'+' if change > 0 else '-'}{text(abs(change))})"


def _length(units: Units) -> _Text:
    return lambda v: _bare(show(v, units))


def _fine(units: Units) -> _Text:
    return lambda v: _bare(show(v, units, 4 if units == "mm" else 5))


def _area(units: Units) -> _Text:
    return lambda v: f"{v / MM_PER_INCH**2:.5f}" if units == "in" else f"{v:.2f}"


def _bare(shown: str) -> str:
    """A figure without its unit, which stands in the header."""
    return shown.split()[0]


def _amounts(picture: Picture, units: Units) -> str:
    deeper, higher = (
        f"{v / MM_PER_INCH**3:.4f} in³" if units == "in" else f"{v:.1f} mm³"
        for v in (picture.deeper_mm3, picture.higher_mm3)
    )
    return f"{deeper} more cut away, {higher} more left standing"


def _no_picture(run: Run) -> str:
    if run.refused:
        return f"{run.label}: cannot be cut so: {'; '.join(run.refused)}"
    return f"{run.label}: {'is the job as written' if run.same else 'the wood is the same'}"


def _run_json(run: Run) -> dict[str, Any]:
    picture = run.picture
    return {
        "run": run.label,
        "same": run.same,
        "stopped": run.stopped,
        "refused": list(run.refused),
        "minutes": round(run.minutes, 4),
        "corner_mm2": round(run.corner_mm2, 4),
        "highest_mm": round(run.highest_mm, 4),
        "deeper_mm3": None if picture is None else round(picture.deeper_mm3, 3),
        "higher_mm3": None if picture is None else round(picture.higher_mm3, 3),
        "picture": None if picture is None else picture.file,
        "findings": [{"code": code, "severity": severity, "count": n} for code, severity, n in run.findings],
        "features": [
            {
                "setup": r.setup,
                "name": r.feature,
                "bit": r.bit,
                "diameter_mm": round(r.diameter_mm, 4),
                "width_mm": None if r.width_mm is None else round(r.width_mm, 4),
                "passes": r.passes,
                "pass_depth_mm": round(r.pass_mm, 4),
                "feed_mm_min": round(r.feed_mm_min, 3),
                "rpm": round(r.rpm, 1),
                "chip_load_mm": round(r.chip_mm, 5),
                "leans_mm": round(r.bend_mm, 5),
                "minutes": round(r.minutes, 4),
                "corner_mm2": round(r.corner_mm2, 4),
                "highest_mm": round(r.highest_mm, 4),
            }
            for r in run.rows
        ],
    }
