"""What a rope's entries come to: in use, set aside or retired, and why."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from edgewear.stock.entries import Entry
from edgewear.stock.past_wear import CELL_M, PastWear
from edgewear.stock.reckoned.dated_wear import DatedWear, key
from edgewear.stock.reckoned.looked import Happened, Span, span_of, unanswered, whole_days
from edgewear.stock.rules import RETIRE, Rules

IN_USE, ASIDE, RETIRED = "in use", "set aside", "retired"

RECKONING = 3
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
    rope: str = ""  # which it was asked of, where this one is a piece of that; else empty


class Past(NamedTuple):
    """What a piece brings from the rope it was cut from."""

    known: bool  # whether the record has that rope, and those that one was cut from
    recorded: bool = False  # whether it has that rope
    made: str = ""
    first_use: str = ""
    like: str = ""
    waits_since: str = ""  # from when a look is waited for, if nobody looked
    last_whole: str = ""
    reasons: tuple[Reason, ...] = ()
    wear: PastWear | None = None


NO_PAST = Past(known=True)
"""Of a rope that was cut from none, as far as anybody said."""


@dataclass
class Standing:
    """A rope after its entries, taken up in the order in which they were entered.

    Whoever puts a rope back knows what was entered until then, so that is the order of decisions.
    What a look says depends on its day: it answers what happened before, and weighs that wear.
    """

    rope: str
    register: Entry
    dated: DatedWear
    word: str = IN_USE
    reasons: list[Reason] = field(default_factory=list)  # of the word as it is now
    asked: dict[int, Reason] = field(default_factory=dict)  # by entry, whatever was struck later
    looks: list[Entry] = field(default_factory=list)  # that hold
    idle: dict[int, str] = field(default_factory=dict)  # decisions that put nothing back, and why
    entries: list[Entry] = field(default_factory=list)  # without corrections
    struck: set[int] = field(default_factory=set)
    kinds: dict[int, str] = field(default_factory=dict)  # entry -> kind
    jobs: int = 0
    last: int = 0  # number of the last entry
    last_on: str = ""
    first_use: str = ""
    past: Past = NO_PAST

    @property
    def made(self) -> str:
        """When it was made, ISO; of two days that are said the earlier; empty: nobody said."""
        return _earliest(self.register.body.get("made", ""), self.past.made)

    @property
    def like(self) -> str:
        """The library's rope that it is like; empty: nobody said."""
        return str(self.register.body.get("like", self.past.like))

    @property
    def waits_since(self) -> str:
        """The day from which a look is waited for where nobody looked at all of it, ISO."""
        return _earliest(self.register.on, self.first_use, self.past.waits_since)

    @property
    def length_m(self) -> float:
        """Length of the piece [m]."""
        return float(self.register.body["length_m"])

    @property
    def wear(self) -> PastWear:
        """Wear along it, by the dates of its entries."""
        return self.dated.now

    @property
    def last_look(self) -> Entry | None:
        """The look of the latest day."""
        return max(self.looks, key=key, default=None)

    @property
    def last_whole(self) -> str:
        """The latest day on which all of it was looked at, ISO; empty: none."""
        return max([self.past.last_whole, *whole_days(self.looks, self.length_m)])

    def unseen(self, on: str) -> str:
        """Say why looks of up to a day do not answer what set it aside; empty: they do."""
        told = (unanswered(self.looks, self._happened(one), on, self.length_m)
                for one in self.reasons)  # fmt: skip
        return next((wrong for wrong in told if wrong), "")

    def _happened(self, reason: Reason) -> Happened:
        """Give what a reason asks to look at: where an event or a look was, else all of it."""
        about = [one for one in self.entries if one.number == reason.entry]
        where = span_of(about[0], self.length_m) if about else Span(0.0, self.length_m)
        word = "the decision" if reason.rule == "decision" else repr(reason.rule)
        what = f"{word} of {reason.on} (entry {reason.entry})"
        return Happened(reason.on, reason.entry, where, what)

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
        self.dated = DatedWear(self.dated.cells, self.past.wear)
        self.word, self.reasons, self.looks, self.idle = IN_USE, [], [], {}
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
        self.first_use = _earliest(entry.body.get("first_use", ""), self.past.first_use)
        for reason in self.past.reasons:
            self._because(reason)

    def _job(self, entry: Entry, rules: Rules) -> None:
        self.dated.take(entry)
        self.jobs += 1
        self.first_use = _earliest(self.first_use, entry.on)
        rule = rules.get("careful wear")
        limit = None if rule is None else rule.limit
        if limit is not None and (on := self.dated.reaches(limit, entry)):
            self._ask("careful wear", entry._replace(on=on), rules)

    def _inspection(self, entry: Entry, rules: Rules) -> None:
        self.dated.take(entry)
        self.looks.append(entry)
        self._ask(entry.body["finding"], entry, rules)

    def _event(self, entry: Entry, rules: Rules) -> None:
        self._ask(entry.body["what"], entry, rules)

    def _decision(self, entry: Entry, rules: Rules) -> None:
        word = entry.body["decision"]
        if word == IN_USE:
            self._put_back(entry)
            return
        asks = RETIRE if word == RETIRED else ASIDE
        self._because(Reason(asks, "decision", entry.number, entry.on, entry.by,
                             entry.body["reason"]))  # fmt: skip

    def _put_back(self, entry: Entry) -> None:
        """Put back in use, unless retired; a decision that no look answers for rests on nothing."""
        if self.word != ASIDE:
            return
        wrong = self.unseen(entry.on)
        if wrong:
            self.idle[entry.number] = wrong
        else:
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


def _earliest(*days: str) -> str:
    """Give the earliest day that is known, ISO; empty: none is."""
    return min(filter(None, days), default="")  # ISO dates are in order as texts, too


def begun(entry: Entry, past: Past = NO_PAST) -> Standing:
    """Begin with the entry that registers a rope, and what it brings."""
    cells = max(int(np.ceil(entry.body["length_m"] / CELL_M - 1e-9)), 1)
    return Standing(entry.rope, entry, DatedWear(cells, past.wear), past=past)


def standing_of(entries: Iterable[Entry], rules: Rules, past: Past = NO_PAST) -> Standing:
    """Take up all entries of one rope, the first of which registers it.

    Parameters:
        entries: in order.
        rules: in force.
        past: what it brings, where it is a piece.
    """
    every = list(entries)
    standing = begun(every[0], past)
    for entry in every:
        standing.take(entry, rules)
    return standing


def summary(standing: Standing) -> dict[str, Any]:
    """Give what a list of ropes needs, as JSON knows it."""
    low, middle, high = standing.wear.largest()
    look, body = standing.last_look, standing.register.body
    return {
        "rope": standing.rope,
        "word": standing.word,
        "reasons": [reason._asdict() for reason in standing.reasons],
        "length_m": standing.length_m,
        "like": standing.like,
        "made": standing.made,
        "cut_from": body.get("cut_from", ""),
        "cut_at_m": body.get("cut_at_m"),
        "cut_recorded": standing.past.recorded,
        "past_known": standing.past.known,
        "first_use": standing.first_use,
        "registered": standing.register.on,
        "waits_since": standing.waits_since,
        "jobs": standing.jobs,
        "wear": [low, middle, high],
        "last": standing.last,
        "last_on": standing.last_on,
        "last_look": None
        if look is None
        else {
            "entry": look.number,
            "on": look.on,
            "by": look.by,
            "finding": look.body["finding"],
            "from_m": look.body["from_m"],
            "to_m": look.body["to_m"],
        },
        "last_whole": standing.last_whole,
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
    last = found["last_whole"] or found["waits_since"]  # so that no job takes back what time asks
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
