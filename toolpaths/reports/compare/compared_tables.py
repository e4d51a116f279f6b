"""Tables of a comparison, for terminal and page alike: whole sets, features that a bit changes, new findings."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from functools import partial

from toolpaths.common.units import MM_PER_INCH, Units, show_chip, show_feed
from toolpaths.reports.compare.compared import AS_WRITTEN, Compared, ComparedRow, ComparedRun
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import bare, figure

_Text = Callable[[float], str]


def sets_compared(compared: Compared) -> Table:
    """Each run as a whole: whether it may be cut, time, corners, findings."""
    units, base = compared.written.job.units, compared.base
    corners = _any_corners(compared)
    rows = [_set_cells(base, None, units, corners), *(_set_cells(v, base, units, corners) for v in compared.variants)]
    head = ["run", "may it be cut", "time\nmin"]
    head += [f"corners\n{units}²", f"left high\n{units}"] if corners else []
    head.append("what was found")
    return Table("The whole set with each bit", tuple(head), tuple(rows), range(2, len(head) - 1))


def features_compared(compared: Compared) -> Table:
    """Each feature that some variant changes: as written, then with each bit that changes it."""
    units = compared.written.job.units
    runs = [v for v in compared.variants if not (v.refused or v.same)]
    rows: list[tuple[str, ...]] = []
    for key in dict.fromkeys(key for run in (compared.base, *runs) for key in run.by_place):
        old = compared.base.by_place.get(key)
        before = None if old is None else _cells(AS_WRITTEN, old, None, units)
        found = [(run.label, run.by_place[key]) for run in runs if key in run.by_place]
        # What reads the same is the same: a way that is a hair longer changes nothing for anybody.
        changed = [
            _cells(label, new, old, units)
            for label, new in found
            if before is None or _cells(AS_WRITTEN, new, None, units) != before
        ]
        rows += [before, *changed] if changed and before is not None else changed
    head = ("run", "feature", "bit", *(header for header, _, _ in _figures(units)))
    table = Table("Each feature that a bit changes", head, tuple(rows), range(3, len(head)), keys=2)
    # Columns that say nothing are left out: of lines where none is cut, of corners where no bit leaves any.
    corners = _any_corners(compared)
    return table.only([i for i in range(len(head)) if any(row[i] for row in rows) and (i < 10 or corners)])


def news_compared(compared: Compared) -> Table:
    """Findings with a bit that the job as written does not have: one row a code and feature."""
    rows = [
        (run.label, said.severity, said.code, said.feature, said.message)
        for run in compared.variants
        for said in run.news(compared.base)
    ]
    return Table("Found with other bits only", ("run", "weight", "code", "feature", "what"), tuple(rows))


# Private


def _any_corners(compared: Compared) -> bool:
    """Whether any bit leaves anything in corners; else two columns are left out."""
    return any(r.corner_mm2 for run in (compared.base, *compared.variants) for r in run.rows)


def _figures(units: Units) -> list[tuple[str, str, _Text]]:
    """Header, name in a row and way of writing of each figure that is compared."""
    size, fine = partial(figure, units=units), partial(figure, units=units, digits=4 if units == "mm" else 5)
    return [
        (f"line\n{units}", "width_mm", size),
        ("passes", "passes", "{:.0f}".format),
        (f"pass\n{units}", "pass_depth_mm", size),
        (f"feed\n{units}/min", "feed_mm_min", lambda v: bare(show_feed(v, units))),
        (f"chip\n{units}", "chip_load_mm", lambda v: bare(show_chip(v, units))),
        (f"bends\n{units}", "leans_mm", fine),
        ("time\nmin", "minutes", "{:.1f}".format),
        (f"corners\n{units}²", "corner_mm2", _area(units)),
        (f"left high\n{units}", "highest_mm", size),
    ]


def _cells(label: str, new: ComparedRow, old: ComparedRow | None, units: Units) -> tuple[str, ...]:
    was = old or new
    figures = (_with_change(getattr(new, key), getattr(was, key), text) for _, key, text in _figures(units))
    return (label, new.name if old is None else "", f"{new.bit}: {new.bit_is}", *figures)


def _set_cells(run: ComparedRun, base: ComparedRun | None, units: Units, corners: bool) -> tuple[str, ...]:
    if run.refused:
        return (run.label, "cannot be cut so", "", *(("", "") if corners else ()), "; ".join(run.refused))
    was = run if base is None else base
    area = _with_change(run.corner_mm2, was.corner_mm2, _area(units))
    height = _with_change(run.highest_mm, was.highest_mm, partial(figure, units=units))
    verdict = "no: stopped" if run.stopped else "yes"
    return (
        run.label,
        f"{verdict}, it is the job as written" if run.same else verdict,
        _with_change(run.minutes, was.minutes, lambda v: f"{v:.1f}"),
        *((area, height) if corners else ()),
        _found(run, was),
    )


def _found(run: ComparedRun, was: ComparedRun) -> str:
    """Codes and how many of each, with what the job as written has of them; what that alone has comes last."""
    before, now = was.counts, run.counts
    words = []
    for (code, severity), n in now.items():
        old = before.get((code, severity), 0)
        change = "" if n == old else " (new)" if old == 0 else f" (was {old})"
        words.append(f"{n} {severity} {code}{change}")
    gone = {kind: n for kind, n in before.items() if kind not in now}
    words += [f"no {severity} {code} (was {n})" for (code, severity), n in gone.items()]
    return ", ".join(words) or "nothing"


def _with_change(value: float | None, before: float | None, text: _Text) -> str:
    """A figure, and its change in the digits shown."""
    if value is None:
        return "" if before is None else "none"
    said = text(value)
    if before is None or said == text(before):
        return said
    # Of the figures as they are shown: a reader subtracts them.
    change = Decimal(said) - Decimal(text(before))
    return f"{said} ({change:+f})"


def _area(units: Units) -> _Text:
    return lambda v: f"{v / MM_PER_INCH**2:.5f}" if units == "in" else f"{v:.2f}"
