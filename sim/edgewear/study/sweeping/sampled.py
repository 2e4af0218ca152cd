"""What a sample draws in every option and with every word that a lever types in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from typing import TYPE_CHECKING, Any

from edgewear.errors import RunFailed, ScenarioError
from edgewear.study.compare import drawn
from edgewear.study.sweeping.levers import Lever, may_change_course, moves_numbers_alone
from edgewear.study.sweeping.sweep_plan import Rigging, Table
from edgewear.study.sweeping.values import places

if TYPE_CHECKING:
    from edgewear.case import Uncertainty
    from edgewear.scenario.models.study import Study as Declared
    from edgewear.study.model import ScenarioModel, Typed

Sampled = Mapping[Rigging, tuple["Uncertainty", ...]]


def sampled_in(
    model: ScenarioModel,
    declared: Declared,
    options: Sequence[str],
    levers: Sequence[Lever],
    table: Table | None,
) -> Sampled:
    """What the sample varies wherever words differ: another rope brings its own numbers.

    Parameters:
        model: the scenario, with its levers.
        declared: the study.
        options: that are run.
        levers: of grid and table.
        table: of the study, if it has one.
    """
    chosen = _Chosen(model, declared, levers)
    return {rigging: chosen.in_(rigging) for rigging in _riggings(options, levers, table)}


def _riggings(
    options: Sequence[str], levers: Sequence[Lever], table: Table | None
) -> Iterator[Rigging]:
    """Every option with every combination of words that a plan may have."""
    own = table.levers if table is not None else ()
    grid = [lever for lever in levers if lever not in own and _is_words(lever)]
    ways = [[(lever.address, str(value)) for value in lever.values] for lever in grid]
    for gridded in product(*ways):
        for option, typed in _in_table(options, table):
            yield option, (*gridded, *typed)


def _is_words(lever: Lever) -> bool:
    return lever.structural and lever.dtype == "str"


def _in_table(
    options: Sequence[str], table: Table | None
) -> list[tuple[str, tuple[tuple[str, str], ...]]]:
    """Different words in the rows of a table; every option where it has none."""
    if table is None:
        return [(option, ()) for option in options]
    pairs = [
        (lever.address, column.tolist())
        for lever, column in zip(table.levers, table.columns, strict=True)
        if _is_words(lever)
    ]
    found: dict[tuple[str, tuple[tuple[str, str], ...]], None] = {}
    for row in range(table.rows):
        words = tuple((name, column[row]) for name, column in pairs if column[row] != "")
        here = options if table.options is None else [table.options[row]]
        found |= dict.fromkeys((option, words) for option in here)
        if not pairs and table.options is None:
            break
    return list(found)


class _Chosen:
    """Chooses what a sample varies: its groups and addresses, less what a lever sets."""

    def __init__(self, model: ScenarioModel, declared: Declared, levers: Sequence[Lever]) -> None:
        self.model, self.sample = model, declared.sample
        numbers = [lever for lever in levers if lever.structural and lever.dtype == "float64"]
        self.typed: Typed = tuple((lever.address, lever.values[0]) for lever in numbers)
        self.taken: set[Any] = set()
        for lever in levers:
            self.taken |= places(model, lever.address)
        self._places: dict[str, frozenset[Any]] = {}

    def in_(self, rigging: Rigging) -> tuple[Uncertainty, ...]:
        """What varies in one option with some words typed; nothing where they cannot be used."""
        option, words = rigging
        if self.sample is None:
            return ()
        set_by = {name for _, o, names in self.model.sets if o == option for name in names}
        try:
            known = self.model.uncertainties(option, (*words, *self.typed))
        except (ScenarioError, RunFailed):
            return ()
        return tuple(one for one in drawn(known) if one.name not in set_by and self._wanted(one))

    def _wanted(self, one: Uncertainty) -> bool:
        over = self.sample.over if self.sample is not None else ()
        here = self._at(one.name)
        if here & self.taken:
            return False
        return (
            one.group in over
            or one.name in over
            or any(here & self._at(pattern) for pattern in over if "/" in pattern)
        )

    def _at(self, name: str) -> frozenset[Any]:
        """Places of a name or an address; none where the file has none for it."""
        if name not in self._places:
            try:
                self._places[name] = places(self.model, name)
            except ScenarioError:
                self._places[name] = frozenset()
        return self._places[name]


def names_compiled_anew(model: ScenarioModel, sampled: Sampled) -> tuple[str, ...]:
    """Names whose draws change the course of a job, so that filling them in would not be enough.

    They are compiled at both ends of their ranges, and filled in: where the two differ, every row
    is compiled anew.
    """
    anew: dict[str, None] = {}
    for (option, words), known in sampled.items():
        if not words:
            wanted = [u for u in known if u.name not in anew and may_change_course(u.name)]
            anew |= dict.fromkeys(_anew(model, option, wanted))
    return tuple(anew)


def _anew(model: ScenarioModel, option: str, known: Sequence[Uncertainty]) -> list[str]:
    """Those of some numbers that are compiled anew: all tried at once, then halves of them."""
    ends = {one.name: (one.low, one.high) for one in known}
    if not known or moves_numbers_alone(model, option, ends):
        return []
    if len(known) == 1:
        return [known[0].name]
    half = len(known) // 2
    return [*_anew(model, option, known[:half]), *_anew(model, option, known[half:])]
