"""The flaws, family by family: each a small change, and what it must be caught as."""

from __future__ import annotations

from typing import Any, NamedTuple

from support.planted.found import (
    ABOVE,
    ERROR,
    FALLS,
    LATE,
    NO,
    NO_RESCUE,
    NOT_KNOWN,
    SHARED,
)
from support.planted.sound import PAD, SLEEVE, Change


class Flaw(NamedTuple):
    """One flaw in one of the sound procedures."""

    family: str
    name: str
    caught_as: str  # kind of the trouble that it must make
    naming: str  # what that trouble must speak of, in its place or its words
    change: Change
    base: str = "pick-off"


def _line(anchor: str, safety: str | None, **more: Any) -> dict[str, Any]:
    found = {"anchor": anchor, "rope": "store", "protect": PAD, **more}
    if safety is not None:
        found["safety line"] = {"anchor": safety, "rope": "store", "protect": SLEEVE}
    return found


def _family(name: str, *rows: tuple[Any, ...]) -> tuple[Flaw, ...]:
    return tuple(Flaw(name, *row) for row in rows)


ALONE: Change = {"job/rescuer": None, "lines/rescuer": None, "people/rescuer": None,
                 "kit/pad": 1, "kit/sleeve": 1}  # fmt: skip
UNWATCHED: Change = {"lines/technician/attendant": None, "when/core visible": None}
SHORT = {"like": "low-stretch 11", "length": "20 m", "stopper": "yes"}
DOWN = [{"cross edge": "lip"}, {"descend": "8 m"}, {"work": "30 min"}, {"ascend": "8 m"}]
BROKEN = {"out": "0 m", "up": "0 m", "radius": "2 mm", "surface": "steel", "condition": "broken"}
SHARP = {"out": "0 m", "up": "0 m", "radius": "2 mm", "surface": "steel"}
STAYS = [*DOWN[:2], {"work": "10 min"}, {"event": "back"}]


def _more(name: str, along_m: float) -> Change:
    """One more person with lines of their own, from a place along the edge on."""
    first, second = f"first of {name}", f"second of {name}"
    return {
        f"people/{name}": {"mass": "90 kg"},
        f"job/{name}": DOWN,
        f"anchors/{first}": {**PLACE, "along": f"{along_m} m"},
        f"anchors/{second}": {**PLACE, "along": f"{along_m + 0.8} m"},
        f"lines/{name}": _line(first, second),
    }


PLACE = {"out": "-4 m", "up": "1 m", "kind": "pair", "is": "structural steel"}
THIRD: Change = {**_more("third", 4.0), "kit/pad": 3, "kit/sleeve": 3}

NOBODY = _family(
    "nobody there",
    ("one person alone", NO_RESCUE, "nobody", {**ALONE, **UNWATCHED}),
    ("one person alone, to be hauled", NO_RESCUE, "nobody", {**ALONE, **UNWATCHED}, "haul"),
    ("one person alone, to be lowered", NO_RESCUE, "nobody", {**ALONE, **UNWATCHED}, "lower"),
    ("an attendant, and nobody with lines", NO_RESCUE, "no haul kit", ALONE),
    ("nobody watches, nobody hangs in sight", NO_RESCUE, "nobody sees", UNWATCHED),
    ("the attendant is away for two hours", LATE, "reach",
     {"faults/away": {"attendant away": "2 h", "at": "0 min"}}),
    ("the attendant has gone home", NO_RESCUE, "nobody sees", {"faults/away": "attendant away"}),
    ("the rescuer has no lines", NO_RESCUE, "no haul kit",
     {"lines/rescuer": None, "kit/pad": 1, "kit/sleeve": 1}),
)  # fmt: skip

ROPE = _family(
    "rope",
    ("the rescuer's working rope is short", NO_RESCUE, "20 m of rope",
     {"ropes/short": SHORT, "lines/rescuer/rope": "short"}),
    ("the rescuer's safety rope is short", NO_RESCUE, "20 m of rope",
     {"ropes/short": SHORT, "lines/rescuer/safety line/rope": "short"}),
    ("the casualty's rope is too short to lower", NO_RESCUE, "20 m of rope",
     {"ropes/short": SHORT, "lines/technician/rope": "short"}, "lower"),
    ("the ground lies deeper than any rope", NO_RESCUE, "60 m of rope",
     {"below/ground": "-70 m"}),
    ("the rope does not reach the work", ERROR, "does not reach",
     {"ropes/store/length": "12 m"}),
    ("no stopper", ERROR, "stopper",
     {"ropes/store/stopper": "no", "ropes/store/length": "15 m"}),
    ("part of the rope is tied up in a tail", NO_RESCUE, "of rope",
     {"lines/rescuer/tail": "30 m"}),
)  # fmt: skip

RESCUER = _family(
    "a rescuer who cannot come",
    ("faints too", NO_RESCUE, "cannot act",
     {"faults/also faints": {"casualty unresponsive": "rescuer", "at": "1 min"}}),
    ("hangs 25 m aside", NO_RESCUE, "aside",
     {"anchors/mid east/along": "25 m", "anchors/east/along": "25.8 m"}),
    ("hangs far below, without the sling", NO_RESCUE, "lies on top",
     {"job/rescuer": [{"cross edge": "lip"}, {"descend": "25 m"}, {"work": "30 min"}]}),
    ("hangs on the casualty's anchors", NO_RESCUE, "does not hold",
     {"lines/rescuer/anchor": "west"}),
    ("has the casualty's first anchor for a safety line", NO_RESCUE, "does not hold",
     {"lines/rescuer/safety line/anchor": "west"}),
    ("falls first", FALLS, "rescuer",
     {"job/rescuer": DOWN,
      "faults/a": {"anchor fails": "mid east", "at": "5 min"},
      "faults/b": {"anchor fails": "east", "at": "5 min"}}),
    ("hangs on one line, the other is lost", NO_RESCUE, "the other is lost",
     {"job/rescuer": DOWN, "when/parted": None,
      "faults/a": {"anchor fails": "mid east", "at": "4 min"}}),
    ("carries a third person", NO_RESCUE, "carries",
     {**THIRD, "job/third": [*DOWN[:2], {"event": "hurt"}, {"wait for": "over"}],
      "job/rescuer": [{"wait for": "hurt"}, *DOWN[:2], {"take over": "third"},
                      {"work": "60 min"}, {"descend": "20 m"}, {"event": "over"}],
      "job/technician": [{"wait for": "hurt"}, {"rest": "10 min"}, *DOWN]}),
    ("is on the way over an edge for most of an hour", LATE, "reach",
     {"job/rescuer": [{"rest": "2 min"}, {"cross edge": {"edge": "lip", "for": "60 min"}},
                      {"work": "1 min"}]}),
)  # fmt: skip

END = _family(
    "where a rescue ends",
    ("nothing is named below", NO_RESCUE, "named below", {"below": None}),
    ("what is named lies above the casualty", NO_RESCUE, "named below",
     {"below": {"ledge": "-5 m"}}),
    ("lowered to nowhere", NO_RESCUE, "named below", {"below": None}, "lower"),
    ("hauled to a fixed point on the face", NO_RESCUE, "on the face",
     {"anchors/face": {"out": "0.2 m", "along": "0 m", "up": "-4 m", "kind": "pair"},
      "lines/technician/re-anchor": ["face"],
      "job/technician": STAYS}, "haul"),
    ("lowered from a fixed point on the face", NO_RESCUE, "on the face",
     {"anchors/face": {"out": "0.2 m", "along": "0 m", "up": "-4 m", "kind": "pair"},
      "lines/technician/re-anchor": ["face"],
      "job/technician": STAYS}, "lower"),
    ("lowered from an anchor that is not releasable", NO_RESCUE, "not releasable",
     {"anchors/west/releasable": "no"}, "lower"),
)  # fmt: skip

ANCHORS = _family(
    "anchors and lines lost",
    ("both anchors of a person go", FALLS, "technician",
     {"faults/other goes": {"anchor fails": "mid west", "step": 3}}),
    ("no safety line", ERROR, "no safety line",
     {"lines/technician/safety line": None, "kit/sleeve": 1}),
    ("both lines hang on one anchor", NO, "west",
     {"lines/technician/safety line/anchor": "west"}),
    ("the safety line's anchor is too weak for a catch", NO, "mid west",
     {"anchors/mid west/strength": "3 kN"}),
    ("the rescuer's anchor is too weak for two", NO_RESCUE, "mid east",
     {"anchors/mid east/strength": "1.5 kN"}),
    ("both anchors of the rescuer go while they carry the casualty", FALLS, "technician",
     {"job/technician": [*DOWN[:2], {"event": "hurt"}, {"wait for": "over"}],
      "job/rescuer": [{"wait for": "hurt"}, *DOWN[:2], {"take over": "technician"},
                      {"event": "taken"}, {"descend": "20 m"}, {"event": "over"}],
      "faults/a": {"anchor fails": "mid east", "after": "taken"},
      "faults/b": {"anchor fails": "east", "after": "taken"}}),
    ("no safety line where two are not asked for", NO, "no other line",
     {"setting": "alpine", "lines/technician/safety line": None, "kit/sleeve": 1}),
)  # fmt: skip

DEAD = _family(
    "whoever is dead or fainted acts no more",
    ("the only one who could see faints", NO_RESCUE, "nobody sees",
     {**UNWATCHED, "lines/rescuer/attendant": "technician"}),
    ("the only one who could call falls", FALLS, "technician",
     {**UNWATCHED, "when/parted": {"by": "technician", "do": "call rescue"},
      "faults/other goes": {"anchor fails": "mid west", "step": 3}}),
    ("the watcher faints before the casualty", NO_RESCUE, "nobody sees",
     {"lines/technician/attendant": "rescuer", "when/core visible": None,
      "faults/also faints": {"casualty unresponsive": "rescuer", "at": "1 min"}}),
    ("whoever hauls has fainted", NO_RESCUE, "nobody who is free",
     {"lines/technician/attendant": "rescuer", "when/core visible": None,
      "faults/also faints": {"casualty unresponsive": "rescuer", "at": "1 min"},
      **THIRD}, "haul"),
)  # fmt: skip

PATH = _family(
    "in the way of a catch",
    ("a canopy just below the work", NO, "canopy", {"below/canopy": "-9.5 m"}),
    ("the drop is longer than allowed", ABOVE, "drop", {"limits/drop": "0.5 m"}),
    ("the peak is higher than allowed", ABOVE, "peak", {"limits/peak": "3 kN"}),
    ("the safety line swings off a pad", ABOVE, "off its protection",
     {"anchors/mid west/along": "3 m",
      "lines/technician/safety line/protect": PAD, "kit/pad": 3}),
    ("a catch over a broken edge", NOT_KNOWN, "lip", {"edges/lip": BROKEN}),
    ("a pillar beside the work, in the way of the swing", NO, "pillar",
     {"anchors/mid west/along": "4 m",
      "beside": {"pillar": {"along": "1.5 m", "from": "-2 m", "to": "-30 m"}}}),
    ("slack tied into the safety line", ABOVE, "drop",
     {"lines/technician/safety line/slack": "1.5 m"}),
)  # fmt: skip

KIT = _family(
    "kit",
    ("the sling is not in the kit", NO_RESCUE, "no rescue sling", {"kit/rescue sling": None}),
    ("none of the sling", ERROR, "rescue sling", {"kit/rescue sling": 0}),
    ("the haul kit is not in the kit", NO_RESCUE, "no haul kit", {"kit/haul kit": None}, "haul"),
    ("none of the haul kit", ERROR, "haul kit", {"kit/haul kit": 0}, "haul"),
    ("a pad too few", ERROR, "pad", {"kit/pad": 1}),
    ("a safety line's sleeve too few", ERROR, "sleeve", {"kit/sleeve": 1}),
    ("less than none", ERROR, "kit", {"kit/pad": -1}),
    ("the sling lies far away", NO_RESCUE, "lies at van",
     {"kit/rescue sling": {"count": 1, "at": "van"}}),
    ("the sling lies on the ground", NO_RESCUE, "lies on the ground",
     {"kit/rescue sling": {"at": "ground"}}),
    ("the sling is with the casualty", NO_RESCUE, "is with technician",
     {"kit/rescue sling": {"carried by": "technician"}}),
    ("the sling is fetched from far", LATE, "reach",
     {"kit/rescue sling": {"at": "van", "fetch": "1 h"}}),
    ("whoever carries the sling is not there", ERROR, "carried by",
     {"kit/rescue sling": {"carried by": "a friend"}}),
    ("the haul kit lies far away", NO_RESCUE, "lies at van", {"kit/haul kit": {"at": "van"}},
     "haul"),
    ("the pads lie at the van", ERROR, "pad", {"kit/pad": {"count": 2, "at": "van"}}),
    ("a pad that is placed later is one too few", ERROR, "pad",
     {"kit/pad": 1, "job/technician": [{"place protection": "lip"}, {"cross edge": "lip"},
                                       {"descend": "8 m"}, {"work": "10 min"},
                                       {"ascend": "8 m"}, {"event": "back"}]}),
    ("a safety line's pad on the structure is not counted", ERROR, "pad",
     {"lines/technician/safety line/protect": PAD}),
    ("one piece of rope for both lines", SHARED, "one piece of store", {"kit/store": 1}),
    ("one sleeve for both lines", ERROR, "sleeve",
     {"lines/technician/protect": SLEEVE, "kit/pad": 1}),
)  # fmt: skip

FORCES = _family(
    "forces",
    ("hands pull more than they can", NO_RESCUE, "would pull", {"limits/hands": "100 N"}, "haul"),
    ("a haul without advantage", NO_RESCUE, "would pull",
     {"job/rescuer": [{"rest": "60 min"}, {"haul": {"height": "0.5 m", "person": "technician"}}],
      "job/technician": STAYS}, "haul"),
    ("the casualty is far heavier than planned", NO_RESCUE, "would pull",
     {"people/technician/mass": "190 kg"}, "haul"),
    ("a backup that slips below body weight", NO, "slips at less",
     {"lines/technician/safety line/backup": {"slips": "0.6 kN", "arrest": "0.5 m"}}),
    ("a toothed backup near the force that tears a sheath", ABOVE, "tear",
     {"lines/technician/safety line/backup": {"is": "toothed backup", "slips": "6 kN"}}),
    ("a rope that is too weak for a catch", NO, "store",
     {"ropes/store/strength": "4 kN"}),
    ("the rescuer's rope takes the weight of two over a broken edge", NO_RESCUE, "one pass",
     {"edges/lip": BROKEN}),
    ("a backup that arrests late", ABOVE, "drop",
     {"lines/technician/safety line/backup": {"slips": "4 kN", "arrest": "2.2 m"}}),
    ("a backup that may arrest late, at its careful end", ABOVE, "drop",
     {"lines/technician/safety line/backup": {
         "slips": "4 kN", "arrest": {"value": "0.5 m", "low": "0.1 m", "high": "3 m"}}}),
)  # fmt: skip

CLOCK = _family(
    "clocks",
    ("hangs longer than anybody may", LATE, "suspension", {"limits/suspension": "10 min"}),
    ("a jam longer than anybody may hang", LATE, "could go on",
     {"faults/jams": {"device jammed": "technician", "step": 3, "for": "46 min"}}),
    ("a device dropped that may be back too late", LATE, "could go on",
     {"faults/drops": {"device dropped": "technician", "step": 4, "for": "40 min +- 10 min"}}),
    ("reached too late", LATE, "reach", {"limits/reach": "2 min"}),
    ("released too late", LATE, "release", {"limits/release": "6 min"}),
    ("down too late", LATE, "ground", {"limits/ground": "8 min"}),
    ("taking over may last an hour", LATE, "release",
     {"times": {"take over": {"value": "3 min", "low": "1 min", "high": "60 min"}}}),
    ("the attendant looks once in an hour", LATE, "reach",
     {"detection": {"again": {"value": "60 min", "low": "60 min", "high": "60 min"}}}),
    ("reacts after a quarter of an hour", LATE, "reach",
     {"times": {"react": {"value": "15 min", "low": "10 min", "high": "30 min"}}}),
    ("a haul that takes for ever", LATE, "ground",
     {"job/rescuer": [{"rest": "60 min"},
                      {"haul": {"height": "0.5 m", "person": "technician",
                                "speed": "0.003 m/s", "advantage": 9}}],
      "job/technician": STAYS}, "haul"),
)  # fmt: skip

COMMON = _family(
    "shared",
    ("both lines on one pad", SHARED, "one pad",
     {"lines/technician/safety line/protect": PAD, "kit/pad": 3}),
    ("both lines over one place of the edge", SHARED, "apart",
     {"anchors/mid west/along": "0.2 m"}),
    ("one attendant for both lines", SHARED, "not independent",
     {"lines/technician/safety line/attendant": "edge attendant"}),
    ("a catch beside somebody who hangs on the same anchor", NO, "mid west",
     {"lines/rescuer/anchor": "mid west", "anchors/mid west/strength": "4.2 kN",
      "job/rescuer": DOWN}),
    ("the lines of two people on one pad", SHARED, "pad",
     {"anchors/mid west/along": "-0.8 m", "anchors/mid east/along": "0.2 m"}),
    ("a rescue over the pad that slipped", NO_RESCUE, "loaded bare",
     {"edges/lip": SHARP, "faults/slips": {"protection displaced": "lip", "at": "2 min"}}),
    ("the rescuer's line crosses the casualty's", SHARED, "crossing",
     {"anchors/mid east/along": "-3 m", "people/rescuer/along": "3 m"}),
)  # fmt: skip

MISHAPS = _family(
    "mishaps",
    ("knots in the rescuer's rope, to be passed", LATE, "ground",
     {"lines/rescuer/knots": ["12 m", "18 m", "24 m"], "limits/ground": "15 min"}),
    ("a knot in the casualty's line that no haul passes", NO_RESCUE, "knot",
     {"lines/technician/knots": ["8 m"]}, "haul"),
    ("a knot in the casualty's line that no lower passes", NO_RESCUE, "knot",
     {"lines/technician/knots": ["20 m"]}, "lower"),
    ("a jammed device, and nobody to come", NO_RESCUE, "nobody",
     {**ALONE, **UNWATCHED, "faults": {"jams": {"device jammed": "technician", "step": 4}}}),
    ("a dropped device, and nobody to come", NO_RESCUE, "nobody",
     {**ALONE, **UNWATCHED, "faults": {"drops": {"device dropped": "technician", "step": 4}}}),
    ("the rescuer's device is jammed", NO_RESCUE, "jammed",
     {"faults/jams": {"device jammed": "rescuer", "at": "1 min"}}),
    ("the rescuer has dropped a device", NO_RESCUE, "dropped",
     {"faults/drops": {"device dropped": "rescuer", "at": "1 min"}}),
    ("nobody hears who calls", NO_RESCUE, "hears",
     {**UNWATCHED, "faults/jams": {"device jammed": "technician", "step": 4},
      "faults/silent": "communication lost"}),
    ("who calls is heard after two hours", LATE, "reach",
     {**UNWATCHED, "faults/jams": {"device jammed": "technician", "step": 4},
      "faults/silent": {"communication lost": "2 h"}}),
    ("the rescuer hangs, and cannot be called", NO_RESCUE, "cannot be called",
     {"faults/silent": "communication lost",
      "job/technician": [*DOWN[:2], {"work": "10 min"}, {"event": "hurt"}, {"wait for": "over"}],
      "job/rescuer": [*DOWN[:1], {"work": "60 min"}, {"wait for": "hurt"}, {"descend": "8 m"},
                      {"take over": "technician"}, {"event": "over"}]}),
    ("a second casualty, one rescuer", NO_RESCUE, "is with",
     {**THIRD, "faults/also": {"casualty unresponsive": "third", "at": "5 min"},
      "job/third": [{"rest": "1 min"}, *DOWN]}),
    ("a second casualty, hauled after the first", LATE, "ground",
     {**THIRD, "faults/also": {"casualty unresponsive": "third", "at": "5 min"},
      "job/third": [{"rest": "1 min"}, *DOWN], "limits/ground": "18 min",
      "limits/suspension": "18 min"}, "haul"),
    ("the anchor goes after somebody has fainted on it", FALLS, "faints and a",
     {"setting": "alpine", "lines/technician/safety line": None, "kit/sleeve": 1,
      "job/rescuer": [{"rest": "60 min"}],
      "faults": {"faints": {"casualty unresponsive": "technician", "step": 3},
                 "a": {"anchor fails": "west", "at": "10 min"}}}),
    ("two casualties, two rescuers, one sling", NO_RESCUE, "no rescue sling left",
     {**THIRD, **_more("fourth", 5.6), "kit/pad": 4, "kit/sleeve": 4,
      "job/third": [{"rest": "1 min"}, *DOWN], "job/fourth": [{"wait for": "back"}],
      "faults/also": {"casualty unresponsive": "third", "at": "5 min"}}),
)  # fmt: skip

FLAWS: tuple[Flaw, ...] = (
    *NOBODY, *ROPE, *RESCUER, *END, *ANCHORS, *DEAD, *PATH, *KIT, *FORCES, *CLOCK, *COMMON,
    *MISHAPS,
)  # fmt: skip

NOT_CAUGHT: dict[str, str] = {}
"""Name of a flaw -> why nothing is held against it yet."""
