"""One browser for each file of tests of the pages."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.browser.chrome import Browser, browser


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as one:
        yield one
