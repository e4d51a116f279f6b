"""Landmarks on a depth picture: frets, the finished outline, and which part to enlarge."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.instrument.boards import corners, crossings
from toolpaths.instrument.drawn_headstock import neck_part
from toolpaths.instrument.fans import FretLine, fret_line
from toolpaths.instrument.necks import neck_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome, SetupReport

Box = tuple[float, float, float, float]

_MARGIN = 3.0
_CLAMPS = 45.0
_CLOSE = (42.0, 26.4)
_FINE = 0.02
"""How far a drawn outline may lie beside the true one, mm."""


@dataclass(frozen=True, slots=True)
class Landmarks:
    """All in the setup's frame, mm.

    `view`: x0, y0, x1, y1 of the whole picture (stock, and clamps near it); `closeup`: of the close-up;
    `section_y`: where the board is shown sawn open; `frets`: (number, line); `board`: corners (N, 2) of the finished
    outline or None; `board_is_cut`: whether this setup cuts it; `pieces`: outlines (N, 2) of pieces that the setup
    cuts from a sheet; `findings`: (number in the report, x, y, stops).
    """

    view: Box
    closeup: Box
    section_y: float
    frets: tuple[tuple[str, FretLine], ...]
    board: Array | None
    board_is_cut: bool
    pieces: tuple[Array, ...]
    findings: tuple[tuple[int, float, float, bool], ...]

    @property
    def parts(self) -> tuple[Array, ...]:
        """Closed outlines (N, 2) of what stays, with waste around them; none where nothing is waste."""
        return self.pieces if self.board is None else (self.board,)

    def frets_at(self, y: float) -> tuple[tuple[str, float], ...]:
        """(number, x) of each fret where it crosses y, mm."""
        return tuple((name, line.at(y)) for name, line in self.frets)


def landmarks_of(outcome: Outcome, setup: SetupReport) -> Landmarks:
    """The landmarks of one setup."""
    instrument = outcome.job.instrument
    lines = [(str(n), fret_line(instrument, n)) for n in range(0 if instrument.zero_fret else 1, instrument.frets + 1)]
    x0, _, x1, _ = setup.context.stock_box
    mirror, apart = setup.context.mirror, setup.context.apart
    # Neither a piece of its own nor a jig is the instrument's part.
    other = apart or outcome.job.part == "jig"
    frets = () if other else tuple((n, FretLine(f.x, mirror * f.lean)) for n, f in lines if x0 <= f.x <= x1)
    board, cut = (None, False) if other else _board(outcome, setup)
    return Landmarks(
        view=_view(setup),
        closeup=_closeup(setup),
        section_y=_first_place(setup)[1] if apart else 0.0,
        frets=frets,
        board=board,
        board_is_cut=cut,
        pieces=tuple(_pieces(setup)) if apart else (),
        # Those above a note, at most 30.
        findings=tuple(
            (number, *place, f.severity is Severity.stop)
            for number, f, place in findings_of(outcome, setup)
            if place is not None and f.severity is not Severity.note
        )[:30],
    )


def findings_of(outcome: Outcome, setup: SetupReport) -> Iterator[tuple[int, Finding, tuple[float, float] | None]]:
    """Findings that belong to a setup: number in the report, the finding, and its place in the setup's frame, mm."""
    programs = {p.name for p in outcome.programs if p.setup == setup.context.setup.name} | set(setup.traces)
    features = {f.name for f in setup.features}
    for number, f in enumerate(outcome.findings, start=1):
        if f.program in programs if f.program else f.feature in features or len(outcome.setups) == 1:
            placed = f.x is not None and f.y is not None and math.isfinite(f.x + f.y)
            yield number, f, (f.x, f.y) if placed else None  # type: ignore[misc]


def spaced(frets: tuple[tuple[str, float], ...], least: float) -> tuple[tuple[str, float], ...]:
    """The frets whose numbers fit beside each other, `least` mm apart."""
    out: list[tuple[str, float]] = []
    for name, x in frets:
        if not out or x - out[-1][1] >= least:
            out.append((name, x))
    return tuple(out)


def _view(setup: SetupReport) -> Box:
    s = setup.context.stock_box
    x0, y0, x1, y1 = s
    for ax, ay, bx, by in (it.bounds for it in setup.obstacles):
        x0, x1 = min(x0, max(ax, s[0] - _CLAMPS)), max(x1, min(bx, s[2] + _CLAMPS))
        y0, y1 = min(y0, max(ay, s[1] - _CLAMPS)), max(y1, min(by, s[3] + _CLAMPS))
    return (x0 - _MARGIN, y0 - _MARGIN, x1 + _MARGIN, y1 + _MARGIN)


def _closeup(setup: SetupReport) -> Box:
    """Around one end of the line of fret 12 (the last, if there are fewer): line, marker and outline together; around
    the first thing that is cut from a piece of its own; on a jig where nut line and centreline cross."""
    wide, high = _CLOSE
    if setup.context.apart or setup.context.job.part == "jig":
        x, y = _first_place(setup) if setup.context.apart else (0.0, 0.0)
        return (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
    instrument = setup.context.job.instrument
    ends = crossings(instrument, fret_line(instrument, min(12, instrument.frets)))
    # The end nearer to the operator, which is the treble's where the setup sees the instrument mirrored.
    x, edge = ends[0] if setup.context.mirror > 0 else (ends[1][0], -ends[1][1])
    middle, low = x - 0.15 * wide, edge - 0.42 * high
    return (middle - wide / 2, low, middle + wide / 2, low + high)


def _first_place(setup: SetupReport) -> tuple[float, float]:
    first = next((d.asked.centroid for d in setup.demands if not d.asked.is_empty), None)
    x0, y0, x1, y1 = setup.context.stock_box
    return ((x0 + x1) / 2, (y0 + y1) / 2) if first is None else (first.x, first.y)


def _pieces(setup: SetupReport) -> Iterator[Array]:
    """The pieces within the kerfs that cut them from their sheet."""
    for demand in setup.demands:
        if demand.kind is CutKind.inlay_piece:
            for part in shapely.get_parts(demand.asked):
                yield from (shapely.get_coordinates(ring.simplify(_FINE))[:-1] for ring in part.interiors)


def _board(outcome: Outcome, setup: SetupReport) -> tuple[Array | None, bool]:
    """The finished outline: the corners of the trade's board, or the neck's with its margin."""
    instrument = outcome.job.instrument
    try:
        if outcome.job.part == "board":
            points = np.array(corners(setup.context.job.instrument))
        else:
            outline = neck_part(instrument, neck_of(instrument).margin, setup.context.folder)
            points = shapely.get_coordinates(outline.exterior)[:-1]
    except FeatureError:
        return None, False
    return points * [1.0, setup.context.mirror], any(d.kind is CutKind.outline for d in setup.demands)
