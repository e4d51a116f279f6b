"""Whole small works of every shape of bit are what exact solids leave; `docs/proof.md` has the figures."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from tests.outside.cut_work import FOLDER_OF_JOBS, SHAPES, by_hand, form_of, works_of
from tests.outside.exact_wood import Form, Piece, left
from tests.outside.swept_volume import volumes
from tests.outside.whole_jobs import ANYWHERE, CHORD, JOBS, PAGE, ROUNDING, ROWS, Compared, compared, outside
from tests.tamper.described import document

HERE = Path(__file__).parent
POCKET = 0.0011
"""What a volume may be off by at 0.1 mm cells: measured for a pocket before the map was built; no public source."""


def test_the_table_has_a_row_for_every_work_and_shape() -> None:
    page = PAGE.read_text(encoding="utf-8")
    text = page[page.index("<!-- solids -->") : page.index("<!-- end of solids -->")]
    heights, volume = text.split("further centres nothing cuts")
    found = re.findall(r"^\| ([^|*]+?) \| ([a-z ]+) \|", heights, re.M)
    assert [(name, shape) for name, shapes in ROWS for shape in shapes] == [r for r in found if r[0] != "work"]
    assert list(SHAPES) == re.findall(r"^\| \*\*all\*\* \| ([a-z ]+) \|", heights, re.M)
    assert {shape for _, shapes in ROWS for shape in shapes} == set(SHAPES)
    assert all(f"| by hand, {shape} |" in volume for shape in SHAPES)
    assert "100,000 cells at random" in heights


@pytest.mark.parametrize("job", JOBS)
def test_the_rows_name_the_shapes_of_the_jobs_bits(job: str) -> None:
    path = FOLDER_OF_JOBS / f"{job}.yaml"
    for setup in document(path)["setups"]:
        bits = {bit for feature in setup["features"] for keys in feature.values() for bit in [keys["bit"]]}
        shapes = dict(ROWS)[f"{job}, {setup['name']}"]
        assert set(shapes) == {form_of(path, bit).kind for bit in bits}


def test_the_exact_heights_share_no_code_with_the_product() -> None:
    for name in ("exact_wood.py", "swept_volume.py"):
        assert "toolpaths" not in (HERE / name).read_text(encoding="utf-8")


FORMS = {
    "flat": Form("flat", 2.0),
    "ball": Form("ball", 2.0),
    "bull": Form("bull", 2.0, corner=0.7),
    "tapered ball": Form("tapered ball", 2.0, 1.0, 30.0),
    "vee": Form("vee", 2.0, 0.4, 90.0),
    "drill": Form("drill", 2.0, 0.0, 118.0),
}
QUARTER = {"axes": (0, 1, 2), "centre": (0.0, 3.0), "turn": np.pi / 2}
MOVES = {
    "level": Piece(1, np.array([0.0, 0.0, 1.0]), np.array([3.0, 2.0, 1.0])),
    "ramp": Piece(1, np.array([0.0, 0.0, 1.0]), np.array([3.0, 2.0, 2.5])),
    "level arc": Piece(1, np.array([0.0, 0.0, 1.0]), np.array([3.0, 3.0, 1.0]), **QUARTER),  # type: ignore[arg-type]
    "rising arc": Piece(1, np.array([0.0, 0.0, 1.0]), np.array([3.0, 3.0, 2.0]), **QUARTER),  # type: ignore[arg-type]
}


@pytest.mark.parametrize("shape", FORMS)
@pytest.mark.parametrize("way", MOVES)
def test_the_exact_height_is_the_least_of_a_bit_set_down_all_along(shape: str, way: str) -> None:
    form, piece = FORMS[shape], MOVES[way]
    points = np.random.default_rng(5).uniform(-2, 5, (200, 2))
    tips = piece.at(np.linspace(0.0, 1.0, 4001))
    away = np.hypot(tips[:, 0] - points[:, :1], tips[:, 1] - points[:, 1:])
    plainly = np.minimum((tips[:, 2] + form.height(away)).min(axis=1), 5.0)
    exact = left({1: form}, [piece], points, 5.0).heights
    assert np.count_nonzero(plainly < 5.0) > 20
    # Places 0.0012 mm apart: never lower than the truth, and higher by half a step on the steepest side, 75 degrees;
    # within a step of an upright rim, where heights leap, by more.
    assert np.all(exact <= plainly + 1e-9)
    near_rim = np.abs(away.min(axis=1) - form.radius) < 0.02
    assert np.all(plainly - exact <= np.where(near_rim, 5.0, 0.0012 * 4))


@pytest.mark.slow
@pytest.mark.parametrize("job", JOBS)
def test_a_whole_job_leaves_what_exact_solids_leave(job: str) -> None:
    works = works_of(job)
    assert [name for name, _ in ROWS if name.startswith(job)] == [work.name for work in works]
    for work in works:
        holds(compared(work, 4_000))


@pytest.mark.slow
@pytest.mark.parametrize("shape", SHAPES)
def test_a_program_by_hand_leaves_what_exact_solids_leave(shape: str) -> None:
    work = by_hand(shape)
    holds(compared(work, 4_000))
    low, high = volumes(work.forms, work.pieces, work.box, work.top, around=24)
    assert POCKET >= outside(work.removed, low, high)


def holds(found: Compared) -> None:
    """The limits: to the last digit kept on straight moves, a tenth of a micrometre anywhere, a chord by arcs."""
    name, cells, anywhere = found.name, found.cells, found.anywhere
    assert np.count_nonzero(cells.shape >= 0) > 150, name
    assert ROUNDING >= cells.error[~cells.curved].max(), name
    assert ANYWHERE >= anywhere.error[~anywhere.curved].max(), name
    assert CHORD >= max(cells.strays, anywhere.strays), name
    # Beyond all cuts the blank stands as it was.
    assert 0.0 == cells.error[cells.shape < 0].max(initial=0.0), name
