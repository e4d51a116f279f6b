"""What is cut into the part lies on it: against shapely, around every edge of boards and necks."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from tests.support.check_input_builder import demand, inputs, operation, program
from tests.support.setup_builder import context
from toolpaths.features.kinds import FEATURES
from toolpaths.features.kinds.engraving import Engraving
from toolpaths.features.kinds.pin_bores import PinBores
from toolpaths.job.cut_kind import HOLES, ROD_AND_BARS
from toolpaths.job.setup_context import SetupContext
from toolpaths.verification.checks.shape import off_part
from toolpaths.verification.finding import Finding, Severity

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="-200 -50 200 100">'
    '<path d="{}"/></svg>'
)
DRAWN = [(-4.0, 21.0), (-40.0, 34.0), (-150.0, 30.0), (-160.0, -12.0), (-60.0, -38.0), (-4.0, -21.0)]
FAN = {"bass": 673.0, "treble": 635.0, "square_fret": 7}


def board(width: dict[Any, float], scale: Any = 650, **more: Any) -> SetupContext:
    return context(Engraving(bit="vee60", drawing="d.svg", depth=0.3), width=width, scale_length=scale, **more)


def on_neck(folder: Path | None) -> SetupContext:
    head: dict[str, Any] = {"length": 150, "width": 76, "thickness": 14}
    if folder is not None:
        path = "M" + " L".join(f"{x},{-y}" for x, y in DRAWN) + " Z"
        (folder / "head.svg").write_text(HEAD.format(path), encoding="utf-8")
        head = {"drawing": "head.svg", "thickness": 14}
    made = context(
        Engraving(bit="vee60", drawing="d.svg", depth=0.3),
        part="neck",
        instrument={
            "scale_length": 650,
            "frets": 22,
            "board": {"width": {"nut": 42, 12: 52}, "overhang": 10, "thickness": 6},
            "neck": {"thickness": {1: 21}, "margin": 0.5, "headstock": head},
        },
        stock={"length": 700, "width": 100, "thickness": 25},
    )
    return made if folder is None else replace(made, folder=folder)


def outline(seen: SetupContext, name: str) -> BaseGeometry:
    """The finished part in closed form, or as it was drawn; hollow corners are left out of what is compared."""
    there, at = (52.0, 325.0) if name != "straight" else (42.0, 325.0)
    end = 650 * (1 - 2 ** (-22 / 12)) + 10
    half = 21 + (there - 42) / 2 * end / at
    shaft = Polygon([(0, -21), (end, -half), (end, half), (0, 21)])
    if name == "drawn head":
        return shaft.union(Polygon(DRAWN)).union(Polygon([(-6, -21), (0, -21), (0, 21), (-6, 21)]))
    if name == "straight head":
        head = [(-150, 38), (-31, 38), (-6, 21), (0, 21)]
        return shaft.union(Polygon([*head, *((x, -y) for x, y in reversed(head))]))
    return shaft


def found(seen: SetupContext, shapes: list[BaseGeometry], **more: Any) -> list[Finding]:
    key = seen.setup.features[0].name
    demands = [demand(s, 1.0, feature=key, name=f"mark {i}", **more) for i, s in enumerate(shapes)]
    made = inputs(program("G0 X0 Y0"), demands=demands, operations=[operation(key)], begun=[key])
    return off_part.check(replace(made, context=seen))


@pytest.mark.parametrize("name", ["straight", "tapered", "straight head", "drawn head"])
def test_what_reaches_out_of_the_part_is_told_by_how_far_and_where(name: str, tmp_path: Path) -> None:
    if "head" in name:
        seen = on_neck(tmp_path if name == "drawn head" else None)
    else:
        seen = board({"nut": 42, 12: 42 if name == "straight" else 52})
    part = outline(seen, name)
    hollow = part.buffer(12, join_style="mitre").buffer(-12).difference(part).buffer(3)
    rng, tried = np.random.default_rng(7), {"in": 0, "over": 0, "beside": 0}
    while min(tried.values()) < 12:
        at = part.exterior.interpolate(rng.random(), normalized=True)
        radius = 0.5 + 3 * rng.random()
        mark = Point(at.x + rng.normal(0, radius), at.y + rng.normal(0, radius)).buffer(radius, quad_segs=32)
        if mark.intersects(hollow):
            continue
        beyond = max((part.distance(Point(p)) for p in mark.exterior.coords), default=0.0)
        if abs(beyond - 0.02) < 0.005:
            continue
        told = found(seen, [mark])
        assert (beyond > 0.02) == bool(told)
        kind = "in" if beyond <= 0.02 else "beside" if part.distance(mark) > 0 else "over"
        tried[kind] += 1
        for one in told:
            assert ("off-part", Severity.warn, 7) == (one.code, one.severity, one.job_line)
            assert 0.011 > abs(part.distance(Point(one.x, one.y)) - beyond)
            if kind == "over":
                assert 0.011 > abs(float(one.said.measured.removesuffix(" mm")) - beyond)
            else:
                away = float(one.said.measured.split(" mm")[0])
                assert 0.011 > abs(away - part.distance(mark))


def test_a_fanned_board_ends_along_its_outer_frets() -> None:
    # Fret 7 stands square, so that the nut leans: its treble end lies nearer to the bridge than its bass end.
    seen = board({"nut": 42, 12: 52}, FAN)
    bass, treble = (Point(3.0, y).buffer(2) for y in (-15.0, 15.0))
    assert [] == found(seen, [bass])
    assert ["beside"] == ["beside" for f in found(seen, [treble]) if "lies beside the board, in waste" in f.said.wrong]


def test_a_left_handed_part_is_the_mirror_image() -> None:
    seen = board({"nut": 42, 12: 52}, FAN, handed="left")
    bass, treble = (Point(3.0, y).buffer(2) for y in (15.0, -15.0))
    assert [] == found(seen, [bass])
    assert 1 == len(found(seen, [treble]))


def test_what_lies_in_waste_on_purpose_is_not_told() -> None:
    seen = context(PinBores(bit="eighth", at=[[-8, 0]], diameter=4))  # type: ignore[arg-type]
    assert [] == found(seen, [Point(-8, 0).buffer(2)])


def test_many_of_a_kind_are_counted() -> None:
    told = found(board({"nut": 42, 12: 52}), [Point(20 * i, 40).buffer(2) for i in range(20)])
    assert 5 == len(told)
    assert "16 more of this kind" in told[-1].message


def test_every_feature_says_where_what_it_asks_for_lies() -> None:
    waste = {
        "screw_holes",
        "plane",
        "outline",
        "pin_bores",
        "bed_bores",
        "witness_ring",
        "nut_slot",
        "headstock_face",
        "headstock_back",
        "heel_face",
        "rough_back",
        "facets",
        "depth_kerfs",
        "radius",
    }
    # Judged by wood-between, by rod-uncovered and by wall-too-thin, which stop.
    others = {key for key, kind in FEATURES.items() if kind.cuts & (HOLES | ROD_AND_BARS)}
    # A jig has no finished part.
    others |= {key for key, kind in FEATURES.items() if kind.piece == "jig"}
    assert waste | others == {key for key, kind in FEATURES.items() if kind.lies == "anywhere"}
    assert "in scrap" not in {kind.lies for kind in FEATURES.values()}
