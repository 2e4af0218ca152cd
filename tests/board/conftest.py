"""A browser for the board's pages, where there is one."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from support.browser import Browser, launched


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A browser with the fonts of this machine."""
    with launched({}) as (one,):
        yield one
