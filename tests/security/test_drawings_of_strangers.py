"""Drawings of strangers: nothing grows, nothing outside is opened, and each ends in words or in wood soon."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.security.strangers import board, commands_to, run
from tests.support.patience import bounded

"""Far more than any of them takes: what it keeps out are minutes and hours."""

_SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">{}</svg>'
_SECRET = "nobody-may-see-this"


def svg(inside: str, before: str = "") -> str:
    return before + _SVG.format(inside)


def pairs(*values: object) -> str:
    """Group codes and values of a DXF file, one a line."""
    return "".join(f"{value}\n" for value in values)


def dxf(entities: str, blocks: str = "") -> str:
    head = pairs(0, "SECTION", 2, "HEADER", 9, "$ACADVER", 1, "AC1015", 9, "$INSUNITS", 70, 4, 0, "ENDSEC")
    held = pairs(0, "SECTION", 2, "BLOCKS") + blocks + pairs(0, "ENDSEC")
    return head + held + pairs(0, "SECTION", 2, "ENTITIES") + entities + pairs(0, "ENDSEC", 0, "EOF")


def block(name: str, inside: str, path: str = "") -> str:
    outside = pairs(1, path) if path else ""
    begin = pairs(0, "BLOCK", 8, 0, 2, name, 70, 4 if path else 0, 10, 0, 20, 0, 30, 0, 3, name) + outside
    return begin + inside + pairs(0, "ENDBLK", 8, 0)


def insert(name: str, x: object = 0, **more: object) -> str:
    rows = pairs(70, more["columns"], 71, more["rows"], 44, 1, 45, 1) if more else ""
    return pairs(0, "INSERT", 8, 0, 2, name, 10, x, 20, 0, 30, 0) + rows


def line(x0: object, y0: object, x1: object, y1: object, layer: object = 0) -> str:
    return pairs(0, "LINE", 8, layer, 10, x0, 20, y0, 30, 0, 11, x1, 21, y1, 31, 0)


def spline(degree: int, count: int) -> str:
    knots = [0.0] * (degree + 1) + [float(i) for i in range(1, count - degree)] + [float(count)] * (degree + 1)
    out = pairs(
        0, "SPLINE", 5, "AB", 100, "AcDbEntity", 8, 0, 100, "AcDbSpline", 70, 8, 71, degree, 72, len(knots), 73, count
    )
    out += "".join(pairs(40, k) for k in knots)
    return out + "".join(pairs(10, i % 7, 20, i % 5, 30, 0) for i in range(count))


_LAUGHS = "<!DOCTYPE svg [<!ENTITY a0 'ha'>" + "".join(f"<!ENTITY a{i} '{f'&a{i - 1};' * 10}'>" for i in range(1, 12))
_NESTED = "".join(block(f"B{i}", insert(f"B{i + 1}") * 12) for i in range(7)) + block("B7", line(0, 0, 1, 1) * 12)

SVGS: dict[str, Callable[[], str]] = {
    "entities that grow": lambda: svg("<text>&a11;</text>", _LAUGHS + "]>"),
    "entities in an attribute": lambda: svg('<path d="&a11;"/>', _LAUGHS + "]>"),
    "a file as an entity": lambda: svg("<text>&x;</text>", '<!DOCTYPE svg [<!ENTITY x SYSTEM "secret.txt">]>'),
    "a file as a parameter": lambda: svg("", '<!DOCTYPE svg [<!ENTITY % x SYSTEM "secret.txt"> %x;]>'),
    "a pipe as its type": lambda: svg("", '<!DOCTYPE svg SYSTEM "pipe">'),
    "a network as its type": lambda: svg("", '<!DOCTYPE svg PUBLIC "x" "http://127.0.0.1:9/x.dtd">'),
    "a picture outside": lambda: svg('<image href="file:///etc/passwd" width="5" height="5"/>'),
    "a copy outside": lambda: svg('<use href="secret.svg#a"/>'),
    "a copy of itself": lambda: svg('<g id="a"><use href="#a"/></g>'),
    "an inclusion": lambda: svg('<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="secret.txt"/>'),
    "a style sheet": lambda: '<?xml-stylesheet href="file:///etc/passwd" type="text/xsl"?>' + svg(""),
    "groups without end": lambda: svg("<g>" * 50_000),
    "transforms without end": lambda: svg(f'<g transform="{"scale(1)" * 100_000}?"><circle r="2"/></g>'),
    "a transform of blanks": lambda: svg(f'<g transform="scale(1){" " * 7_000_000}?"><circle r="2"/></g>'),
    "a number without end": lambda: svg(f'<path d="M0 0 L {"9" * 7_000_000} 1 z"/>'),
    "a view without end": lambda: _SVG.format("").replace("0 0 100 100", f"0 0 {'9' * 7_000_000} 1"),
    "numbers beyond any": lambda: svg('<path d="M0 0 L 1e308 1e308 L -1e308 1e308 z"/>'),
    "a circle beyond any": lambda: svg('<circle r="1e12"/>'),
    "a path of a million pieces": lambda: svg(f'<path d="M0 0 {"L1 1 0 0 " * 400_000}"/>'),
    "thousands of shapes": lambda: svg('<circle r="2"/>' * 60_000),
    "a curve that turns and turns": lambda: svg(f'<path d="M0 0 {"C 90000 90000 -90000 90000 0 0 " * 3000}"/>'),
    "marks in a name": lambda: svg('<path id="a&#x9b;31m&#x202e;" d="M0 0 L 5 5"/>'),
    "a script": lambda: svg("<script>while(true);</script>"),
    "another code": lambda: '<?xml version="1.0" encoding="utf-7"?>' + svg(""),
    "nothing at its end": lambda: "\0" * 1000,
}
DXFS: dict[str, Callable[[], str]] = {
    "blocks in blocks": lambda: dxf(insert("B0"), _NESTED),
    "a block in itself": lambda: dxf(insert("A"), block("A", insert("A") * 2)),
    "blocks in a ring": lambda: dxf(insert("A"), block("A", insert("B")) + block("B", insert("A"))),
    "rows and columns": lambda: dxf(insert("A", rows=30_000, columns=30_000), block("A", line(0, 0, 1, 1))),
    "another drawing": lambda: dxf(insert("A"), block("A", "", "secret.dxf")),
    "coordinates beyond any": lambda: dxf(line(0, 0, "1e308", "-1e308")),
    "coordinates that are none": lambda: dxf(line(0, 0, "nan", "inf")),
    "far away": lambda: dxf(line("1e9", "1e9", "1000000001", "1e9")),
    "a spline of high degree": lambda: dxf(spline(400, 401)),
    "a spline of many pieces": lambda: dxf(spline(3, 20_000)),
    "thousands of lines": lambda: dxf(line(0, 0, 1, 1) * 25_000),
    "marks in a layer": lambda: dxf(line(0, 0, 5, 5, "\x1b[31m\u202elayer")),
    "a circle without end": lambda: dxf(pairs(0, "CIRCLE", 8, 0, 10, 0, 20, 0, 30, 0, 40, "1e300")),
    "sections without end": lambda: pairs(0, "SECTION") * 100_000,
    "a picture outside": lambda: dxf(pairs(0, "IMAGE", 8, 0, 10, 0, 20, 0, 30, 0, 340, "FF")),
    "a program of its own": lambda: dxf(pairs(0, "OLE2FRAME", 8, 0, 310, "4D5A" * 40)),
}
CASES = [(n, "svg", f) for n, f in SVGS.items()] + [(n, "dxf", f) for n, f in DXFS.items()]
QUICK = {"entities that grow", "a file as an entity", "a block in itself"}


def tried(folder: Path, ending: str, content: str) -> str:
    """What `check` says of a board with a pocket of that drawing."""
    (folder / "secret.txt").write_text(_SECRET)
    (folder / "secret.svg").write_text(svg(f'<circle id="a" r="{3}"/><text>{_SECRET}</text>'))
    if hasattr(os, "mkfifo"):
        os.mkfifo(folder / "pipe")
    (folder / f"a.{ending}").write_text(content, encoding="utf-8")
    job = folder / "board.yaml"
    job.write_text(
        board() + f"      - pocket: {{bit: eighth, drawing: a.{ending}, depth: 1, place: [60, 0]}}\n", encoding="utf-8"
    )
    with bounded():
        return run("check", job, "--pitch", "0.5", code=2)


@pytest.mark.parametrize(
    ("ending", "made"),
    [pytest.param(e, f, id=n, marks=() if n in QUICK else pytest.mark.slow) for n, e, f in CASES],
)
def test_a_hostile_drawing_is_refused_in_words(tmp_path: Path, ending: str, made: Callable[[], str]) -> None:
    said = tried(tmp_path, ending, made())
    assert "board.yaml:19:" in said
    assert "pocket.drawing" in said
    assert _SECRET not in said
    assert "" == commands_to(said)
    assert max(map(len, said.splitlines())) < 600
