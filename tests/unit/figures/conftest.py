"""Each job is cut once for all tests of its figures."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import Any

import pytest

from tests.unit.figures.cut_jobs import JOBS, ROOT, Cut
from toolpaths.job.changes import Changes
from toolpaths.pipeline import prove as proof
from toolpaths.pipeline.run import make
from toolpaths.pipeline.workpiece import Workpiece
from toolpaths.verification.check_input import CheckInput


@pytest.fixture(scope="module")
def cut(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cut]:
    """A job's programs cut into the blank; they are judged elsewhere."""
    path, changes = JOBS[request.param]
    source = ROOT / path
    if changes:
        folder = tmp_path_factory.mktemp("job") / "job"
        shutil.copytree(source.parent, folder)
        text = source.read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text, old
            text = new.join(text.rsplit(old, 1))
        source = folder / source.name
        source.write_text(text, encoding="utf-8")
    kept: dict[str, CheckInput] = {}
    with pytest.MonkeyPatch.context() as patch:
        own = Workpiece.cut

        def cutting(self: Workpiece, batch: Any, program: Any, *rest: Any) -> CheckInput:
            inputs = kept[program.name] = own(self, batch, program, *rest)
            return inputs

        patch.setattr(Workpiece, "cut", cutting)
        patch.setattr(proof, "judge", lambda inputs: [])
        yield Cut(make(source, Changes(pitch=1.0)), kept)
