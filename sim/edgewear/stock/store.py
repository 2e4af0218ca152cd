"""The record of a store's ropes: adding entries and reading them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from edgewear.errors import (
    DatasetError,
    Problem,
    ScenarioError,
    UsageError,
    shortened,
    visible,
)
from edgewear.stock import bodies
from edgewear.stock.connection import connect, create, told, transaction
from edgewear.stock.entries import EVERY_ROPE, FIRST, Draft, Entry, canonical, hash_of, own_hash
from edgewear.stock.reckoned.growing import Growing
from edgewear.stock.reckoned.pieces import reckoned
from edgewear.stock.rules import Rules, digest, from_body, tightened
from edgewear.stock.standing import RECKONING, Standing, summary

COLUMNS = "number, rope, kind, on_date, by, written, body, before, hash"


class Stock:
    """An open record.

    Parameters:
        path: the file.
        rules: of the library; those of the file itself may be stricter.
    """

    def __init__(self, path: Path, rules: Rules, connection: sqlite3.Connection) -> None:
        """Take an open connection."""
        self.path, self.library, self.connection = path, rules, connection
        self._whole = False  # whether SQLite has found its tables and its index to agree

    def rules(self) -> dict[str, Any]:
        """Rules in force: of the library, made stricter by the store's own."""
        found = tightened(self.library, {})
        for entry in self._trusted(EVERY_ROPE):
            found = tightened(found, from_body(entry.body))
        return found

    def entries(self, rope: str) -> list[Entry]:
        """Entries of a rope, in order.

        Raises:
            UsageError: no such rope.
        """
        with told(self.path):
            found = self._trusted(rope)
        if not found or rope == EVERY_ROPE:
            raise UsageError(f"{self.path}: no rope {rope!r} is registered")
        return found

    def every_entry(self) -> Iterator[Entry]:
        """All entries, in order, whether or not they are as they were written."""
        with told(self.path):
            yield from self._entries("")

    def standing(self, rope: str) -> Standing:
        """What a rope's entries come to.

        Raises:
            UsageError: no such rope.
        """
        entries, rules = self.entries(rope), self.rules()
        with told(self.path):
            return reckoned(entries, rules, self._trusted)

    def summaries(self) -> list[dict[str, Any]]:
        """What every rope's entries come to, in short, in the order of their names."""
        rules = self.rules()
        with told(self.path):
            self._bring_up_to_date(rules)
            rows = self.connection.execute("SELECT summary FROM standings ORDER BY rope")
            texts = [text for (text,) in rows]
        try:
            return list(json.loads(f"[{','.join(texts)}]"))  # read as one text, for speed
        except (TypeError, ValueError) as error:
            raise DatasetError(f"{self.path}: its lists are damaged; restore a copy") from error

    def head(self) -> tuple[int, str]:
        """Number and hash of the last entry; 0 and zeros where there is none."""
        with told(self.path):
            return self._head()

    def append(self, draft: Draft) -> Entry:
        """Write an entry.

        Raises:
            ScenarioError: it cannot be entered, with every reason.
            CannotWrite, Locked: it is not written.
        """
        return self.append_all([draft])[0]

    def append_all(self, drafts: Sequence[Draft], places: Sequence[Problem] = ()) -> list[Entry]:
        """Write some entries, all or none.

        Parameters:
            drafts: in the order in which they are to stand.
            places: where each was typed; for messages.

        Raises:
            ScenarioError: some cannot be entered, with every reason.
            CannotWrite, Locked: none is written.
        """
        wrong = [
            _problem(self.path, number, places, field, message)
            for number, draft in enumerate(drafts)
            for field, message in bodies.problems(draft)
        ]
        if wrong:
            raise ScenarioError(wrong)
        with told(self.path), transaction(self.connection):
            return self._append(drafts, places)

    def _append(self, drafts: Sequence[Draft], places: Sequence[Problem]) -> list[Entry]:
        rules, written = self.rules(), _now()
        number, before = self._head()
        open_, wrong, entries = Growing(self._trusted, rules), [], []
        for place, draft in enumerate(drafts):
            number += 1
            hash_ = hash_of(number, draft, written, before)
            entry = Entry(number, *draft[:4], written, draft.body, before, hash_)
            for field, message in open_.take_new(entry):
                wrong.append(_problem(self.path, place, places, field, message))
            entries.append(entry)
            before = hash_
        if wrong:
            raise ScenarioError(wrong)
        self._write(entries)
        self._keep_all(open_)
        return entries

    def _write(self, entries: Iterable[Entry]) -> None:
        rows = [(*e[:6], canonical(e.body), e.before, e.hash) for e in entries]
        self.connection.executemany(
            f"INSERT INTO entries ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", rows
        )
        self.connection.executemany(
            "INSERT INTO ropes VALUES (?, ?)",
            [(e.rope, e.number) for e in entries if e.kind == "register"],
        )

    def keep(self, standings: Iterable[Standing], rules: Rules) -> None:
        """Keep what ropes' entries come to, for lists."""
        mark = _mark(rules)
        self.connection.executemany(
            "INSERT OR REPLACE INTO standings VALUES (?, ?, ?, ?)",
            [(one.rope, one.last, mark, canonical(summary(one))) for one in standings],
        )

    def restore(self, entries: Iterable[Entry]) -> None:
        """Write entries with the hashes they had, into a record without any.

        Raises:
            ScenarioError: they are none that could have been entered.
        """
        with told(self.path), transaction(self.connection):
            open_ = Growing(self._trusted, self.rules())
            every = list(entries)
            wrong = [
                Problem(str(self.path), 0, 0, f"entry {entry.number}/{field}", message)
                for entry in every
                for field, message in open_.take(entry)
            ]
            if wrong:
                raise ScenarioError(wrong)
            self._write(every)
            self._keep_all(open_)

    def _bring_up_to_date(self, rules: Rules) -> None:
        """Work out again what other rules, or an older file, left out of date."""
        stale = self.connection.execute(
            "SELECT ropes.name FROM ropes LEFT JOIN standings ON name = rope "
            "WHERE standings.rules IS NOT ?", (_mark(rules),)
        ).fetchall()  # fmt: skip
        if not stale:
            return
        with transaction(self.connection):
            self._keep_of([name for (name,) in stale], rules)

    def _keep_all(self, grown: Growing) -> None:
        """Keep what the ropes that were touched, and pieces of them, come to; all is written."""
        held = grown.held()
        self.keep(held.values(), grown.rules)
        self._keep_of(grown.touched(self._pieces()) - held.keys(), grown.rules)

    def _keep_of(self, names: Iterable[str], rules: Rules) -> None:
        """Work out ropes anew, and keep what their entries come to."""
        found = (reckoned(self._trusted(name), rules, self._trusted) for name in names)
        self.keep(found, rules)

    def _pieces(self) -> dict[str, set[str]]:
        """Name what was cut from each rope: rope -> its pieces."""
        rows = self.connection.execute(
            "SELECT name, body FROM ropes JOIN entries ON number = entry "
            "WHERE instr(body, '\"cut_from\":')"
        )
        found: dict[str, set[str]] = {}
        for name, body in rows:
            found.setdefault(json.loads(body).get("cut_from", EVERY_ROPE), set()).add(name)
        return found

    def _entries(self, where: str, *values: str) -> Iterator[Entry]:
        rows = self.connection.execute(
            f"SELECT {COLUMNS} FROM entries {where} ORDER BY number", values
        )
        for *told_, body, before, hash_ in rows:
            yield self._entry(told_, body, before, hash_)

    def _entry(self, told_: Sequence[Any], body: str, before: str, hash_: str) -> Entry:
        number, rope, kind, on, by, written = told_
        if not all(isinstance(one, str) for one in (*told_[1:], body, before, hash_)):
            raise self._damaged(number)
        try:
            said = json.loads(body)
        except (TypeError, ValueError) as error:
            raise self._damaged(number) from error
        return Entry(number, rope, kind, on, by, written, said, before, hash_)

    def _damaged(self, number: int) -> DatasetError:
        return DatasetError(
            f"{self.path}: entry {number} is not as it was written; restore a copy of the record"
        )

    def _trusted(self, rope: str) -> list[Entry]:
        """Entries of a rope, each as it was written.

        Raises:
            DatasetError: one is not, or the index that finds them may leave some out.
        """
        self._agree()
        found = list(self._entries("WHERE rope = ?", rope))
        for entry in found:
            if own_hash(entry):
                raise self._damaged(entry.number)
        return found

    def _agree(self) -> None:
        """See once that the index leads to every entry: one left out may be the one that retires.

        Raises:
            DatasetError: it does not.
        """
        if self._whole:
            return
        (said,) = self.connection.execute("PRAGMA integrity_check(1)").fetchone()
        if said != "ok":
            what = shortened(visible(str(said)))
            raise DatasetError(
                f"{self.path}: this record of ropes is damaged ({what}); restore a copy of it"
            )
        self._whole = True

    def _head(self) -> tuple[int, str]:
        row = self.connection.execute(
            "SELECT number, hash FROM entries ORDER BY number DESC LIMIT 1"
        ).fetchone()
        return (0, FIRST) if row is None else (int(row[0]), str(row[1]))


def _problem(
    path: Path, number: int, places: Sequence[Problem], field: str, message: str
) -> Problem:
    if not places:
        return Problem(str(path), 0, 0, field, message)
    at = places[number]
    return at._replace(address=f"{at.address}/{field}", message=message)


def _mark(rules: Rules) -> str:
    """Give a text that differs where the same entries come to something else."""
    return f"{RECKONING} {digest(rules)}"


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds")


@contextmanager
def open_stock(path: str | Path, rules: Rules, make: bool = False) -> Iterator[Stock]:
    """Open a record of ropes.

    Parameters:
        path: the file.
        rules: of the library.
        make: make the file where there is none.

    Raises:
        DatasetError: no file there, or a damaged one.
        Mismatch: not a record of ropes, or one of a newer version.
        CannotCreate: it cannot be made.
    """
    file = Path(path)
    if make and not file.exists():
        create(file)
    connection = connect(file)
    stock = Stock(file, rules, connection)
    try:
        yield stock
    except (LookupError, TypeError, ValueError) as error:  # a value that no entry of ours has?
        if all(own_hash(entry) == "" for entry in stock.every_entry()):
            raise
        said = f"{file}: this record of ropes is damaged; restore a copy of it"
        raise DatasetError(said) from error
    finally:
        with told(file):
            connection.close()
