"""The rescue of one casualty: called, judged by every way, the quickest that can be done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf

from edgewear.findings.rescue import SUSPENSION, Rescue
from edgewear.procedure.rescue_ways.bears import PICK_OFF, Draft
from edgewear.procedure.rescue_ways.call import Call
from edgewear.procedure.rescue_ways.held_up import on_the_way
from edgewear.procedure.rescue_ways.legs import Leg, middle_s, reached
from edgewear.procedure.rescue_ways.scene import Scene
from edgewear.procedure.rescue_ways.ways import every_way
from edgewear.scenario.models.scenario import Limits


def ways_of(scene: Scene, call: Call) -> list[Rescue]:
    """Every way of rescuing a casualty, those that are shown first, the quickest of them first."""
    drafts = sorted(every_way(scene), key=_order)
    return [_timed(scene, call, draft) for draft in drafts]


def best_of(scene: Scene, call: Call) -> tuple[Rescue | None, tuple[str, ...]]:
    """The quickest rescue that is shown, or what each way lacks."""
    if not call.by:
        return None, (call.how,)
    drafts = sorted(every_way(scene), key=_order)
    if not drafts[0].lacks:
        return _timed(scene, call, drafts[0]), ()
    return None, tuple(dict.fromkeys(map(lack, drafts)))


def lack(draft: Draft) -> str:
    """What one way lacks, with its name."""
    return f"{draft.row.named}: {draft.row.why}"


def _order(draft: Draft) -> tuple[bool, float]:
    return bool(draft.lacks), inf if draft.lacks else middle_s(draft.legs)


def _timed(scene: Scene, call: Call, draft: Draft) -> Rescue:
    if draft.lacks or not call.by:
        return draft.row
    legs: Sequence[Leg] = (*call.legs, *draft.legs)
    if draft.row.method == PICK_OFF:  # who hauls or lowers needs no device of their own
        legs = (*legs, *on_the_way(scene, str(draft.row.rescuer), draft.legs))
    times = dict(reached(tuple(legs), limits_of(scene.scenario.limits)))
    return replace(draft.row, noticed_by=call.by, noticed_how=call.how, times=times)


def limits_of(limits: Limits) -> tuple[tuple[str, float], ...]:
    """The limits that a rescue is held to, each from the fault [s]."""
    most = {
        "reach": limits.reach, "release": limits.release, "ground": limits.ground,
        SUSPENSION: limits.suspension,
    }  # fmt: skip
    return tuple((stage, one.value) for stage, one in most.items() if one is not None)
