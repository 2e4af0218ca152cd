"""A slow, obvious twin of the taut string: the shortest line through gates, by scipy.

Every edge is the sill of a gate that is open outwards. The line has to pass every gate in turn,
at the sill or above it; its length is a convex function of where it passes. Shares no code and
no idea of "letting go" and "taking up" with what it checks.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import minimize


def shortest_through_gates(anchor, edges, load):
    """Return (length [m], height above each sill [m], points) of the shortest line."""
    anchor, load = np.array(anchor), np.array(load)
    sills = [(np.array(a), np.array(b) - np.array(a)) for a, b in edges]
    count = len(sills)
    extents = np.array([np.linalg.norm(span) for _, span in sills])
    along = np.array([span / size for (_, span), size in zip(sills, extents, strict=True)])
    up = []
    for e in along:
        outward = np.array([1.0, 0.0, 1.0]) - (np.array([1.0, 0.0, 1.0]) @ e) * e
        up.append(outward / np.linalg.norm(outward))
    up = np.array(up)
    start = np.array([a for a, _ in sills])

    def points(v):
        inner = start + v[:count, None] * along + v[count:, None] * up
        return np.vstack([anchor, inner, load])

    def length_and_slope(v):
        steps = np.diff(points(v), axis=0)
        sizes = np.linalg.norm(steps, axis=1)
        units = steps / sizes[:, None]
        pull = units[:-1] - units[1:]
        slope = np.concatenate([(pull * along).sum(axis=1), (pull * up).sum(axis=1)])
        return sizes.sum(), slope

    bounds = [(0.0, size) for size in extents] + [(0.0, None)] * count
    best = None
    for height in (1.0, 0.1, 0.0):  # several starts: SLSQP can stick where two gates meet
        found = minimize(
            length_and_slope,
            np.concatenate([extents / 2, height + 0.01 * np.arange(count)]),
            jac=True,
            bounds=bounds,
            method="SLSQP",
            options={"ftol": 1e-16, "maxiter": 1000},
        )
        if best is None or found.fun < best.fun:
            best = found
    return float(best.fun), best.x[count:], points(best.x)
