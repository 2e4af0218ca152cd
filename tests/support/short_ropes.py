"""A descent for which a rope just reaches in the middle, so that some trials use it up."""

from __future__ import annotations

from edgewear.scenario import load_text

SHORT = """\
edgewear: 1
title: A rope that some places of the anchor use up
setting: alpine
target: 30 %
anchors: {{post: {{out: paced {behind} m back, up: 1 m, kind: pair}}}}
edges: {{lip: {{out: 0 m, up: 0 m, radius: 30 mm, surface: steel}}}}
ropes: {{red: {{like: low-stretch 11, length: {rope} m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg}}}}
lines: {{ann: {{anchor: post, rope: red}}}}
options: {{only: {{}}}}
job: [{{cross edge: lip}}, {{descend: {down} m}}{then}]
"""

TIED_M = 3.1
"""The person's way over the lip, knots, and a little over: so much is accepted."""


def just_reaching(behind: float, down: float, then: str, spare_m: float = 0.0):
    """A scenario by how far its anchor lies behind [m], how far down and what then is done.

    Parameters: `spare_m`: rope beside what is just enough.
    """
    rope = behind + down + TIED_M + spare_m
    return load_text(SHORT.format(behind=behind, down=down, rope=rope, then=then), "m.yaml")
