"""A drawing as DXF: mm, one layer a kind, circles as circles, outlines as polylines with bulges."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from toolpaths.reports.drawings_out.marks import Circle, Line, Mark, OutlineMark, OutputDrawing, style_of
from toolpaths.reports.text.words import plain

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

_MM = 4
"""$INSUNITS of millimetres, by the DXF reference."""


def dxf(drawing: OutputDrawing) -> bytes:
    """A DXF file of the 2000 edition, which most cutters read. The same drawing gives the same bytes."""
    import ezdxf
    from ezdxf.filemanagement import new
    from ezdxf.lldxf.const import DXFError

    # As the library documents them; its types do not name them.
    options = ezdxf.options  # type: ignore[attr-defined]
    fixed = options.write_fixed_meta_data_for_testing
    # No clock and no random mark in the file.
    options.write_fixed_meta_data_for_testing = True
    try:
        doc = new("R2000")
        doc.header["$INSUNITS"] = _MM
        doc.header["$MEASUREMENT"] = 1
        for name in drawing.layers:
            style = style_of(name)
            layer = doc.layers.add(name, true_color=int(style.colour[1:], 16), lineweight=_weight(style.width))
            if style.dashes:
                # The whole length first; strokes are positive, gaps negative.
                signed = [d if i % 2 == 0 else -d for i, d in enumerate(style.dashes)]
                layer.dxf.linetype = f"DASHES OF {name.upper()}"
                doc.linetypes.add(layer.dxf.linetype, [sum(style.dashes), *signed], description="")
        space = doc.modelspace()
        for name, marks in drawing.layers.items():
            for mark in marks:
                _put(space, name, mark)
        text = io.StringIO()
        doc.write(text)
        return text.getvalue().encode(doc.output_encoding, errors="dxfreplace")
    except DXFError as error:  # pragma: no cover
        raise OSError(f"the drawing cannot be written as DXF: {error}") from error
    finally:
        options.write_fixed_meta_data_for_testing = fixed


def _put(space: Modelspace, layer: str, mark: Mark) -> None:
    on = {"layer": layer}
    if isinstance(mark, Line):
        space.add_line(mark.start, mark.end, dxfattribs=on)
    elif isinstance(mark, Circle):
        space.add_circle((mark.x, mark.y), mark.radius, dxfattribs=on)
    elif isinstance(mark, OutlineMark):
        rows = [(float(x), float(y), float(b)) for (x, y), b in zip(mark.loop.points, mark.loop.bulges, strict=True)]
        space.add_lwpolyline(rows, format="xyb", close=True, dxfattribs=on)
    else:
        from ezdxf.enums import TextEntityAlignment as At

        anchor = {"start": At.LEFT, "middle": At.CENTER, "end": At.RIGHT}[mark.anchor]
        # A caret or a double percent would be read as a control word.
        words = plain(mark.text).replace("^", " ").replace("%%", "% %")
        text = space.add_text(words, height=mark.height, dxfattribs=on)
        text.set_placement((mark.x, mark.y), align=anchor)


def _weight(width: float) -> int:
    """The nearest line weight of the standard's list, in hundredths of a mm."""
    from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS

    return min(VALID_DXF_LINEWEIGHTS, key=lambda w: abs(w - 100 * width))
