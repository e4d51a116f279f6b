"""`neckpath draw`: the shapes of a job at 1:1, for paper, for a laser cutter, or as gauges for the carver."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli.options import JobFile, short
from toolpaths.cli.screen import complain, say, usable
from toolpaths.common.whole_files import put

if TYPE_CHECKING:
    from toolpaths.reports.drawings_out.marks import OutputDrawing

_ENDINGS = (".dxf", ".svg", ".pdf")


def draw(
    job: JobFile,
    file: Annotated[Path, typer.Option("-o", "--out", metavar="FILE", help="A file that ends in .dxf, .svg or .pdf.")],
    templates: Annotated[
        bool, typer.Option("--templates", help="Gauges of the finished back at frets 1, 5, 9, 12 and heel instead.")
    ] = False,
    paper: Annotated[
        str | None,
        typer.Option("--paper", metavar="SIZE", help="Tile a .pdf over sheets of this size: A4, A3, letter, ..."),
    ] = None,
    layer: Annotated[
        list[str] | None,
        typer.Option("--layer", metavar="NAME", help="Draw this layer alone. May be given several times."),
    ] = None,
) -> None:
    """Draw the exact shapes of a job at 1:1, each kind on a layer of its own, with a 100 mm line to measure."""
    with usable():
        ending = file.suffix.lower()
        if ending not in _ENDINGS:
            complain(f"{file}: a drawing ends in .dxf, .svg or .pdf")
        size = None if paper is None else _paper(paper, ending)
        drawing = _chosen(_drawing(job, templates), layer or ())
        from toolpaths.reports.drawings_out.marks import with_reference

        whole, pages = with_reference(drawing), ""
        if ending == ".dxf":
            from toolpaths.reports.drawings_out.draw_dxf import dxf

            content = dxf(whole)
        elif ending == ".svg":
            from toolpaths.reports.drawings_out.draw_svg import svg

            content = svg(whole)
        else:
            from toolpaths.reports.drawings_out.draw_pdf import page_count, pdf

            content = pdf(drawing, size)
            if size is not None:
                count = page_count(drawing, size)
                pages = f", {count} page{'s' if count != 1 else ''} of {size}"
        put(file, content)
        say(f"Drawn: {file}{pages}")
        say(f"Layers: {', '.join(whole.layers)}")
        say(
            "Print or cut it at 100 %, without fitting it to the page, and measure the 100 mm line before you trust it."
        )


def _drawing(job: Path, templates: bool) -> OutputDrawing:
    from toolpaths.common.errors import FeatureError, JobError, Problem

    if templates:
        from toolpaths.common.units import in_units
        from toolpaths.pipeline.load import load_job
        from toolpaths.reports.drawings_out.templates import templates_of

        loaded = load_job(job).job
        try:
            return templates_of(loaded)
        except FeatureError as error:
            words = (in_units(text, loaded.units) for text in (error.problem, error.hint))
            raise JobError([Problem(str(job), 1, 1, "instrument", *words)]) from None
    from toolpaths.pipeline.design import read_design
    from toolpaths.reports.drawings_out.draw import drawing_of

    design = read_design(job)
    return drawing_of(design.loaded.job, design.contexts, design.target)


def _chosen(drawing: OutputDrawing, names: tuple[str, ...] | list[str]) -> OutputDrawing:
    wrong = [n for n in names if n not in drawing.layers]
    if wrong:
        from toolpaths.job.files.likely_words import did_you_mean

        hint = did_you_mean(wrong[0], list(drawing.layers), "layers of this drawing")
        raise typer.BadParameter(f"no layer is called `{short(wrong[0])}`; {hint}", param_hint="--layer")
    return drawing.only(names) if names else drawing


def _paper(name: str, ending: str) -> str:
    from toolpaths.reports.drawings_out.draw_pdf import PAPERS

    if ending != ".pdf":
        raise typer.BadParameter("only a .pdf has pages", param_hint="--paper")
    found = next((known for known in PAPERS if known.lower() == name.strip().lower()), None)
    if found is None:
        raise typer.BadParameter(f"`{short(name)}` is not one of {', '.join(PAPERS)}", param_hint="--paper")
    return found
