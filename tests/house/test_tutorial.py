"""What the tutorials say that a command answers is what it answers."""

from __future__ import annotations

import importlib.util
import re
from types import ModuleType

import pytest

from edgewear.programme.reading import programme_text
from edgewear.scenario import load_text
from support.tree import ROOT

MAKER = ROOT / "docs" / "tutorial" / "make_answers.py"


def the_maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_answers", MAKER)
    assert spec is not None
    assert spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)
    return maker


def test_the_answers_in_the_tutorial_are_those_of_the_commands() -> None:
    """Where this fails after a change on purpose: `python docs/tutorial/make_answers.py`."""
    maker = the_maker()
    texts = [page.read_text() for page in maker.PAGES]
    assert [text.count("```text") for text in texts] == [2, 4]
    for text in texts:
        assert maker.answered(text) == text


def test_the_programme_of_tests_has_files_that_can_be_read_and_every_answer() -> None:
    text = the_maker().PROGRAMME.read_text()
    files = dict(re.findall(r"^```yaml\n# ([\w-]+\.yaml)\n(.*?)^```", text, re.S | re.M))
    assert len(programme_text(files["tests.yaml"]).made()) == 8
    assert len(programme_text(files["plan.yaml"]).planned()) == 3
    roof = re.findall(r"^```yaml\n(edgewear: 1\n.*?)^```", text, re.S | re.M)
    assert files["again.yaml"].replace("library: learned/library.yaml\n", "") == roof[0]
    assert load_text(roof[0], "roof.yaml").target == 0.4
    assert len(re.findall(r"^```text\n(?!```)", text, re.M)) == 4


@pytest.mark.long
def test_the_answers_of_the_programme_of_tests_are_those_of_its_commands() -> None:
    """As above; learning takes minutes."""
    maker = the_maker()
    text = maker.PROGRAMME.read_text()
    assert maker.all_run(text) == text
