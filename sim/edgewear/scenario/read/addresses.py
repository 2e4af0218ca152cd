"""Addresses of inputs: `edges/coping/radius`, `options/*/over/1/after`; indices start at 1."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from typing import Any, NamedTuple

from edgewear.scenario.models.base import Factor, Up
from edgewear.scenario.models.faults import FAULTS, Triggered
from edgewear.scenario.models.gear import Edge, Obstacle, Rope
from edgewear.scenario.models.observations import Observation
from edgewear.scenario.models.people import Detection, Person, Technique, Times, WorkDefaults
from edgewear.scenario.models.places import LINE_KEYS, OPTION_KEYS, PERSON_KEYS, TOP_KEYS
from edgewear.scenario.models.scenario import Anchor, Limits, Line, Reaction
from edgewear.scenario.models.steps import STEPS, Step
from edgewear.scenario.models.wear import WearParameters
from edgewear.scenario.read.aliases import aliased
from edgewear.scenario.read.libraries import built_in
from edgewear.scenario.read.merging import EDGE_BY_EDGE
from edgewear.scenario.read.validate import keys_at, quantity_at
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.tree import Path_, address, child

_FAMILIES: dict[str, Any] = {
    "anchors": dict[str, Anchor],
    "edges": dict[str, Edge],
    "ropes": dict[str, Rope],
    "people": dict[str, Person],
    "wear": WearParameters,
    "times": Times,
    "work": WorkDefaults,
    "detection": Detection,
    "limits": Limits,
    "techniques": dict[str, Technique],
    "weather": dict[str, Factor],
    "below": dict[str, Up],
    "beside": dict[str, Obstacle],
    "when": dict[str, Reaction],
    "observed": tuple[Observation, ...],
}
_LIBRARY_WORDS = ("techniques", "weather")
"""Sections whose words are the library's, typed in the file or not."""
_WORD_KEYS = {"protect": "is", "bypass": "is", "backup": "is"}


class Match(NamedTuple):
    """Where an address leads in a file."""

    paths: tuple[Path_, ...]
    problem: str  # empty: it leads somewhere


def matching(data: Mapping[str, Any], pattern: str) -> Match:
    """Find the paths that an address stands for.

    Parameters:
        data: the file's text values.
        pattern: an address; `*` stands for every name or index.
    """
    parts = pattern.split("/")
    if found := aliased(data, parts, value_at):
        return Match(tuple(found), "")
    paths: list[Path_] = [()]
    for part in parts:
        found = []
        problems: list[str] = []
        for path in paths:
            steps, problem = _next(data, path, part)
            found += steps
            problems += [problem] if problem else []
        if not found:
            return Match((), problems[0] if problems else f"nothing is named {part!r}")
        paths = found
    return Match(tuple(paths), "")


def _next(data: Mapping[str, Any], path: Path_, part: str) -> tuple[list[Path_], str]:
    """Go one part further from a path, or say why not."""
    value = value_at(data, path)
    if part == "*":
        keys: list[Any] = list(value) if isinstance(value, Mapping) else []
        keys = list(range(len(value))) if isinstance(value, list) else keys
        return [(*path, key) for key in keys], "" if keys else f"nothing to choose from at {part!r}"
    if isinstance(value, list):
        if part.isascii() and part.isdigit() and 1 <= int(part) <= len(value):
            return [(*path, int(part) - 1)], ""
        return [], f"{part!r} is no number from 1 to {len(value)}"
    if isinstance(value, Mapping) and part in value:
        return [(*path, part)], ""
    if path in {(top,) for top in _LIBRARY_WORDS} and "library" in data:
        return [(*path, part)], ""  # a word of the user's own; reading it says if there is none
    allowed = allowed_keys(data, path)
    if part in allowed:
        return [(*path, part)], ""
    known = [*(value if isinstance(value, Mapping) else []), *allowed]
    hint = did_you_mean(part, list(dict.fromkeys(known)))
    return [], f"nothing is named {part!r}{' at ' + address(path) if path else ''}{hint}"


def value_at(data: Mapping[str, Any], path: Path_) -> Any:  # any part of the tree
    """Give the value at a path; an option falls back on what all options share."""
    said = [_plain(data, known) for known in _more_general(data, path)]
    said = [found for found in said if found is not None]
    if len(said) > 1 and path[-1] in EDGE_BY_EDGE:
        merged: dict[str, Any] = {}
        for found in reversed(said):
            merged |= found if isinstance(found, Mapping) else {}
        return {edge: word for edge, word in merged.items() if word != "none"}
    return said[0] if said else None


def _more_general(data: Mapping[str, Any], path: Path_) -> list[Path_]:
    """List the paths where a value of an option may be said, the nearest first."""
    if path[:1] != ("options",) or len(path) < 3:
        return [path]
    rest, people = path[2:], list(data.get("people", {}))
    person = people[0] if len(people) == 1 else None
    if rest[0] == "lines" and len(rest) > 2:
        person, rest = str(rest[1]), rest[2:]
    found = [path, (*path[:2], *rest)]
    if person is not None:
        found += [("lines", person, *rest), ("all options", "lines", person, *rest)]
    return [*found, ("all options", *rest)]


def _plain(data: object, path: Path_) -> Any:  # any part of the tree
    for part in path:
        _, data = child(data, part)
    return data


def allowed_keys(data: Mapping[str, Any], path: Path_) -> list[str]:
    """List the keys that may be typed at a path."""
    if not path:
        return list(TOP_KEYS)
    top, rest = path[0], path[1:]
    if top in _LIBRARY_WORDS and not rest:
        return list(built_in()[top])
    if top in _FAMILIES:
        return keys_at(_FAMILIES[top], rest)
    if top == "faults":
        return keys_at(_fault(data, rest), rest[1:]) if rest else []
    if top == "job":
        people = isinstance(data.get("job"), Mapping)
        steps = dict[str, tuple[Step, ...]] if people else tuple[Step, ...]
        return keys_at(steps, rest)
    if top == "options":
        return _option_keys(rest[1:], list(data.get("people", {}))) if rest else []
    if top == "all options":
        return _option_keys(rest, list(data.get("people", {})))
    return []


def quantity_due(path: Path_, data: Mapping[str, Any]) -> Quantity | None:
    """Give the kind of quantity that is typed at a path, if one is.

    Parameters:
        path: as found by `matching`.
        data: the file's text values.
    """
    top, rest = path[0], path[1:]
    if top in _FAMILIES:
        return quantity_at(_FAMILIES[top], rest) if rest else None
    if top == "faults":
        return _fault_quantity(_fault(data, rest), rest[1:])
    if top == "job":
        people = isinstance(data.get("job"), Mapping)
        steps = dict[str, tuple[Step, ...]] if people else tuple[Step, ...]
        return quantity_at(steps, rest) if rest else None
    if top == "options":
        return _option_quantity(rest[1:])
    if top in ("all options", "lines"):
        return _option_quantity(rest if top == "all options" else path)
    return None


def _fault_quantity(model: type[Triggered] | None, rest: Path_) -> Quantity | None:
    """Give the kind of quantity typed at a key of a fault; its word holds its first field."""
    if model is None or not rest:
        return None
    word = model.model_fields["fault"].default
    short = str(getattr(model, "short", ""))
    return quantity_at(model, (short,) if rest == (word,) else rest)


def _fault(data: Mapping[str, Any], rest: Path_) -> type[Triggered] | None:
    """Give what a fault that is typed may have; None where its word is not known."""
    typed = (data.get("faults") or {}).get(rest[0])
    if not isinstance(typed, Mapping):
        return None
    words = {model.model_fields["fault"].default: model for model in FAULTS}
    return next((m for word, m in words.items() if word in (*typed, typed.get("fault"))), None)


def _option_quantity(rest: Path_) -> Quantity | None:
    """Give the kind of quantity that is typed below an option, if one is."""
    rest = rest[2:] if rest[:1] == ("lines",) else rest
    rest = rest[1:] if rest[:1] == ("safety line",) else rest
    family = Person if rest[:1] in (("technique",), ("system",)) else Line
    return quantity_at(family, rest) if rest else None


def _option_keys(rest: Path_, people: list[str]) -> list[str]:
    """List the keys below an option."""
    if not rest:
        return list(OPTION_KEYS)
    if rest[0] == "lines":
        return _person_keys(rest[2:]) if len(rest) > 1 else people
    return _person_keys(rest)


def _person_keys(rest: Path_) -> list[str]:
    if not rest:
        return list(PERSON_KEYS)
    if rest[0] == "safety line":
        return _person_keys(rest[1:]) if len(rest) > 1 else list(LINE_KEYS)
    if rest[0] in ("technique", "system"):
        return keys_at(Person, rest)
    return keys_at(Line, rest)


def put(data: dict[str, Any], path: Path_, value: object) -> None:
    """Replace the value at a path, turning words on the way into keys with values.

    Parameters:
        data: the file's text values; changed in place.
        path: as found by `matching`.
        value: text as it would be typed, or a number in SI; a quantity may be a key with a value.
    """
    here: Any = data  # any part of the tree
    for i, part in enumerate(path[:-1]):
        inner = _child(here, part)
        if inner is None:
            inner = deepcopy(value_at(data, path[: i + 1]))
        if not isinstance(inner, dict | list):
            inner = _unfolded(inner, path[: i + 1])
        here[part] = inner
        here = inner
    words = {model.model_fields["fault"].default for model in FAULTS}
    if path[0] == "faults" and path[-1] in words and isinstance(value, Mapping):
        value = value["value"]  # keys below a fault's word would be keys of the fault
    here[path[-1]] = value


def _child(here: Any, part: str | int) -> Any:  # any part of the tree
    if isinstance(here, list):
        return here[int(part)]
    return here.get(part)


def _unfolded(word: object, path: Path_) -> dict[str, Any]:
    """Write a short spelling out: `jerky` -> `{like: jerky}`, `pad` -> `{is: pad}`."""
    if not isinstance(word, str) or not word:
        return {}
    if path[0] == "job":
        by_word = {model.model_fields["step"].default: model for model in STEPS}
        short = getattr(by_word.get(path[-1]), "short", "")
        return {short: word} if short else {}
    if path[0] == "when":
        return {"do": word}
    if path[-1] == "shift" and " every " in word:
        by, _, every = word.partition(" every ")
        return {"by": by, "every": every.split()[0]}
    key = next((own for part, own in _WORD_KEYS.items() if part in path), "like")
    return {key: word}
