"""Are the tests good enough to see a small fault in the trade's formulas, the reader, the checks?

    python -m tests.mutation.campaign --each 300     writes the score into docs/proof.md

Faults are drawn at random, seeded, from all that can be put into the modules named in TARGETS. For each, the tests
that import the module run first; what they pass is tried with wider tests. What passes those too has survived.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.mutation.mutants import Mutant, mutant, places

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "proof.md"
SEED = 2026
TARGETS = {
    "instrument and operations": ("toolpaths/instrument", "toolpaths/operations"),
    "the reader": ("toolpaths/gcode/reader/read.py",),
    "checks": ("toolpaths/verification/checks",),
}
_ALL = ("tests/golden", "tests/unit/pipeline/test_run.py", "tests/unit/features", "tests/tamper/test_faults.py")
_ROOMS = ("tests/unit/instrument", "tests/unit/operations", "tests/unit/verification", "tests/unit/toolpath")
WIDER = {
    "instrument and operations": (*_ROOMS, *_ALL),
    "the reader": ("tests/unit/gcode/reader", *_ALL),
    "checks": ("tests/unit/verification", *_ALL),
}
LONGEST = 240.0
"""A run longer than this has hung: the fault is seen, s."""
_TABLE = re.compile(r"(?<=<!-- mutants -->\n).*?(?=<!-- end of mutants -->)", re.S)


@dataclass(frozen=True)
class Ran:
    """A fault, and by which tests it was seen; by none if that is empty."""

    group: str
    mutant: Mutant
    seen_by: str


def modules(group: str) -> list[Path]:
    """The source files of a group."""
    places = [ROOT / name for name in TARGETS[group]]
    return [p for place in places for p in ([place] if place.is_file() else sorted(place.rglob("*.py")))]


def drawn(group: str, count: int, seed: int) -> list[Mutant]:
    """So many faults out of all of a group, each as likely as any other."""
    sources = {path: path.read_text(encoding="utf-8") for path in modules(group)}
    every = [(path, place) for path, source in sources.items() for place in places(source)]
    some = random.Random(seed).sample(every, min(count, len(every)))
    return [mutant(_name(path), sources[path], place) for path, place in some]


def _name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def files_for(module: str) -> tuple[str, ...]:
    """The test files that import a module by name, those beside it in the house first."""
    package, _, stem = module.rpartition(".")
    wanted = re.compile(rf"\b{re.escape(module)}\b|from {re.escape(package)} import [^#\n]*\b{stem}\b")
    found = [
        path
        for path in sorted((ROOT / "tests").rglob("test_*.py"))
        if not {"bench", "packaging", "browser", "docs", "mutation", "property"} & set(path.parts)
        and (wanted.search(path.read_text(encoding="utf-8")) or path.stem == f"test_{stem}")
    ]
    found.sort(key=lambda path: path.stem != f"test_{stem}")
    return tuple(str(path.relative_to(ROOT)) for path in found)


def run(group: str, mutant: Mutant) -> Ran:
    """One fault through the tests."""
    for who, files in (("its own tests", files_for(mutant.module)), ("wider tests", WIDER[group])):
        if files and not _pass(mutant, files):
            return Ran(group, mutant, who)
    return Ran(group, mutant, "")


def _pass(mutant: Mutant, files: Sequence[str]) -> bool:
    with tempfile.NamedTemporaryFile("w", suffix=".py", encoding="utf-8") as file:
        file.write(mutant.source)
        file.flush()
        around = {
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "NECKPATH_MUTANT": file.name,
            "NECKPATH_MUTATED": mutant.module,
        }
        command = [
            sys.executable, "-m", "pytest", "-p", "tests.mutation.plugin", "-p", "no:cacheprovider", "-n", "0", "-x",
            "-q", "-m", "not slow and not bench", *files,
        ]  # fmt: skip
        try:
            done = subprocess.run(command, cwd=ROOT, env=around, capture_output=True, timeout=LONGEST)
        except subprocess.TimeoutExpired:
            return False
        return done.returncode == 0


def table(found: Sequence[Ran], seed: int) -> str:
    """The score, in Markdown."""
    head = (
        "| what | faults tried | seen by its own tests | by wider tests | by none | score |\n|---|---|---|---|---|---|"
    )
    rows = []
    for group in [*TARGETS, "**all**"]:
        own = [r for r in found if r.group == group or group == "**all**"]
        first, wider = (sum(r.seen_by == who for r in own) for who in ("its own tests", "wider tests"))
        score = f"{100 * (first + wider) / len(own):.1f} %" if own else ""
        rows.append(f"| {group} | {len(own)} | {first} | {wider} | {len(own) - first - wider} | {score} |")
    return f"Seed {seed}.\n\n{head}\n" + "\n".join(rows) + "\n"


def main() -> None:
    """Runs them on all cores, tells what survived, and writes the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--each", type=int, default=300, help="faults of each group; the reader gets a third")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--group", choices=list(TARGETS), action="append", help="only this one; the page is left")
    asked = parser.parse_args()
    work = [
        (group, mutant)
        for group in asked.group or TARGETS
        for mutant in drawn(group, asked.each if group != "the reader" else asked.each // 3, asked.seed)
    ]
    found: list[Ran] = []
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        for one in pool.map(lambda pair: run(*pair), work):
            found.append(one)
            if not one.seen_by:
                print(f"survived: {one.mutant.module}:{one.mutant.line}: {one.mutant.what}", flush=True)
            if len(found) % 20 == 0:
                print(f"{len(found)} of {len(work)}", file=sys.stderr, flush=True)
    print(table(found, asked.seed))
    if not asked.group:
        page = PAGE.read_text(encoding="utf-8")
        PAGE.write_text(_TABLE.sub(lambda _: table(found, asked.seed), page), encoding="utf-8")


if __name__ == "__main__":
    main()
