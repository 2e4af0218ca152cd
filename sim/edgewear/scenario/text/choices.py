"""Choosing a model by the word that is typed, for steps and for faults."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Any, NamedTuple

from pydantic import BaseModel

from edgewear.scenario.text.measured import shown


def did_you_mean(found: str, allowed: list[str]) -> str:
    """Suggest the allowed word nearest to what was typed; empty when none is near."""
    near = get_close_matches(found, allowed, n=1, cutoff=0.6)
    return f"; did you mean {near[0]!r}?" if near else ""


def word_field(model: type[BaseModel]) -> str:
    """Name the field that holds a step's or a fault's own word; empty for other models."""
    for name in ("fault", "observation", "step"):
        field = model.model_fields.get(name)
        if field is not None and isinstance(field.default, str):
            return name
    return ""


class Choices(NamedTuple):
    """A family of models, each chosen by a word: its spellings and how to tell them apart."""

    noun: str
    field: str  # the models' field that holds the word
    models: tuple[type[BaseModel], ...]

    def by_word(self) -> dict[str, type[BaseModel]]:
        """Map each word to its model."""
        return {model.model_fields[self.field].default: model for model in self.models}

    def tag(self, found: object) -> str:
        """Give the word of a normalised or finished entry."""
        if isinstance(found, dict):
            return str(found.get(self.field, ""))
        return str(getattr(found, self.field, ""))

    def normalise(self, found: object) -> object:
        """Bring every allowed spelling into one: the word among the other keys.

        `inspect`, `{descend: 18 m}` and `{descend: {height: 18 m}}` are all meant; keys beside
        the word belong to it: `{protection displaced: kerb, after: hanging}`.
        """
        words = self.by_word()
        if isinstance(found, tuple(self.models)):
            return found
        if isinstance(found, str):
            return self._from_word(found, words)
        if isinstance(found, dict):
            return self._from_keys(found, words)
        article = "an" if self.noun[0] in "aeiou" else "a"
        raise shown("choice", f"{article} {self.noun} is due, such as {_example(words)}")

    def _from_word(self, found: str, words: dict[str, type[BaseModel]]) -> object:
        if found in words:
            return {self.field: found}
        raise shown("choice", self._unknown(found, words))

    def _from_keys(self, found: dict[str, Any], words: dict[str, type[BaseModel]]) -> object:
        if found.get(self.field) in words:
            return found
        named = [key for key in found if key in words]
        if len(named) > 1:
            listed = " and ".join(repr(key) for key in named)
            raise shown("choice", f"{listed} in one entry: one {self.noun} an entry")
        if not named:
            unknown = self._unknown(next(iter(found), ""), words)
            raise shown("choice", unknown + self._bare(words))
        word = named[0]
        given, others = found[word], {k: v for k, v in found.items() if k != word}
        return {self.field: word, **self._own_keys(words[word], given), **others}

    def _own_keys(self, model: type[BaseModel], given: object) -> dict[str, Any]:
        if isinstance(given, dict):
            return {k: v for k, v in given.items() if k != self.field}
        if given in (None, ""):
            return {}
        short: str = getattr(model, "short", "")
        if not short:
            word = model.model_fields[self.field].default
            keys = ", ".join(str(f.alias or n) for n, f in model.model_fields.items())
            raise shown("choice", f"{word!r} has no short spelling: give its keys ({keys})")
        return {short: given}

    def _unknown(self, found: str, words: dict[str, type[BaseModel]]) -> str:
        listed = ", ".join(words)
        hint = did_you_mean(found, list(words))
        return f"unknown {self.noun} {found!r}: allowed are {listed}{hint}"

    def _bare(self, words: dict[str, type[BaseModel]]) -> str:
        """Say how a word without a value is typed beside other keys."""
        free = next((word for word, model in words.items() if _needs_no_value(model)), "")
        return f"; a word without a value of its own: {{{self.field}: {free}, ...}}" if free else ""


def _needs_no_value(model: type[BaseModel]) -> bool:
    short = getattr(model, "short", "")
    fields = {str(field.alias or name): field for name, field in model.model_fields.items()}
    return short in fields and not any(field.is_required() for field in fields.values())


def _example(words: dict[str, type[BaseModel]]) -> str:
    return repr(next(iter(words), ""))
