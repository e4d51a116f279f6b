"""Whatever a text holds, the reader either understands all of it or names the line that it refuses."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.common.errors import ReadError
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import flattened

SOUP = st.lists(
    st.sampled_from(
        [
            *"GMNXYZIJKFSTPRAO0123456789.-+()%/;#[] \n\n\t",
            *("G0", "G1 X1", "G2 X2 I1", "F9", "G21", "G91", "M3", "M30", "G0 X0 Y0 Z0", "1e9"),
            *("(Bit 2: a)", "(Lifted: 1 mm)", "(Feature a: b)", "\nG90\n", "\r\n", "\u00e9"),
        ]
    ),
    max_size=60,
).map("".join)


@given(st.one_of(st.text(max_size=200), SOUP))
def test_a_text_is_read_or_refused_with_a_line_that_it_has(text: str) -> None:
    trace = refusal = None
    try:
        trace = read(text)
    except ReadError as error:
        refusal = error
    if refusal is not None:
        assert 1 <= refusal.line <= text.count("\n") + 1
        assert refusal.problem
    if trace is not None:
        cuts = trace.kind > 0
        assert np.isfinite(trace.start[cuts]).all()
        assert np.isfinite(trace.end[cuts]).all()
        assert (trace.feed[cuts] > 0).all()
        assert np.isfinite(flattened(trace, (0.0, 0.0, 0.0)).end).all()
        assert ((trace.line >= 1) & (trace.line <= trace.lines)).all()


@given(SOUP)
def test_a_comment_changes_no_move(text: str) -> None:
    inside = "".join(c for c in text if c not in "()\n\r\u00e9")[:200]
    plain = read("G21 G90\nG0 X1 Y2 Z3\nF9\nG1 X2\nM2\n")
    told = read(f"G21 G90\nG0 X1 Y2 Z3 ({inside})\n({inside})\nF9\nG1 ({inside}) X2\nM2\n")
    assert plain.end.tolist() == told.end.tolist()
    assert plain.feed.tolist() == told.feed.tolist()
