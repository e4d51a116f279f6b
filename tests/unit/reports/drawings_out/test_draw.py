"""What a drawing shows, and that a file of it can be trusted."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import Polygon
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from tests.support.paired_jobs import pair
from toolpaths.geometry.loop import Loop
from toolpaths.job.changes import Changes
from toolpaths.job.setup_context import setup_context_of
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.design import target
from toolpaths.pipeline.load import load_job
from toolpaths.reports.drawings_out.draw import drawing_of, shape_marks
from toolpaths.reports.drawings_out.draw_dxf import dxf
from toolpaths.reports.drawings_out.draw_pdf import MARGIN, OVERLAP, PAPERS, page_count, pdf
from toolpaths.reports.drawings_out.draw_svg import svg
from toolpaths.reports.drawings_out.marks import (
    STYLES,
    Circle,
    Line,
    OutlineMark,
    OutputDrawing,
    TextMark,
    curves,
    in_order,
    reference_line,
    with_reference,
)

SVG = "{http://www.w3.org/2000/svg}"
BACK = """\
  - name: back
    flip: about x
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 175
    features:
      - bolt_bores: {bit: quarter, diameter: 8, depth: 20, counterbore: {diameter: 14, depth: 22}, at: [[370, 12]]}
"""


def drawing(job: Path) -> OutputDrawing:
    layout = lay_out(job, Changes())
    return drawing_of(layout.loaded.job, layout.contexts, layout.target)


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> OutputDrawing:
    return drawing(pair(tmp_path_factory.mktemp("pair"))[0])


@pytest.fixture(scope="module")
def neck(tmp_path_factory: pytest.TempPathFactory) -> OutputDrawing:
    return drawing(pair(tmp_path_factory.mktemp("pair"))[1])


def circles(marks: tuple[object, ...]) -> set[tuple[float, float, float]]:
    return {(c.x, c.y, c.radius) for c in marks if isinstance(c, Circle)}


def test_every_kind_of_shape_has_a_layer_of_its_own(board: OutputDrawing, neck: OutputDrawing) -> None:
    assert [
        "stock", "centreline", "fret lines", "nut line", "finished outline", "markers", "pins", "centres", "words",
    ] == list(board.layers)  # fmt: skip
    assert {"board outline", "cut outline", "finished outline", "slots", "bores"} <= set(neck.layers)


def test_bores_leave_as_circles_and_once_each(neck: OutputDrawing) -> None:
    assert {(x, y, 5.0) for x in (-60, -100) for y in (22, -22)} == circles(neck.layers["bores"])
    assert 3 == len(neck.layers["pins"])


def test_each_bore_has_a_cross_in_its_middle_and_its_size_beside_it(neck: OutputDrawing) -> None:
    lines = [m for m in neck.layers["centres"] if isinstance(m, Line)]
    middles = {((m.start[0] + m.end[0]) / 2, (m.start[1] + m.end[1]) / 2) for m in lines}
    assert {(-60.0, 22.0), (-100.0, -22.0), (-165.0, 0.0)} <= middles
    said = [w.text for w in neck.layers["words"] if isinstance(w, TextMark)]
    assert 4 == said.count("10.00 mm")
    assert 3 == said.count("4.00 mm")


def test_the_shaft_is_cut_wider_than_it_is_finished(neck: OutputDrawing) -> None:
    """Margin 0.5 mm: at the heel's blend the two outlines meet, along the shaft they lie that far apart."""
    widths = {}
    for name in ("finished outline", "cut outline"):
        (mark,) = neck.layers[name]
        assert isinstance(mark, OutlineMark)
        widths[name] = mark.loop.shape().intersection(
            Loop.polygon([(100, -60), (101, -60), (101, 60), (100, 60)]).shape()
        )
    assert 1.0 == pytest.approx(widths["cut outline"].area - widths["finished outline"].area, abs=1e-6)


def test_a_left_handed_board_is_the_mirror_image(tmp_path: Path) -> None:
    right = drawing(pair(tmp_path)[0])
    left = drawing(pair(tmp_path, board={"units: mm\nmachine": "units: mm\nhanded: left\nmachine"})[0])
    assert {(x, -y, r) for x, y, r in circles(right.layers["pins"])} == circles(left.layers["pins"])
    assert any("left-handed" in line for line in left.lines)


def test_what_is_cut_from_the_back_is_seen_through_the_wood(tmp_path: Path) -> None:
    _, job = pair(tmp_path)
    job.write_text(job.read_text() + BACK)
    shown = drawing(job)
    # Written at y 12, treble side: there it is drawn too, though the setup sees it at -12.
    assert {(370.0, 12.0, 4.0), (370.0, 12.0, 7.0)} == circles(shown.layers["bores from the back"])
    assert "short dashes: cut from the back" in shown.lines
    said = [w.text for w in shown.layers["words"] if isinstance(w, TextMark)]
    assert "14.00 mm / 8.00 mm" in said
    assert b'<g id="bores-from-the-back"' in svg(shown)


def test_the_same_job_gives_the_same_bytes(tmp_path: Path) -> None:
    job, _ = pair(tmp_path)
    for make in (lambda d: dxf(with_reference(d)), lambda d: svg(with_reference(d)), pdf, lambda d: pdf(d, "A4")):
        assert make(drawing(job)) == make(drawing(job))


# Marks


def test_a_slot_is_found_again_as_two_sides_and_round_ends() -> None:
    slot = Loop(np.array([[10.0, -3.0], [50.0, -3.0], [50.0, 3.0], [10.0, 3.0]]), np.array([0.0, 1.0, 0.0, 1.0]))
    (mark,) = shape_marks(slot.shape())
    assert isinstance(mark, OutlineMark)
    # Area of a slot: length x width + circle. Arcs of the file enclose it to within their tolerance.
    assert 40 * 6 + math.pi * 9 == pytest.approx(mark.loop.shape(1e-6).area, abs=0.02)
    assert len(mark.loop.points) <= 8
    assert 2 <= np.count_nonzero(mark.loop.bulges)


def test_a_ring_is_two_circles() -> None:
    ring = Loop.circle(3, 4, 5).shape().difference(Loop.circle(3, 4, 2).shape())
    assert {(3.0, 4.0, 5.0), (3.0, 4.0, 2.0)} == circles(tuple(shape_marks(ring)))


def test_a_hexagon_is_no_circle() -> None:
    corners = [(math.cos(k * math.pi / 3), math.sin(k * math.pi / 3)) for k in range(6)]
    (mark,) = shape_marks(Loop.polygon(corners).shape())
    assert isinstance(mark, OutlineMark)
    assert 6 == len(mark.loop.points)


def test_cubic_curves_stay_on_their_arc() -> None:
    # A quarter of a circle about (0, 0) of radius 100: bulge tan(90 / 4 degrees).
    at = np.array([100.0, 0.0])
    for one, two, end in curves((100.0, 0.0), (0.0, 100.0), math.tan(math.pi / 8)):
        t = np.linspace(0, 1, 50)[:, None]
        points = (1 - t) ** 3 * at + 3 * t * (1 - t) ** 2 * np.array(one) + 3 * t**2 * (1 - t) * np.array(two)
        points = points + t**3 * np.array(end)
        assert 1e-5 > np.abs(np.hypot(*points.T) - 100).max()
        at = np.array(end)
    assert (0.0, 100.0) == tuple(at)


def test_the_reference_line_says_what_it_is_for() -> None:
    line, *_, words = reference_line(7, 3)
    assert Line((7, 3), (107, 3)) == line
    assert isinstance(words, TextMark)
    assert "100 mm: measure me before you trust this print" == words.text


# Files


def test_svg_is_in_mm_and_upright(board: OutputDrawing) -> None:
    root = ET.fromstring(svg(with_reference(board)))
    width, height = (float(v) for v in root.attrib["viewBox"].split()[2:])
    assert f"{width:g}mm" == f"{float(root.attrib['width'].removesuffix('mm')):g}mm"
    assert f"{height:g}mm" == f"{float(root.attrib['height'].removesuffix('mm')):g}mm"
    groups = {g.attrib["id"]: g for g in root.iter(f"{SVG}g")}
    assert {"stock", "fret-lines", "finished-outline", "markers", "pins", "reference"} <= set(groups)
    (pin,) = [c for c in groups["pins"].iter(f"{SVG}circle") if c.attrib["cx"] == "20"]
    assert "-14.5" == pin.attrib["cy"], "the treble side is up, where y is less in an SVG"
    assert not re.search("transform", ET.tostring(root, encoding="unicode"))


def test_a_title_is_shown_and_never_obeyed(tmp_path: Path) -> None:
    title = '"</text><script>alert(1)</script> ]]> & %%c ^J é 木"'
    job, _ = pair(tmp_path, board={"Board of the pair": title})
    shown = with_reference(drawing(job))
    root = ET.fromstring(svg(shown))
    assert not list(root.iter(f"{SVG}script"))
    assert any("<script>" in (t.text or "") for t in root.iter(f"{SVG}text"))
    text = dxf(shown).decode("cp1252")
    assert "\r" not in text
    assert "%%c" not in text
    assert "^J" not in text
    assert pdf(shown).startswith(b"%PDF-")


def test_dxf_is_in_millimetres_with_every_layer(neck: OutputDrawing) -> None:
    lines = dxf(with_reference(neck)).decode("cp1252").split("\n")
    # Group code 70 after the variable's name holds its value; 4 is millimetres (DXF reference, $INSUNITS).
    assert "4" == lines[lines.index("$INSUNITS") + 2].strip()
    assert {"fret lines", "slots", "bores", "pins", "reference"} <= {line.strip() for line in lines}


def test_the_pdf_asks_not_to_be_scaled(board: OutputDrawing) -> None:
    import io

    import pdfplumber

    with pdfplumber.open(io.BytesIO(pdf(board))) as book:
        wishes = book.doc.catalog["ViewerPreferences"].resolve()
        assert "None" == wishes["PrintScaling"].name
        assert "measure me before you trust this print" in book.pages[0].extract_text()


@pytest.mark.parametrize("paper", list(PAPERS))
def test_tiles_cover_the_drawing_and_each_has_the_100_mm_line(neck: OutputDrawing, paper: str) -> None:
    import io

    import pdfplumber

    mm = 25.4 / 72
    with pdfplumber.open(io.BytesIO(pdf(neck, paper))) as book:
        assert page_count(neck, paper) == len(book.pages)
        shown = 0.0
        for page in book.pages:
            assert sorted(PAPERS[paper]) == pytest.approx(sorted((page.width * mm, page.height * mm)), abs=0.01)
            lengths = [abs(line["x1"] - line["x0"]) * mm for line in page.lines if line["y0"] == line["y1"]]
            assert 0.001 > min(abs(length - 100) for length in lengths)
            assert "100 mm: measure me" in page.extract_text()
            shown += page.width * mm - 2 * MARGIN
        # The blank is 600 mm long; each page after the first begins with what the one before ended with.
        assert 600 <= shown - (len(book.pages) - 1) * OVERLAP


def test_crosses_of_two_pages_fall_on_each_other(neck: OutputDrawing) -> None:
    """The lettered crosses stand at the same distance from the fret that both pages show."""
    import io

    import pdfplumber

    mm = 25.4 / 72
    with pdfplumber.open(io.BytesIO(pdf(neck, "A4"))) as book:
        found: dict[str, list[tuple[float, float]]] = {}
        for k, page in enumerate(book.pages):
            # Where the drawing's zero lies on the page: each window begins 10 mm short of the last one's end.
            step = page.width * mm - 2 * MARGIN - OVERLAP
            for word in page.extract_words():
                if re.fullmatch("[A-Z]", word["text"]):
                    found.setdefault(word["text"], []).append((word["x0"] * mm + k * step, word["top"] * mm))
        pairs = [v for v in found.values() if len(v) == 2]
        assert 4 == len(pairs), "three pages: two overlaps with two crosses each"
        for one, other in pairs:
            assert one == pytest.approx(other, abs=0.01)


def test_layers_are_drawn_in_a_settled_order() -> None:
    assert ["stock", "pins"] == list(in_order({"pins": [Circle(0, 0, 1)], "stock": [Circle(0, 0, 2)], "bores": []}))
    assert "reference" in STYLES


def test_a_chosen_layer_keeps_the_reference(board: OutputDrawing) -> None:
    assert ["pins", "reference"] == list(with_reference(board).only(["pins"]).layers)


HEADS: dict[str, list[tuple[float, float]]] = {
    # Drawn headstocks in instrument coordinates, treble side positive; the shaft is 36 mm wide at the nut.
    "plain": [(-4, 18), (-20, 30), (-120, 30), (-120, -30), (-20, -30), (-4, -18)],
    "six in line": [(-5, 18), (-30, 24), (-150, 22), (-165, -20), (-70, -52), (-38, -46), (-14, -18), (-5, -18)],
    "short edges": [
        (-5, 18),
        (-9, 22),
        (-11, 29),
        (-17, 29),
        (-30, 36),
        (-130, 34),
        (-130, -30),
        (-12, -24),
        (-5, -18),
    ],
    "narrow": [(-5, 15), (-60, 13), (-130, 24), (-130, -24), (-60, -13), (-5, -15)],
}
"""Corners are sharp and edges short, so that roundings of 12 mm run into each other."""


def finished(margin: float, head: list[tuple[float, float]] | None) -> BaseGeometry:
    """The neck of the pair in closed form, `margin` on its shaft: hollow corners closed with a disc of 12 mm."""
    end = 400.0
    fret_12 = 292.0

    def half(x: float) -> float:
        return 18 + (22 - 18) * x / fret_12 + margin

    side = [(-6.0, half(0)), (0.0, half(0)), (310.0, half(310)), (330.0, 26.0), (end, 26.0)]
    if head is None:
        side = [(-150.0, 33.0), (-31.0, 33.0), *side]
    shape: BaseGeometry = Polygon([*side, *((x, -y) for x, y in reversed(side))])
    if head is not None:
        shape = shape.union(Polygon(head))
    return shape.buffer(12, quad_segs=128).buffer(-12, quad_segs=128)


# Every head with every margin; for which hand, and with an outline or without, in turn.
@pytest.mark.parametrize(
    ("name", "margin", "outline", "handed"),
    [
        (name, margin, (i + j) % 2 == 0, ("right", "left")[(i + j) // 2 % 2])
        for i, name in enumerate(["straight", *HEADS])
        for j, margin in enumerate([0.0, 0.25, 0.5, 1.0])
    ],
)
def test_the_outlines_of_a_neck_are_drawn_as_its_numbers_and_its_drawing_say(
    tmp_path: Path, name: str, margin: float, outline: bool, handed: str
) -> None:
    changes = {"margin: 0.5": f"margin: {margin}", "title: ": f"handed: {handed}\ntitle: "}
    head = HEADS.get(name)
    if head is not None:
        points = " ".join(f"{x},{-y}" for x, y in head)
        page = 'xmlns="http://www.w3.org/2000/svg" width="400mm" height="200mm" viewBox="-200 -100 400 200"'
        (tmp_path / "head.svg").write_text(f'<svg {page}><polygon points="{points}"/></svg>', encoding="utf-8")
        changes["{length: 150, width: 66, thickness: 14}"] = "{drawing: head.svg, thickness: 14}"
    if not outline:
        changes["      - outline: {bit: long, depth: 24}\n"] = ""
    job = load_job(pair(tmp_path, neck=changes)[1])
    contexts = {s.name: setup_context_of(job.job, job.machine, job.wood, s, tmp_path) for s in job.job.setups}
    shown = drawing_of(job.job, contexts, target(list(contexts.values())))
    wanted = {"finished outline": 0.0, **({"cut outline": margin} if margin else {})}
    assert set(wanted) == {layer for layer in shown.layers if layer in ("finished outline", "cut outline")}
    for layer, kept in wanted.items():
        [mark] = shown.layers[layer]
        assert isinstance(mark, OutlineMark)
        drawn, exact = Polygon(mark.loop.flattened(1e-4)), finished(kept, head)
        exact = exact if handed == "right" else scale(exact, yfact=-1, origin=(0, 0))
        for one, other in ((drawn, exact), (exact, drawn)):
            points = shapely.points(shapely.get_coordinates(one.exterior.segmentize(0.2)))
            assert 0.01 > float(np.max(shapely.distance(points, other.exterior)))
