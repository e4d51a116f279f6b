"""Tuner posts: where they stand, where the strings leave the nut, and the angle to the posts."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.common.units import marked
from toolpaths.instrument.fans import nut_spread, string_places
from toolpaths.instrument.necks import half_width_at, head_end, neck_of
from toolpaths.job.job import Fan, Instrument


def strings_at_nut(instrument: Instrument) -> Array:
    """y (N,) of each string at the nut, mm, evenly spread from the treble side (string 1) to the bass side."""
    if isinstance(instrument.scale_length, Fan):
        return np.asarray(string_places(instrument, 0)[:, 1])
    half = nut_spread(instrument) / 2
    return np.linspace(half, -half, instrument.strings) if instrument.strings > 1 else np.zeros(1)


def posts_of_strings(posts: Sequence[tuple[float, float]], strings: int) -> list[int] | None:
    """Index of each string's post, string 1 first; None where there are not as many posts as strings.

    The usual order: each side's strings go to that side's posts, the outermost string to the post nearest the nut.
    `posts`: (x, y) in instrument coordinates; a post on the centreline counts with the treble side.
    Common practice, no source.
    """
    if len(posts) != strings:
        return None
    treble = sorted((i for i, (_, y) in enumerate(posts) if y >= 0), key=lambda i: -posts[i][0])
    bass = sorted((i for i, (_, y) in enumerate(posts) if y < 0), key=lambda i: -posts[i][0])
    return [*treble, *reversed(bass)]


def string_angle(y: float, post: tuple[float, float]) -> float:
    """Degrees between the centreline and a string's way from the nut line at y to the middle of its post.

    atan(|post y - y| / distance along x). Elementary geometry; 90 where the post is not behind the nut line.
    """
    return math.degrees(math.atan2(abs(post[1] - y), max(-post[0], 0.0)))


def post_layout(
    instrument: Instrument, sides: tuple[int, int], first: float, spacing: float, edge: float
) -> list[tuple[float, float]]:
    """Places (x, y) of the posts, mm: treble side from the nut outwards, then the bass side back toward the nut.

    So post k is string k's. `sides`: how many on the treble and on the bass side; `first`: x of the one nearest
    the nut; `spacing` from one to the next along x; `edge`: from a post's middle to the headstock's side, measured
    straight across. Raises FeatureError where the headstock is drawn, missing, too short or too narrow.
    """
    head = neck_of(instrument).headstock
    if head is None:
        raise FeatureError("the neck has no headstock", "give `headstock`, or each place in `at`", "layout")
    if head.length is None:
        raise FeatureError(
            "the headstock is drawn, so rows along its sides are unknown", "give each place in `at`", "layout"
        )
    xs = [first - spacing * k for k in range(max(sides))]
    if xs[0] >= 0 or xs[-1] <= head_end(instrument):
        raise FeatureError("not all posts are on the headstock", "change `first` or `spacing`", "layout")
    halves = half_width_at(instrument, np.array(xs))
    if float(halves.min()) <= edge:
        raise FeatureError(
            f"the headstock is too narrow for an `edge` of {marked(edge)}",
            f"give less than {marked(float(halves.min()))}",
            "layout",
        )
    ys = [float(h) - edge for h in halves]
    treble = [(x, y) for x, y in zip(xs, ys, strict=True)][: sides[0]]
    bass = [(x, -y) for x, y in zip(xs, ys, strict=True)][: sides[1]]
    return [*treble, *reversed(bass)]
