"""Templates: every text escaped, on one line and without control marks; a missing value is an error."""

from __future__ import annotations

import base64
import hashlib

import jinja2
import pytest

from toolpaths.reports.pages.template import _environment, kept, page, raw
from toolpaths.reports.text.tables import Table

PARTS = '{% from "pages/parts.html" import table, steps %}'


def made(source: str, **values: object) -> str:
    return _environment().from_string(PARTS + source).render(values)


def test_text_is_escaped_and_stands_on_one_line() -> None:
    assert "&lt;b&gt; &#34;x&#34; &#39;y&#39; &amp; z" == made("{{ words }}", words="<b> \"x\" 'y'\n&\u202e z")


def test_long_text_is_cut_and_numbers_have_three_decimals() -> None:
    assert 2000 == len(made("{{ words }}", words="a" * 3000))
    assert "0.333 7" == made("{{ third }} {{ whole }}", third=1 / 3, whole=7)


def test_what_one_types_is_marked_and_escaped() -> None:
    assert "<ul>\n<li>&lt;b&gt; <code>x</code></li>\n</ul>\n" == made("{{ steps(said) }}", said=["<b> `x`"])


def test_a_value_that_is_missing_is_an_error() -> None:
    with pytest.raises(jinja2.UndefinedError):
        page("pages/sheet.html", title="A board")


def test_a_table_s_cells_are_escaped_and_its_figures_set_to_the_right() -> None:
    table = Table("<t>", ("a", "<b>"), (("1", "<i>"), ("2", "x")), frozenset({1}))
    found = made("{{ table(t, going=going) }}", t=table, going={"2"})
    assert "<h2>&lt;t&gt;</h2>" in found
    assert '<th scope="col">a</th><th class="number" scope="col">&lt;b&gt;</th>' in found
    assert '<tr><td>1</td><td class="number">&lt;i&gt;</td></tr>' in found.replace("\n", "")
    assert '<td><button type="button" data-finding="2">2</button></td>' in found


def test_lines_keep_their_spaces() -> None:
    assert "  a\n&lt;b&gt; c" == kept(["  a", "<b>\x1bc"])


def test_a_page_allows_its_own_script_and_no_other() -> None:
    digest = base64.b64encode(hashlib.sha256(b"ready()").digest()).decode()
    found = page("pages/page.html", title="A", script=raw("ready()"))
    assert f"script-src 'sha256-{digest}'; base-uri 'none'" in found
    assert "<script>ready()</script>" in found
    bare = page("pages/page.html", title="A")
    assert "script-src 'none';" in bare
    assert "<script" not in bare
