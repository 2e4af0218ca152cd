"""Where each key of a scenario is typed, so that one in a wrong place is told where it belongs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache

from pydantic import BaseModel

from edgewear.scenario.models.faults import FAULTS
from edgewear.scenario.models.gear import (
    Backup,
    Edge,
    Obstacle,
    Protection,
    Rope,
    Sheath,
    Sling,
    Surface,
    Worn,
)
from edgewear.scenario.models.kit import Lying
from edgewear.scenario.models.observations import OBSERVATIONS
from edgewear.scenario.models.people import (
    Detection,
    Person,
    System,
    Technique,
    Times,
    WorkDefaults,
)
from edgewear.scenario.models.scenario import (
    Anchor,
    Deviation,
    Limits,
    Pass,
    Reaction,
    Shift,
)
from edgewear.scenario.models.steps import STEPS
from edgewear.scenario.models.study import Sample, Study
from edgewear.scenario.models.wear import WearParameters

TOP_KEYS = (
    "edgewear",
    "title",
    "setting",
    "target",
    "library",
    "anchors",
    "edges",
    "ropes",
    "people",
    "kit",
    "all options",
    "lines",
    "options",
    "job",
    "faults",
    "when",
    "study",
    "observed",
    "limits",
    "below",
    "beside",
    "wear",
    "times",
    "work",
    "techniques",
    "weather",
    "detection",
    "notes",
)
"""Every key at the top of a scenario."""

LINE_KEYS = (
    "anchor",
    "rope",
    "over",
    "protect",
    "re-anchor",
    "deviations",
    "high directional",
    "bypass",
    "shift",
    "backup",
    "attendant",
    "turned",
    "tail",
    "knots",
    "slack",
)
"""What can be said of one line."""

PERSON_KEYS = (*LINE_KEYS, "safety line")
"""What can be said of a person's lines."""

OPTION_KEYS = (
    *PERSON_KEYS,
    "lines",
    "technique",
    "system",
    "why not higher",
    "both lines loaded",
)
"""What can be said of an option."""

NOTES = ("author", "checker", "revision", "survey date")
"""What may be noted of the document."""

ANCHOR_BY_LEGS, EDGE_BY_LEGS = ("legs", "tied"), ("tied",)
"""What is said of legs, from an anchor over edges, and is gone once they are laid out."""

OF_AN_OPTION = tuple(key for key in OPTION_KEYS if key not in LINE_KEYS)

FEW = 3
"""A key that belongs to more places than this is told none of them."""

_HELD: tuple[tuple[str, type[BaseModel]], ...] = (
    ("to an anchor (in `anchors`)", Anchor),
    ("to an edge (in `edges`)", Edge),
    ("to the `surface` of an edge", Surface),
    ("to a rope (in `ropes`)", Rope),
    ("to the `sheath` of a rope", Sheath),
    ("to a part in `worn` of a rope", Worn),
    ("to a person (in `people`)", Person),
    ("to a technique (in `techniques`)", Technique),
    ("to the `system` of a person", System),
    ("to pieces in `kit`", Lying),
    ("to an entry of `over` of a line", Pass),
    ("to protection (in `protect` of a line)", Protection),
    ("to a sling (in `bypass` of a line)", Sling),
    ("to an entry of `deviations` of a line", Deviation),
    ("to `backup` of a safety line", Backup),
    ("to `shift` of a line", Shift),
    ("to a reaction (in `when`)", Reaction),
    ("to `limits`", Limits),
    ("to `study`", Study),
    ("to `sample` of `study`", Sample),
    ("to an obstacle (in `beside`)", Obstacle),
    ("to `wear`", WearParameters),
    ("to `times`", Times),
    ("to `work`", WorkDefaults),
    ("to `detection`", Detection),
)
_CHOSEN: tuple[tuple[str, str, tuple[type[BaseModel], ...]], ...] = (
    ("to the step {} of `job`", "step", STEPS),
    ("to the fault {} (in `faults`)", "fault", FAULTS),
    ("to the reading {} (in `observed`)", "observation", OBSERVATIONS),
)
_NOT_TYPED = ("name", "step", "fault", "observation", "is", "like")
"""Keys that no model's people type, and words that stand in most places."""


def where_else(key: str, few: int = FEW) -> str:
    """Say where a key belongs that may not stand where it was typed; empty: nowhere, or anywhere.

    Parameters: `few`: so many places are told at most.
    """
    homes = _homes().get(key, ())
    return f"; {key!r} belongs {' or '.join(homes)}" if 0 < len(homes) <= few else ""


def where_instead(name: str) -> str:
    """Say where a key belongs that was taken for somebody's name of a thing.

    What stands in more than two places is as likely a name: a rope called rope.
    """
    return where_else(name, few=2)


@lru_cache(1)
def _homes() -> dict[str, tuple[str, ...]]:
    """Key -> every place where it is typed, in words."""
    found: dict[str, dict[str, None]] = {}
    for place, keys in _places():
        for key in keys:
            if key not in _NOT_TYPED:
                found.setdefault(key, {})[place] = None
    return {key: tuple(places) for key, places in found.items()}


def _places() -> Iterator[tuple[str, Iterable[str]]]:
    yield "at the top of the scenario", TOP_KEYS
    yield "to a line (in `options`, `all options` or `lines`)", LINE_KEYS
    yield "to an option (in `options` or `all options`)", OF_AN_OPTION
    yield "to `notes`", NOTES
    yield "to an anchor (in `anchors`)", ANCHOR_BY_LEGS
    yield "to an edge (in `edges`)", EDGE_BY_LEGS
    for place, model in _HELD:
        yield place, _typed(model)
    for place, field, models in _CHOSEN:
        by_key: dict[str, list[str]] = {}
        for model in models:
            for key in _typed(model):
                by_key.setdefault(key, []).append(repr(model.model_fields[field].default))
        for key, words in by_key.items():
            named = " or ".join(words) if len(words) <= FEW else f"{words[0]} and others"
            yield place.format(named), [key]


def _typed(model: type[BaseModel]) -> list[str]:
    return [field.alias or name for name, field in model.model_fields.items()]
