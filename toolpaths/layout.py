"""From a job file to the text of its programs, judged by nobody yet.

load -> target, plan -> move -> write
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from toolpaths import __version__
from toolpaths.core.feature import Feature
from toolpaths.core.finding import JobError, Problem, Refusal
from toolpaths.core.job import Setup
from toolpaths.core.operation import Batch, Raster
from toolpaths.core.outcome import Changes
from toolpaths.core.program import Heading, Program, Sitting
from toolpaths.core.scene import Scene, scene_of
from toolpaths.core.target import Target
from toolpaths.core.toolpath import Toolpath
from toolpaths.stages.load import Loaded, load_job
from toolpaths.stages.move import move
from toolpaths.stages.part import Part, divided
from toolpaths.stages.plan import chosen, plan
from toolpaths.stages.target import asked_of, target
from toolpaths.stages.write import touch_off, write
from toolpaths.trade.bindings import as_cut
from toolpaths.trade.boards import corners
from toolpaths.trade.woods import wood_of

_WANTS = {
    "": "it wants a setup without `stock`: one that cuts the job's blank",
    "sheet": "it wants a setup with its own `stock`, which is the sheet",
    "edge": "it wants a setup with its own `stock`, which is the board, and `stand: bass edge up` or `treble edge up`",
}


@dataclass(frozen=True, slots=True)
class Layout:
    """A job laid out. `earlier` is taken as cut before the set begins (`--only`, `--from`); `numbers`: bit numbers."""

    loaded: Loaded
    changes: Changes
    scenes: dict[str, Scene]
    target: Target
    earlier: tuple[tuple[Batch, Program], ...]
    own: tuple[tuple[Batch, Program], ...]
    numbers: dict[str, int]


def lay_out(path: Path, changes: Changes) -> Layout:
    """Everything from the file to the text. Raises JobError with every refusal at once."""
    return lay_out_loaded(load_job(path, changes.bits), changes)


def lay_out_loaded(loaded: Loaded, changes: Changes) -> Layout:
    """The same for a job in memory, its bits already changed. Raises JobError with every refusal at once."""
    folder = loaded.path.parent
    scenes = {s.name: _scene(loaded, s, folder) for s in loaded.job.setups}
    every, wanted = _asked(loaded, scenes)
    before, keep = _chosen(every, changes)
    numbers = {name: i for i, name in enumerate(dict.fromkeys(n for b in every for n in b.bits), 1)}
    earlier = _written(loaded, scenes, before, numbers, replace(changes, air=0.0, session=0.0), set())
    planed = {b.setup for b in before if _planes(b, (), scenes[b.setup])}
    own = _written(loaded, scenes, keep, numbers, changes, planed)
    return Layout(loaded, changes, scenes, wanted, earlier, own, numbers)


def _scene(loaded: Loaded, setup: Setup, folder: Path) -> Scene:
    """A setup in its surroundings. A board on edge is finished, and has its binding."""
    job = loaded.job if setup.stand is not None else as_cut(loaded.job)
    return scene_of(job, loaded.machine, loaded.wood if setup.wood is None else wood_of(setup.wood), setup, folder)


def _written(
    loaded: Loaded,
    scenes: dict[str, Scene],
    batches: Sequence[Batch],
    numbers: dict[str, int],
    changes: Changes,
    planed: set[str],
) -> tuple[tuple[Batch, Program], ...]:
    """The programs of a set. `planed`: setups whose face was planed before it."""
    parts = _parts(loaded, scenes, batches, changes.session)
    out: list[tuple[Batch, Program]] = []
    done = set(planed)
    for k, part in enumerate(parts, 1):
        batch = part.toolpath.batch
        scene = scenes[batch.setup]
        heading = Heading(
            version=__version__,
            job_hash=loaded.job_hash,
            name=_file_name(k, batch, scene),
            number=k,
            count=len(parts),
            bit_numbers=numbers,
            touch_off=touch_off(scene, batch.setup in done, batch.on_bed),
            altered=changes.words,
            accepted=tuple(f"{code}@{feature}" for code, feature in changes.accept),
            lift=changes.air,
            sitting=Sitting(part.session, parts[-1].session, changes.session, part.goes_on) if part.session else None,
        )
        out.append((batch, write(part.toolpath, scene, heading)))
        if _planes(batch, [p.toolpath.batch for p in parts[k:]], scene):
            done.add(batch.setup)
    return tuple(out)


def _parts(loaded: Loaded, scenes: dict[str, Scene], batches: Sequence[Batch], session: float) -> list[Part]:
    """What each program cuts: a batch, or as much of one as fits into a booking of `session` minutes."""
    works: list[tuple[Toolpath, Scene]] = []
    for batch in batches:
        scene = scenes[batch.setup]
        try:
            works.append((move(batch, scene), scene))
        except Refusal:
            raise JobError(_refused(loaded, batch, scene)) from None
    if not session:
        return [Part(toolpath) for toolpath, _ in works]
    try:
        return divided(works, session)
    except Refusal as refusal:
        raise JobError([Problem("command line", 1, 1, "--session", refusal.problem, refusal.hint)]) from None


def _refused(loaded: Loaded, batch: Batch, scene: Scene) -> list[Problem]:
    """Which operations of a batch no strategy can cut."""
    out: list[Problem] = []
    for operation in batch.operations:
        try:
            move(Batch(batch.setup, (operation,)), scene)
        except Refusal as refusal:
            out.append(_problem(loaded, operation.job_line, operation.feature, refusal))
    return out


def _file_name(k: int, batch: Batch, scene: Scene) -> str:
    words = [f"{k:02d}", batch.setup]
    if scene.machine.tool_change == "by hand":
        words += batch.bits
    return re.sub(r"[^A-Za-z0-9._-]+", "-", "-".join(words)) + f".{scene.machine.ending}"


def _planes(batch: Batch, later: Sequence[Batch], scene: Scene) -> bool:
    """Whether a batch takes the top down to the finished face, not only nearer to it; `later` come after it."""
    planing = [o for o in batch.operations if isinstance(o, Raster) and o.floor <= scene.face]
    return any(all(o is not other for b in later for other in b.operations) for o in planing)


def _chosen(every: Sequence[Batch], changes: Changes) -> tuple[tuple[Batch, ...], tuple[Batch, ...]]:
    try:
        return chosen(every, changes.only, changes.start)
    except KeyError as error:
        option, name = ("--only", changes.only) if changes.only is not None else ("--from", changes.start)
        hint = f"the job has {error.args[0]}"
        raise JobError([Problem("command line", 1, 1, option, f"no feature is called `{name}`", hint)]) from None


# Refusals


def _asked(loaded: Loaded, scenes: dict[str, Scene]) -> tuple[tuple[Batch, ...], Target]:
    """What is to be cut, and what is wanted; where a feature refuses, all are asked, and every refusal is told."""
    problems = _moved_blank(loaded, scenes)
    try:
        corners(as_cut(loaded.job).instrument)
        every, wanted = plan(list(scenes.values())), target(list(scenes.values()))
    except Refusal:
        problems += _refusals(loaded, scenes)
        if not problems:
            raise
    if problems:
        raise JobError(problems)
    return every, wanted


def _refusals(loaded: Loaded, scenes: dict[str, Scene]) -> list[Problem]:
    """Every feature is asked once, so that all that cannot be cut is told at once."""
    try:
        corners(as_cut(loaded.job).instrument)
    except Refusal as refusal:
        return [_problem(loaded, _line_of_board(loaded.source), "instrument.board", refusal)]
    out: list[Problem] = []
    for scene in scenes.values():
        for feature in scene.setup.features:
            try:
                _must_belong(feature, scene)
                asked_of(feature, scene)
                feature.operations(scene)
            except Refusal as refusal:
                out.append(_problem(loaded, feature.line, feature.name, refusal))
    return out


def _must_belong(feature: Feature, scene: Scene) -> None:
    """Raises Refusal for a feature that is not cut from the piece that lies in its setup."""
    here = "" if not scene.apart else "sheet" if scene.setup.stand is None else "edge"
    if feature.piece == here:
        return
    raise Refusal(f"setup {scene.setup.name} holds another piece than this feature is cut from", _WANTS[feature.piece])


def _line_of_board(source: str) -> int:
    """The line where the job describes its board, or names the file that does."""
    lines = source.splitlines()
    for key in ("board", "instrument"):
        for i, line in enumerate(lines, 1):
            if re.search(rf"\b{key}\s*:", line):
                return i
    return 1


def _moved_blank(loaded: Loaded, scenes: dict[str, Scene]) -> list[Problem]:
    """Setups must agree where the blank lies about the nut line and the centreline, turned over or not."""
    first = next(iter(scenes.values()))
    out: list[Problem] = []
    for name, scene in scenes.items():
        if scene.apart:
            continue
        x0, y0, x1, y1 = scene.stock_box
        seen = (x0, y0, x1, y1) if scene.flipped == first.flipped else (x0, -y1, x1, -y0)
        if any(abs(a - b) > 1e-6 for a, b in zip(seen, first.stock_box, strict=True)):
            hint = "give all setups the same nut_at; centre_at is measured from the operator's edge as the blank lies"
            refusal = Refusal("the blank lies elsewhere than in the first setup", hint, "")
            out.append(_problem(loaded, scene.setup.features[0].line, f"setup {name}", refusal))
    return out


def _problem(loaded: Loaded, line: int, feature: str, refusal: Refusal) -> Problem:
    """A refusal at its place: the line of the key at fault, else the feature's."""
    lines = loaded.source.splitlines()
    at, column = max(line, 1), 1
    if refusal.key:
        pattern = re.compile(rf"\b{re.escape(refusal.key)}\s*:")
        for i in range(at - 1, min(at + 30, len(lines))):
            if i >= at and re.match(r"\s*-\s+\w+\s*:", lines[i]):
                break
            if match := pattern.search(lines[i]):
                at, column = i + 1, match.start() + 1
                break
    source = lines[at - 1] if at <= len(lines) else ""
    key = f"{feature}.{refusal.key}" if refusal.key else feature
    return Problem(str(loaded.path), at, column, key, refusal.problem, refusal.hint, source)
