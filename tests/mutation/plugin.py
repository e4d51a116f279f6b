"""Puts the source of one module in the place of its own, before anything is imported (`pytest -p`).

NECKPATH_MUTANT names a file with the source, NECKPATH_MUTATED the module.
"""

from __future__ import annotations

import importlib.abc
import importlib.machinery
import importlib.util
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType


class _Loader(importlib.machinery.SourceFileLoader):
    def get_code(self, fullname: str):  # type: ignore[no-untyped-def]
        """The altered source, compiled afresh; nothing is cached."""
        source = Path(os.environ["NECKPATH_MUTANT"]).read_text(encoding="utf-8")
        return compile(source, self.path, "exec", dont_inherit=True)


class _Finder(importlib.abc.MetaPathFinder):
    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        """The module's own place with the other source; nothing for any other module."""
        if fullname != os.environ.get("NECKPATH_MUTATED"):
            return None
        spec = importlib.machinery.PathFinder.find_spec(fullname, path, target)
        if spec is None or spec.origin is None:
            return None
        return importlib.util.spec_from_file_location(
            fullname, spec.origin, loader=_Loader(fullname, spec.origin),
            submodule_search_locations=spec.submodule_search_locations,
        )  # fmt: skip


sys.meta_path.insert(0, _Finder())
