"""The drawing on the setup sheet: the blank from above and from the side, with zero, dimensions and clamps (SVG)."""

from __future__ import annotations

from toolpaths.common.units import MM_PER_INCH, Units, show
from toolpaths.reports.pictures.landmarks import landmarks_of
from toolpaths.reports.text.words import escaped
from toolpaths.verification.outcome import Outcome, SetupReport

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
"""What clamps are called on the drawing and in the list below it."""

_SIDE_GAP, _SIDE_SCALE = 8.0, 2.0


def drawing(outcome: Outcome, setup: SetupReport) -> str:
    """An inline SVG, drawn in mm; lengths written in the job's units, text escaped."""
    return _Drawing(outcome, setup).svg()


class _Drawing:
    """Collects SVG elements. Picture coordinates are mm with y downward."""

    def __init__(self, outcome: Outcome, setup: SetupReport) -> None:
        self.outcome, self.setup = outcome, setup
        self.units: Units = outcome.job.units
        self.marks = landmarks_of(outcome, setup)
        self.parts: list[str] = []
        x0, _, x1, _ = setup.scene.stock_box
        self.text = max(5.0, (x1 - x0) / 52)

    def svg(self) -> str:
        self._from_above()
        bottom = self._from_the_side()
        v, t = self.marks.view, self.text
        left, top = v[0] - 7 * t, -v[3] - 6 * t
        width, height = v[2] - v[0] + 15 * t, bottom + 2.5 * t - top
        return (
            f'<svg viewBox="{left:.1f} {top:.1f} {width:.1f} {height:.1f}" role="img" '
            f'aria-label="The blank, its zero and its clamps" font-size="{t:.2f}" font-family="inherit">'
            f"{''.join(self.parts)}</svg>"
        )

    def _from_above(self) -> None:
        scene, t = self.setup.scene, self.text
        x0, y0, x1, y1 = scene.stock_box
        self._rect(x0, y0, x1, y1, "#f3ead9", "#1d2733")
        if self.marks.board is not None:
            points = " ".join(f"{x:.2f},{-y:.2f}" for x, y in self.marks.board)
            self.parts.append(f'<polygon points="{points}" fill="#fff" stroke="#1d2733" stroke-width="0.5"/>')
        for name, line in self.marks.frets:
            self._line(line.at(y0 + 2), y0 + 2, line.at(y1 - 2), y1 - 2, "#c9d0d6", 0.4)
            if name in ("1", "12", self.marks.frets[-1][0]):
                self._say(line.at(y1 - 2), y1 - 2 - t * 0.4, name, 0.7, colour="#66727f")
        self._line(x0 - t, 0, x1 + t, 0, "#66727f", 0.4, dashes="8 2 1.5 2")
        self._line(0, y0 - t, 0, y1 + t, "#66727f", 0.4, dashes="8 2 1.5 2")
        if scene.setup.stock is None or scene.setup.stand is not None:
            self._say(0, y1 + 1.4 * t, "nut", 0.8)
        for letter, clamp in zip(LETTERS, scene.setup.keep_out, strict=False):
            self._rect(clamp.x[0], clamp.y[0], clamp.x[1], clamp.y[1], "#3d5a8033", "#3d5a80")
            x, y = max(min(sum(clamp.x) / 2, x1 + 30), x0 - 30), sum(clamp.y) / 2
            small = min(clamp.x[1] - clamp.x[0], clamp.y[1] - clamp.y[0]) < 1.2 * t
            self._say(x + (1.2 * t if small else 0), y - 0.35 * t, letter, 0.9, colour="#3d5a80")
        self._across(x0, x1, y1 + 3.6 * t, scene.stock.length)
        if scene.setup.nut_at > 0:
            self._across(x0, 0, y0 - 1.6 * t, scene.setup.nut_at)
        self._upright(y0, y1, x1 + 2.2 * t, scene.stock.width)
        if not scene.apart:
            self._upright(y0, 0, x0 - 2.2 * t if not self._crowded() else x1 + 5.6 * t, scene.centre_at)
        zx, zy, _ = scene.zero
        self._zero(zx, -zy)
        self._say((x0 + x1) / 2, y0 - 1.9 * t, "operator's side", 0.85, colour="#66727f")

    def _crowded(self) -> bool:
        """Whether a clamp stands where the dimension at the left end would go."""
        x0, _, _, _ = self.setup.scene.stock_box
        return any(k.x[0] < x0 for k in self.setup.scene.setup.keep_out)

    def _from_the_side(self) -> float:
        """The blank's thickness, drawn twice as thick as it is long; returns the lowest picture y."""
        scene, t = self.setup.scene, self.text
        x0, _, x1, _ = scene.stock_box
        low_y = min([scene.stock_box[1], *(k.y[0] for k in scene.setup.keep_out)])
        bed = -low_y + _SIDE_GAP + 4 * t + scene.top * _SIDE_SCALE
        top, face = bed - scene.top * _SIDE_SCALE, bed - scene.face * _SIDE_SCALE
        self.parts.append(
            f'<rect x="{x0:.2f}" y="{top:.2f}" width="{x1 - x0:.2f}" height="{bed - top:.2f}" fill="#f3ead9" '
            'stroke="#1d2733" stroke-width="0.6"/>'
        )
        if face > top + 0.1:
            self._raw_line(x0, face, x1, face, "#1d2733", 0.5, "3 2")
        self._raw_line(x0 - 4 * t, bed, x1 + 4 * t, bed, "#1d2733", 1.1)
        self._raw_say(x1 + 0.6 * t, bed - 0.3 * t, "bed", 0.8, "start")
        words = f"stock {self._thickness()}, {scene.surface} {show(scene.face, self.units)} above the bed"
        self._raw_say((x0 + x1) / 2, bed + 1.5 * t, f"from the operator's side: {words}", 0.85, "middle")
        zx, _, zz = scene.zero
        self._zero(zx, bed - zz * _SIDE_SCALE)
        return bed + 1.5 * t

    def _thickness(self) -> str:
        thin, thick = self.setup.scene.least, self.setup.scene.top
        return show(thick, self.units) if thin == thick else f"{_bare(thin, self.units)} to {show(thick, self.units)}"

    # Pieces. `_say`, `_line`, `_rect` take y upward, `_raw_` ones picture coordinates.

    def _zero(self, x: float, y: float) -> None:
        r = self.text * 0.62
        self.parts.append(
            f'<g stroke="#b80000" stroke-width="0.7"><circle cx="{x:.2f}" cy="{y:.2f}" r="{r:.2f}" fill="#fff"/>'
            f'<path d="M{x:.2f} {y:.2f}v{-r:.2f}a{r:.2f} {r:.2f} 0 0 1 {r:.2f} {r:.2f}zM{x:.2f} {y:.2f}v{r:.2f}'
            f'a{r:.2f} {r:.2f} 0 0 1 {-r:.2f} {-r:.2f}z" fill="#b80000" stroke="none"/></g>'
        )
        self._raw_say(x + 1.1 * r, y - 1.1 * r, "0", 1.0, "start", "#b80000")

    def _across(self, a: float, b: float, y: float, value: float) -> None:
        self._line(a, y, b, y, "#66727f", 0.4)
        for x in (a, b):
            self._line(x, y - self.text * 0.35, x, y + self.text * 0.35, "#66727f", 0.6)
        short = b - a < 6 * self.text
        self._say(
            a if short else (a + b) / 2,
            y - 1.1 * self.text if short else y + 0.35 * self.text,
            show(value, self.units),
            0.85,
            anchor="start" if short else "middle",
        )

    def _upright(self, a: float, b: float, x: float, value: float) -> None:
        self._line(x, a, x, b, "#66727f", 0.4)
        for y in (a, b):
            self._line(x - self.text * 0.35, y, x + self.text * 0.35, y, "#66727f", 0.6)
        middle = -(a + b) / 2
        self._turned(x - 0.4 * self.text, middle, show(value, self.units), 0.85, "#1d2733")

    def _rect(self, x0: float, y0: float, x1: float, y1: float, fill: str, stroke: str) -> None:
        self.parts.append(
            f'<rect x="{x0:.2f}" y="{-y1:.2f}" width="{x1 - x0:.2f}" height="{y1 - y0:.2f}" fill="{fill}" '
            f'stroke="{stroke}" stroke-width="0.6"/>'
        )

    def _line(self, x0: float, y0: float, x1: float, y1: float, colour: str, width: float, dashes: str = "") -> None:
        self._raw_line(x0, -y0, x1, -y1, colour, width, dashes)

    def _raw_line(
        self, x0: float, y0: float, x1: float, y1: float, colour: str, width: float, dashes: str = ""
    ) -> None:
        dash = f' stroke-dasharray="{dashes}"' if dashes else ""
        self.parts.append(
            f'<line x1="{x0:.2f}" y1="{y0:.2f}" x2="{x1:.2f}" y2="{y1:.2f}" stroke="{colour}" '
            f'stroke-width="{width}"{dash}/>'
        )

    def _turned(self, x: float, y: float, text: str, size: float, colour: str) -> None:
        self.parts.append(
            f'<text x="{x:.2f}" y="{y:.2f}" font-size="{self.text * size:.2f}" text-anchor="middle" '
            f'transform="rotate(-90 {x:.2f} {y:.2f})" fill="{colour}">{escaped(text, 120)}</text>'
        )

    def _say(self, x: float, y: float, text: str, size: float, colour: str = "#1d2733", anchor: str = "middle") -> None:
        self._raw_say(x, -y, text, size, anchor, colour)

    def _raw_say(self, x: float, y: float, text: str, size: float, anchor: str, colour: str = "#1d2733") -> None:
        self.parts.append(
            f'<text x="{x:.2f}" y="{y:.2f}" font-size="{self.text * size:.2f}" text-anchor="{anchor}" '
            f'fill="{colour}">{escaped(text, 120)}</text>'
        )


def _bare(mm: float, units: Units) -> str:
    return f"{mm / MM_PER_INCH:.3f}" if units == "in" else f"{mm:.2f}"
