"""`preview.html`: the depth map with sections and a replay of every move; findings, features, programs.

One file that needs no network. Its script and style are files of their own in `viewer/`; what they show travels in
the page as JSON, and every text of a job is set as text, never as markup.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from toolpaths.common.version import __version__
from toolpaths.gcode.program import BESIDE
from toolpaths.reports.pages.section_drawing import section_drawings
from toolpaths.reports.pages.template import kept, page, raw
from toolpaths.reports.pictures import shades
from toolpaths.reports.preview.packed import packed
from toolpaths.reports.preview.viewer_findings import cards_of
from toolpaths.reports.preview.viewer_parts import script
from toolpaths.reports.preview.viewer_setup import setup_data
from toolpaths.reports.text.changed import Difference
from toolpaths.reports.text.tables import (
    differences_table,
    features_table,
    handwork_table,
    programs_table,
    reasons_table,
)
from toolpaths.reports.text.words import plain, verdict, weight
from toolpaths.verification.outcome import Outcome

if TYPE_CHECKING:
    from markupsafe import Markup

_TEXT = 500_000
_PART = {"board": "fretboard", "neck": "neck", "jig": "jig"}
LEFT_COLOUR, DEEP_COLOUR = (0, 158, 115), (86, 180, 233)
"""Bluish green and sky blue of a set safe for colour-blind eyes.

Source: M. Okabe and K. Ito, Color Universal Design, 2008.
"""


def preview_page(outcome: Outcome, changed: Sequence[Difference] = ()) -> str:
    """The page. `changed`: what the run changes against the job as written."""
    return page(
        "preview/preview.html",
        title=f"{plain(outcome.job.title)}: preview of the {_PART[outcome.job.part]} ({plain(outcome.path.name)})",
        part=_PART[outcome.job.part],
        version=__version__,
        script=script(),
        outcome=outcome,
        weight=weight(outcome),
        verdict=verdict(outcome),
        data=_data(outcome) if outcome.setups else "",
        cards=cards_of(outcome),
        sections=section_drawings(outcome),
        differences=differences_table(changed, outcome.changes.words) if changed else None,
        features=[features_table(outcome, setup) for setup in outcome.setups],
        handwork=handwork_table(outcome) if outcome.handwork else None,
        reasons=[reasons_table(setup, outcome) for setup in outcome.setups],
        programs=programs_table(outcome),
        texts=list(_texts(outcome)),
    )


def _data(outcome: Outcome) -> Markup:
    """The data for the script, without any `<`, so that no text can end the script element."""
    data = {
        "units": outcome.job.units,
        "table": packed(shades.colour_table(), "u1", deflate=False),
        "rules": {**shades.rules(), "leftColour": LEFT_COLOUR, "deepColour": DEEP_COLOUR},
        "setups": [setup_data(outcome, s) for s in outcome.setups],
    }
    return raw(json.dumps(data, separators=(",", ":"), allow_nan=False).replace("<", "\\u003c"))


def _texts(outcome: Outcome) -> Iterator[tuple[str, str, Markup]]:
    """(name, program it is the text of, text) of each program, its lines numbered, and of the words beside it."""
    share = _TEXT // max(1, len(outcome.programs))
    for program in outcome.programs:
        lines = [f"{i:5d}  {line}" for i, line in enumerate(program.text[:share].splitlines(), start=1)]
        if len(program.text) > share:
            lines.append("       the rest is in the file")
        yield program.name, program.name, kept(lines)
        if program.beside:
            yield program.name + BESIDE, "", kept(program.beside[:share].splitlines())
