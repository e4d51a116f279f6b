"""Runs side by side as one page, and every file that a comparison leaves."""

from __future__ import annotations

import base64
import re
from pathlib import Path
from typing import Any

from toolpaths.common.units import show
from toolpaths.reports.compare.compare_json import REPORT, compare_json
from toolpaths.reports.compare.compared import Compared, ComparedRun
from toolpaths.reports.compare.compared_tables import features_compared, news_compared, sets_compared
from toolpaths.reports.output.folder import listed, replace_set
from toolpaths.reports.pages.template import page
from toolpaths.reports.text.page_head import head_of_job

PAGE = "compare.html"
NOTE = (
    "In brackets: the change against the job as written. 'bends': how far the bit may bend aside in a pass. "
    "'corners': the area that round bits leave in corners; 'left high': how high the wood is there. "
    "Minutes, chips and forces are estimates."
)
_PICTURE = re.compile(r"difference-[^/\\]+\.png")


def compare_page(compared: Compared) -> str:
    """`compare.html`: one self-contained file."""
    job = compared.written.job
    head = head_of_job("Other bits compared", compared.written)
    pitch = show(compared.written.changes.pitch, job.units)
    return page(
        "compare/compare.html",
        title=head.page_title,
        head=head,
        sets=sets_compared(compared),
        features=features_compared(compared),
        note=NOTE,
        news=news_compared(compared),
        runs=[
            (_no_picture(run, pitch), "")
            if run.picture is None
            else (f"{run.label}: {run.picture.amounts(job.units)}", base64.b64encode(run.picture.png).decode("ascii"))
            for run in compared.variants
        ],
    )


def write_compared(compared: Compared, folder: Path) -> tuple[str, ...]:
    """Writes page, pictures and, last, the report into a folder, in the place of an earlier comparison; their names.

    Raises OSError, in words for the person, where the folder cannot be written; the earlier files are whole then.
    """
    files = {v.picture.file: v.picture.png for v in compared.variants if v.picture is not None}
    files = {**files, PAGE: compare_page(compared).encode(), REPORT: compare_json(compared)}
    replace_set(
        folder, files, last=REPORT, drop=[n for n in listed(folder, REPORT, _names, _PICTURE) if n not in files]
    )
    return tuple(files)


# Private


def _names(report: Any) -> list[object]:
    """Pictures that a report lists."""
    return [variant["picture"] for variant in report["variants"]]


def _no_picture(run: ComparedRun, pitch: str) -> str:
    if run.refused:
        return f"{run.label}: cannot be cut: {'; '.join(run.refused)}"
    if run.same:
        return f"{run.label}: this is the job as written"
    return f"{run.label}: the depth map shows no difference (its cells are {pitch} wide)"
