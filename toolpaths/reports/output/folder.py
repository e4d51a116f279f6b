"""Replace the files of a set in a folder: a kill at any moment leaves the earlier set whole, or says so.

Everything is written and flushed beside its place first; the earlier files are kept by hard links; only then is
each file replaced, in one short step each, the report last, while a mark stands in the folder. A run that finds
the mark of one that was killed puts the earlier files back before it does anything else.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import shutil
import stat
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from toolpaths.common.plain_file import plain_bytes
from toolpaths.gcode.program import BESIDE, Program

MARK = "INCOMPLETE"
STAGE = ".neckpath-staging"
_LARGEST_PLAN, _LARGEST_REPORT = 1_000_000, 20_000_000
_MARK_TEXT = (
    "Do not cut from this folder: the files in it were being replaced when the run ended.\n"
    f"The earlier files are whole in {STAGE}/earlier.\n"
    "The next `neckpath write` into this folder puts them back first.\n"
)


def replace_set(folder: Path, files: Mapping[str, bytes], *, last: str, drop: Collection[str] = ()) -> None:
    """Puts `files` (name to content) into a folder, `last` after all others, and removes those named in `drop`.

    Names are plain: no separators, not hidden. Files whose content stands there already are left alone.
    Raises OSError, in words for the person, where a name is taken by a link or a folder, where another run is
    writing there, or where the disk refuses; the earlier files are whole then.
    """
    for name in (*files, *drop):
        if not is_plain(name):
            raise OSError(f"`{name}` cannot be a file name of a set")
    folder.mkdir(parents=True, exist_ok=True)
    with _locked(folder):
        recover(folder)
        for name in (*files, *drop, MARK, STAGE):
            _refuse_link(folder / name)
        new = {n: c for n, c in files.items() if n == last or _content(folder / n) != c}
        gone = [n for n in drop if n not in files and (folder / n).exists()]
        _stage(folder, new, gone, last)
        try:
            _swap(folder, new, gone, last)
        except BaseException:
            recover(folder)
            raise
        _finish(folder)


def program_files(programs: Iterable[Program]) -> dict[str, bytes]:
    """Text of each program by file name, and of the words beside it where it has any."""
    files: dict[str, bytes] = {}
    for program in programs:
        files[program.name] = program.text.encode()
        if program.beside:
            files[program.name + BESIDE] = program.beside.encode()
    return files


def recover(folder: Path) -> None:
    """Clean up after a killed run: before its first replacement nothing had changed, after its last all is new;
    in between the earlier files are put back."""
    stage = folder / STAGE
    for path in (stage, stage / "new", stage / "earlier"):
        _refuse_link(path, folder_wanted=True)
    if (folder / MARK).is_file() and stage.is_dir():
        plan = _plan(stage)
        if plan is None:
            # Without its plan nothing can be put back: the mark stays until a whole set is written.
            return
        new, earlier, last = plan
        if (stage / "new" / last).exists():
            for name in new:
                if name not in earlier and not (stage / "new" / name).exists():
                    (folder / name).unlink(missing_ok=True)
            for name in earlier:
                if (stage / "earlier" / name).exists():
                    os.replace(stage / "earlier" / name, folder / name)
        _finish(folder)
    elif stage.is_dir():
        shutil.rmtree(stage)


def not_led_aside(folder: Path, named: Path | None = None) -> Path:
    """The folder that a command chooses itself: no part of its path may be a link, but those that the person `named`.

    Whoever sends a job may send such a link with it. Raises OSError, in words.
    """
    for path in (*reversed(folder.parents), folder):
        if path.is_symlink() and (named is None or named in path.parents):
            raise OSError(f"{path} is a link to another folder: where that is meant, name it with -o")
    return folder


def is_plain(name: str) -> bool:
    """Whether a name stays in its folder: one part, not hidden, printable."""
    return (
        0 < len(name) <= 200
        and name.isprintable()
        and not name.startswith(".")
        and not set(name) & set('/\\:*?"<>|')
        and Path(name).name == name
    )


def listed(
    folder: Path, report: str, names_of: Callable[[Any], Iterable[object]], pattern: re.Pattern[str]
) -> list[str]:
    """Files that the folder's own report lists: plain names of that pattern, of plain files in it, nothing else.

    `names_of` takes them from the report's content.
    """
    path = folder / report
    try:
        if path.is_symlink():
            return []
        names = list(names_of(json.loads(plain_bytes(path, _LARGEST_REPORT))))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return []
    mine = [n for n in names if isinstance(n, str) and is_plain(n) and pattern.fullmatch(n)]
    return [n for n in mine if (folder / n).is_file() and not (folder / n).is_symlink()]


# Private


def _stage(folder: Path, new: Mapping[str, bytes], gone: Collection[str], last: str) -> None:
    stage = folder / STAGE
    if stage.exists():
        shutil.rmtree(stage)
    for part in ("new", "earlier"):
        (stage / part).mkdir(parents=True)
    for name, content in new.items():
        _write(stage / "new" / name, content)
    earlier = [n for n in (*new, *gone) if (folder / n).exists()]
    for name in earlier:
        _keep(folder / name, stage / "earlier" / name)
    _write(stage / "plan.json", json.dumps([list(new), earlier, last]).encode())
    for place in (stage / "new", stage / "earlier", stage, folder):
        _flush(place)


def _swap(folder: Path, new: Mapping[str, bytes], gone: Collection[str], last: str) -> None:
    # In one step, and never into a file of that name that may be known by another name elsewhere.
    _write(folder / STAGE / MARK, _MARK_TEXT.encode())
    os.replace(folder / STAGE / MARK, folder / MARK)
    _flush(folder)
    for name in gone:
        (folder / name).unlink(missing_ok=True)
    for name in (*(n for n in new if n != last), last):
        os.replace(folder / STAGE / "new" / name, folder / name)
    _flush(folder)


def _finish(folder: Path) -> None:
    (folder / MARK).unlink(missing_ok=True)
    _flush(folder)
    shutil.rmtree(folder / STAGE, ignore_errors=True)


def _plan(stage: Path) -> tuple[list[str], list[str], str] | None:
    try:
        new, earlier, last = json.loads(plain_bytes(stage / "plan.json", _LARGEST_PLAN))
        names = [*new, *earlier, last]
    except (OSError, ValueError, TypeError):
        return None
    return (new, earlier, last) if all(isinstance(n, str) and is_plain(n) for n in names) else None


def _refuse_link(path: Path, *, folder_wanted: bool = False) -> None:
    try:
        mode = os.lstat(path).st_mode
    except FileNotFoundError:
        return
    if stat.S_ISLNK(mode):
        raise OSError(f"{path} is a link, and nothing is written through links; remove it first")
    wanted = stat.S_ISDIR(mode) if folder_wanted or path.name == STAGE else stat.S_ISREG(mode)
    if not wanted:
        raise OSError(f"{path} is in the way: it is not a plain {'folder' if path.name == STAGE else 'file'}")


def _content(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None


def _write(path: Path, content: bytes) -> None:
    with open(path, "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())


def _keep(path: Path, copy: Path) -> None:
    """A second name for the file; a copy where the file system has no hard links."""
    try:
        os.link(path, copy)
    except OSError:
        _write(copy, path.read_bytes())


def _flush(folder: Path) -> None:
    """Makes renames in a folder last through a power cut, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """One run a folder at a time, where the system has locks; a killed run's lock goes with it."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise OSError(f"another run is writing into {folder}; try again when it has ended") from None
        yield
    finally:
        os.close(handle)
