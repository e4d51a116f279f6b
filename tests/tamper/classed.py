"""What a fault does, found without the product: by an independent interpreter and a field cut the plain way.

Three classes. *Harmful*: the machine would not run the program to its end, or would do with it what its first text
does not do, in a way that a person would mind. *Harmless*: the very same moves, feeds, speeds and stops. *Between*:
something else, too little or in too unimportant a place for this judge to say; nothing is claimed for those.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from tests.outside.interpreter import Canonical, Move, Refused, canonical
from tests.tamper.described import Setting, bit_named, setting_of, shape_of, within_part
from tests.tamper.field import FEED, RAPID, Field, Flags, Ran, Shape, differences, near, run
from tests.tamper.kinds import BY_NATURE, KINDS, spoilt

HARMFUL, HARMLESS, BETWEEN = "harmful", "harmless", "between"
SLACK = 0.06
"""Wood deeper or higher than before by more than this counts, mm; three times as much on a sloping wall."""
FAR = 2.5
"""Waste so far from everything that is cut is no place for a bit, mm."""
FASTER, TURNS = 1.5, 0.05
"""Feeds and speeds that are another: half as fast again, a twentieth other."""
BELOW_BED = 0.3
"""Deeper under the bed's face than a through cut goes, mm."""
_HOSTILE = "G18 G91 {units} G59\n"
"""What a machine may have been left in. Its program must say all of it anew."""


@dataclass(frozen=True)
class Verdict:
    """The class of a fault, and why."""

    what: str
    why: str = ""


@dataclass
class Piece:
    """One program of a set in the wood that those before it leave."""

    job: Path
    setup: str
    name: str
    text: str
    before: Field
    setting: Setting
    shape: Shape
    goes_on: bool = False

    @cached_property
    def moves(self) -> Canonical:
        """As the interpreter runs it."""
        return canonical(self.text)

    @cached_property
    def cut(self) -> Ran:
        """The wood after it."""
        return run(self.before, self.shape, self.moves.moves, spun=self.spun)

    @property
    def spun(self) -> bool:
        """Whether the program itself turns the spindle on."""
        return any(m.rpm > 0 for m in self.moves.moves)

    @cached_property
    def minded(self) -> Flags:
        """Where deeper wood is minded: in the part, and far from all that is cut."""
        part = within_part(self.job, self.setup, self.setting, self.before)
        touched = self.cut.field.z < self.setting.top - 0.05
        return np.asarray(part | ~near(touched, FAR, self.before.pitch))

    @cached_property
    def part(self) -> Flags:
        """Where wood left higher is minded: in the part, away from its edges."""
        return within_part(self.job, self.setup, self.setting, self.before)

    def classed(self, kind: str, text: str) -> Verdict:
        """What a changed text does."""
        if kind in BY_NATURE:
            return Verdict(HARMFUL, BY_NATURE[kind])
        try:
            theirs = canonical(text)
            hostile = canonical(_HOSTILE.format(units="G20" if "G21" in self.text else "G21") + text)
        except Refused as refused:
            return Verdict(HARMFUL, f"the machine stops: {str(refused).splitlines()[-1][:80]}")
        except (AssertionError, KeyError, IndexError) as other:
            return Verdict(HARMFUL, f"a command outside of all programs: {str(other)[:60]}")
        return self._ways(theirs, hostile) or self._in_wood(theirs.moves) or self._alike(theirs, text)

    def _ways(self, theirs: Canonical, hostile: Canonical) -> Verdict | None:
        ours = self.moves
        if not _same(theirs.moves, hostile.moves):
            return Verdict(HARMFUL, "it does something else after another program")
        if not theirs.ended:
            return Verdict(HARMFUL, "it has no end")
        if any(m.offset != o.offset for m, o in zip(theirs.moves, ours.moves, strict=False)):
            return Verdict(HARMFUL, "another offset")
        for word in ("T", "M6", "M0"):
            a, b = ([round(v) for w, _, v in each.words if w == word] for each in (ours, theirs))
            if word == "T":
                # The same bit asked for twice is the same bit.
                a, b = ([v for v, before in zip(each, [None, *each], strict=False) if v != before] for each in (a, b))
            if word == "T" and set(b) <= set(a):
                continue  # the header names the bit as well
            if a != b and not (word == "M0" and len(b) > len(a)):
                return Verdict(HARMFUL, f"{word} is not the same")
        dwelt = [sum(v for w, _, v in each.words if w == "G4") for each in (ours, theirs)]
        if dwelt[1] < 0.5 * dwelt[0] or theirs.waited < 0.5 * ours.waited:
            return Verdict(HARMFUL, "no time for the spindle")
        if any(abs(v) > 2000 for m in theirs.moves for v in m.end):
            return Verdict(HARMFUL, "beyond any bench")
        return None

    def _in_wood(self, moves: list[Move]) -> Verdict | None:
        bed = min(self.setting.bed, self.setting.top)
        if self.setting.top > 0 or self.setting.bed < 0:
            low = min((m.end[2] for m in moves), default=0.0)
            if low < bed - BELOW_BED:
                return Verdict(HARMFUL, "into the bed")
        fault = self._turning(moves)
        if fault:
            return Verdict(HARMFUL, fault)
        new = run(self.before, self.shape, moves, spun=self.spun)
        if new.harm and not self.cut.harm:
            return Verdict(HARMFUL, new.harm)
        slack = SLACK if self.shape.kind == "flat" else 3 * SLACK
        deeper, higher = differences(self.cut.field, new.field, slack)
        if np.any(deeper & self.minded):
            return Verdict(HARMFUL, "wood that should stand is cut")
        # What the first of two bits leaves is judged once the second has run.
        if np.any(higher & self.part) and not self.goes_on:
            return Verdict(HARMFUL, "wood is left")
        return None

    def _turning(self, moves: list[Move]) -> str:
        """Feeds and speeds below the top, of moves that both texts make from the same place to the same place."""
        ours = self.moves.moves
        if len(ours) != len(moves):
            return ""
        here = there = (0.0, 0.0, 0.0)
        for a, b in zip(ours, moves, strict=True):
            same, there = (there, a.end) == (here, b.end), a.end
            low = max(here[2], b.end[2]) < self.setting.top - 0.05
            far = sum((p - q) ** 2 for p, q in zip(here, b.end, strict=True)) > 1.0
            lifted = here[:2] == b.end[:2] and here[2] <= b.end[2]
            here = b.end
            if not same or lifted or a.kind == RAPID or b.kind == RAPID or not (low and far):
                continue
            if b.feed > FASTER * a.feed:
                return "faster"
            if self.spun and abs(b.rpm - a.rpm) > TURNS * a.rpm:
                return "another speed of the spindle"
        return ""

    def _alike(self, theirs: Canonical, text: str) -> Verdict:
        a, b = self.moves, theirs
        same = _same(a.moves, b.moves) and [w[::2] for w in a.words] == [w[::2] for w in b.words]
        if same and _after_the_end(text) != _after_the_end(self.text):
            return Verdict(BETWEEN, "text after the end")
        return Verdict(HARMLESS, "the same moves") if same else Verdict(BETWEEN, "something else")


def _after_the_end(text: str) -> str:
    """What stands behind the word that ends a program."""
    found = re.search(r"^\s*(?:N\d+\s*)?M0?(?:2|30)\s*$", text, re.M | re.I)
    return text[found.end() :].strip() if found else ""


def _same(a: list[Move], b: list[Move]) -> bool:
    """Whether two runs are alike to the last digit."""
    if len(a) != len(b):
        return False
    for p, q in zip(a, b, strict=True):
        if (p.kind, p.plane, p.offset) != (q.kind, q.plane, q.offset) or abs(p.rpm - q.rpm) > 0.5:
            return False
        if max(abs(u - v) for u, v in zip(p.end, q.end, strict=True)) > 5e-4:
            return False
        if p.kind >= FEED and abs(p.feed - q.feed) > 1e-5 * p.feed:
            return False
        if p.kind > FEED and max(abs(u - v) for u, v in zip(p.centre, q.centre, strict=True)) > 5e-4:
            return False
    return True


def pieces(job: Path, programs: list[tuple[str, str, str]]) -> list[Piece]:
    """The programs (setup, name, text) of a set in cutting order, each in the wood that those before it leave."""
    out: list[Piece] = []
    for setup, name, text in programs:
        setting, shape = setting_of(job, setup, text), shape_of(job, bit_named(text))
        pitch = min(max(shape.radius / 4, 0.15), 0.8)
        field = Field(setting.box, setting.top, pitch)
        piece = Piece(job, setup, name, text, field, setting, shape)
        for other in out:
            if other.setup == setup and other.setting == setting:
                field.lowered_to(other.cut.field)
        out.append(piece)
    for i, piece in enumerate(out):
        later = {name for other in out[i + 1 :] if other.setup == piece.setup for name in _features(other.text)}
        piece.goes_on = bool(later & _features(piece.text))
    return out


def _features(text: str) -> set[str]:
    """The features that a program's comments name."""
    return set(re.findall(r"^\(Feature ([^:]+):", text, re.M))


def faults(piece: Piece, kind: str, count: int, seed: int) -> list[str]:
    """Up to `count` texts with a fault of a kind, no two alike."""
    rng = random.Random(f"{seed} {piece.job.stem} {piece.name} {kind}")
    out: dict[str, None] = {}
    for _ in range(3 * count):
        text = spoilt(piece.text, kind, rng)
        if text is not None:
            out[text] = None
        if len(out) == count:
            break
    return list(out)


__all__ = ["BETWEEN", "HARMFUL", "HARMLESS", "KINDS", "Piece", "Verdict", "faults", "pieces"]
