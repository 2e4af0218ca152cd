"""Building a model from typed text, with every problem at its place and in plain words."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import UnionType
from typing import Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from edgewear.scenario.models.base import Closed
from edgewear.scenario.models.places import where_else, where_instead
from edgewear.scenario.text.choices import did_you_mean, word_field
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.tree import Path_

Place = Callable[[tuple[str | int, ...]], Path_]
"""Turns where a model found a problem into where it was typed."""

Report = Callable[[Path_, str, bool], None]
"""Notes a problem at a path; the flag says that the key itself is meant."""

M = TypeVar("M", bound=BaseModel)


class Validator:
    """Builds models under one context and hands problems on."""

    def __init__(self, context: Mapping[str, Any], report: Report) -> None:
        """Remember what all models need."""
        self._context = dict(context)
        self._report = report

    def model(self, model: type[M], found: object, place: Place | Path_) -> M | None:
        """Build a model; None after problems, which have then been reported.

        Parameters:
            model: what is due.
            found: the text values.
            place: path of `found` in the file, or how to find the path of each part.
        """
        where = place if callable(place) else _below(place)
        try:
            return model.model_validate(found, context=self._context, by_alias=True, by_name=False)
        except ValidationError as error:
            self._tell(error, where, model)
        return None

    def any(
        self, adapter: TypeAdapter[Any], family: object, found: object, path: Path_
    ) -> Any:  # what the adapter makes of it
        """Build whatever an adapter reads, a step or a fault."""
        try:
            return adapter.validate_python(
                found, context=self._context, by_alias=True, by_name=False
            )
        except ValidationError as error:
            self._tell(error, _beside(path, found), family)
        return None

    def _tell(self, error: ValidationError, place: Place, family: object) -> None:
        details = error.errors()
        for detail in details:
            loc = detail["loc"]
            inner = [d for d in details if d["loc"][: len(loc)] == loc != d["loc"]]
            if detail["type"] == "too_short" and inner:
                continue  # the entries were there, but could not be built
            if detail["type"] == "missing":
                self._report(place(loc[:-1]), _message(detail, family), False)
                continue
            at = detail.get("ctx", {}).get("at")
            loc = (*loc, at) if at else loc
            is_key = detail["type"] == "extra_forbidden"
            message = _message(detail, family)
            if not loc and detail["type"] in _NO_KEYS:  # a key that was taken for a name
                message += where_instead(str(place(())[-1]))
            self._report(place(loc), message, is_key)


def _beside(path: Path_, found: object) -> Place:
    """Place the parts of a step or fault whose keys stand beside its word."""

    def place(loc: tuple[str | int, ...]) -> Path_:
        if len(loc) > 1 and isinstance(found, dict) and loc[1] in found:
            return (*path, *loc[1:])
        return (*path, *loc)

    return place


def _below(path: Path_) -> Place:
    return lambda loc: (*path, *loc)


def _message(detail: ErrorDetails, family: object) -> str:
    """Say a problem in plain words."""
    kind, found = detail["type"], detail.get("input")
    loc = detail["loc"]
    context = detail.get("ctx", {})
    if kind == "edgewear":
        return str(context["message"])
    if kind == "missing":
        return f"{loc[-1]!r} is missing"
    if kind == "extra_forbidden":
        return unknown_key(str(loc[-1]), keys_at(family, loc[:-1]))
    if kind in ("literal_error", "enum"):
        allowed = str(context["expected"]).replace("'", "").replace(" or ", ", ")
        hint = did_you_mean(str(found), allowed.split(", "))
        return f"{_spelled(found)}: allowed are {allowed}{hint}"
    due = _DUE.get(kind)
    if due:
        return f"{due} is due, not {_spelled(found)}"
    return f"{_spelled(found)}: {detail['msg'][0].lower()}{detail['msg'][1:]}"


_NO_KEYS = ("dict_type", "mapping_type", "model_type", "model_attributes_type")

_DUE = {
    "string_type": "a text",
    "dict_type": "a set of keys with values",
    "mapping_type": "a set of keys with values",
    "model_type": "a set of keys with values",
    "model_attributes_type": "a set of keys with values",
    "list_type": "a list",
    "tuple_type": "a list",
}


def _spelled(found: object) -> str:
    """Show what was found without pouring out a whole block."""
    if isinstance(found, dict):
        return "keys with values"
    if isinstance(found, list | tuple):
        return "a list"
    return repr(found)


def unknown_key(found: str, allowed: Sequence[str]) -> str:
    """Say that a key may not stand where it was typed, what may, and where it belongs."""
    listed = f": allowed are {', '.join(allowed)}" if allowed else ""
    return f"unknown key {found!r}{listed}{where_else(found)}{did_you_mean(found, list(allowed))}"


def keys_of(model: type[BaseModel]) -> list[str]:
    """List the keys that people type for a model."""
    hidden = word_field(model)
    return [f.alias or name for name, f in model.model_fields.items() if name != hidden]


def keys_at(family: object, loc: tuple[str | int, ...]) -> list[str]:
    """List the keys allowed at a place inside a model, by walking its annotations."""
    here: list[Any] = [family]
    for part in loc:
        here = [inner for one in here for inner in _inside(one, part)]
    models = [m for one in here for m in _models(one)]
    return keys_of(models[0]) if len(models) == 1 else []


def quantity_at(family: object, loc: tuple[str | int, ...]) -> Quantity | None:
    """Give the kind of quantity that is typed at a place inside a model, if one is."""
    here: list[Any] = [family]
    for part in loc[:-1]:
        here = [inner for one in here for inner in _inside(one, part)]
    for model in (m for one in here for m in _models(one)):
        for name, field in model.model_fields.items():
            if loc[-1] in (field.alias, name):
                return quantity_of(field)
    named = [get_args(one)[-1] for one in here if get_origin(one) is dict]
    held = [m for one in named for m in getattr(one, "__metadata__", ())]
    return next((m for m in held if isinstance(m, Quantity)), None)


def quantity_of(field: FieldInfo) -> Quantity | None:
    """Give the kind of quantity that a field holds, if it holds one."""
    inner = [m for part in get_args(field.annotation) for m in getattr(part, "__metadata__", ())]
    return next((m for m in [*field.metadata, *inner] if isinstance(m, Quantity)), None)


def _inside(annotation: object, part: str | int) -> list[Any]:
    """Give what stands at one part of a place below an annotation."""
    found: list[Any] = []
    for model in _models(annotation):
        model.model_rebuild()  # a step inside a step is named before it is defined
        for name, field in model.model_fields.items():
            if part in (field.alias, name):
                found.append(field.annotation)
        word = word_field(model)
        if word and part == model.model_fields[word].default:
            found.append(model)
    if not found and get_origin(annotation) in (dict, tuple, list):
        found.append(get_args(annotation)[-1 if get_origin(annotation) is dict else 0])
    if not found and isinstance(part, int):
        found.append(annotation)
    return found


def _models(annotation: object) -> list[type[Closed]]:
    """List the models that an annotation allows."""
    if isinstance(annotation, type) and issubclass(annotation, Closed):
        return [annotation]
    if get_origin(annotation) in (Union, UnionType):
        return [m for arg in get_args(annotation) for m in _models(arg)]
    if hasattr(annotation, "__metadata__"):
        return _models(get_args(annotation)[0])
    return []
