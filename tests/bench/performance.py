"""How fast the whole is, and how it grows: every figure of docs/performance.md.

    python -m tests.bench.performance     makes the tables anew (about a quarter of an hour on two quiet cores)

Seconds hang on the machine; rho, ratios and growth do not.
"""

from __future__ import annotations

import argparse
import os
import platform
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import numpy as np

from tests.bench.growth import bores_job, peck_text, sweep_job
from tests.bench.workloads import Workload, board, chords, patch_a_move, planing, radiused, seconds_a_cell
from toolpaths.gcode.reader.read import read
from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import lay_out_loaded
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.prove import prove
from toolpaths.simulation.simulate import simulate

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "performance.md"
_TABLES = re.compile(r"(?<=<!-- figures -->\n).*?(?=<!-- end of figures -->)", re.S)
LIBRARIES = "import typer, pydantic, ruamel.yaml, numpy, shapely, pyclipper"
"""What every run of `write` has to import, whatever it does with it."""
DEMOS = ("tenor_board", "tenor_neck")
TIMES = (1, 2, 4, 8, 16)
PITCHES = (0.2, 0.1, 0.05, 0.025)
BOARDS = (250, 1000)

Row = list[str]


def table(head: Row, rows: list[Row]) -> str:
    """A table in Markdown."""
    return "\n".join(["| " + " | ".join(r) + " |" for r in (head, ["---"] * len(head), *rows)]) + "\n"


def least(call: Callable[[], object], rounds: int = 3) -> float:
    """The least wall time of some rounds, s."""
    best = np.inf
    for _ in range(rounds):
        began = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - began)
    return float(best)


def child(*arguments: str, folder: Path | None = None) -> tuple[float, float]:
    """(wall seconds, peak memory in MB of the largest of its processes) of a Python of its own."""
    measured = (
        "import resource, subprocess, sys; code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL).returncode; "
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024); sys.exit(code)"
    )
    around = {**os.environ, "PYTHONPATH": str(ROOT)}
    began = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", measured, sys.executable, *arguments],
        cwd=folder or ROOT, env=around, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return time.perf_counter() - began, float(done.stdout)


def command(*arguments: str, folder: Path | None = None) -> tuple[float, float]:
    """The same of a neckpath command."""
    return child("-c", "from toolpaths.cli import main; main()", *arguments, folder=folder)


# The tables


def simulation() -> str:
    """rho for all workloads."""
    rows = []
    works: list[Callable[[], Workload]] = [
        planing, board, partial(radiused, along=True), partial(radiused, along=False), chords,
    ]  # fmt: skip
    for make in works:
        work = make()
        blank = work.blank
        _, covered = patch_a_move(work)
        tau = min(seconds_a_cell() for _ in range(3))
        best = least(lambda blank=blank, work=work: simulate(blank, work.moves, work.bits), 5)  # type: ignore[misc]
        rows.append(
            [
                work.name, f"{len(work.moves):,}", f"{covered / 1e6:.1f}", f"{1e3 * best:.0f}",
                f"{best / covered / tau:.2f}", f"{len(work.moves) / best:,.0f}",
            ]
        )  # fmt: skip
    return table(["workload", "moves", "coverings, millions", "ms", "rho", "moves a second"], rows)


def stages() -> str:
    """Moves a second of each stage, for the two main demos."""
    rows = []
    for demo in DEMOS:
        loaded = load_job(ROOT / "demo_jobs" / f"{demo}.yaml")
        layout = lay_out_loaded(loaded, Changes())
        texts = [p.text for _, p in layout.own]
        moves = sum(len(read(t)) for t in texts)
        planned = least(lambda loaded=loaded: lay_out_loaded(loaded, Changes()))  # type: ignore[misc]
        readback = least(lambda texts=texts: [read(t) for t in texts])  # type: ignore[misc]
        proven = least(lambda layout=layout: prove(layout))  # type: ignore[misc]
        for what, seconds in (
            ("planned and written", planned),
            ("read back", readback),
            ("read back, cut and judged at 0.1 mm", proven),
        ):
            rows.append([demo, what, f"{moves:,}", f"{seconds:.2f}", f"{moves / seconds:,.0f}"])
    text = peck_text(200_000)
    seconds = least(lambda: read(text), 2)
    rows.append(["200,000 short moves", "read back", "200,000", f"{seconds:.2f}", f"{200_000 / seconds:,.0f}"])
    return table(["what", "stage", "moves", "seconds", "moves a second"], rows)


def cold() -> str:
    """Whole commands in a process of their own, beside the bare import of the libraries."""
    bare = min(child("-c", LIBRARIES)[0] for _ in range(5))
    rows = [["the bare import of the libraries", f"{bare:.2f}", "1.0", ""]]
    with tempfile.TemporaryDirectory() as name:
        for words in (
            ["--version"],
            ["--help"],
            ["check", str(ROOT / "demo_jobs/tenor_board.yaml")],
            ["write", str(ROOT / "demo_jobs/tenor_board.yaml")],
            ["check", str(ROOT / "demo_jobs/tenor_neck.yaml")],
            ["write", str(ROOT / "demo_jobs/tenor_neck.yaml")],
        ):
            runs = [command(*words, folder=Path(name)) for _ in range(3)]
            seconds, memory = min(r[0] for r in runs), max(r[1] for r in runs)
            shown = " ".join(Path(w).name if "/" in w else w for w in words)
            rows.append([f"`neckpath {shown}`", f"{seconds:.2f}", f"{seconds / bare:.1f}", f"{memory:.0f}"])
    return table(["command, cold", "seconds", "of the bare import", "peak memory, MB"], rows)


def growth() -> str:
    """A job with 1 to 16 times the moves: each step should take as many times as long as it has moves."""
    rows = []
    with tempfile.TemporaryDirectory() as name:
        first = None
        for times in TIMES:
            path = bores_job(Path(name), times)
            loaded = load_job(path)
            layout = lay_out_loaded(loaded, Changes(pitch=0.2))
            moves = sum(len(read(p.text)) for _, p in layout.own)
            planned = least(lambda loaded=loaded: lay_out_loaded(loaded, Changes(pitch=0.2)), 2)  # type: ignore[misc]
            proven = least(lambda layout=layout: prove(layout), 2)  # type: ignore[misc]
            _, memory = command("write", str(path), "--pitch", "0.2", folder=Path(name))
            first = first or (moves, planned, proven)
            rows.append(
                [
                    f"{times}", f"{moves:,}", f"{moves / first[0]:.1f}", f"{planned:.2f}", f"{planned / first[1]:.1f}",
                    f"{proven:.2f}", f"{proven / first[2]:.1f}", f"{memory:.0f}",
                ]
            )  # fmt: skip
    head = ["bores, times 4", "moves", "times", "planned, s", "times", "proven, s", "times", "peak memory, MB"]
    return table(head, rows)


def pitches() -> str:
    """The board demo at finer and finer pitches: cells grow by four each time."""
    rows = []
    with tempfile.TemporaryDirectory() as name:
        first = None
        for pitch in PITCHES:
            job = str(ROOT / "demo_jobs/tenor_board.yaml")
            runs = [command("write", job, "--pitch", str(pitch), folder=Path(name)) for _ in range(2)]
            seconds, memory = min(r[0] for r in runs), max(r[1] for r in runs)
            cells = 480 * 64 / pitch**2
            first = first or (cells, seconds)
            rows.append(
                [
                    f"{pitch:g}", f"{cells / 1e6:.1f}", f"{cells / first[0]:.0f}", f"{seconds:.2f}",
                    f"{seconds / first[1]:.1f}", f"{memory:.0f}",
                ]
            )  # fmt: skip
    return table(["pitch, mm", "cells, millions", "times", "write, s", "times", "peak memory, MB"], rows)


def sweep() -> str:
    """A sweep of boards in one command: the cost of each, and the memory of the largest process."""
    rows = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        jobs = [str(sweep_job(folder, i)) for i in range(max(BOARDS))]
        for count in BOARDS:
            seconds, memory = command("write", *jobs[:count], "-o", f"out{count}", "--pitch", "1", folder=folder)
            made = len(list((folder / f"out{count}").glob("*/report.json")))
            rows.append([f"{count}", f"{made}", f"{seconds:.0f}", f"{seconds / count:.3f}", f"{memory:.0f}"])
    return table(["boards", "written", "seconds", "seconds a board", "peak memory, MB"], rows)


SECTIONS: dict[str, Callable[[], str]] = {
    "Simulation": simulation,
    "Stages": stages,
    "Whole commands": cold,
    "More moves": growth,
    "Finer maps": pitches,
    "Many jobs": sweep,
}


def made(only: str | None = None) -> Iterator[str]:
    """The text between the page's markers, section by section; one section alone is only printed."""
    where = f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}"
    yield f"{where}, numpy {np.__version__}.\n\n"
    for name, tables in SECTIONS.items():
        if only in (None, name):
            text = f"### {name}\n\n{(tables.__doc__ or '').splitlines()[0]}\n\n{tables()}\n"
            print(text, file=sys.stderr, flush=True)
            yield text


def main() -> None:
    """Measures and writes the page."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--only", choices=list(SECTIONS))
    asked = parser.parse_args()
    text = "".join(made(asked.only))
    if asked.only is None:
        PAGE.write_text(_TABLES.sub(lambda _: text, PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
