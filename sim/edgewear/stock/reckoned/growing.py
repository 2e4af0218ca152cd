"""Ropes while entries are added: each is held to what its rope, and others, came to by then."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

from edgewear.stock.entries import EVERY_ROPE, Entry
from edgewear.stock.reckoned.pieces import EntriesOf, lineage, past_of, reckoned
from edgewear.stock.reckoned.refusals import back_in_use, miscut, misdated, refused
from edgewear.stock.rules import Rules, from_body, too_lax
from edgewear.stock.standing import Standing, begun


class Growing:
    """Ropes whose entries grow in one transaction.

    Parameters:
        trusted: gives the entries of a rope that are in the file.
        rules: in force.
    """

    def __init__(self, trusted: EntriesOf, rules: Rules) -> None:
        """Begin with what is in the file."""
        self.trusted, self.rules = trusted, rules
        self.standings: dict[str, Standing | None] = {}
        self.new: dict[str, list[Entry]] = {}
        self.pieces: dict[str, set[str]] = {}  # of those in hand

    def take(self, entry: Entry) -> list[tuple[str, str]]:
        """Take up an entry, or say why it cannot be entered."""
        if entry.kind == "rules":
            own = from_body(entry.body)
            unknown = [(word, "no rule is about that") for word in
                       set(entry.body["rules"]) - set(own)]  # fmt: skip
            return unknown + too_lax(self.rules, own)
        standing = self._standing(entry.rope)
        if standing is None and entry.kind != "register":
            return [("rope", f"no rope {entry.rope!r} is registered")]
        if standing is None:
            standing = begun(entry, past_of(entry, self.rules, self._entries))
            self._hold(entry.rope, standing)
        elif wrong := list(refused(standing, entry.draft)):
            return wrong
        standing.take(entry, self.rules)
        self.new.setdefault(entry.rope, []).append(entry)
        self._let_go_of_pieces(entry.rope)
        return []

    def take_new(self, entry: Entry) -> list[tuple[str, str]]:
        """Take up an entry that is made now; a copy of a record keeps what it was given."""
        before = None if entry.kind == "rules" else self._standing(entry.rope)
        wrong = [] if before is None else list(back_in_use(before, entry.draft))
        wrong += self._miscut(entry)
        wrong += self.take(entry)
        standing = self.standings.get(entry.rope)
        made = "" if standing is None else standing.made
        return [*wrong, *misdated(made, entry.draft, _latest_day())]

    def _miscut(self, entry: Entry) -> list[tuple[str, str]]:
        name = entry.body.get("cut_from")
        if entry.kind != "register" or name is None or name == EVERY_ROPE:
            return []
        if entry.rope in lineage(name, self._entries):
            return [("cut_from", f"{name!r} was cut from {entry.rope!r} itself")]
        return list(miscut(self._standing(name), entry.draft))

    def _entries(self, rope: str) -> list[Entry]:
        return [*self.trusted(rope), *self.new.get(rope, [])]

    def _standing(self, rope: str) -> Standing | None:
        if rope not in self.standings:
            known = self._entries(rope)
            self._hold(rope, reckoned(known, self.rules, self._entries) if known else None)
        return self.standings[rope]

    def _hold(self, rope: str, standing: Standing | None) -> None:
        self.standings[rope] = standing
        if standing is not None and "cut_from" in standing.register.body:
            self.pieces.setdefault(standing.register.body["cut_from"], set()).add(rope)

    def _let_go_of_pieces(self, rope: str) -> None:
        """Work out the pieces of a rope anew when they are asked for: they rest on its entries."""
        for piece in self.pieces.pop(rope, set()):
            self.standings.pop(piece, None)
            self._let_go_of_pieces(piece)

    def held(self) -> dict[str, Standing]:
        """Give the ropes that are worked out up to their last entry."""
        return {name: one for name, one in self.standings.items() if one is not None}

    def touched(self, pieces: Mapping[str, set[str]]) -> set[str]:
        """Name the ropes with new entries, all that was cut from them, and from that.

        Parameters: `pieces`: rope -> what was cut from it, the new ones among them.
        """
        found, waiting = set[str](), list(self.new)
        while waiting:
            name = waiting.pop()
            if name not in found:
                found.add(name)
                waiting += pieces.get(name, ())
        return found


def _latest_day() -> str:
    """Give the date where today has come furthest, fourteen hours ahead of UTC."""
    return (datetime.now(UTC) + timedelta(hours=14)).date().isoformat()
