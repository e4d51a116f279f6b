"""At which move of a program something comes free: by halving, on a coarse map."""

from __future__ import annotations

from collections.abc import Callable

from toolpaths.simulation.columns import Columns
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.simulate import simulate
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.holding.held_blank import HeldBlank, held_blank


def move_that_frees(inputs: CheckInput, is_free: Callable[[HeldBlank], bool]) -> int:
    """The first of the trace's moves after which something is free; the program's last where the coarse map has none.

    Wood only gets less, so what is free stays so. About log2 of the moves small simulations.
    """
    moves = inputs.moves
    before = _coarse(inputs.before)
    shapes = {number: bit for number, (_, bit) in inputs.bits.items()}

    def free_after(count: int) -> bool:
        return is_free(held_blank(inputs, simulate(before, moves.where(slice(0, count)), shapes)))

    low, high = 0, len(moves)
    if not high:
        return 0
    while high - low > 1:
        middle = (low + high) // 2
        if free_after(middle):
            high = middle
        else:
            low = middle
    return int(moves.parent[high - 1])


def _coarse(fine: DepthMap) -> DepthMap:
    """The same wood on the grid of the proof."""
    columns = Columns.of(fine)
    return DepthMap(columns.high, columns.x0, columns.y0, columns.pitch)
