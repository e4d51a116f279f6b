"""Write a whole set into its folder: programs, pictures, pages, report; after a stop, only the warning."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from toolpaths.common.background import BackgroundTask
from toolpaths.common.plain_file import plain_bytes
from toolpaths.gcode.program import BESIDE
from toolpaths.job.changes import Changes
from toolpaths.reports.output.folder import listed, program_files, replace_set
from toolpaths.reports.output.report_json import picture_name, report_json
from toolpaths.reports.pages.handwork_page import handwork_page
from toolpaths.reports.pages.sheet import sheet
from toolpaths.reports.pictures.depth_picture import DepthPicture, depth_picture
from toolpaths.reports.preview.preview_page import preview_page
from toolpaths.reports.text.changed import Difference
from toolpaths.reports.text.words import file_part, places, plain
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

REPORT = "report.json"
WARNING = "DO-NOT-CUT.txt"

_LARGEST_REPORT = 20_000_000
_LISTED = re.compile(r"\d{2,}-[^/\\]+\.[a-z0-9]{1,8}|depth-[^/\\]+\.png")


def default_folder(path: Path, changes: Changes) -> Path:
    """`out/<job's stem>`, with `@<change>` behind it where the command line alters the job."""
    name = file_part(path.stem)
    said = "+".join(file_part(w) for w in changes.words)
    return Path("out") / (f"{name}@{said[:120]}" if said else name)


def write_set(outcome: Outcome, folder: Path, changed: Sequence[Difference] = ()) -> tuple[str, ...]:
    """Writes the set of a run without a stop into a folder; returns the names of its files, report last.

    Raises OSError, in words for the person, where the folder cannot be written; the earlier set is whole then.
    """
    if outcome.stopped:
        raise ValueError("a stopped run leaves no programs")
    files = {**program_files(outcome.programs), **pages_of(outcome, changed), REPORT: report_json(outcome)}
    replace_set(
        folder,
        files,
        last=REPORT,
        drop=[*(n for n in listed(folder, REPORT, _names, _LISTED) if n not in files), WARNING],
    )
    return tuple(files)


def pages_of(outcome: Outcome, changed: Sequence[Difference] = ()) -> dict[str, bytes]:
    """The pictures and pages of a run by file name."""
    page = BackgroundTask(partial(preview_page, outcome, changed))
    pictures = drawn(outcome)
    files = {picture_name(setup): pictures[setup.context.setup.name].png for setup in outcome.setups}
    files["preview.html"] = page.result().encode()
    files["sheet.html"] = sheet(outcome).encode()
    files["handwork.html"] = handwork_page(outcome).encode()
    return files


def job_of_set(folder: Path) -> str:
    """The hash of the job that a folder's set was written from; empty where there is none that can be read."""
    try:
        found = json.loads(plain_bytes(folder / REPORT, _LARGEST_REPORT)).get("job_hash", "")
    except (OSError, ValueError, AttributeError, RecursionError):
        return ""
    return str(found) if re.fullmatch(r"[0-9a-f]{12}", str(found)) else ""


def drawn(outcome: Outcome) -> dict[str, DepthPicture]:
    """The depth picture of every setup by its name; the last one here, the others on other cores at the same time."""
    setups = outcome.setups
    work = {
        s.context.setup.name: BackgroundTask(partial(depth_picture, outcome, s), aside=s is not setups[-1])
        for s in setups
    }
    return {name: one.result() for name, one in work.items()}


def warn_of_stop(outcome: Outcome, folder: Path) -> bool:
    """After a stop, write a warning into the folder of an earlier set: it no longer fits the job, and why.

    The set itself stays as it is. Returns whether there was one. Raises OSError where the folder refuses.
    """
    if not (folder / REPORT).is_file():
        return False
    stops = [f for f in outcome.findings if f.severity is Severity.stop]
    lines = [
        "Do not cut from this folder.",
        f"Its programs no longer fit the job {plain(outcome.path.name)}.",
        "The last run stopped, and nothing was replaced.",
        "",
    ]
    for finding in stops[:200]:
        where = places(finding, outcome)
        lines.append(f"{finding.code}: {plain(finding.message, 1000)}{f' ({where})' if where else ''}")
    lines += ["", "Put the job right and run `neckpath write` again: this file goes away with a good set."]
    replace_set(folder, {WARNING: "\n".join(lines).encode() + b"\n"}, last=WARNING)
    return True


def _names(report: Any) -> Iterator[object]:
    """Programs and pictures that a report lists."""
    for program in report["programs"]:
        yield from (program["file"], program["file"] + BESIDE)
    for setup in report["setups"]:
        yield setup["depth_picture"]
