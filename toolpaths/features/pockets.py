"""Level pockets: one bit clears them, and a smaller one may take what it leaves in corners and narrow places."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from toolpaths.common.errors import FeatureError
from toolpaths.features.feature import Feature
from toolpaths.geometry.loop import Area
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.operation import Clear, Corners, Cutting, Operation
from toolpaths.operations.rest_material import goes_in, left_standing, second_bit, second_cutting


def cleared(
    feature: Feature,
    then: str | None,
    found: Sequence[Area],
    context: SetupContext,
    heights: tuple[float, float],
    what: str,
) -> Iterator[Operation]:
    """Each pocket cleared from the middle outwards, then its walls skimmed; `then` takes what is left.

    `heights`: where the bit enters the wood, and the floor, mm above the bed. `what`: the pockets, in words.
    Raises FeatureError for a bit that leaves no level floor, or does not fit into any.
    """
    bit = context.bits[feature.bit]
    must_be_flat(feature.bit, bit, "the floor would not be level", context.job.units)
    cutting = feature.settled(context)
    if then is None:
        yield _clear(feature, found, feature.bit, cutting, heights, what)
        return
    small = second_bit(context, feature.bit, then)
    # What the first bit does not fit into is the second's alone.
    wide = [a for a in found if goes_in(a.shape(), bit.radius)]
    narrow = [a for a in found if not goes_in(a.shape(), bit.radius)]
    if not wide:
        raise FeatureError(
            f"{feature.bit} does not fit into any of the pockets",
            f"give `bit: {then}` and leave `then` out",
            "bit",
        )
    yield _clear(feature, wide, feature.bit, cutting, heights, what)
    second = second_cutting(feature, small, context)
    if narrow:
        title = f"{what} that {feature.bit} does not fit into"
        yield _clear(feature, narrow, then, second, heights, title)
    left = [a for a in wide if not left_standing(a.shape(), bit.radius, small.radius).is_empty]
    if left:
        yield Corners(
            *(feature.name, feature.line, then, second, f"what {feature.bit} left of {what}", *heights),
            areas=tuple(left),
            before=bit.radius,
        )


def _clear(
    feature: Feature, found: Sequence[Area], bit: str, cutting: Cutting, heights: tuple[float, float], title: str
) -> Clear:
    return Clear(feature.name, feature.line, bit, cutting, title, *heights, areas=tuple(found))
