"""`neckpath start`: a first job from a few questions, or from options, that passes `check` as it stands."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from toolpaths.cli.files import free, put
from toolpaths.cli.options import short
from toolpaths.cli.screen import STOPPED, complain, say, usable

if TYPE_CHECKING:
    from toolpaths.core.units import Units
    from toolpaths.reports.first_job import Answers


def start(
    file: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="The job to write. [default: first-board.yaml]")
    ] = None,
    part: Annotated[str | None, typer.Option(help="board, neck, or both with a shared instrument.")] = None,
    units: Annotated[str | None, typer.Option(help="mm or in.")] = None,
    title: Annotated[str | None, typer.Option(help="What programs and reports call it.")] = None,
    scale: Annotated[str | None, typer.Option(help="Scale length, such as 648 or 25.5in.")] = None,
    frets: Annotated[str | None, typer.Option(help="How many.")] = None,
    strings: Annotated[str | None, typer.Option(help="How many.")] = None,
    nut: Annotated[str | None, typer.Option(help="Width of the board at the nut.")] = None,
    octave: Annotated[str | None, typer.Option(help="Its width at fret 12.")] = None,
    thickness: Annotated[str | None, typer.Option(help="Of the finished board.")] = None,
    radius: Annotated[str | None, typer.Option(help="Of its top; 0 is flat.")] = None,
    handed: Annotated[str | None, typer.Option(help="right or left.")] = None,
    wood: Annotated[str | None, typer.Option(help="As `neckpath woods` lists them.")] = None,
    machine: Annotated[str | None, typer.Option(help="As `neckpath machines` lists them, or a machine file.")] = None,
    scorer: Annotated[str | None, typer.Option(help="Bit for the fret lines.")] = None,
    pocket: Annotated[str | None, typer.Option(help="Bit for markers, and for the channel of a neck.")] = None,
    outline: Annotated[str | None, typer.Option(help="Bit for the outline of a board.")] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Ask nothing: take what is offered.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Write over files of these names.")] = False,
) -> None:
    """Write a commented first job; asks a few questions on a terminal, each with an answer to take."""
    given = {
        "part": part, "units": units, "title": title, "scale": scale, "frets": frets, "strings": strings, "nut": nut,
        "octave": octave, "thickness": thickness, "radius": radius, "handed": handed, "wood": wood,
        "machine": machine, "scorer": scorer, "pocket": pocket, "outline": outline,
    }  # fmt: skip
    talk = not yes and sys.stdin.isatty()
    with usable():
        if talk:
            say("A first job in a few questions. Press Enter to take what stands in brackets.")
            say()
        answers = _answers(given, talk)
        stem = (file or Path(f"first-{'job' if answers.part == 'both' else answers.part}.yaml")).with_suffix("")
        _write(answers, stem, force)


def _answers(given: dict[str, str | None], talk: bool) -> Answers:
    from toolpaths.reports.first_job import Answers, usual_widths
    from toolpaths.stages.load import load_rack
    from toolpaths.trade.woods import WOODS

    def ask(key: str, question: str, offered: str, read: Callable[[str], Any]) -> Any:
        """An answer: the option's, else the person's, else the one offered; asked again until it can be read."""
        while True:
            text = given[key]
            if text is None:
                text = typer.prompt(question, default=offered) if talk else offered
            try:
                return read(text.strip())
            except ValueError as error:
                if given[key] is not None or not talk:
                    raise typer.BadParameter(str(error), param_hint=f"--{key}") from None
                say(f"  {error}")

    flat = [name for name, bit in load_rack().items() if bit.kind == "flat"]
    lines = [name for name, bit in load_rack().items() if bit.kind in ("flat", "vee") and bit.diameter < 7]
    part = ask("part", "What is cut: board, neck or both", "board", _one_of("board", "neck", "both"))
    machine = ask("machine", "Your machine, or its file", "bench-router", _machine)
    own_units = "in" if _in_inches(machine) else "mm"
    units: Units = ask("units", "Units: mm or in", own_units, _one_of("mm", "in"))
    n = _Number(units)
    title = ask("title", "A title", "First neck" if part == "neck" else "First board", _title)
    scale = ask("scale", "Scale length", n.offer(647.7 if units == "in" else 648.0), n.between(300, 900))
    frets = ask("frets", "Frets", "22" if scale < 700 else "24", _whole(12, 36))
    strings = ask("strings", "Strings", "6" if scale < 720 else "4", _whole(3, 12))
    near, far = usual_widths(strings, scale)
    nut = ask("nut", "Width of the board at the nut", n.offer(near), n.between(20, 120))
    octave = ask("octave", "Its width at fret 12", n.offer(max(far, nut)), n.between(20, 140))
    thickness = ask("thickness", "Thickness of the finished board", n.offer(6.0), n.between(3, 10))
    radius = ask("radius", "Radius of its top, 0 for flat", n.offer(0.0), _radius(n, max(nut, octave)))
    handed = ask("handed", "Right- or left-handed", "right", _one_of("right", "left"))
    wood = ask("wood", "Wood", "hard maple", _one_of(*WOODS))
    scorer = ask("scorer", "Bit for the fret lines", "scorer", _one_of(*lines)) if part != "neck" else "scorer"
    pocket = ask("pocket", "Bit for markers and channel", "eighth", _one_of(*flat))
    outline = ask("outline", "Bit for the outline", "quarter", _one_of(*flat)) if part != "neck" else "quarter"
    return Answers(
        part=part, units=units, title=title, machine=machine, wood=wood, scale=scale, frets=frets, strings=strings,
        nut=nut, octave=octave, thickness=thickness, radius=radius, handed=handed, scorer=scorer, pocket=pocket,
        outline=outline,
    )  # fmt: skip


def _write(answers: Answers, stem: Path, force: bool) -> None:
    """Checks the files in a folder of their own, and puts them where they belong only if all of them may be cut."""
    from toolpaths.core.finding import Severity
    from toolpaths.core.outcome import Changes
    from toolpaths.pipeline import make
    from toolpaths.reports.first_job import files_of

    files = files_of(answers, stem.name)
    places = {name: stem.parent / name for name in files}
    taken = [str(place) for place in places.values() if place.exists()]
    if taken and not force:
        complain(f"{', '.join(taken)} stands there already: give another name, or --force. Nothing was written.")
    for place in places.values():
        free(place)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, text in files.items():
            (folder / file).write_text(text, encoding="utf-8")
        for file in (f for f in files if not f.endswith("-instrument.yaml")):
            outcome = make(folder / file, Changes(pitch=0.5))
            stops = [f for f in outcome.findings if f.severity is Severity.stop]
            for finding in stops:
                say(f"{file}: {finding.message}")
            if stops:
                say("With these answers the job would not pass `neckpath check`: nothing was written.")
                raise typer.Exit(STOPPED)
    for file, text in files.items():
        put(places[file], text.encode())
    written = [place for name, place in places.items() if not name.endswith("-instrument.yaml")]
    say(f"Written: {', '.join(str(p) for p in places.values())}. It passes `neckpath check`.")
    say("Open it, put in the sizes of your blank, and then:")
    for place in written:
        say(f"  neckpath check {place}")
        say(f"  neckpath write {place}")


# What may be answered


def _one_of(*names: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        from toolpaths.core.problems import did_you_mean

        found = {name.casefold(): name for name in names}.get(text.casefold())
        if found is None:
            raise ValueError(f"`{short(text)}` is not among them; {did_you_mean(text, names, 'answers')}")
        return found

    return read


def _whole(low: int, high: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if not text.isdecimal() or not low <= int(text) <= high:
            raise ValueError(f"a whole number from {low} to {high} is wanted, not `{short(text)}`")
        return int(text)

    return read


def _title(text: str) -> str:
    kept = "".join(c for c in text if c.isprintable() and c not in '"\\')
    if not 1 <= len(kept) <= 80:
        raise ValueError("a title has 1 to 80 characters")
    return kept


def _machine(text: str) -> str:
    """A shipped machine's name as it is; a file's whole path, so that the job may lie anywhere."""
    from toolpaths.core.finding import JobError
    from toolpaths.core.machinefile import machine_hint, machine_path, machine_paths, read_machine

    path = machine_path(text, Path())
    if path is None or not path.is_file():
        raise ValueError(f"no machine is called `{short(text)}`; {machine_hint(text)}")
    try:
        read_machine(path)
    except JobError as error:
        raise ValueError(f"its file cannot be used: {error.problems[0].problem}") from None
    return text if text in machine_paths() else str(path.resolve())


def _in_inches(machine: str) -> bool:
    from toolpaths.core.machinefile import machine_path, read_machine

    path = machine_path(machine, Path())
    return path is not None and read_machine(path).units == "in"


def _radius(n: _Number, widest: float) -> Callable[[str], float]:
    def read(text: str) -> float:
        mm = n.read(text)
        if mm != 0 and not 1.2 * widest <= mm <= 2000:
            raise ValueError(f"0 for a flat board, or from {n.offer(1.2 * widest)} to {n.offer(2000)}")
        return mm

    return read


class _Number:
    """Lengths in the units of the job."""

    def __init__(self, units: Units) -> None:
        self.units = units

    def offer(self, mm: float) -> str:
        """A length as it is offered."""
        return f"{mm / 25.4:.3f}".rstrip("0").rstrip(".") if self.units == "in" else f"{mm:g}"

    def read(self, text: str) -> float:
        """A length in mm. Raises ValueError."""
        from toolpaths.core.units import length

        return length(f"{text} {self.units}" if text[-1:].isdigit() or text.endswith(".") else text, self.units)

    def between(self, low: float, high: float) -> Callable[[str], float]:
        """A reader of lengths within limits, mm."""

        def read(text: str) -> float:
            mm = self.read(text)
            if not low <= mm <= high:
                raise ValueError(f"from {self.offer(low)} to {self.offer(high)} {self.units}")
            return mm

        return read
