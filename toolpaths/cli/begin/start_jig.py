"""`neckpath start --part jig`: a first job of a jig for jobs that are there, which passes `check` as it stands."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from toolpaths.cli.begin.questions import command_line, tell, title
from toolpaths.cli.screen import STOPPED, Waiting, complain, say, say_whole
from toolpaths.common.whole_files import free, put_all

if TYPE_CHECKING:
    from toolpaths.job.jig import Part
    from toolpaths.job.loaded import LoadedJob
    from toolpaths.reports.reference.first_jig import JigAnswers
    from toolpaths.verification.finding import Finding

NONE = "-"
"""Stands for a job that there is not."""
_ROUNDS = 6


def start_jig(jobs: tuple[str, str] | None, given: Mapping[str, str | None], file: Path | None, force: bool) -> None:
    """Write a jig's job beside its board's and neck's. What they cannot have is left out, and the file says why.

    `given`: the options of `start` by name; a jig takes its title alone.
    """
    name = given["title"]
    if given["part"] != "jig":
        raise typer.BadParameter("--for is for a jig: add --part jig", param_hint="--for")
    for option, value in given.items():
        if value is not None and option not in ("part", "title"):
            words = "a jig takes its numbers from the jobs that lie on it: leave this out"
            raise typer.BadParameter(words, param_hint=f"--{option}")
    served = _served(jobs)
    place = Path("first-jig.yaml") if file is None else file
    place = place if place.suffix in (".yaml", ".yml") else place.with_name(f"{place.name}.yaml")
    try:
        free(place)
        words = "Jig" if name is None else title(name)
    except ValueError as error:
        complain(f"{error}. Nothing was written.")
    if place.exists() and not force:
        complain(f"{place} exists already: give another name (--force overwrites it). Nothing was written.")
    with _kept_as_it_was(place):
        answers, stops = _fitting(_answers(served, words, place), place)
    _write(answers, place, stops)


# Private


def _served(jobs: tuple[str, str] | None) -> dict[Part, LoadedJob]:
    """The jobs that are to lie on the jig, read without it: they may name it already."""
    from toolpaths.pipeline.load import load_alone

    parts: tuple[Part, Part] = ("board", "neck")
    named = {part: text for part, text in zip(parts, jobs or (NONE, NONE), strict=True) if text != NONE}
    if not named:
        words = f"name the jobs that lie on the jig: --for BOARD NECK, with {NONE} in place of one that does not exist"
        raise typer.BadParameter(words, param_hint="--for")
    out: dict[Part, LoadedJob] = {part: load_alone(Path(text)) for part, text in named.items()}
    for part, loaded in out.items():
        if loaded.job.part != part:
            words = f"{loaded.path} makes a {loaded.job.part}: name the board's job first, then the neck's"
            raise typer.BadParameter(words, param_hint="--for")
    return out


@contextmanager
def _kept_as_it_was(place: Path) -> Iterator[None]:
    """Put back what stands at a place, or nothing, when what is tried there is broken off.

    It is tried in its own place, for the jobs that lie on it may name it already.
    """
    before = place.read_bytes() if place.exists() else None
    try:
        yield
    except BaseException:
        if before is None:
            place.unlink(missing_ok=True)
        else:
            put_all({place: before})
        raise


def _answers(served: dict[Part, LoadedJob], words: str, place: Path) -> JigAnswers:
    from toolpaths.pipeline.load_served import ServedJobs, served_setups
    from toolpaths.reports.reference.first_jig import JigAnswers

    job, folder = next(iter(served.values())).job, place.parent
    machine = next(iter(served.values()))
    own = job.machine if os.sep not in job.machine else os.path.relpath(machine.path.parent / job.machine, folder)
    return JigAnswers(
        paths={part: Path(os.path.relpath(loaded.path, folder)).as_posix() for part, loaded in served.items()},
        served=served_setups(ServedJobs(served), place),
        title=words,
        units=job.units,
        machine=own,
        handed=job.handed,
        offset=job.setups[0].offset,
    )


def _fitting(answers: JigAnswers, place: Path) -> tuple[JigAnswers, list[str]]:
    """The answers without the features that something stops, and why; and what stops it still."""
    from toolpaths.features.jig_kinds import JIG_FEATURES

    stops: dict[str, str] = {}
    for _ in range(_ROUNDS):
        stops = _stops(answers, place)
        told = {key: words for key, words in stops.items() if key in JIG_FEATURES and key not in answers.without}
        if not told:
            break
        answers = replace(answers, without={**answers.without, **told})
    return answers, list(stops.values())


def _stops(answers: JigAnswers, place: Path) -> dict[str, str]:
    """What stops a jig's job, by the key of its feature: empty for what is no feature's."""
    from toolpaths.common.errors import JobError
    from toolpaths.job.changes import Changes
    from toolpaths.pipeline.run import make
    from toolpaths.reports.reference.first_jig import jig_text
    from toolpaths.verification.finding import Severity

    put_all({place: jig_text(answers, place.name).encode()})
    try:
        with Waiting() as waiting:
            found = make(place, Changes(pitch=0.5), waiting).findings
        return {_key(f): _line(f.message) for f in found if f.severity is not Severity.note}
    except JobError as error:
        return {p.key.split(".")[0]: _line(f"{p.problem}; {p.hint}") for p in error.problems}


def _key(finding: Finding) -> str:
    return finding.feature.split(" ")[0]


def _line(words: str) -> str:
    return " ".join(words.split())


def _write(answers: JigAnswers, place: Path, stops: list[str]) -> None:
    from toolpaths.reports.reference.cautions import first_job
    from toolpaths.reports.reference.first_jig import jig_text

    text = jig_text(answers, place.name)
    if stops:
        top = ["NOT READY: `neckpath check` stops this job. Change what these lines name.", *stops]
        text = "".join(f"# {line}\n" for line in top) + text
    put_all({place: text.encode()})
    for key, words in answers.without.items():
        tell(f"{key} is left out: {words}")
    if stops:
        for words in stops:
            tell(words)
        tell(f"Written: {place}. Not ready to cut. The reasons are at its top.")
        raise typer.Exit(STOPPED)
    say(f"Written: {place}. It passes `neckpath check`.")
    say("In each setup that lies on it, add the jig to `hold`, and write its zero:")
    say_whole(f"  hold: {{jig: {place.name}, ...}}")
    say_whole("  zero: {x: jig, y: jig, z: jig seat}")
    say("Then:")
    say_whole(f"  {command_line('neckpath', 'check', str(place))}")
    say_whole(f"  {command_line('neckpath', 'write', str(place))}")
    say("Screw the jig down and cut it before anything that lies on it.")
    say()
    for line in first_job(answers.units, str(place)):
        say(line)
