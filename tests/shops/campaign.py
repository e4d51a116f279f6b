"""Many simulated shops, each job cut with and without what was measured on the way: how much is within tolerance.

python -m tests.shops.campaign --shops 200 --seed 1     makes the table of docs/proof.md anew
"""

from __future__ import annotations

import argparse
import math
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from tests.shops.cutting import Off, Work, cut

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "proof.md"
BOARD, NECK = ROOT / "demo_jobs" / "tenor_board.yaml", Path(__file__).with_name("neck.yaml")
JOBS: dict[str, tuple[Path, str]] = {
    "board, Z on the bed": (BOARD, "bed"),
    "neck, Z on the bed": (NECK, "bed"),
    "neck, Z on the stock's top": (NECK, "stock top"),
}
"""A job's file, and where its Z is set."""
WORDS = {
    "face": "the planed face",
    "axis": "long way in X",
    "bit": "widths of cuts",
    "depth": "depths from it, and from the other side",
    "part": "widths of the part, places along it",
    "sides": "ring against bore",
    "pins": "bores of the bed against those of the wood",
    "across": "cuts of the second side beside the first",
}
PROCESSES = 2
FOLLOWS = "Cuts that follow what was measured before them:"
FIRST = "Cuts that nothing measured comes before, which `found` cannot mend:"
_TABLE = re.compile(r"(?<=<!-- shops -->\n).*?(?=<!-- end of shops -->)", re.S)


@dataclass(frozen=True)
class Told:
    """One length of one shop, cut without and with what was measured: how far it is off, and out of tolerance, mm.

    `slack`: what the gauges cannot tell, nor who sets the bit.
    """

    job: str
    seed: int
    mark: str
    kind: str
    follows: bool
    slack: float
    off: tuple[float, float]
    over: tuple[float, float]


def work_of(name: str) -> Work:
    """A job of the table."""
    path, z = JOBS[name]
    return Work.of(path, z)


def told(name: str, seed: int) -> list[Told]:
    """Every length of a job in one shop. Raises AssertionError where the rest of the job is refused."""
    work = work_of(name)
    shop = work.shop(seed)
    without = cut(work, shop)
    with tempfile.TemporaryDirectory() as folder:
        follow = cut(work, shop, Path(folder))
    assert not follow.refused, f"{name}, shop {seed}: {follow.refused}"
    return [_told(name, seed, a, b) for a, b in zip(without.offs, follow.offs, strict=True)]


def better_or_worse(found: Iterable[Told]) -> tuple[list[Told], list[Told]]:
    """(lengths within tolerance only with what was found, those within only without)."""
    better = [t for t in found if t.over[0] > 0 and not t.over[1] > 0]
    worse = [t for t in found if t.over[1] > 0 and not t.over[0] > 0]
    return better, worse


def _told(name: str, seed: int, a: Off, b: Off) -> Told:
    assert a.mark.name == b.mark.name
    return Told(name, seed, a.mark.name, a.kind, a.follows, a.slack, (a.by, b.by), (a.over(), b.over()))


def table(found: Sequence[Told], first: int, commit: str) -> str:
    """The tables of the page, in Markdown."""
    jobs = list(dict.fromkeys(t.job for t in found))
    seeds = sorted({t.seed for t in found})
    head = "| job | what | lengths a shop | within, without | within, with | furthest out, without | with |"
    out = [f"Shops {first} to {seeds[-1]}, programs of commit {commit}.", ""]
    out += [
        "| job | shops | all that follows within, without | with | but for the gauges, without | with |"
        " everything within, without | with |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for job in jobs:
        mine = [t for t in found if t.job == job]
        cells = [
            _shops(mine, which, slack, k)
            for which, slack in ((_follows, 0.0), (_follows, 1.0), (_any, 0.0))
            for k in (0, 1)
        ]
        out.append(f"| {job} | {len({t.seed for t in mine})} | " + " | ".join(map(str, cells)) + " |")
    for follows, words in ((True, FOLLOWS), (False, FIRST)):
        out += ["", words, "", head, "|---|---|---|---|---|---|---|"]
        for job in jobs:
            for kind, said in WORDS.items():
                mine = [t for t in found if (t.job, t.kind, t.follows) == (job, kind, follows)]
                if mine:
                    out.append(f"| {job} | {said} | {len(mine) // len(seeds)} | {_row(mine)} |")
    return "\n".join(out) + "\n"


def _follows(one: Told) -> bool:
    return one.follows


def _any(one: Told) -> bool:
    return True


def _shops(found: Sequence[Told], which: Callable[[Told], bool], slack: float, k: int) -> int:
    """In how many shops all of some lengths are within tolerance, give or take a part of their slack."""
    return len({t.seed for t in found} - {t.seed for t in found if which(t) and t.over[k] > slack * t.slack})


def _row(found: Sequence[Told]) -> str:
    share = [f"{100 * sum(t.over[k] == 0 for t in found) / len(found):.1f} %" for k in (0, 1)]
    worst = ["not there" if math.isinf(w) else f"{w:.3f} mm" for w in (max(t.over[k] for t in found) for k in (0, 1))]
    return " | ".join([*share, *worst])


def main() -> None:
    """Runs them in two processes and writes the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--shops", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1, help="the first shop")
    parser.add_argument("--job", action="append", choices=list(JOBS), help="only this one; the page is left as it is")
    asked = parser.parse_args()
    found: list[Told] = []
    with ProcessPoolExecutor(PROCESSES) as pool:
        work = [(job, seed) for job in asked.job or JOBS for seed in range(asked.seed, asked.seed + asked.shops)]
        for (job, seed), one in zip(work, pool.map(told, *zip(*work, strict=True)), strict=True):
            found += one
            if seed % 20 == 0:
                print(f"{job}: {seed} shops", file=sys.stderr, flush=True)
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    text = table(found, asked.seed, commit.stdout.strip())
    print(text)
    better, worse = better_or_worse(found)
    print(f"{len(better)} lengths within only with what was found, {len(worse)} only without:")
    for t in sorted(worse, key=lambda t: -t.over[1])[:20]:
        print(f"  {t.job}, shop {t.seed}, {t.mark}, {t.kind}: {t.off[0]:+.3f} without, {t.off[1]:+.3f} with")
    if not asked.job:
        page = PAGE.read_text(encoding="utf-8")
        PAGE.write_text(_TABLE.sub(lambda _: text, page), encoding="utf-8")


if __name__ == "__main__":
    main()
