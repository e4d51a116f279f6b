"""A job file becomes a job that can be used, or every fault of it is told with file, line, column and key."""

from __future__ import annotations

from pathlib import Path
from textwrap import dedent, indent

import pytest
from pydantic import BaseModel

from toolpaths.common.errors import JobError, Problem
from toolpaths.features.kinds import FEATURES
from toolpaths.instrument.woods import WOODS
from toolpaths.job.bits import BITS
from toolpaths.job.bits.flat import Flat
from toolpaths.job.files.machine_file import load_machine, machine_paths
from toolpaths.job.files.rack_file import load_rack
from toolpaths.job.holders import Clamp, Hold, PinAt, Pins, Screws, Stop, Tape, Under, Vacuum
from toolpaths.job.job import Board, Fan, Instrument, Job, Moisture, Saw, ZeroFret
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.machine import Collet, Machine, Spindle
from toolpaths.job.measured import Backlash, Measured, Stroke
from toolpaths.job.setup import Setup
from toolpaths.job.stock import KeepOut, Stock, Zero
from toolpaths.job.wood import OwnWood, Shrinkage
from toolpaths.pipeline.load import load_job

JOB = """\
title: Tenor board
units: mm
machine: bench-router
wood: hard maple
instrument:
  scale_length: 584
  frets: 19
  strings: 4
  board:
    width: {nut: 36, 12: 44}
    overhang: 8
    thickness: 6
    radius: 305
stock: {length: 480, width: 64, thickness: 8}
setups:
  - name: face
    offset: G54
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 12
    hold: tape
    features:
      - plane: {bit: planer, leave: 6}
      - score_lines: {bit: scorer, depth: 0.5}
      - outline: {bit: quarter, tabs: {count: 4, length: 8, height: 1.5}}
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def load(text: str = JOB, *changes: tuple[str, str]) -> LoadedJob:
    Path("job.yaml").write_text(text, encoding="utf-8")
    return load_job(Path("job.yaml"), changes)


def but(old: str, new: str, text: str = JOB) -> str:
    assert 1 == text.count(old), old
    return text.replace(old, new)


def problems(text: str, *changes: tuple[str, str]) -> tuple[Problem, ...]:
    with pytest.raises(JobError) as caught:
        load(text, *changes)
    return caught.value.problems


def told(text: str, *changes: tuple[str, str]) -> list[str]:
    """Each problem as one line: place, key, problem, and the hint in brackets."""
    return [
        f"{p.file}:{p.line}:{p.column}: {p.key}: {p.problem}" + (f" [{p.hint}]" if p.hint else "")
        for p in problems(text, *changes)
    ]


pytestmark = pytest.mark.usefixtures("folder")


# What is understood


def test_a_job_is_read_with_its_machine_and_wood() -> None:
    loaded = load()
    assert "Tenor board" == loaded.job.title
    assert "bench router" == loaded.machine.name
    assert "hard maple" == loaded.wood.name
    assert Path("job.yaml") == loaded.path
    assert JOB == loaded.source
    assert 12 == len(loaded.job_hash)


def test_width_at_a_fret_and_thickness_as_one_number_are_understood() -> None:
    job = load().job
    assert (36.0, 44.0, 12) == (
        job.instrument.board.width.nut,
        job.instrument.board.width.there,
        job.instrument.board.width.at,
    )
    assert (8.0, 8.0) == (job.stock.thickness.min, job.stock.thickness.max)


def test_features_know_their_name_and_line() -> None:
    text = JOB + "      - score_lines: {bit: sixteenth, depth: 0.3}\n"
    features = load(text).job.setups[0].features
    assert [("plane", 22), ("score_lines", 23), ("outline", 24), ("score_lines 2", 25)] == [
        (f.name, f.line) for f in features
    ]


def test_names_of_features_are_counted_over_all_setups() -> None:
    text = JOB + dedent(
        """\
          - name: again
            zero: {x: nut, y: centreline, z: bed}
            nut_at: 12
            features:
              - score_lines: {bit: scorer, depth: 0.6}
        """
    ).replace("\n", "\n  ").replace("- name", "  - name", 1)
    setups = load(text).job.setups
    assert "score_lines 2" == setups[1].features[0].name


def test_bare_numbers_are_in_the_job_s_units_and_text_may_carry_its_own() -> None:
    text = but("units: mm", "units: in")
    text = but("scale_length: 584", "scale_length: 584 mm", text)
    text = but("width: {nut: 36, 12: 44}", "width: {nut: 1 3/8 in, 12: 1.75}", text)
    text = but("stock: {length: 480, width: 64, thickness: 8}", "stock: {length: 19, width: 2.5, thickness: 0.3}", text)
    text = but("depth: 0.5", "depth: 0.5 mm", text)
    job = load(text).job
    assert 584.0 == job.instrument.scale_length
    assert 34.925 == pytest.approx(job.instrument.board.width.nut, abs=1e-12)  # 1 3/8 x 25.4 (exact by definition)
    assert 482.6 == pytest.approx(job.stock.length, abs=1e-12)  # 19 x 25.4
    assert 0.5 == job.setups[0].features[1].depth  # type: ignore[attr-defined]


def test_a_wood_may_be_described() -> None:
    wood = load(but("wood: hard maple", "wood: {name: pear, janka: 1660, density: 690}")).wood
    assert ("pear", 1660.0, 690.0) == (wood.name, wood.janka, wood.density)


def test_every_feature_of_the_table_can_be_named() -> None:
    for key in FEATURES:
        (problem, *_) = problems(but("- plane: {bit: planer, leave: 6}", f"- {key}: {{bitt: planer}}"))
        assert "no feature has this name" != problem.problem


# Bits


def test_the_rack_s_bits_are_at_hand_and_the_job_s_stand_beside_them() -> None:
    text = JOB + dedent(
        """\
        bits:
          mine: {shape: flat, diameter: 0.7, cutting_length: 2.5, shank: 3.175, stickout: 15}
        """
    )
    bits = load(text.replace("bit: scorer", "bit: mine")).job.bits
    assert 0.7 == bits["mine"].diameter
    assert 25.0 == bits["planer"].diameter


def test_a_bit_of_the_rack_is_amended_by_an_entry_without_a_shape() -> None:
    bits = load(JOB + "bits: {quarter: {measured_diameter: 6.41}}\n").job.bits
    assert 6.41 == bits["quarter"].cut_diameter
    assert 6.35 == pytest.approx(bits["quarter"].diameter, abs=1e-12)


def test_an_amendment_is_in_the_job_s_units_though_the_rack_is_in_its_own() -> None:
    text = but("units: mm", "units: in").replace("depth: 0.5", "depth: 0.02")
    for old, new in (
        ("scale_length: 584", "scale_length: 23"),
        ("leave: 6", "leave: 0.24"),
        ("length: 8, height: 1.5", "length: 0.3, height: 0.06"),
        ("nut: 36, 12: 44", "nut: 1.4, 12: 1.7"),
        ("length: 480, width: 64", "length: 19, width: 2.5"),
    ):
        text = but(old, new, text)
    bits = load(text + "bits: {six: {measured_diameter: 0.24, runout: 0.001, flutes: 1}}\n").job.bits
    assert 6.096 == pytest.approx(bits["six"].cut_diameter, abs=1e-12)  # 0.24 x 25.4
    assert 0.0254 == pytest.approx(bits["six"].runout, abs=1e-12)
    assert (6.0, 1) == (bits["six"].diameter, bits["six"].flutes)


def test_the_same_bit_at_another_diameter() -> None:
    text = JOB + "bits: {scorer: {measured_diameter: 0.62}}\n"
    bits = load(text, ("scorer", "0.8")).job.bits
    assert 0.8 == bits["scorer"].cut_diameter
    assert 3.175 == bits["scorer"].shank
    assert 0.79375 == pytest.approx(load(JOB, ("scorer", "1/32in")).job.bits["scorer"].diameter, abs=1e-12)


def test_another_bit_takes_a_bit_s_place() -> None:
    rack = load_rack()
    bits = load(JOB, ("quarter", "six"), ("scorer", "vee60")).job.bits
    assert rack["six"] == bits["quarter"]
    assert rack["vee60"] == bits["scorer"]


def test_two_bits_may_change_places() -> None:
    rack = load_rack()
    bits = load(JOB, ("quarter", "scorer"), ("scorer", "quarter")).job.bits
    assert (rack["scorer"], rack["quarter"]) == (bits["quarter"], bits["scorer"])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("scorr", "0.8"), "--bit scorr=0.8: no bit is called `scorr` [did you mean `scorer`?]"),
        (
            ("six", "5"),
            "--bit six=5: no feature of this job uses this bit [bits of this job: planer, quarter, scorer]",
        ),
        (
            ("scorer", "vee6"),
            "--bit scorer=vee6: neither a bit nor a diameter "
            "[did you mean `vee60`? or write a diameter, such as 0.8, 0.8mm or 1/32in]",
        ),
        (("scorer", "0"), "--bit scorer=0: a diameter must be more than 0 [such as 0.8, 0.8mm or 1/32in]"),
        (("scorer", "-1"), "--bit scorer=-1: a diameter must be more than 0 [such as 0.8, 0.8mm or 1/32in]"),
    ],
)
def test_a_change_of_bit_that_cannot_be_is_told(change: tuple[str, str], said: str) -> None:
    assert [f"command line:0:0: {said}"] == told(JOB, change)


def test_the_rack_holds_the_bits_that_jobs_count_on() -> None:
    rack = load_rack()
    assert {"planer", "quarter", "eighth", "sixteenth", "six", "three", "scorer", "vee60"} <= set(rack)
    # Inch sizes: 1/4, 1/8 and 1/16 of 25.4 mm, exact by definition.
    assert (6.35, 3.175, 1.5875) == pytest.approx(
        (rack["quarter"].diameter, rack["eighth"].diameter, rack["sixteenth"].diameter), abs=1e-12
    )
    assert 25.0 == rack["planer"].diameter
    assert 16000 == rack["planer"].max_rpm
    assert not rack["planer"].centre_cutting
    assert isinstance(rack["scorer"], Flat)


# The hash


def test_order_comments_and_spelling_of_the_file_do_not_change_the_hash() -> None:
    lines = JOB.splitlines(keepends=True)
    shuffled = "# a comment\n" + "".join([*lines[14:], *lines[:14]])
    shuffled = but("depth: 0.5", "depth: '0.5 mm'", shuffled)
    assert load().job_hash == load(shuffled).job_hash
    assert load().job_hash == load(JOB + "bits: {six: {measured_diameter: 6.12}}\n").job_hash  # not used by the job


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("depth: 0.5", "depth: 0.51"),
        ("wood: hard maple", "wood: ebony"),
        ("title: Tenor", "title: Alto"),
        ("machine: bench-router", "machine: hand-dial"),
        ("nut_at: 12", "nut_at: 13"),
    ],
)
def test_whatever_may_change_a_program_changes_the_hash(old: str, new: str) -> None:
    assert load().job_hash != load(but(old, new)).job_hash


def test_another_bit_and_another_order_of_features_change_the_hash() -> None:
    assert load().job_hash != load(JOB, ("scorer", "0.8")).job_hash
    assert load().job_hash != load(JOB + "bits: {quarter: {measured_diameter: 6.41}}\n").job_hash
    lines = JOB.splitlines(keepends=True)
    assert load().job_hash != load("".join([*lines[:21], lines[22], lines[21], lines[23]])).job_hash


# Files beside the job


INSTRUMENT = """\
units: in
scale_length: 23
frets: 19
strings: 4
board: {width: {nut: 1.4, end: 1.8}, overhang: 0.3, thickness: 0.24}
"""


def sharing(text: str) -> str:
    Path("parts").mkdir(exist_ok=True)
    Path("parts/tenor.yaml").write_text(text, encoding="utf-8")
    start, end = JOB.index("instrument:"), JOB.index("stock:")
    return JOB[:start] + "instrument: parts/tenor.yaml\n" + JOB[end:]


def test_an_instrument_may_stand_in_a_file_of_its_own_with_units_of_its_own() -> None:
    instrument = load(sharing(INSTRUMENT)).job.instrument
    assert 584.2 == pytest.approx(instrument.scale_length, abs=1e-9)  # 23 x 25.4


def test_an_instrument_file_without_units_is_in_those_of_the_job() -> None:
    text = INSTRUMENT.replace("units: in\n", "").replace("23", "584")
    assert 584.0 == load(sharing(text)).job.instrument.scale_length


def test_the_path_of_an_instrument_counts_from_the_job_s_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = tmp_path / "job.yaml"
    job.write_text(sharing(INSTRUMENT), encoding="utf-8")
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    assert 19 == load_job(job).job.instrument.frets


def test_faults_of_an_instrument_file_bear_its_name_and_stand_beside_those_of_the_job() -> None:
    text = sharing(INSTRUMENT.replace("frets: 19", "frest: 19").replace("1.8", "-1.8"))
    assert [
        "job.yaml:4:7: wood: no wood is called `balsa` [woods: hard maple, black walnut, black cherry, white ash, "
        "mahogany, sapele, indian rosewood, ebony; or describe it: {name: my wood, janka: 1200, density: 650}]",
        "parts/tenor.yaml:3:1: frest: this key is not known here [did you mean `frets`?]",
        "parts/tenor.yaml:5:32: board.width.end: must be more than 0",
    ] == told(but("wood: hard maple", "wood: balsa", text))


def test_an_instrument_file_that_is_missing_or_a_folder_or_not_utf_8_is_told() -> None:
    text = sharing(INSTRUMENT)
    Path("parts/tenor.yaml").write_bytes(b"scale_length: \xff\n")
    assert ["parts/tenor.yaml:1:15: : not UTF-8 text (byte 0xff) [save the file as UTF-8]"] == told(text)
    Path("parts/tenor.yaml").unlink()
    assert [
        "job.yaml:5:13: instrument: there is no file `parts/tenor.yaml` [give its path from the job's folder]"
    ] == told(text)
    assert ["parts:0:0: : this is a folder, not a file [name the YAML file in it]"] == told(
        but("parts/tenor.yaml", "parts", text)
    )


def test_a_machine_of_one_s_own_is_named_by_its_path() -> None:
    own = machine_paths()["bench-router"].read_text(encoding="utf-8").replace("name: bench router", "name: my own")
    Path("mine.yaml").write_text(own, encoding="utf-8")
    assert "my own" == load(but("machine: bench-router", "machine: mine.yaml")).machine.name


def test_faults_of_a_machine_file_bear_its_name() -> None:
    own = machine_paths()["bench-router"].read_text(encoding="utf-8")
    own = but("safe_height: 5 ", "safe_hight: 5 ", own)
    own = but("  max_rpm: 24000", "  max_rpm: 4000", own)
    Path("mine.yaml").write_text(own, encoding="utf-8")
    line = {name: 1 + own[: own.index(name)].count("\n") for name in ("spindle:", "safe_hight")}
    assert [
        f"mine.yaml:{line['spindle:'] + 1}:3: spindle: min_rpm 8000 is more than max_rpm 4000",
        f"mine.yaml:{line['safe_hight']}:1: safe_hight: this key is not known here [did you mean `safe_height`?]",
    ] == told(but("machine: bench-router", "machine: mine.yaml"))


def test_every_machine_can_be_loaded_by_name() -> None:
    assert ["bench-router", "hand-dial", "shop-gantry", "small-frame"] == list(machine_paths())
    for name in machine_paths():
        assert load_machine(name).name == name.replace("-", " ")


def test_an_unknown_machine_is_answered_with_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(JobError) as caught:
        load_machine("bench-ruter")
    (problem,) = caught.value.problems
    assert "no machine of this name" == problem.problem
    assert "did you mean `bench-router`? or name a file of your own, such as my-router.yaml" == problem.hint
    with pytest.raises(JobError) as caught:
        load_machine("mine.yaml", tmp_path)
    assert str(tmp_path / "mine.yaml") == caught.value.problems[0].file


# What is refused


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "title: Tenor board",
            "titel: Tenor board",
            ["1:1: titel: this key is not known here [did you mean `title`?]"],
        ),
        ("title: Tenor board", "title: 12", ["1:8: title: write text, not the number 12"]),
        ("title: Tenor board\n", "", ["1:1: title: is missing [add it: name of the job in programs and reports]"]),
        (
            "    overhang: 8\n",
            "",
            [
                "9:3: instrument.board.overhang: is missing "
                "[add it: length of the board beyond the last fret, on the centreline]"
            ],
        ),
        ("units: mm", "units: cm", ["2:8: units: units are mm or in [choose from: mm, in]"]),
        (
            "machine: bench-router",
            "machine: bench-ruter",
            [
                "3:10: machine: no machine is called `bench-ruter` "
                "[did you mean `bench-router`? or name a file of your own, such as my-router.yaml]"
            ],
        ),
        (
            "machine: bench-router",
            "machine: mine.yaml",
            ["3:10: machine: there is no file `mine.yaml` [give its path from the job's folder]"],
        ),
        (
            "wood: hard maple",
            "wood: hard mapel",
            [
                "4:7: wood: no wood is called `hard mapel` "
                "[did you mean `hard maple`? or describe it: {name: my wood, janka: 1200, density: 650}]"
            ],
        ),
        ("wood: hard maple", "wood: {name: x, janka: 0, density: 1}", ["4:24: wood.janka: must be more than 0"]),
        ("wood: hard maple", "wood: 7", ["4:7: wood: write text, not the number 7"]),
        (
            "frets: 19",
            "frest: 19",
            [
                "7:3: instrument.frest: this key is not known here [did you mean `frets`?]",
            ],
        ),
        ("frets: 19", "frets: 19.0", ["7:10: instrument.frets: write a whole number, not the number 19.0"]),
        ("frets: 19", "frets: 0", ["7:10: instrument.frets: must be at least 1"]),
        ("nut: 36, 12: 44", "nut: 36, 12: -44", ["10:26: instrument.board.width.12: must be more than 0"]),
        (
            "nut: 36, 12: 44",
            "nut: 36",
            [
                "10:12: instrument.board.width: give the width at two places, "
                "such as {nut: 42, 12: 52} or {nut: 42, end: 56}"
            ],
        ),
        (
            "nut: 36, 12: 44",
            "nut: 36, bridge: 44",
            ["10:12: instrument.board.width: the second place must be a fret number or `end`, not 'bridge'"],
        ),
        (
            "radius: 305",
            "radius: {nut: 254, emd: 406}",
            [
                "13:24: instrument.board.radius.emd: this key is not known here [did you mean `end`?]",
            ],
        ),
        ("thickness: 8}", "thickness: {min: 8, max: 7}}", ["14:44: stock.thickness: min must not be more than max"]),
        (
            "thickness: 8}",
            "thickness: thick}",
            ["14:44: stock.thickness: not a length; write a number, or text such as 6.35 mm or 1/4 in"],
        ),
        ("thickness: 8}", "thickness: 0}", ["14:44: stock.thickness: must be more than 0"]),
        (
            "- name: face",
            "- name: ../face",
            ["16:11: setups[0].name: the text `../face` has characters that cannot be used here"],
        ),
        (
            "offset: G54",
            "offset: G53",
            [
                "17:13: setups[0].offset: the text `G53` is not one of the choices "
                "[choose from: G54, G55, G56, G57, G58, G59, G59.1, G59.2, G59.3]"
            ],
        ),
        (
            "offset: G54",
            "offset: G59.1",
            [
                "17:13: setups[0].offset: bench router has no offset G59.1 [its offsets are G54, G55, G56, G57, "
                "G58, G59]"
            ],
        ),
        (
            "y: centreline",
            "y: centerline",
            ["18:23: setups[0].zero.y: the text `centerline` is not one of the choices [did you mean `centreline`?]"],
        ),
        (
            "nut_at: 12",
            "nut_at: yes",
            ["19:13: setups[0].nut_at: not a length; write a number, or text such as 6.35 mm or 1/4 in"],
        ),
        (
            "hold: tape",
            "hold: tpae",
            ["20:11: setups[0].hold: the text `tpae` is not one of the choices [did you mean `tape`?]"],
        ),
        (
            "bit: planer",
            "bit: planner",
            ["22:22: setups[0].features[0].plane.bit: no bit is called `planner` [did you mean `planer`?]"],
        ),
        (
            "bit: planer, leave: 6",
            "leave: 6",
            [
                "22:9: setups[0].features[0].plane.bit: is missing [add it: name of a bit, from the job's "
                "`bits` or the rack]"
            ],
        ),
        (
            "leave: 6",
            "leaf: 6",
            [
                "22:30: setups[0].features[0].plane.leaf: this key is not known here [did you mean `leave`?]",
            ],
        ),
        (
            "- score_lines:",
            "- score_line:",
            ["23:9: setups[0].features[1].score_line: no feature has this name [did you mean `score_lines`?]"],
        ),
        (
            "depth: 0.5",
            "depth: [0.5]",
            ["23:43: setups[0].features[1].score_lines.depth: write a length, such as 6.35, 6.35 mm or 1/4 in"],
        ),
        (
            "depth: 0.5",
            "depth: 0.5, step_over: 1.5",
            ["23:59: setups[0].features[1].score_lines.step_over: must be at most 1"],
        ),
        (
            "count: 4",
            "count: four",
            ["24:47: setups[0].features[2].outline.tabs.count: write a whole number, not the text `four`"],
        ),
    ],
)
def test_a_fault_is_told_with_place_key_words_and_hint(old: str, new: str, said: list[str]) -> None:
    assert [f"job.yaml:{line}" for line in said] == told(but(old, new))


ENTRIES = [
    (
        "- {plane: {bit: planer, leave: 6}, outline: {bit: quarter}}",
        "22:9: setups[0].features[0]: 2 features in one entry: `plane`, `outline` "
        "[begin each with `- ` on a line of its own]",
    ),
    (
        "- plane:\n        bit: planer",
        "22:9: setups[0].features[0]: the keys of `plane` are beside it, not below it "
        "[indent them further, or write `- plane: {...}`]",
    ),
    ("- plane", "22:9: setups[0].features[0]: `plane` has no keys [write `- plane: {bit: quarter}`]"),
    ("- {}", "22:9: setups[0].features[0]: an empty entry [write `- outline: {bit: quarter}`, or take it out]"),
    ("- 5", "22:9: setups[0].features[0]: write a feature, not the number 5 [write `- outline: {bit: quarter}`]"),
    (
        "- plane: 5",
        "22:16: setups[0].features[0].plane: write keys and values here, not the number 5 "
        "[such as plane: {bit: quarter}]",
    ),
]


@pytest.mark.parametrize(("entry", "said"), ENTRIES)
def test_an_entry_that_is_not_one_feature_is_told(entry: str, said: str) -> None:
    assert [f"job.yaml:{said}"] == told(but("- plane: {bit: planer, leave: 6}", entry))


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        (
            "quater: {diameter: 3}",
            "3: bits.quater.shape: is missing [did you mean `quarter` of the rack? "
            "shapes: flat, vee, ball, bull, tapered ball, drill]",
        ),
        (
            "mine: {shape: round}",
            "17: bits.mine.shape: the text `round` is not a shape of bit "
            "[shapes: flat, vee, ball, bull, tapered ball, drill]",
        ),
        ("mine: {shape: bal}", "17: bits.mine.shape: the text `bal` is not a shape of bit [did you mean `ball`?]"),
        (
            "mine: {shape: bull, corner: 2, diameter: 4, cutting_length: 9, shank: 4, stickout: 20}",
            "9: bits.mine: a corner radius of 2.00 mm leaves no flat on a bit of 4.00 mm; give a smaller corner, or "
            "`shape: ball`",
        ),
        (
            "mine: {shape: bull, diameter: 4, cutting_length: 9, shank: 4, stickout: 20}",
            "3: bits.mine.corner: is missing [add it: radius of the corner between its flat end and its sides]",
        ),
        ("six: {flute: 3}", "9: bits.six.flute: this key is not known here [did you mean `flutes`?]"),
        ("six: {flutes: 9}", "17: bits.six.flutes: must be at most 8"),
        (
            "six: {diameter: wide}",
            "19: bits.six.diameter: not a length; write a number, or text such as 6.35 mm or 1/4 in",
        ),
        (
            "six: 5",
            "8: bits.six: write keys and values here, not the number 5 "
            "[such as my bit: {shape: flat, diameter: 3, cutting_length: 12, shank: 6, stickout: 25}]",
        ),
        (
            "../x: {shape: flat}",
            "3: bits.'../x': this cannot be the name of a bit "
            "[use at most 40 letters, figures, spaces, - and _, and begin with a letter or a figure]",
        ),
        (
            "mine: {shape: flat, diameter: 3, cutting_length: 9, shank: 3}",
            "3: bits.mine.stickout: is missing [add it: how far it stands out, from the collet nut's face to the tip]",
        ),
    ],
)
def test_a_faulty_bit_is_told(entry: str, said: str) -> None:
    assert [f"job.yaml:26:{said}"] == told(JOB + f"bits:\n  {entry}\n")


def test_a_feature_that_names_a_faulty_bit_is_not_told_as_well() -> None:
    text = but("bit: scorer", "bit: mine") + "bits:\n  mine: {shape: round}\n"
    assert 1 == len(told(text))


def test_a_second_setup_of_the_same_name_is_told() -> None:
    second = indent(dedent(JOB[JOB.index("  - name") :].replace("face", "Face")), "  ")
    assert [
        "job.yaml:25:11: setups[1].name: two setups have this name; the first is on line 16 [give it a name of its own]"
    ] == told(JOB + second)


def test_keep_out_boxes_are_checked() -> None:
    text = but("hold: tape", "keep_out: [{name: stop, x: [-40, -60], y: [-25, 25], height: 6}]")
    assert ["job.yaml:20:16: setups[0].keep_out[0]: write the lower number of x and of y first"] == told(text)


def test_every_fault_of_a_job_is_told_at_once_in_the_order_of_the_file() -> None:
    text = JOB
    for old, new in (
        ("machine: bench-router", "machine: nowhere"),
        ("frets: 19", "frets: many"),
        ("overhang: 8", "overhang: -8"),
        ("hold: tape", "hold: glue"),
        ("bit: planer", "bit: planner"),
        ("depth: 0.5", "depth: 0"),
    ):
        text = but(old, new, text)
    text += "colour: red\n"
    assert [3, 7, 11, 20, 22, 23, 25] == [p.line for p in problems(text, ("scorer", "x"))][:-1]
    assert "command line" == problems(text, ("scorer", "x"))[-1].file


def test_faults_of_the_yaml_itself_come_first_and_alone() -> None:
    assert [
        "job.yaml:2:1: title: this key is given twice, first on line 1 [keep one of the two]",
        "job.yaml:8:10: instrument.frets: `.nan` is not a number [write a number with digits]",
    ] == told(but("frets: 19", "frets: .nan", but("units: mm", "title: x\nunits: cm")))


def test_a_problem_carries_the_source_line() -> None:
    (problem,) = problems(but("frets: 19", "frets: many"))
    assert "  frets: many" == problem.source


def test_a_job_file_that_is_missing_or_a_folder_is_told(folder: Path) -> None:
    for path, said in ((folder / "none.yaml", "there is no such file"), (folder, "this is a folder, not a file")):
        with pytest.raises(JobError) as caught:
            load_job(path)
        assert said == caught.value.problems[0].problem


def test_a_value_shared_by_an_alias_works_and_its_faults_are_placed_at_the_alias() -> None:
    text = but("depth: 0.5", "depth: &d 0.5").replace("{bit: planer, leave: 6}", "{bit: planer, leave: 6}")
    text += "      - score_lines: {bit: sixteenth, depth: *d}\n"
    assert 0.5 == load(text).job.setups[0].features[3].depth  # type: ignore[attr-defined]
    wrong = but("&d 0.5", "&d -1", text)
    assert [
        "job.yaml:23:43: setups[0].features[1].score_lines.depth: must be more than 0",
        "job.yaml:25:46: setups[0].features[3].score_lines.depth: must be more than 0",
    ] == told(wrong)


# The air and the wood


def test_the_air_of_shop_and_home_is_read_and_changes_no_program() -> None:
    plain, with_air = load(), load(JOB + "moisture: {shop: 45, home: [35, 65]}\n")
    assert with_air.job.moisture is not None
    assert (45, (35, 65), 21, "flat") == (
        with_air.job.moisture.shop,
        with_air.job.moisture.home,
        with_air.job.moisture.temperature,
        with_air.job.moisture.sawn,
    )
    assert plain.job_hash == with_air.job_hash


@pytest.mark.parametrize(
    ("air", "said"),
    [
        ("{shop: 45, home: [65, 35]}", "write the driest and the dampest air, from 5 to 95 %"),
        ("{shop: 45, home: [35, 99]}", "write the driest and the dampest air, from 5 to 95 %"),
        ("{shop: 3, home: [35, 65]}", "moisture.shop"),
        ("{shop: 45}", "moisture.home: is missing"),
        ("{shop: 45, home: [35, 65], sawn: rift}", "moisture.sawn"),
        ("{shop: 45, home: [35, 65], wet: 1}", "moisture.wet: this key is not known here"),
    ],
)
def test_an_air_that_no_shop_has_is_told(air: str, said: str) -> None:
    (one,) = told(JOB + f"moisture: {air}\n")
    assert one.startswith("job.yaml:25:")
    assert said in one


def test_a_wood_that_can_sensitise_is_another_wood_to_the_programs() -> None:
    own = "wood: {name: pear, janka: 1660, density: 690%s}"
    hashes = [
        load(but("wood: hard maple", own % more)).job_hash
        for more in ("", ", shrinkage: {radial: 4}", ", sensitises: true")
    ]
    assert (True, False) == (hashes[0] == hashes[1], hashes[0] == hashes[2])


def test_a_nut_that_is_written_down_as_usual_changes_no_program_and_another_does() -> None:
    plain = load().job_hash
    frets = "  frets: 19\n"
    for usual in ("zero_fret: false", "nut_compensation: 0"):
        assert plain == load(but(frets, f"{frets}  {usual}\n")).job_hash
    hashes = {
        load(but(frets, f"{frets}  {other}\n")).job_hash
        for other in ("zero_fret: true", "zero_fret: {nut_behind: 4}", "nut_compensation: 0.5")
    }
    fan = "scale_length: {bass: 600, treble: 584, square_fret: 7}"
    hashes.add(load(but("scale_length: 584", fan)).job_hash)
    assert 4 == len(hashes - {plain})


# Pieces of their own

SHEET = """  - name: pieces
    stock: {length: 100, width: 40, thickness: 2}
    wood: black walnut
    zero: {x: stock end, y: stock edge, z: bed}
    features:
      - inlay_pieces: {bit: sixteenth, of: marker_pockets}
  - name: edge
    stand: bass edge up
    stock: {length: 330, width: 6, thickness: 44}
    zero: {x: nut, y: stock edge, z: stock top}
    nut_at: 0
    features:
      - side_dots: {bit: sixteenth, diameter: 2, depth: 2}
"""


def test_a_sheet_has_a_wood_and_a_size_and_no_nut() -> None:
    _, sheet, edge = load(JOB + SHEET).job.setups
    assert sheet.stock is not None
    assert (100.0, 0.0, "black walnut") == (sheet.stock.length, sheet.nut_at, sheet.wood)
    assert ("bass edge up", None) == (edge.stand, edge.wood)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("wood: black walnut", "wood: black walnutt", "setups[1].wood: no wood is called `black walnutt`"),
        ("wood: black walnut", "flip: about x", "a separate piece is never turned over: take `flip` out"),
        (
            "wood: black walnut",
            "nut_at: 5",
            "a sheet has no nut: write `x: stock end` in `zero`, and take `nut_at` out",
        ),
        ("{x: stock end, y: stock edge, z: bed}", "{x: nut, y: stock edge, z: bed}", "a sheet has no nut"),
        ("{x: stock end, y: stock edge, z: bed}", "{x: stock end, y: centreline, z: bed}", "has no centreline"),
        ("z: stock top}", "z: bed}", "write `z: stock top` in `zero`"),
        (
            "    stock: {length: 330, width: 6, thickness: 44}\n",
            "",
            "`stand` in a setup is for a separate piece: write its `stock` too",
        ),
    ],
)
def test_a_piece_of_its_own_that_cannot_lie_there_is_told(old: str, new: str, said: str) -> None:
    assert any(said in one for one in told(JOB + but(old, new, SHEET)))


def test_the_job_s_own_blank_comes_first() -> None:
    head, face = JOB.split("  - name: face")
    assert any(
        "the first setup must cut the job's own blank" in one for one in told(head + SHEET + "  - name: face" + face)
    )


def test_a_job_without_pieces_of_its_own_keeps_its_mark() -> None:
    # The keys `stock`, `wood` and `stand` of setups came later.
    assert "stock" not in str(load().job.setups[0].model_dump(exclude_none=True))
    assert load().job_hash != load(JOB + SHEET).job_hash


# The reference


def test_the_reference_names_every_key_and_its_example_loads() -> None:
    page = (Path(__file__).parents[3] / "docs" / "job-file.md").read_text(encoding="utf-8")
    models: list[type[BaseModel]] = [Job, Instrument, Board, Stock, Setup, Zero, KeepOut, OwnWood, Shrinkage]
    models += [Hold, Screws, Clamp, Stop, Pins, PinAt, Tape, Vacuum, Under]
    models += [Moisture, Saw, Fan, ZeroFret]
    models += [*BITS.values(), *FEATURES.values()]
    keys = {field.alias or key for model in models for key, field in model.model_fields.items()}
    assert set() == {key for key in keys if f"`{key}`" not in page}
    assert set() == {word for word in [*WOODS, *BITS, *FEATURES] if f"`{word}`" not in page}
    example = page.split("```yaml\n")[1].split("```")[0]
    assert "Tenor board, 584 mm" == load(example).job.title


def test_the_machine_reference_names_every_key() -> None:
    page = (Path(__file__).parents[3] / "docs" / "machine-file.md").read_text(encoding="utf-8")
    keys = {key for model in (Machine, Spindle, Collet, Measured, Stroke, Backlash) for key in model.model_fields}
    assert set() == {key for key in keys if f"`{key}`" not in page}
