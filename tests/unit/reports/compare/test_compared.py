"""Runs side by side: what each comes to, what changes against the job as written, the page, the report, the folder."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from toolpaths.job.cut_kind import CutKind
from toolpaths.reports.compare.compare_json import compare_json
from toolpaths.reports.compare.compare_page import compare_page, write_compared
from toolpaths.reports.compare.compared import AS_WRITTEN, Compared, ComparedRun, Picture, corners_left, run_of
from toolpaths.reports.compare.compared_tables import features_compared, news_compared, sets_compared
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome
from toolpaths.verification.wording.message import Message

KERF = Finding(code="kerf", severity=Severity.warn, said=Message("<b>too wide</b>"), feature="score_lines")
PACK = Finding(code="chips-pack", severity=Severity.warn, said=Message("deep"), feature="outline")


def other(outcome: Outcome, **changes: Any) -> Outcome:
    """The same outcome with other figures in the row of the scored lines."""
    setup = outcome.setups[0]
    features = list(setup.features)
    cutting = replace(features[1].cutting, **changes.pop("cutting", {}))
    features[1] = replace(features[1], cutting=cutting, **changes)
    return replace(outcome, setups=(replace(setup, features=tuple(features)),))


@pytest.fixture
def compared(make_outcome: Any) -> Compared:
    written = make_outcome(findings=(PACK,))
    wide = other(make_outcome(findings=(KERF, KERF)), width_mm=0.8, passes=3, minutes=1.9, cutting={"feed": 360.0})
    picture = Picture("difference-scorer=0.8.png", b"\x89PNG wide", 80.9, 0.0)
    return Compared(
        written,
        run_of(written, AS_WRITTEN),
        (
            run_of(wide, "scorer=0.8", picture),
            replace(run_of(written, AS_WRITTEN), label="scorer=0.6", same=True),
            ComparedRun("quarter=90", refused=("outline: the <bit> is wider than the blank",)),
        ),
    )


def test_each_feature_that_changes_is_told_with_its_change(compared: Compared) -> None:
    table = features_compared(compared)
    assert ("run", "feature", "bit", "line\nmm", "passes") == table.headers[:5]
    assert [AS_WRITTEN, "scorer=0.8"] == [row[0] for row in table.rows]
    old, new = (dict(zip(table.headers, row, strict=True)) for row in table.rows)
    assert ("0.60", "5", "270", "3.1") == tuple(old[h] for h in ("line\nmm", "passes", "feed\nmm/min", "time\nmin"))
    assert "0.80 (+0.20)" == new["line\nmm"]
    assert "3 (-2)" == new["passes"]
    assert "360 (+90)" == new["feed\nmm/min"]
    assert "1.9 (-1.2)" == new["time\nmin"]
    assert "scorer: flat 0.6 mm" == new["bit"]


def test_what_reads_the_same_is_left_out(make_outcome: Any) -> None:
    written = make_outcome()
    a_hair = other(written, minutes=written.setups[0].features[1].minutes + 1e-4)
    both = Compared(written, run_of(written, AS_WRITTEN), (run_of(a_hair, "eighth=3"),))
    assert () == features_compared(both).rows


def test_the_whole_set_says_what_may_be_cut_and_what_was_found(compared: Compared) -> None:
    rows = {row[0]: row[1:] for row in sets_compared(compared).rows}
    assert "1 warn chips-pack" == rows[AS_WRITTEN][-1]
    assert "2 warn kerf (new), no warn chips-pack (was 1)" == rows["scorer=0.8"][-1]
    assert "yes, it is the job as written" == rows["scorer=0.6"][0]
    assert ("cannot be cut so", "outline: the <bit> is wider than the blank") == (
        rows["quarter=90"][0],
        rows["quarter=90"][-1],
    )


def test_corners_are_told_only_where_some_bit_leaves_any(compared: Compared) -> None:
    def leaving(area: float | None) -> Compared:
        runs = [
            replace(run, rows=tuple(replace(r, corner_mm2=area, highest_mm=area) for r in run.rows))
            for run in (compared.base, *compared.variants)
        ]
        return replace(compared, base=runs[0], variants=tuple(runs[1:]))

    for area in (0.0, None):
        tables = sets_compared(leaving(area)), features_compared(leaving(area))
        assert not any("corners" in h for table in tables for h in table.headers)
    table = sets_compared(leaving(0.5))
    assert "2.00" == dict(zip(table.headers, table.rows[0], strict=True))["corners\nmm²"]


def test_news_are_the_judge_s_words_once_for_each_feature(compared: Compared) -> None:
    assert (("scorer=0.8", "warn", "kerf", "score_lines", "<b>too wide</b>"),) == news_compared(compared).rows


def test_a_finding_that_gets_heavier_is_news(compared: Compared) -> None:
    stop = replace(compared.base, findings=(replace(compared.base.findings[0], severity="stop"),), stopped=True)
    assert ["stop"] == [f.severity for f in stop.news(compared.base)]


def test_only_where_none_may_be_cut_is_the_comparison_stopped(compared: Compared) -> None:
    assert not compared.stopped
    assert replace(compared, variants=compared.variants[2:]).stopped


def test_inches_are_used_where_the_job_is_in_inches(make_outcome: Any) -> None:
    written = make_outcome()
    written = replace(written, job=written.job.model_copy(update={"units": "in"}))
    wide = other(written, width_mm=0.8)
    table = features_compared(Compared(written, run_of(written, AS_WRITTEN), (run_of(wide, "scorer=0.8"),)))
    # 0.6 mm is 0.0236 in and 0.8 mm 0.0315 in, shown as 0.024 and 0.031 (1 in is 25.4 mm); the change is of these two.
    assert "line\nin" == table.headers[3]
    assert "0.031 (+0.007)" == table.rows[1][3]


def test_a_square_corner_is_measured_by_its_closed_form_and_its_height(outcome: Outcome) -> None:
    # r^2 (1 - pi / 4) a corner: derived. The blank still stands there, 7 mm, over a floor of 4 mm.
    setup, r = outcome.setups[0], 1.5875
    uncut = replace(setup, after=setup.before)
    square = Demand("pocket", 40, "face", "a square", shapely.box(40, -8, 60, 8), Level(4.0), r, kind=CutKind.pocket)
    area, high = corners_left(uncut, [square])
    assert 4 * r * r * (1 - math.pi / 4) == pytest.approx(area, rel=0.02)
    assert 3.0 == pytest.approx(high)


def test_corners_that_no_cell_of_the_map_meets_are_measured_in_the_wood(outcome: Outcome) -> None:
    from toolpaths.simulation.standing_wood import StandingWood

    setup = outcome.setups[0]
    coarse = setup.before.over(setup.context.stock_box, 4.0, 5.0)
    square = Demand("pocket", 40, "face", "a square", shapely.box(40, -8, 60, 8), Level(4.0), 0.8, kind=CutKind.pocket)
    wood = StandingWood(setup.context.stock_box, 7.0)
    assert 0.0 == corners_left(replace(setup, after=coarse), [square])[1]
    assert 3.0 == pytest.approx(corners_left(replace(setup, after=coarse, standing=wood), [square])[1])


def test_the_page_keeps_text_text_and_tells_every_variant(compared: Compared) -> None:
    text = compare_page(compared)
    assert "<b>too wide" not in text
    assert "&lt;b&gt;too wide&lt;/b&gt;" in text
    assert "the &lt;bit&gt; is wider" in text
    assert "scorer=0.8: it removes 80.9 mm³ more and leaves 0.0 mm³ more" in text
    assert "scorer=0.6: this is the job as written" in text
    assert "prefers-color-scheme: dark" in text


def test_the_report_holds_the_same_figures(compared: Compared) -> None:
    whole = json.loads(compare_json(compared))
    wide, same, refused = whole["variants"]
    assert (80.9, 0.0, "difference-scorer=0.8.png") == (wide["deeper_mm3"], wide["higher_mm3"], wide["picture"])
    assert [{"code": "kerf", "severity": "warn", "count": 2}] == wide["findings"]
    assert ["kerf"] == [f["code"] for f in wide["new_findings"]]
    lines = next(f for f in wide["features"] if f["name"] == "score_lines")
    assert (0.8, 3, 360.0) == (lines["width_mm"], lines["passes"], lines["feed_mm_min"])
    assert (True, []) == (same["same"], same["new_findings"])
    assert (["outline: the <bit> is wider than the blank"], None) == (refused["refused"], refused["minutes"])


def test_pictures_of_an_earlier_comparison_are_removed_and_nothing_else(compared: Compared, tmp_path: Path) -> None:
    (tmp_path / "difference-mine.png").write_bytes(b"mine")
    names = write_compared(compared, tmp_path)
    assert ("difference-scorer=0.8.png", "compare.html", "compare.json") == names
    none = replace(compared, variants=compared.variants[1:])
    assert ("compare.html", "compare.json") == write_compared(none, tmp_path)
    assert {"difference-mine.png", "compare.html", "compare.json"} == {p.name for p in tmp_path.iterdir()}


@pytest.mark.parametrize("picture", ["../difference-x.png", "compare.html", 7, None, "mine.png"])
def test_a_report_that_names_other_files_removes_none(compared: Compared, tmp_path: Path, picture: object) -> None:
    (tmp_path / "mine.png").write_bytes(b"mine")
    report = json.dumps({"variants": [{"picture": picture}]})
    (tmp_path / "compare.json").write_text(report, encoding="ascii")
    write_compared(compared, tmp_path)
    assert (tmp_path / "mine.png").exists()
    assert (tmp_path / "compare.html").exists()


def test_leaning_is_the_beam_s_at_the_upper_force(outcome: Outcome) -> None:
    # The stepped cantilever of operations/cutting_forces.py is tested there; here: a thinner bit leans more.
    rows = {r.name: r for r in run_of(outcome, AS_WRITTEN).rows}
    assert rows["score_lines"].leans_mm > 0
    thicker = other(outcome, cutting={"pass_depth": 0.05})
    assert rows["score_lines"].leans_mm > run_of(thicker, "x").by_place["face", "score_lines", 0].leans_mm
    assert np.isfinite([r.leans_mm for r in rows.values()]).all()
