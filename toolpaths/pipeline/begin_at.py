"""Begin a set with a named piece of a feature: what comes before it is taken as cut, by the same programs.

The programs are divided where the piece begins, so that both parts hold the very moves of the whole set.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count

from toolpaths.common.errors import JobError, Problem
from toolpaths.job.files.likely_words import nearest
from toolpaths.job.setup_context import SetupContext
from toolpaths.toolpath.divide_toolpath import in_two, may_begin, section_in_two
from toolpaths.toolpath.toolpath import Section, Toolpath

OPTION = "--from"
_MOST = 8
"""Most names that a message lists."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece by which a set may begin, and where it lies: index of its toolpath, of its section there, and of its
    first step in that; `row`: its number, where it is a row of a section, from 1.

    `title`: the words of its comment in the program.
    """

    feature: str
    name: str
    title: str
    toolpath: int
    section: int
    step: int = 0
    row: int = 0

    @property
    def label(self) -> str:
        """The whole name, which no other piece of the job has."""
        return f"{self.feature}: {self.name}"


def pieces_of(toolpaths: Sequence[Toolpath]) -> list[Piece]:
    """Every piece in cutting order.

    Where pieces of one feature have the same name, the operation's title tells them apart (`the piece for marker 3,
    level 1`), or else a number (`screw 1, no. 2`).
    """
    found = [
        piece
        for i, t in enumerate(toolpaths)
        for k, s in enumerate(t.sections)
        if s.piece
        for piece in (Piece(s.feature, s.piece, s.title, i, k), *_rows(s, i, k))
    ]
    often = Counter(p.label for p in found)
    titled = [replace(p, name=f"{_title(toolpaths, p)}, {p.name}") if often[p.label] > 1 else p for p in found]
    still = Counter(p.label for p in titled)
    numbers = {p.label: count(1) for p, q in zip(found, titled, strict=True) if still[q.label] > 1}
    return [
        replace(p, name=f"{p.name}, no. {next(numbers[p.label])}") if p.label in numbers else q
        for p, q in zip(found, titled, strict=True)
    ]


def begun(
    toolpaths: Sequence[Toolpath], contexts: Mapping[str, SetupContext], asked: str
) -> tuple[list[Toolpath], list[Toolpath], str]:
    """(as if cut, to write, the piece's whole name): a job's toolpaths before and from the piece that somebody named.

    Raises JobError where none, or more than one, is meant, and where no program may begin there.
    """
    piece = _meant(toolpaths, asked)
    split, at = toolpaths[piece.toolpath], piece.section
    context = contexts[split.program_plan.setup].at(split.program_plan.lie)
    if piece.step:
        split, at = section_in_two(split, at, piece.step, f"from row {piece.row} on"), at + 1
    if not may_begin(split, context, at):
        raise _problem(
            f"no program can begin with {piece.label}: Z is zeroed on the stock's top, which is planed away by then",
            f"begin with the whole feature ({OPTION} {piece.feature}), or zero on the bed",
        )
    before, own = list(toolpaths[: piece.toolpath]), list(toolpaths[piece.toolpath + 1 :])
    if at == 0:
        return before, [split, *own], piece.label
    first, rest = in_two(split, context, at)
    return [*before, first], [rest, *own], piece.label


# Private


def _rows(section: Section, toolpath: int, k: int) -> list[Piece]:
    """Each row of a section, in cutting order."""
    if len(section.rows) < 2:
        return []
    return [
        Piece(section.feature, f"{section.piece}, row {n}", "", toolpath, k, step if n > 1 else 0, n)
        for n, step in enumerate(section.rows, 1)
    ]


def _title(toolpaths: Sequence[Toolpath], piece: Piece) -> str:
    split = toolpaths[piece.toolpath]
    return split.program_plan.operations[split.owners[piece.section]].title


def _meant(toolpaths: Sequence[Toolpath], asked: str) -> Piece:
    """The piece that is meant: the one so called, else the only one whose name has all the words, in their order."""
    pieces = pieces_of(toolpaths)
    features = list(dict.fromkeys(s.feature for t in toolpaths for s in t.sections))
    words = asked.strip().casefold()
    feature, found, rest = (part.strip() for part in words.partition(":"))
    of = next((f for f in features if found and f.casefold() == feature), None)
    within = pieces if of is None else [p for p in pieces if p.feature == of]
    wanted = words if of is None else rest
    exact = [p for p in within if wanted in (p.name.casefold(), p.label.casefold()) or _is_comment(p, wanted)]
    fits = exact or [p for p in within if _has_words(p.name, wanted)]
    if len(fits) == 1:
        return fits[0]
    if fits:
        labels = [f'"{p.label}"' for p in fits]
        raise _problem(f"{len(fits)} pieces match `{asked}`", f"type the one that you mean: {_some(labels)}")
    if of is not None:
        raise _problem(f"{of} has no piece `{rest}`", _known(f"pieces of {of}", within, rest))
    names = [*features, *dict.fromkeys(p.name for p in pieces)]
    close = nearest(asked, names)
    hint = f"did you mean `{close}`? " if close else ""
    raise _problem(
        f"no feature or piece is called `{asked}`",
        f"{hint}the job has {', '.join(features)}; a piece has the name that the programs' comments give it, such as "
        f'{OPTION} "{_example(pieces, close)}"',
    )


def _is_comment(piece: Piece, wanted: str) -> bool:
    """Whether the words are a piece's comment, or its beginning behind the name: programs cut long ones short."""
    name, title = piece.name.casefold(), piece.title.casefold()
    return wanted == title or (wanted.startswith(f"{name},") and title.startswith(wanted))


def _has_words(name: str, wanted: str) -> bool:
    """Whether a name has all the words wanted, in their order; others may stand between (`marker 3`)."""
    left = iter(name.casefold().replace(",", " ").split())
    words = wanted.replace(",", " ").split()
    return bool(words) and all(word in left for word in words)


def _known(what: str, pieces: Sequence[Piece], wanted: str) -> str:
    close = nearest(wanted, [p.name for p in pieces])
    hint = f"did you mean `{close}`? " if close else ""
    return f"{hint}{what}: {_some([p.name for p in pieces])}" if pieces else f"{hint}it has no named pieces"


def _example(pieces: Sequence[Piece], close: str) -> str:
    """A piece that can be typed: of the feature that is nearest to what was asked, else the last of all."""
    return next((p.label for p in pieces if close in (p.feature, p.name)), pieces[-1].label if pieces else "")


def _some(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST} more" if len(names) > _MOST else ""
    return ", ".join(names[:_MOST]) + more


def _problem(words: str, hint: str) -> JobError:
    return JobError([Problem("command line", 0, 0, OPTION, words, hint)])
