"""`neckpath schema`: the job file as a JSON Schema, for editors that complete and underline."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from toolpaths.cli.screen import say, say_whole, usable
from toolpaths.common.whole_files import put


def schema(
    out: Annotated[Path | None, typer.Option("-o", "--out", metavar="FILE", help="Write it there.")] = None,
) -> None:
    """Print the job file as a JSON Schema: every key with its meaning, for editors that complete and underline."""
    import json

    from toolpaths.reports.reference.schema import job_schema

    text = json.dumps(job_schema(), indent=2, ensure_ascii=False)
    if out is None:
        say_whole(text)
        return
    with usable():
        put(out, f"{text}\n".encode())
    say(f"Written: {out}")
    say_whole(
        f"A job whose first line is `# yaml-language-server: $schema={out}` is completed by editors that know it."
    )
