"""Reports written once for all tests, and a browser where there is one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from edgewear.report import write
from support import rankings
from support.browser import Browser, few_fonts, launched


@pytest.fixture(scope="session")
def ordinary(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of an ordinary comparison."""
    out = tmp_path_factory.mktemp("ordinary")
    write.write_sources([rankings.source_of(rankings.ordinary())], out)
    return out


@pytest.fixture(scope="session")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of a comparison with hostile names."""
    out = tmp_path_factory.mktemp("hostile")
    write.write_sources([rankings.source_of(rankings.hostile())], out)
    return out


@pytest.fixture(scope="session")
def crowded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of options with ever more lines, fixed points and edges."""
    out = tmp_path_factory.mktemp("crowded")
    options = [rankings.crowded(count) for count in (3, 6, 9, 14, 25)]
    write.write_sources([rankings.source_of(rankings.ranking(*options))], out)
    return out


@pytest.fixture(scope="module")  # no longer: beside it no other browser, and no loop, can run
def browsers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Browser]]:
    """A headless browser with the machine's fonts, and one with a single wide font."""
    with launched({}, few_fonts(tmp_path_factory.mktemp("fonts"))) as (many, one):
        yield {"the machine's fonts": many, "one font": one}


@pytest.fixture
def browser(browsers: dict[str, Browser]) -> Browser:
    """A headless browser as the machine is."""
    return browsers["the machine's fonts"]


@pytest.fixture(params=["the machine's fonts", "one font"])
def any_fonts(browsers: dict[str, Browser], request: pytest.FixtureRequest) -> Browser:
    """A browser for what must hold whatever fonts there are."""
    return browsers[request.param]
