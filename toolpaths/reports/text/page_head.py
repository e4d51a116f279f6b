"""Head and footer of the printed pages: which page it is, of what, and by which version of which job it was made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from toolpaths.common.units import Units
from toolpaths.common.version import __version__
from toolpaths.job.job import Instrument
from toolpaths.reports.text.words import count, plain, scale_words
from toolpaths.verification.outcome import Outcome

PARTS = {"board": "Fretboard", "neck": "Neck", "jig": "Jig"}
"""What each part of an instrument is called."""


@dataclass(frozen=True, slots=True)
class PageHead:
    """`kind`: which page; `title`: of the job or jobs; `about`: part, instrument, wood and machine.

    `footer`: version, files and jobs; `marks`: the jobs' marks, digits and letters a to f alone.
    """

    kind: str
    title: str
    about: str
    footer: str
    marks: str
    version: str = __version__

    @property
    def page_title(self) -> str:
        """What a browser calls the page: which page, and of which job."""
        return f"{self.kind}: {plain(self.title, 80)}"


def head_of_job(kind: str, outcome: Outcome, *more: str) -> PageHead:
    """The head of a page that belongs to one job. `more`: what else is said of it, after wood and machine."""
    job = outcome.job
    about = (PARTS[job.part], instrument_words(job.instrument, job.units), outcome.wood.name, outcome.machine.name)
    return head_of_files(kind, job.title, [(outcome.path.name, outcome)], *about, *more)


def head_of_jobs(kind: str, title: str, outcomes: Sequence[Outcome], *about: str) -> PageHead:
    """The head of a page on the jobs of one instrument."""
    return head_of_files(kind, title, [(outcome.path.name, outcome) for outcome in outcomes], *about)


def head_of_files(kind: str, title: str, files: Sequence[tuple[str, Outcome]], *about: str) -> PageHead:
    """The head of any page, made by `files`: a name and a run each."""
    return PageHead(
        kind=kind,
        title=plain(title),
        about=" \u00b7 ".join(words for words in about if words),
        footer=footer(files),
        marks=", ".join(outcome.job_hash for _, outcome in files),
    )


def footer(files: Sequence[tuple[str, Outcome]]) -> str:
    """`neckpath 0.1.0 \u00b7 tenor_board.yaml \u00b7 job 9958fd6c7023`; further jobs follow."""
    said = [words for name, outcome in files for words in (plain(name), f"job {outcome.job_hash}")]
    return " \u00b7 ".join([f"neckpath {__version__}", *said])


def instrument_words(instrument: Instrument, units: Units) -> str:
    """`scale 584.00 mm, 19 frets, 4 strings`."""
    strings = count(instrument.strings, "string")
    return f"scale {scale_words(instrument, units)}, {count(instrument.frets, 'fret')}, {strings}"
