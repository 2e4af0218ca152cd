"""Designs fill the cube as they promise, and any stretch of rows is the whole's."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import qmc

from edgewear.errors import UsageError
from edgewear.study.sweeping.design import LatinHypercube, Random, Sobol, design_of, permuted

NAMES = ("friction", "mass", "wear")


@given(st.integers(1, 700), st.integers(0, 2**64 - 1))
def test_a_permutation_hits_every_place_once(rows, key):
    places = permuted(np.arange(rows, dtype=np.uint64), rows, key)
    assert sorted(places.tolist()) == list(range(rows))


def test_a_permutation_has_no_memory_of_the_order():
    places = permuted(np.arange(5000, dtype=np.uint64), 5000, 12345)
    # rank correlation with the row and between neighbours: 5 standard errors of 1/sqrt(n)
    assert abs(np.corrcoef(np.arange(5000), places)[0, 1]) < 5 / np.sqrt(5000)
    assert abs(np.corrcoef(places[:-1], places[1:])[0, 1]) < 5 / np.sqrt(5000)


@pytest.mark.parametrize("method", ["random", "latin hypercube", "sobol"])
@settings(deadline=None, max_examples=30)
@given(first=st.integers(0, 199), count=st.integers(1, 100))
def test_a_stretch_is_part_of_the_whole(method, first, count):
    count = min(count, 200 - first)
    one = design_of(method, NAMES, 200, 9)
    whole = one.shares(0, 200)
    for design in (one, design_of(method, NAMES, 200, 9)):
        part = design.shares(first, count)
        for name in NAMES:
            assert (part[name] == whole[name][first : first + count]).all()


@pytest.mark.parametrize("rows", [1, 7, 64, 1000])
def test_a_latin_hypercube_hits_every_slice_of_every_input_once(rows):
    for column in LatinHypercube(NAMES, rows, 3).shares(0, rows).values():
        assert sorted(np.floor(column * rows).astype(int).tolist()) == list(range(rows))


def test_columns_of_a_latin_hypercube_are_not_correlated_and_do_not_know_each_other():
    three = LatinHypercube(NAMES, 4096, 3).shares(0, 4096)
    one = LatinHypercube(("mass",), 4096, 3).shares(0, 4096)
    assert (three["mass"] == one["mass"]).all()
    correlation = np.corrcoef(list(three.values())) - np.eye(3)
    assert np.abs(correlation).max() < 5 / np.sqrt(4096)  # 5 standard errors


def test_sobol_fills_the_cube_more_evenly_than_chance():
    def discrepancy(design):
        return qmc.discrepancy(np.column_stack(list(design.shares(0, 512).values())))

    # scrambled Sobol points in 3 dimensions at n = 512 lie well below random ones, whose centred
    # discrepancy is about (5/4)^3/n - (13/12)^3/n = 1.3e-3
    assert discrepancy(Sobol(NAMES, 512, 1)) < discrepancy(Random(NAMES, 1)) / 5


def test_seeds_differ():
    for make in (Sobol, LatinHypercube):
        assert (
            make(NAMES, 64, 1).shares(0, 64)["mass"] != make(NAMES, 64, 2).shares(0, 64)["mass"]
        ).any()


def test_a_design_over_nothing_or_of_no_kind_is_refused():
    with pytest.raises(UsageError, match="nothing that varies"):
        design_of("sobol", (), 4, 1)
    with pytest.raises(UsageError, match="allowed are"):
        design_of("halton", NAMES, 4, 1)
