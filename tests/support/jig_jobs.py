"""A jig with a board and a neck on it, in numbers that vary: three jobs in one folder, all of an invented workshop."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

_INSTRUMENT = """units: mm
scale_length: 400
frets: 12
strings: 4
board: {width: {nut: 34, 12: 42}, overhang: 8, thickness: 6}
neck:
  thickness: {1: 20.5, 12: 22}
  margin: 0.5
  heel: {from: 180, to: 212, width: 46, thickness: 26}
  headstock: {length: 90, width: 70, thickness: 15}
"""


@dataclass(frozen=True, slots=True)
class JigJobs:
    """Numbers of three jobs. Pins in instrument coordinates (x, y, diameter): of the neck, which is turned over onto
    them, and of the board, which is lifted onto them.
    """

    handed: str = "right"
    board_nut_at: float = 40.0
    neck_nut_at: float = 120.0
    jig_nut_at: float = 150.0
    neck_pins: tuple[tuple[float, float, float], ...] = ((-110.0, 7.0, 6.0), (225.0, -9.0, 8.0))
    board_pins: tuple[tuple[float, float, float], ...] = ((-30.0, 4.0, 4.0), (226.0, 0.0, 6.0))
    seat: str = ""
    offset: str = "G54"
    jig_more: str = ""

    def write(self, folder: Path) -> dict[str, Path]:
        """The files: `jig`, `board` and `neck`."""
        texts = {"instrument": _INSTRUMENT, "jig": self.jig(), "board": self.board(), "neck": self.neck()}
        for name, text in texts.items():
            (folder / f"{name}.yaml").write_text(text, encoding="utf-8")
        return {name: folder / f"{name}.yaml" for name in ("jig", "board", "neck")}

    @property
    def _seen(self) -> float:
        """1 where the machine sees y of the face as the instrument has it."""
        return -1.0 if self.handed == "left" else 1.0

    def head(self, title: str, part: str) -> str:
        """What all three begin with."""
        return (
            f"title: {title}\nunits: mm\npart: {part}\nmachine: bench-router\nwood: hard maple\nhanded: {self.handed}\n"
        )

    def jig(self) -> str:
        """The job of the jig."""
        return self.head("Jig of the test", "jig") + (
            "for: {board: board.yaml, neck: neck.yaml}\n"
            "stock: {length: 420, width: 170, thickness: {min: 24.8, max: 25.2}}\n"
            "bits:\n"
            "  pinner: {shape: flat, diameter: 3.175, flutes: 2, cutting_length: 26, shank: 3.175, stickout: 32}\n"
            "  pilot: {shape: drill, diameter: 2.5, flutes: 2, cutting_length: 30, shank: 2.5, stickout: 38, "
            "material: HSS}\n"
            "setups:\n"
            "  - name: jig\n"
            f"    offset: {self.offset}\n"
            "    zero: {x: nut, y: centreline, z: bed}\n"
            f"    nut_at: {self.jig_nut_at}\n"
            "    hold: {screws: {at: [[-130, -76], [-130, 76], [250, -76], [250, 76]], sunk: 8}}\n"
            "    features:\n"
            "      - plane: {bit: planer, leave: 24.5}\n"
            f"{self.seat}"
            "      - jig_pins: {bit: pinner, depth: 8}\n"
            "      - pilot_holes: {bit: pilot, diameter: 2.5, depth: 14}\n"
            "      - stop_pins: {bit: pinner, diameter: 6, depth: 8}\n"
            f"{self.jig_more}"
        )

    def board(self) -> str:
        """The job of the board: bored on tape, then lifted onto pins in those bores."""
        bores = ", ".join(f"{{x: {x}, y: {y}, diameter: {d}}}" for x, y, d in self.board_pins)
        pins = ", ".join(f"{{x: {x}, y: {self._seen * y}, diameter: {d}}}" for x, y, d in self.board_pins)
        left = -self.board_nut_at
        common = (
            f"    offset: {self.offset}\n    zero: {{x: jig, y: jig, z: jig seat}}\n    nut_at: {self.board_nut_at}\n"
        )
        stop = f"stops: [{{name: end stop, x: [{left - 15}, {left}], y: [-22, 22], height: 3}}]"
        return self.head("Board of the test", "board") + (
            "instrument: instrument.yaml\n"
            f"stock: {{length: {self.board_nut_at + 240}, width: 60, thickness: {{min: 7.8, max: 8.1}}}}\n"
            "setups:\n"
            f"  - name: bores\n{common}"
            f"    hold: {{jig: jig.yaml, tape: {{}}, {stop}}}\n"
            f"    features: [{{pin_bores: {{bit: eighth, at: [{bores}]}}}}]\n"
            f"  - name: face\n{common}"
            f"    hold: {{jig: jig.yaml, tape: {{}}, pins: {{height: 4, at: [{pins}]}}}}\n"
            "    features: [{plane: {bit: planer, leave: 6}}]\n"
        )

    def neck(self) -> str:
        """The job of the neck: bored from its face, then turned over onto pins."""
        bores = ", ".join(f"{{x: {x}, y: {y}, diameter: {d}}}" for x, y, d in self.neck_pins)
        common = (
            f"    offset: {self.offset}\n    zero: {{x: jig, y: jig, z: jig seat}}\n    nut_at: {self.neck_nut_at}\n"
        )
        screws = "screws: {at: [[-20, -36], [-20, 36], [190, -36], [190, 36]], sunk: 6}"
        stop = "stops: [{name: cam, x: [60, 100], y: [45, 60], height: 10}]"
        return self.head("Neck of the test", "neck") + (
            "instrument: instrument.yaml\n"
            f"stock: {{length: {self.neck_nut_at + 245}, width: 90, thickness: 25}}\n"
            "bits:\n"
            "  pinner: {shape: flat, diameter: 3.175, flutes: 2, cutting_length: 26, shank: 3.175, stickout: 32}\n"
            "setups:\n"
            f"  - name: face\n{common}"
            f"    hold: {{jig: jig.yaml, {screws}, {stop}}}\n"
            f"    features: [{{pin_bores: {{bit: pinner, at: [{bores}], depth: 20}}}}]\n"
            f"  - name: back\n    flip: about x\n{common}"
            f"    hold: {{jig: jig.yaml, {screws}, pins: {{height: 12}}}}\n"
            "    features: [{plane: {bit: planer, leave: 24}}]\n"
        )
