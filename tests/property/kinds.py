"""The kinds of text that are fuzzed: sound ones to begin with, what is done to them, and the way each is taken.

`Kind.take` runs a text the whole way that a command would: a job is loaded, made and judged, a program verified, a
drawing read and cut. What is no fault of neckpath (a JobError, a DrawingError, findings) it turns into a word.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from random import Random
from typing import Any

from pydantic import BaseModel

from tests.property.mutations import ANY, Change, aliases, as_yaml, elements, of_keys, tags, tree, words
from tests.support.pocket_job import written as drawn_job
from toolpaths.common.errors import DrawingError, JobError
from toolpaths.features.kinds import FEATURES
from toolpaths.gcode.program import BESIDE
from toolpaths.geometry.drawings_in.drawing import areas, placed, read_drawing
from toolpaths.job import job as job_models
from toolpaths.job import machine as machine_models
from toolpaths.job import neck as neck_models
from toolpaths.job.bits import BITS
from toolpaths.job.changes import Changes
from toolpaths.job.files import rack_file
from toolpaths.job.files.machine_file import machine_folder, machine_paths, read_machine
from toolpaths.job.files.problems import render
from toolpaths.job.machine_warnings import doubts
from toolpaths.pipeline import run as pipeline
from toolpaths.pipeline.run import make, verify
from toolpaths.reports.reference.machine_words import machine_table, sample, sample_words
from toolpaths.reports.text.tables import bits_table
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[2]
COARSE = Changes(pitch=1.0)
_LARGE = ("tenor_neck", "walled_neck")
"""Sound, and take about 5 s as they are: the small necks hold the same keys."""
_JOBS = [*sorted((ROOT / "demo_jobs").glob("*.yaml")), *sorted((ROOT / "tests" / "cases").glob("*.yaml"))]
_SMALL = ROOT / "tests" / "cases" / "short_board.yaml"
_IN_INCHES = ROOT / "tests" / "cases" / "inch_board.yaml"


@dataclass(frozen=True)
class Kind:
    """One kind of text. `take(name of the seed, text)` says what came of it; `trimmed` makes a seed quicker."""

    seeds: Mapping[str, str]
    changes: Sequence[Change]
    take: Callable[[str, str], str]
    trimmed: Callable[[str, Random], str] = lambda text, chance: text

    def spoilt(self, seed: str, number: int) -> tuple[str, list[int]]:
        """(name of the seed text, the mutations by number) of input `number` of a run."""
        chance = Random(f"{seed} {number}")
        name = chance.choice(sorted(self.seeds))
        return name, list(range(chance.choice((1, 1, 1, 2, 3))))

    def text(self, seed: str, number: int, steps: Sequence[int]) -> str:
        """Input `number` with those of its mutations."""
        name, _ = self.spoilt(seed, number)
        text = self.trimmed(self.seeds[name], Random(f"{seed} {number} trimmed"))
        others = [self.seeds[k] for k in sorted(self.seeds)]
        for step in steps:
            chance = Random(f"{seed} {number} {step}")
            text = chance.choice(self.changes)(text, chance, others)
        return text


KINDS = ("job", "machine", "rack", "program", "dxf", "svg")


def kind_of(name: str, folder: Path) -> Kind:
    """A kind by its name; `folder` is where its files are laid."""
    return {
        "job": _job_kind, "machine": _machine_kind, "rack": _rack_kind, "program": _program_kind,
        "dxf": partial(_drawing_kind, suffix=".dxf", change=tags),
        "svg": partial(_drawing_kind, suffix=".svg", change=elements),
    }[name](folder)  # fmt: skip


def told(outcome: Outcome) -> str:
    """What came of a job that was made."""
    assert all(f.message for f in outcome.findings)
    return "stopped" if outcome.stopped else "cut"


def refused(error: JobError) -> str:
    """What came of a job that was not; fails where a problem says nothing or cannot be shown."""
    assert error.problems
    for problem in error.problems:
        assert problem.problem
        assert problem.file
        render(problem)
    return "refused"


def _says(error: DrawingError) -> None:
    assert error.problem


def _made(path: Path) -> str:
    try:
        return told(make(path, COARSE))
    except JobError as error:
        return refused(error)
    except MemoryError as error:
        # The map's own refusal says which pitch would fit; any other was not foreseen.
        if str(error).replace(".", "").isdigit():
            return "refused"
        raise


# Jobs


def _job_kind(folder: Path) -> Kind:
    for source in (ROOT / "demo_jobs", ROOT / "tests" / "cases"):
        for below in ("drawings", "instruments"):
            if (source / below).is_dir():
                shutil.copytree(source / below, folder / below, dirs_exist_ok=True)
    path = folder / "job.yaml"

    def take(_: str, text: str) -> str:
        path.write_text(text, encoding="utf-8", errors="surrogatepass", newline="")
        return _made(path)

    seeds = {p.stem: p.read_text(encoding="utf-8") for p in _JOBS if p.stem not in _LARGE}
    yaml = of_keys(_job_keys)
    return Kind(seeds, (*ANY, aliases, *[yaml] * 12), take, _few_features)


def _few_features(text: str, chance: Random) -> str:
    """A job of at most three features a setup, in most cases, its instrument in place: so that many can be tried."""
    if chance.random() < 0.1:
        return text
    data = tree(text)
    if isinstance(data.get("instrument"), str):
        own = (ROOT / "demo_jobs" / data["instrument"]).read_text(encoding="utf-8")
        data["instrument"] = tree(own.replace("../drawings", "drawings"))
        data["instrument"].pop("units", None)
    if len(data["setups"]) > 1 and chance.random() < 0.5:
        del data["setups"][1:]
    for setup in data["setups"]:
        kept = sorted(chance.sample(range(len(setup["features"])), min(len(setup["features"]), chance.randint(1, 3))))
        setup["features"] = [setup["features"][i] for i in kept]
    return as_yaml(data)


def _fields(*models: Any) -> list[str]:
    return sorted({key for model in models for key in model.model_fields if not key.startswith("_")})


def _models(module: Any) -> list[Any]:
    return [m for m in vars(module).values() if isinstance(m, type) and issubclass(m, BaseModel)]


_OF_INSTRUMENTS = _fields(*_models(job_models)[1:], *_models(neck_models))
_OF_MACHINES = _fields(*_models(machine_models))
_OF_BITS = _fields(*BITS.values())


def _job_keys(way: Sequence[Any]) -> Sequence[str]:
    if "features" in way:
        own = [FEATURES[step] for step in way if step in FEATURES]
        return _fields(*own) if own else sorted(FEATURES)
    if way[0] == "bits":
        return _OF_BITS
    return _OF_INSTRUMENTS


# Machines and the rack


def _machine_kind(folder: Path) -> Kind:
    path, job = folder / "own.yaml", folder / "job.yaml"
    sound = _SMALL.read_text(encoding="utf-8")
    job.write_text(sound.replace("machine: bench-router", "machine: ./own.yaml"), encoding="utf-8")

    def take(_: str, text: str) -> str:
        path.write_text(text, encoding="utf-8", errors="surrogatepass", newline="")
        try:
            machine = read_machine(path)
        except JobError as error:
            return refused(error)
        assert machine_table("own", machine).rows
        assert sample(machine)
        sample_words(machine)
        doubts(machine)
        return _made(job)

    seeds = {p.stem: p.read_text(encoding="utf-8") for p in machine_paths().values()}
    return Kind(seeds, (*ANY, aliases, *[of_keys(lambda way: _OF_MACHINES)] * 8), take)


_RACK_JOB = """\
      - plane: {bit: planer, leave: 5}
      - score_lines: {bit: scorer, depth: 0.4, frets: [1, 2]}
      - marker_pockets: {bit: three, diameter: 5, depth: 1.5, frets: [3]}
      - pocket: {bit: eighth, then: sixteenth, drawing: drawings/leaf.svg, depth: 1, place: [60, 0], scale: 0.5}
      - engraving: {bit: vee60, drawing: drawings/leaf.svg, depth: 0.4, place: [20, 0], scale: 0.5}
      - outline: {bit: six}
"""


def _rack_kind(folder: Path) -> Kind:
    path, job = folder / "bits.yaml", folder / "job.yaml"
    data = tree((machine_folder() / "bits.yaml").read_text(encoding="utf-8"))
    wanted = ("planer", "scorer", "three", "eighth", "sixteenth", "vee60", "six")
    few = {"units": "mm", "bits": {k: v for k, v in data["bits"].items() if k in wanted}}
    small = _SMALL.read_text(encoding="utf-8")
    head, _ = small.split("    features:\n")
    head = head[: head.index("bits:")] + head[head.index("setups:") :]
    job.write_text(f"{head}    features:\n{_RACK_JOB}", encoding="utf-8")
    shutil.copytree(ROOT / "demo_jobs" / "drawings", folder / "drawings", dirs_exist_ok=True)
    rack_file.machine_folder = lambda: folder

    def take(_: str, text: str) -> str:
        path.write_text(text, encoding="utf-8", errors="surrogatepass", newline="")
        try:
            bits_table(rack_file.load_rack())
        except JobError as error:
            return refused(error)
        return _made(job)

    return Kind({"rack": as_yaml(few)}, (*ANY, aliases, *[of_keys(lambda way: _OF_BITS)] * 8), take)


# Programs


def _program_kind(folder: Path) -> Kind:
    dial = folder / "silent.yaml"
    sound = _SMALL.read_text(encoding="utf-8")
    silent = (machine_folder() / "bench-router.yaml").read_text(encoding="utf-8")
    (folder / "quiet.yaml").write_text(silent.replace("comments: true", "comments: false"), encoding="utf-8")
    dial.write_text(sound.replace("machine: bench-router", "machine: ./quiet.yaml"), encoding="utf-8")
    jobs = [_SMALL, _IN_INCHES, dial]
    layouts = {path: pipeline.lay_out(path, COARSE) for path in jobs}
    pipeline.lay_out = lambda path, changes: layouts[path]
    seeds: dict[str, str] = {}
    whose: dict[str, tuple[Path, str, str]] = {}
    for path, layout in layouts.items():
        for _, program in layout.own:
            name = f"{path.stem} {program.name}"
            seeds[name], whose[name] = program.text, (path, program.name, "")
            if program.beside:
                seeds[name + BESIDE], whose[name + BESIDE] = program.beside, (path, program.name, program.text)

    def take(name: str, text: str) -> str:
        path, file, kept = whose[name]
        program = folder / file
        beside = program.with_name(file + BESIDE)
        beside.unlink(missing_ok=True)
        (beside if kept else program).write_text(text, encoding="utf-8", errors="surrogatepass", newline="")
        if kept:
            program.write_text(kept, encoding="utf-8")
        try:
            outcome = verify(path, [program], COARSE)
        except UnicodeDecodeError:
            return "refused"
        if any(f.code == "unreadable" for f in outcome.findings):
            return "refused"
        return told(outcome)

    return Kind(seeds, (*ANY, *[words] * 5), take)


# Drawings


def _drawing_kind(folder: Path, suffix: str, change: Change) -> Kind:
    path = folder / f"drawn{suffix}"
    pocket = drawn_job(folder)
    sound = pocket.read_text(encoding="utf-8").replace("drawn.svg", path.name)
    pocket.write_text("\n".join(r for r in sound.split("\n") if "marker" not in r and "outline" not in r), "utf-8")
    engraved = folder / "engraved.yaml"
    rows = sound.split("\n")
    at = next(i for i, row in enumerate(rows) if "pocket:" in row)
    rows[at:] = [f"      - engraving: {{bit: vee60, drawing: {path.name}, depth: 0.3, place: [45, 0]}}", ""]
    engraved.write_text("\n".join(rows), encoding="utf-8")

    def take(_: str, text: str) -> str:
        path.write_text(text, encoding="utf-8", errors="surrogatepass", newline="")
        try:
            drawing = read_drawing(path)
            assert drawing.as_lines()
            areas(placed(drawing, (3.0, 4.0), 33.0, 1.5, mirror=True))
        except DrawingError as error:
            _says(error)
        return max(_made(pocket), _made(engraved), key=("refused", "stopped", "cut").index)

    return Kind(_drawings(suffix), (*ANY, *[change] * 8), take)


def _drawings(suffix: str) -> dict[str, str]:
    folders = (ROOT / "demo_jobs" / "drawings", ROOT / "tests" / "cases" / "drawings")
    seeds = {p.stem: p.read_text(encoding="utf-8") for f in folders for p in sorted(f.glob(f"*{suffix}"))}
    if suffix == ".dxf":
        from tests.property.test_drawing_fuzz import DXF

        # Drawings of the demos are scaled to lie on the small blank by their own size; this one has every entity.
        seeds["every entity"] = DXF
    else:
        seeds["shapes"] = (
            '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="-20 -15 40 30">\n'
            '<g id="a" transform="rotate(10)">\n<rect x="-10" y="-6" width="8" height="5" rx="1"/>\n'
            '<circle cx="5" cy="5" r="3"/>\n<ellipse cx="-5" cy="6" rx="4" ry="2"/>\n</g>\n'
            '<polygon points="0 -8 5 -8 3 -3"/>\n<path d="M8 0q3 3 6 0t2 2l-8 1z"/>\n'
            '<path d="M-15 0a3 2 20 1 1 4 1s1 2-1 3z"/>\n</svg>\n'
        )
    return seeds
