"""Every dependency has a row on the page, and a licence that may stand beside ours."""

from __future__ import annotations

import importlib.util
import re
from importlib.metadata import PackageNotFoundError, version

import pytest

from support.tree import ROOT

REFERENCE = ROOT / "docs" / "reference"
spec = importlib.util.spec_from_file_location("make_licences", REFERENCE / "make_licences.py")
assert spec is not None
assert spec.loader is not None
maker = importlib.util.module_from_spec(spec)
spec.loader.exec_module(maker)
ROWS = re.findall(r"^\| ([\w-]+) \| (\S+) \| ([^|]+) \| ([^|]+) \|$",
                  (REFERENCE / "licences.md").read_text(), re.M)[2:]  # fmt: skip


def test_the_page_lists_what_the_project_depends_on() -> None:
    assert [row[:3] for row in ROWS] == maker.dependencies()


@pytest.mark.parametrize("row", ROWS, ids=[row[0] for row in ROWS])
def test_a_licence_is_allowed_and_is_what_the_package_says(row: tuple[str, ...]) -> None:
    name, _, _, written = row
    assert set(re.split(" AND | OR ", written)) <= set(maker.ALLOWED)
    try:
        version(name)
    except PackageNotFoundError:
        pytest.skip(f"{name} is not installed here")
    # another version may say it more exactly: BSD-3-Clause for BSD
    ours, theirs = written.split("-")[0], maker.licence(name).split("-")[0]
    assert ours == theirs


def test_a_licence_that_is_not_allowed_is_refused() -> None:
    assert not set(re.split(" AND | OR ", "MIT AND GPL-3.0-only")) <= set(maker.ALLOWED)
