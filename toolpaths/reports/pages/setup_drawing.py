"""The drawing on the setup sheet: the blank from above and from the side, with zero, dimensions and clamps (SVG)."""

from __future__ import annotations

from toolpaths.common.units import MM_PER_INCH, Units, show
from toolpaths.reports.pages.template import part, raw
from toolpaths.reports.pictures.landmarks import landmarks_of
from toolpaths.reports.text.words import plain
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
        self.parts: list[tuple[str, dict[str, str | float], str]] = []
        x0, _, x1, _ = setup.context.stock_box
        self.text = max(5.0, (x1 - x0) / 52)

    def svg(self) -> str:
        self._from_above()
        bottom = self._from_the_side()
        v, t = self.marks.view, self.text
        left, top = v[0] - 7 * t, -v[3] - 6 * t
        width, height = v[2] - v[0] + 15 * t, bottom + 2.5 * t - top
        box = tuple(f"{v:.1f}" for v in (left, top, width, height))
        return part("pages/drawing.html", box=box, size=t, parts=self.parts)

    def _add(self, tag: str, text: str = "", **attributes: str | float) -> None:
        self.parts.append((tag, attributes, plain(text, 120)))

    def _from_above(self) -> None:
        context, t = self.setup.context, self.text
        x0, y0, x1, y1 = context.stock_box
        self._rect(x0, y0, x1, y1, "#f3ead9", "#1d2733")
        if self.marks.board is not None:
            points = " ".join(f"{x:.2f},{-y:.2f}" for x, y in self.marks.board)
            self._add("polygon", points=raw(points), fill="#fff", stroke="#1d2733", stroke_width="0.5")
        for name, line in self.marks.frets:
            self._line(line.at(y0 + 2), y0 + 2, line.at(y1 - 2), y1 - 2, "#c9d0d6", 0.4)
            if name in ("1", "12", self.marks.frets[-1][0]):
                self._say(line.at(y1 - 2), y1 - 2 - t * 0.4, name, 0.7, colour="#66727f")
        self._line(x0 - t, 0, x1 + t, 0, "#66727f", 0.4, dashes="8 2 1.5 2")
        self._line(0, y0 - t, 0, y1 + t, "#66727f", 0.4, dashes="8 2 1.5 2")
        if context.setup.stock is None or context.setup.stand is not None:
            self._say(0, y1 + 1.4 * t, "nut", 0.8)
        for letter, clamp in zip(LETTERS, context.setup.keep_out, strict=False):
            self._rect(clamp.x[0], clamp.y[0], clamp.x[1], clamp.y[1], "#3d5a8033", "#3d5a80")
            x, y = max(min(sum(clamp.x) / 2, x1 + 30), x0 - 30), sum(clamp.y) / 2
            small = min(clamp.x[1] - clamp.x[0], clamp.y[1] - clamp.y[0]) < 1.2 * t
            self._say(x + (1.2 * t if small else 0), y - 0.35 * t, letter, 0.9, colour="#3d5a80")
        self._across(x0, x1, y1 + 3.6 * t, context.stock.length)
        if context.setup.nut_at > 0:
            self._across(x0, 0, y0 - 1.6 * t, context.setup.nut_at)
        self._upright(y0, y1, x1 + 2.2 * t, context.stock.width)
        if not context.apart:
            self._upright(y0, 0, x0 - 2.2 * t if not self._crowded() else x1 + 5.6 * t, context.centre_at)
        zx, zy, _ = context.zero
        self._zero(zx, -zy)
        self._say((x0 + x1) / 2, y0 - 1.9 * t, "operator's side", 0.85, colour="#66727f")

    def _crowded(self) -> bool:
        """Whether a clamp stands where the dimension at the left end would go."""
        x0, _, _, _ = self.setup.context.stock_box
        return any(k.x[0] < x0 for k in self.setup.context.setup.keep_out)

    def _from_the_side(self) -> float:
        """The blank's thickness, drawn twice as thick as it is long; returns the lowest picture y."""
        context, t = self.setup.context, self.text
        x0, _, x1, _ = context.stock_box
        low_y = min([context.stock_box[1], *(k.y[0] for k in context.setup.keep_out)])
        bed = -low_y + _SIDE_GAP + 4 * t + context.top * _SIDE_SCALE
        top, face = bed - context.top * _SIDE_SCALE, bed - context.face * _SIDE_SCALE
        self._rect(x0, -bed, x1, -top, "#f3ead9", "#1d2733")
        if face > top + 0.1:
            self._raw_line(x0, face, x1, face, "#1d2733", 0.5, "3 2")
        self._raw_line(x0 - 4 * t, bed, x1 + 4 * t, bed, "#1d2733", 1.1)
        self._raw_say(x1 + 0.6 * t, bed - 0.3 * t, "bed", 0.8, "start")
        words = f"stock {self._thickness()}, {context.surface} {show(context.face, self.units)} above the bed"
        self._raw_say((x0 + x1) / 2, bed + 1.5 * t, f"from the operator's side: {words}", 0.85, "middle")
        zx, _, zz = context.zero
        self._zero(zx, bed - zz * _SIDE_SCALE)
        return bed + 1.5 * t

    def _thickness(self) -> str:
        thin, thick = self.setup.context.least, self.setup.context.top
        return show(thick, self.units) if thin == thick else f"{_bare(thin, self.units)} to {show(thick, self.units)}"

    # Pieces. `_say`, `_line`, `_rect` take y upward, `_raw_` ones picture coordinates.

    def _zero(self, x: float, y: float) -> None:
        r = self.text * 0.62
        at = f"{x:.2f} {y:.2f}"
        quarters = f"M{at}v{-r:.2f}a{r:.2f} {r:.2f} 0 0 1 {r:.2f} {r:.2f}zM{at}v{r:.2f}a{r:.2f} {r:.2f} 0 0 1 {-r:.2f} "
        self._add("circle", cx=x, cy=y, r=r, fill="#fff", stroke="#b80000", stroke_width="0.7")
        self._add("path", d=f"{quarters}{-r:.2f}z", fill="#b80000")
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
        self._add("rect", x=x0, y=-y1, width=x1 - x0, height=y1 - y0, fill=fill, stroke=stroke, stroke_width="0.6")

    def _line(self, x0: float, y0: float, x1: float, y1: float, colour: str, width: float, dashes: str = "") -> None:
        self._raw_line(x0, -y0, x1, -y1, colour, width, dashes)

    def _raw_line(
        self, x0: float, y0: float, x1: float, y1: float, colour: str, width: float, dashes: str = ""
    ) -> None:
        dash = {"stroke_dasharray": dashes} if dashes else {}
        self._add("line", x1=x0, y1=y0, x2=x1, y2=y1, stroke=colour, stroke_width=width, **dash)

    def _turned(self, x: float, y: float, text: str, size: float, colour: str) -> None:
        turned = f"rotate(-90 {x:.2f} {y:.2f})"
        self._add(
            "text", text, x=x, y=y, font_size=self.text * size, text_anchor="middle", fill=colour, transform=turned
        )

    def _say(self, x: float, y: float, text: str, size: float, colour: str = "#1d2733", anchor: str = "middle") -> None:
        self._raw_say(x, -y, text, size, anchor, colour)

    def _raw_say(self, x: float, y: float, text: str, size: float, anchor: str, colour: str = "#1d2733") -> None:
        self._add("text", text, x=x, y=y, font_size=self.text * size, text_anchor=anchor, fill=colour)


def _bare(mm: float, units: Units) -> str:
    return f"{mm / MM_PER_INCH:.3f}" if units == "in" else f"{mm:.2f}"
