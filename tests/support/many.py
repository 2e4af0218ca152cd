"""Runs played many at a time held to those played one by one."""

from __future__ import annotations

import numpy as np

from edgewear.engine.batch import play_batch


def one_by_one(monkeypatch, *arguments, edges=True):
    """As `play_batch` where no tape stays on one section."""
    with monkeypatch.context() as patched:
        patched.setattr("edgewear.engine.batch.section_of", lambda *_: None)
        return play_batch(*arguments, edges=edges)


def assert_the_same(one, other, told=""):
    """Rows are alike to the last bit, those that are not a number too."""
    assert len(one) == len(other), told
    for name in one.dtype.names:
        np.testing.assert_array_equal(one[name], other[name], err_msg=f"{name} {told}")
