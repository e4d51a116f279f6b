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
from toolpaths.job.bit import Bit
from toolpaths.operations.chip_load import RUBS, SIXTEENTH, Band, bit_band, chip_load, thickest_share
from toolpaths.operations.operation import Corners
from toolpaths.simulation.machine_time import reached
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import PLUNGE, Engagement, engagement
from toolpaths.verification.finding import Finding, Remedy, Severity
from toolpaths.verification.remedies import fed, in_words, turned
from toolpaths.verification.trace_queries import at_move, feature_of, speeds_of
from toolpaths.verification.wording import loads
from toolpaths.verification.wording.message import Message

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
    words: Callable[[str], Message]
    feed: float | None
    rpm: float | None

    @property
    def like(self) -> tuple[str, str, str, bool]:
        return self.code, self.feature, self.case.name, self.rpm is None

    def finding(self, alike: list[_Told]) -> Finding:
        remedies = self._remedies(alike)
        return at_move(
            self.case.inputs,
            self.code,
            self.words(in_words(remedies, "")),
            int(self.case.inputs.moves.parent[self.place]),
            feature=self.feature,
            severity=self.severity,
            remedies=remedies,
        )

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
        every = chip_load(self.feed, rpm, self.bit.flutes) * self._share(places)
        over = every > self.band.high * (1 + _ROUND)
        for feature, mine in self._by_feature(places[over]).items():
            own = every[np.searchsorted(places, mine)]
            worst = int(mine[np.argmax(own)])
            load = float(own.max())
            stop = load > self.band.high * STOP_ABOVE * (1 + _ROUND)
            slower = self.feed * self.band.high / load
            yield _Told(
                self, "chip-thick", feature, int(self.met.move[mine[own >= 0.999 * load]].min()),
                Severity.stop if stop else None, partial(self._too_thick, load, worst, slower),
                slower, rpm * load / self.band.high,
            )  # fmt: skip

    def thin(self, rpm: float, places: Ints) -> Iterator[_Told]:
        """One for each section feature in which the bit rubs, where it first does."""
        load = chip_load(self.feed, rpm, self.bit.flutes)
        if load < self.band.low * (1 - _ROUND):
            part = load / self.band.low
            yield from self._told(places, partial(self._too_thin, load, self.feed / part), rpm, part)
        elif self.bit.working_diameter >= SIXTEENTH - 1e-6:
            share = self._share(places)
            narrow = self._mostly(load * share, places)
            for mine in self._by_feature(places).values():
                # A last skim that rubs is a moment; a feature that rubs most of its way burns.
                own = narrow[np.searchsorted(places, mine)]
                brief = own.mean() < 0.5 or self._clears_corners(mine)
                weight = Severity.note if brief else None
                yield from self._told(mine[own], partial(self._too_narrow, load, brief), severity=weight)
            slowed = np.minimum(self.mean[self.met.move[places]] / self.feed, 1.0) * share
            short = self._mostly(load * slowed, places) & ~narrow
            yield from self._told(places[short], partial(self._too_short, rpm), severity=Severity.note)

    def _clears_corners(self, places: Ints) -> bool:
        """Whether the bit only takes what a wider one left, touching wood here and there."""
        feature = feature_of(self.inputs, int(self.inputs.moves.parent[self.met.move[places[0]]]))
        own = [o for o in self.inputs.operations if o.feature == feature and o.bit == self.name]
        return bool(own) and all(isinstance(o, Corners) for o in own)

    def _mostly(self, chips: Array, places: Ints) -> Mask:
        """Which places (K,) are too thin for a bit from 1/16 in up, and so is half of their kind.

        A moment on the way into or out of a cut is thin everywhere.
        """
        thin = chips < RUBS * (1 - _ROUND)
        kinds = self.met.kind[places]
        often = np.bincount(kinds, weights=thin) >= 0.5 * np.bincount(kinds)
        return np.asarray(thin & often[kinds])

    def _told(
        self,
        places: Ints,
        words: Callable[[int, str], Message],
        rpm: float = 0.0,
        part: float = 0.0,
        severity: Severity | None = None,
    ) -> Iterator[_Told]:
        """One a feature, at its first place. `part`: its chips as a part of what they should be, where all are too
        thin, so that feed or speed helps; where a pass is narrow or short neither does.
        """
        for feature, mine in self._by_feature(places).items():
            first = int(mine[np.argmin(self.met.move[mine])])
            yield _Told(
                self, "chip-thin", feature, int(self.met.move[first]), severity, partial(words, first),
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

    def _too_thick(self, load: float, place: int, feed: float, remedy: str) -> Message:
        most, down = self.band.high, bool(self.met.plunges[place])
        if down:
            load, most = load / self._share_at(place), most / 2
        return loads.chip_too_thick(load, most, down=down, remedy=remedy, feed=feed, units=self.inputs.job.units)

    def _too_thin(self, load: float, feed: float, place: int, remedy: str) -> Message:
        return loads.chip_too_thin(load, self.band.low, remedy=remedy, feed=feed, units=self.inputs.job.units)

    def _too_narrow(self, load: float, brief: bool, place: int, _: str) -> Message:
        return loads.pass_too_narrow(load * self._share_at(place), RUBS, brief=brief, units=self.inputs.job.units)

    def _too_short(self, rpm: float, place: int, _: str) -> Message:
        load = chip_load(float(self.mean[self.met.move[place]]), rpm, self.bit.flutes) * self._share_at(place)
        return loads.moves_too_short(load, RUBS, units=self.inputs.job.units)

    def _share_at(self, place: int) -> float:
        return float(self._share(np.array([place]))[0])
