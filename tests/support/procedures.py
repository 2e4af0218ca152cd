"""Procedures made at random: people, anchors, ropes, kit, what goes wrong and what is done then."""

from __future__ import annotations

import random
from itertools import count, islice

from edgewear.errors import ScenarioError
from edgewear.scenario import load_text

WHEN = (
    "{parted: retreat on safety line}",
    "{parted: call rescue, core visible: stop}",
    "{core visible: {by: edge attendant, do: call rescue}, parted: {do: call rescue}}",
    "{parted: stop}",
)


def procedure(seed: int):
    """A scenario that can be used, and its text; None where chance made one that cannot."""
    text = text_of(random.Random(seed))
    try:
        return load_text(text, "made.yaml")
    except ScenarioError:
        return None


def usable(number: int):
    """The procedure of that number, from 0, among those that can be used, as chance makes them."""
    made = map(procedure, count())
    return next(islice((one for one in made if one is not None), number, None))


KITS = (
    "{pad: 9}", "{pad: 9, rescue sling: 1}", "{pad: 9, rescue kit: 1}", "{pad: 9, haul kit: 1}",
    "{pad: 9, rescue sling: {at: van}, haul kit: {at: ground}}",
    "{pad: 9, rescue sling: {at: van, fetch: 5 min}, haul kit: {at: ground, fetch: 20 min}}",
    "{pad: 9, rescue sling: {carried by: p0}}",
    "{pad: 9, rescue kit: [{carried by: p0}, {at: a1}]}",
)  # fmt: skip


def text_of(dice: random.Random) -> str:
    """A procedure as somebody might type it."""
    people = [f"p{k}" for k in range(dice.randint(1, 3))]
    radius_mm, rope_m = dice.choice([2, 8, 60]), dice.choice([25, 40, 90])
    lines = [
        "edgewear: 1", "title: made at random", "setting: industrial", "target: 50 %",
        "anchors:", *_anchors(dice, people),
        "edges:", f"  lip: {{out: 0.2 m, up: 0 m, radius: {radius_mm} mm, surface: steel}}",
        "ropes:", f"  store: {{like: low-stretch 11, length: {rope_m} m, stopper: yes}}",
        "people:", *(f"  {name}: {{mass: {dice.randint(60, 120)} kg}}" for name in people),
        f"kit: {dice.choice(KITS)}",
        "lines:", *_lines(dice, people),
        "options:", "  as made: {why not higher: {soft: no time}}",
        "job:", *_job(dice, people, dice.randint(3, 9)),
        "faults:", *_faults(dice, people),
        f"when: {dice.choice(WHEN)}",
        *dice.choice([[], [f"below: {{ground: -{dice.randint(15, 45)} m}}"]]),
    ]  # fmt: skip
    return "\n".join(lines) + "\n"


def _anchors(dice, people):
    found = []
    for k in range(2 * len(people)):
        loose = ", releasable: yes" * dice.randint(0, 1)
        found.append(f"  a{k}: {{out: -5 m, up: 1 m, along: {1.2 * k:.1f} m, kind: pair{loose}}}")
    return found


def _lines(dice, people):
    shared = dice.random() < 0.15
    for k, name in enumerate(people):
        second = 2 * k if shared else 2 * k + 1
        pad = ", protect: {lip: pad}" * (dice.random() < 0.8)
        watched = ", attendant: edge attendant" * (dice.random() < 0.5)
        yield f"  {name}: {{anchor: a{2 * k}, rope: store{pad}{watched},"
        yield f"    safety line: {{anchor: a{second}, rope: store{pad}}}}}"


def _job(dice, people, depth_m):
    helper = people[-1] if len(people) > 1 and dice.random() < 0.6 else None
    for name in people:
        rescues = name == helper
        yield f"  {name}:"
        if rescues:
            yield "    - wait for: hurt"
        elif dice.random() < 0.3:
            yield "    - rest: 2 min"
        yield "    - cross edge: lip"
        yield f"    - descend: {depth_m} m"
        if rescues:
            yield f"    - take over: {people[0]}"
            yield "    - descend: 3 m"
            continue
        yield f"    - work: {dice.randint(1, 6)} min"
        if helper and name == people[0]:
            yield "    - event: hurt"
            yield "    - wait for: over"
        else:
            yield f"    - ascend: {dice.randint(1, depth_m)} m"
    if helper and dice.random() < 0.7:
        yield "    - event: over"


def _faults(dice, people):
    yield f"  goes: {{anchor fails: a0, at: {dice.randint(1, 6)} min}}"
    yield f"  goes too: {{anchor fails: a1, at: {dice.randint(1, 6)} min}}"
    who, when = dice.choice(people), dice.randint(0, 7)
    yield f"  faints: {{casualty unresponsive: {who}, at: {when} min}}"
    yield "  slips: {protection displaced: lip, at: 2 min}"
    yield "  away: {attendant away: 60 min, at: 0 min}"
    device = dice.choice(["device jammed", "device dropped"])
    yield f"  stuck: {{{device}: {dice.choice(people)}, at: {dice.randint(0, 6)} min}}"
    yield "  silent: {communication lost: 60 min, at: 1 min}"
