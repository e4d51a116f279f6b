"""What a shell may complete: names of features, bits, machines, woods, keys. Silent where there is nothing to say."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import typer


def feature_names(context: typer.Context, incomplete: str) -> list[str]:
    """Names of the features of the job that stands before, as `--only` and `--from` take them."""
    return _beginning(incomplete, (name for job in _jobs(context) for name in _features_of(job)))


def accepted_names(context: typer.Context, incomplete: str) -> list[str]:
    """`CODE@FEATURE` for every code that stops, once a feature is begun; codes before that."""
    from toolpaths.core.finding import SEVERITY, Severity

    code, found, _ = incomplete.partition("@")
    if found:
        return _beginning(incomplete, (f"{code}@{name}" for job in _jobs(context) for name in _features_of(job)))
    return _beginning(incomplete, (f"{c}@" for c, severity in SEVERITY.items() if severity is Severity.stop))


def bit_names(context: typer.Context, incomplete: str) -> list[str]:
    """`NAME=` for the bits that the job's features use; other bits after the sign."""
    from toolpaths.core.finding import JobError
    from toolpaths.stages.load import load_job

    name, found, _ = incomplete.partition("=")
    out: list[str] = []
    for job in _jobs(context):
        try:
            loaded = load_job(job).job
        except (JobError, OSError):
            continue
        used = {f.bit for setup in loaded.setups for f in setup.features}
        out += [f"{name}={other}" for other in loaded.bits if other != name] if found else [f"{n}=" for n in used]
    return _beginning(incomplete, out)


def machine_names(incomplete: str) -> list[str]:
    """Machines that a job can name."""
    from toolpaths.core.machinefile import machine_paths

    return _beginning(incomplete, machine_paths())


def wood_names(incomplete: str) -> list[str]:
    """Woods that a job can name."""
    from toolpaths.trade.woods import WOODS

    return _beginning(incomplete, WOODS)


def key_names(incomplete: str) -> list[str]:
    """Keys of a job, by their ways."""
    from toolpaths.reports.explain import every_path

    return _beginning(incomplete, every_path())


def _beginning(incomplete: str, names: Iterable[str]) -> list[str]:
    return sorted({name for name in names if name.startswith(incomplete)})


def _jobs(context: typer.Context) -> list[Path]:
    """The words of the line that are files: while it is being typed, a job is still among what is left over."""
    given = [context.params.get(key) for key in ("job", "jobs")]
    flat = [one for value in given for one in (value if isinstance(value, list | tuple) else [value])]
    paths = [Path(one) for one in (*flat, *context.args) if one is not None]
    return [path for path in paths if path.is_file()]


def _features_of(job: Path) -> list[str]:
    from toolpaths.core.finding import JobError
    from toolpaths.stages.load import load_job

    try:
        return [feature.name for setup in load_job(job).job.setups for feature in setup.features]
    except (JobError, OSError):
        return []
