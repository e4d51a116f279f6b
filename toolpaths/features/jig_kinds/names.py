"""`names`: the jig's title, and beside each pin the setups that it is for, engraved along the letters' outlines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

import numpy as np
import shapely
from pydantic import Field
from shapely import LineString, Point, box
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size
from toolpaths.features.jig_engraving import JigEngraving
from toolpaths.features.jig_holes import JigHole, holes_in, served, surface_at
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage

_LARGE = 100.0
"""Size at which letters are drawn, so that their curves come out fine."""
_FINE = 0.02
"""How far a letter's line may stray from its curve, mm."""
_ASIDE = 3.0
"""From a pin's hole to its name, and from the jig's edges to its title, mm."""


class Names(JigEngraving):
    """Letters of the font that comes with matplotlib, as lines."""

    key = "names"
    cuts = frozenset({CutKind.engraving})
    stage = Stage.before
    title = "names"
    whole = True

    height: Size = Field(default=6.0, ge=2, le=60, description="Height of a capital letter.")

    def drawn(self, context: SetupContext) -> Iterator[tuple[str, LineString]]:
        """The title at the operator's edge, and a name beside each pin. Raises FeatureError where one has no room."""
        served(context)
        x0, y0, _, _ = context.stock_box
        every = holes_in(context)
        taken: list[BaseGeometry] = [Point(h.x, h.y).buffer(h.diameter / 2 + 1.0) for _, h in every]
        taken += [box(*it.box).buffer(it.radius + 6.0) for it in context.obstacles]
        others = [f for f in context.setup.features if isinstance(f, JigEngraving) and not f.whole]
        taken += [line.buffer(1.0) for other in others for _, line in other.drawn(context)]
        title, spare = letters(context.job.title, self.height), _ASIDE + 2.0
        yield from self._put(title, "title", [(x0 + spare + 15.0 * k, y0 + spare) for k in range(12)], taken, context)
        pins = [hole for feature, hole in every if CutKind.jig_pin in feature.cuts]
        for number, pin in enumerate(pins, 1):
            lines = letters("; ".join(pin.of), self.height)
            yield from self._put(lines, f"name of pin {number}", list(_beside(pin, lines)), taken, context)

    def _put(
        self,
        lines: Sequence[LineString],
        name: str,
        places: Sequence[tuple[float, float]],
        taken: list[BaseGeometry],
        context: SetupContext,
    ) -> Iterator[tuple[str, LineString]]:
        """The letters at the first place that is free and of one height; that place is taken then."""
        whole = box(*shapely.union_all(lines).bounds)
        x0, y0, x1, y1 = context.stock_box
        for x, y in places:
            here = translate(whole, x, y)
            a, b, c, d = here.bounds
            middle = JigHole((a + c) / 2, (b + d) / 2, 0.0, ())
            ends = {surface_at(context, JigHole(px, py, 0.0, ())) for px in (a, c) for py in (b, d)}
            level = ends == {surface_at(context, middle)} and _clear_of_walls(here, context)
            inside = x0 + 2 < a and y0 + 2 < b and c < x1 - 2 and d < y1 - 2
            if inside and level and not any(here.intersects(one) for one in taken):
                taken.append(here.buffer(1.0))
                for number, line in enumerate(lines, 1):
                    yield f"{name}, line {number}", translate(line, x, y)
                return
        hint = "make the letters lower, the title shorter or the jig larger"
        raise FeatureError(f"there is no room for the {name}", hint, "height")


@cache
def letters(text: str, height: float) -> tuple[LineString, ...]:
    """The outlines of letters from 0, 0 on to the right; `height` of a capital, mm."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    font = FontProperties(family="DejaVu Sans")
    tall = TextPath((0, 0), "H", size=_LARGE, prop=font).get_extents().height
    size = height / float(tall)
    out = []
    for ring in TextPath((0, 0), text, size=_LARGE, prop=font).to_polygons(closed_only=True):
        line = LineString(size * np.asarray(ring)).simplify(_FINE / 2)
        if isinstance(line, LineString):
            out.append(line)
    return tuple(out)


def _beside(pin: JigHole, lines: Sequence[LineString]) -> Iterator[tuple[float, float]]:
    """Where a name may stand: right or left of its pin, above or below it, then further off."""
    x0, y0, x1, y1 = shapely.union_all(lines).bounds
    r, middle = pin.diameter / 2 + _ASIDE, (y0 + y1) / 2
    for more in range(0, 60, 6):
        yield pin.x + r + more - x0, pin.y - middle
        yield pin.x - r - more - x1, pin.y - middle
        yield pin.x - (x0 + x1) / 2, pin.y + r + more - y0
        yield pin.x - (x0 + x1) / 2, pin.y - r - more - y1


def _clear_of_walls(here: BaseGeometry, context: SetupContext) -> bool:
    """Whether a bit can follow letters there without meeting the wall of the seat."""
    seat = context.seat
    return seat.box is None or here.distance(box(*seat.box).exterior) > 8.0
