"""Rules that ask for setting ropes aside or retiring them: the library's and a user's own."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from edgewear.errors import ScenarioError
from edgewear.scenario.read.libraries import SECTIONS, Library, built_in
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.tree import Tree, problems_of, read_tree
from edgewear.scenario.text.units import DIMENSIONS, to_si
from edgewear.stock.bodies import text
from edgewear.stock.rules import ASKS, LIMITS, WORDS, Rule, too_lax

SECTION = "rope rules"
DAYS = {"day": 1.0, "week": 7.0, "month": 365.25 / 12, "year": 365.25}
_SPAN = re.compile(r"(\d{1,6}(?:\.\d{1,6})?) (day|week|month|year)s?", re.ASCII)


def built_in_rules() -> dict[str, Rule]:
    """Read the rules of the built-in library: word -> rule."""
    return rules_of(built_in())


def rules_of(library: Library) -> dict[str, Rule]:
    """Read the rules of a library whose entries are known to be right: word -> rule."""
    return {word: _rule(word, entry) for word, entry in library[SECTION].items()}


def report_wrong(tree: Tree, own: Mapping[str, Any]) -> dict[str, Rule]:
    """Report in its tree what is wrong with the rules of a user's library; give the others."""
    rules = {}
    for word, entry in own.items():
        if wrong := _wrong(tree, word, entry):
            tree.report(*wrong)
        else:
            rules[word] = _rule(word, entry)
    return rules


def report_lax(tree: Tree, own: Mapping[str, Any]) -> None:
    """Report in its tree the rules that are wrong, or ask less than the built-in ones."""
    for word, message in too_lax(built_in_rules(), report_wrong(tree, own)):
        tree.report((SECTION, word), message)


def own_rules(path: str | Path) -> dict[str, Rule]:
    """Read the rules of a user's own library: word -> rule.

    Raises:
        ScenarioError: with every problem found, each at its line and column.
    """
    tree = read_tree(path)
    found = tree.data.get(SECTION)
    if not isinstance(found, dict):
        tree.report((), f"{SECTION!r} with words and rules are due")
        found = {}
    for section in tree.data:
        if section not in SECTIONS:
            tree.report((section,), f"unknown section: allowed are {', '.join(SECTIONS)}", key=True)
    rules = report_wrong(tree, found)
    if tree.problems:
        raise ScenarioError(problems_of(tree))
    return rules


def _rule(word: str, entry: Mapping[str, Any]) -> Rule:
    limit = _limit(word, entry["limit"]) if "limit" in entry else None
    return Rule(entry["asks"], limit, str(entry.get("pedigree", "")))


def _limit(word: str, typed: object) -> float | None:
    """Read a limit in the unit of `LIMITS`; None: it cannot be read."""
    if LIMITS[word] == "days":
        span = _SPAN.fullmatch(str(typed))
        return None if span is None else float(span[1]) * DAYS[span[2]]
    try:
        return float(to_si(str(typed), DIMENSIONS["share"]))
    except ValueError:
        return None


def _wrong(tree: Tree, word: object, entry: object) -> tuple[tuple[Any, ...], str] | None:
    """Say what is wrong with an own rule, and where; None: nothing."""
    here = (SECTION, word)
    if word not in WORDS:
        hint = did_you_mean(str(word), list(WORDS))
        return here, f"no rule is about {word!r}: allowed are {', '.join(WORDS)}{hint}"
    if not isinstance(entry, dict) or set(entry) - {"asks", "limit", "pedigree"}:
        return here, "`asks`, `limit` and `pedigree` are due"
    if entry.get("asks") not in ASKS:
        return here, f"asks {entry.get('asks')!r}: allowed are {', '.join(ASKS)}"
    if ("limit" in entry) != (word in LIMITS):
        return here, "has no limit" if "limit" in entry else "a limit is due"
    if "limit" in entry and _limit(word, entry["limit"]) is None:
        due = "a time such as 6 months" if LIMITS[word] == "days" else "a share such as 50 %"
        return (*here, "limit"), f"{entry['limit']!r}: {due} is due"
    if "pedigree" in entry and (wrong := text(entry["pedigree"])):
        return (*here, "pedigree"), wrong
    return None
