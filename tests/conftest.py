"""What holds for all tests: those in a browser need one."""

from __future__ import annotations

import pytest

from support.browser import binary

NO_BROWSER = "no chromium on this machine: tests in a browser are deselected"
_deselected: list[str] = []


def pytest_configure(config: pytest.Config) -> None:
    """Tell of the marker."""
    config.addinivalue_line("markers", "browser: needs chromium (apt-get install chromium)")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Deselect browser tests where there is no browser; the summary says so."""
    if binary():
        return
    out = [item for item in items if item.get_closest_marker("browser")]
    if out:
        config.hook.pytest_deselected(items=out)
        items[:] = [item for item in items if item not in out]
        _deselected.append(f"{NO_BROWSER} ({len(out)})")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say why tests were deselected."""
    for reason in _deselected:
        terminalreporter.write_line(reason)
