"""The pages become a site in which every link leads somewhere, and every page has its place."""

from __future__ import annotations

import importlib.util
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.patience import LONGEST
from toolpaths.common.version import __version__

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"


def _build(pages: Path, site: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "sphinx", "-W", "--keep-going", "-n", "-q", "-E", str(pages), str(site)]
    return subprocess.run(command, capture_output=True, text=True, timeout=LONGEST)


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The whole site, built without a word."""
    folder = tmp_path_factory.mktemp("site")
    done = _build(DOCS, folder)
    assert "" == done.stderr
    assert 0 == done.returncode
    return folder


def test_the_site_is_built_without_a_broken_link_and_holds_every_page(site: Path) -> None:
    pages = {p.relative_to(DOCS).with_suffix(".html") for p in DOCS.rglob("*.md")}
    assert set() == {str(p) for p in pages if not (site / p).is_file()}
    index = (site / "index.html").read_text(encoding="utf-8")
    assert set() == {str(p) for p in pages if p.name != "index.html" and f'href="{p.as_posix()}"' not in index}


def test_the_site_asks_for_nothing_from_elsewhere(site: Path) -> None:
    pages = [p.read_text(encoding="utf-8") for p in site.rglob("*.html")]
    fetched = ['src="http', 'rel="stylesheet" type="text/css" href="http', "@import", 'src="//']
    assert [word for word in fetched for page in pages if word in page] == []
    style = (site / "_static" / "site.css").read_text(encoding="utf-8")
    assert "url(" not in style


def test_a_page_has_a_title_of_its_own_search_and_the_version(site: Path) -> None:
    titles = {}
    for page in site.rglob("*.html"):
        text = page.read_text(encoding="utf-8")
        titles[page] = re.findall(r"<title>(.+)</title>", text)
        assert 'role="search"' in text
        assert f"neckpath {__version__}." in text
    assert all(len(found) == 1 for found in titles.values())
    assert len(titles) == len({found[0] for found in titles.values()})


def test_a_table_tells_each_cell_the_head_of_its_column(site: Path) -> None:
    text = (site / "features" / "score_lines.html").read_text(encoding="utf-8")
    rows = re.findall(r"<tr.*?</tr>", text, re.S)
    heads = re.findall(r"<th[^>]*><p>(.*?)</p>", rows[0])
    assert len(heads) > 2
    assert heads == re.findall(r'data-label="(.*?)"', rows[1])


def test_a_broken_link_stops_the_site(tmp_path: Path) -> None:
    """Each of three pages has a fault of its own, and each is told: any one word of Sphinx stops it (-W)."""
    faults = ["[gone](gone.md)", "[gone](other.md#no-such-place)", "![gone](gone.png)"]
    pages = tmp_path / "pages"
    pages.mkdir()
    shutil.copytree(DOCS / "look", pages / "look")
    (pages / "conf.py").write_bytes((DOCS / "conf.py").read_bytes())
    (pages / "index.md").write_text("# First\n\n<!-- all pages -->\n")
    (pages / "other.md").write_text("# Other\n\nWords.\n")
    assert 0 == _build(pages, tmp_path / "whole").returncode
    for i, fault in enumerate(faults):
        (pages / f"broken{i}.md").write_text(f"# Broken\n\n{fault}\n")
    broken = _build(pages, tmp_path / "broken")
    assert 0 != broken.returncode
    assert set(range(3)) == {i for i in range(3) if re.search(rf"broken{i}\.md:\d+: WARNING", broken.stderr)}


def test_a_page_that_is_in_no_group_still_has_its_place() -> None:
    groups = _conf().pages_in_groups()
    everything = sorted(p.relative_to(DOCS).with_suffix("").as_posix() for p in DOCS.rglob("*.md"))
    assert sorted(["index", *(page for pages in groups.values() for page in pages)]) == everything


def test_pages_that_were_never_heard_of_stand_under_more(tmp_path: Path) -> None:
    for name in ("index", "safety", "unheard-of"):
        (tmp_path / f"{name}.md").write_text(f"# {name}\n")
    assert {"First board and neck": ["safety"], "More": ["unheard-of"]} == _conf().pages_in_groups(tmp_path)


def _conf():  # type: ignore[no-untyped-def]
    spec = importlib.util.spec_from_file_location("site_conf", DOCS / "conf.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


# WCAG 2.2, success criterion 1.4.6: at least 7 to 1; relative luminance as defined there.


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def _contrast(one: str, other: str) -> float:
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_black_on_white_has_the_contrast_that_the_standard_names() -> None:
    assert pytest.approx(21.0) == _contrast("#000000", "#ffffff")


@pytest.mark.parametrize("which", [0, 1], ids=["light", "dark"])
def test_words_stand_out_from_their_ground(which: int) -> None:
    style = (DOCS / "look" / "static" / "site.css").read_text(encoding="utf-8")
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", re.findall(r":root \{(.*?)\}", style, re.S)[which]))
    for words in ("ink", "faint", "link"):
        for ground in ("paper", "wash"):
            assert 7 <= _contrast(colours[words], colours[ground]), (words, ground)
