from __future__ import annotations

from dataclasses import replace

import pytest

from toolpaths.job.changes import Changes
from toolpaths.reports.text.changed import differences
from toolpaths.reports.text.printed_tables import printed
from toolpaths.reports.text.tables import (
    Table,
    differences_table,
    features_table,
    findings_table,
    frets_tables,
    programs_table,
    reasons_table,
)


def test_frets_are_listed_in_the_job_s_units_and_the_other() -> None:
    import types

    instrument = types.SimpleNamespace(scale_length=650.0, frets=24)
    (table,) = frets_tables(types.SimpleNamespace(title="x", units="mm", instrument=instrument))
    # L = 650: fret 1 at 36.482, fret 12 at 325.000 mm (equal temperament, d = L (1 - 2^(-n/12))).
    assert ("1", "36.48", "36.48", "1.436") == table.rows[0][:4]
    assert ("12", "325.00") == table.rows[11][:2]


def test_a_tenth_of_a_millimetre_at_fret_12_of_a_648_mm_scale_is_half_a_cent() -> None:
    import types

    instrument = types.SimpleNamespace(scale_length=648.0, frets=12)
    (table,) = frets_tables(types.SimpleNamespace(title="x", units="mm", instrument=instrument))
    # 1200 log2(324 / 323.9) = 0.534 cents, from the definition of the cent.
    assert "0.53" == table.rows[11][4]


def test_features_show_how_they_are_cut(outcome) -> None:
    table = features_table(outcome, outcome.setups[0])
    row = dict(zip(table.headers, table.rows[1], strict=True))
    headers = ("feature", "bit", "rpm", "feed\nmm/min", "chip\nmm", "line\nmm", "time\nmin")
    assert ("score_lines", "scorer", "18000", "270", "0.0075", "0.60", "3.1") == tuple(row[h] for h in headers)


@pytest.mark.parametrize(("own", "runout"), [(None, 0.02), (0.05, 0.05), (0.0, 0.0)])
def test_the_table_of_features_tells_the_runout_that_its_line_has_in_it(outcome, own, runout) -> None:
    setup = outcome.setups[0]
    job = setup.context.job
    bits = {name: bit.model_copy(update={"runout": own}) for name, bit in job.bits.items()}
    context = replace(setup.context, job=job.model_copy(update={"bits": bits}))
    told = replace(outcome, machine=outcome.machine.model_copy(update={"runout": 0.02}))
    title = features_table(told, replace(setup, context=context)).title
    assert title.endswith(f"how each feature is cut; lines with {runout:.3f} mm runout" if runout else "is cut")


def test_the_table_of_features_fits_a_terminal_of_80_columns(outcome) -> None:
    out = printed(features_table(outcome, outcome.setups[0]), 80)
    lines = out.splitlines()
    assert 80 >= max(len(line) for line in lines)
    for feature in outcome.setups[0].features:
        assert any(feature.name in line and f"{feature.minutes:.1f}" in line for line in lines)


def test_each_value_says_which_limit_decided_it(outcome) -> None:
    rows = reasons_table(outcome.setups[0], outcome).rows
    assert ("score_lines", "feed", "270 mm/min", "middle of the chip band for hard wood") in rows


def test_the_z_to_enter_is_in_the_machine_s_units(outcome) -> None:
    assert "touch the planed face, enter Z 5.50 mm" == programs_table(outcome).rows[1][4]
    in_inches = replace(outcome, machine=outcome.machine.model_copy(update={"units": "in"}))
    assert "touch the planed face, enter Z 0.217 in" == programs_table(in_inches).rows[1][4]


def test_findings_carry_their_places(make_outcome, gouge) -> None:
    table = findings_table(make_outcome(findings=(gouge,)))
    assert "bass_uke.yaml:32, 02-face-scorer.ngc:3, x 130.20, y -4.00 mm" == table.rows[0][5]


def test_another_bit_shows_what_it_changes(make_outcome) -> None:
    before, after = make_outcome(), make_outcome(changes=Changes(bits=(("scorer", "0.8"),)))
    setup = after.setups[0]
    features = list(setup.features)
    cutting = replace(features[1].cutting, feed=360.0, pass_depth=0.17)
    features[1] = replace(features[1], width_mm=0.8, passes=3, minutes=1.9, cutting=cutting)
    after = replace(after, setups=(replace(setup, features=tuple(features)),))
    changes = differences(before, after)
    assert {"width of the line", "passes", "depth of a pass", "feed", "time"} == {d.what for d in changes}
    assert ("score_lines", "width of the line", "0.60 mm", "0.80 mm") in differences_table(changes, ["scorer=0.8"]).rows


def test_two_bits_of_one_feature_are_each_laid_beside_themselves(make_outcome) -> None:
    before = make_outcome()
    setup = before.setups[0]
    first = next(f for f in setup.features if f.name == "marker_pockets")
    second = replace(first, bit="scorer", minutes=first.minutes + 3)
    before = replace(before, setups=(replace(setup, features=(*setup.features, second)),))
    assert () == differences(before, before)
    slower = replace(second, minutes=second.minutes + 2)
    after = replace(before, setups=(replace(setup, features=(*setup.features, slower)),))
    assert [("marker_pockets, scorer", "time")] == [(d.feature, d.what) for d in differences(before, after)]


@pytest.mark.parametrize("hostile", ["[red]x[/red]", "[link=file:///x]y[/link]", ":warning:", "[/]"])
def test_text_is_never_read_as_markup_by_the_terminal(hostile: str) -> None:
    out = printed(Table(hostile, (hostile,), ((hostile,),)), 100)
    assert 3 == out.count(hostile)
