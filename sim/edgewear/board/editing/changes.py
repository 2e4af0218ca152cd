"""What the page may ask to change, and what becomes of the file's values."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import deepcopy
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StrictInt, StrictStr

from edgewear.board.editing.retyped import deeper, moved
from edgewear.board.editing.splice import Value
from edgewear.board.editing.tied import shift
from edgewear.errors import ScenarioError, UsageError
from edgewear.scenario.read.addresses import matching, put, quantity_due
from edgewear.scenario.text.tree import Path_, parse_tree

Address = Annotated[StrictStr, Field(min_length=1, max_length=500, pattern=r"^[^*\x00-\x1f]+$")]
Name = Annotated[StrictStr, Field(min_length=1, max_length=120, pattern=r"^[^/*\x00-\x1f]+$")]
Typed = Annotated[StrictStr, Field(max_length=4000, pattern=r"^[^\x00-\x1f\x7f]*$")]
Metres = Annotated[float, Field(strict=True, ge=-10_000.0, le=10_000.0, allow_inf_nan=False)]
Section = Literal["anchors", "edges", "ropes", "people", "options"]


class Message(BaseModel):
    """Something a page sends: these keys and no others."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Set(Message):
    """Type a value at an address; an empty one takes away what was typed there."""

    do: Literal["set"]
    address: Address
    value: Typed


class Copy(Message):
    """Add a named thing like one that is there, right behind it."""

    do: Literal["copy"]
    section: Section
    name: Name
    to: Name


class Remove(Message):
    """Take a named thing away."""

    do: Literal["remove"]
    section: Section
    name: Name


class Rename(Message):
    """Give a thing another name; refused where something else names it."""

    do: Literal["rename"]
    section: Section
    name: Name
    to: Name


class Move(Message):
    """Drag an anchor or an edge to another place [m]; what is left out stays."""

    do: Literal["move"]
    section: Literal["anchors", "edges"]
    name: Name
    out: Metres | None = None
    along: Metres | None = None
    up: Metres | None = None


class Shift(Message):
    """Drag what legs or two points place, by so much [m]; what is left out stays."""

    do: Literal["shift"]
    section: Literal["anchors", "edges"]
    name: Name
    out: Metres = 0.0
    along: Metres = 0.0
    up: Metres = 0.0


class Deepen(Message):
    """Drag somebody's lowest place [m]; their longest ways down and up follow."""

    do: Literal["deepen"]
    name: Name
    by: Metres


class Insert(Message):
    """Put an entry into a list, such as a step into the job."""

    do: Literal["insert"]
    address: Address
    at: Annotated[StrictInt, Field(ge=1, le=1000)]
    value: Typed


Change = Annotated[
    Set | Copy | Remove | Rename | Move | Shift | Deepen | Insert, Field(discriminator="do")
]


class Changes(Message):
    """Some changes that are made together or not at all, of the text with a number."""

    revision: Annotated[StrictInt, Field(ge=0)]
    changes: Annotated[list[Change], Field(min_length=1, max_length=40)]


class Look(Message):
    """Changes that are only looked at: what would be drawn and what would come out."""

    changes: Annotated[list[Change], Field(max_length=40)]
    option: Name
    hold: Annotated[bool, Field(strict=True)]
    ask: Annotated[StrictInt, Field(ge=0)]


class HowFar(Message):
    """How far something may be moved along one axis before an option misses the target."""

    option: Name
    section: Literal["anchors", "edges"]
    name: Name
    axis: Literal["out", "along", "up"]


class Asked(Message):
    """Something that needs no values: undo, redo, save, take the file's, put mine on top."""

    revision: Annotated[StrictInt, Field(ge=0)]


def changed(data: dict[str, Any], changes: Sequence[Change]) -> dict[str, Any]:
    """Give a file's values with some changes made.

    Parameters:
        data: as read; left as it is.
        changes: in order.

    Raises:
        UsageError: a change that leads nowhere.
    """
    whole = deepcopy(data)
    for change in changes:
        _MADE[type(change)](whole, change)
    return whole


def _set(data: dict[str, Any], change: Set) -> None:
    match = matching(data, change.address)
    if match.problem:
        raise UsageError(f"{change.address}: leads nowhere: {match.problem}")
    (path,) = match.paths
    if change.value.strip():
        put(data, path, structure(change.value.strip()))
    else:
        _take_away(data, path)


def structure(typed: str) -> Value:
    """Read a value typed in a field: in braces or brackets it is a mapping or a list.

    Raises:
        UsageError: braces or brackets that do not close, or no plain values in them.
    """
    if typed[:1] not in ("{", "["):
        return typed
    try:
        tree = parse_tree(f"value: {typed}", "field")
    except ScenarioError as error:
        raise UsageError(f"{typed!r}: the braces or brackets do not close") from error
    if tree.problems or set(tree.data) != {"value"}:
        told = tree.problems[0].message if tree.problems else "one value is due"
        raise UsageError(f"{typed!r}: {told}")
    return tree.data["value"]


def _take_away(data: dict[str, Any], path: Path_) -> None:
    """Remove what was typed at a path, and what is then empty around it."""
    here: Value = data
    for part in path[:-1]:
        here = here.get(part) if isinstance(here, dict) else _item(here, part)
    last = path[-1]
    in_list = isinstance(here, list) and isinstance(last, int)
    if not in_list and not (isinstance(here, dict) and last in here):
        return
    del here[last]
    if not here and len(path) > 2:
        _take_away(data, path[:-1])


def _item(here: Value, part: str | int) -> Value:
    return here[part] if isinstance(here, list) and isinstance(part, int) else None


def _named(data: dict[str, Any], section: str, name: str) -> dict[str, Any]:
    found = data.get(section)
    if not isinstance(found, dict) or name not in found:
        raise UsageError(f"{section}: nothing is called {name!r}")
    return found


def _copy(data: dict[str, Any], change: Copy) -> None:
    found = _named(data, change.section, change.name)
    _free(found, change.section, change.to)
    items = list(found.items())
    at = list(found).index(change.name) + 1
    items.insert(at, (change.to, deepcopy(found[change.name])))
    found.clear()
    found.update(items)


def _free(found: dict[str, Any], section: str, name: str) -> None:
    if name in found:
        raise UsageError(f"{section}: there is a {name!r} already")
    if name != name.strip():
        raise UsageError(f"{section}: {name!r} begins or ends with a blank")


def _remove(data: dict[str, Any], change: Remove) -> None:
    found = _named(data, change.section, change.name)
    if len(found) == 1:
        raise UsageError(f"{change.section}: {change.name!r} is the only one")
    del found[change.name]


def _rename(data: dict[str, Any], change: Rename) -> None:
    found = _named(data, change.section, change.name)
    _free(found, change.section, change.to)
    items = [(change.to if key == change.name else key, value) for key, value in found.items()]
    found.clear()
    found.update(items)


def _move(data: dict[str, Any], change: Move) -> None:
    found = _named(data, change.section, change.name)
    if not isinstance(found[change.name], dict) or not {"out", "up"} <= set(found[change.name]):
        raise UsageError(f"{change.section}/{change.name}: has no place of its own to drag")
    item = found[change.name]
    for axis in ("out", "along", "up"):
        wanted_m = getattr(change, axis)
        quantity = quantity_due((change.section, change.name, axis), data)
        if wanted_m is not None and quantity is not None:
            item[axis] = moved(item.get(axis), wanted_m, quantity)


def _shift(data: dict[str, Any], change: Shift) -> None:
    _named(data, change.section, change.name)
    shift(data, (change.section, change.name), (change.out, change.along, change.up))


def _deepen(data: dict[str, Any], change: Deepen) -> None:
    job = data.get("job")
    steps = job.get(change.name) if isinstance(job, dict) else job
    if not isinstance(steps, list):
        raise UsageError(f"job: nothing is said of {change.name!r}")
    deeper(steps, change.by)


def _insert(data: dict[str, Any], change: Insert) -> None:
    match = matching(data, change.address)
    found: Value = data
    for part in match.paths[0] if match.paths else ():
        found = found.get(part) if isinstance(found, dict) else _item(found, part)
    if match.problem or not isinstance(found, list) or not change.value.strip():
        raise UsageError(f"{change.address}: a list and an entry for it are due")
    found.insert(change.at - 1, structure(change.value.strip()))


_MADE: dict[type, Callable[[dict[str, Any], Any], None]] = {
    Set: _set,
    Copy: _copy,
    Remove: _remove,
    Rename: _rename,
    Move: _move,
    Shift: _shift,
    Deepen: _deepen,
    Insert: _insert,
}
