"""A frozen forecast and what came out of its test: two small files that are never written again.

Both are YAML. Their last line, `seal`, is the sha256 of everything above it, spaces and comments
aside; what came out carries the seal of its forecast too. Who changes a figure later breaks the
seal. Somebody who makes up a whole file with a seal of its own is seen only by those who were given
the seal before the test: send it to them.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from math import inf
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.door import write_whole
from edgewear.errors import Mismatch, Problem, ScenarioError
from edgewear.forecasts.quantities import LOOKED_FOR, Seen
from edgewear.percentiles import between

Floats = NDArray[np.float64]

FORECAST, SEEN = ".forecast.yaml", ".seen.yaml"
NEVER = "never"
ONCE = "is there already; a forecast and what came out are written once"
PERCENTS = (5, 25, 50, 75, 95)


@dataclass(frozen=True)
class Frozen:
    """What was forecast of a test before it was made."""

    name: str
    frozen: str  # date and time, UTC
    version: str  # of edgewear
    model: int
    scenario: str  # name of the file
    scenario_sha256: str
    library_sha256: str
    changes: tuple[str, ...]  # set beside the file, as typed
    option: str
    looked_for: str
    until: float  # how far the job goes, in SI; infinite: it has no end
    seed: int
    discrepancy: tuple[float, float, float]  # value, low, high of the library's
    draws: Floats  # (n,), rising, SI; infinite: never
    factors: Floats  # (k,) of the exposure
    at_factors: Floats  # (worlds, k): the figure at each factor
    seal: str = ""

    def body(self) -> dict[str, Any]:
        """All but the seal, as it is written."""
        levels = {f"p{p}": _text(between(self.draws, p / 100)) for p in PERCENTS}
        return {
            "edgewear forecast": "1",
            "name": self.name,
            "frozen": self.frozen,
            "version": self.version,
            "model": str(self.model),
            "scenario": {"file": self.scenario, "sha256": self.scenario_sha256},
            "library": {"sha256": self.library_sha256},
            "changes": list(self.changes),
            "option": self.option,
            "looked for": self.looked_for,
            "until": _text(self.until),
            "seed": str(self.seed),
            "discrepancy": [_text(one) for one in self.discrepancy],
            "percentiles": levels,
            "draws": [_text(one) for one in self.draws],
            "factors": [_text(one) for one in self.factors],
            "at factors": [[_text(one) for one in row] for row in self.at_factors],
        }

    @property
    def day(self) -> str:
        """The day it was frozen on."""
        return self.frozen[:10]


@dataclass(frozen=True)
class CameOut:
    """What came out of a test whose forecast was frozen."""

    seen: Seen
    typed: str
    on: str  # the day, as 2026-05-31
    note: str
    forecast: str  # seal of the forecast
    seal: str = ""
    rope: str = ""  # which it was, where several were tested alike on one day; "": not said

    def body(self) -> dict[str, Any]:
        """All but the seal, as it is written."""
        return {
            "edgewear test": "1",
            "forecast": self.forecast,
            "on": self.on,
            "typed": self.typed,
            "seen": [_text(self.seen.low), _text(self.seen.high)],
            "note": self.note,
            **({"rope": self.rope} if self.rope else {}),
        }


def seal_of(body: Mapping[str, Any]) -> str:
    """Give the sha256 of a file's content, whatever its spaces and comments."""
    kept = {key: value for key, value in body.items() if key != "seal"}
    text = json.dumps(kept, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return sha256(text.encode()).hexdigest()


def write_once(path: Path, body: Mapping[str, Any]) -> str:
    """Write a file that is not there yet, and give its seal.

    Raises:
        CannotCreate: it is there already, or nothing can be written there.
        CannotWrite: writing broke off; nothing is there.
    """
    seal = seal_of(body)
    lines = [f"{_word(key)}: {_flow(value)}" for key, value in {**body, "seal": seal}.items()]
    text = "\n".join(lines) + "\n"
    write_whole(path.parent, path.name, lambda stream: stream.write(text.encode()), once=ONCE)
    return seal


def read_frozen(path: Path) -> Frozen:
    """Read a frozen forecast.

    Raises:
        ScenarioError: it is no forecast; with line and column.
        Mismatch: it was changed after it was written.
    """
    data = _sealed(path, "edgewear forecast")
    try:
        found = Frozen(
            name=_words(data["name"]),
            frozen=_words(data["frozen"]),
            version=_words(data["version"]),
            model=int(data["model"]),
            scenario=_words(data["scenario"]["file"]),
            scenario_sha256=data["scenario"]["sha256"],
            library_sha256=data["library"]["sha256"],
            changes=tuple(map(_words, data["changes"])),
            option=_words(data["option"]),
            looked_for=_words(data["looked for"]),
            until=_number(data["until"]),
            seed=int(data["seed"]),
            discrepancy=_three(data["discrepancy"]),
            draws=_numbers(data["draws"]),
            factors=_numbers(data["factors"]),
            at_factors=np.array([_numbers(row) for row in data["at factors"]]),
            seal=data["seal"],
        )
    except (KeyError, TypeError, ValueError) as error:
        raise ScenarioError([Problem(str(path), 1, 1, "", f"no forecast: {error}")]) from error
    if found.looked_for not in LOOKED_FOR:
        message = f"{found.looked_for!r} is nothing a test looks for"
        raise ScenarioError([Problem(str(path), 1, 1, "looked for", message)])
    return found


def read_came_out(path: Path) -> CameOut:
    """Read what came out of a test.

    Raises:
        ScenarioError: it is no such file; with line and column.
        Mismatch: it was changed after it was written.
    """
    data = _sealed(path, "edgewear test")
    try:
        low, high = (_number(one) for one in data["seen"])
        told = {key: _words(data[key]) for key in ("typed", "on", "note", "forecast", "seal")}
        return CameOut(
            seen=Seen(low, high),
            rope=_words(data.get("rope", "")),  # files of before have none
            **told,
        )
    except (KeyError, TypeError, ValueError) as error:
        raise ScenarioError([Problem(str(path), 1, 1, "", f"no outcome: {error}")]) from error


def _sealed(path: Path, kind: str) -> dict[str, Any]:
    """Read a file whose seal holds."""
    from edgewear.scenario.text.tree import read_tree

    tree = read_tree(path)
    if tree.problems:
        raise ScenarioError(tree.problems)
    data: dict[str, Any] = tree.data
    if data.get(kind) != "1":
        raise ScenarioError([Problem(str(path), 1, 1, "", f"`{kind}: 1` is due on the first line")])
    if data.get("seal") != seal_of(data):
        raise Mismatch(f"{path}: the seal is broken: something was changed after it was written")
    return data


def _text(value: float) -> str:
    return NEVER if value == inf else f"{value:.6g}"


def _words(value: object) -> str:
    """Give a text of the file, and nothing else.

    Raises:
        TypeError: it is a list or a mapping.
    """
    if not isinstance(value, str):
        raise TypeError("words are due where a list or keys with values stand")
    return value


def _number(text: str) -> float:
    return inf if text == NEVER else float(text)


def _numbers(texts: list[str]) -> Floats:
    return np.array([_number(one) for one in texts])


def _three(texts: list[str]) -> tuple[float, float, float]:
    value, low, high = (_number(one) for one in texts)
    return value, low, high


def _word(value: str) -> str:
    plain = value.replace(" ", "").replace(".", "").isalnum() and value.isascii()
    return value if plain and value else json.dumps(value, ensure_ascii=False)


def _flow(value: object) -> str:
    """Write a value on one line, lists and mappings in brackets."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_word(str(k))}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return _word(str(value))
