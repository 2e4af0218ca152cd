"""Made-up scenarios of one person on one working line, for runs that are played many at a time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

COVERS = ("none", "pad", "sleeve", "roller", "edge plate")
SURFACES = ("steel", "concrete", "masonry", "rock")
STATES = ("dry", "wet", "gritty", "icy")
ROPES = (
    "low-stretch 9", "low-stretch 10.5", "low-stretch 11", "low-stretch 12", "dynamic single 9.8"
)  # fmt: skip
CONDITIONS = ("new", "used", "wet", "dirty")
SYSTEMS = ("pre-threaded", "chest and hand ascender")


@dataclass(frozen=True)
class Ways:
    """What a scenario has beside what all of them have."""

    surveyed: bool = False  # anchors and edges by their places; otherwise by bends
    deviated: bool = False  # below the last edge
    let_out: bool = False  # rope at the anchor, every few strokes
    two_lines: bool = False

    @property
    def placed(self) -> bool:
        """Whether anchors and edges have places."""
        return self.surveyed or self.deviated or self.let_out


def random_text(rng: np.random.Generator, ways: Ways) -> str:
    """A scenario file with one to four edges; its one option is called `one`."""
    names = [f"edge {place}" for place in range(1, int(rng.integers(2, 6)))]
    edges, (out_m, up_m) = _edges(rng, names, ways.placed)
    lines = [
        "edgewear: 1", "title: made up", f"setting: {'industrial' if ways.two_lines else 'test'}",
        "edges:", *edges, f"ropes: {{rope: {{{_rope(rng)}}}}}",
        f"people: {{ann: {{{_person(rng, out_m if ways.placed else None)}}}}}",
    ]  # fmt: skip
    if ways.placed:
        post = f"{{out: {-rng.uniform(0.8, 6):.2f} m, up: {rng.uniform(0, 1):.2f} m, kind: pair, "
        bolt = f", bolt: {{out: {out_m + 0.5:.2f} m, up: {up_m - 1:.2f} m}}" * ways.deviated
        lines.append(f"anchors: {{post: {post}releasable: yes}}{bolt}}}")
    lines += ["below: {ground: 60 m down}"] * ways.two_lines
    lines += [f"options: {{one: {{{_option(rng, ways, names)}}}}}", "job:"]
    lines += [f"  - {step}" for step in _job(rng, ways.let_out)]
    return "\n".join(lines) + "\n"


def _edges(
    rng: np.random.Generator, names: Sequence[str], placed: bool
) -> tuple[list[str], tuple[float, float]]:
    """Lines of a file, and a place out from and below all edges [m]."""
    out_m, up_m, found = 0.0, 0.0, []
    for name in names:
        radius_mm = rng.choice([rng.uniform(0.2, 0.7), rng.uniform(1, 6), rng.uniform(6, 30)])
        place = f"out: {out_m:.3f} m, up: {up_m:.3f} m, " if placed else ""
        found.append(
            f"  {name}: {{{place}radius: {radius_mm:.2f} mm, surface: {rng.choice(SURFACES)}, "
            f"condition: {rng.choice(['sound', 'sound', 'burred'])}, state: {rng.choice(STATES)}}}"
        )
        out_m, up_m = out_m + rng.uniform(0.1, 0.4), up_m - rng.uniform(0.5, 2.0)
    return found, (out_m + 0.3, up_m)


def _rope(rng: np.random.Generator) -> str:
    return (
        f"like: {rng.choice(ROPES)}, condition: {rng.choice(CONDITIONS)}, "
        f"length: {rng.uniform(75, 95):.1f} m, stopper: yes"
    )


def _person(rng: np.random.Generator, out_m: float | None) -> str:
    own = (
        f"{{rise: {rng.uniform(15, 45):.0f} cm, sit back: {rng.uniform(0, 12):.1f} cm, "
        f"amplitude cv: {rng.uniform(0, 0.3):.2f}, timing cv: {rng.uniform(0, 0.3):.2f}, "
        f"skill: {rng.uniform(0, 100):.0f} %, fatigue: {rng.uniform(0, 5):.1f} %}}"
    )
    found = [
        f"mass: {rng.uniform(60, 140):.1f} kg", "start: 14 m",
        f"technique: {rng.choice(['smooth', 'normal', 'jerky', own])}",
        f"system: {rng.choice(SYSTEMS)}",
    ]  # fmt: skip
    found += [] if out_m is None else [f"out: {out_m:.2f} m"]
    return ", ".join(found)


def _option(rng: np.random.Generator, ways: Ways, names: Sequence[str]) -> str:
    covers = {name: rng.choice(COVERS) for name in names}
    protect = ", ".join(f"{name}: {cover}" for name, cover in covers.items() if cover != "none")
    over = ", ".join(
        f"{{edge: {name}, after: {rng.uniform(0.5, 12):.2f} m, bend: {rng.uniform(2, 60):.1f} deg}}"
        for name in names
    )
    found = ["rope: rope", "anchor: post" if ways.placed else f"over: [{over}]"]
    found += [f"protect: {{{protect}}}"] * bool(protect)
    sling_m, by_m = rng.uniform(0.2, 0.8), rng.uniform(0.1, 0.6)
    found += [f"deviations: [{{anchor: bolt, sling: {sling_m:.2f} m}}]"] * ways.deviated
    found += [f"shift: {by_m:.2f} m every {rng.integers(2, 8)} strokes"] * ways.let_out
    found += ["safety line: {anchor: post, backup: slipping backup}"] * ways.two_lines
    return ", ".join(found)


def _job(rng: np.random.Generator, releasable: bool) -> list[str]:
    """Five to seven steps, of all that one person makes on one section."""
    technique = rng.choice(["smooth", "normal", "jerky"])
    makers: dict[str, Callable[[], str]] = {
        "ascend": lambda: f"ascend: {rng.uniform(0.5, 2.0):.2f} m",
        "other": lambda: f"ascend: {{height: {rng.uniform(0.3, 1):.2f} m, technique: {technique}}}",
        "descend": lambda: f"descend: {rng.uniform(0.5, 4.0):.2f} m",
        "quick": lambda: "descend: {height: 2 m, speed: 0.6 m/s, stop every: 0.7 m}",
        "rest": lambda: f"rest: {rng.uniform(0.5, 60):.1f} s",
        "work": lambda: (
            f"work: {{for: {rng.uniform(5, 60):.0f} s, bounce: {rng.uniform(1, 40):.0f} mm, "
            f"bounce rate: {rng.uniform(0.3, 1.5):.2f} Hz, tool: {rng.uniform(0, 200):.0f} N, "
            f"duty: {rng.uniform(20, 100):.0f} %}}"
        ),
        "sway": lambda: (
            f"work: {{for: 40 s, sway: {rng.uniform(1, 20):.0f} cm, sway rate: 0.2 Hz}}"
        ),
        "swing": lambda: f"swing: {{by: {rng.uniform(0.2, 1.0):.2f} m, times: 2}}",
        "haul": lambda: f"haul: {{height: {rng.uniform(0.5, 2):.2f} m, speed: 0.2 m/s}}",
        "lower": lambda: f"lower: {rng.uniform(0.5, 2):.2f} m",
        "unloaded": lambda: f"lower unloaded: {rng.uniform(0.5, 2):.2f} m",
        "inspect": lambda: "inspect",
        "machine": lambda: "reciprocate: {load: 80 kg, travel: 0.2 m, speed: 0.1 m/s, cycles: 4}",
        "shift": lambda: f"shift rope: {rng.uniform(0.1, 0.6):.2f} m",
    }
    known = [word for word in makers if word != "shift" or releasable]
    some = rng.choice(known, size=int(rng.integers(2, 5))).tolist()
    return [makers[word]() for word in ("ascend", "descend", *some, "ascend")]
