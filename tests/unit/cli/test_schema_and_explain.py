"""What the program says of its own job file: a schema that editors use, and a key's meaning on request."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any, get_args

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from tests.support.commands import typed as run
from toolpaths.features.kinds import FEATURES
from toolpaths.job.neck import ROD_KINDS, RodKind
from toolpaths.reports.reference.explain import explained
from toolpaths.reports.reference.schema import job_schema

ROOT = Path(__file__).parents[3]
JOBS = sorted([*(ROOT / "demo_jobs").glob("*.yaml"), *(ROOT / "tests" / "cases").glob("*.yaml")])


@pytest.fixture(scope="module")
def validator() -> Draft202012Validator:
    schema = job_schema()
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def as_json(value: Any) -> Any:
    """A mapping of YAML as JSON has it: its keys are text."""
    if isinstance(value, dict):
        return {str(k): as_json(v) for k, v in value.items()}
    return [as_json(v) for v in value] if isinstance(value, list) else value


def loaded(path: Path) -> Any:
    return as_json(YAML(typ="safe").load(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("path", JOBS, ids=lambda p: p.stem)
def test_every_job_that_runs_fits_the_schema(path: Path, validator: Draft202012Validator) -> None:
    assert [] == [f"{list(e.absolute_path)}: {e.message[:200]}" for e in validator.iter_errors(loaded(path))]


def test_an_outside_checker_takes_every_demo(tmp_path: Path) -> None:
    """check-jsonschema, a general-purpose tool."""
    schema = tmp_path / "job.schema.json"
    assert 0 == run("schema", "-o", str(schema)).exit_code
    demos = [str(p) for p in JOBS if p.parent.name == "demo_jobs"]
    command = [sys.executable, "-m", "check_jsonschema", "--schemafile", str(schema), *demos]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("units: mm", "units: cm"),
        ("tape: {}  ", "glue: {}  "),
        ("depth: 0.5", "depth: deep"),
        ("depth: 0.5", "depth: -1"),
        ("depth: 0.5", "dept: 0.5"),
        ("- plane:", "- plain:"),
        ("title: Tenor board, 584 mm", ""),
        ("shape: flat, diameter: 0.5", "shape: flat, diametre: 0.5"),
        ("count: 4", "count: four"),
        ("zero: {x: nut", "zero: {x: bridge"),
    ],
)
def test_what_is_mistyped_is_underlined(old: str, new: str, validator: Draft202012Validator) -> None:
    text = (ROOT / "demo_jobs" / "tenor_board.yaml").read_text(encoding="utf-8")
    assert old in text
    assert list(validator.iter_errors(as_json(YAML(typ="safe").load(text.replace(old, new)))))


@pytest.mark.parametrize("given", ["6.35 mm", "1/4 in", "1 3/4 in", ".5", 3, 0.25])
def test_lengths_may_be_typed_as_people_write_them(given: object, validator: Draft202012Validator) -> None:
    job = loaded(ROOT / "demo_jobs" / "tenor_board.yaml")
    job["setups"][0]["features"][1]["score_lines"]["depth"] = given
    assert [] == list(validator.iter_errors(job))


def test_every_key_has_its_words_in_the_schema() -> None:
    schema = job_schema()
    for name, model in schema["$defs"].items():
        for key, value in model.get("properties", {}).items():
            assert "description" in value or "$ref" in value, f"{name}.{key}"


def test_it_is_printed_for_editors() -> None:
    result = run("schema")
    assert 0 == result.exit_code
    assert job_schema() == json.loads(result.stdout)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("marker_pockets.depth", ["Depth below the finished face.", "length, above 0", "must be given"]),
        ("zero.z", ["setups.zero.z", "bed, stock top"]),
        ("setups zero z", ["setups.zero.z"]),
        ("bits.stickout", ["How far it stands out, from the collet nut's face to the tip."]),
        ("score_lines", ["Score the fret slots across the finished width.", "its keys   pace, depth"]),
        (
            "step_over",
            [
                "Distance between passes, as a fraction of the bit's diameter.",
                "0.01 to 1",
                "chosen from bit, wood and machine",
            ],
        ),
        ("outline.tabs.height", ["Height of a tab, from the blank's underside up."]),
        ("instrument.board.binding", ["0 mm"]),
    ],
)
def test_a_key_is_explained(asked: str, words: list[str]) -> None:
    result = run("explain", *asked.split(" "))
    assert 0 == result.exit_code
    for word in words:
        assert word in result.stdout


def test_a_name_of_several_keys_gives_all_of_them() -> None:
    result = run("explain", "depth")
    assert 0 == result.exit_code
    assert "score_lines.depth" in result.stdout
    assert "truss_rod_channel.depth" in result.stdout
    assert {"radius", "instrument.board.radius"} <= {key.path for key in explained("radius").keys}


def test_a_slip_of_the_pen_is_told_with_the_nearest() -> None:
    result = run("explain", "marker_pocket")
    assert 2 == result.exit_code
    assert "Did you mean `marker_pockets`" in result.stderr


def test_every_feature_can_be_asked_for() -> None:
    for feature in FEATURES:
        assert feature in {key.path for key in explained(feature).keys}


def test_without_a_word_it_says_what_can_be_asked() -> None:
    result = run("explain")
    assert 0 == result.exit_code
    for word in ("marker_pockets", "spindle", "rapid-in-wood", "scale length"):
        assert word in result.stdout


def test_a_word_that_nothing_has_is_told_what_can_be_asked() -> None:
    result = run("explain", "xyzzyx")
    assert 2 == result.exit_code
    assert "No key, finding or word is called `xyzzyx`. `neckpath explain` lists what can be asked." in result.stderr


def test_a_machine_key_a_finding_and_a_word_are_explained() -> None:
    said = run("explain", "spindle.min_rpm").stdout
    assert "a key of a machine file" in said
    assert "Slowest speed" in said
    assert "gouge (a finding)" in run("explain", "gouge").stdout
    assert "scale length (a word)" in run("explain", "scale", "length").stdout


def test_each_kind_of_a_rod_is_explained_where_its_key_is() -> None:
    said = run("explain", "rod.kind").stdout
    assert all(f"{kind}: " in said for kind in get_args(RodKind))
    assert "bends the neck both ways" in said


@pytest.mark.parametrize(
    ("word", "values", "key"),
    [
        ("two-way", ("double acting", "two-way wheel"), "rod.kind"),
        ("single bent", ("single bent",), "rod.kind"),
        ("G54", ("G54",), "offset"),
        ("quarter", ("quarter",), "moisture.sawn"),
    ],
)
def test_a_value_is_answered_with_its_key_and_its_meaning(word: str, values: tuple[str, ...], key: str) -> None:
    result = run("explain", *word.split())
    assert 0 == result.exit_code, result.stderr
    for value in values:
        assert re.search(rf"^{re.escape(value)} \(a value of [a-z.]*{re.escape(key)}\)\n  \w.*", result.stdout, re.M)


def test_every_kind_of_a_rod_has_a_meaning() -> None:
    assert get_args(RodKind) == tuple(kind for kind, _ in ROD_KINDS)
