"""Jobs, instruments and machines of strangers: plain data, refused with a place, and soon."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.security.strangers import board, commands_to, run
from tests.support.patience import bounded


def changed(old: str, new: str) -> str:
    text = board()
    assert old in text
    return text.replace(old, new)


def with_feature(feature: str) -> str:
    return f"{board()}      - {feature}\n"


YAML: dict[str, Callable[[], str]] = {
    "a tag that runs code": lambda: changed("A board", '!!python/object/apply:os.system ["touch owned"]'),
    "another that does": lambda: changed("A board", "!!python/object/new:os.system [touch owned]"),
    "a tag of one's own": lambda: changed("A board", "!mine board"),
    "a tag on a key": lambda: f"!!str {board()}",
    "a tag of time": lambda: changed("A board", "!!timestamp 2001-01-01"),
    "bytes": lambda: changed("A board", "!!binary R0lGODlh"),
    "a merge key": lambda: "base: &b {title: x}\n<<: *b\n" + board(),
    "a merge of many": lambda: "a: &a {x: 1}\nb: &b {x: 2}\n<<: [*a, *b]\n" + board(),
    "an alias bomb": lambda: (
        "a0: &a0 [x, x]\n" + "".join(f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]\n" for i in range(1, 12)) + board()
    ),
    "a mapping that holds itself": lambda: "a: &a {b: *a}\n" + board(),
    "lists without end": lambda: "a: " + "[" * 100_000,
    "mappings without end": lambda: "a: " + "{a: " * 100_000,
    "indents without end": lambda: "".join(f"{' ' * i}a:\n" for i in range(1200)),
    "a key again and again": lambda: board() + "title: x\n" * 20_000,
    "thousands of keys": lambda: board() + "".join(f"k{i}: 1\n" for i in range(9000)),
    "thousands of features": lambda: board() + "".join(f"      - feat{i}: {{bit: q}}\n" for i in range(6000)),
    "thousands of setups": lambda: (
        board() + "".join(f"  - {{name: s{i}, nut_at: 1, features: []}}\n" for i in range(1900))
    ),
    "megabytes": lambda: board() + "#" * 2_000_000,
    "a key of a megabyte": lambda: board() + f"? {'x' * 900_000}\n: 1\n",
    "a title of a megabyte": lambda: board("x" * 900_000),
    "an anchor of a megabyte": lambda: f"a: &{'x' * 900_000} 1\n" + board(),
    "a number of a megabyte": lambda: changed("frets: 3", f"frets: {'9' * 900_000}"),
    "an escape sequence": lambda: board("\x1b[31mred"),
    "an escape sequence as an escape": lambda: board('"\\x1b[31mred"'),
    "a byte of a terminal": lambda: board("\x9b31mred"),
    "nothing": lambda: board('"\\0"'),
    "a second document": lambda: board() + "---\n" + board(),
    "a line for the reader": lambda: "%YAML 1.1\n---\n" + board(),
    "not a number": lambda: changed("strings: 4", "strings: .nan"),
    "without an end": lambda: changed("scale_length: 300", "scale_length: .inf"),
    "sixty": lambda: changed("scale_length: 300", "scale_length: 5:00"),
}
SIZES: dict[str, Callable[[], str]] = {
    "strings": lambda: changed("strings: 4", "strings: 1000000000"),
    "frets": lambda: changed("frets: 3\n", "frets: 1000000000\n"),
    "scale": lambda: changed("scale_length: 300", "scale_length: 1e11"),
    "a blank of a light second": lambda: changed("length: 110", "length: 3e11"),
    "a blank as high as the moon": lambda: changed("thickness: 6}", "thickness: 3.8e11}"),
    "a pocket wider than the world": lambda: changed("diameter: 5", "diameter: 1e9"),
    "a bore wider than the world": lambda: with_feature(
        "pin_bores: {bit: eighth, diameter: 1e9, at: [[50, 0]], depth: 4}"
    ),
    "a bore on the moon": lambda: with_feature("pin_bores: {bit: eighth, diameter: 5, at: [[1e11, 0]], depth: 4}"),
    "a nut slot of a thousand kilometres": lambda: with_feature("nut_slot: {bit: eighth, width: 1e9, depth: 2}"),
    "a finish as thick as the world": lambda: with_feature("outline: {bit: quarter, finish_allowance: 1e9}"),
    "a thousand million tabs": lambda: with_feature(
        "outline: {bit: quarter, tabs: {count: 1000000000, length: 8, height: 1}}"
    ),
    "passes without end": lambda: changed("depth: 1.5", "depth: 1.5, pass_depth: 1e-9"),
    "steps without end": lambda: changed("depth: 1.5", "depth: 1.5, step_over: 1e-9"),
    "planing without end": lambda: changed("leave: 5", "leave: 5, step_over: 1e-9"),
    "a dome without end": lambda: with_feature("radius: {bit: ball, scallop: 1e-12}"),
    "a bit finer than a hair": lambda: board() + "bits: {eighth: {diameter: 1e-9}}\n",
    "thousands of frets marked": lambda: changed("frets: [3]", f"frets: [{', '.join(['3'] * 5000)}]"),
    "thousands of bores": lambda: with_feature(
        f"pin_bores: {{bit: eighth, diameter: 3.2, depth: 4, at: [{', '.join(['[50, 0]'] * 5000)}]}}"
    ),
    "deeper than the world": lambda: changed("depth: 1.5", "depth: 1e11"),
}
QUICK = {"a tag that runs code", "a merge key", "an alias bomb", "passes without end", "a bore wider than the world"}
CASES = [
    pytest.param(made, id=name, marks=() if name in QUICK else pytest.mark.slow)
    for name, made in {**YAML, **SIZES}.items()
]


def told(job: Path, text: str) -> str:
    """What `check` says of a job; where it stands goes before each problem."""
    job.write_text(text, encoding="utf-8")
    with bounded():
        return run("check", job, "--pitch", "0.5", code=2)


@pytest.mark.parametrize("made", CASES)
def test_a_hostile_job_is_refused_in_words_with_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, made: Callable[[], str]
) -> None:
    monkeypatch.chdir(tmp_path)
    said = told(Path("board.yaml"), made())
    assert said.startswith("board.yaml:")
    # Each problem begins with its place; several are counted at the end. `check` makes nothing, and need not say so.
    problems = len(re.findall(r"^board\.yaml:\d+:\d+: ", said, re.M)) + len(re.findall(r"^board\.yaml: ", said, re.M))
    assert said.rstrip().endswith(f"{problems} problems.") == (problems > 1)
    assert "was made" not in said
    assert "" == commands_to(said)
    assert len(said) < 200_000
    assert ["board.yaml"] == [p.name for p in tmp_path.iterdir()]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["a tag that runs code", "an alias bomb", "lists without end", "megabytes"])
def test_the_same_in_an_instrument_and_a_machine(tmp_path: Path, name: str) -> None:
    odd = YAML[name]()
    (tmp_path / "odd.yaml").write_text(odd, encoding="utf-8")
    head, _, rest = board().partition("instrument:")
    said = told(tmp_path / "board.yaml", f"{head}instrument: odd.yaml\n{rest[rest.index('stock:') :]}")
    assert "odd.yaml" in said
    assert "odd.yaml" in told(tmp_path / "board.yaml", board().replace("bench-router", "odd.yaml"))
    assert "odd.yaml" in run("machines", "--check", tmp_path / "odd.yaml", code=2)
    assert "odd.yaml" in run("gauge", tmp_path / "odd.yaml", code=2)


@pytest.mark.slow
@pytest.mark.parametrize(
    "more",
    ["chord_tolerance: 1e-12", "decimals: 1000000", "line_length: 1", "arcs: none\nchord_tolerance: 1e-9"],
)
def test_a_machine_that_would_write_without_end_is_refused(tmp_path: Path, more: str) -> None:
    shipped = (Path(__file__).parents[2] / "machines" / "bench-router.yaml").read_text(encoding="utf-8")
    keys = [line.partition(":")[0] for line in more.splitlines()]
    kept = [line for line in shipped.splitlines() if line.partition(":")[0] not in keys]
    (tmp_path / "mine.yaml").write_text("\n".join([*kept, more]) + "\n", encoding="utf-8")
    assert keys[-1] in told(tmp_path / "board.yaml", board().replace("bench-router", "mine.yaml"))
