"""Pages from templates: HTML files beside the modules, each text escaped, a missing value an error.

Every page is one self-contained file that asks for nothing from a network: `page.html` holds its policy.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterable
from functools import cache
from typing import TYPE_CHECKING, Any

from toolpaths.reports.text.words import plain

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

_LONGEST = 2000


def page(template: str, **values: Any) -> str:
    """A whole page from a template of `reports/`, for instance `pages/sheet.html`, with its values; see `part`."""
    return _environment().get_template(template).render(values)


def part(template: str, **values: Any) -> Markup:
    """A part of a page from a template of `reports/`, to stand in another.

    Numbers that are not whole are written with three decimals; text stands on one line, without control or direction
    marks. Raises jinja2.UndefinedError where a value is missing.
    """
    return raw(page(template, **values))


def raw(trusted: str) -> Markup:
    """What the project itself made for a page, to stand in it as it is."""
    from markupsafe import Markup

    return Markup(trusted)


def kept(lines: Iterable[str]) -> Markup:
    """Escaped lines whose spaces stay; control marks become spaces."""
    from markupsafe import escape

    return escape("\n".join("".join(c if c.isprintable() else " " for c in line) for line in lines))


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    made = Environment(
        loader=PackageLoader("toolpaths.reports", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )
    made.filters |= {"typed": _typed, "digest": digest}
    made.globals["script"] = ""
    return made


def _shown(value: object) -> object:
    if hasattr(value, "__html__"):
        return value
    return f"{value:.3f}" if isinstance(value, float) else plain(value, _LONGEST)


def _typed(text: str) -> Markup:
    """Text in which what stands in backticks is what one types."""
    from markupsafe import escape

    return raw(re.sub(r"`([^`]*)`", r"<code>\1</code>", str(escape(plain(text, _LONGEST)))))


def digest(script: str) -> str:
    """The SHA-256 of a script as a policy names it."""
    return base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
