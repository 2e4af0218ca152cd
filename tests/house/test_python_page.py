"""The page about Python says what the docstrings say."""

from __future__ import annotations

from edgewear.python.reference import page
from support.tree import ROOT


def test_the_page_is_what_the_docstrings_say() -> None:
    assert (ROOT / "docs" / "reference" / "python.md").read_text() == page()
