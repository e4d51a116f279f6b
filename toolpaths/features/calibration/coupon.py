"""The coupon: a short test cut of every fit of a job, in a scrap of the same wood, measured before the real part.

A slot that has a pass for each of its walls is off by as much as the bit is; one that is as wide as the bit is
what the bit truly cuts. Either way its measured width tells the bit's measured diameter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from toolpaths.common.errors import JobError, Problem
from toolpaths.common.units import show, show_at_least
from toolpaths.features.calibration.piece import Piece
from toolpaths.features.calibration.scrap import scrap_setup
from toolpaths.features.feature import features_of
from toolpaths.features.fits import Fit
from toolpaths.job.bit import Bit
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Job
from toolpaths.job.job_hash import hash_of
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.stock import Stock, Thickness

SETUP = "coupon"
STOCK = (120.0, 60.0, 10.0)
"""Length, width and thickness of the scrap where nothing else is asked for, mm."""
LEAVE = 2.0
"""What stays under a blind piece where the scrap is thinner than the part, mm."""
_BELOW = 1.0
"""A through cut goes so far below the scrap at most, mm."""
_MARGIN, _GAP = 8.0, 6.0
"""From the scrap's edges, and between pieces, mm."""
_LONG = 30.0
"""Length of a slot's piece beside its rounded ends, mm: enough for the jaws of calipers."""
_LONGEST = 2000.0
_OVERRIDES = ("rpm", "feed", "plunge", "pass_depth", "step_over", "finish_allowance", "direction")
_TOO_FAR = 0.25
"""A bit that cuts more than this part wider or narrower than it is written is a slip of the measuring."""


@dataclass(frozen=True, slots=True)
class Coupon:
    """The coupon's job, with its pieces and the fit that each one tests, in the order of their numbers.

    `title`: of the job that it was made for.
    """

    loaded: LoadedJob
    title: str
    fits: tuple[Fit, ...]
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class TrueBit:
    """One bit's diameter from measured widths: as the programs assumed it, as measured, and the spread; mm."""

    name: str
    taken: float
    measured: float
    spread: float
    said: str


def coupon_of(loaded: LoadedJob, size: tuple[float, float, float] | None = None) -> Coupon:
    """The coupon of a job on a scrap of that length, width and thickness, mm; else STOCK, longer where it must be.

    Raises JobError where the job has no fit to try, or where the pieces do not go onto the scrap.
    """
    fits = fits_of(loaded.job)
    if not fits:
        hint = "a coupon tries slots, scored lines, marker pockets and bores; `plane` and `outline` need none"
        raise JobError([Problem(str(loaded.path), 1, 1, "setups", "this job has nothing for a coupon to try", hint)])
    if size is None:
        size = (_long_enough(fits, STOCK, loaded.job.bits), *STOCK[1:])
    if size[2] <= LEAVE + 1.0:
        words = f"a scrap {show(size[2], loaded.job.units)} thick is too thin"
        raise JobError(
            [
                Problem(
                    "command line",
                    0,
                    0,
                    "--stock",
                    words,
                    f"take one of {show_at_least(4.0, loaded.job.units)} or more",
                )
            ]
        )
    pieces = _laid(fits, size, loaded.job.bits)
    if pieces is None:
        longer = _long_enough(fits, size, loaded.job.bits)
        hint = "take a wider scrap"
        if longer < _LONGEST:
            hint = f"take a scrap {show(longer, loaded.job.units)} long"
        words = f"{len(fits)} pieces do not fit onto a scrap of {' x '.join(show(v, loaded.job.units) for v in size)}"
        raise JobError([Problem("command line", 0, 0, "--stock", words, hint)])
    return Coupon(_derived(loaded, pieces, size), loaded.job.title, fits, pieces)


def fits_of(job: Job) -> tuple[Fit, ...]:
    """Every fit of a job, in the job's order; a fit that would be cut twice the same way is listed once."""
    found: dict[tuple[Any, ...], Fit] = {}
    for feature in (f for setup in job.setups for f in features_of(setup)):
        bit = job.bits[feature.bit]
        # Nothing is chosen about a drill's holes: they are as wide as it is.
        for fit in () if bit.shape == "drill" else feature.fits(bit):
            same = (fit.kind, fit.what, round(fit.wanted, 6), fit.depth, feature.bit, repr(_overrides(feature)))
            found.setdefault(same, fit)
    fits = list(found.values())
    counts: dict[str, int] = {}
    out: list[Fit] = []
    for fit in fits:
        counts[fit.name] = counts.get(fit.name, 0) + 1
        alone = sum(other.name == fit.name for other in fits) == 1
        out.append(fit if alone else replace(fit, name=f"{fit.name}{counts[fit.name]}"))
    return tuple(out)


def true_bits(job: Job, fits: Sequence[Fit], measured: Iterable[tuple[str, float]]) -> tuple[TrueBit, ...]:
    """The bits' diameters from measured widths (name of the fit, mm); several widths of one bit are averaged.

    measured diameter = diameter as taken + (measured - wanted); where the cut is as wide as the bit, the width itself.
    Raises ValueError, in words, for a name that is not there or a width that cannot be.
    """
    by_name = {fit.name: fit for fit in fits}
    given: dict[str, list[tuple[Fit, float, float]]] = {}
    for name, width in measured:
        fit = by_name.get(name)
        if fit is None:
            raise ValueError(f"no piece is called `{name[:40]}`; the coupon has {', '.join(by_name)}")
        bit = job.bits[fit.feature.bit]
        if bit.shape != "flat":
            shape = "pointed" if bit.shape == "vee" else bit.shape
            raise ValueError(f"{name} is cut by a {shape} bit: its width tells the depth, not the bit's diameter")
        true = width if fit.itself else bit.cut_diameter + (width - fit.wanted)
        if abs(true - bit.diameter) > _TOO_FAR * bit.diameter:
            raise ValueError(
                f"{name} at {show(width, job.units, 3)} would make {fit.feature.bit} {show(true, job.units, 3)} wide "
                f"instead of {show(bit.diameter, job.units, 3)}: measure again"
            )
        given.setdefault(fit.feature.bit, []).append((fit, width, true))
    out: list[TrueBit] = []
    for name, rows in given.items():
        trues = [true for _, _, true in rows]
        wanted = [job.bits[name].cut_diameter if fit.itself else fit.wanted for fit, _, _ in rows]
        said = ", ".join(
            f"{fit.name} {show(width, job.units, 3)} for {show(aim, job.units, 3)}"
            for (fit, width, _), aim in zip(rows, wanted, strict=True)
        )
        mean = sum(trues) / len(trues)
        out.append(TrueBit(name, job.bits[name].cut_diameter, mean, max(trues) - min(trues), said))
    return tuple(out)


# Private


def _overrides(feature: FeatureKeys) -> dict[str, Any]:
    return {key: getattr(feature, key) for key in _OVERRIDES}


def _laid(fits: Sequence[Fit], size: tuple[float, float, float], bits: Mapping[str, Bit]) -> tuple[Piece, ...] | None:
    """The pieces in rows from the left end, those across the grain at the right; None where they do not fit."""
    length, width, thick = size
    low, high = -width / 2 + _MARGIN, width / 2 - _MARGIN
    right = length - _MARGIN
    x, y, row = _MARGIN, high, 0.0
    across: dict[int, float] = {}
    for number, fit in enumerate(fits, 1):
        if fit.kind == "line":
            across[number] = right
            right -= 2 * _GAP
        elif fit.upright:
            across[number] = right - fit.wanted / 2
            right -= fit.wanted + _GAP
            if _extent(fit)[1] > high - low:
                return None
    out: list[Piece] = []
    for number, fit in enumerate(fits, 1):
        if number in across:
            at, half = across[number], width / 2 if fit.kind == "line" else _extent(fit)[1] / 2
            out.append(_piece(number, fit, (at, -half), (at, half), thick, bits[fit.feature.bit]))
            continue
        wide, high_of = _extent(fit)
        if x > _MARGIN and x + wide > right:
            x, y, row = _MARGIN, y - row - _GAP, 0.0
        if x + wide > right or y - high_of < low - 1e-9:
            return None
        middle = y - high_of / 2
        if fit.kind != "slot":
            ends = ((x + wide / 2, middle), (x + wide / 2, middle))
        else:
            ends = ((x, middle), (x + wide, middle))
        out.append(_piece(number, fit, *ends, thick, bits[fit.feature.bit]))
        x, row = x + wide + _GAP, max(row, high_of)
    return tuple(out)


def _extent(fit: Fit) -> tuple[float, float]:
    """Size of a piece along and across the scrap, mm."""
    if fit.kind != "slot":
        return fit.wanted, fit.wanted
    return (fit.wanted, _LONG + fit.wanted) if fit.upright else (_LONG + fit.wanted, fit.wanted)


def _piece(
    number: int, fit: Fit, start: tuple[float, float], end: tuple[float, float], thick: float, bit: Bit
) -> Piece:
    depth = None if fit.depth is None else min(fit.depth, thick - LEAVE)
    if fit.depth is None and thick + _BELOW > bit.cutting_length:
        # What goes through thin wood need not go through a thicker scrap, which its bit does not reach through.
        depth = min(bit.cutting_length, thick - LEAVE)
    piece = Piece(
        bit=fit.feature.bit,
        kind=fit.kind,
        label=f"piece {number}, {fit.what}",
        start=start,
        end=end,
        width=0.0 if fit.kind == "line" else fit.wanted,
        depth=depth,
        across=fit.kind == "line",
        **_overrides(fit.feature),
    )
    return piece.placed(fit.name, fit.feature.line)


def _long_enough(fits: Sequence[Fit], size: tuple[float, float, float], bits: Mapping[str, Bit]) -> float:
    """A length of the scrap that holds the pieces, mm; _LONGEST where none does."""
    length = size[0]
    while length < _LONGEST and _laid(fits, (length, size[1], size[2]), bits) is None:
        length += 10
    return length


def _derived(loaded: LoadedJob, pieces: tuple[Piece, ...], size: tuple[float, float, float]) -> LoadedJob:
    """The coupon as a job in memory: the same bits, wood and machine, another blank, its pieces for features."""
    job = loaded.job
    length, width, thick = size
    scrap = Stock.model_construct(length=length, width=width, thickness=Thickness(min=thick, max=thick))
    setup = scrap_setup(SETUP, job.setups[0].offset, scrap, pieces)
    whole = job.model_copy(
        update={
            "title": f"Coupon: {job.title}"[:200],
            "part": "board",
            "handed": "right",
            "moisture": None,
            "stock": scrap,
            "setups": (setup,),
        }
    )
    # Nobody knows where the scrap will lie on the table: only the span of the motion is judged.
    machine = loaded.machine.model_copy(update={"offsets": dict.fromkeys(loaded.machine.offsets)})
    return replace(loaded, job=whole, machine=machine, job_hash=hash_of(whole, machine, loaded.wood))


def default_folder(path: Path) -> Path:
    """`out/<job's stem>-coupon`."""
    return Path("out") / f"{path.stem}-coupon"
