"""Fixtures that tests of many rooms use."""

from tests.support.plain import *  # noqa: F403
from tests.support.plain_outcome import *  # noqa: F403
