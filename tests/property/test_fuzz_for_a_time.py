"""Spoilt texts of every kind: no uncaught exception, none that never ends, no more than 1 GiB.

`NECKPATH_FUZZ_SECONDS` goes on for so much processor time with each kind, `NECKPATH_FUZZ_SEED` is another seed.
A fault is printed with the command that repeats it; its text is kept in `out/fuzzing/`.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("resource", reason="this system cannot limit a process's memory")

from tests.property.fuzzing import MOST_BYTES
from tests.property.kinds import KINDS, kind_of
from tests.support.patience import LONGEST

ROOT = Path(__file__).parents[2]
SECONDS = float(os.environ.get("NECKPATH_FUZZ_SECONDS", "0"))
INPUTS = {"job": 45, "machine": 70, "rack": 45, "program": 45, "dxf": 16, "svg": 12}
"""How many of each kind: some 8 s of processor time each."""
SEED = os.environ.get("NECKPATH_FUZZ_SEED", "2026")


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_no_text_breaks_it_hangs_it_or_fills_the_memory(kind: str) -> None:
    command = [sys.executable, "-m", "tests.property.fuzzing", kind, "--inputs", str(INPUTS[kind])]
    command += ["--seconds", str(SECONDS), "--seed", SEED]
    done = subprocess.run(
        [*command, "--keep", str(ROOT / "out" / "fuzzing")],
        cwd=ROOT, capture_output=True, text=True, errors="replace", timeout=LONGEST + 60 * SECONDS, check=False,
    )  # fmt: skip
    assert 0 == done.returncode, f"{done.stdout[-9000:]}\n{done.stderr[-3000:]}"
    found = json.loads(done.stdout.splitlines()[-1])
    print(found)
    assert {} == found["faults"]
    assert found["peak_MiB"] < MOST_BYTES >> 20
    # Neither all refused nor all let through: the way behind the first gate is tried too.
    assert found["refused"] > 0
    assert found.get("cut", 0) + found.get("stopped", 0) > 0


@pytest.mark.parametrize("kind", ["dxf", "svg", "machine"])
def test_the_same_seed_and_number_give_the_same_text(kind: str, tmp_path: Path) -> None:
    kinds = [kind_of(kind, tmp_path) for _ in range(2)]
    for number in range(5):
        name, steps = kinds[0].spoilt("a", number)
        texts = {k.text("a", number, steps) for k in kinds}
        assert 1 == len(texts)
        assert name in kinds[0].seeds
