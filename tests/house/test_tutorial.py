"""What the tutorials say that a command answers is what it answers."""

from __future__ import annotations

import importlib.util

from support.tree import ROOT

MAKER = ROOT / "docs" / "tutorial" / "make_answers.py"


def test_the_answers_in_the_tutorial_are_those_of_the_commands() -> None:
    """Where this fails after a change on purpose: `python docs/tutorial/make_answers.py`."""
    spec = importlib.util.spec_from_file_location("make_answers", MAKER)
    assert spec is not None
    assert spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)
    texts = [page.read_text() for page in maker.PAGES]
    assert [text.count("```text") for text in texts] == [2, 4]
    for text in texts:
        assert maker.answered(text) == text
