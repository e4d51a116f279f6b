"""The table of features is the folder of features; each has a demo job that uses it and a page that explains it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from ruamel.yaml import YAML

import toolpaths.features.jig_kinds
import toolpaths.features.kinds
import toolpaths.features.neck_kinds
from toolpaths.features.jig_kinds import JIG_FEATURES
from toolpaths.features.kinds import FEATURES

ROOT = Path(__file__).parents[4]
DEMOS = sorted((ROOT / "demo_jobs").glob("*.yaml"))
ROOMS = (toolpaths.features.kinds, toolpaths.features.neck_kinds, toolpaths.features.jig_kinds)
MODULES = {
    f"{room.__name__}.{p.stem}"
    for room in ROOMS
    for p in Path(str(room.__file__)).parent.glob("*.py")
    if not p.stem.startswith("_")
}


def used() -> set[str]:
    jobs = [YAML(typ="safe").load(path.read_text(encoding="utf-8")) for path in DEMOS]
    return {key for job in jobs for setup in job.get("setups", []) for entry in setup["features"] for key in entry}


def test_the_table_holds_the_folder_s_modules_under_their_keys() -> None:
    assert sorted(MODULES) == sorted(kind.__module__ for kind in FEATURES.values())
    assert list(FEATURES) == [kind.key for kind in FEATURES.values()]
    assert list(FEATURES) == [kind.__module__.rsplit(".", 1)[1] for kind in FEATURES.values()]


def test_what_only_a_jig_has_lies_in_a_room_of_its_own() -> None:
    assert [key for key, kind in FEATURES.items() if kind.piece == "jig"] == list(JIG_FEATURES)


@pytest.mark.parametrize("key", FEATURES)
def test_a_demo_job_uses_it(key: str) -> None:
    assert DEMOS
    assert key in used()


@pytest.mark.parametrize("key", FEATURES)
def test_a_page_explains_it_with_all_its_keys(key: str) -> None:
    page = (ROOT / "docs" / "features" / f"{key}.md").read_text(encoding="utf-8")
    shared = toolpaths.features.feature.Feature.model_fields
    own = [f.alias or name for name, f in FEATURES[key].model_fields.items() if name not in shared]
    assert page.startswith(f"# `{key}`")
    assert [name for name in own if f"`{name}`" not in page] == []
    assert f"- {key}: {{" in page  # an example


@pytest.mark.parametrize("key", FEATURES)
def test_a_page_s_example_is_a_feature_as_the_job_file_takes_it(key: str) -> None:
    page = (ROOT / "docs" / "features" / f"{key}.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```yaml\n(.*?)```", page, re.S)
    assert blocks
    entries = [e for block in blocks for e in YAML(typ="safe").load(block)["features"]]
    for entry in entries:
        ((name, body),) = entry.items()
        FEATURES[name].model_validate(body, context={"units": "mm"})
    assert key in {name for entry in entries for name in entry}


def test_no_page_stands_for_a_feature_that_is_not_there() -> None:
    assert {p.stem for p in (ROOT / "docs" / "features").glob("*.md")} <= set(FEATURES)
