"""A job read a second time, plainly: where each feature may cut, and how deep; with formulas and shapely alone.

Frame: x from the nut line, y from the centreline as seen at the machine, z from the bed; mm.
What is laborious is drawn generously (`exact` false): then nothing is asked of it, only allowed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import shapely
from ruamel.yaml import YAML
from shapely import LineString, Point, Polygon, box
from shapely.affinity import scale as scaled
from shapely.geometry.base import BaseGeometry

from tests.tamper.described import mm
from tests.tamper.field import Shape

ROOT = Path(__file__).parents[2]
FAR = 5000.0
RUN = 1.0
"""How far lines and slots run out past the wood, mm, beside the bit's radius."""
RAMP = 4.0
"""How much further out in the waste a line with a level floor may begin, mm, so that its ramp ends before the edge."""


@cache
def rack() -> dict[str, Any]:
    """The bits of the rack, as its file has them."""
    found: dict[str, Any] = YAML(typ="safe").load((ROOT / "machines" / "bits.yaml").read_text(encoding="utf-8"))
    return found


@cache
def machine_of(name: str) -> dict[str, Any]:
    """A machine, as its file has it."""
    found: dict[str, Any] = YAML(typ="safe").load((ROOT / "machines" / f"{name}.yaml").read_text(encoding="utf-8"))
    return found


@dataclass(frozen=True)
class Region:
    """Where a feature may cut down to `low`, and must down to `high` if `exact`; `grow`: walls, mm aside a mm up."""

    feature: str
    shape: BaseGeometry
    low: float
    high: float
    bit: Shape
    exact: bool = True
    grow: float = 0.0

    def at(self, z: float) -> BaseGeometry:
        """Its shape at a height above its floor."""
        return self.shape.buffer(self.grow * max(0.0, z - self.low)) if self.grow else self.shape


@dataclass(frozen=True)
class Frets:
    """Where frets lie: scale lengths of the outer strings, half of what these lie apart at the nut, the taper.

    On a string of scale length L fret n stands L (1 - 2^(-n/12)) from the nut. The square fret is square: so the
    treble string's nut lies (bass - treble) (1 - 2^(-square/12)) nearer to the bridge than the bass string's.
    The nut line crosses the centreline at x = 0.
    """

    bass: float
    treble: float
    square: float
    spread: float
    taper: float

    @cached_property
    def nuts(self) -> tuple[float, float]:
        """x of the nut on the bass and on the treble string."""
        later = (self.bass - self.treble) * (1 - 2 ** (-self.square / 12))
        low, high = -later, 0.0
        for _ in range(80):
            middle = (low + high) / 2
            yb, yt = -self.string(middle), self.string(middle + later)
            low, high = (middle, high) if middle - later * yb / (yt - yb) < 0 else (low, middle)
        return low, low + later

    def string(self, x: float) -> float:
        """How far the outer strings lie from the centreline."""
        return self.spread + self.taper * x

    def line(self, fret: float) -> tuple[float, float]:
        """(x on the centreline, lean along x a mm of y) of a fret's line, y toward the treble side."""
        part = 1 - 2 ** (-fret / 12)
        b, t = self.nuts[0] + self.bass * part, self.nuts[1] + self.treble * part
        lean = (t - b) / (self.string(t) + self.string(b))
        return b + lean * self.string(b), lean


@dataclass(frozen=True)
class Part:
    """A job's numbers, and one of its setups."""

    job: dict[str, Any]
    place: int = 0

    def mm(self, value: Any) -> float:
        return mm(value, self.job["units"])

    @property
    def setup(self) -> dict[str, Any]:
        found: dict[str, Any] = self.job["setups"][self.place]
        return found

    @property
    def features(self) -> dict[str, dict[str, Any]]:
        return {key: value for one in self.setup["features"] for key, value in one.items()}

    # Heights

    @property
    def thick(self) -> float:
        """The blank's greatest thickness."""
        given = self.job["stock"]["thickness"]
        return self.mm(given["max"] if isinstance(given, dict) else given)

    @property
    def glue(self) -> float:
        """The plane that depths count from, above the bed with the face up."""
        planed = [s["plane"]["leave"] for one in self.job["setups"] for s in one["features"] if "plane" in s]
        return min([self.thick, *map(self.mm, planed)])

    @property
    def flipped(self) -> bool:
        return "flip" in self.setup

    @property
    def top(self) -> float:
        """Of the blank as it enters the setup."""
        return self.glue if self.flipped else self.thick

    def floor(self, depth: float) -> float:
        """Height above the bed of a floor at a depth below the glue face."""
        return depth if self.flipped else self.glue - depth

    # The blank

    @property
    def centre_at(self) -> float:
        """From the operator's edge to the centreline; said of one side, it is known of the other."""
        width = self.mm(self.job["stock"]["width"])
        for one in (self.setup, *self.job["setups"]):
            if "centre_at" in one:
                own = self.mm(one["centre_at"])
                return own if ("flip" in one) == self.flipped else width - own
        return width / 2

    @property
    def blank(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1."""
        length, width = (self.mm(self.job["stock"][k]) for k in ("length", "width"))
        x0, y0 = -self.mm(self.setup["nut_at"]), -self.centre_at
        return x0, y0, x0 + length, y0 + width

    @property
    def zero(self) -> tuple[float, float, float]:
        """The program's zero."""
        given, (x0, y0, _, _) = self.setup["zero"], self.blank
        return (
            0.0 if given["x"] == "nut" else x0,
            0.0 if given["y"] == "centreline" else y0,
            -self.under if given["z"] == "bed" else self.top,
        )

    @property
    def hold(self) -> dict[str, Any]:
        """The holders of the setup; a plain word is all of the underside, or nothing that has a place."""
        given = self.setup.get("hold")
        if isinstance(given, dict):
            return given
        return {given: {}} if given in ("tape", "vacuum") else {}

    @property
    def under(self) -> float:
        """What lies between bed and blank."""
        given, tape = self.setup.get("under", {}), self.hold.get("tape", {})
        own = self.mm(given.get("tape", 0.0)) or self.mm(tape.get("thickness", 0.0))
        return self.mm(given.get("backing", 0.0)) + own

    # Frets

    @property
    def instrument(self) -> dict[str, Any]:
        found: dict[str, Any] = self.job["instrument"]
        return found

    @property
    def board(self) -> dict[str, Any]:
        found: dict[str, Any] = self.instrument["board"]
        return found

    @cached_property
    def frets(self) -> Frets:
        """The fan. The board's second width may stand at a place that the fan decides: some rounds settle both."""
        given, width = self.instrument["scale_length"], self.board["width"]
        fan = isinstance(given, dict)
        bass, treble = (self.mm(given[k]) for k in ("bass", "treble")) if fan else (self.mm(given),) * 2
        square = float(given["square_fret"]) if fan else 0.0
        at, there = next((k, self.mm(v)) for k, v in width.items() if k != "nut")
        nut, over = self.mm(width["nut"]), self.mm(self.board["overhang"]) if at == "end" else 0.0
        spread = (self.mm(self.instrument["nut_spread"]) if "nut_spread" in self.instrument else 0.82 * nut) / 2
        found = Frets(bass, treble, square, spread, 0.0)
        for _ in range(60 if fan else 1):
            second = found.line(self.instrument["frets"] if at == "end" else at)[0] + over
            found = replace(found, taper=(there - nut) / 2 / second)
        return found

    def half(self, x: float) -> float:
        """Half of the board's width."""
        return self.mm(self.board["width"]["nut"]) / 2 + self.frets.taper * x

    def line(self, fret: float) -> tuple[float, float]:
        """(x on the centreline, lean) of a fret's line, y toward the treble side."""
        return self.frets.line(fret)

    def ends(self, line: tuple[float, float]) -> tuple[tuple[float, float], tuple[float, float]]:
        """Where a line meets the bass and the treble edge: half(x + lean y) = |y|, solved."""
        x, lean = line
        bass, treble = (side * self.half(x) / (1 - side * self.frets.taper * lean) for side in (-1, 1))
        return (x + lean * bass, bass), (x + lean * treble, treble)

    @property
    def front(self) -> tuple[float, float]:
        """The nut's front: the nut line, moved by compensation, or behind a zero fret."""
        x, lean = self.line(0)
        zero = self.instrument.get("zero_fret", False)
        if zero:
            return x - (self.mm(zero["nut_behind"]) if isinstance(zero, dict) else 5.0), lean
        return x + self.mm(self.instrument.get("nut_compensation", 0.0)), lean

    @property
    def far(self) -> tuple[float, float]:
        """The board's end."""
        x, lean = self.line(self.instrument["frets"])
        return x + self.mm(self.board["overhang"]), lean

    @cached_property
    def outline(self) -> Polygon:
        """The finished board, in instrument coordinates."""
        (a, b), (c, d) = self.ends(self.front), self.ends(self.far)
        return Polygon([a, c, d, b])

    def seen(self, shape: BaseGeometry) -> BaseGeometry:
        """As seen at the machine: y changes its sign turned over, or left-handed."""
        mirrored = (self.job["handed"] == "left") != self.flipped
        return scaled(shape, yfact=-1.0, origin=(0, 0)) if mirrored else shape

    # The top

    def drop(self, x: float, y: float) -> float:
        """How much lower than the crown the rounded top lies."""
        given = self.board["radius"]
        r0, r1 = (self.mm(given[k]) for k in ("nut", "end")) if isinstance(given, dict) else (self.mm(given),) * 2
        r = r0 + (r1 - r0) * x / self.far[0]
        return r - math.sqrt(r * r - y * y)

    # Bits

    def bit(self, name: str) -> Shape:
        """A bit, by the job's own entry over the rack's."""
        shelf = rack()
        own, kept = self.job.get("bits", {}).get(name, {}), shelf["bits"].get(name, {})
        given, units = ({**kept, **own}, shelf["units"]) if "shape" not in own else (own, self.job["units"])
        width = mm(given["diameter"], units)
        if "measured_diameter" in own:
            width = self.mm(own["measured_diameter"])
        return Shape(given["shape"], width / 2, mm(given.get("tip", 0.0), units), float(given.get("angle", 0.0)))

    def with_setup(self, place: int) -> Part:
        """The same job, another setup."""
        return replace(self, place=place)


def strip(line: tuple[float, float], y0: float, y1: float, width: float) -> Polygon:
    """About a line, as wide as asked square to it."""
    (x, lean), half = line, width / 2 * math.hypot(1.0, line[1])
    a, b = x + lean * y0, x + lean * y1
    return Polygon([(a - half, y0), (a + half, y0), (b + half, y1), (b - half, y1)])


def disc(x: float, y: float, diameter: float) -> BaseGeometry:
    return Point(x, y).buffer(diameter / 2, quad_segs=64)


def capsule(x0: float, y0: float, x1: float, y1: float, width: float) -> BaseGeometry:
    """A slot between two extremes along x, its ends half circles."""
    turn = math.atan2(y1 - y0, x1 - x0)
    a = (x0 + width / 2 * math.cos(turn), y0 + width / 2 * math.sin(turn))
    b = (x1 - width / 2 * math.cos(turn), y1 - width / 2 * math.sin(turn))
    return LineString([a, b]).buffer(width / 2, quad_segs=64)


def everywhere_but(shape: BaseGeometry) -> BaseGeometry:
    return shapely.difference(box(-FAR, -FAR, FAR, FAR), shape)
