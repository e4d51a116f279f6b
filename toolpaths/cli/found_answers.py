"""Measured values while `found` takes them: each is checked, and kept at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import typer

from toolpaths.cli.options import length_of
from toolpaths.cli.screen import complain
from toolpaths.common.errors import JobError
from toolpaths.found.doubt import doubt
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.found.values import Values
from toolpaths.job.files.found_file import found_path, read_found, write_found
from toolpaths.job.files.found_model import FoundValue
from toolpaths.job.files.likely_words import did_you_mean
from toolpaths.job.loaded import LoadedJob
from toolpaths.pipeline.as_found import history_of
from toolpaths.pipeline.load import load_job


@dataclass(slots=True)
class Answers:
    """The values of one job so far. `cut`: how many programs are cut already, where the person says so."""

    loaded: LoadedJob
    marks: Mapping[str, Mark]
    kept: dict[str, FoundValue]
    cut: int = 0

    @staticmethod
    def of(job: Path, cut: int | None) -> Answers:
        """What is known of a job so far. Raises JobError for a job, or a file of values, that cannot be used."""
        loaded = load_job(job)
        try:
            history = history_of(loaded)
        except JobError:
            # The values stay, and more may be told, though nothing more can be cut with them.
            history = history_of(replace(loaded, found=None))
        programs = len(history.design.plans)
        if cut is not None and cut > programs:
            complain(f"--cut {cut}: the job has {programs} programs.")
        kept = {} if loaded.found is None else dict(loaded.found.found.found)
        return Answers(loaded, {m.name: m for m in history.marks}, kept, cut or 0)

    @property
    def path(self) -> Path:
        """The file in which they are kept."""
        return found_path(self.loaded.path)

    @property
    def values(self) -> Values:
        """The values by mark number."""
        known = {self.marks[name]: one for name, one in self.kept.items() if name in self.marks}
        return Values(
            tuple(self.marks.values()),
            {mark.number: one.value for mark, one in known.items()},
            {mark.number: max(one.cut, mark.after) for mark, one in known.items()},
        )

    @property
    def programs_cut(self) -> int:
        """How many programs are cut already, as far as that is known."""
        return max(self.values.programs_cut, self.cut)

    def due(self) -> list[Mark]:
        """The marks that can be measured by now and are not; the next ones where there are none."""
        waiting = [m for m in self.marks.values() if m.name not in self.kept and m.meaning is not Meaning.look]
        due = [m for m in waiting if m.after <= self.programs_cut]
        return due or [m for m in waiting if m.after == min(one.after for one in waiting)]

    def question(self, mark: Mark) -> str:
        """One mark as it is asked for."""
        when = "as it lies" if mark.before else f"after program {mark.after}"
        return f"{mark.name}, {when}: {mark.measure.words} ({mark.wanted(self.loaded.job.units)})"

    def refusal(self, name: str, typed: str) -> str | None:
        """Why a value cannot be taken, in words; None where it can. Nothing is changed."""
        mark = self._mark(name)
        try:
            value = length_of(typed, self.loaded.job.units, name)
        except typer.BadParameter as error:
            return f"{error.message}."
        why = doubt(mark, value, self.loaded.job)
        return None if why is None else f"{why.problem[0].upper()}{why.problem[1:]}: {why.hint}."

    def take(self, name: str, typed: str) -> None:
        """Keep one value. Ends with exit code 2 for one that cannot be true; nothing is changed then."""
        mark = self._mark(name)
        refused = self.refusal(name, typed)
        if refused is not None:
            complain(f"{mark.name}: {refused} Nothing was changed.")
        value, late = length_of(typed, self.loaded.job.units, name), self.programs_cut
        one = FoundValue.model_construct(value=value, cut=late if late > mark.after else 0)
        self._keep({**self._as_it_stands(), mark.name: one})

    def forget(self, name: str) -> None:
        """Take one value out. Ends with exit code 2 for a mark that has none."""
        self.kept = self._as_it_stands()
        if name not in self.kept:
            complain(f"No value is kept for `{name[:20]}`; {did_you_mean(name, self.kept, 'kept')}")
        self._keep({mark: value for mark, value in self.kept.items() if mark != name})

    def _as_it_stands(self) -> dict[str, FoundValue]:
        """What the file holds by now: somebody may have written into it since it was read. Raises JobError."""
        file = read_found(self.loaded.path, self.loaded.job.units)
        return {} if file is None else dict(file.found.found)

    def _mark(self, name: str) -> Mark:
        mark = self.marks.get(name)
        if mark is None:
            complain(
                f"No place of the measuring list is called `{name[:20]}`; {did_you_mean(name, self.marks, 'marks')}"
            )
            raise AssertionError
        return mark

    def _keep(self, values: dict[str, FoundValue]) -> None:
        words = {m.name: f"{m.measure.words}, {m.wanted(self.loaded.job.units)}" for m in self.marks.values()}
        write_found(self.loaded.path, self.loaded.job_hash, values, words, self.loaded.job.units)
        self.kept = values
