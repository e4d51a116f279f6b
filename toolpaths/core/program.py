"""A program is text. What stands beside it is for file names and reports."""

from __future__ import annotations

from dataclasses import dataclass

BESIDE = ".txt"
"""What is put behind a program's file name for the file of its words, where its controller takes no comments."""


@dataclass(frozen=True, slots=True)
class TouchOff:
    """What the bit touches before the program runs, and the Z that is entered then (mm, program's zero)."""

    surface: str
    z: float


@dataclass(frozen=True, slots=True)
class Program:
    """One file of G-code. `number` counts from 1 in a set of `count`; `minutes` is an estimate.

    `beside`: what would stand in its comments, for the file beside it, where the machine takes none; else empty.
    `on_bed`: it cuts the bare bed, before the work lies on it.
    """

    name: str
    text: str
    setup: str
    bits: tuple[str, ...]
    number: int
    count: int
    minutes: float
    touch_off: TouchOff | None
    feature_minutes: dict[str, float]
    on_bed: bool = False
    beside: str = ""


@dataclass(frozen=True, slots=True)
class Heading:
    """What a program's header must say beside what its job says.

    `bit_numbers`: number of every bit of the job; `altered`: the command line's changes in words;
    `accepted`: findings let pass, as `code@feature`; `lift`: mm by which the whole program is raised.
    """

    version: str
    job_hash: str
    name: str
    number: int
    count: int
    bit_numbers: dict[str, int]
    touch_off: TouchOff | None
    altered: tuple[str, ...] = ()
    accepted: tuple[str, ...] = ()
    lift: float = 0.0
