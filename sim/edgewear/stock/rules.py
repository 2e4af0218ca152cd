"""Rules that ask for setting aside or retiring; a user's own may only be stricter."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any, NamedTuple

from edgewear.stock.bodies import EVENTS
from edgewear.stock.looks import FINDINGS

RETIRE = "retire"
SET_ASIDE = "set aside"
ASKS = (SET_ASIDE, RETIRE)
"""What a rule may ask for, the stricter one last."""

LIMITS = {
    "careful wear": "1",
    "age since made": "days",
    "age since first use": "days",
    "time since last look": "days",
}
"""Rules with a limit -> its unit."""

WORDS = (*FINDINGS, *EVENTS, *LIMITS)
"""What a rule may be about."""

STORE = "of this store"
"""Where a rule comes from that a store gave itself without a source."""

ALWAYS = ("core visible", "sheath broken", "glazed", "stiff", "fall held over an edge")
"""What retires a rope on sight, whatever a file of rules says."""


class Rule(NamedTuple):
    """What something asks for."""

    asks: str
    limit: float | None = None  # in the unit of LIMITS; None: the word alone asks
    pedigree: str = ""

    def stricter_than(self, other: Rule) -> bool:
        """Tell whether it asks at least as much, at least as early."""
        asks = ASKS.index(self.asks) >= ASKS.index(other.asks)
        return asks and (other.limit is None or (self.limit or 0.0) <= other.limit)


Rules = Mapping[str, Rule]
"""Word -> rule."""


def tightened(rules: Rules, own: Rules) -> dict[str, Rule]:
    """Take the stricter of two rules about each thing: the earlier limit, the greater demand."""
    found = {word: Rule(RETIRE, None, "always") for word in ALWAYS}
    for word, rule in (*rules.items(), *own.items()):
        old = found.get(word)
        found[word] = rule if old is None else _both(old, rule)
    return found


def _both(old: Rule, new: Rule) -> Rule:
    """Take the stricter of two rules, with the source of what is in force.

    Of two that ask the same it is the later one's, if that has one.
    """
    if new.stricter_than(old):
        unsaid = new[:2] == old[:2] and new.pedigree in ("", STORE)
        return old if unsaid else new
    if old.stricter_than(new):
        return old
    more, sooner = (old, new) if ASKS.index(old.asks) > ASKS.index(new.asks) else (new, old)
    return Rule(more.asks, sooner.limit, f"{more.pedigree}; limit: {sooner.pedigree}")


def too_lax(rules: Rules, own: Rules) -> list[tuple[str, str]]:
    """Give word and message of each own rule that would ask less than what stands already."""
    found = []
    for word, rule in own.items():
        old = tightened(rules, {}).get(word)
        if old is not None and not rule.stricter_than(old):
            limit = (
                "" if old.limit is None else f" at {old.limit:g} {LIMITS.get(word, '')}".rstrip()
            )
            found.append((word, f"a rule may be stricter, never laxer than: {old.asks}{limit}"))
    return found


def as_body(rules: Rules) -> dict[str, Any]:
    """Give rules as an entry's body has them."""
    return {
        word: {"asks": rule.asks, "limit": rule.limit}
        | ({"pedigree": rule.pedigree} if rule.pedigree else {})
        for word, rule in rules.items()
    }


def from_body(body: Mapping[str, Any]) -> dict[str, Rule]:
    """Read rules from an entry's body."""
    rules = body["rules"].items()
    return {
        word: Rule(one["asks"], one.get("limit"), one.get("pedigree", STORE))
        for word, one in rules
        if word in WORDS
    }


def digest(rules: Rules) -> str:
    """Give a short text that differs where rules differ."""
    told = json.dumps(as_body(rules), sort_keys=True)
    return hashlib.sha256(told.encode()).hexdigest()[:16]
