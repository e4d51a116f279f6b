"""What stands on the bed or on the blank, as boxes and upright cylinders that nothing may run into."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from enum import Enum

from toolpaths.job.cut_kind import CutKind
from toolpaths.job.holders import Clamp, Screws
from toolpaths.job.setup import Setup
from toolpaths.job.stock import KeepOut


class ObstacleKind(Enum):
    """What it is, and what it is called."""

    keep_out = "in the way"
    screw = "screw"
    clamp = "clamp"
    stop = "stop"
    pin = "pin"


class Present(Enum):
    """While which programs of its setup it is there."""

    always = "always"
    with_blank = "while the blank lies there"
    before_screws = "until the screws are in"
    with_screws = "once the screws are in"


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A box from x0, y0 to x1, y1, or a cylinder of that `radius` about a box without size, from the bed to its `top`.

    `top`: height in the setup's frame, mm. `of_jig`: of the jig under the blank.
    """

    kind: ObstacleKind
    name: str
    box: tuple[float, float, float, float]
    top: float
    present: Present = Present.always
    radius: float = 0.0
    of_jig: bool = False

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 of all of it."""
        (x0, y0, x1, y1), r = self.box, self.radius
        return x0 - r, y0 - r, x1 + r, y1 + r


def obstacles_of(
    setup: Setup, bed: float, top: float, as_it_lies: Callable[[float, float], tuple[float, float]]
) -> tuple[Obstacle, ...]:
    """Everything of a setup that stands on bed or blank. `bed`, `top`: heights of the bed and of the blank's top, mm.

    `as_it_lies`: where a place of the blank is at the machine: the router bores the screws' holes where it lies.
    """
    return tuple(_obstacles(setup, bed, top, as_it_lies))


def there_while(setup: Setup, features: Collection[str], on_bed: bool) -> frozenset[Present]:
    """What is there while a program cuts features of those names; `on_bed`: before the blank lies there."""
    if on_bed:
        return frozenset({Present.always})
    boring = any(f.name in features for f in setup.features if CutKind.screw_hole in f.cuts)
    screws = Present.before_screws if boring else Present.with_screws
    return frozenset({Present.always, Present.with_blank, screws})


def clamps_there(setup: Setup, there: Collection[Present]) -> list[Clamp]:
    """The clamps of a setup that stand there at the same time as what is given."""
    return [clamp for clamp in setup.holders.clamps if _present(clamp) in there]


def screws_of(setup: Setup) -> Iterator[tuple[str, Screws, tuple[float, float]]]:
    """Name, group and place as typed, mm, of each of a setup's screws."""
    placed = ((group, place) for group in setup.holders.screws for place in group.at)
    for number, (group, place) in enumerate(placed, 1):
        yield f"screw {number}", group, place


def bores_screw_holes(setup: Setup) -> bool:
    """Whether the router bores the holes of the setup's screws: their places are the blank's then."""
    return any(CutKind.screw_hole in f.cuts for f in setup.features)


def _obstacles(
    setup: Setup, bed: float, top: float, as_it_lies: Callable[[float, float], tuple[float, float]]
) -> Iterator[Obstacle]:
    holders = setup.holders
    for keep_out in setup.keep_out:
        yield _box(ObstacleKind.keep_out, keep_out, bed, Present.always)
    for stop in holders.stops:
        yield _box(ObstacleKind.stop, stop, bed, Present.always)
    for clamp in holders.clamps:
        yield _box(ObstacleKind.clamp, clamp, bed, _present(clamp))
    bored = bores_screw_holes(setup)
    for name, group, place in screws_of(setup):
        x, y = as_it_lies(*place) if bored else place
        height = top - group.sunk + group.head_height
        yield Obstacle(ObstacleKind.screw, name, (x, y, x, y), height, Present.with_screws, group.head / 2)


def _present(clamp: Clamp) -> Present:
    return Present.with_blank if clamp.until is None else Present.before_screws


def _box(kind: ObstacleKind, of: KeepOut, bed: float, present: Present) -> Obstacle:
    return Obstacle(kind, of.name, (of.x[0], of.y[0], of.x[1], of.y[1]), of.height + bed, present)
