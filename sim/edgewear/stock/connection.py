"""Opening the file: ours or not, whole or damaged, older or newer; and errors in words."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from edgewear.errors import (
    CannotCreate,
    CannotWrite,
    DatasetError,
    Locked,
    Mismatch,
    ScenarioError,
)
from edgewear.incoming import read_head
from edgewear.stock.schema import APPLICATION, MIGRATIONS, VERSION

PATIENCE_S = 60.0
"""How long an entry waits for those of other people."""

SAID = {
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_IOERR: "reading or writing broke off",
    sqlite3.SQLITE_READONLY: "it cannot be written to",
    sqlite3.SQLITE_PERM: "no permission",
    sqlite3.SQLITE_CANTOPEN: "it cannot be opened",
}
"""SQLite's primary result codes in words."""

NOTHING_WRITTEN = "nothing of the entry in hand is written; all entries before it are kept"


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn what SQLite says into an error with an exit code.

    Raises:
        DatasetError: the file is damaged.
        CannotWrite: writing broke off, a full disk for one.
        Locked: somebody else has been writing for too long.
    """
    try:
        yield
    except sqlite3.Error as error:
        raise _error(path, error) from error
    except (UnicodeDecodeError, OverflowError) as error:  # texts and numbers nobody wrote
        said = f"{path}: this record of ropes is damaged; restore a copy of it"
        raise DatasetError(said) from error


def _error(path: Path, error: sqlite3.Error) -> DatasetError:
    code = (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return Locked(f"{path}: others write to it without a break; {NOTHING_WRITTEN}")
    if code in SAID:
        return CannotWrite(f"{path}: {SAID[code]} ({error}); {NOTHING_WRITTEN}")
    return DatasetError(f"{path}: this record of ropes is damaged ({error}); restore a copy of it")


def create(path: Path) -> None:
    """Make an empty record of ropes, there whole or not at all.

    Raises:
        CannotCreate: something is there already, or nowhere to write to.
    """
    half = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with told(path), closing(sqlite3.connect(half, isolation_level=None)) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
            _migrate(connection)
        os.link(half, path)
    except FileExistsError as error:
        raise CannotCreate(f"{path}: is there already") from error
    except (OSError, CannotWrite) as error:
        reason = getattr(error, "strerror", None) or error
        raise CannotCreate(f"{path}: cannot be made: {reason}") from error
    finally:
        for rest in (half, Path(f"{half}-wal"), Path(f"{half}-shm"), Path(f"{half}-journal")):
            rest.unlink(missing_ok=True)


def connect(path: Path) -> sqlite3.Connection:
    """Open a record of ropes, an older one brought up to date.

    Raises:
        DatasetError: no file there, or a damaged one.
        Mismatch: not a record of ropes, or one of a newer version.
    """
    _look_at(path)
    with told(path):
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=PATIENCE_S,
            isolation_level=None,
        )  # fmt: skip
    try:
        with told(path):
            _recognise(path, connection)
            _set_up(connection)
    except BaseException:
        connection.close()
        raise
    return connection


def _look_at(path: Path) -> None:
    """Refuse what is no SQLite file before SQLite touches it."""
    try:
        head = read_head(path, 16)
    except ScenarioError as error:
        raise DatasetError(str(error)) from error
    if head != b"SQLite format 3\0":
        raise Mismatch(f"{path}: is no record of ropes")


def _recognise(path: Path, connection: sqlite3.Connection) -> None:
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if application != APPLICATION:
        raise Mismatch(f"{path}: a SQLite file of another program, no record of ropes")
    if version > VERSION:
        raise Mismatch(
            f"{path}: its tables have number {version}, this edgewear knows them up to {VERSION}; "
            "use a newer edgewear"
        )
    if version < VERSION:
        _migrate(connection)


def _set_up(connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")  # what was confirmed survives a power cut
    connection.execute("PRAGMA trusted_schema = OFF")


def _migrate(connection: sqlite3.Connection) -> None:
    """Apply the migrations that are missing; all of them or none."""
    with transaction(connection):
        (done,) = connection.execute("PRAGMA user_version").fetchone()
        for statements in MIGRATIONS[done:]:
            for statement in statements:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {max(done, VERSION)}")


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """Do everything inside, or nothing; waits for other writers first."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
