"""What things are called, and in which order they are written, changes no result."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from edgewear import simulate
from edgewear.scenario import load_text

FEW = settings(max_examples=10, deadline=None, derandomize=True)
MANY = settings(max_examples=1000, deadline=None, suppress_health_check=list(HealthCheck))

TEXT = """
edgewear: 1
title: named anew
setting: test
edges: {{{edges}}}
ropes: {{rope: {{like: low-stretch 10.5, length: 100 m, stopper: yes}}}}
people:
  climber: {{mass: {mass} kg, technique: {technique}, system: pre-threaded, start: 12 m}}
options: {{{options}}}
job: [ascend: 2 m]
"""
PLAIN = ("first edge", "second edge", "third edge", "fourth edge")
OTHER = ("zinc sill", "arris", "middle step", "beam")


@dataclass(frozen=True)
class Named:
    """A scenario of two options over the same edges, without its names."""

    radii_mm: tuple[int, ...]
    surfaces: tuple[str, ...]
    bends_deg: tuple[tuple[int, ...], tuple[int, ...]]  # of both options
    after_m: tuple[tuple[int, ...], tuple[int, ...]]
    mass_kg: int
    technique: str

    def text(self, names: tuple[str, ...], edge_order: list[int], option_order: list[int]) -> str:
        """The scenario file."""
        edges = ", ".join(
            f"{names[k]}: {{radius: {self.radii_mm[k]} mm, surface: {self.surfaces[k]}}}"
            for k in edge_order
        )
        options = ", ".join(f"option {o}: {self._option(names, o)}" for o in option_order)
        return TEXT.format(
            edges=edges, options=options, mass=self.mass_kg, technique=self.technique
        )

    def _option(self, names: tuple[str, ...], option: int) -> str:
        places = zip(names, self.after_m[option], self.bends_deg[option], strict=False)
        over = ", ".join(
            f"{{edge: {name}, after: {after} m, bend: {bend} deg}}" for name, after, bend in places
        )
        return f"{{rope: rope, over: [{over}]}}"


@st.composite
def nameless(draw: Any) -> Named:
    count = draw(st.integers(1, 4))

    def some(values: st.SearchStrategy[Any]) -> Any:
        return tuple(draw(st.lists(values, min_size=count, max_size=count)))

    bends, after = st.integers(2, 80), st.integers(1, 20)
    return Named(
        some(st.integers(4, 20)), some(st.sampled_from(["steel", "concrete"])),
        (some(bends), some(bends)), (some(after), some(after)), draw(st.integers(75, 130)),
        draw(st.sampled_from(["smooth", "normal", "jerky"])),
    )  # fmt: skip


def played(text: str, names: tuple[str, ...]) -> dict[str, Any]:
    """What every option came to, its edges under their plain names."""
    found = {}
    scenario = load_text(text, "named.yaml")
    for option in ("option 0", "option 1"):
        document = json.dumps(simulate(scenario, option))
        for name, plain in zip(names, PLAIN, strict=True):
            document = document.replace(name, plain)
        found[option] = json.loads(document)
    return found


def names_and_order(named: Named, edges: list[int], options: list[int]) -> None:
    """Edges renamed, and edges and options written in another order: the same to the last bit."""
    count = len(named.radii_mm)
    plain = played(named.text(PLAIN, list(range(count)), [0, 1]), PLAIN)
    order = [k for k in edges if k < count]
    assert played(named.text(OTHER, order, options), OTHER) == plain


ORDERS = nameless(), st.permutations(range(4)), st.permutations(range(2))
test_names_and_order = FEW(given(*ORDERS)(names_and_order))
test_names_and_order_1000 = pytest.mark.long(MANY(given(*ORDERS)(names_and_order)))
