"""What a finding says: what is wrong, where, what to do, and then the value that was measured beside its limit."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Message:
    """The words of a finding, without the places that `Finding` holds as facts.

    `wrong`: what is wrong, in a sentence without a full stop. `at`: where on the instrument, in words, such as
    `fret 19`, or `fret 19 and 18 more`. `todo`: what to do, beginning with a verb. `measured`: the value found, with
    its unit and what it is, such as `1.83 mm of wood`. `limit`: the limit it is held against, such as
    `least 2.00 mm`. What there is more to say stands with the code, for `neckpath explain`.

    >>> Message("the wall is too thin", "fret 7", "set `depth: 9.2`", "1.83 mm", "least 2.00 mm").text
    'the wall is too thin at fret 7. Set `depth: 9.2`. 1.83 mm; least 2.00 mm'
    """

    wrong: str
    at: str = ""
    todo: str = ""
    measured: str = ""
    limit: str = ""

    @property
    def text(self) -> str:
        """All of it on one line, without places."""
        return self.with_places("")

    def with_places(self, places: str) -> str:
        """All of it on one line, with the places in files and on the machine where they belong: after what is wrong."""
        at = f"{self.wrong} at {self.at}" if self.at else self.wrong
        first = f"{at} ({places})" if places else at
        figures = "; ".join(part for part in (self.measured, self.limit) if part)
        todo = self.todo[:1].upper() + self.todo[1:]
        return ". ".join(part for part in (first, todo, figures) if part)
