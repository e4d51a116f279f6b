"""Pockets and the pieces for them, from the text of both programs: they fit, and what does not fit is told."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import LineString, Polygon
from shapely.affinity import translate

from tests.support.made import made as make
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import flattened
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import verify
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome, SetupReport

ROOT = Path(__file__).parents[2]
CASE = ROOT / "tests" / "cases" / "inlaid_board.yaml"
DEMO = ROOT / "demo_jobs" / "inlaid_board.yaml"
PITCH = Changes(pitch=0.5)


@pytest.fixture(scope="module")
def case() -> Outcome:
    return make(CASE, PITCH)


@pytest.fixture(scope="module")
def demo() -> Outcome:
    return make(DEMO, PITCH)


def setup_of(outcome: Outcome, name: str) -> SetupReport:
    return next(s for s in outcome.setups if s.context.setup.name == name)


def swept(outcome: Outcome, setup: str, feature: str) -> shapely.Geometry:
    """What the bits of one feature go over below the wood's face, from the programs' text alone."""
    context = setup_of(outcome, setup).context
    regions = []
    for program in (p for p in outcome.programs if p.setup == setup):
        trace = read(program.text)
        moves = flattened(trace, context.zero)
        names = [name for name, _ in trace.sections]
        for start, end, bit, parent in zip(moves.start, moves.end, moves.bit, moves.parent, strict=True):
            section = int(trace.section[parent])
            if section < 0 or names[section] != feature or min(start[2], end[2]) > context.face - 0.3:
                continue
            shape = next(outcome.job.bits[n] for n in program.bits if f"(Bit {int(bit)}: {n}," in program.text)
            regions.append(LineString([start[:2], end[:2]]).buffer(shape.radius, quad_segs=64))
    return shapely.union_all(regions)


def gaps(outcome: Outcome, pocket_feature: str, sheet: str, piece_feature: str) -> list[tuple[float, float]]:
    """Least and greatest distance from each piece's wall to its pocket's, mm; the pieces are moved home first."""
    pockets = shapely.get_parts(swept(outcome, "face", pocket_feature))
    kerfs = shapely.get_parts(swept(outcome, sheet, piece_feature))
    pieces = [Polygon(ring) for kerf in kerfs for ring in kerf.interiors]
    out = []
    for d in (d for d in setup_of(outcome, sheet).demands if d.laid is not None and d.feature == piece_feature):
        piece = max((p for p in pieces if d.asked.envelope.covers(p)), key=lambda p: p.area)
        home = translate(piece, -d.laid[0], -d.laid[1])
        pocket = next(p for p in pockets if p.intersects(home.centroid))
        assert pocket.covers(home)
        wall = shapely.points(shapely.get_coordinates(shapely.segmentize(home.exterior, 0.1)))
        away = shapely.distance(wall, pocket.boundary)
        out.append((float(away.min()), float(away.max())))
    return out


def test_nothing_stops_a_board_with_pieces_of_its_own(case: Outcome) -> None:
    assert [] == [f.message for f in case.findings if f.severity is not Severity.note]
    assert ["face", "leaves", "diamonds", "edge"] == [s.context.setup.name for s in case.setups]


@pytest.mark.parametrize(
    ("which", "args", "count", "clearance"),
    [
        pytest.param("demo", ("marker_pockets", "pieces", "inlay_pieces"), 6, 0.05, marks=pytest.mark.slow),
        ("case", ("marker_pockets", "leaves", "inlay_pieces"), 2, 0.04),
    ],
)
def test_rounded_pieces_lie_in_their_pockets_with_the_clearance_all_around(
    which: str, args: tuple[str, str, str], count: int, clearance: float, request: pytest.FixtureRequest
) -> None:
    found = gaps(request.getfixturevalue(which), *args)
    assert count == len(found)
    for least, most in found:
        assert clearance == pytest.approx(least, abs=0.005)
        assert clearance == pytest.approx(most, abs=0.005)


def test_square_pieces_fit_but_for_the_corners_that_are_left_to_the_hands(case: Outcome) -> None:
    sheet = setup_of(case, "diamonds")
    kerfs = swept(case, "diamonds", "inlay_pieces 2")
    pockets = swept(case, "face", "marker_pockets 2")
    asked = {d.name: d for d in setup_of(case, "face").demands if d.feature == "marker_pockets 2"}
    for d in (d for d in sheet.demands if d.laid is not None):
        piece = next(Polygon(r) for k in shapely.get_parts(kerfs) for r in k.interiors if d.asked.intersects(k))
        pocket: Demand = asked[d.name.removeprefix("piece for ")]
        # The piece is as sharp as drawn: four corners of a diamond of 8 x 7 drawn in by 0.06.
        assert pocket.asked.buffer(-0.06, join_style="mitre").area == pytest.approx(piece.area, rel=2e-3)
    # A diamond's corners turn by a = 2 atan(8 / 7) and its supplement; a bit of radius r leaves r^2 (tan(a/2) - a/2)
    # in each, twice of both kinds. Derived.
    turn = np.array([2 * np.arctan(8 / 7), np.pi - 2 * np.arctan(8 / 7)])
    left = 2 * 0.79375**2 * float(np.sum(np.tan(turn / 2) - turn / 2))
    assert 3 * (28 - left) == pytest.approx(pockets.area, rel=1e-3)
    squares = [h.what for h in case.handwork if h.what.startswith("Square the corners of marker at fret")]
    assert 3 == len(squares)


def shifted(outcome: Outcome, by: float, tmp_path: Path) -> list[tuple[str, str]]:
    """(code, severity) of the findings where the pieces' program has moved everything but the first piece's home."""
    own = next(p for p in outcome.programs if p.setup == "leaves")
    context = setup_of(outcome, "leaves").context
    before = sum(p.number < own.number for p in outcome.programs)
    assert before
    text = re.sub(r"\bX(-?[0-9.]+)", lambda m: f"X{float(m[1]) + by:.3f}", own.text)
    file = tmp_path / own.name
    file.write_text(text)
    found = verify(CASE, [file], PITCH).findings
    assert context.apart
    return [(f.code, f.severity.value) for f in found if f.code == "inlay-fit"]


@pytest.mark.parametrize(("by", "told"), [(0.0, None), (0.015, None), (0.05, "stop")])
def test_a_piece_that_does_not_go_in_is_told(case: Outcome, tmp_path: Path, by: float, told: str | None) -> None:
    # 0.04 are left on each side: 0.05 aside nothing is left on one.
    found = shifted(case, by, tmp_path)
    assert ({("inlay-fit", told)} if told else set()) == set(found)


@pytest.mark.slow
def test_a_piece_that_lies_loose_is_a_warning(demo: Outcome, tmp_path: Path) -> None:
    own = next(p for p in demo.programs if p.setup == "pieces")
    text = re.sub(r"\bX(-?[0-9.]+)", lambda m: f"X{float(m[1]) + 0.035:.3f}", own.text)
    file = tmp_path / own.name
    file.write_text(text)
    found = [f for f in verify(DEMO, [file], PITCH).findings if f.code == "inlay-fit"]
    assert {Severity.warn} == {f.severity for f in found}
    assert re.search("loose in its pocket.*Clearance 0.0[78]|tight in its pocket.*Clearance 0.0[01]", found[0].message)


def test_dots_are_bored_where_the_edge_has_them(case: Outcome) -> None:
    holes = shapely.get_parts(swept(case, "edge", "side_dots"))
    found = sorted((round(h.centroid.x, 3), round(h.centroid.y, 3)) for h in holes)
    # Midway between frets 2 and 3, and 4 and 5, of a scale of 300: 300 (1 - 2^(-n/12)) is 32.730 and 47.731, 61.890
    # and 75.254; the edge leaves the centreline by 3 in 75.254, so along it times sqrt(1 + (3 / 75.254)^2).
    slope = np.hypot(1, 3 / 75.254)
    middle = [(32.730 + 47.731) / 2 * slope, (61.890 + 75.254) / 2 * slope]
    assert [middle[0], middle[1] - 2.5, middle[1] + 2.5] == pytest.approx([x for x, _ in found], abs=2e-3)
    # Left-handed, treble edge up: the nut on the left and the treble side up, the face looks away from the operator.
    assert [0.5] * 3 == pytest.approx([y for _, y in found], abs=1e-3)
    text = next(p.text for p in case.programs if p.setup == "edge")
    assert "face away from the" in re.sub(r"\)\n\((?:\+ )?", " ", text)


def test_programs_of_a_sheet_say_what_lies_there(case: Outcome) -> None:
    text = re.sub(r"\)\n\((?:\+ )?", " ", next(p.text for p in case.programs if p.setup == "leaves"))
    assert "This blank is a separate piece. Places count from its left end and from the operator's edge." in text
    assert "Blank: hard maple, 60.00 mm x 50.00 mm, 1.90 to 2.00 mm thick" in text
    assert "The nut line" not in text


def test_side_dots_by_hand_are_told_with_their_distances(case: Outcome) -> None:
    (told,) = [h.what for h in case.handwork if "side dots into the bass edge" in h.what]
    # Midway between frets 6 and 7 (87.868 and 99.775), along the edge: 93.822 x 1.000795. Derived.
    assert "fret 7 93.90 mm" in told


def test_filler_may_have_round_corners(case: Outcome) -> None:
    (told,) = [h.what for h in case.handwork if "Filler needs nothing more" in h.what]
    # Four corners of 0.79375^2 (1 - pi / 4).
    assert f"({4 * 0.79375**2 * (1 - np.pi / 4):.2f} mm² of wood in all)" in told
