"""Whatever bytes stand in a drawing's file, reading it ends in a drawing or in a DrawingError, in nothing else."""

from __future__ import annotations

import io
import re
import tempfile
from contextlib import suppress
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from toolpaths.common.errors import DrawingError
from toolpaths.geometry.drawings_in.drawing import areas, placed, read_drawing

ROOT = Path(__file__).parents[2]
SVG = (ROOT / "tests" / "cases" / "drawings" / "medallion.svg").read_text(encoding="utf-8")
BOUNDED = settings(max_examples=150)


def _dxf() -> str:
    """A small drawing of every kind of entity."""
    document = ezdxf.new("R2000")
    document.units = 4
    m = document.modelspace()
    m.add_line((0, 0), (10, 0))
    m.add_arc((10, 5), 5, 270, 90)
    m.add_circle((3, 4), 2)
    m.add_lwpolyline([(0, 0, 0.5), (9, 0, 0), (9, 9, -1)], format="xyb", close=True)
    m.add_polyline2d([(0, 20, 0.5), (9, 20, 0)], format="xyb")
    m.add_ellipse((1, 2), (5, 1), 0.4, 0, 3)
    m.add_open_spline([(0, 30), (3, 39), (6, 21), (9, 30)])
    m.add_rational_spline([(0, 40), (3, 49), (6, 31), (9, 40)], [1, 2, 0.5, 1])
    document.blocks.new("DOT").add_circle((0, 0), 1)
    m.add_blockref("DOT", (20, 20), dxfattribs={"xscale": 2})
    text = io.StringIO()
    document.write(text)
    return text.getvalue()


DXF = _dxf()
FIRST = DXF.index("ENTITIES")
LAST = DXF.index("ENDSEC", FIRST)
TAGS = DXF[FIRST:LAST].splitlines()


def outcome(raw: bytes, suffix: str, layer: str | None = None) -> None:
    """Reads the bytes and asks for all there is; fails on all but a drawing of finite numbers or a DrawingError."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"a{suffix}"
        path.write_bytes(raw)
        try:
            found = read_drawing(path, layer)
        except DrawingError:
            return
    for loop in found.closed:
        assert np.all(np.isfinite(loop.points))
        assert np.all(np.isfinite(loop.bulges))
    assert all(np.all(np.isfinite(line)) for line in found.lines)
    assert found.as_lines()
    with suppress(DrawingError):
        areas(placed(found, (3.0, 4.0), 33.0, 1.5, mirror=True))


def test_the_seeds_themselves_are_read() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.dxf"
        path.write_text(DXF)
        # The line and the arc are joined; what was a block's circle, stretched, is an ellipse.
        assert 8 == len(read_drawing(path).as_lines())


@BOUNDED
@given(st.binary(max_size=300), st.sampled_from([".dxf", ".svg"]))
@example(b"\xff\xfe<\x00s\x00", ".svg")
@example(b"0\nSECTION\n2\nENTITIES\n0\nENDSEC\n0\nEOF\n", ".dxf")
@example(b'<?xml version="1.0" encoding="utf-7"?><svg/>', ".svg")
def test_any_bytes(raw: bytes, suffix: str) -> None:
    outcome(raw, suffix)


@BOUNDED
@given(
    st.lists(
        st.tuples(
            st.integers(0, 10_000),
            st.sampled_from(
                [
                    "-1",
                    "0",
                    "1e999",
                    "nan",
                    "inf",
                    "1e308",
                    "-1e-320",
                    "9" * 30,
                    "99999999999999",
                    "",
                    "LINE",
                    "SPLINE",
                    "70",
                    "40",
                    "10",
                    "ELLIPSE",
                    "POLYLINE",
                    "VERTEX",
                    "INSERT",
                    "ENDSEC",
                    "\x00",
                    "ÿ",
                    "1e5",
                    "0.5",
                ]
            ),
        ),
        min_size=1,
        max_size=6,
    )
)
def test_a_dxf_with_other_values_in_it(changes: list[tuple[int, str]]) -> None:
    tags = list(TAGS)
    for at, value in changes:
        tags[at % len(tags)] = value
    outcome((DXF[:FIRST] + "\n".join(tags) + "\n" + DXF[LAST:]).encode("utf-8"), ".dxf")


@BOUNDED
@given(st.integers(0, len(DXF)), st.integers(0, 400))
def test_a_dxf_with_a_piece_missing(at: int, length: int) -> None:
    outcome((DXF[:at] + DXF[at + length :]).encode(), ".dxf")


@BOUNDED
@given(
    st.lists(
        st.tuples(
            st.integers(0, 10_000),
            st.sampled_from(
                [
                    "-1",
                    "0",
                    "1e999",
                    "nan",
                    "NaN",
                    "1e308",
                    "1e-320",
                    "9" * 50,
                    "",
                    "M",
                    "A",
                    "Z",
                    "z m 3",
                    "é",
                    "0%",
                    "matrix(0 0 0 0 0 0)",
                    "scale(0)",
                    "rotate(1e300)",
                    "skewX(90)",
                    "-",
                    ".",
                    "e",
                    "<g>",
                    "&lt;",
                    "1e5",
                ]
            ),
        ),
        min_size=1,
        max_size=5,
    )
)
def test_an_svg_with_other_values_in_it(changes: list[tuple[int, str]]) -> None:
    values = list(re.finditer(r"(?<=[\s\"(,])-?[\d.]+(?=[\s\"),])|\b[MqtT]\b", SVG))
    text = SVG
    for at, value in sorted({at % len(values): v for at, v in changes}.items(), reverse=True):
        text = text[: values[at].start()] + value + text[values[at].end() :]
    outcome(text.encode("utf-8", "surrogatepass"), ".svg")


@BOUNDED
@given(st.text(alphabet="MmLlHhVvCcSsQqTtAaZz0123456789.,-+ eE", max_size=60))
@example("M0 0A1 1 0 01 1e-300 0")
@example("M0 0A1e-300 1e300 9 11 5 5")
@example("M0 0C1e5 1e5-1e5 1e5 3 3")
def test_a_path_of_any_letters(d: str) -> None:
    outcome(f'<svg width="9mm" viewBox="0 0 9 9"><path d="{d}"/></svg>'.encode(), ".svg")


@pytest.mark.parametrize("cut", range(0, len(SVG), 40))
def test_an_svg_that_ends_too_early(cut: int) -> None:
    outcome(SVG[:cut].encode(), ".svg")
