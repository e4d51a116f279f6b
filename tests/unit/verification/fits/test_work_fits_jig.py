"""Whether board and neck go onto their jig: every line fits as written, and the one that is changed does not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely.affinity import translate
from typer.testing import CliRunner

from tests.support.jig_jobs import JigJobs
from toolpaths.cli import app
from toolpaths.job.cut_kind import CutKind
from toolpaths.pipeline.design import read_design
from toolpaths.target_shape.demand import Demand, Target
from toolpaths.verification.fits.fit_parts import FitRow, Verdict
from toolpaths.verification.fits.work_fits_jig import LaidOut, fit_jig


def laid(path: Path) -> LaidOut:
    design = read_design(path)
    return LaidOut(design.loaded.job_hash, design.contexts, design.target)


def rows(jig: LaidOut, *works: LaidOut) -> dict[str, FitRow]:
    return {row.what: row for row in fit_jig(jig, works)}


def moved(it: LaidOut, kind: CutKind, by: float, only: int | None = None) -> LaidOut:
    """The same with shapes of a kind moved along x."""

    def shifted(demands: tuple[Demand, ...]) -> tuple[Demand, ...]:
        mine = [d for d in demands if d.kind is kind]
        chosen = mine if only is None else mine[only : only + 1]
        return tuple(replace(d, asked=translate(d.asked, by, 0)) if d in chosen else d for d in demands)

    return replace(it, target=Target({name: shifted(ds) for name, ds in it.target.demands.items()}))


@pytest.mark.parametrize("handed", ["right", "left"])
@pytest.mark.parametrize("seat", ["", "      - seat: {bit: quarter, for: neck, depth: 2, room: 3}\n"])
def test_as_written_every_line_fits(tmp_path: Path, handed: str, seat: str) -> None:
    files = JigJobs(handed=handed, seat=seat).write(tmp_path)
    found = rows(laid(files["jig"]), laid(files["board"]), laid(files["neck"]))
    assert {row.verdict for row in found.values()} == {Verdict.fits}
    assert {
        "board, face: pin 1", "board, face: bore of pin 1", "neck, back: pin 2", "neck, back: bore of pin 2",
        "neck, face: screws", "neck, face: cam", "board, bores: end stop", "neck, back: cuts into the jig",
        "board, face: the jig's screws",
    } <= set(found)  # fmt: skip


@settings(max_examples=4, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(
    handed=st.sampled_from(["right", "left"]),
    moved_by=st.tuples(st.floats(-4, 10), st.floats(-10, 10), st.floats(-4, 4)),
    y=st.floats(-12, 12),
    d=st.floats(4.0, 7.5),
)
def test_in_varied_numbers_every_line_fits(
    tmp_path: Path, handed: str, moved_by: tuple[float, float, float], y: float, d: float
) -> None:
    """The nut line elsewhere in each blank, pins off the centreline and of any width: the places are the jobs' own."""
    board, neck, jig = moved_by
    numbers = JigJobs(
        handed=handed,
        board_nut_at=round(40 + board, 3),
        neck_nut_at=round(122 + neck, 3),
        jig_nut_at=round(152 + jig, 3),
        neck_pins=((-104.0, round(y, 3), round(d, 3)), (225.0, -9.0, 8.0)),
    )
    files = numbers.write(tmp_path)
    found = rows(laid(files["jig"]), laid(files["board"]), laid(files["neck"]))
    assert {row.verdict for row in found.values()} == {Verdict.fits}, numbers


@pytest.mark.parametrize(("by", "fits"), [(0.04, True), (0.06, False), (-0.06, False)])
@pytest.mark.parametrize(
    ("kind", "what"),
    [
        (CutKind.jig_pin, "board, face: pin 1"),
        (CutKind.pilot_hole, "neck, face: screws"),
        (CutKind.stop_pin, "board, bores: end stop"),
    ],
)
def test_a_hole_of_the_jig_that_is_off_does_not_fit(
    tmp_path: Path, kind: CutKind, what: str, by: float, fits: bool
) -> None:
    """Within 0.05 mm."""
    files = JigJobs().write(tmp_path)
    found = rows(moved(laid(files["jig"]), kind, by), laid(files["board"]), laid(files["neck"]))
    if kind is CutKind.stop_pin and by > 0.05:
        # Toward the blank it stands in it, and out of the stop's place.
        assert found[what].verdict is not Verdict.fits
    else:
        assert (found[what].verdict is Verdict.fits) == fits


@pytest.mark.parametrize(("by", "fits"), [(0.04, True), (0.06, False)])
def test_a_bore_of_the_work_that_is_off_does_not_fit(tmp_path: Path, by: float, fits: bool) -> None:
    files = JigJobs().write(tmp_path)
    found = rows(laid(files["jig"]), moved(laid(files["neck"]), CutKind.pin_hole, by, 1))
    assert (found["neck, back: bore of pin 2"].verdict is Verdict.fits) == fits
    assert found["neck, back: bore of pin 1"].verdict is Verdict.fits


def test_a_screw_without_its_hole_does_not_fit(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    found = rows(moved(laid(files["jig"]), CutKind.pilot_hole, 40.0, 0), laid(files["neck"]))
    assert found["neck, face: screws"].verdict is Verdict.no


def test_a_cut_too_deep_into_the_jig_does_not_fit(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    board = laid(files["board"])
    deeper = tuple(replace(d, reach=0.5) for d in board.target.demands["bores"])
    board = replace(board, target=Target({**board.target.demands, "bores": deeper}))
    assert rows(laid(files["jig"]), board)["board, bores: cuts into the jig"].verdict is Verdict.no


def test_a_jig_that_is_another_s_does_not_fit(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    jig = replace(laid(files["jig"]), job_hash="0123456789ab")
    assert rows(jig, laid(files["neck"]))["neck, back: the jig"].verdict is Verdict.no


def test_work_that_does_not_lie_on_it_is_worth_a_look(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    text = files["neck"].read_text(encoding="utf-8").replace("jig: jig.yaml, ", "")
    text = text.replace("{x: jig, y: jig, z: jig seat}", "{x: nut, y: centreline, z: bed}")
    text = text.replace(", pins: {height: 12}", "")
    files["neck"].write_text(text, encoding="utf-8")
    (row,) = fit_jig(laid(files["jig"]), [laid(files["neck"])])
    assert row.verdict is Verdict.look


def test_the_command_lays_the_jig_beside_both(tmp_path: Path) -> None:
    files = {name: str(path) for name, path in JigJobs().write(tmp_path).items()}
    said = CliRunner().invoke(app, ["fit", files["board"], files["neck"], files["jig"]])
    assert "Fit of jig and work" in said.stdout
    assert "neck, back: bore of pin 2" in said.stdout
    wrong = CliRunner().invoke(app, ["fit", files["board"], files["neck"], files["neck"]])
    assert 2 == wrong.exit_code
    assert "then a jig's" in wrong.stderr
