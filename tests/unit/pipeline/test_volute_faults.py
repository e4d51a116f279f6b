"""A volute that cannot be is refused before anything is made, at its own line, whatever the job cuts."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.carved import HEAD, HEEL, carved, cut
from toolpaths.common.errors import JobError


@pytest.mark.parametrize("feature", ["rough_back: {bit: round6}", "outline: {bit: long}"])
@pytest.mark.parametrize(
    ("volute", "key", "problem", "hint"),
    [
        ("{height: 2, at: fret 9, length: 30}", "at", "there is no fret 9", "the instrument has 8 frets"),
        ("{height: 2, length: 0}", "length", "must be more than 0", ""),
        ("{height: 0, length: 20}", "height", "must be more than 0", ""),
        ("{height: -1 mm, length: 20}", "height", "must be more than 0", ""),
        ("{height: 2}", "length", "is missing", "add it: length from its beginning to its end"),
        ("{height: 2, at: bridge, length: 20}", "at", "not a length; write a number", ""),
        ("{height: 2, lenght: 20}", "lenght", "not known here", "did you mean `length`?"),
    ],
)
def test_it_is_refused_with_its_line(
    tmp_path: Path, feature: str, volute: str, key: str, problem: str, hint: str
) -> None:
    text = carved(feature, parts=(HEEL, HEAD, f"volute: {volute}"))
    with pytest.raises(JobError) as told:
        cut(tmp_path, text)
    found = next(p for p in told.value.problems if p.key.split(".")[-1] == key)
    line = next(i for i, words in enumerate(text.splitlines(), 1) if "volute:" in words)
    assert (line, f"instrument.neck.volute.{key}") == (found.line, found.key)
    assert problem in found.problem
    assert hint in found.hint
    assert not (tmp_path / "out").exists()
