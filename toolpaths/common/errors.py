"""Everything that this package raises on purpose:

NeckpathError
├── JobError        a job, machine or instrument file that cannot be used (all problems at once)
├── FeatureError         a feature that cannot be cut as asked; `pipeline` turns it into a JobError
│   └── DrawingError    a drawing that cannot be used; names its entity
└── ReadError       a program whose text is outside the documented subset
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault in an input file: where it stands, what is wrong, what would be right.

    `line` and `column` count from 1; `source` is the line's text; `hint` may be empty.
    """

    file: str
    line: int
    column: int
    key: str
    problem: str
    hint: str = ""
    source: str = ""


class NeckpathError(Exception):
    """Everything that this package raises on purpose."""


class JobError(NeckpathError):
    """A job, machine or instrument file that cannot be used. Carries every problem found."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("; ".join(f"{p.file}:{p.line}:{p.column}: {p.key}: {p.problem}" for p in problems))
        self.problems = tuple(problems)

    def __reduce__(self) -> tuple[type[JobError], tuple[list[Problem]]]:
        """Lets it be pickled, to be sent from a child process."""
        return type(self), (list(self.problems),)


class FeatureError(NeckpathError):
    """A feature that cannot be cut as asked. `key` names the feature's key that is at fault."""

    def __init__(self, problem: str, hint: str = "", key: str = "") -> None:
        super().__init__(problem)
        self.problem, self.hint, self.key = problem, hint, key


class DrawingError(FeatureError):
    """A drawing that cannot be used: which entity (handle or id, type, layer) is at fault, and what to do."""

    def __init__(self, problem: str, hint: str = "") -> None:
        super().__init__(problem, hint, "drawing")


class ReadError(NeckpathError):
    """Program text outside the documented subset. `line` counts from 1; 0 where the fault stands in no line of it.

    `todo`: what to do, where there is more to do than to write the program again.
    """

    def __init__(self, line: int, problem: str, todo: str = "") -> None:
        super().__init__(f"line {line}: {problem}{f'; {todo}' if todo else ''}" if line else problem)
        self.line, self.problem, self.todo = line, problem, todo
