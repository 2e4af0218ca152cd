"""The taut string against closed forms and against a brute-force shortest line."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.geometry.taut_string import _taut_in_space, taut
from twins.gates import shortest_through_gates


def along_face(out, up, half=20.0):
    """An edge that runs along the face through (out, up)."""
    return ((out, -half, up), (out, half, up))


def random_case(seed):
    """An anchor behind, up to six edges going out and down, not parallel, and a load below.

    Edges that pass each other within the width of the site are no site: drawn again.
    """
    rng = np.random.default_rng(seed)
    while True:
        anchor, edges, load = draw(rng)
        if all(in_turn(a, b) for a, b in itertools.pairwise(edges)):
            return anchor, edges, load


def in_turn(first, second, half_width=7.0):
    """The first edge lies further in and up than the second, on the whole width of the site."""

    def forward(edge, along):
        share = (along + 40) / 80
        return (edge[0][0] - edge[0][2]) * (1 - share) + (edge[1][0] - edge[1][2]) * share

    return all(forward(first, y) < forward(second, y) for y in (-half_width, half_width))


def draw(rng):
    anchor = (-rng.uniform(0.5, 20), rng.uniform(-3, 3), rng.uniform(-1, 2))
    edges, out, up = [], 0.0, 0.0
    for _ in range(int(rng.integers(1, 7))):
        tilt = rng.uniform(-0.15, 0.15, 2)
        edges.append(
            (
                (out - 40 * tilt[0], -40.0, up - 40 * tilt[1]),
                (out + 40 * tilt[0], 40.0, up + 40 * tilt[1]),
            )
        )
        out, up = out + rng.uniform(0.05, 1.0), up - rng.uniform(0.2, 3.0)
    load = (out + rng.uniform(-0.6, 2.5), rng.uniform(-6, 6), up - rng.uniform(4.0, 25.0))
    return anchor, edges, load


def check_against_gates(seed):
    anchor, edges, load = random_case(seed)
    path = taut(anchor, edges, load)
    length, heights, _ = shortest_through_gates(anchor, edges, load)
    assert path.length_m == pytest.approx(length, rel=1e-6), seed
    bends = dict(zip(path.edges, path.bends_rad, strict=True))
    for j, height in enumerate(heights):
        if j in bends:
            # a line over a sill with a bend this small gains less length by leaving it than the
            # minimiser resolves, so its height is not known better
            assert height < 1e-5 or bends[j] < 1e-4, (seed, j)
        else:
            assert height > 1e-9 or abs(path.length_m - length) < 1e-9 * length, (seed, j)
    clear = {j for j, height in enumerate(heights) if height > 1e-3}
    firm = {j for j, bend in bends.items() if bend > 1e-3}
    assert not clear & firm, seed
    return clear, firm


def test_agrees_with_a_brute_force_shortest_line_in_500_cases():
    results = [check_against_gates(seed) for seed in range(500)]
    assert sum(bool(clear) for clear, _ in results) > 50  # both kinds of edges occur
    assert sum(len(firm) > 2 for _, firm in results) > 50


def test_one_edge_in_the_plane():
    path = taut((-4.0, 0.0, 0.0), [along_face(0.0, 0.0)], (0.0, 0.0, -10.0))
    assert path.edges == (0,)
    assert path.free_m == pytest.approx((4.0, 10.0), abs=1e-12)
    assert path.bends_rad[0] == pytest.approx(math.pi / 2, abs=1e-12)
    assert path.directions[1] == pytest.approx((0.0, 0.0, -1.0), abs=1e-12)


def test_body_offset_changes_the_bend_as_in_the_plane():
    # 0.3 m of offset 3 m below an edge: atan(0.1) = 5.71 degrees less bend
    plumb = taut((-4.0, 0.0, 0.0), [along_face(0.0, 0.0)], (0.0, 0.0, -3.0))
    off = taut((-4.0, 0.0, 0.0), [along_face(0.0, 0.0)], (0.3, 0.0, -3.0))
    assert plumb.bends_rad[0] - off.bends_rad[0] == pytest.approx(math.atan(0.1), abs=1e-12)


@given(
    side=st.floats(-8, 8),
    back=st.floats(0.5, 20),
    down=st.floats(0.5, 20),
)
@settings(max_examples=50, deadline=None)
def test_load_off_to_the_side_crosses_as_the_unfolded_line(side, back, down):
    # Unfold the face into the roof: the crossing lies in the ratio of the two distances.
    path = taut((-back, 0.0, 0.0), [along_face(0.0, 0.0)], (0.0, side, -down))
    crossing = path.points[1][1]
    # the minimiser stops at a slope of 1e-14; the crossing is then good to its root
    assert crossing == pytest.approx(side * back / (back + down), abs=1e-6)
    assert path.length_m == pytest.approx(math.hypot(back + down, side), rel=1e-12)


def test_free_lengths_and_bends_are_the_convex_hull_in_the_plane():
    # flange lies 0.1 m inside the line from kerb to ledge: not touched
    kerb, flange, ledge = along_face(0.0, 0.0), along_face(0.2, -1.0), along_face(0.6, -2.0)
    path = taut((-5.0, 0.0, 0.0), [kerb, flange, ledge], (0.6, 0.0, -9.0))
    assert path.edges == (0, 2)
    assert path.free_m == pytest.approx((5.0, math.hypot(0.6, 2.0), 7.0), abs=1e-12)


def test_a_load_above_an_edge_has_not_passed_it():
    edges = [along_face(0.0, 0.0), along_face(0.5, -3.0)]
    above = taut((-5.0, 0.0, 0.0), edges, (0.45, 0.0, -2.0))
    assert above.edges == (0,)
    # just below it the line still runs clear of it, or lies on it without a jump in length
    below = taut((-5.0, 0.0, 0.0), edges, (0.45, 0.0, -3.001))
    assert below.length_m - above.length_m < 1.2


def test_edges_come_into_contact_without_a_jump_in_length():
    edges = [along_face(0.0, 0.0), along_face(0.6, -3.0)]
    lengths = [
        taut((-5.0, 0.0, 0.0), edges, (0.9, 0.0, -down)).length_m
        for down in np.arange(2.5, 6.0, 0.01)
    ]
    # a load that sinks by 10 mm never lengthens the line by more than 10 mm
    steps = np.diff(lengths)
    assert steps.min() > 0.0
    assert steps.max() <= 0.01 + 1e-12


def test_an_anchor_below_an_edge_turns_by_more_than_a_right_angle():
    path = taut((-2.0, 0.0, -2.0), [along_face(0.0, 0.0)], (0.0, 0.0, -6.0))
    assert path.edges == (0,)
    assert path.bends_rad[0] == pytest.approx(math.radians(135), abs=1e-12)


def test_collinear_edges_do_not_touch_in_between():
    # three edges on one line: zero bend equals no edge
    edges = [along_face(0.0, 0.0), along_face(0.0, -2.0), along_face(0.0, -4.0)]
    path = taut((-3.0, 0.0, 0.0), edges, (0.0, 0.0, -9.0))
    assert path.edges == (0,)
    assert path.length_m == pytest.approx(12.0, abs=1e-12)


def test_the_same_edge_twice_bends_once_in_all():
    single = taut((-3.0, 0.0, 0.0), [along_face(0.0, 0.0)], (0.2, 1.0, -9.0))
    double = taut((-3.0, 0.0, 0.0), [along_face(0.0, 0.0)] * 2, (0.2, 1.0, -9.0))
    assert double.length_m == pytest.approx(single.length_m, rel=1e-9)
    assert sum(double.bends_rad) == pytest.approx(sum(single.bends_rad), abs=1e-6)


def test_edges_nearer_than_a_rope_diameter_keep_their_own_bends():
    edges = [along_face(0.0, 0.0), along_face(0.003, -0.003)]
    path = taut((-3.0, 0.0, 0.0), edges, (0.003, 0.0, -9.0))
    assert path.edges == (0, 1)
    assert path.bends_rad == pytest.approx((math.pi / 4, math.pi / 4), abs=1e-12)


def test_a_line_pulled_past_the_end_of_an_edge_is_marked():
    short = ((0.0, -0.5, 0.0), (0.0, 0.5, 0.0))
    path = taut((-3.0, 4.0, 0.0), [short], (0.0, 4.0, -3.0))
    assert path.at_end == (True,)
    assert path.points[1] == pytest.approx((0.0, 0.5, 0.0))
    inside = taut((-3.0, 0.4, 0.0), [short], (0.0, 0.4, -3.0))
    assert inside.at_end == (False,)


@given(angle=st.floats(-3.0, 3.0), seed=st.integers(0, 50))
@settings(max_examples=40, deadline=None)
def test_reversed_edges_and_mirrored_sites_give_the_same_line(angle, seed):
    anchor, edges, load = random_case(seed)
    path = taut(anchor, edges, load)
    turned = taut(anchor, [(b, a) for a, b in edges], load)
    assert turned.edges == path.edges
    assert turned.length_m == pytest.approx(path.length_m, rel=1e-12)

    def mirror(p):
        return (p[0], angle - p[1], p[2])

    mirrored = taut(mirror(anchor), [(mirror(a), mirror(b)) for a, b in edges], mirror(load))
    assert mirrored.edges == path.edges
    # crossings are good to 1e-7 m, bends with them
    assert mirrored.bends_rad == pytest.approx(path.bends_rad, abs=1e-6)


def test_the_quick_way_along_the_face_is_the_way_in_space():
    rng = np.random.default_rng(23)
    for _ in range(200):
        outs = np.cumsum(rng.uniform(-0.2, 1.0, 5))
        ups = -np.cumsum(rng.uniform(-0.3, 3.0, 5))
        aside = rng.choice([0.0, 1.0]) * rng.uniform(-9, 9)
        load = (outs[-1] + rng.uniform(-0.4, 0.6), aside, rng.uniform(ups[-1] - 9, 1.0))
        edges = [along_face(o, u) for o, u in zip(outs, ups, strict=True)]
        anchor = (-rng.uniform(1, 9), 0.0, rng.uniform(-2.0, 1))
        quick, slow = taut(anchor, edges, load), _taut_in_space(anchor, edges, load)
        assert quick.edges == slow.edges
        assert quick.free_m == pytest.approx(slow.free_m, abs=1e-9)
        assert quick.bends_rad == pytest.approx(slow.bends_rad, abs=1e-9)


def test_a_line_around_an_upright_corner_then_down():
    corner = ((0.0, 0.0, -1.0), (0.0, 0.0, 5.0))
    path = taut((-1.0, -3.0, 0.0), [corner], (-3.0, 1.0, 0.0))
    assert path.edges == (0,)
    assert path.length_m == pytest.approx(math.hypot(1, 3) + math.hypot(3, 1), abs=1e-9)


def test_touched_edges_are_the_shortest_choice_of_all_sets_in_the_plane():
    # independent of any sense of bend: among the lines that stay outside, the shortest
    rng = np.random.default_rng(7)
    for _ in range(50):
        outs = np.cumsum(rng.uniform(0.05, 1.0, 4))
        ups = -np.cumsum(rng.uniform(0.2, 3.0, 4))
        load = np.array([outs[-1] + 0.3, ups[-1] - rng.uniform(1, 9)])
        anchor = np.array([-rng.uniform(1, 9), rng.uniform(-0.5, 1)])
        corners = np.column_stack([outs, ups])
        best = min(
            length
            for count in range(5)
            for kept in itertools.combinations(range(4), count)
            if (length := outside(anchor, corners, load, kept)) is not None
        )
        path = taut(
            (anchor[0], 0.0, anchor[1]),
            [along_face(o, u) for o, u in corners],
            (load[0], 0.0, load[1]),
        )
        assert path.length_m == pytest.approx(best, rel=1e-12)


def outside(anchor, corners, load, kept):
    """Length of the line over `kept` if no corner sticks out of it, else None."""
    line = np.vstack([anchor, corners[list(kept)], load])
    for a, b in itertools.pairwise(line):
        for c in corners:
            between = a[0] < c[0] < b[0] or b[1] < c[1] < a[1]
            sticks_out = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
            if between and sticks_out > 1e-12:
                return None
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
