"""A rigged section as the records that kernels read, geometry only."""

from __future__ import annotations

import numpy as np

from edgewear.layout import EDGE, LINE

LED = {"edge": 0, "deviation": 1, "high directional": 2}


def records(section):
    """Return LINE (1,) and EDGE (n,) of a section."""
    line = np.zeros(1, LINE)
    line["direct"] = section.direct
    line["edge_count"] = len(section.edges)
    line["anchor_m"] = section.anchor_m
    line["load_out_m"], line["load_along_m"] = section.load_m
    line["rope_m"] = 60.0
    line["track_count"] = len(section.track_m)
    for k, point in enumerate(section.track_m):
        line["track_m"][0, k] = point
    edges = np.zeros(len(section.edges), EDGE)
    for record, item in zip(edges, section.edges, strict=True):
        record["start_m"], record["end_m"] = item.start_m, item.end_m
        record["led"], record["reach_m"] = LED[item.kind], item.reach_m
    return line, edges
