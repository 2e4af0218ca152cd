"""Runs played many at a time held to those played one by one."""

from __future__ import annotations

import numpy as np

from edgewear.engine.batch import play_batch
from edgewear.study.replay import CLOSE, LEAST_SIZE


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


def assert_as_a_device(one, other, told=""):
    """Words and counts are alike, numbers to 1e-9: what a device may differ by."""
    assert len(one) == len(other), told
    for name in one.dtype.names:
        if one[name].dtype.kind != "f":
            np.testing.assert_array_equal(one[name], other[name], err_msg=f"{name} {told}")
            continue
        least = CLOSE * LEAST_SIZE.get(name, 0.0)
        np.testing.assert_allclose(one[name], other[name], CLOSE, least, err_msg=f"{name} {told}")
