"""What several tests of the house share."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from support.preloaded import Preloaded


@pytest.fixture(scope="module")
def preloaded() -> Iterator[Preloaded]:
    """The command, loaded once."""
    found = Preloaded()
    yield found
    found.close()
