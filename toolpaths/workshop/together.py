"""Whether jobs are of one instrument: one job a piece, the same numbers, and a jig that serves those that lie on it."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from toolpaths.common.errors import JobError, Problem
from toolpaths.job.files.document import Document, KeyPath
from toolpaths.job.files.yaml_text import read_document
from toolpaths.job.job import Instrument
from toolpaths.job.loaded import LoadedJob
from toolpaths.workshop.step import PIECES, Piece


def must_belong(jobs: Sequence[LoadedJob]) -> None:
    """Raises JobError, with every reason at its place, for jobs that are not of one instrument."""
    documents = {loaded.path: read_document(loaded.path) for loaded in jobs}
    problems = list(_twice(jobs, documents))
    if not problems:
        by_piece: dict[Piece, LoadedJob] = {one.job.part: one for one in jobs}
        ordered = [by_piece[piece] for piece in PIECES if piece in by_piece]
        problems = [*_other_instrument(ordered, documents), *_other_jig(by_piece, documents)]
    if problems:
        raise JobError(problems)


# Private


def _twice(jobs: Sequence[LoadedJob], documents: Mapping[Path, Document]) -> Iterator[Problem]:
    """A second job of a piece: one instrument has one of each."""
    first: dict[Piece, LoadedJob] = {}
    for one in jobs:
        other = first.setdefault(one.job.part, one)
        if other is not one:
            words = f"a second job of a {one.job.part}; the first is {other.path}"
            yield documents[one.path].problem(("part",), words, "a plan takes one board, one neck and one jig")


def _other_instrument(jobs: Sequence[LoadedJob], documents: Mapping[Path, Document]) -> Iterator[Problem]:
    """Jobs whose instrument, or whose hand, is not that of the last: a neck has all numbers of one."""
    *others, base = jobs
    for one in others:
        document = documents[one.path]
        if one.job.handed != base.job.handed:
            words = f"this job is {one.job.handed}-handed, and {base.path} {base.job.handed}-handed"
            yield document.problem(("handed",), words, "both are of one instrument: write the same", on_key=True)
        keys = [key for key in Instrument.model_fields if not _same(key, one, base)]
        if keys:
            told = ", ".join(f"`{key}`" for key in keys)
            words = f"{told} of the instrument {'differs' if len(keys) == 1 else 'differ'} from that of {base.path}"
            at: KeyPath = ("instrument",)
            if isinstance(document.get(at), dict):
                at = (*at, keys[0])
            yield document.problem(at, words, "a plan is of one instrument: give its jobs the same instrument file")


def _same(key: str, one: LoadedJob, other: LoadedJob) -> bool:
    """Whether a part of the instrument is the same in two jobs; a board's job may leave the neck out."""
    if key != "neck":
        return bool(getattr(one.job.instrument, key) == getattr(other.job.instrument, key))
    mine, theirs = _neck(one), _neck(other)
    return mine is None or theirs is None or mine == theirs


def _neck(loaded: LoadedJob) -> object:
    """The neck with its headstock's drawing as a whole path; each job counts it from its own folder."""
    neck = loaded.job.instrument.neck
    head = None if neck is None else neck.headstock
    if neck is None or head is None or head.drawing is None:
        return neck
    drawing = os.path.realpath(loaded.path.parent / head.drawing)
    return neck.model_copy(update={"headstock": head.model_copy(update={"drawing": drawing})})


def _other_jig(by_piece: Mapping[Piece, LoadedJob], documents: Mapping[Path, Document]) -> Iterator[Problem]:
    """A jig for other jobs, and a job that lies on another jig or on none."""
    jig = by_piece.get("jig")
    if jig is None or jig.job.serves is None:
        return
    for piece, name in jig.job.serves.paths.items():
        one = by_piece.get(piece)
        if one is None:
            continue
        if not _one_file(jig.path.parent / name, one.path):
            hint = f"plan {name} with it, or the jig of {one.path.name}"
            yield documents[jig.path].problem(("for", piece), f"the jig serves another {piece} than {one.path}", hint)
            continue
        named = [(i, setup.holders.jig) for i, setup in enumerate(one.job.setups) if setup.holders.jig is not None]
        for i, other in named:
            if not _one_file(one.path.parent / other, jig.path):
                words, hint = f"it lies on another jig than {jig.path}", f"plan {other} with it"
                yield documents[one.path].problem(("setups", i, "hold", "jig"), words, hint)
    unserved = [one for one in by_piece.values() if one is not jig and one.job.part not in jig.job.serves.paths]
    for one in unserved:
        hint = f"leave {one.path.name} out, or name it in `for`"
        yield documents[jig.path].problem(("for",), f"the jig serves no {one.job.part}", hint, on_key=True)


def _one_file(one: Path, other: Path) -> bool:
    return os.path.realpath(one) == os.path.realpath(other)
