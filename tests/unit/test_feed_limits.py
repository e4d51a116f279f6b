"""No move of a program asks more of an axis than its machine feeds, whatever was to be cut: read by a reader apart."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.support.made import laid_out
from tests.support.setup_builder import CUTTING, context
from tests.support.text_moves import PLANES, TextMove, TextReader
from toolpaths.common.errors import JobError
from toolpaths.gcode.writer.formatting import GcodeFormat
from toolpaths.gcode.writer.move_lines import MoveLines
from toolpaths.job.changes import Changes
from toolpaths.job.files.machine_file import load_machine
from toolpaths.job.machine import Axes, Machine
from toolpaths.pipeline.build import lay_out_loaded
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.run import make
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Step
from toolpaths.verification.finding import Severity

SHIPPED = ("bench-router", "hand-dial", "shop-gantry", "small-frame")
JOBS = sorted([*Path("demo_jobs").glob("*.yaml"), *Path("tests/cases").glob("*.yaml")])


def over(moves: Iterable[TextMove], machine: Machine) -> list[tuple[str, float]]:
    """Moves that ask too much: for each the axis and by how much, in parts of the limit."""
    unit = 25.4 if machine.units == "in" else 1.0
    limits = [limit / unit for limit in machine.feed_limit.as_tuple()]
    # The feed's own last digit: 0.1 mm or 0.01 inch a minute.
    digit = 0.1 if machine.units == "mm" else 0.01
    found = []
    for move in moves:
        if not move.code or not move.length:
            continue
        parts = [abs(e - s) / move.length for s, e in zip(move.start, move.end, strict=True)]
        if move.sweep:
            # The steepest of many short pieces.
            places = np.array(list(move.points(move.length / 64)))
            steps = np.abs(np.diff(places, axis=0))
            pieces = steps / np.linalg.norm(steps, axis=1)[:, None]
            parts = pieces.max(axis=0).tolist()
        for axis, part, limit in zip("XYZ", parts, limits, strict=True):
            # The pieces of an arc are shorter than it is, by a ten-thousandth.
            if (move.feed - digit / 2 - 1e-9) * part > limit * (1 + (2e-4 if move.sweep else 1e-5)):
                found.append((axis, move.feed * part / limit))
    return found


@pytest.mark.parametrize(
    ("job", "others"),
    [
        # Each on its own machine, small ones on one of the others in turn; on two more in the slow suites.
        *((job, SHIPPED[k % len(SHIPPED)] if job.parent.name == "cases" else ()) for k, job in enumerate(JOBS)),
        *(
            pytest.param(job, (SHIPPED[k % 4 - 1], SHIPPED[k % 4 - 2]), marks=pytest.mark.slow)
            for k, job in enumerate(JOBS)
        ),
    ],
    ids=lambda v: v.stem if isinstance(v, Path) else v if isinstance(v, str) else "others",
)
def test_every_job_on_every_machine_keeps_to_its_limits(job: Path, others: str | tuple[str, ...]) -> None:
    loaded = load_job(job)
    for name in (loaded.job.machine, *(n for n in SHIPPED if n in others and n != loaded.job.machine)):
        own = name == loaded.job.machine
        machine = loaded.machine if own else load_machine(name)
        try:
            layout = laid_out(job) if own else lay_out_loaded(replace(loaded, machine=machine), Changes())
        except JobError:
            # It asks for a speed or a feed that this machine has not; its own has.
            assert not own
            continue
        moves = [m for _, p in layout.own for m in TextReader().read(p.text.splitlines())]
        assert any(m.code for m in moves)
        assert [] == over(moves, machine)


STAR = """\
title: carve
units: mm
machine: MACHINE
wood: mahogany
instrument:
  scale_length: 344
  frets: 12
  strings: 4
  board: {width: {nut: 40, end: 46}, overhang: 9.1, thickness: 4.9}
stock: {length: 239, width: 62, thickness: 4.9}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 17.2
    hold: tape
    features:
      - engraving: {bit: vee60, drawing: star.svg, follow: shapes, depth: DEPTH, place: [90, 0], rotate: TURN}
"""
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="-10 -20 60 40"><polygon points="'
    "7.1,0 2.9933,-2.1748 2.194,-6.7524 -1.1433,-3.5188 -5.744,-4.1733 -3.7,0 -5.744,4.1733 -1.1433,3.5188 "
    '2.194,6.7524 2.9933,2.1748"/><circle cx="-0.6" cy="0.3" r="0.95"/></svg>'
)


@pytest.mark.parametrize(
    ("name", "depth", "turn"),
    [
        ("bench-router", "1.5", "0"),
        pytest.param("bench-router", "1.1", "200.3", marks=pytest.mark.slow),
        ("hand-dial", "0.4", "37"),
        ("shop-gantry", "1.1", "200.3"),
        pytest.param("shop-gantry", "0.4", "37", marks=pytest.mark.slow),
        pytest.param("small-frame", "1.5", "0", marks=pytest.mark.slow),
    ],
)
def test_a_carving_rises_and_falls_within_the_limits_and_passes_its_judge(
    tmp_path: Path, name: str, depth: str, turn: str
) -> None:
    (tmp_path / "star.svg").write_text(SVG, encoding="utf-8")
    text = STAR.replace("MACHINE", name).replace("DEPTH", depth).replace("TURN", turn)
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    outcome = make(tmp_path / "job.yaml", Changes(pitch=1.0))
    assert [] == [f.message for f in outcome.findings if f.severity is Severity.stop]
    assert [] == over(TextReader().read(outcome.programs[0].text.splitlines()), load_machine(name))


@pytest.mark.parametrize("name", [*SHIPPED, "uneven"])
def test_any_move_at_any_feed_is_slowed_to_what_every_axis_bears(name: str) -> None:
    """Straight moves of a thousandth of a millimetre and of a hundred, helices, and hollows along both axes."""
    machine = load_machine("shop-gantry" if name == "uneven" else name)
    if name == "uneven":
        machine = machine.model_copy(update={"feed_limit": Axes(x=900, y=2500, z=70)})
    at, rng = context(machine=machine), np.random.default_rng(3)
    slowed = 0
    for trial in range(32):
        x, y, z = 80.0, 3.0, 10.0
        steps: list[Step] = []
        for _ in range(40):
            feed = 10 ** float(rng.uniform(1, 4))
            run, fall = 10 ** rng.uniform(-3, 2, 2)
            angle = float(rng.choice([0, np.pi / 2, float(rng.uniform(0, 2 * np.pi))]))
            down = z + float(rng.choice([-1, 0, 1])) * float(fall) / 10
            ex, ey = x + float(run) * math.cos(angle), y + float(run) * math.sin(angle)
            if rng.random() < 0.5:
                steps.append(Feed(ex, ey, down, feed))
            else:
                steps.append(Arc(ex, ey, down, (x + ex) / 2, (y + ey) / 2, bool(rng.random() < 0.5), feed))
            x, y, z = ex, ey, down
        if trial % 4 == 0:
            # A hollow along one axis: an arc in an upright plane where the machine takes it.
            feed = 10 ** float(rng.uniform(2, 4))
            hollow = [(40 * math.sin(t), 40 - 40 * math.cos(t)) for t in np.linspace(-0.7, 0.7, 500)]
            place = [(x + h, y, z + up) if trial % 8 else (x, y + h, z + up) for h, up in hollow]
            steps += [Feed(*p, feed) for p in place]
        lines = MoveLines(GcodeFormat(machine), at, 0.0)
        lines.steps((Rapid(80.0, 3.0, 10.0), *steps), CUTTING.feeds)
        assert [] == over(TextReader().read(lines.lines), machine)
        told = {float(word.rpartition("F")[2]) for word in lines.lines if "F" in word}
        asked = {float(lines.form.feed(s.feed)) for s in steps if not isinstance(s, Rapid)}
        slowed += len(told - asked)
        upright = any(line in ("G18", "G19") for line in lines.lines)
        assert upright <= (machine.arcs == "all planes")
    assert slowed > 25


def test_a_move_that_an_axis_is_too_slow_for_takes_the_next_feed_of_its_job() -> None:
    at = context(machine=load_machine("bench-router"))  # 1000 mm/min in Z
    lines = MoveLines(GcodeFormat(at.machine), at, 0.0)
    # CUTTING: 1000, 700, 200. At 60 degrees 1154.7 mm/min ask 1000 of Z; derived.
    steep = 10 * math.tan(math.radians(60))
    lines.steps((Rapid(0, 0, 30), Feed(10, 0, 30 - steep, 1200), Feed(20, 0, 30, 1150)), CUTTING.feeds)
    assert ["F1000", "F1150"] == [line.split()[-1] for line in lines.lines if line.startswith("G1")]


def test_planes_of_the_small_reader_are_those_of_the_standard() -> None:
    assert {17: "IJ", 18: "KI", 19: "JK"} == {plane: i + j for plane, (_, _, i, j) in PLANES.items()}
