"""Fields for everything that a scenario says or may say, from the schema of its files."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Any, NamedTuple

from edgewear.board.editing.splice import Value, written
from edgewear.scenario.read.addresses import value_at
from edgewear.scenario.read.merging import EDGE_BY_EDGE
from edgewear.scenario.text.tree import Path_, address, child

Schema = Mapping[str, Any]

NAMED = ("options", "anchors", "edges", "ropes", "people")
"""Sections of named things, in the order in which their fields stand."""

SCALARS = ("title", "setting", "target")
OTHERS = ("all options", "lines", "times", "work", "limits", "detection", "notes", "below",
          "beside", "when", "kit", "weather")  # fmt: skip
"""Sections whose entries are fields."""

FIRST = {
    "options": ("anchor", "rope", "re-anchor", "deviations", "protect", "high directional",
                "technique", "safety line"),
    "anchors": ("out", "along", "up", "kind", "strength", "is"),
    "edges": ("out", "along", "up", "is", "radius", "surface", "condition", "state"),
    "ropes": ("like", "length", "condition"),
    "people": ("mass", "technique", "system", "start"),
}  # fmt: skip
"""What is asked for even where nothing is typed; the rest is folded away."""


class Field(NamedTuple):
    """One thing that can be typed."""

    address: str
    label: str
    value: str  # as typed; empty: nothing is
    instead: str  # what holds where nothing is typed
    help: str
    words: tuple[str, ...]
    more: bool  # folded away

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return {**self._asdict(), "words": list(self.words)}


class Group(NamedTuple):
    """The fields of one named thing or one section."""

    section: str
    name: str  # empty: the section itself
    fields: tuple[Field, ...]

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        fields = [field.as_json() for field in self.fields]
        return {"section": self.section, "name": self.name, "fields": fields}


def groups(data: Mapping[str, Any]) -> list[Group]:
    """Give the fields of a file's values.

    Parameters:
        data: as typed.
    """
    found = [Group("scenario", "", tuple(_field(data, (key,), key) for key in SCALARS))]
    for section in NAMED:
        found += [
            Group(section, name, tuple(_of(data, (section, name), FIRST[section])))
            for name, said in _mapping(data.get(section)).items()
            if isinstance(said, dict)
        ]
    found += _job(data)
    for section in OTHERS:
        if isinstance(data.get(section), dict):
            found.append(Group(section, "", tuple(_of(data, (section,), ()))))
    return found


def _job(data: Mapping[str, Any]) -> Iterator[Group]:
    job = data.get("job")
    people = {"": job} if isinstance(job, list) else _mapping(job)
    for who, steps in people.items():
        path: Path_ = ("job", who) if who else ("job",)
        fields = [
            field for at, step in enumerate(steps) for field in _step(data, (*path, at), step)
        ]
        yield Group("job", who, tuple(fields))


def _step(data: Mapping[str, Any], path: Path_, step: Value) -> Iterator[Field]:
    number = f"{int(path[-1]) + 1}"
    if not isinstance(step, dict):
        yield _field(data, path, f"step {number}")
        return
    for key, said in step.items():
        if isinstance(said, dict):
            for inner in said:
                yield _field(data, (*path, key, inner), f"{number} {key}: {inner}")
        else:
            yield _field(data, (*path, key), f"{number} {key}")


def _mapping(found: object) -> Mapping[str, Any]:
    return found if isinstance(found, dict) else {}


def _of(data: Mapping[str, Any], path: Path_, first: Sequence[str]) -> Iterator[Field]:
    """Give the fields of a mapping: what it says, what is asked first, what it may say too."""
    said = _mapping(value_at(data, path))
    allowed = _keys(path)
    order = dict.fromkeys([*(k for k in first if k in allowed or k in said), *said, *allowed])
    for key in order:
        here = (*path, key)
        if key in EDGE_BY_EDGE and (key in said or key in first):
            for edge in _mapping(data.get("edges")):
                yield _field(data, (*here, edge), f"{key} {edge}")
        elif key == "safety line" and isinstance(said.get(key, {}), dict) and first:
            for inner in ("anchor", "rope"):
                yield _field(data, (*here, inner), f"{key}: {inner}")
            typed = _mapping(said.get(key))
            for inner in (one for one in typed if one not in ("anchor", "rope")):
                yield _field(data, (*here, inner), f"{key}: {inner}")
        elif key == "lines" and path[0] in ("options", "all options"):
            continue
        else:
            yield _field(data, here, key, more=key not in first and key not in said)


def _field(data: Mapping[str, Any], path: Path_, label: str, more: bool = False) -> Field:
    typed = _typed(data, path)
    instead = "" if typed is not None else value_at(data, path)
    told = _described(path)
    return Field(
        address(path),
        label,
        "" if typed is None else written(typed, False),
        written(instead, False) if instead else "",
        told.help,
        tuple(dict.fromkeys([*told.words, *_names(data, path)])),
        more,
    )


def _typed(data: Value, path: Path_) -> Value:
    for part in path:
        found, data = child(data, part)
        if not found:
            return None
    return data


_NAMED_BY = {
    "anchor": "anchors",
    "rope": "ropes",
    "high directional": "anchors",
    "attendant": "people",
}
"""Key -> section whose names it takes."""


def _names(data: Mapping[str, Any], path: Path_) -> list[str]:
    return list(_mapping(data.get(_NAMED_BY.get(str(path[-1]), ""))))


class _Told(NamedTuple):
    help: str
    words: tuple[str, ...]


@cache
def _schema() -> Schema:
    from edgewear.scenario.reference.schema import scenario_schema

    return scenario_schema()


@cache
def _described(path: Path_) -> _Told:
    """Say what a file's schema says of a place."""
    nodes = _at(path)
    helps = [str(node["description"]) for node in nodes if node.get("description")]
    flat = [one for node in nodes for one in _flat(node)]
    helps += [str(one["description"]) for one in flat if one.get("description")]
    words = [
        str(word)
        for one in flat
        for word in (*one.get("enum", ()), *([one["const"]] if "const" in one else []))
        if isinstance(word, str) and word not in ("true", "false")
    ]
    texts = [text for text in dict.fromkeys(helps) if text not in _ABOUT_MODELS]
    return _Told("; ".join(text.rstrip(".") for text in texts[:2]), tuple(dict.fromkeys(words)))


_ABOUT_MODELS = (
    "A value with the central 90 % of what it may be.",
    "None: the bends are given directly.",
)
"""Descriptions that say nothing of what is typed there."""


def _keys(path: Path_) -> list[str]:
    """List the keys that may be typed in a mapping."""
    flat = [one for node in _at(path) for one in _flat(node)]
    return list(dict.fromkeys(key for one in flat for key in one.get("properties", ())))


def _at(path: Path_) -> list[Schema]:
    nodes: list[Schema] = [_schema()]
    for part in path:
        nodes = [
            inner
            for node in nodes
            for one in _flat(node)
            if (inner := _inside(one, part)) is not None
        ]
    return nodes


def _inside(node: Schema, part: str | int) -> Schema | None:
    if isinstance(part, int):
        found = node.get("items")
        return found if isinstance(found, dict) else None
    properties = node.get("properties", {})
    if part in properties:
        return dict(properties[part])
    more = node.get("additionalProperties")
    return more if isinstance(more, dict) else None


def _flat(node: Schema) -> Iterator[Schema]:
    """Give a node and all that it may stand for."""
    if "$ref" in node:
        yield from _flat(_schema()["$defs"][str(node["$ref"]).rsplit("/", 1)[-1]])
        return
    yield node
    for one in node.get("anyOf", ()):
        yield from _flat(one)
