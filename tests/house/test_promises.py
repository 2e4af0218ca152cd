"""Every promise on the page has its tests, and the page is the one made from them."""

from __future__ import annotations

import ast
import importlib.util
import sys
from types import ModuleType

import pytest

from support.tree import ROOT

MAKER = ROOT / "docs" / "reference" / "make_promises.py"


def the_maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_promises", MAKER)
    assert spec is not None
    assert spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = maker  # dataclasses look their module up
    spec.loader.exec_module(maker)
    return maker


maker = the_maker()
TESTS = sorted({test for one in maker.PROMISES for test in one.tests})


def is_there(named: str) -> bool:
    """Tell whether a test stands where a promise says."""
    file, _, function = named.partition("::")
    if not (ROOT / file).is_file():
        return False
    held = ast.walk(ast.parse((ROOT / file).read_text("utf-8")))
    names = {one.name for one in held if isinstance(one, ast.FunctionDef)}
    return function in names if function else any(name.startswith("test_") for name in names)


@pytest.mark.parametrize("named", TESTS)
def test_every_test_named_is_there(named: str) -> None:
    assert is_there(named)


def test_one_that_is_nowhere_would_be_seen() -> None:
    assert not is_there("tests/house/test_promises.py::test_of_nothing")
    assert not is_there("tests/house/test_nothing.py")


def test_the_page_is_the_one_made_from_the_promises() -> None:
    """Where this fails: `python docs/reference/make_promises.py`."""
    assert maker.PAGE.read_text("utf-8") == maker.page()


def test_every_figure_belongs_to_a_promise() -> None:
    assert set(maker.figures()) <= {one.key for one in maker.PROMISES}
    assert len({one.key for one in maker.PROMISES}) == len(maker.PROMISES)


def test_a_figure_for_no_promise_is_refused() -> None:
    with pytest.raises(SystemExit, match="no promise of that name"):
        maker.note("nothing", "1", "here", "today")
