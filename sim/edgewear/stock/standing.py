"""What a rope's entries come to: in use, set aside or retired, and why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from edgewear.stock.entries import Draft, Entry
from edgewear.stock.past_wear import CELL_M, PastWear
from edgewear.stock.rules import RETIRE, Rules

IN_USE, ASIDE, RETIRED = "in use", "set aside", "retired"

RECKONING = 2
"""Raised where the same entries come to something else: what lists keep is worked out anew."""


class Reason(NamedTuple):
    """Why a rope is set aside or retired."""

    asks: str  # set aside or retire
    rule: str  # the rule's word, or "decision"
    entry: int  # 0: none, time alone asks
    on: str
    by: str
    said: str  # the reason of a decision as typed; else empty
    pedigree: str = ""  # where the rule comes from


@dataclass
class Standing:
    """A rope after its entries, in order."""

    rope: str
    register: Entry
    wear: PastWear
    word: str = IN_USE
    reasons: list[Reason] = field(default_factory=list)  # of the word as it is now
    asked: dict[int, Reason] = field(default_factory=dict)  # by entry, whatever was struck later
    last_look: Entry | None = None
    entries: list[Entry] = field(default_factory=list)  # without corrections
    struck: set[int] = field(default_factory=set)
    kinds: dict[int, str] = field(default_factory=dict)  # entry -> kind
    jobs: int = 0
    last: int = 0  # number of the last entry
    last_on: str = ""
    first_use: str = ""

    @property
    def length_m(self) -> float:
        """Length of the piece [m]."""
        return float(self.register.body["length_m"])

    @property
    def looked_since(self) -> bool:
        """Whether somebody looked at it since the last entry that set it aside."""
        since = max((reason.entry for reason in self.reasons), default=0)
        return self.last_look is not None and self.last_look.number >= since

    def take(self, entry: Entry, rules: Rules) -> None:
        """Take up one entry."""
        if entry.kind == "correction":
            self.struck.add(entry.body["entry"])
            self._again(rules)
        else:
            self.entries.append(entry)
            self._count(entry, rules)
        self.kinds[entry.number], self.last = entry.kind, entry.number
        self.last_on = max(self.last_on, entry.on)

    def _again(self, rules: Rules) -> None:
        """Count every entry anew, since later ones rest on those that were struck."""
        self.wear = PastWear(self.wear.cells)
        self.word, self.reasons, self.last_look = IN_USE, [], None
        self.jobs, self.first_use = 0, ""
        for entry in self.entries:
            self._count(entry, rules)

    def _count(self, entry: Entry, rules: Rules) -> None:
        """Count an entry; of one that was struck nothing but what it asked for."""
        if entry.number not in self.struck:
            getattr(self, f"_{entry.kind}")(entry, rules)
        asked = self.asked.get(entry.number)
        if asked is not None and asked not in self.reasons:
            self._because(asked)

    def _register(self, entry: Entry, rules: Rules) -> None:
        self.first_use = str(entry.body.get("first_use", ""))

    def _job(self, entry: Entry, rules: Rules) -> None:
        body = entry.body
        factors = body["low"], body["middle"], body["high"]
        self.wear.used(entry.number, body["first_mm"], np.array(body["demand"]), factors)
        self.jobs += 1
        self.first_use = min(filter(None, (self.first_use, entry.on)))
        rule = rules.get("careful wear")
        limit = None if rule is None else rule.limit
        if limit is not None and self.wear.largest()[2] >= limit:
            self._ask("careful wear", entry, rules)

    def _inspection(self, entry: Entry, rules: Rules) -> None:
        body = entry.body
        self.wear.looked(entry.number, body["finding"], body["from_m"], body["to_m"])
        self.last_look = entry
        self._ask(body["finding"], entry, rules)

    def _event(self, entry: Entry, rules: Rules) -> None:
        self._ask(entry.body["what"], entry, rules)

    def _decision(self, entry: Entry, rules: Rules) -> None:
        word = entry.body["decision"]
        if word == IN_USE:
            self._put_back()
            return
        asks = RETIRE if word == RETIRED else ASIDE
        self._because(Reason(asks, "decision", entry.number, entry.on, entry.by,
                             entry.body["reason"]))  # fmt: skip

    def _put_back(self) -> None:
        """Put back in use, unless retired; a decision whose look was struck rests on nothing."""
        if self.word == ASIDE and self.looked_since:
            self.word, self.reasons = IN_USE, []

    def _ask(self, word: str, entry: Entry, rules: Rules) -> None:
        rule = rules.get(word)
        if rule is not None:
            self._because(
                Reason(rule.asks, word, entry.number, entry.on, entry.by, "", rule.pedigree)
            )

    def _because(self, reason: Reason) -> None:
        """Set aside or retire; never back from retired."""
        self.asked.setdefault(reason.entry, reason)
        if reason.asks == RETIRE:
            if self.word != RETIRED:
                self.reasons = []
            self.word = RETIRED
            self.reasons.append(reason)
        elif self.word != RETIRED:
            self.word = ASIDE
            self.reasons.append(reason)


def begun(entry: Entry) -> Standing:
    """Begin with the entry that registers a rope."""
    cells = max(int(np.ceil(entry.body["length_m"] / CELL_M - 1e-9)), 1)
    return Standing(entry.rope, entry, PastWear(cells))


def standing_of(entries: Iterable[Entry], rules: Rules) -> Standing:
    """Take up all entries of one rope, the first of which registers it.

    Parameters:
        entries: in order.
        rules: in force.
    """
    every = list(entries)
    standing = begun(every[0])
    for entry in every:
        standing.take(entry, rules)
    return standing


def refused(standing: Standing, draft: Draft) -> Iterator[tuple[str, str]]:
    """Give field and message of what cannot be entered about a rope as it stands."""
    body, length_m = draft.body, standing.length_m
    for name in ("from_m", "to_m"):
        if body.get(name, 0.0) > length_m + CELL_M:
            yield name, f"{body[name]:g} m lies beyond the rope's end at {length_m:g} m"
    if draft.kind == "job" and body["first_mm"] + len(body["demand"]) > standing.wear.cells + 1:
        end_m = (body["first_mm"] + len(body["demand"])) * CELL_M
        yield "demand", f"reaches to {end_m:g} m, beyond the rope's end at {length_m:g} m"
    if draft.kind == "register":
        yield "rope", f"{draft.rope!r} is registered already, in entry {standing.register.number}"
    if draft.kind == "correction":
        yield from _correction_of(standing, body["entry"])


def misdated(made: str, draft: Draft, latest: str) -> Iterator[tuple[str, str]]:
    """Give field and message of each date of an entry at which it cannot have happened.

    A look dated ahead would put off the next one; a date before the rope was made is of another.

    Parameters: `made`: when the rope was, empty: nobody said; `latest`: today, ISO.
    """
    said = {"on": draft.on}
    if draft.kind == "register":
        said |= {name: draft.body[name] for name in ("made", "first_use") if name in draft.body}
    for name, on in said.items():
        if on > latest:  # ISO dates are in order as texts, too
            yield name, f"{on} lies ahead: at the latest {latest}, which is today, is allowed"
        elif on < made:
            yield name, f"{on} lies before {made}, when {draft.rope!r} was made"
    first = said.get("first_use", "")
    if draft.on < first <= latest:
        yield "first_use", f"{first} lies after {draft.on}, the day on which that is entered"


def back_in_use(standing: Standing, draft: Draft) -> Iterator[tuple[str, str]]:
    """Give field and message of a decision, made now, that the rope's entries do not allow.

    Read from a copy it is taken as written and changes nothing: the look it rested on was struck.
    """
    if draft.kind != "decision" or draft.body["decision"] != IN_USE:
        return
    if standing.word == RETIRED:
        yield "decision", f"{standing.rope!r} is retired, and nothing takes that back"
    elif standing.word == ASIDE and not standing.looked_since:
        yield (
            "decision",
            (
                f"{standing.rope!r} is set aside and nobody has looked at it since; "
                "enter an inspection first"
            ),
        )


def _correction_of(standing: Standing, number: int) -> Iterator[tuple[str, str]]:
    kind = standing.kinds.get(number)
    if kind is None:
        yield "entry", f"{number}: no entry of {standing.rope!r}"
    elif kind not in ("job", "inspection", "event"):
        yield "entry", f"{number} is a {kind}; corrected are jobs, inspections and events"
    elif number in standing.struck:
        yield "entry", f"{number} is corrected already"


def summary(standing: Standing) -> dict[str, Any]:
    """Give what a list of ropes needs, as JSON knows it."""
    low, middle, high = standing.wear.largest()
    look, body = standing.last_look, standing.register.body
    return {
        "rope": standing.rope,
        "word": standing.word,
        "reasons": [reason._asdict() for reason in standing.reasons],
        "length_m": standing.length_m,
        "like": body.get("like", ""),
        "made": body.get("made", ""),
        "first_use": standing.first_use,
        "registered": standing.register.on,
        "jobs": standing.jobs,
        "wear": [low, middle, high],
        "last": standing.last,
        "last_on": standing.last_on,
        "last_look": None
        if look is None
        else {"entry": look.number, "on": look.on, "by": look.by, "finding": look.body["finding"]},
    }


_SINCE = {"age since made": "made", "age since first use": "first_use"}


def with_time(found: dict[str, Any], rules: Rules, today: str) -> dict[str, Any]:
    """Add what time alone asks for; today is never taken to be before the last entry.

    Parameters:
        found: from `summary`.
        rules: in force.
        today: ISO.
    """
    now = max(today, found["last_on"])  # ISO dates are in order as texts, too
    look = found["last_look"]
    last = look["on"] if look else _known_since(found)
    since = {rule: found[key] for rule, key in _SINCE.items()} | {"time since last look": last}
    asked, next_on = [], ""
    for word, start in since.items():
        rule = rules.get(word)
        if rule is None or rule.limit is None or not start:
            continue
        on = _after(start, round(rule.limit))
        if now >= on:
            asked.append(Reason(rule.asks, word, 0, on, "", "", rule.pedigree)._asdict())
        elif not next_on or on < next_on:
            next_on = on
    return _timed(found, asked, next_on)


def _known_since(found: dict[str, Any]) -> str:
    """Give the day from which a rope nobody looked at waits for a look.

    That of registration or of first use, the earlier: a job must not take back what time asks.
    """
    return str(min(filter(None, (found["registered"], found["first_use"]))))


@lru_cache(1 << 16)
def _after(start: str, days: int) -> str:
    """Give the day so many days after another; the last one there is where that is beyond it."""
    due = date.fromisoformat(start).toordinal() + days
    return date.fromordinal(min(due, date.max.toordinal())).isoformat()


def _timed(found: dict[str, Any], asked: list[dict[str, Any]], next_on: str) -> dict[str, Any]:
    if not asked:
        return {**found, "next_on": next_on}
    words = [found["word"], *(RETIRED if one["asks"] == RETIRE else ASIDE for one in asked)]
    word = max(words, key=(IN_USE, ASIDE, RETIRED).index)
    return {**found, "word": word, "reasons": [*found["reasons"], *asked], "next_on": next_on}
