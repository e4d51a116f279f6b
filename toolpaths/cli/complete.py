"""Shell completion: names of features, bits, machines, woods and keys."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from toolpaths.job.job import Job


def feature_names(context: typer.Context, incomplete: str) -> list[str]:
    """Names of the features of the job on the line, as `--only` takes them."""
    return _beginning(incomplete, _features(context))


def start_names(context: typer.Context, incomplete: str) -> list[str]:
    """What `--from` takes: features; pieces of them, which take longer to find, once no feature begins so."""
    from toolpaths.common.errors import JobError
    from toolpaths.pipeline.build import names_of_pieces

    found = feature_names(context, incomplete)
    if found or not incomplete:
        return found
    names: list[str] = []
    for path in _jobs(context):
        with suppress(JobError, OSError):
            names += names_of_pieces(path)
    return _beginning(incomplete, names)


def accepted_names(context: typer.Context, incomplete: str) -> list[str]:
    """`CODE@FEATURE` for every code that stops, once a feature is begun; codes before that."""
    from toolpaths.verification.finding import SEVERITY, Severity

    code, found, _ = incomplete.partition("@")
    if found:
        return _beginning(incomplete, (f"{code}@{name}" for name in _features(context)))
    return _beginning(incomplete, (f"{c}@" for c, severity in SEVERITY.items() if severity is Severity.stop))


def bit_names(context: typer.Context, incomplete: str) -> list[str]:
    """`NAME=` for the bits that the job's features use; other bits after the sign."""
    name, found, _ = incomplete.partition("=")
    out: list[str] = []
    for job in _loaded(context):
        used = {f.bit for setup in job.setups for f in setup.features}
        out += [f"{name}={other}" for other in job.bits if other != name] if found else [f"{n}=" for n in used]
    return _beginning(incomplete, out)


def machine_names(incomplete: str) -> list[str]:
    """Machines that a job can name."""
    from toolpaths.job.files.machine_file import machine_paths

    return _beginning(incomplete, machine_paths())


def wood_names(incomplete: str) -> list[str]:
    """Woods that a job can name."""
    from toolpaths.instrument.woods import WOODS

    return _beginning(incomplete, WOODS)


def names_to_explain(incomplete: str) -> list[str]:
    """Paths of keys, codes of findings and words of the glossary, as `explain` takes them."""
    from toolpaths.reports.reference.explain import every_name

    return _beginning(incomplete, every_name())


def _beginning(incomplete: str, names: Iterable[str]) -> list[str]:
    return sorted({name for name in names if name.startswith(incomplete)})


def _features(context: typer.Context) -> list[str]:
    return [feature.name for job in _loaded(context) for setup in job.setups for feature in setup.features]


def _loaded(context: typer.Context) -> Iterator[Job]:
    """The jobs named on the line, as far as they can be read."""
    from toolpaths.common.errors import JobError
    from toolpaths.pipeline.load import load_job

    for path in _jobs(context):
        with suppress(JobError, OSError):
            yield load_job(path).job


def _jobs(context: typer.Context) -> Iterator[Path]:
    """The files named on the line: while it is typed, they are still among the unparsed words."""
    given = [context.params.get(key) for key in ("job", "jobs")]
    flat = [one for value in given for one in (value if isinstance(value, list | tuple) else [value])]
    for path in (Path(one) for one in (*flat, *context.args) if one is not None):
        if path.is_file():
            yield path
