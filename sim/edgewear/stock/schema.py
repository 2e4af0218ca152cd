"""Tables of the file, by number: each migration is applied once, in order, in one transaction."""

from __future__ import annotations

APPLICATION = 0x45575253
"""`PRAGMA application_id` of our files: tells them from other programs' SQLite files."""

ENTRIES = (
    """CREATE TABLE entries (
        number INTEGER PRIMARY KEY CHECK (number > 0),
        rope TEXT NOT NULL CHECK (length(rope) > 0),
        kind TEXT NOT NULL,
        on_date TEXT NOT NULL,
        by TEXT NOT NULL CHECK (length(by) > 0),
        written TEXT NOT NULL,
        body TEXT NOT NULL,
        before TEXT NOT NULL CHECK (length(before) = 64),
        hash TEXT NOT NULL UNIQUE CHECK (length(hash) = 64)
    )""",
    "CREATE INDEX entries_of_a_rope ON entries (rope, number)",
    """CREATE TRIGGER entries_stay BEFORE UPDATE ON entries BEGIN
        SELECT RAISE(ABORT, 'an entry is never changed; enter a correction');
    END""",
    """CREATE TRIGGER entries_are_kept BEFORE DELETE ON entries BEGIN
        SELECT RAISE(ABORT, 'an entry is never deleted; enter a correction');
    END""",
)

STANDINGS = (
    """CREATE TABLE ropes (
        name TEXT PRIMARY KEY CHECK (length(name) > 0),
        entry INTEGER NOT NULL UNIQUE REFERENCES entries (number)
    ) WITHOUT ROWID""",
    """INSERT INTO ropes SELECT rope, min(number) FROM entries
        WHERE kind = 'register' GROUP BY rope""",
    """CREATE TABLE standings (
        rope TEXT PRIMARY KEY REFERENCES ropes (name),
        last INTEGER NOT NULL REFERENCES entries (number),
        rules TEXT NOT NULL,
        summary TEXT NOT NULL
    ) WITHOUT ROWID""",
)
"""Standings are derived: what they say can be worked out from the entries again at any time."""

MIGRATIONS: tuple[tuple[str, ...], ...] = (ENTRIES, STANDINGS)
"""`PRAGMA user_version` counts those applied."""

VERSION = len(MIGRATIONS)
