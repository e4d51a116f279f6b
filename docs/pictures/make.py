"""Makes the pictures of these pages by the program itself, from jobs that are run for it:  python docs/pictures/make.py

Nothing is drawn by hand: each panel shows the wood that the programs of a job leave, as they were read back and cut
in the simulated blank, in the colours of the depth picture; or a page that the program writes, as a browser without a
window shows it. Names after the command make only those pictures.
Beside this file stand the pictures and the few small jobs that no demo job shows.
"""

from __future__ import annotations

import argparse
import functools
import io
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from numpy.typing import NDArray

from toolpaths.common.units import Units, show
from toolpaths.gcode.reader.trace import RAPID, flattened
from toolpaths.job.changes import Changes
from toolpaths.job.files.rack_file import load_rack
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.prove import prove
from toolpaths.reports.pages.section_drawing import neck_sections
from toolpaths.reports.pictures import shades
from toolpaths.reports.pictures.landmarks import Landmarks, landmarks_of, spaced
from toolpaths.reports.pictures.picture_pen import CLAMP, FAINT, INK, measure, say
from toolpaths.verification.outcome import Outcome, SetupReport

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HERE = Path(__file__).resolve().parent
DEMOS = HERE.parents[1] / "demo_jobs"
WIDTH = 900
LARGEST = 80_000
"""Most bytes that a picture may have."""
_DPI = 120
_LEFT, _RIGHT, _TITLE, _NUMBERS, _AXIS, _KEY = 62, 30, 34, 18, 44, 72
_WORDS, _SMALL = 9.0, 8.0
_WOOD, _BOARD, _STEEL = "#e9ddcb", "#8a7358", "#c3ccd4"

_ABOVE, _BELOW, _APART = 6.0, 1.7, 2.0
"""How much is shown above the face and below the deepest bit, and beside each; mm."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Seen:
    """A setup of a job, as it is when its programs have run; `only`: one feature of it alone."""

    job: str
    setup: str = "face"
    only: str | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """From above: the box x0, y0, x1, y1, mm; None: all of the stock."""

    seen: Seen
    title: str
    box: Box | None = None
    frets: bool = True
    moves: str = ""
    """Part of a program's name: its cutting moves are drawn over the wood."""


@dataclass(frozen=True, slots=True)
class Sawn:
    """Sawn open along (`y`) or across (`x`) at a place, between two places of the other axis, mm."""

    seen: Seen
    title: str
    between: tuple[float, float]
    x: float | None = None
    y: float | None = None
    floor: float = 0.0
    """Height above the bed at which the panel ends, mm."""
    height: int = 0
    """Pixels; 0: so high that heights and lengths are drawn alike, if that is neither too low nor too high."""
    blank: bool = False
    """Whether the top of the blank is shown."""


@dataclass(frozen=True, slots=True)
class Neck:
    """The finished neck sawn through: the n-th of the report's sections."""

    seen: Seen
    title: str
    number: int = 0


@dataclass(frozen=True, slots=True)
class Grooves:
    """Bits of the rack side by side, each in the groove that it leaves at a depth, mm."""

    bits: tuple[str, ...]
    depth: float
    title: str


@dataclass(frozen=True, slots=True)
class Work:
    """The plan of an instrument as a page, from a heading on, so many pixels high; it fills its picture alone."""

    jobs: tuple[str, ...]
    heading: str
    height: int
    title: str = ""


Panel = Plan | Sawn | Neck | Grooves | Work

_TENOR, _NECK, _BACK = Seen("tenor_board.yaml"), Seen("tenor_neck.yaml"), Seen("tenor_neck.yaml", "back")
_ROUND, _INLAID, _FAN = Seen("compound_board.yaml"), Seen("inlaid_board.yaml"), Seen("fanned_seven.yaml")
_PLANED, _PIECES = Seen("tenor_board.yaml", only="plane"), Seen("inlaid_board.yaml", "pieces")
_BACKS = Seen("tenor_neck.yaml", "back", "heel_face")
_RING = Seen("tenor_neck.yaml", "back", "witness_ring")
_CARVED, _KERFED = Seen("carved_neck.yaml", "back"), Seen("../../tests/cases/kerfed_neck.yaml", "back")
_ROUGH = Seen("../../tests/cases/kerfed_neck.yaml", "back", "rough_back")
_EDGE, _LINES = Seen("inlaid_board.yaml", "edge"), Seen("lines.yaml")
_FIRST, _JIG = Seen("first_board.yaml"), Seen("tenor_jig.yaml", "jig")
_PINNED = Seen("tenor_board_on_jig.yaml")
_LONG = Seen("curlew_bass_neck.yaml")

PICTURES: dict[str, tuple[Panel, ...]] = {
    "tenor_board.png": (
        Plan(_TENOR, "A tenor's board from above: planed, scored, pockets for the markers, cut out but for its tabs"),
        Plan(_TENOR, "At fret 12: a scored line, a marker, the kerf around the board, a tab", (270, -27, 304, -10)),
        Sawn(_TENOR, "Sawn open across the double marker before fret 12, and two tabs", (-33, 33), x=284.0),
    ),
    "long_blanks.png": (
        Plan(
            _LONG,
            "A long neck from above, cut in four places, with the holes for its pins along both edges",
            None,
            False,
        ),
        Plan(
            _LONG,
            "The passes around the neck in the first place: they end 10 mm past the seam at 100",
            (70, -48, 124, -14),
            False,
            moves="face-head-long",
        ),
    ),
    "tenor_neck.png": (
        Plan(_NECK, "A neck's glue face from above: channel, slots, bores, inlay and half of its shape", None, False),
        Neck(_NECK, "The same neck sawn through, once it is carved and has its board: the least wall in red"),
    ),
    "first_board.png": (
        Plan(_FIRST, "What the programs leave, from above"),
        Sawn(_FIRST, "Sawn open along the centreline, from fret 3 to fret 6", (85, 178), y=0.0, height=130),
    ),
    "plane.png": (
        Plan(_PLANED, "The blank from above, at one height all over; dashed: where the board will lie"),
        Sawn(
            _PLANED, "Sawn open along the middle; dashed: the blank before", (-34, 454), y=0.0, height=120, blank=True
        ),
    ),
    "score_lines.png": (
        Plan(_TENOR, "Line 12 runs out through the edge of the board, into the kerf", (280, -26, 304, -15), False),
        Sawn(
            _TENOR, "Sawn open along the board: the line, 0.6 mm wide and 0.5 mm deep", (288, 296), y=-15.0, floor=4.9
        ),
    ),
    "fret_slots.png": (
        Plan(_ROUND, "Slots 11 and 12, blind: 3 mm of wood are left at the edge", (246, -28.5, 276, -15)),
        Sawn(
            _ROUND,
            "Sawn open across the board, in slot 12: its floor follows the round top",
            (-30, 30),
            x=265.0,
            floor=2.0,
            height=190,
        ),
    ),
    "radius.png": (
        Plan(_ROUND, "A compound radius from above: 254 mm at the nut, 406.4 mm at the end"),
        Sawn(_ROUND, "Sawn open across, near the nut: steep", (-30, 30), x=5.0, floor=3.4, height=135),
        Sawn(
            _ROUND,
            "Sawn open across, near the end: flatter, with the ridges between passes",
            (-30, 30),
            271.0,
            None,
            3.4,
            135,
        ),
    ),
    "marker_pockets.png": (
        Plan(_TENOR, "Round ones: single, and double at fret 12", (215, -16, 300, 16)),
        Plan(_INLAID, "Trapezoids along the taper, for inlays cut to fit", (60, -24, 175, 24)),
    ),
    "inlay_pieces.png": (
        Plan(_PIECES, "The pieces for six pockets, cut around in their sheet", (0, -40, 106, 4)),
        Sawn(_PIECES, "Sawn open: each piece stands free in its kerf", (0, 106), y=-20.0),
    ),
    "side_dots.png": (
        Plan(_EDGE, "The upper edge from above: dots at frets 3 and 5", (50, -4, 130, 4)),
        Sawn(_EDGE, "Sawn open along the edge: 2.5 mm deep", (50, 130), y=0.0, floor=43.0, height=90),
    ),
    "engraving.png": (
        Plan(
            _LINES,
            "Lines of one depth: with a V-bit on the left, with a flat bit on the right",
            (2, -17, 78, 17),
            False,
        ),
        Plan(_LINES, "A shape carved with a V-bit, as deep as its walls allow", (93, -3.2, 107, 3.2), False),
        Sawn(_LINES, "The carved shape sawn open along its middle", (93, 107), y=0.0, floor=0.0),
    ),
    "pocket.png": (
        Plan(_LINES, "A drawn pocket: sharp corners stay as round as the last bit", (138, -5.5, 162, 5.5), False),
        Sawn(_LINES, "Sawn open along its middle", (138, 162), y=0.0, floor=2.0),
    ),
    "outline.png": (
        Plan(_TENOR, "A tab on the treble side", (98, -29, 126, -16), False),
        Sawn(_TENOR, "Sawn open along the kerf: the tab stands on the bed", (98, 126), y=-22.0),
    ),
    "pin_bores.png": (
        Plan(_TENOR, "A pin's hole in the waste behind the nut, clear of the kerf", (-29, -9, 9, 9), False),
        Sawn(_TENOR, "Sawn open along the middle", (-29, 9), y=0.0),
    ),
    "locating_pins.png": (
        Plan(_PINNED, "The board: a hole on the line of fret 1, on the bass side", (18, -24, 62, -4)),
        Sawn(_PINNED, "Sawn open across the board there: the hole goes through", (-24, 0), x=32.78, height=110),
    ),
    "fanned_seven.png": (
        Plan(_FAN, "A fanned seven-string: bass on 673 mm, treble on 635 mm, fret 8 square"),
        Plan(_FAN, "Around fret 8: the lines lean one way before it, the other way behind it", (190, -34, 300, 34)),
    ),
    "headstock_face.png": (
        Plan(_NECK, "The headstock's face lies 4 mm lower, up to its ramp behind the nut", (-135, -42, 30, 42), False),
        Sawn(_NECK, "Sawn open beside the middle", (-60, 30), y=8.0, floor=15.0),
    ),
    "headstock_back.png": (
        Plan(_BACK, "The headstock's back, 18 mm from the glue face, and its wall behind the nut", (-192, -42, 30, 42)),
        Sawn(_BACK, "Sawn open beside the middle, turned over", (-60, 30), y=8.0),
    ),
    "heel_face.png": (
        Plan(_BACKS, "The heel's seat, and where the bit runs out beside it and past its end", (290, -48, 428, 48)),
        Sawn(_BACKS, "Sawn open beside the middle, turned over: 19 mm from seat to glue face", (290, 428), y=6.0),
    ),
    "nut_slot.png": (
        Plan(_NECK, "The nut's slot, open at both sides", (-22, -24, 32, 4), False),
        Sawn(_NECK, "Sawn open along: 3.3 mm wide, 2 mm deep", (-22, 32), y=-9.0, floor=16.0),
    ),
    "truss_rod_channel.png": (
        Plan(
            _NECK,
            "The channel, between the slots for bars, and its adjuster's pocket at the heel",
            (260, -20, 386, 20),
            False,
        ),
        Sawn(
            _NECK,
            "Sawn open along the middle: the channel, then the pocket",
            (260, 386),
            y=0.0,
            height=150,
        ),
        Neck(_NECK, "The finished neck sawn through where the wall is thinnest"),
    ),
    "rough_back.png": (
        Plan(_ROUGH, "The back in rows along the grain, 2 mm above the finished one", (-40, -26, 130, 26), False),
        Sawn(_ROUGH, "Sawn open across: the flanks as far as three quarters of the depth", (-26, 26), x=50.0),
    ),
    "facets.png": (
        Plan(_CARVED, "The back in planes, from the headstock to the heel", (-40, -26, 130, 26), False),
        Sawn(_CARVED, "Sawn open across: one plane on top, two on each side", (-26, 26), x=50.0),
    ),
    "depth_kerfs.png": (
        Plan(_KERFED, "Kerfs across the rough back, every 20 mm", (-10, -26, 110, 26), False),
        Sawn(_KERFED, "Sawn open along the middle", (-10, 110), y=0.0),
    ),
    "reinforcement_slots.png": (
        Plan(_NECK, "Both slots and the rod's channel, at the nut", (-8, -20, 60, 20), False),
        Sawn(_NECK, "Sawn open across", (-30, 30), x=100.0, floor=10.0),
    ),
    "tuner_bores.png": (
        Plan(_NECK, "Four bores in a headstock, and the drawn inlay between them", (-192, -42, 0, 42), False),
        Sawn(_NECK, "Sawn open across two of them", (-40, 40), x=-52.0),
    ),
    "bolt_bores.png": (
        Plan(_NECK, "Two bores in the heel, clear of the rod's pocket", (335, -32, 425, 32), False),
        Sawn(_NECK, "Sawn open across them", (-40, 40), x=370.0),
    ),
    "bores.png": (
        Plan(_NECK, "Two pilot holes between the tuner holes", (-112, -32, -20, 32), False),
        Sawn(_NECK, "Sawn open across them", (-40, 40), x=-75.0),
    ),
    "bed_bores.png": (
        Plan(_BACK, "The second side; blue: where the program before it bores the bed", None, False, "07-"),
    ),
    "screw_holes.png": (
        Plan(_NECK, "The screws' holes are bored first, in the waste; blue: the bit's way", None, False, "01-"),
    ),
    "witness_ring.png": (
        Plan(_RING, "The ring about a pin's bore, in waste behind the headstock's end", (-192, -9, -156, 9), False),
    ),
    "holding.png": (
        Plan(
            _BACK,
            "A neck's back, cut from two sides: six tabs join it to the waste, where the screws stand",
            None,
            False,
        ),
        Sawn(_BACK, "Sawn open across two tabs: 2.5 mm of wood stay over the other side's cut", (-50, 50), x=155.0),
        Sawn(_BACK, "And between them: nothing joins there", (-50, 50), x=110.0),
    ),
    "seat.png": (
        Plan(_JIG, "A jig for a tenor's board and neck, from above", None, False),
        Plan(_JIG, "A corner of the seat, relieved for a square blank", (-206, -64, -174, -40), False),
        Sawn(_JIG, "Sawn open along the seat's end: its floor 2 mm below the planed top", (-214, -170), y=20.0),
    ),
    "jig_pins.png": (
        Plan(_JIG, "The hole for the pin behind the heel, on the engraved centreline", (380, -16, 452, 16), False),
        Sawn(_JIG, "Sawn open along the middle: 8 mm deep below the seat", (380, 452), y=0.0, floor=8.0),
    ),
    "pilot_holes.png": (
        Plan(_JIG, "The pilot hole of one of the neck's screws, near the seat's wall", (196, -54, 242, -32), False),
        Sawn(_JIG, "Sawn open across both screws' places", (-60, 60), x=219.0, floor=5.0),
    ),
    "stop_pins.png": (
        Plan(_JIG, "Holes for two dowels at the left end of the board's blank", (-60, -40, 20, 40), False),
    ),
    "guide_lines.png": (
        Plan(_JIG, "The nut line in the jig's top, beside the seat", (-30, -86, 30, -46), False),
        Sawn(_JIG, "Sawn open across the centreline, in the seat: 0.3 mm deep", (-3, 3), x=60.0, floor=21.5),
    ),
    "names.png": (Plan(_JIG, "The title at the operator's edge", (-204, -90, -122, -68), False),),
    "plan.png": (Work(("tenor_jig.yaml", "tenor_board_on_jig.yaml", "tenor_neck_on_jig.yaml"), "By hand", 918),),
    "bits.png": (
        Grooves(
            ("eighth", "vee60", "small ball", "bull", "carver", "drill"), 1.5, "What each shape leaves, 1.5 mm deep"
        ),
    ),
}


def main(names: Sequence[str]) -> int:
    """Makes the pictures of these names, or all of them, and says how large each is."""
    for name in names or PICTURES:
        png = picture(PICTURES[name])
        (HERE / name).write_bytes(png)
        print(f"{name}: {len(png)} bytes{'' if len(png) <= LARGEST else ', TOO LARGE'}")
    return 0


def size_of(panels: Sequence[Panel]) -> tuple[int, int]:
    """Width and height of a picture, pixels."""
    if isinstance(panels[0], Work):
        return WIDTH, panels[0].height
    return (WIDTH, sum(_top(p) + _rows(p) + _below(p) for p in panels) + (_KEY if _face(panels) else 0))


def picture(panels: Sequence[Panel]) -> bytes:
    """The panels below each other, and the key to their colours, as a PNG of few colours."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from PIL import Image

    if isinstance(panels[0], Work):
        return _on_page(panels[0])
    size = size_of(panels)
    figure = Figure(figsize=(size[0] / _DPI, size[1] / _DPI), dpi=_DPI, facecolor="white")
    canvas = FigureCanvasAgg(figure)
    top = 0
    for panel in panels:
        rows = _rows(panel)
        top += _top(panel)
        axes = _axes(figure, size, (_LEFT, top, WIDTH - _LEFT - _RIGHT, rows))
        pad = 16 if _numbered(panel) else 5
        axes.set_title(panel.title, size=_WORDS, color=INK, loc="left", pad=pad, parse_math=False)
        _draw(axes, panel, rows)
        top += rows + _below(panel)
    if _face(panels):
        _key(_axes(figure, size, (_LEFT, top + 14, WIDTH - _LEFT - _RIGHT, 12)), _face(panels), _units(panels))
    canvas.draw()
    pixels = np.asarray(canvas.buffer_rgba())[..., :3]
    out = io.BytesIO()
    few = Image.fromarray(pixels).quantize(palette=_palette(), dither=Image.Dither.NONE)
    few.save(out, format="PNG", optimize=True)
    return out.getvalue()


# Private


def _on_page(work: Work) -> bytes:
    """A page in the browser that the tests of the pages drive, as a PNG of few colours."""
    from PIL import Image

    sys.path.insert(0, str(HERE.parents[1]))
    from tests.browser.chrome import browser
    from toolpaths.reports.pages.plan_page import plan_page
    from toolpaths.workshop.plan_of_instrument import plan_of_instrument

    page = plan_page(plan_of_instrument(_outcome(job, None) for job in work.jobs))
    with browser() as chrome, tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "plan.html"
        file.write_text(page, encoding="utf-8")
        chrome.size(WIDTH, work.height)
        chrome.open(file, ready="true")
        chrome.run(
            f"[...document.querySelectorAll('h2')].find(h => h.textContent === {work.heading!r}).scrollIntoView()"
        )
        chrome.picture(Path(folder) / "page.png")
        seen = Image.open(Path(folder) / "page.png").convert("RGB")
    out = io.BytesIO()
    seen.quantize(32, dither=Image.Dither.NONE).save(out, format="PNG", optimize=True)
    return out.getvalue()


def _palette() -> Any:
    """Every second colour of the depths, greys for the words, and the few others; the rest of 256 stays black."""
    from matplotlib.colors import to_rgb
    from PIL import Image

    others = [
        round(255 * v) for c in (_WOOD, _BOARD, _STEEL, INK, CLAMP, FAINT, "#96b0a0", "#b80000") for v in to_rgb(c)
    ]
    colours = [*shades.colour_table()[::2].flatten().tolist(), *others]
    colours += [v for i in range(40) for v in [round(255 * i / 39)] * 3]
    out = Image.new("P", (1, 1))
    out.putpalette([*colours, *[0] * (768 - len(colours))])
    return out


@functools.cache
def _outcome(job: str, only: str | None) -> Outcome:
    path = DEMOS / job if (DEMOS / job).exists() else HERE / job
    layout = lay_out(path, Changes(only=only))
    # The wood is wanted, not the verdict: where one program is handed in, it alone is judged.
    last = len(layout.own) - 1
    return prove(layout, {last: layout.own[last][1]})


def _report(seen: Seen) -> SetupReport:
    return next(s for s in _outcome(seen.job, seen.only).setups if s.context.setup.name == seen.setup)


@functools.cache
def _marks(seen: Seen) -> Landmarks:
    return landmarks_of(_outcome(seen.job, seen.only), _report(seen))


def _units(panels: Sequence[Panel]) -> Units:
    return next(_outcome(p.seen.job, p.seen.only).job.units for p in panels if isinstance(p, Plan | Sawn))


def _face(panels: Sequence[Panel]) -> float:
    """Height of depth 0 above the bed, mm: what the key of the colours counts from; 0 where no panel has them."""
    return next((_report(p.seen).context.face for p in panels if isinstance(p, Plan | Sawn)), 0.0)


def _box(panel: Plan) -> Box:
    if panel.box is not None:
        return panel.box
    x0, y0, x1, y1 = _report(panel.seen).context.stock_box
    return (x0 - 2, y0 - 2, x1 + 2, y1 + 2)


def _rows(panel: Panel) -> int:
    """Height of a panel, pixels."""
    match panel:
        case Plan():
            x0, y0, x1, y1 = _box(panel)
            return round((WIDTH - _LEFT - _RIGHT) * (y1 - y0) / (x1 - x0))
        case Sawn():
            lower, upper = _span(panel)
            alike = (upper - lower) * (WIDTH - _LEFT - _RIGHT) / (panel.between[1] - panel.between[0])
            return panel.height or round(min(330, max(110, alike)))
        case Neck():
            return 330
        case Grooves():
            reach = sum(2 * (load_rack()[name].radius + _APART) for name in panel.bits)
            return round((WIDTH - _LEFT - _RIGHT) * (_ABOVE + panel.depth + _BELOW) / reach)
        case Work():
            return panel.height


def _top(panel: Panel) -> int:
    """Height of what stands above a panel, pixels."""
    return _TITLE + (_NUMBERS if _numbered(panel) else 0)


def _below(panel: Panel) -> int:
    """Height of what stands below a panel, pixels: an axis, where it has one."""
    return 14 if isinstance(panel, Grooves) else _AXIS


def _numbered(panel: Panel) -> bool:
    """Whether names stand above it: the numbers of frets, or those of bits."""
    return isinstance(panel, Grooves) or (isinstance(panel, Plan) and panel.frets and bool(_marks(panel.seen).frets))


def _axes(figure: Any, size: tuple[int, int], at: tuple[int, int, int, int]) -> Axes:
    left, top, width, height = at
    axes = figure.add_axes((left / size[0], 1 - (top + height) / size[1], width / size[0], height / size[1]))
    axes.tick_params(labelsize=_SMALL, colors=INK, length=3)
    for spine in axes.spines.values():
        spine.set_color(FAINT)
        spine.set_linewidth(0.6)
    return axes  # type: ignore[no-any-return]


def _draw(axes: Axes, panel: Panel, rows: int) -> None:
    match panel:
        case Plan():
            _plan(axes, panel, rows)
        case Sawn():
            _sawn(axes, panel, rows)
        case Neck():
            _neck(axes, panel)
        case Grooves():
            _grooves(axes, panel)


def _plan(axes: Axes, panel: Plan, rows: int) -> None:
    report, marks = _report(panel.seen), _marks(panel.seen)
    box, cols = _box(panel), WIDTH - _LEFT - _RIGHT
    face = report.context.face
    heights = _heights(report, box, cols, rows)
    axes.imshow(
        shades.painted(heights, face, shades.colour_table()),
        extent=(box[0], box[2], box[1], box[3]),
        aspect="auto",
        interpolation="none",
    )
    if marks.board is not None:
        closed = np.vstack([marks.board, marks.board[:1]])
        style = "-" if marks.board_is_cut else (0, (4, 3))
        axes.plot(closed[:, 0], closed[:, 1], color=INK, linewidth=0.8, linestyle=style)
    if panel.moves:
        for name, trace in report.traces.items():
            if panel.moves in name:
                moves = flattened(trace, report.context.zero)
                moves = moves.where(trace.kind[moves.parent] != RAPID)
                for a, b in zip(moves.start, moves.end, strict=True):
                    axes.plot([a[0], b[0]], [a[1], b[1]], color=CLAMP, linewidth=0.8)
    axes.set_xlim(box[0], box[2])
    axes.set_ylim(box[1], box[3])
    _measured(axes, panel, box[0], box[2], "x")
    _measured(axes, panel, box[1], box[3], "y", wanted=4 if rows < 200 else 6)
    pixel = (box[2] - box[0]) / cols
    frets = marks.frets_at(box[3]) if panel.frets else ()
    shown = tuple((n, x) for n, x in frets if box[0] < x < box[2])
    for name, x in spaced(shown, 24 * pixel):
        say(axes, x, box[3], name, _SMALL, ha="center", va="bottom", offset=(0, 2))
    if shown:
        say(axes, box[0], box[3], "fret", _SMALL, color=FAINT, ha="right", va="bottom", offset=(-5, 2))


def _heights(report: SetupReport, box: Box, cols: int, rows: int) -> NDArray[np.float32]:
    """Heights over a box, rows downward, NaN beside the wood: from the map, or exact where that is too coarse."""
    pixel = (box[2] - box[0]) / cols
    if pixel >= report.after.pitch or report.standing is None or report.context.flipped:
        return shades.lowest(report.after, box, cols, rows)
    x = box[0] + (np.arange(cols) + 0.5) * pixel
    y = box[3] - (np.arange(rows) + 0.5) * (box[3] - box[1]) / rows
    points = np.stack([np.repeat(x[None, :], rows, 0), np.repeat(y[:, None], cols, 1)], -1).reshape(-1, 2)
    heights = report.standing.heights(points).reshape(rows, cols)
    return np.where(np.isfinite(heights), heights, np.nan).astype(np.float32)


def _sawn(axes: Axes, panel: Sawn, rows: int) -> None:
    report = _report(panel.seen)
    cols, (low, high) = WIDTH - _LEFT - _RIGHT, panel.between
    along = low + (np.arange(cols) + 0.5) * (high - low) / cols
    fixed = np.full(cols, panel.x if panel.x is not None else panel.y)
    points = np.stack([fixed, along] if panel.x is not None else [along, fixed], 1)
    line = report.standing.heights(points) if report.standing is not None else np.full(cols, np.nan)
    face = report.context.face
    lower, upper = _span(panel)
    heights = np.linspace(upper, lower, rows)
    line = np.where(np.isfinite(line), line, np.nan).astype(np.float32)
    colours = shades.cut_open(line, heights, face, shades.colour_table())
    axes.imshow(colours, extent=(low, high, lower, upper), aspect="auto", interpolation="none")
    axes.plot(along, np.maximum(line, lower), color=INK, linewidth=0.9)
    if report.beneath is not None:
        # What the other side's programs have cut away, seen from below.
        under = report.context.glue - report.beneath[1].heights(points * [1.0, -1.0])
        axes.fill_between(along, lower, np.maximum(under, lower), color="#ffffff", linewidth=0)
        axes.plot(along, np.maximum(under, lower), color=INK, linewidth=0.9)
    if lower < 0:
        axes.axhline(0, color=INK, linewidth=1.2)
    if panel.blank:
        x0, _, x1, _ = report.context.stock_box
        top = report.context.top
        axes.plot([x0, x0, x1, x1], [0, top, top, 0], color=FAINT, linewidth=0.9, linestyle=(0, (4, 3)))
    axes.set_xlim(low, high)
    axes.set_ylim(lower, upper)
    _measured(axes, panel, low, high, "y" if panel.x is not None else "x", on=axes.xaxis)
    stretch = (rows / (upper - lower)) / (cols / (high - low))
    _measured(axes, panel, lower, upper, "height", on=axes.yaxis, wanted=4)
    if abs(stretch - 1) > 0.05:
        words = f"height drawn {stretch:.1f} times larger".replace(".0 ", " ")
        axes.set_title(words, size=_SMALL, color=FAINT, loc="right", pad=5)


def _span(panel: Sawn) -> tuple[float, float]:
    """Heights above the bed from and to which a panel shows, mm."""
    context = _report(panel.seen).context
    top = context.top if panel.blank else context.face
    room = 0.12 * (top - panel.floor)
    return panel.floor - (0.7 * room if panel.floor == 0 else 0.0), top + room


def _measured(
    axes: Axes, panel: Plan | Sawn, low: float, high: float, name: str, *, on: Any = None, wanted: int = 9
) -> None:
    """Ticks and a name on one axis; `on`: which, if not the one of that name."""
    axis = on or (axes.xaxis if name == "x" else axes.yaxis)
    _measured_by(axis, _outcome(panel.seen.job, panel.seen.only).job.units, low, high, name, wanted)
    if axis is axes.yaxis:
        axis.set_label_coords(-0.052, 0.5)


def _neck(axes: Axes, panel: Neck) -> None:
    """Neck, board and cuts in y and z up from the glue face, with the least wall."""
    section = neck_sections(_outcome(panel.seen.job, panel.seen.only))[panel.number]
    units = _outcome(panel.seen.job, panel.seen.only).job.units
    for outline, colour in ((section.neck, _WOOD), (section.board, _BOARD)):
        if len(outline):
            axes.fill(outline[:, 0], outline[:, 1], facecolor=colour, edgecolor=INK, linewidth=0.9)
    for cut in shapely.get_parts(section.cuts):
        at = shapely.get_coordinates(cut.exterior)
        axes.fill(at[:, 0], at[:, 1], facecolor="white", edgecolor=INK, linewidth=0.9)
    if section.wall is not None:
        (ay, az), (by, bz), left = section.wall
        axes.plot([ay, by], [az, bz], color="#b80000", linewidth=2, marker="o", markersize=4)
        say(axes, max(ay, by), (az + bz) / 2, f"wall {show(left, units, 1)}", _SMALL, color="#b80000", offset=(20, 4))
    axes.set_ylim(float(section.neck[:, 1].min()) - 1.5, float(section.neck[:, 1].max()) + 8.5)
    axes.set_aspect("equal", adjustable="datalim")
    _measured_by(axes.xaxis, units, *axes.get_xlim(), "y", 9)
    _measured_by(axes.yaxis, units, *axes.get_ylim(), "from the glue face", 5)


def _grooves(axes: Axes, panel: Grooves) -> None:
    """Each bit from the side, standing in the line that it cuts; the heights are the bit's own profile."""
    rack, x = load_rack(), 0.0
    surface_x, surface_z = [0.0], [0.0]
    for name in panel.bits:
        bit = rack[name]
        reach = bit.radius
        middle = x + _APART + reach
        rho = np.linspace(0, reach, 400)
        height = bit.profile(rho)
        side = np.concatenate([middle - rho[::-1], middle + rho])
        shape = np.concatenate([height[::-1], height]) - panel.depth
        axes.fill([*side, side[-1], side[0]], [*shape, _ABOVE, _ABOVE], facecolor=_STEEL, edgecolor=INK, linewidth=0.8)
        wet = shape <= 0
        half = bit.width_at(panel.depth) / 2
        surface_x += [middle - half, *side[wet], middle + half]
        surface_z += [0.0, *shape[wet], 0.0]
        say(axes, middle, _ABOVE, name, _SMALL, ha="center", va="bottom", offset=(0, 2))
        say(axes, middle, -panel.depth - 0.95, f"{2 * half:.1f} mm", _SMALL, ha="center")
        x = middle + reach + _APART
    bottom = -panel.depth - _BELOW
    axes.fill([*surface_x, x, x, 0], [*surface_z, 0, bottom, bottom], facecolor=_WOOD, edgecolor=INK, linewidth=0.8)
    axes.set_xlim(0, x)
    axes.set_ylim(bottom, _ABOVE)
    axes.set_xticks([])
    axes.set_yticks([])


def _measured_by(axis: Any, units: Units, low: float, high: float, name: str, wanted: int) -> None:
    measure(axis, units, low, high, wanted)
    axis.set_label_text(f"{name}, {units}", size=_SMALL, color=INK)
    axis.labelpad = 1


def _key(axes: Axes, face: float, units: Units) -> None:
    """Which colour is how deep, from the finished face to the bed."""
    axes.imshow(shades.colour_table()[None, :, :], extent=(0, 1, 0, 1), aspect="auto", interpolation="none")
    axes.set_yticks([])
    unit = 25.4 if units == "in" else 1.0
    steps = (
        (0, 0.1, 0.5, 1, 2, 3, 4, 6, 10, 15, 20, 30, 40) if units == "mm" else (0, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1)
    )
    shown = [d for d in steps if d * unit < face * 0.96]
    axes.set_xticks([float(shades.scale_of(d * unit / face)) for d in shown], [f"{d:g}" for d in shown])
    axes.set_xlabel(
        f"depth below the finished face, {units}; hatched: cut through; pale green: above the face",
        size=_SMALL,
        color=INK,
        labelpad=1,
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"of {', '.join(PICTURES)}")
    sys.exit(main(parser.parse_args().names))
