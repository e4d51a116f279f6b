"""Jobs whose figures are looked for on the wood, and their wood after each program."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pytest

from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[3]
SKEW = "skew: {points: [[-150, -51.2], [380, -48.9]]}"
NECK = "demo_jobs/tenor_neck.yaml"
JOBS: dict[str, tuple[str, list[tuple[str, str]]]] = {
    "neck": (NECK, []),
    "neck, other numbers": (
        NECK,
        [
            ("leave: 25}", "leave: 24.7}"),
            ("drop: 4,", "drop: 3.4,"),
            ("from: -8, ramp: 12", "from: -9, ramp: 15"),
            ("depth: 5.5, place", "depth: 5.1, place"),
            ("depth: 8}", "depth: 8.4}"),
            ("      - bed_bores", "      - plane: {bit: planer, leave: 23.9}\n      - bed_bores"),
            ("depth: 1.2}", "depth: 1.3}"),
            ("depth: 17.6,", "depth: 16.9,"),
            (
                "depth: 7.5, tabs: {count: 6, length: 8, height: 10.5}",
                "depth: 7.8, tabs: {count: 4, length: 9, height: 10.8}",
            ),
            ("pins: {height: 14}  # below all that is cut over them\n", f"pins: {{height: 14}}\n    {SKEW}\n"),
            ("[420, 42]]}    # through", "[420, 42]], sunk: 5}    # through"),
        ],
    ),
    "board": ("demo_jobs/tenor_board.yaml", []),
    "inch board": ("demo_jobs/parlour_board_inch.yaml", []),
    "two sides": ("tests/cases/two_sided_neck.yaml", []),
    "faces from the back": ("tests/cases/neck_faces.yaml", []),
    "two sides, thinner": (
        "tests/cases/two_sided_neck.yaml",
        [
            ("leave: 18}", "leave: 17.4}"),
            ("depth: 17}", "depth: 16.4}"),
            ("-35.4]]", "-37.9]]"),
            ("height: 2.5", "height: 3.1"),
        ],
    ),
    "left-handed, ramp": ("tests/cases/headstock_ramp.yaml", []),
    "inch rod": ("tests/cases/arc_rod.yaml", []),
    "kerfs": ("tests/cases/kerfed_neck.yaml", []),
}


@dataclass
class Cut:
    """A job cut: its outcome, and the wood after each program."""

    outcome: Outcome
    after: dict[str, CheckInput] = field(default_factory=dict)

    def wood(self, setup: str, program: str | None = None, *, bed: bool = False) -> StandingWood:
        """The wood of a setup after a program, or at its end."""
        if program is not None:
            return self.after[program].standing
        return [e.standing for e in self.after.values() if e.context.setup.name == setup and e.on_bed == bed][-1]


# The same neck with other numbers asks as much: as it stands it is measured in the slow suites.
LONG = {"neck", "two sides"}
every_job = pytest.mark.parametrize(
    "cut", [pytest.param(name, marks=pytest.mark.slow if name in LONG else ()) for name in JOBS], indirect=True
)
