"""A piece brings the past of the rope it was cut from: age, looks, wear, what sets it aside."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from edgewear.stock.entries import EVERY_ROPE, Entry
from edgewear.stock.past_wear import CELL_M, PastWear
from edgewear.stock.reckoned.dated_wear import key
from edgewear.stock.rules import Rules
from edgewear.stock.standing import NO_PAST, Past, Standing, begun, standing_of

EntriesOf = Callable[[str], Sequence[Entry]]
"""Entries of a rope by its name, in order; none: no such rope is registered."""


def reckoned(
    entries: Sequence[Entry], rules: Rules, entries_of: EntriesOf, under: tuple[str, ...] = ()
) -> Standing:
    """Take up all entries of one rope, and what it brings from the rope it was cut from.

    Parameters:
        entries: in order, the first of which registers it.
        rules: in force.
        entries_of: of other ropes.
        under: pieces of it that this is asked for, so that no circle is followed for ever.
    """
    return standing_of(entries, rules, past_of(entries[0], rules, entries_of, under))


def past_of(
    register: Entry, rules: Rules, entries_of: EntriesOf, under: tuple[str, ...] = ()
) -> Past:
    """Give what a rope brings: that of the rope it was cut from, up to the day of its registration.

    Parameters: as of `reckoned`; `register`: the entry that registers it.
    """
    name = register.body.get("cut_from")
    if name is None:
        return NO_PAST
    under = (*under, register.rope)
    whole = [] if name in (*under, EVERY_ROPE) else list(entries_of(name))
    if not whole or whole[0].kind != "register":
        return Past(known=False)
    kept = [one for one in whole if one.kind == "correction" or key(one) < key(register)]
    before = kept if kept and kept[0] == whole[0] else [whole[0], *kept]
    return _brought(reckoned(before, rules, entries_of, under), register)


def _brought(whole: Standing, register: Entry) -> Past:
    """Give what a piece brings from a rope as that stood when it was cut."""
    reasons = [one._replace(rope=one.rope or whole.rope) for one in whole.reasons]
    return Past(
        whole.past.known, True, whole.made, whole.first_use, whole.like, whole.waits_since,
        whole.last_whole, tuple(reasons), _worn(whole.wear, register),
    )  # fmt: skip


def _worn(whole: PastWear, register: Entry) -> PastWear:
    cells, at_m = begun(register).dated.cells, register.body.get("cut_at_m")
    return whole.anywhere(cells) if at_m is None else whole.piece(round(at_m / CELL_M), cells)


def lineage(name: str, entries_of: EntriesOf) -> Iterator[str]:
    """Name a rope, the one it was cut from, and so on as far as the record goes."""
    seen: list[str] = []
    while name not in seen and name != EVERY_ROPE:
        yield name
        seen.append(name)
        entries = entries_of(name)
        name = entries[0].body.get("cut_from", EVERY_ROPE) if entries else EVERY_ROPE
