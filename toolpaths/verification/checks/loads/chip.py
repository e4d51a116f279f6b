"""Are the chips within the limits of bit and wood, and not so thin that the bit rubs and burns?

A chip's thickness is feed / (rpm x flutes), thinned where the bit meets wood with a narrow part of its side. It is
judged by the band of the bit's diameter and the wood's hardness (for a pointed bit, the mean of tip and widest: see
`trade.chips`). What the bit meets comes from the wood before each move. Ramps and plunges are slow on purpose: they
are never too thin, and too thick by a rule of their own. Too thick is judged at the feed of the text, which a lively
machine may reach; too thin also at the feed that this one reaches in short moves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.common.units import show_chip, show_feed
from toolpaths.job.bit import Bit
from toolpaths.operations.chip_load import RUBS, SIXTEENTH, Band, bit_band, chip_load, thickest_share
from toolpaths.operations.operation import Corners
from toolpaths.simulation.machine_time import reached
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import PLUNGE, Engagement, engagement
from toolpaths.verification.finding import Finding, Remedy, Severity
from toolpaths.verification.remedies import fed, in_words, turned
from toolpaths.verification.trace_queries import at_move, feature_of, speeds_of

STOP_ABOVE = 2.0
"""Times the top of the band at which a warning becomes a stop."""
_ROUND = 0.01
"""Part of the band's ends that rounding of feeds and speeds may take."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `chip-thick` and `chip-thin`: one for each bit, feed, speed and feature."""
    met = engagement(inputs)
    if not met.cuts.any():
        return []
    trace, moves = inputs.trace, inputs.moves
    mean = reached(inputs.as_written, inputs.at_machine, inputs.machine).mean
    parent = moves.parent[met.move]
    groups = np.stack([moves.bit[met.move], trace.feed[parent], trace.rpm[parent]], axis=1)
    found: list[_Told] = []
    for number, feed, text_rpm in np.unique(groups[met.cuts], axis=0):
        name, bit = inputs.bits[int(number)]
        slow, fast = speeds_of(inputs, name, float(feed), float(text_rpm))
        if slow <= 0:
            continue
        case = _Case(inputs, met, name, bit, bit_band(bit, inputs.context.wood.janka), float(feed), mean)
        inside = np.nonzero(met.cuts & (groups == (number, feed, text_rpm)).all(axis=1))[0]
        thick = list(case.thick(slow, inside))
        found += thick or case.thin(fast, inside[met.level[inside]])
    return [told.finding([other for other in found if other.like == told.like]) for told in found]


@dataclass(frozen=True, slots=True)
class _Told:
    """A finding to be made, with the feed (mm/min) or speed that removes it and all like it in the feature."""

    case: _Case
    code: str
    feature: str
    place: int
    severity: Severity | None
    words: Callable[[str], str]
    otherwise: str
    feed: float | None
    rpm: float | None

    @property
    def like(self) -> tuple[str, str, str, bool]:
        return self.code, self.feature, self.case.name, self.rpm is None

    def finding(self, alike: list[_Told]) -> Finding:
        remedies = self._remedies(alike)
        move, words = int(self.case.inputs.moves.parent[self.place]), self.words(in_words(remedies, self.otherwise))
        return at_move(
            self.case.inputs, self.code, words, move,
            feature=self.feature, severity=self.severity, remedies=remedies,
        )  # fmt: skip

    def _remedies(self, alike: list[_Told]) -> tuple[Remedy, ...]:
        inputs, bit, up = self.case.inputs, self.case.name, self.code == "chip-thin"
        own = [o for o in inputs.operations if o.feature == self.feature]
        if not own or (up and any(o.bit != bit for o in own)):
            return ()  # what makes thick chips for one bit may make too thick ones for another
        feeds = [(t.case.feed, t.feed) for t in alike if t.feed]
        out = fed(inputs, bit, self.feature, feeds, up=up)
        speeds = [t.rpm for t in alike if t.rpm]
        rpm = (min if up else max)(speeds, default=0.0)
        # Slower turns make every chip thicker, those of a full cut too.
        full = max(o.cutting.feed for o in own)
        if speeds and not (up and chip_load(full, rpm, self.case.bit.flutes) > self.case.band.high):
            out += turned(inputs, bit, self.feature, self.case.feed, rpm, up=not up)
        return out


@dataclass(frozen=True, slots=True)
class _Case:
    """One bit at one feed (mm/min) against its band. `mean`: the feed that each straight move truly has."""

    inputs: CheckInput
    met: Engagement
    name: str
    bit: Bit
    band: Band
    feed: float
    mean: Array

    def thick(self, rpm: float, places: Ints) -> Iterator[_Told]:
        """One for each section feature in which a chip is too thick, where it is thickest."""
        loads = chip_load(self.feed, rpm, self.bit.flutes) * self._share(places)
        over = loads > self.band.high * (1 + _ROUND)
        for feature, mine in self._by_feature(places[over]).items():
            own = loads[np.searchsorted(places, mine)]
            worst = int(mine[np.argmax(own)])
            load = float(own.max())
            stop = load > self.band.high * STOP_ABOVE * (1 + _ROUND)
            slower = self.feed * self.band.high / load
            yield _Told(
                self, "chip-thick", feature, int(self.met.move[mine[own >= 0.999 * load]].min()),
                Severity.stop if stop else None, partial(self._too_thick, load, rpm, worst),
                f"feed at most {self._feed(slower)}", slower, rpm * load / self.band.high,
            )  # fmt: skip

    def thin(self, rpm: float, places: Ints) -> Iterator[_Told]:
        """One for each section feature in which the bit rubs, where it first does."""
        load = chip_load(self.feed, rpm, self.bit.flutes)
        if load < self.band.low * (1 - _ROUND):
            yield from self._told(places, partial(self._too_thin, load, rpm), rpm, load / self.band.low)
        elif self.bit.working_diameter >= SIXTEENTH - 1e-6:
            share = self._share(places)
            narrow = self._mostly(load * share, places)
            for mine in self._by_feature(places).values():
                # A last skim that rubs is a moment; a feature that rubs most of its way burns.
                own = narrow[np.searchsorted(places, mine)]
                brief = own.mean() < 0.5 or self._clears_corners(mine)
                weight = Severity.note if brief else None
                yield from self._told(mine[own], partial(self._thinned, load, rpm), severity=weight)
            slowed = np.minimum(self.mean[self.met.move[places]] / self.feed, 1.0) * share
            short = self._mostly(load * slowed, places) & ~narrow
            yield from self._told(places[short], partial(self._too_short, rpm), severity=Severity.note)

    def _clears_corners(self, places: Ints) -> bool:
        """Whether the bit only takes what a wider one left, touching wood here and there."""
        feature = feature_of(self.inputs, int(self.inputs.moves.parent[self.met.move[places[0]]]))
        own = [o for o in self.inputs.operations if o.feature == feature and o.bit == self.name]
        return bool(own) and all(isinstance(o, Corners) for o in own)

    def _mostly(self, loads: Array, places: Ints) -> Mask:
        """Which places (K,) are too thin for a bit from 1/16 in up, and so is half of their kind.

        A moment on the way into or out of a cut is thin everywhere.
        """
        thin = loads < RUBS * (1 - _ROUND)
        kinds = self.met.kind[places]
        often = np.bincount(kinds, weights=thin) >= 0.5 * np.bincount(kinds)
        return np.asarray(thin & often[kinds])

    def _told(
        self,
        places: Ints,
        words: Callable[[int, str], str],
        rpm: float = 0.0,
        part: float = 0.0,
        severity: Severity | None = None,
    ) -> Iterator[_Told]:
        """One a feature, at its first place. `part`: its chips as a part of what they should be, where all are too
        thin, so that feed or speed helps; where a pass is narrow or short neither does.
        """
        for feature, mine in self._by_feature(places).items():
            first = int(mine[np.argmin(self.met.move[mine])])
            otherwise = f"feed at least {self._feed(self.feed / part)}" if part else "take a smaller bit"
            yield _Told(
                self, "chip-thin", feature, int(self.met.move[first]), severity, partial(words, first), otherwise,
                self.feed / part if part else None, rpm * part if part else None,
            )  # fmt: skip

    # Private

    def _by_feature(self, places: Ints) -> dict[str, Ints]:
        names: dict[str, list[int]] = {}
        for place in places.tolist():
            parent = int(self.inputs.moves.parent[self.met.move[place]])
            names.setdefault(feature_of(self.inputs, parent), []).append(place)
        ordered = sorted(names.items(), key=lambda pair: int(self.met.move[pair[1]].min()))
        return {name: np.asarray(own, dtype=np.int64) for name, own in ordered}

    def _share(self, places: Ints) -> Array:
        return thickest_share(self.met.from_wall[places], self.met.slope[places], PLUNGE)

    def _too_thick(self, load: float, rpm: float, place: int, advice: str) -> str:
        flutes, high = self.bit.flutes, self.band.high
        if self.met.plunges[place]:
            real = load / self._share_at(place)
            wants = f"at most {self._chip(high / 2)} straight down, half of the top of its band"
            chip = self._cut(real, rpm, place, f"; {self._chip(real * flutes)} a turn")
        else:
            wants, chip = f"{self._chip(self.band.low)} to {self._chip(high)}", self._cut(load, rpm, place)
        return (
            f"{chip} is too thick for {self.name} in {self.inputs.context.wood.name}, which wants "
            f"{wants} ({self.band.origin}); {advice}{self._wobble(load)}"
        )

    def _too_thin(self, load: float, rpm: float, place: int, advice: str) -> str:
        return (
            f"{self._cut(load, rpm, place)} is so thin that it rubs: too thin for {self.name} in "
            f"{self.inputs.context.wood.name}, which wants {self._chip(self.band.low)} to "
            f"{self._chip(self.band.high)} ({self.band.origin}); {advice}{self._wobble(load)}"
        )

    def _thinned(self, load: float, rpm: float, place: int, advice: str) -> str:
        # The part of the width whose chip is as thick as `RUBS`: the thinning formula solved for q.
        wanted = min(RUBS / load, 1.0)
        wide_enough = float((1 - np.sqrt(1 - wanted * wanted)) / 2)
        return (
            f"{self._cut(load, rpm, place, article='the')} is at most {self._chip(load * self._share_at(place))} "
            f"thick, and under {self._chip(RUBS)} {self.name} rubs and burns (common practice, no source): a pass of "
            f"at least {wide_enough:.2f} of the bit's width would not; {advice}. "
            f"A thin pass is no reason to feed faster than {self._feed(self.band.high * rpm * self.bit.flutes)}"
        )

    def _too_short(self, rpm: float, place: int, advice: str) -> str:
        at = float(self.mean[self.met.move[place]])
        load = chip_load(at, rpm, self.bit.flutes) * self._share_at(place)
        return (
            f"{self._where(place)}the moves are so short that {self._feed(at)} are reached of "
            f"{self._feed(self.feed)}: a chip of {self._chip(load)} a tooth, and under {self._chip(RUBS)} "
            f"{self.name} rubs and burns (common practice, no source); {advice}"
        )

    def _cut(self, load: float, rpm: float, place: int, more: str = "", article: str = "a") -> str:
        """The chip at a place, and what it comes from."""
        comes_from = f"{self._feed(self.feed)}, {rpm:.0f} rpm, {self.bit.flutes} flutes{more}"
        return f"{self._where(place)}{article} chip of {self._chip(load)} a tooth ({comes_from})"

    def _share_at(self, place: int) -> float:
        return float(self._share(np.array([place]))[0])

    def _where(self, place: int) -> str:
        if self.met.plunges[place]:
            return "going straight down, " if self.met.slope[place] > 85 else "going steeply down, "
        if self.met.slope[place] > 0.5:
            return f"on a ramp of {self.met.slope[place]:.1f} degrees, "
        if self.met.slot[place]:
            return "in a slot as wide as the bit, "
        return f"on a pass of {self.met.radial[place]:.2f} of the bit's width, "

    def _wobble(self, load: float) -> str:
        """Text about a runout larger than the chip, for thin bits."""
        runout = self.bit.runout if self.bit.runout is not None else self.inputs.machine.runout
        if runout <= load or self.bit.working_diameter >= SIXTEENTH - 1e-6:
            return ""
        return f" (runout of {self._chip(runout)} is more than that chip: one edge does the work)"

    def _chip(self, mm: float) -> str:
        return show_chip(mm, self.inputs.job.units)

    def _feed(self, mm_min: float) -> str:
        return show_feed(mm_min, self.inputs.job.units)
