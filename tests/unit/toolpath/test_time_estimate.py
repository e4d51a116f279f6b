"""The header's minutes, estimated before the text is there, against those of the text itself."""

from __future__ import annotations

from pathlib import Path

import pytest

from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import flattened
from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import lay_out
from toolpaths.simulation.machine_time import times_of

CASES = Path(__file__).parents[2] / "cases"


@pytest.mark.parametrize("machine", ["bench-router", "hand-dial", "small-frame", "shop-gantry"])
@pytest.mark.parametrize("job", ["short_board", "drawn_board"])
def test_the_header_estimates_what_the_text_takes(tmp_path: Path, job: str, machine: str) -> None:
    """Arcs, chords, upright arcs, milliseconds, pauses by hand, bits changed by the machine: the same within 0.5 %."""
    text = (CASES / f"{job}.yaml").read_text(encoding="utf-8")
    text = text.replace("machine: bench-router", f"machine: {machine}").replace("offset: G55", "offset: G54")
    text = text.replace("drawing: ../..", f"drawing: {CASES.parents[1]}").replace(
        "drawing: drawings", f"drawing: {CASES}/drawings"
    )
    path = tmp_path / "job.yaml"
    path.write_text(text, encoding="utf-8")
    layout = lay_out(path, Changes())
    for batch, program in layout.own:
        trace = read(program.text, program.beside)
        found = times_of(trace, flattened(trace, layout.contexts[batch.setup].zero), layout.loaded.machine)
        assert program.minutes == pytest.approx(found.minutes, rel=0.005), program.name
        assert program.feature_minutes == pytest.approx(found.by_feature, rel=0.01, abs=0.002), program.name
