"""`neckpath start`: a first job from a few questions, or from options, that passes `check` as it stands."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from toolpaths.cli.begin.first_files import try_bit, write_first
from toolpaths.cli.begin.neck_questions import rod_and_bars
from toolpaths.cli.begin.questions import (
    Questions,
    between,
    machine,
    one_of,
    own_bit,
    place,
    tell,
    title,
    whole,
)
from toolpaths.cli.begin.start_jig import start_jig
from toolpaths.cli.screen import UNUSABLE, complain, os_words, say, usable

if TYPE_CHECKING:
    from toolpaths.reports.reference.first_answers import Answers, Numbers

_WIDEST_LINE = 1.0
"""Widest flat bit for fret lines, mm: a wider line shows beside the fret. Common practice, no source."""
_SIZES = {
    "diameter": "Widest diameter that it cuts",
    "cutting_length": "Length of its cutting edges",
    "shank": "Diameter of its shank",
    "stickout": "How far it stands out of the collet nut",
}
_BIT_HELP = "or its keys, such as 'diameter: 3, flutes: 2, cutting_length: 12, shank: 3, stickout: 20'."


def start(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="The job to write. [default: first-board.yaml]")
    ] = None,
    part: Annotated[
        str | None, typer.Option(help="board, neck, both (with a shared instrument), or a jig for jobs that exist.")
    ] = None,
    jobs: Annotated[
        tuple[str, str] | None,
        typer.Option("--for", metavar="BOARD NECK", help="The jobs that lie on a jig; - for one that does not exist."),
    ] = None,
    units: Annotated[str | None, typer.Option(help="mm or in.")] = None,
    name: Annotated[str | None, typer.Option("--title", help="What programs and reports call it.")] = None,
    scale: Annotated[str | None, typer.Option(help="Scale length, such as 648 or 25.5in.")] = None,
    frets: Annotated[str | None, typer.Option(help="How many.")] = None,
    strings: Annotated[str | None, typer.Option(help="How many.")] = None,
    nut: Annotated[str | None, typer.Option(help="Width of the board at the nut.")] = None,
    octave: Annotated[str | None, typer.Option(help="Its width at fret 12.")] = None,
    thickness: Annotated[str | None, typer.Option(help="Of the finished board.")] = None,
    radius: Annotated[str | None, typer.Option(help="Of its top; 0 is flat.")] = None,
    slots: Annotated[str | None, typer.Option(help="Sawn before or after the top is radiused.")] = None,
    handed: Annotated[str | None, typer.Option(help="right or left.")] = None,
    wood: Annotated[str | None, typer.Option(help="As `neckpath woods` lists them.")] = None,
    router: Annotated[
        str | None, typer.Option("--machine", help="As `neckpath machines` lists them, or a machine file.")
    ] = None,
    rod: Annotated[
        str | None, typer.Option(help="A neck's truss rod: double acting, single bent, two-way wheel or none.")
    ] = None,
    rod_length: Annotated[str | None, typer.Option(help="Of the rod, its adjuster included.")] = None,
    bars: Annotated[
        str | None, typer.Option(help="Beside the rod: none, or width x depth such as '3.2 x 5.5'.")
    ] = None,
    planer: Annotated[
        str | None, typer.Option(help=f"Bit for planing, {_BIT_HELP} none: the blank is planed by hand.")
    ] = None,
    scorer: Annotated[str | None, typer.Option(help=f"Bit for the fret lines, {_BIT_HELP}")] = None,
    pocket: Annotated[str | None, typer.Option(help="Bit for markers, and for the channel of a neck.")] = None,
    outline: Annotated[str | None, typer.Option(help="Bit for a board's outline and a headstock's face.")] = None,
    long: Annotated[str | None, typer.Option(help="Bit for a neck's outline and tuner holes.")] = None,
    pins: Annotated[
        str | None, typer.Option(help="Bit for pins between board and neck. none: no pins, clamps hold the board.")
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Ask nothing, and take the offered answers.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Overwrite files of these names.")] = False,
) -> None:
    """Write a first job with comments. On a terminal it asks a few questions, each with an answer to take."""
    given = {
        "part": part, "machine": router, "units": units, "title": name, "scale": scale, "frets": frets,
        "strings": strings, "nut": nut, "octave": octave, "thickness": thickness, "radius": radius, "handed": handed,
        "wood": wood, "rod": rod, "rod-length": rod_length, "bars": bars, "planer": planer, "scorer": scorer,
        "slots": slots, "pocket": pocket, "outline": outline, "long": long, "pins": pins,
    }  # fmt: skip
    questions = Questions(given, talk=not yes and sys.stdin.isatty())
    with usable(), _kept(questions, file):
        if part == "jig" or jobs:
            start_jig(jobs, given, file, force)
            return
        if not (yes or questions.talk):
            say("There is no terminal to ask on: usual values are taken for all that no option gives.")
        if questions.talk:
            say("A first job in a few questions. Press Enter to take the answer in brackets.")
            say()
        write_first(*_answers(questions, file, force))


@contextmanager
def _kept(questions: Questions, file: Path | None) -> Iterator[None]:
    """Print the answers so far, as a command line that continues from there, when the questions are broken off."""
    try:
        yield
    except (typer.Abort, KeyboardInterrupt, OSError, MemoryError) as error:
        if isinstance(error, BrokenPipeError):
            raise
        words = os_words(error) if isinstance(error, OSError) else "Stopped"
        typer.echo()
        said = f"{words}. Nothing was written."
        if not questions.typed:
            complain(said)
        # The command stays on one line, however long: it is pasted.
        typer.echo(f"{said}\nYour answers so far. This command goes on from there:", err=True)
        typer.echo(questions.command(file), err=True)
        raise typer.Exit(UNUSABLE) from None


# The questions


def _answers(q: Questions, file: Path | None, force: bool) -> tuple[Answers, Path]:
    """The answers, and the place of the job without its ending. The offered ones follow from those before."""
    from toolpaths.instrument.woods import WOODS
    from toolpaths.job.files.machine_file import load_machine
    from toolpaths.reports.reference.first_answers import SLOT, UNDER_SLOT, Answers, Numbers, usual_widths

    a = Answers()

    def ask(key: str, question: str, offered: str, read: Callable[[str], Any]) -> Answers:
        return replace(a, **{key: q.ask(key, question, offered, read)})

    a = ask("part", "What do you want to cut: board, neck or both", "board", one_of(("board", "neck", "both")))
    where = place(q, a.part, file, force)
    a = ask("machine", "Your machine: a name of `neckpath machines`, or the path of its file", "bench-router", machine)
    a = ask("units", "Units: mm or in (inches)", load_machine(a.machine).units, one_of(("mm", "in")))
    n = Numbers(a.units)
    a = ask("title", "A title for the job", "First neck" if a.part == "neck" else "First board", title)
    a = ask(
        "scale",
        "Scale length (`neckpath explain scale length`)",
        n(647.7 if a.units == "in" else 648.0),
        between(n, 300, 900),
    )
    a = ask("frets", "Number of frets", "22" if a.scale < 700 else "24", whole(12, 36))
    while q.talk and a.end > (travel := load_machine(a.machine).travel.x):
        tell(f"  The machine cannot reach the last frets: {a.machine} travels {n(travel)} {a.units} along the neck.")
        a = ask("machine", "Another machine, or the path of its file", "shop-gantry", machine)
    a = ask("strings", "Number of strings", "6" if a.scale < 720 else "4", whole(3, 12))
    near, far = usual_widths(a.strings, a.scale)
    a = ask("nut", "Width of the board at the nut", n(near), between(n, 20, 120))
    a = ask("octave", "Its width at fret 12", n(max(far, a.nut)), between(n, a.nut, 140))
    # At the tightest radius the far corners lie 5 mm lower than the middle.
    tightest = max(0.55 * a.width(a.end), (a.width(a.end) ** 2 / 4 + 25) / 10)
    a = ask(
        "radius",
        "Radius of its top, which you make by hand later; 0 for a flat top",
        "0",
        between(n, tightest, 2000, "0 for a flat board, or ", zero=True),
    )
    enough = a.drop + SLOT + UNDER_SLOT
    why = f"the radius takes {n(a.drop)} {n.units} off the edges; " if a.drop else ""
    offered = n(max(6.0, math.ceil(2 * enough) / 2))
    a = ask("thickness", "Thickness of the finished board", offered, between(n, max(3.0, a.drop + 1), 10, why))
    if a.drop and a.thickness < enough:
        thin = f"{n(a.thickness - a.drop)} {a.units}"
        tell(f"  Its edges will be only {thin} thick at the far end: thin for fret slots. A thicker board is safer.")
    a = ask("handed", "Right- or left-handed", "right", one_of(("right", "left")))
    a = ask("wood", "Wood", "hard maple", one_of(WOODS))
    if "neck" in a.parts:
        a = rod_and_bars(q, a, n)
    return _bits(q, a, n), where


def _bits(q: Questions, a: Answers, n: Numbers) -> Answers:
    from toolpaths.job.files.rack_file import load_rack

    board, neck, both = "board" in a.parts, "neck" in a.parts, a.part == "both"
    if board and a.radius:
        a = _when_sawn(q, a, n)
    if q.talk:
        say()
        say("Bits: write a name of the rack, or `own` to describe your own bit. The rack has:")
        sizes = {
            name: f"{name} {n.exact(bit.diameter)}" for name, bit in a.bits.items() if bit.shape in ("flat", "vee")
        }
        rack = load_rack()
        tell(f"  {', '.join(size for name, size in sizes.items() if name in rack)} {a.units} wide")
        proposed = [sizes[name] for name, wanted in (("long", neck), ("pin", both)) if wanted]
        if proposed:
            tell(f"  Not in the rack, proposed for this job: {', '.join(proposed)} {a.units} wide")
    a = _bit(q, a, n, "planer", "Bit for planing, or none if you plane by hand")
    a = _bit(q, a, n, "scorer", "Bit for the fret lines") if board else a
    markers = "markers" if board else "the nut"
    a = _bit(q, a, n, "pocket", f"Bit for {markers}{' and the rod channel' if neck else ''}")
    a = _bit(q, a, n, "outline", "Bit for the outline" if board else "Bit for the headstock's face")
    a = _bit(q, a, n, "long", "Bit for the neck's outline and tuner holes") if neck else a
    return _bit(q, a, n, "pins", "Bit for the holes of pins that place the board on the neck, or none") if both else a


def _when_sawn(q: Questions, a: Answers, n: Numbers) -> Answers:
    """Whether the slots are sawn before the top is radiused, and a bit that reaches lines which follow a later top."""
    deep = f"{n(a.deepest_line)} {a.units}"

    def read(text: str) -> str:
        found = one_of(("before", "after"))(text)
        if found == "after" and a.deepest_line > a.bits["vee60"].cutting_length:
            raise ValueError(f"lines for sawing after radiusing are {deep} deep at the edges, too deep for the bits")
        return found

    if q.talk:
        tell(f"  Radiusing takes up to {n(a.drop)} {n.units} off the edges, and shallow fret lines with it.")
        tell("  Saw the slots to depth before radiusing, or let the lines be cut deeper at the edges and saw after it.")
    a = replace(a, slots=q.ask("slots", "When do you saw the slots: before or after radiusing", "before", read))
    if a.slots == "after" and a.deepest_line > a.bits[a.scorer].cutting_length:
        tell(f"  The lines are {deep} deep at the edges, deeper than {a.scorer} can cut. A V-bit is taken instead.")
        return replace(a, scorer="vee60")
    return a


def _bit(q: Questions, a: Answers, n: Numbers, role: str, question: str) -> Answers:
    """Ask for the bit of a role. A bit other than the usual one is tried on its work first."""
    usual: str = getattr(a, role)
    typed = ""

    def read(text: str) -> Answers:
        nonlocal typed
        typed = _described(q, a, n, role) if text == "own" and q.talk else text
        name, own = f"my-{role}", dict(a.own)
        if ":" in typed:
            own[name] = own_bit(typed, name, a.units)
        elif role not in ("planer", "pins") or typed != "none":
            name = one_of(a.bits)(typed)
        else:
            none: dict[str, Any] = {role: "none"}
            return replace(a, **none)
        named: dict[str, Any] = {role: name, "own": own}
        chosen = replace(a, **named)
        bit = chosen.bits[name]
        if role == "scorer" and bit.shape != "vee" and bit.diameter > _WIDEST_LINE:
            widest = f"{n(_WIDEST_LINE)} {n.units}"
            raise ValueError(f"a line wider than {widest} can be seen beside the fret: take a thinner bit, or a V-bit")
        deep = chosen.deepest(role)
        if deep > min(bit.cutting_length, bit.stickout - 1):
            sizes = f"are {n(bit.cutting_length)} long, and it stands {n(bit.stickout)} out of the collet"
            raise ValueError(f"it must cut {n(deep)} {n.units} deep, but its cutting edges {sizes}")
        if name != usual:
            try_bit(chosen, name)
        return chosen

    answers: Answers = q.ask(role, question, usual, read)
    q.typed[role] = typed
    return answers


def _described(q: Questions, a: Answers, n: Numbers, role: str) -> str:
    """Ask for the sizes of a bit; returns keys and values as in a job."""
    usual, keys = a.bits[getattr(a, role)], dict[str, str]()
    if role == "scorer" and q.ask("", "  Its shape: flat or vee", "flat", one_of(("flat", "vee"))) == "vee":
        keys = {"shape": "vee", "angle": q.ask("", "  Angle of its point, degrees", "60", whole(10, 170))}
        usual = a.bits["vee60"]
    for key, words in _SIZES.items():
        offered = n.exact(getattr(usual, key))
        keys[key] = f"{q.ask('', f'  {words}', offered, between(n, 0.05, 200)):.4f} mm"
    keys["flutes"] = q.ask("", "  Number of flutes", str(usual.flutes), whole(1, 8))
    fastest = q.ask("", "  Highest speed that its maker allows, rpm; 0 if you do not know it", "0", whole(0, 200_000))
    return ", ".join(f"{k}: {v}" for k, v in {**keys, **({"max_rpm": fastest} if fastest else {})}.items())


# The jobs
