"""Changes that the command line makes to a job."""

from __future__ import annotations

from dataclasses import dataclass
from shlex import quote

from toolpaths.common.units import Units, size


@dataclass(frozen=True, slots=True)
class Changes:
    """What the command line alters in a job. `air` and `pitch` in mm.

    `bits`: (name, diameter or other bit); `only`: a feature's name; `start`: that of a feature or of a piece of one
    (`--only`, `--from`); once a set is laid out, the piece's whole name;
    `accept`: (finding code, feature name); `session`: minutes of a booking into which the work is divided, 0 for none.
    `units`: those in which its words name lengths.
    """

    bits: tuple[tuple[str, str], ...] = ()
    only: str | None = None
    start: str | None = None
    air: float = 0.0
    accept: tuple[tuple[str, str], ...] = ()
    pitch: float = 0.1
    session: float = 0.0
    units: Units = "mm"

    @property
    def words(self) -> tuple[str, ...]:
        """Each alteration in words that a header, a sheet or a folder name can carry (`scorer=0.8`, `only plane`)."""
        said = [f"{name}={value}" for name, value in self.bits]
        if self.only is not None:
            said.append(f"only {self.only}")
        if self.start is not None:
            said.append(f"from {self.start}")
        if self.air:
            said.append(f"air {size(self.air, self.units)}")
        if self.session:
            said.append(f"sessions of {self.session:g} min")
        return tuple(said)

    @property
    def options(self) -> str:
        """The options that ask for the same again, but for the height of an air run, as they are typed."""
        said = [f"--bit {quote(f'{name}={value}')}" for name, value in self.bits]
        said += [f"--only {quote(self.only)}"] if self.only is not None else []
        said += [f"--from {quote(self.start)}"] if self.start is not None else []
        said += [f"--accept {quote(f'{code}@{feature}')}" for code, feature in self.accept]
        said += [f"--session {self.session:g}"] if self.session else []
        return " ".join(said)
