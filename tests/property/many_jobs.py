"""Many jobs drawn from the whole schema, each planned, written, read back and judged by other means.

    python -m tests.property.many_jobs --jobs 500     makes the table of docs/proof.md anew

With NECKPATH_INTERPRETER (see tests/outside/interpreter.py) the moves are an independent interpreter's, and must be
our reader's too; without it they are our reader's alone.
"""

from __future__ import annotations

import argparse
import re
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.outside.interpreter import FOLDER, Canonical, Move, Refused, canonical, differences
from tests.property.any_job import Job, jobs, text_of
from tests.property.draw_places import in_two_places
from tests.property.plain_judge import Text, faults
from tests.property.plain_part import Part
from toolpaths.common.errors import JobError
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import Trace
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import make
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

PAGE = Path(__file__).parents[2] / "docs" / "proof.md"
PITCH = 1.0
"""Of the product's maps, mm: no verdict hangs on it."""
CHUNK = 25
SELF_MADE = frozenset({"gouge", "uncut", "fret-off", "feed-differs", "plunge", "no-touch-off", "rapid-in-wood"})
"""What only a fault of a program can bring about: a set that the product makes itself is never stopped by these."""
_PHASES = [Phase.explicit, Phase.generate]
"""A job that goes wrong is shown as it was drawn: to make it smaller takes minutes."""
_ALIEN = {"mm": re.compile(r"\d in\b|\u2039"), "in": re.compile(r"\d mm\b|\u2039")}
_TABLE = re.compile(r"(?<=<!-- any job -->\n).*?(?=<!-- end of any job -->)", re.S)


def outcome_of(job: Job, folder: Path) -> Outcome | None:
    """What the product makes of a job; None where it refuses it: with a place, a key and a hint for every problem."""
    path = folder / "job.yaml"
    path.write_text(text_of(job), encoding="utf-8")
    try:
        return make(path, Changes(pitch=PITCH))
    except JobError as error:
        if not all(p.line > 0 and p.key and p.problem and p.hint for p in error.problems):
            raise
        # Lengths in the job's own units, none left to be written out.
        if any(_ALIEN[job["units"]].search(p.problem + p.hint) for p in error.problems):
            raise
        return None


def wrong_with(job: Job, outcome: Outcome) -> list[str]:
    """Everything that another judge finds in the programs of a job that the product calls good."""
    out: list[str] = []
    for place, setup in enumerate(job["setups"]):
        texts = []
        for program in outcome.programs:
            if program.setup != setup["name"] or program.on_bed:
                continue  # the bed is no wood of the job
            trace = read(program.text)
            if not FOLDER:
                moves = _as_read(trace)
            else:
                try:
                    moves = canonical(program.text)
                except Refused as refused:
                    out.append(f"{program.name}: the interpreter refuses: {refused}")
                    continue
                out += [f"{program.name}: {what}" for what in differences(trace, moves)]
            texts.append(Text(program.name, program.text, moves))
        out += [f"{setup['name']}: {what}" for what in faults(Part(job, place), texts)]
    return out


def judged(start: int, count: int, part: str | None = None, *, moved: bool = False) -> Counter[str]:
    """Draws so many jobs from one seed; raises AssertionError with the first job that goes wrong.

    `moved`: boards whose blank is moved along on pins.
    """
    tally: Counter[str] = Counter()
    folder = Path(tempfile.mkdtemp())

    @seed(start)
    @settings(max_examples=count, deadline=None, database=None, suppress_health_check=list(HealthCheck), phases=_PHASES)
    @given(jobs(part))
    def each(job: Job) -> None:
        found = in_two_places(job) if moved else job
        if found is not None:
            _count(found, folder, tally)

    each()
    return tally


def _count(job: Job, folder: Path, tally: Counter[str]) -> None:
    outcome = outcome_of(job, folder)
    tally["drawn"] += 1
    if outcome is None:
        tally["refused in the job file"] += 1
        return
    stops = {f.code for f in outcome.findings if f.severity is Severity.stop}
    own = [
        f"{f.code} of {f.feature}, {f.program}:{f.program_line}: {f.message}"
        for f in outcome.findings
        if f.code in stops & SELF_MADE
    ]
    assert not own, "\n".join(["the product stops its own program:", *own[:5], text_of(job)])
    if stops:
        assert all(f.message for f in outcome.findings)
        tally["stopped"] += 1
        tally.update(f"stopped by `{code}`" for code in stops)
        return
    wrong = wrong_with(job, outcome)
    assert not wrong, "\n".join([*wrong[:5], text_of(job)])
    tally["written"] += 1
    tally["programs"] += len(outcome.programs)
    tally["moves"] += sum(len(trace) for s in outcome.setups for trace in s.traces.values())
    tally[f"written, {job['part']}"] += 1


def _as_read(trace: Trace) -> Canonical:
    """Our reader's moves in the interpreter's shape."""
    planes: Callable[[int], tuple[int, int]] = {17: (0, 1), 18: (2, 0), 19: (1, 2)}.__getitem__
    moves = []
    for i in range(len(trace)):
        a, b = planes(int(trace.plane[i]))
        end = np.nan_to_num(trace.end[i])
        centre = (float(trace.centre[i][a]), float(trace.centre[i][b]))
        moves.append(
            Move(
                int(trace.kind[i]), (float(end[0]), float(end[1]), float(end[2])), centre, int(trace.plane[i]),
                float(trace.feed[i]), float(trace.rpm[i]), "", 0.0,
            )
        )  # fmt: skip
    return Canonical(moves, [(e.word, e.before, e.value) for e in trace.events])


def table(tally: Counter[str], seeds: Sequence[int]) -> str:
    """The figures of the page, in Markdown."""
    codes = sorted((k for k in tally if k.startswith("stopped by")), key=lambda k: (-tally[k], k))
    rows = [
        ("jobs drawn", tally["drawn"]),
        ("refused in the job file, each problem with its line and what to do", tally["refused in the job file"]),
        ("stopped by a finding, nothing written", tally["stopped"]),
        *((f"of them by {k.removeprefix('stopped by ')}", tally[k]) for k in codes),
        ("written: boards", tally["written, board"]),
        ("written: necks", tally["written, neck"]),
        ("programs in them", tally["programs"]),
        ("moves in them", tally["moves"]),
        ("written, and wrong by the other judge", 0),
    ]
    lines = "\n".join(f"| {what} | {n} |" for what, n in rows)
    return f"Seeds {seeds[0]} to {seeds[-1]}, {CHUNK} jobs each.\n\n| what | how many |\n|---|---|\n{lines}\n"


def main() -> None:
    """Runs them on all cores and writes the table; the first fault ends it with the job that shows it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--jobs", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    seeds = list(range(asked.seed, asked.seed + max(1, asked.jobs // CHUNK)))
    tally: Counter[str] = Counter()
    with ProcessPoolExecutor() as pool:
        waiting = [pool.submit(judged, s, CHUNK, ("board", "neck", None)[s % 3]) for s in seeds]
        for start, one in zip(seeds, waiting, strict=True):
            tally += one.result()
            print(f"seed {start}: {tally['drawn']} jobs, {tally['written']} written", file=sys.stderr, flush=True)
    text = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(_TABLE.sub(lambda _: table(tally, seeds), text), encoding="utf-8")
    print(table(tally, seeds))


if __name__ == "__main__":
    main()
