"""The coupon: every fit of a job once, proven like any program, and what its measured widths say of the bits."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import Point

from toolpaths.common.errors import JobError
from toolpaths.features.calibration.coupon import Coupon, coupon_of, fits_of, true_bits
from toolpaths.job.changes import Changes
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.setup_context import setup_context_of
from toolpaths.pipeline.build import lay_out_loaded
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.prove import prove
from toolpaths.reports.pages.coupon_page import coupon_table
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[4]
NECK = ROOT / "demo_jobs" / "tenor_neck.yaml"
BOARD = ROOT / "demo_jobs" / "tenor_board.yaml"
RODS = ROOT / "tests" / "cases" / "rod_neck.yaml"
INCH = ROOT / "demo_jobs" / "parlour_board_inch.yaml"


def coupon(path: Path, *size: float) -> Coupon:
    return coupon_of(load_job(path), (size[0], size[1], size[2]) if size else None)


def proven(made: Coupon, pitch: float = 0.2) -> Outcome:
    return prove(lay_out_loaded(made.loaded, Changes(pitch=pitch)))


def loaded(folder: Path, path: Path, *edits: tuple[str, str]) -> LoadedJob:
    text = path.read_text(encoding="utf-8")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    copy = folder / path.name
    copy.write_text(text, encoding="utf-8")
    return load_job(copy)


# What it tries


def test_it_tries_every_fit_of_a_neck_once() -> None:
    found = [(f.name, round(f.wanted, 3)) for f in coupon(NECK).fits]
    assert [
        ("rod", 6.4), ("adjuster", 12.0), ("bars", 3.4), ("nut", 3.3), ("tuner", 8.0), ("hole", 3.4),
        ("locating", 2.5), ("bolt", 5.0), ("pin1", 6.0), ("pin2", 8.0),
    ] == found  # fmt: skip


def test_it_tries_the_line_the_marker_and_the_pin_of_a_board() -> None:
    found = [(f.name, f.wanted) for f in coupon(BOARD).fits]
    assert [("line", 0.5), ("marker", 6.0), ("pin", 4.0), ("locating", 2.5)] == found


def test_what_two_features_cut_alike_stands_once(tmp_path: Path) -> None:
    again = "      - marker_pockets: {bit: eighth, shape: round, diameter: 6, depth: 1.8}\n"
    other = "      - marker_pockets: {bit: eighth, shape: round, diameter: 5, depth: 1.8, frets: [3]}\n"
    job = loaded(tmp_path, BOARD, (again, again + again + other), ("instruments/", f"{BOARD.parent}/instruments/")).job
    assert ["line", "marker1", "marker2", "pin", "locating"] == [f.name for f in fits_of(job)]


def test_a_job_without_a_fit_is_told_so(tmp_path: Path) -> None:
    text = (ROOT / "tests" / "cases" / "short_board.yaml").read_text(encoding="utf-8")
    kept = [line for line in text.splitlines() if not re.search("score_lines|marker_pockets|pin_bores", line)]
    path = tmp_path / "plain.yaml"
    path.write_text("\n".join(kept), encoding="utf-8")
    with pytest.raises(JobError) as error:
        coupon_of(load_job(path))
    assert "this job has nothing for a coupon to try" == error.value.problems[0].problem


# Where it lies


@pytest.mark.parametrize("path", [NECK, BOARD, RODS, INCH], ids=lambda p: p.stem)
def test_the_pieces_keep_apart_and_inside_the_scrap(path: Path) -> None:
    made = coupon(path)
    context = next(iter(lay_out_loaded(made.loaded, Changes()).contexts.values()))
    shapes = [next(piece.demands(context)).asked for piece in made.pieces]
    x0, y0, x1, y1 = context.stock_box
    for i, shape in enumerate(shapes):
        across = made.pieces[i].across
        edge = min(shape.bounds[0] - x0, x1 - shape.bounds[2])
        edge = edge if across else min(edge, shape.bounds[1] - y0, y1 - shape.bounds[3])
        assert edge >= 6.0
        assert all(shape.distance(other) >= 4.9 for other in shapes[i + 1 :])


def test_a_scrap_too_small_is_refused_with_a_length_that_does() -> None:
    with pytest.raises(JobError) as error:
        coupon(NECK, 60, 60, 10)
    problem = error.value.problems[0]
    assert ("--stock", "10 pieces do not fit onto a scrap of 60.00 mm x 60.00 mm x 10.00 mm") == (
        problem.key,
        problem.problem,
    )
    long = float(re.search(r"a scrap ([\d.]+) mm long", problem.hint)[1])  # type: ignore[index]
    assert 10 == len(coupon(NECK, long, 60, 10).pieces)
    with pytest.raises(JobError):
        coupon(NECK, long - 10, 60, 10)


def test_a_scrap_thinner_than_a_slot_is_deep_keeps_wood_under_it() -> None:
    depths = {p.name: p.depth for p in coupon(NECK, 160, 60, 7).pieces}
    assert (5.0, 2.0, None) == (depths["rod"], depths["nut"], depths["tuner"])


def test_a_nut_s_slot_lies_across_the_grain_and_a_rod_s_along_it() -> None:
    ways = {p.name: (p.end[0] - p.start[0], p.end[1] - p.start[1]) for p in coupon(NECK).pieces}
    assert (True, True) == (ways["nut"][0] == 0 < ways["nut"][1], ways["rod"][1] == 0 < ways["rod"][0])


# That it is proven


@pytest.mark.parametrize("path", [NECK, BOARD, RODS, INCH], ids=lambda p: p.stem)
def test_its_programs_pass_every_check(path: Path) -> None:
    found = proven(coupon(path)).findings
    # A scrap lies on tape, and some of the job's bits are up-cut spirals; a slot a hair wider than its bit has skims
    # of a hair, and a line may be wider than the saw: these are worth a word, and nothing else is said.
    assert {"spiral", "chip-thin", "kerf"} >= {f.code for f in found}
    assert not any(f.severity is Severity.stop for f in found)
    assert not any(f.code == "chip-thin" and f.severity is Severity.warn for f in found)


def test_a_piece_cut_too_deep_in_the_text_is_stopped() -> None:
    made = coupon(RODS)
    layout = lay_out_loaded(made.loaded, Changes(pitch=0.2))
    program = layout.own[0][1]
    deeper = re.sub(r"Z-8(?=[ \n])", "Z-8.03", program.text)
    assert deeper != program.text
    findings = prove(layout, {0: replace(program, text=deeper)}).findings
    assert ("gouge", "rod") in {(f.code, f.feature) for f in findings if f.severity == "stop"}


def test_a_fit_is_cut_as_the_job_cuts_it() -> None:
    """The same bit, width and settings; only the length is the coupon's."""
    made = coupon(RODS)
    context = next(iter(lay_out_loaded(made.loaded, Changes()).contexts.values()))
    whole = load_job(RODS)
    own = setup_context_of(whole.job, whole.machine, whole.wood, whole.job.setups[0])
    for feature, piece in zip(("rod", "nut", "bars"), (0, 2, 3), strict=True):
        mine = next(made.pieces[piece].operations(context))
        theirs = next(made.fits[piece].feature.operations(own))
        assert feature == made.fits[piece].name
        assert (mine.bit, mine.width, mine.cutting) == (theirs.bit, theirs.width, theirs.cutting)  # type: ignore[union-attr]


def test_the_job_s_own_settings_go_with_it(tmp_path: Path) -> None:
    job = loaded(tmp_path, RODS, ("width: 6.4\n", "width: 6.4\n          feed: 700\n          rpm: 12000\n"))
    made = coupon_of(job)
    text = proven(made).programs[0].text
    assert ("S12000 M3" in text, "F700" in text) == (True, True)


SLOTS = "      - fret_slots: {{bit: scorer, {how}}}\n      - marker_pockets:"


@pytest.mark.parametrize(
    ("how", "wanted", "deep", "kind"),
    [
        ("depth: 1.9", 0.6, 1.9, "line"),
        ("depth: 1.9, below: radius", 0.6, 1.9, "line"),
        ("tang: {height: 1.5, width: 0.61}", 0.6, 1.9, "line"),
        ("tang: {height: 1.4, width: 0.5}, fit: 0.1, clearance: 0.3", 0.6, 1.7, "line"),
        ("tang: {height: 1.5, width: 0.74}, fit: -0.04", 0.7, 1.9, "slot"),
        ("tang: {height: 1.55, width: 0.8}, clearance: 0.2, ends: {blind: 2}", 0.8, 1.75, "slot"),
    ],
)
def test_it_tries_the_fret_slots_as_wide_and_as_deep_as_the_job_cuts_them(
    tmp_path: Path, how: str, wanted: float, deep: float, kind: str
) -> None:
    # The slot is as wide as tang and fit, or as the bit (0.6 mm) where that is within 0.02 mm.
    [instrument] = re.findall(r"instrument: (\S+)", BOARD.read_text(encoding="utf-8"))
    job = loaded(
        tmp_path,
        BOARD,
        ("diameter: 0.5,", "diameter: 0.6,"),
        ("      - marker_pockets:", SLOTS.format(how=how)),
        (f"instrument: {instrument}", f"instrument: {BOARD.parent / instrument}"),
    )
    made = coupon_of(job)
    [fit] = [f for f in made.fits if f.name == "fret"]
    assert (wanted, deep, kind) == (pytest.approx(fit.wanted), pytest.approx(fit.depth), fit.kind)
    assert (kind == "line") == fit.itself
    # Across the grain, as the frets lie: along y on the scrap.
    piece = made.pieces[made.fits.index(fit)]
    assert piece.start[0] == piece.end[0]
    outcome = proven(made)
    assert [] == [f.message for f in outcome.findings if f.severity is Severity.stop]
    said = measured_of(made, 0.66 if fit.itself else wanted + 0.06)
    assert 0.66 == pytest.approx(said)


def measured_of(made: Coupon, width: float) -> float:
    [bit] = true_bits(made.loaded.job, made.fits, [("fret", width)])
    return bit.measured


# What the widths say


def measured(path: Path, *pairs: tuple[str, float]) -> dict[str, float]:
    job = load_job(path).job
    return {b.name: b.measured for b in true_bits(job, fits_of(job), pairs)}


def test_a_slot_with_a_pass_for_each_wall_is_off_by_as_much_as_its_bit() -> None:
    # 6.35 + (6.48 - 6.40)
    assert {"quarter": pytest.approx(6.43)} == measured(NECK, ("rod", 6.48))


def test_a_slot_as_wide_as_its_bit_is_what_the_bit_cuts() -> None:
    assert {"bars": pytest.approx(3.46)} == measured(RODS, ("bars", 3.46))
    assert {"scorer": pytest.approx(0.55)} == measured(BOARD, ("line", 0.55))


def test_several_pieces_of_one_bit_count_by_their_mean_and_tell_their_spread() -> None:
    job = load_job(NECK).job
    (found,) = true_bits(job, fits_of(job), [("bars", 3.48), ("tuner", 8.04)])
    assert pytest.approx((3.175, 3.235, 0.04)) == (found.taken, found.measured, found.spread)


def test_a_bit_that_was_measured_before_is_corrected_from_there(tmp_path: Path) -> None:
    job = loaded(tmp_path, RODS, ("bits:\n", "bits:\n  six: {measured_diameter: 6.1}\n")).job
    (found,) = true_bits(job, fits_of(job), [("rod", 6.38)])
    assert pytest.approx((6.1, 6.08)) == (found.taken, found.measured)


def test_the_corrected_bit_cuts_the_slot_that_was_wanted(tmp_path: Path) -> None:
    """Round trip: a bit that truly cuts 6.12 makes a 6.52 slot of a wanted 6.40; given back, its programs make 6.40."""
    true = 6.12
    slot_as_cut = 6.4 + (true - 6.0)
    (found,) = true_bits(load_job(RODS).job, fits_of(load_job(RODS).job), [("rod", slot_as_cut)])
    assert pytest.approx(true) == found.measured
    job = loaded(tmp_path, RODS, ("bits:\n", f"bits:\n  six: {{measured_diameter: {found.measured:.4f}}}\n"))
    made = coupon_of(job)
    text = next(p for p in proven(made).programs if p.bits == ("six",)).text
    rod = text.split("Feature rod:")[1].split("Feature")[0]
    ys = [float(y) for y in re.findall(r"Y([\d.]+)", rod)]
    assert pytest.approx(6.4 - true, abs=0.0015) == max(ys) - min(ys)


def test_a_width_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match=r"would make quarter 8\.350 mm wide instead of 6\.350 mm: measure again"):
        measured(NECK, ("rod", 8.4))


def test_a_name_that_is_not_there_is_refused_with_those_that_are() -> None:
    with pytest.raises(ValueError, match="no piece is called `bar`; the coupon has line, marker, pin"):
        measured(BOARD, ("bar", 3.0))


def test_a_pointed_bit_s_line_tells_no_diameter(tmp_path: Path) -> None:
    job = load_job(BOARD, [("scorer", "vee60")]).job
    with pytest.raises(ValueError, match="its width tells the depth"):
        true_bits(job, fits_of(job), [("line", 0.7)])


def test_a_pointed_bit_s_coupon_is_proven_too() -> None:
    # 0.1 + 2 x 0.5 tan 30 degrees wide, and 0.02 of runout, for a saw of 0.58. Derived.
    found = next(f for f in proven(coupon_of(load_job(BOARD, [("scorer", "vee60")]))).findings if f.code == "kerf")
    assert ("0.697 mm", "kerf 0.580 mm") == (found.said.measured, found.said.limit)


def test_a_piece_lies_where_the_sheet_shows_it() -> None:
    piece = coupon(BOARD).pieces[1]
    assert Point(piece.start).distance(Point(8 + 3, 30 - 8 - 3)) < 1e-9  # 8 mm from the edges, 6 across


@pytest.mark.parametrize("runout", [0.0, 0.02, 0.05])
def test_the_coupon_says_how_wide_runout_makes_each_piece(runout: float) -> None:
    loaded = load_job(BOARD)
    loaded = replace(loaded, machine=loaded.machine.model_copy(update={"runout": runout}))
    made = coupon_of(loaded)
    rows = coupon_table(made).rows
    assert len(made.fits) == len(rows)
    for fit, row in zip(made.fits, rows, strict=True):
        words = f"; about {fit.wanted + runout:.3f} mm with {runout:.3f} mm runout"
        assert row[5].endswith(words) == (runout > 0)


def test_a_bit_that_does_not_reach_through_the_scrap_bores_as_deep_as_it_reaches() -> None:
    # The tenor board's pins: through 6 mm with edges of 10 mm, tried in a scrap of 10 or of 8.
    loaded = load_job(ROOT / "demo_jobs" / "tenor_board.yaml")
    for thick, deep in ((10.0, 8.0), (8.0, None), (30.0, 10.0)):
        pieces = {p.name: p for p in coupon_of(loaded, (140.0, 60.0, thick)).pieces}
        assert deep == pieces["locating"].depth, "2 mm stay under a blind piece"
