"""Every demo on every machine: nothing stops it but a travel that is too short, and all of the text is understood."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from tests.outside import interpreter
from tests.support.made import made as make
from toolpaths.gcode.reader.read import read
from toolpaths.job.changes import Changes
from toolpaths.job.files.machine_file import machine_paths
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.prove import prove
from toolpaths.pipeline.run import verify
from toolpaths.reports.output.write_set import write_set
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[2]
DEMOS = ("tenor_board", "tenor_neck", "parlour_board_inch", "fanned_seven")
COARSE = Changes(pitch=0.5)


def on(machine: str, folder: Path, job: Path, **changes: Any) -> Path:
    """A copy of a job for another machine; with changes, for a file of one's own made of the shipped one."""
    name = machine
    if changes:
        yaml = YAML()
        data = yaml.load(machine_paths()[machine].read_text(encoding="utf-8"))
        data.update(changes)
        name = "own.yaml"
        yaml.dump(data, folder / name)
    text = re.sub(r"(?m)^machine: .*$", f"machine: {name}", job.read_text(encoding="utf-8"))
    for path in ("instruments", "drawings"):
        text = text.replace(f"{path}/", f"{ROOT / 'demo_jobs' / path}/")
    copy = folder / job.name
    copy.write_text(text, encoding="utf-8")
    return copy


def stops(outcome: Outcome) -> set[str]:
    return {f.code for f in outcome.findings if f.severity is Severity.stop}


def test_every_demo_is_meant() -> None:
    loader = YAML(typ="safe")
    texts = {p.stem: loader.load(p.read_text(encoding="utf-8")) for p in (ROOT / "demo_jobs").glob("*.yaml")}
    assert set(DEMOS) <= {name for name, job in texts.items() if "setups" in job}


@pytest.mark.slow
@pytest.mark.parametrize("machine", machine_paths())
@pytest.mark.parametrize("demo", DEMOS)
def test_a_demo_on_a_machine(demo: str, machine: str, tmp_path: Path) -> None:
    """The text of each; the judge is asked of every demo on a machine not its own, and of every machine once."""
    layout = lay_out(on(machine, tmp_path, ROOT / "demo_jobs" / f"{demo}.yaml"), COARSE)
    if (DEMOS.index(demo) + list(machine_paths()).index(machine)) % 4 == 2:
        # The small frame travels 300 mm; the demos' blanks are 457 to 620 mm long.
        assert ({"travel"} if machine == "small-frame" else set()) == stops(prove(layout))
    longest = layout.loaded.machine.line_length
    for _, program in layout.own:
        assert longest >= max(len(line) for line in program.text.splitlines())
        if interpreter.FOLDER:
            assert [] == interpreter.compare(program.text)


SHORT = ROOT / "tests" / "cases" / "short_board.yaml"


@pytest.mark.parametrize("machine", machine_paths())
def test_a_short_board_on_every_machine(machine: str, tmp_path: Path) -> None:
    outcome = make(on(machine, tmp_path, SHORT), COARSE)
    assert set() == stops(outcome)
    assert outcome.programs


@interpreter.needed
@pytest.mark.parametrize("machine", machine_paths())
def test_its_text_is_understood_alike_by_an_independent_interpreter(machine: str, tmp_path: Path) -> None:
    outcome = make(on(machine, tmp_path, SHORT), COARSE)
    assert {} == {p.name: found for p in outcome.programs if (found := interpreter.compare(p.text))}


def test_a_rod_with_a_curved_floor_is_cut_in_upright_arcs_where_the_machine_draws_them(tmp_path: Path) -> None:
    job = ROOT / "tests" / "cases" / "arc_rod.yaml"
    upright, straight = (make(on(m, tmp_path, job), Changes(pitch=0.25)) for m in ("shop-gantry", "bench-router"))
    assert (set(), set()) == (stops(upright), stops(straight))
    (text,) = (p.text for p in upright.programs)
    assert "G18" in text
    assert 18 in read(text).plane
    if interpreter.FOLDER:
        assert [] == interpreter.compare(text)
    # The same wood goes.
    a, b = (sum(f.removed_mm3 for s in o.setups for f in s.features) for o in (upright, straight))
    assert b == pytest.approx(a, rel=1e-4)


# A controller without comments, the whole way


@pytest.fixture
def silent(tmp_path: Path) -> Path:
    return on("small-frame", tmp_path, SHORT, comments=False, line_numbers=True, percent_lines=True)


def test_without_comments_each_program_has_its_words_beside_it_and_is_verified_with_them(
    silent: Path, tmp_path: Path
) -> None:
    outcome = make(silent, COARSE)
    assert set() == stops(outcome)
    assert len(outcome.programs) > 1
    names = write_set(outcome, tmp_path / "out")
    programs = [n for n in names if n.endswith(".gcode")]
    assert [p.name for p in outcome.programs] == programs
    assert {f"{n}.txt" for n in programs} <= set(names)
    handed = [tmp_path / "out" / n for n in programs]
    assert set() == stops(verify(silent, handed, COARSE))


def test_each_feature_s_own_wood_is_told_without_comments_as_with_them(silent: Path, tmp_path: Path) -> None:
    (tmp_path / "spoken").mkdir()
    spoken = make(on("small-frame", tmp_path / "spoken", SHORT), COARSE)
    a, b = ({f.name: f.removed_mm3 for s in o.setups for f in s.features} for o in (make(silent, COARSE), spoken))
    assert b == pytest.approx(a)


@pytest.mark.slow
def test_without_its_words_a_program_is_stopped_and_so_is_one_with_those_of_another(
    silent: Path, tmp_path: Path
) -> None:
    outcome = make(silent, COARSE)
    write_set(outcome, tmp_path / "out")
    first, second = (tmp_path / "out" / p.name for p in outcome.programs[:2])
    beside = first.with_name(f"{first.name}.txt")
    beside.write_bytes(second.with_name(f"{second.name}.txt").read_bytes())
    assert stops(verify(silent, [first], COARSE))
    beside.write_text("no words\n")
    assert "unreadable" in stops(verify(silent, [first], COARSE))
    beside.unlink()
    found = verify(silent, [first], COARSE)
    assert "header" in stops(found)
    assert any(f"keep {first.name}.txt beside the program" in f.message for f in found.findings)


@pytest.mark.slow
def test_words_of_programs_that_are_no_more_are_cleared_away(silent: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_set(make(silent, COARSE), out)
    assert list(out.glob("*.txt"))
    silent.write_text(silent.read_text(encoding="utf-8").replace("machine: own.yaml", "machine: small-frame"))
    write_set(make(silent, COARSE), out)
    assert [] == list(out.glob("*.txt"))
    assert list(out.glob("*.gcode"))
