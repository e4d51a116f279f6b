"""A job cut in a shop that is a little off: once as it was laid out, once following what is measured on the way."""

from __future__ import annotations

import math
import re
import shutil
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from ruamel.yaml import YAML

from tests.property.plain_part import Part
from tests.shops.gauges import Gauge, Place
from tests.shops.shop import CALIPERS, REACH, RULE, TOUCH, Shop
from tests.shops.wood import BARE_BED, Wood
from tests.tamper.described import mm
from toolpaths.common.errors import JobError
from toolpaths.found.corrections import said
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import CORRECTED, Meaning
from toolpaths.instrument.handwork.handwork import Figure
from toolpaths.job.changes import Changes
from toolpaths.job.files.found_file import write_found
from toolpaths.job.files.found_model import FoundValue
from toolpaths.operations.operation import ProgramPlan
from toolpaths.pipeline.build import ProgramSet, lay_out

_KEPT = tempfile.TemporaryDirectory()
ACROSS = 0.1
"""How far a cut of the second side may lie beside the first one's, mm: as the ring's rims are judged."""


@dataclass(frozen=True)
class Work:
    """A job to be cut: its file, its setups read plainly, and its programs as it was laid out first."""

    path: Path
    parts: dict[str, Part]
    layout: ProgramSet

    @staticmethod
    @cache
    def of(path: Path, z: str = "") -> Work:
        """Laid out once for all shops. `z`: where Z is set instead, in a copy that is thrown away at the end."""
        text = path.read_text(encoding="utf-8")
        if z:
            # Kept as long as the tests run; processes share the outer one.
            folder = Path(tempfile.mkdtemp(dir=_KEPT.name))
            _beside(path, folder)
            path = folder / path.name
            text = re.sub(r"(?<=centreline, z: )(bed|stock top)", z, text)
            path.write_text(text, encoding="utf-8")
        job = YAML(typ="safe").load(text)
        parts = {setup["name"]: Part(job, place) for place, setup in enumerate(job["setups"])}
        return Work(path, parts, lay_out(path, Changes()))

    @property
    def marks(self) -> tuple[Mark, ...]:
        return self.layout.history.marks

    def shop(self, seed: int) -> Shop:
        """A shop with this job's bits, setups and range of blanks."""
        job = next(iter(self.parts.values())).job
        given = job["stock"]["thickness"]
        least, most = (given["min"], given["max"]) if isinstance(given, dict) else (given, given)
        thickness = mm(least, job["units"]), mm(most, job["units"])
        return Shop.drawn(seed, sorted(self.layout.numbers), list(self.parts), thickness)


@dataclass(frozen=True)
class Off:
    """How far a length is from what was asked for, mm, and how far it may be; NaN where it cannot be found.

    `kind`: what of a mark it is; `across`: where a cut of the second side lies beside those of the first; `pins`: how
    much further apart the bores of the bed are than those of the wood.
    """

    mark: Mark
    kind: str
    by: float
    within: tuple[float, float]
    follows: bool

    @property
    def slack(self) -> float:
        """How much further off a cut may be that follows: what the gauges did not tell, and how truly a bit is set."""
        figure = self.mark.figure
        by_gauge = RULE if figure.kind in ("place", "between") and figure.value > REACH else CALIPERS
        return by_gauge + (TOUCH if self.kind in ("depth", "face") else 0.0)

    def over(self) -> float:
        """How far out of tolerance, mm; 0 within."""
        if math.isnan(self.by):
            return math.inf
        return max(0.0, self.within[0] - self.by, self.by - self.within[1])


@dataclass
class Cutting:
    """One blank on its way. `refused`: why the rest could not be laid out any more; `offs`: of what was cut."""

    work: Work
    shop: Shop
    layout: ProgramSet
    wood: Wood
    offs: list[Off] = field(default_factory=list)
    refused: str = ""
    values: dict[str, FoundValue] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)

    def program(self, number: int) -> tuple[ProgramPlan, str]:
        plan, program = self.layout.own[number]
        return plan, program.text

    def gauge(self, mark: Mark) -> Gauge:
        """The wood at hand for a mark, after the programs cut so far."""
        plan, text = self.program(max(0, mark.after - 1))
        on_bed = BARE_BED in text and bool(mark.feature)
        return Gauge(self.wood, mark.setup, on_bed, self._place(plan, on_bed), self._place(self._bore_of(mark), False))

    def _bore_of(self, mark: Mark) -> ProgramPlan:
        """The plan that cut the bores of the first side."""
        plans = [p for p, _ in self.layout.own if any(o.feature.startswith("pin_bores") for o in p.operations)]
        return plans[0] if plans else self.layout.own[max(0, mark.after - 1)][0]

    def _place(self, plan: ProgramPlan, on_bed: bool) -> Callable[[Place], Place]:
        """Where a plan's cuts are to be looked for. Only where a gauge is held hangs on it, not what it shows."""
        context = self.layout.history.context(plan)
        zero, by = self.work.parts[plan.setup].zero, context.machine.correction
        aside = (0.0, 0.0) if on_bed else self.shop.aside[plan.setup]

        def place(at: Place) -> Place:
            x, y = ((at[k] - context.zero[k]) * by[k] * self.shop.scale[k] + zero[k] - aside[k] for k in (0, 1))
            return x, y

        return place


def cut(work: Work, shop: Shop, folder: Path | None = None) -> Cutting:
    """The whole job cut in a shop. `folder`: an empty one, for what is measured; without it nothing is followed."""
    way = Cutting(work, shop, work.layout, Wood(shop, work.parts))
    path = None
    if folder is not None:
        path = folder / work.path.name
        shutil.copy(work.path, path)
        _beside(work.path, folder)
    texts: list[str] = []
    for number in range(len(work.layout.own)):
        # Before anything is cut the blank is measured, and as it lies before the setup's first program.
        fresh = _measure(way, [m for m in work.marks if m.after == number and (m.before or not m.feature)], number)
        if path is not None and (fresh or number == 0) and not _laid_out(way, path):
            return way
        assert texts == [p.text for _, p in way.layout.own[:number]], "what is cut keeps its bytes"
        _, text = way.program(number)
        texts.append(text)
        way.wood.cut(number, text)
        due = [m for m in work.marks if m.after == number + 1 and not m.before]
        way.offs += [off for m in due for off in _offs(way, m)]
        fresh = _measure(way, due, number + 1)
        if path is not None and fresh and number + 1 < len(work.layout.own) and not _laid_out(way, path):
            return way
    return way


def _beside(path: Path, folder: Path) -> None:
    """Take along what a job's file names: the instrument, and its drawings."""
    for other in (p for p in path.parent.iterdir() if p.is_dir() and p.name in ("instruments", "drawings")):
        shutil.copytree(other, folder / other.name)


def _measure(way: Cutting, marks: Sequence[Mark], cut_by_now: int) -> bool:
    """Take values at marks, as the shop's gauges show them; whether any of them can change a later program."""
    taken = False
    for mark in marks:
        if mark.meaning is Meaning.look:
            continue
        figure = mark.figure
        truth = way.gauge(mark).read(figure)
        if math.isnan(truth):
            continue
        value = way.shop.shown(mark.number, truth, far=abs(figure.value) > REACH)
        way.values[mark.name] = FoundValue.model_construct(value=round(value, 3), cut=0)
        later = {bit for plan, _ in way.layout.own[cut_by_now:] for bit in plan.bits}
        taken |= mark.meaning in CORRECTED and (mark.meaning is not Meaning.bit or mark.bit in later)
    return taken


def _laid_out(way: Cutting, path: Path) -> bool:
    """Lay the job out anew from the file of values; false where that is refused."""
    write_found(path, way.work.layout.loaded.job_hash, way.values, {}, way.layout.loaded.job.units)
    try:
        way.layout = lay_out(path, Changes())
    except JobError as error:
        way.refused = "; ".join(f"{p.key}: {p.problem}" for p in error.problems)
        return False
    way.said.append("; ".join(said(c, way.layout.loaded.job) for c in way.layout.history.corrections))
    return True


def _offs(way: Cutting, mark: Mark) -> Iterator[Off]:
    """How far everything at a mark is from what was asked for, by the true wood."""
    gauge = way.gauge(mark)
    on_back = way.work.parts[mark.setup].flipped and not gauge.on_bed
    if gauge.on_bed:
        yield from _on_pins(way, gauge, mark)
    # Of many that are alike the first and the last tell: they lie furthest apart.
    figures = mark.measure.figures
    for figure in figures if len(figures) < 3 else (figures[0], figures[-1]):
        yield Off(mark, mark.meaning.value, _by(way, gauge, figure), figure.within, follows(way.work, mark))
        if on_back and figure.kind in ("width", "standing"):
            follow = any(m.meaning is Meaning.sides and m.after < mark.after for m in way.work.marks)
            by = _aside(way, gauge, mark, figure)
            yield Off(mark, "across", by, (-ACROSS, ACROSS), follow)


def _on_pins(way: Cutting, gauge: Gauge, mark: Mark) -> Iterator[Off]:
    """How much further apart the bed's bores are than the wood's: a slot for the pin takes only so much."""
    first = next(m for m in way.work.marks if (m.setup, m.feature) == (mark.setup, mark.feature))
    face = next(name for name, part in way.work.parts.items() if not part.flipped)
    slots = [place.get("relief", 0.0) for place in way.work.parts[face].features["pin_bores"]["at"]]
    if first is mark or not any(slots):
        return
    bed = [gauge.middle(gauge.place(m.figure.at))[0] for m in (first, mark)]
    other = Gauge(way.wood, face, False, gauge.face_place, gauge.face_place)
    wood = [other.middle(gauge.face_place((m.figure.at[0], -m.figure.at[1])))[0] for m in (first, mark)]
    play = max(slots) / 2
    yield Off(mark, "pins", abs(bed[1] - bed[0]) - abs(wood[1] - wood[0]), (-play, play), True)


def _by(way: Cutting, gauge: Gauge, figure: Figure) -> float:
    """How far a length is from what the job wants, mm.

    Depths of the second side count from the glue face, on which the wood lies: whoever measures them from the back of
    a wood that is thinner than asked for finds less, and all is well.
    """
    part = way.work.parts[figure.setup]
    if figure.kind == "depth" and part.flipped and not gauge.on_bed and figure.beside is not None:
        thinner = part.top - gauge.thick
        back = gauge.place(figure.beside)
        if abs(gauge.height(back) - gauge.thick) < 1e-6:
            return gauge.read(figure) - figure.value + thinner
    return gauge.read(figure) - figure.value


def _aside(way: Cutting, gauge: Gauge, mark: Mark, figure: Figure) -> float:
    """How far a cut of the second side lies beside where the first one's programs would have put it, mm."""
    there = gauge.face_place((figure.at[0], -figure.at[1]))
    if figure.kind == "standing":
        return gauge.between_cuts(figure) + there[1]
    x, y = gauge.middle(gauge.place(figure.at))
    dx, dy = x - there[0], y + there[1]
    return dx if math.isnan(dy) or abs(dx) >= abs(dy) else dy


def follows(work: Work, mark: Mark) -> bool:
    """Whether a value measured before this cut says how it must be made; if not, `found` cannot mend it."""
    before = [m for m in work.marks if m.after < mark.after and m.feature]

    def known(meaning: Meaning, *, bit: bool = False) -> bool:
        return any(m.meaning is meaning and (m.bit == mark.bit or not bit) for m in before)

    match mark.meaning:
        case Meaning.bit:
            return known(Meaning.bit, bit=True)
        case Meaning.depth:
            # Z on the bed knows nothing of the face of a wood that lies on it.
            on_top = work.parts[mark.setup].setup["zero"]["z"] == "stock top"
            return any(m.meaning is Meaning.face and (m.setup == mark.setup or on_top) for m in before)
        case Meaning.part:
            if mark.figure.kind == "place":
                return known(Meaning.axis)
            if mark.figure.kind == "thickness":
                return known(Meaning.face)
            return known(Meaning.bit, bit=True)
        case Meaning.face:
            # Z on the top of a blank follows how thick that was measured.
            return work.parts[mark.setup].setup["zero"]["z"] == "stock top"
        case Meaning.axis:
            return known(Meaning.axis)
        case Meaning.blank | Meaning.sides | Meaning.look:
            return False
