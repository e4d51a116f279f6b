"""The markup of the site where Sphinx's own does not suit: tables that a phone can show, and the list of all pages."""

from __future__ import annotations

from html import escape
from typing import Any

from docutils import nodes
from sphinx.writers.html5 import HTML5Translator

FRETS = tuple(round(1000 * (1 - 2 ** (-n / 12)) / (1 - 2 ** (-22 / 12)), 1) for n in range(1, 22))
"""Distances of 21 frets from the left end of a line 1000 long, the 22nd at its right end: equal temperament."""

WORDY = 8
"""Characters in a mean cell above which a table is words, which a phone shows row by row; figures stay a table."""


class Translator(HTML5Translator):
    """Puts a table into a frame that may scroll, and tells each cell the head of its column."""

    def visit_table(self, node: nodes.table) -> None:
        heads = [entry.astext() for head in node.findall(nodes.thead) for entry in head.findall(nodes.entry)]
        node["heads"] = heads
        rows = [row for body in node.findall(nodes.tbody) for row in body.findall(nodes.row)]
        cells = [len(entry.astext()) for row in rows for entry in row.children[1:]]
        if len(heads) > 2 and sum(cells) > WORDY * len(cells):
            node["classes"].append("rows")
        self.body.append('<div class="wide">')
        super().visit_table(node)

    def depart_table(self, node: nodes.table) -> None:
        super().depart_table(node)
        self.body.append("</div>\n")

    def visit_entry(self, node: nodes.entry) -> None:
        row = node.parent
        heads = row.parent.parent.parent.get("heads", [])
        column = row.index(node)
        super().visit_entry(node)
        if isinstance(row.parent, nodes.tbody) and column < len(heads):
            label = f'<td data-label="{escape(heads[column])}"' if node.astext() else '<td data-empty=""'
            self.body[-1] = self.body[-1].replace("<td", label, 1)


def page_context(groups: dict[str, list[str]], app: Any, name: str, context: dict[str, Any]) -> None:
    """What layout.html shows beside the words: the groups of pages with their titles, and the group of this one."""
    titles = app.env.titles
    context["groups"] = [
        (heading, [(page, titles[page].astext()) for page in pages if page in titles])
        for heading, pages in groups.items()
    ]
    context["group"] = next((heading for heading, pages in groups.items() if name in pages), "")
    context["parts"] = (context.get("toc") or "").count("<li>")
    context["has_safety"] = "safety" in titles
    context["fret_places"] = FRETS
