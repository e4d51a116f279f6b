"""The pictures of the pages are made by the program, stand in one table, and each is used."""

from __future__ import annotations

import importlib.util
import io
import re
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from PIL import Image

from tests.support.needs import BROWSER, needs

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
FOLDER = DOCS / "pictures"
PAGES = [ROOT / "README.md", *sorted(DOCS.rglob("*.md"))]
_SHOWN = re.compile(r"!\[([^\]]*)\]\(([^)\s]+)\)")


def _script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("pictures_make", FOLDER / "make.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


MAKE = _script()


def _shown() -> list[tuple[Path, str, Path]]:
    """(page, alternative text, file) of every picture in the pages."""
    return [
        (page, alt, (page.parent / target).resolve())
        for page in PAGES
        for alt, target in _SHOWN.findall(page.read_text(encoding="utf-8"))
    ]


def test_every_picture_of_a_page_exists_and_stands_in_the_table() -> None:
    shown = _shown()
    assert [str(page.name) for page, _, file in shown if not file.is_file()] == []
    assert {file.name for *_, file in shown if file.parent == FOLDER} <= set(MAKE.PICTURES)
    assert {file.parent for *_, file in shown} == {FOLDER}


def test_every_row_of_the_table_has_its_file_and_a_page_that_shows_it() -> None:
    used = {file.name for *_, file in _shown()}
    assert set(MAKE.PICTURES) == used
    assert {p.name for p in FOLDER.glob("*.png")} == used


def test_every_picture_says_in_words_what_it_shows() -> None:
    assert [page.name for page, alt, _ in _shown() if len(alt) < 30] == []


def test_every_feature_s_page_has_a_picture() -> None:
    pages = {page.stem for page, *_ in _shown() if page.parent.name == "features"}
    assert {p.stem for p in (DOCS / "features").glob("*.md")} == pages


@pytest.mark.parametrize("name", MAKE.PICTURES)
def test_a_picture_is_small_and_wide_enough_to_read(name: str) -> None:
    file = FOLDER / name
    assert file.stat().st_size <= MAKE.LARGEST
    assert Image.open(file).width == MAKE.WIDTH


def _by_its_means() -> list[Any]:
    """Every picture; one of a page wants a browser."""
    return [
        pytest.param(name, marks=needs(BROWSER)) if isinstance(panels[0], MAKE.Work) else name
        for name, panels in MAKE.PICTURES.items()
    ]


@pytest.mark.slow
@pytest.mark.parametrize("name", _by_its_means())
def test_a_picture_is_made_anew_as_it_stands(name: str) -> None:
    panels = MAKE.PICTURES[name]
    kept, made = Image.open(FOLDER / name), Image.open(io.BytesIO(MAKE.picture(panels)))
    assert MAKE.size_of(panels) == made.size
    assert kept.size == made.size
    # Fonts and their edges differ between versions of the drawing library; the wood does not.
    a, b = (im.convert("L").resize((90, 60)) for im in (kept, made))
    far = sum(abs(x - y) > 24 for x, y in zip(a.tobytes(), b.tobytes(), strict=True))
    assert far <= 0.01 * 90 * 60, f"{name} shows something else now: python docs/pictures/make.py {name}"

    # One key of colours holds for all panels.
    assert len({MAKE._face([p]) for p in panels if isinstance(p, MAKE.Plan | MAKE.Sawn)}) <= 1
