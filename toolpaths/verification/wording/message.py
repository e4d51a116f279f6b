"""What a finding says: what is wrong, where, what to do, and then the value that was measured beside its limit."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Message:
    """The words of a finding, without the places that `Finding` holds as facts.

    `wrong`: what is wrong, in a sentence without a full stop. `at`: where on the instrument, in words, such as
    `fret 19`, or `fret 19 and 18 more`. `todo`: what to do, beginning with a verb. `measured`: the value found, with
    its unit and what it is, such as `1.83 mm of wood`. `limit`: the limit it is held against, such as
    `least 2.00 mm`. `paste`: a long entry of the job, ready to paste, that is printed on lines of its own below.
    What there is more to say stands with the code, for `neckpath explain`.

    >>> Message("the wall is too thin", "fret 7", "set `depth: 9.2`", "1.83 mm", "least 2.00 mm").text
    'the wall is too thin at fret 7. Set `depth: 9.2`. 1.83 mm; least 2.00 mm'
    """

    wrong: str
    at: str = ""
    todo: str = ""
    measured: str = ""
    limit: str = ""
    paste: str = ""

    @property
    def text(self) -> str:
        """All of it on one line, without places, and what there is to paste at its end."""
        return f"{self.with_places('')}. `{self.paste}`" if self.paste else self.with_places("")

    def with_places(self, places: str) -> str:
        """What is wrong, the places in files and on the machine, what to do, the figures: one line, without `paste`."""
        at = f"{self.wrong} at {self.at}" if self.at else self.wrong
        first = f"{at} ({places})" if places else at
        figures = "; ".join(part for part in (self.measured, self.limit) if part)
        return ". ".join(part for part in (first, _capital(self.todo), _capital(figures)) if part)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
