"""What holds for all tests: those in a browser need one; the longest files begin first."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings

from support.browser import binary

LONGEST_FIRST = (
    "study/test_limits_of_one.py",
    "mechanics/test_lanes.py",
    "study/test_sweep.py",
    "study/test_sweep_replay.py",
    "engine/test_play.py",
    "house/test_other_jobs.py",
    "house/test_interrupted.py",
    "house/test_main_job.py",
    "report/test_browser.py",
    "procedure/test_faults.py",
    "study/test_runner.py",
    "house/test_tutorial.py",
    "programme/test_learn.py",
    "mechanics/test_reference.py",
    "house/test_command_line.py",
    "study/test_rows.py",
    "mechanics/test_by_the_page.py",
    "stock/test_pages.py",
    "board/test_pages.py",
    "study/test_limits.py",
    "study/test_replay.py",
    "validation/test_verify.py",
    "study/test_what_matters.py",
    "study/test_made_up.py",
    "programme/test_sampler.py",
    "procedure/test_held_up.py",
    "procedure/test_seen.py",
    "study/test_ways.py",
)
"""Files that go on longest: begun last, they would go on alone."""

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
"""Else each of some hundred commands that tests start would compile the package anew."""

settings.register_profile("edgewear", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("edgewear")  # how fast a machine is, is no property of the code

NO_BROWSER = "no chromium on this machine: tests in a browser are deselected"


def pytest_configure(config: pytest.Config) -> None:
    """Tell of the marker."""
    config.addinivalue_line("markers", "browser: needs chromium (apt-get install chromium)")


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Take one process more than there are cores: many tests wait for a command of theirs."""
    return len(os.sched_getaffinity(0)) + 1


def _turn(item: pytest.Item) -> int:
    """Say when the file of a test begins."""
    name = "/".join(item.path.parts[-2:])
    return LONGEST_FIRST.index(name) if name in LONGEST_FIRST else len(LONGEST_FIRST)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Put long files first; deselect browser tests where there is no browser, in words."""
    items.sort(key=_turn)
    if binary():
        return
    out = [item for item in items if item.get_closest_marker("browser")]
    if out:
        config.hook.pytest_deselected(items=out)
        items[:] = [item for item in items if item not in out]


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say why tests were deselected: here, for worker processes have no summary."""
    if not binary():
        terminalreporter.write_line(NO_BROWSER)
