"""The table of what was chosen and what decided it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from toolpaths.operations.operation import Limit
from toolpaths.reports.text.chosen_tables import LEGEND, chosen_table
from toolpaths.reports.text.printed_tables import printed

LIMITS: dict[str, Limit] = {
    "rpm": "usual", "feed": "chip", "plunge": "feed", "ramp": "machine", "pass_depth": "bit", "step_over": "job",
    "finish_allowance": "usual", "direction": "usual",
}  # fmt: skip


def outcome_of(make_outcome, **changes):
    """The invented job's outcome, its features' cuttings with limits, and some of them changed."""
    outcome = make_outcome()
    setup = outcome.setups[0]
    features = []
    for f in setup.features:
        own = changes.get(f.name, {})
        cutting = replace(f.cutting, limits=LIMITS, **own.get("cutting", {}))
        features.append(replace(f, cutting=cutting, **{k: v for k, v in own.items() if k != "cutting"}))
    return replace(outcome, setups=(replace(setup, features=tuple(features)),))


def rows(outcome):
    return chosen_table(outcome.setups[0], outcome).rows


def test_below_each_value_is_what_decided_it(make_outcome) -> None:
    (row,) = [r for r in rows(outcome_of(make_outcome)) if r[0].startswith("score_lines")]
    # The invented cutting: 18000 rpm, 270 mm/min, plunge a quarter, ramp 0.7 of it, passes of 0.1 mm.
    assert (
        "score_lines\nwith scorer",
        "18000\nusual",
        "270\nchip",
        "68\nfeed",
        "189\nmachine",
        "0.10\nbit",
        "0.40\njob",
        "0.20\nusual",
        "last\nusual",
    ) == row


@pytest.mark.parametrize(
    ("rough", "finish", "said"),
    [("conventional", "climb", "last"), ("climb", "climb", "always"), ("conventional", "conventional", "never")],
)
def test_when_it_is_a_climb_cut(make_outcome, rough: str, finish: str, said: str) -> None:
    outcome = outcome_of(make_outcome, plane={"cutting": {"rough": rough, "finish": finish}})
    assert f"{said}\nusual" == rows(outcome)[0][-1]


def test_neighbours_with_the_same_bit_and_values_share_a_row_and_others_do_not(make_outcome) -> None:
    first, *rest = rows(outcome_of(make_outcome))
    last = outcome_of(make_outcome).setups[0].features[-1]
    twin = replace(last, name="outline 2")
    outcome = outcome_of(make_outcome)
    setup = outcome.setups[0]
    both = replace(outcome, setups=(replace(setup, features=(*setup.features, twin)),))
    assert f"{last.name}\noutline 2\nwith {last.bit}" == rows(both)[-1][0]
    assert len(rest) + 1 == len(rows(both))
    other = replace(twin, cutting=replace(twin.cutting, limits={**LIMITS, "feed": "job"}))
    apart = replace(outcome, setups=(replace(setup, features=(*setup.features, other)),))
    assert len(rest) + 2 == len(rows(apart))
    assert first == rows(apart)[0]


@pytest.mark.parametrize("units", ["mm", "in"])
def test_it_fits_a_terminal_of_80_columns_with_its_names_whole(make_outcome, units: str) -> None:
    outcome = outcome_of(make_outcome, outline={"name": "reinforcement_slots"})
    outcome = replace(outcome, job=outcome.job.model_copy(update={"units": units}))
    out = printed(chosen_table(outcome.setups[0], outcome), 80)
    assert all(len(line) <= 80 for line in [*out.splitlines(), *LEGEND])
    assert "reinforcement_slots " in out


def test_the_legend_names_every_limit() -> None:
    from typing import get_args

    assert set() == {limit for limit in get_args(Limit) if limit not in " ".join(LEGEND)}
