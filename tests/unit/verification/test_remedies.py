"""A remedy is about the feature of the program's own setup."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.check_input_builder import inputs, program
from tests.support.setup_builder import context
from toolpaths.features.feature import Feature
from toolpaths.features.kinds import FEATURES
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.remedies import given_depth, shallower


def bores(depth: float | None) -> Feature:
    keys = {"bit": "eighth", "diameter": 4, "for": "cable", "at": [[100, 0]], "depth": depth}
    return (
        FEATURES["bores"]
        .model_validate({k: v for k, v in keys.items() if v is not None}, context={"units": "mm"})
        .placed("bores", 30)
    )


def in_setup(depth: float | None) -> CheckInput:
    """A program of the setup with that depth, in a job whose first setup has a feature of the same name, 1 mm deep."""
    own, other = context(bores(depth)), context(bores(1.0)).setup
    job = own.job.model_copy(update={"setups": (other, own.setup)})
    return replace(inputs(program("G0 X0 Y0")), context=replace(own, job=job))


@pytest.mark.parametrize(("depth", "by", "typed"), [(5.0, 1.5, "3.5"), (5.0, 1.23456, "3.765"), (5.0, 4.95, None)])
def test_a_cut_is_made_less_deep_than_its_own_setup_asks(depth: float, by: float, typed: str | None) -> None:
    """Rounded down to a thousandth: never deeper than what works."""
    found = shallower(in_setup(depth), "bores", by)
    assert ([] if typed is None else [typed]) == [entry.value for remedy in found for entry in remedy]


def test_where_the_job_gives_no_depth_none_is_advised() -> None:
    given = in_setup(None)
    assert given_depth(given, "bores") is None
    assert () == shallower(given, "bores", 1.0)
    assert given_depth(given, "another") is None
