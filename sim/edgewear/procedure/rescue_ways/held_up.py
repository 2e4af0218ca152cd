"""A device that serves no more for a while: how long it holds up whoever comes to a pick-off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from edgewear.layout import TICK_S
from edgewear.procedure.rescue_ways.legs import Leg
from edgewear.procedure.rescue_ways.moment import Jam
from edgewear.procedure.rescue_ways.scene import Scene


def before_they_come(scene: Scene, name: str) -> Iterator[Leg]:
    """What is left of a jam when somebody is called, beyond the step that they finish first."""
    busy_s = scene.moment.busy_s.get(name, 0.0)
    for jam in _of(scene, name):
        gone_s = (scene.moment.tick - jam.tick) * TICK_S
        if gone_s >= 0.0 and gone_s + busy_s < jam.lasting.high:
            yield _leg("reach", jam, gone_s + busy_s)


def on_the_way(scene: Scene, name: str, legs: Sequence[Leg]) -> Iterator[Leg]:
    """A jam that comes once somebody is called, before they are down: none of it has passed.

    Parameters:
        legs: of their way; by the middle of these it is known which part of it the jam finds.
    """
    for jam in _of(scene, name):
        after_s = (jam.tick - scene.moment.tick) * TICK_S
        for stage in ("reach", "release", "ground"):
            if after_s <= 0.0:
                break
            after_s -= sum(leg.middle_s for leg in legs if leg.stage == stage)
            if after_s < 0.0:
                yield _leg(stage, jam, 0.0)
                break


def _of(scene: Scene, name: str) -> Iterator[Jam]:
    return (jam for jam in scene.jams if jam.person == name)


def _leg(stage: str, jam: Jam, gone_s: float) -> Leg:
    return Leg(stage, f"{jam.person}: {jam.what}", jam.lasting, gone_s=gone_s)
