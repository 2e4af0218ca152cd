"""Studies of a sleeve on a test edge, as files and as rows."""

from __future__ import annotations

from edgewear.dataset.reading import open_dataset

GRID = """\
study:
  grid:
    options: [sleeve, bare]
    edges/arris/radius: [1 mm, 3 mm]
    people/climber/mass: {from: 70 kg, to: 90 kg, steps: 3}
    options/*/over/1/after: [5 m, 9 m]
  skip: [{options: sleeve, edges/arris/radius: 1 mm}]
  seed: 7
"""

SAMPLE = """\
study:
  grid: {people/climber/technique: [jerky, smooth]}
  sample: {method: latin hypercube, rows: 6, over: [friction, edges/arris/roughness, body]}
  replicates: 2
  seed: 3
"""


def rows_of(folder):
    dataset = open_dataset(folder)
    plan, runs = dataset.plan().to_pandas(), dataset.runs().to_pandas()
    return plan.merge(runs, on="run")
