"""Faults of every kind in the programs of every demo: what each does, and what the judge of `verify` says to it.

    python -m tests.tamper.campaign --tries 10     makes the table of docs/proof.md anew

It wants NECKPATH_INTERPRETER to name the folder of an independent RS-274/NGC interpreter.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from difflib import unified_diff
from functools import cache
from pathlib import Path

from tests.support.judging import judged
from tests.support.made import made
from tests.tamper.classed import HARMFUL, HARMLESS, Piece, faults, pieces
from tests.tamper.kinds import KINDS
from toolpaths.job.changes import Changes
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "proof.md"
DEMOS = tuple(sorted(p.stem for p in (ROOT / "demo_jobs").glob("*.yaml")))
COARSE = Changes(pitch=0.5)
"""No verdict hangs on the maps' pitch."""
SEED = 2026
_TABLE = re.compile(r"(?<=<!-- faults -->\n).*?(?=<!-- end of faults -->)", re.S)


@dataclass(frozen=True)
class Try:
    """One fault: of a kind, in a program of a demo; its class and why; whether it was refused, and a place named."""

    kind: str
    demo: str
    program: str
    what: str
    why: str
    refused: bool
    named: bool
    change: str

    @property
    def wrong(self) -> bool:
        """A harmful one let pass or refused without a place, or a harmless one refused."""
        if self.what == HARMFUL:
            return not (self.refused and self.named)
        return self.what == HARMLESS and self.refused


def tried(demo: str, place: int, kinds: Sequence[str], tries: int, seed: int = SEED) -> list[Try]:
    """Faults in one program of a demo."""
    piece = _pieces(demo)[place]
    return [_one(piece, demo, kind, text) for kind in kinds for text in faults(piece, kind, tries, seed)]


def count_of(demo: str) -> int:
    """How many programs a demo has."""
    return len(_outcome(demo).programs)


def campaign(demos: Iterable[str], tries: int, seed: int = SEED, kinds: Sequence[str] = tuple(KINDS)) -> list[Try]:
    """Kinds in all programs of demos, `tries` each, on all cores."""
    work = [(demo, place) for demo in demos for place in range(count_of(demo))]
    with ProcessPoolExecutor() as pool:
        waiting = [pool.submit(tried, demo, place, list(kinds), tries, seed) for demo, place in work]
        out: list[Try] = []
        for (demo, place), one in zip(work, waiting, strict=True):
            out += one.result()
            print(f"{demo}, program {place + 1}: {len(out)} faults so far", file=sys.stderr)
    return out


def _outcome(demo: str) -> Outcome:
    return made(ROOT / "demo_jobs" / f"{demo}.yaml", COARSE)


@cache
def _pieces(demo: str) -> list[Piece]:
    return pieces(ROOT / "demo_jobs" / f"{demo}.yaml", [(p.setup, p.name, p.text) for p in _outcome(demo).programs])


def _one(piece: Piece, demo: str, kind: str, text: str) -> Try:
    verdict = piece.classed(kind, text)
    place = [p.name for p in _outcome(demo).programs].index(piece.name)
    found = [f for f in judged(piece.job, place, text, COARSE) if f.severity is Severity.stop]
    return Try(
        kind=kind,
        demo=demo,
        program=piece.name,
        what=verdict.what,
        why=verdict.why,
        refused=bool(found),
        named=any(f.program_line or f.feature for f in found),
        change=_change(piece.text, text),
    )


def _change(old: str, new: str) -> str:
    lines = unified_diff(old.splitlines(), new.splitlines(), n=0, lineterm="")
    return " | ".join([x for x in lines if not x.startswith(("---", "+++", "@@"))][:6])


def bound(misses: int, tries: int) -> float:
    """Upper end of the 95 % interval of a rate, one-sided (Clopper and Pearson): 1 - 0.05^(1/n) where none missed."""
    from scipy.stats import beta

    return 1.0 if misses >= tries else float(beta.ppf(0.95, misses + 1, tries - misses))


def table(found: Sequence[Try], tries: int) -> str:
    """The table of the page, in Markdown."""
    head = (
        "| kind of fault | tried | harmful | of them refused | at most missed | harmless | of them refused | between |"
    )
    rows = [head, "|---|---|---|---|---|---|---|---|"]
    rows += [_row(kind, mine) for kind in KINDS if (mine := [t for t in found if t.kind == kind])]
    rows.append(_row("**all**", found))
    demos = ", ".join(sorted({t.demo for t in found}))
    return (
        f"Up to {tries} of each kind in every program of {demos}, seed {SEED}.\n\n" + "\n".join(rows) + "\n\n"
        "At most missed: the upper end of the one-sided 95 % interval of the share of harmful ones that pass.\n"
    )


def _row(name: str, found: Sequence[Try]) -> str:
    harmful, harmless = [t for t in found if t.what == HARMFUL], [t for t in found if t.what == HARMLESS]
    caught = sum(not t.wrong for t in harmful)
    most = f"{100 * bound(len(harmful) - caught, len(harmful)):.1f} %" if harmful else ""
    between = len(found) - len(harmful) - len(harmless)
    cells = [len(found), len(harmful), caught, most, len(harmless), sum(t.wrong for t in harmless), between]
    return f"| {name} | " + " | ".join(str(c) for c in cells) + " |"


def main() -> None:
    """Runs it, tells what went wrong, and writes the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--tries", type=int, default=10, help="of each kind in each program")
    parser.add_argument("--demo", action="append", help="only this one; the page is left as it is")
    parser.add_argument("--kind", action="append", choices=list(KINDS), help="only this one; the page is left as it is")
    given = parser.parse_args()
    found = campaign(given.demo or DEMOS, given.tries, kinds=given.kind or tuple(KINDS))
    for t in found:
        if t.wrong:
            print(
                f"{t.demo} {t.program}: {t.kind}: {t.what} ({t.why}), refused {t.refused}, named {t.named}: {t.change}"
            )
    text = table(found, given.tries)
    print(text)
    if not given.demo and not given.kind:
        page = PAGE.read_text(encoding="utf-8")
        PAGE.write_text(_TABLE.sub(lambda _: text, page), encoding="utf-8")


if __name__ == "__main__":
    main()
