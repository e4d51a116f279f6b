"""Spoilt texts of one kind, one after another, in a process of at most 1 GiB.

    python -m tests.property.fuzzing job --inputs 200 --seed 7
    python -m tests.property.fuzzing job --seconds 600           as many as fit into so much processor time
    python -m tests.property.fuzzing job --seed 7 --only 1234        one input again, by its number

Every input must end, in a result or in one of neckpath's own refusals.
A fault is told once a place in the code, with the mutations that are needed for it, and its text kept as a file.
The last line of the output is the count in JSON.
"""

from __future__ import annotations

import argparse
import difflib
import faulthandler
import json
import os
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

for _library in ("OPENBLAS", "OMP", "MKL"):
    os.environ.setdefault(f"{_library}_NUM_THREADS", "1")

from tests.support.patience import LONGEST, TooLong, bounded  # noqa: E402

MOST_BYTES = 1 << 30


def main(arguments: list[str] | None = None) -> int:
    """The number of faults found, at most 100."""
    parser = argparse.ArgumentParser()
    parser.add_argument("kind")
    parser.add_argument("--inputs", type=int, default=20)
    parser.add_argument("--seconds", type=float, default=0.0)
    parser.add_argument("--seed", default="2026")
    parser.add_argument("--only", type=int, default=None)
    parser.add_argument("--keep", type=Path, default=Path("out/fuzzing"))
    given = parser.parse_args(arguments)
    import resource

    from toolpaths.common import background as aside

    # What would be done on another core is done here, where it is measured; a map past the limit stays refused.
    aside.can_fork = lambda: False
    # Addresses reserved are more than memory used, so the use stays below.
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    given.keep.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        run = _Run(given.kind, given.seed, Path(folder), given.keep.resolve())
        return run.through(given.inputs, given.seconds, given.only)


def _peak_kib() -> int:
    """Most memory used by this program, KiB; the system's own count goes on from the program that started it."""
    status = Path("/proc/self/status")
    if status.exists():
        (most,) = (row.split()[1] for row in status.read_text("utf-8").splitlines() if row.startswith("VmHWM:"))
        return int(most)
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


class _Run:
    def __init__(self, kind: str, seed: str, folder: Path, keep: Path) -> None:
        from tests.property.kinds import kind_of

        self.name, self.seed, self.keep = kind, seed, keep
        self.kind = kind_of(kind, folder)
        self.came: Counter[str] = Counter()
        self.longest, self.longest_input = 0.0, -1
        self.faults: dict[str, int] = {}

    def through(self, inputs: int, seconds: float, only: int | None) -> int:
        until = time.process_time() + seconds
        number = 0 if only is None else only
        while number < inputs or only is not None or time.process_time() < until:
            self.one(number)
            if only is not None:
                break
            number += 1
        peak = _peak_kib() // 1024
        found = {
            "kind": self.name, "seed": self.seed, "tried": sum(self.came.values()), **self.came,
            "longest_s": round(self.longest, 2), "longest": self.longest_input, "peak_MiB": peak, "faults": self.faults,
        }  # fmt: skip
        print(json.dumps(found), flush=True)
        return min(len(self.faults), 100)

    def one(self, number: int) -> None:
        """One input, from its seed text to what comes of it."""
        name, steps = self.kind.spoilt(self.seed, number)
        text = self.kind.text(self.seed, number, steps)
        begun = time.process_time()
        (self.keep / f"{self.name}.now").write_text(f"{self._again(number)}\n{text}", "utf-8", "surrogatepass")
        fault = self._fault(name, text)
        took = time.process_time() - begun
        if took > self.longest:
            self.longest, self.longest_input = took, number
        if fault is None:
            return
        self.came["failed"] += 1
        place, words = fault
        self.faults[place] = self.faults.get(place, 0) + 1
        if self.faults[place] > 1:
            return
        for step in list(steps):
            fewer = [s for s in steps if s != step]
            other = self._fault(name, self.kind.text(self.seed, number, fewer), count=False)
            if other is not None and other[0] == place:
                steps, words = fewer, other[1]
        self._tell(number, name, steps, place, words)

    def _fault(self, name: str, text: str, *, count: bool = True) -> tuple[str, str] | None:
        """(where, what happened) where something did that must not."""
        try:
            with _watched():
                came = self.kind.take(name, text)
        except (Exception, TooLong) as error:
            frames = [f for f in traceback.extract_tb(error.__traceback__) if "/toolpaths/" in f.filename]
            last = frames[-1] if frames else None
            # Where a hang is caught is by chance: the stage that it is in is told instead.
            if isinstance(error, TooLong) and frames:
                last = frames[min(4, len(frames) - 1)]
            at = f"{Path(last.filename).name}:{last.lineno} {last.name}" if last else "no code of neckpath"
            return f"{type(error).__name__} in {at}", "".join(traceback.format_exception(error))[-3500:]
        if count:
            self.came[came] += 1
        return None

    def _tell(self, number: int, name: str, steps: list[int], place: str, words: str) -> None:
        text = self.kind.text(self.seed, number, steps)
        sound = self.kind.text(self.seed, number, [])
        file = self.keep / f"{self.name}-{self.seed}-{number}.txt"
        file.write_text(text, "utf-8", "surrogatepass", newline="")
        told = [f"FAULT {place}", f"again: {self._again(number)}", f"from {name}, kept as {file}"]
        if max(len(text), len(sound)) < 40_000:
            rows = [s.replace(", ", ",\n").splitlines() for s in (sound, text)]
            told += [row[:160] for row in difflib.unified_diff(*rows, lineterm="", n=1)][2:26]
        print("\n".join([*told, words]).encode("utf-8", "backslashreplace").decode(), flush=True)

    def _again(self, number: int) -> str:
        return f"python -m tests.property.fuzzing {self.name} --seed {self.seed} --only {number}"


@contextmanager
def _watched() -> Iterator[None]:
    """Raises TooLong where an input never ends; where no signal reaches it the process ends itself, saying where."""
    faulthandler.dump_traceback_later(LONGEST, exit=True)
    try:
        with bounded():
            yield
    finally:
        faulthandler.cancel_dump_traceback_later()


if __name__ == "__main__":
    sys.exit(main())
