"""Files of tests that tests are made with."""

from __future__ import annotations


def tower(title: str, ascend: str) -> str:
    """Begin a file of tests: one rope over one steel edge, climbed jerkily.

    Parameters:
        title: of the file.
        ascend: how far, as typed.
    """
    return f"""\
edgewear tests: 1
title: {title}
scenarios:
  tower:
    edgewear: 1
    title: tower
    setting: test
    edges: {{arris: {{radius: 1 mm, surface: steel, roughness: 1}}}}
    ropes: {{rope: {{like: low-stretch 11, length: 60 m, stopper: yes}}}}
    people: {{climber: {{mass: 90 kg, technique: jerky, system: pre-threaded, start: 8 m}}}}
    options: {{bare: {{rope: rope, over: [{{edge: arris, after: 20 m, bend: 30 deg}}]}}}}
    job: [{{ascend: {ascend}}}]
    when: {{core visible: carry on}}
"""


TOWER = (
    tower("tests on a tower", "5 m")
    + """\
  machine:
    edgewear: 1
    title: machine
    setting: test
    edges: {bar: {radius: 1 mm, surface: steel, roughness: 1}}
    ropes: {rope: {like: low-stretch 11, length: 10 m}}
    options: {bare: {rope: rope, over: [{edge: bar, after: 2 m, bend: 90 deg}]}}
    job: [{reciprocate: {load: 120 kg, travel: 0.5 m, speed: 0.05 m/s, cycles: 40}}]
    when: {core visible: carry on}
asked:
  wear/sheath energy: {value: 3e8 J/m3, low: 3e7 J/m3, high: 3e9 J/m3, distribution: lognormal}
benches:
  cellar: {value: 1, low: 0.5, high: 2, distribution: lognormal}
tests:
  T1:
    scenario: tower
    how far: job/1/ascend
    seen: [{core visible: {not by: 3 m, by: 4 m}}]
  T2:
    scenario: tower
    with: {people/climber/technique: smooth}
    how far: job/1/ascend
    samples: 2
    seen: [{look: {seen: usable, after: 5 m}}, {anchor peak: {value: 1 kN, error: 0.1 kN}}]
  M1:
    scenario: machine
    bench: cellar
    batch: drum 3
    on: 2026-05-03
    how far: job/1/reciprocate/cycles
    seen:
      - fuzz: {by: 20}
      - core visible: {not by: 90, error: 0.3}
      - strength lost: {at least: 5 %, error: 3 %}
"""
)
"""Two set-ups, every kind of censoring, a bench of its own, two samples."""


def with_line(text: str, old: str, new: str) -> tuple[str, int, int]:
    """Give a text with a slip in it, and the line and column at which it stands, from 1."""
    assert text.count(old) == 1, (old, text.count(old))
    before = text[: text.index(old)]
    return text.replace(old, new), before.count("\n") + 1, len(before) - before.rfind("\n")
