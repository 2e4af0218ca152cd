"""Sound procedures that pass everything, and a way to change one thing in them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from copy import deepcopy
from typing import Any

Change = Mapping[str, Any]
"""Address, its parts apart by `/`, -> what stands there; None takes it away."""

PAD, SLEEVE = {"lip": "pad"}, {"lip": {"is": "sleeve", "fixed to": "rope"}}
"""A pad below the working line; on the safety line a sleeve that a swing takes along."""

SOUND: dict[str, Any] = {
    "edgewear": 1,
    "title": "Repair below a roof edge",
    "setting": "industrial",
    "target": "60 %",
    "anchors": {
        name: {"out": "-4 m", "along": f"{along} m", "up": "1 m", "kind": "pair",
               "is": "structural steel"}
        for name, along in (("west", 0), ("mid west", 0.8), ("mid east", 1.6), ("east", 2.4))
    },
    "edges": {"lip": {"out": "0 m", "up": "0 m", "radius": "60 mm", "surface": "steel"}},
    "ropes": {"store": {"like": "low-stretch 11", "length": "60 m", "stopper": "yes"}},
    "people": {"technician": {"mass": "90 kg"}, "rescuer": {"mass": "90 kg"}},
    "kit": {"pad": 2, "sleeve": 2, "rescue sling": 1},
    "lines": {
        "technician": {
            "anchor": "west", "rope": "store", "protect": PAD, "attendant": "edge attendant",
            "safety line": {"anchor": "mid west", "rope": "store", "protect": SLEEVE},
        },
        "rescuer": {
            "anchor": "mid east", "rope": "store", "protect": PAD,
            "safety line": {"anchor": "east", "rope": "store", "protect": SLEEVE},
        },
    },
    "options": {"as written": {"why not higher": {
        "rigid or rolling": "none in the store", "re-anchored or deviated": "no fixings"}}},
    "job": {
        "technician": [{"cross edge": "lip"}, {"descend": "8 m"}, {"work": "10 min"},
                       {"ascend": "8 m"}, {"event": "back"}],
        "rescuer": [{"wait for": "back"}],
    },
    "faults": {
        "faints": {"casualty unresponsive": "technician", "step": 3},
        "anchor goes": {"anchor fails": "west", "step": 3},
    },
    "when": {"core visible": {"by": "edge attendant", "do": "call rescue"},
             "parted": "retreat on safety line"},
    "limits": {"reach": "20 min", "release": "30 min", "ground": "40 min",
               "suspension": "45 min", "drop": "4 m"},
    "below": {"ground": "-30 m"},
}  # fmt: skip

BASES: dict[str, Change] = {
    "pick-off": {},
    "haul": {"kit/rescue sling": None, "kit/haul kit": 1, "below": None,
             "faults/anchor goes": None},
    "lower": {"kit/rescue sling": None, "anchors/west/releasable": "yes",
              "faults/anchor goes": None},
    "fetched": {"kit/rescue sling": {"at": "van", "fetch": "4 min"}},
    "carried": {"kit/rescue sling": [{"at": "ground"}, {"carried by": "rescuer"}]},
    "at an anchor": {"kit/rescue sling": {"at": "mid east"}},
}  # fmt: skip
"""The sound procedure with another way of rescue each, and no other."""


def text_of(base: str, change: Change) -> str:
    """A procedure as a file: one of the bases with a change."""
    found = deepcopy(SOUND)
    for part in (BASES[base], change):
        for address, value in part.items():
            put(found, address, value)
    return "".join(f"{key}: {json.dumps(value)}\n" for key, value in found.items())


def put(found: dict[str, Any], address: str, value: Any) -> None:
    """Put a value at an address, or take away what stands there.

    Raises:
        KeyError: nothing stands where something is to be taken away.
    """
    *way, last = address.split("/")
    for part in way:
        found = found.setdefault(part, {})
    if value is None:
        del found[last]
    else:
        found[last] = deepcopy(value)
