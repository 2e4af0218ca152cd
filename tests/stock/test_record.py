"""The file: nothing lost, nothing half written, nothing foreign touched."""

from __future__ import annotations

import contextlib
import json
import os
import random
import resource
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from edgewear.errors import CannotCreate, CannotWrite, DatasetError, Mismatch, ScenarioError
from edgewear.scenario.read.rope_rules import built_in_rules
from edgewear.stock import schema
from edgewear.stock.chain import verify
from edgewear.stock.connection import transaction
from edgewear.stock.store import open_stock
from support.ropes import draft, stock_in
from support.tree import ROOT

WRITER = ROOT / "tests" / "support" / "ropes.py"
MANY = 1_000_000


def writer(folder: Path, rope: str, most: int = MANY) -> subprocess.Popen[str]:
    """Somebody who enters one entry after the other."""
    path = os.pathsep.join([str(ROOT / "sim"), str(ROOT / "tests")])
    return subprocess.Popen(
        [sys.executable, WRITER, folder / "store.ropes", rope, str(most)],
        stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": path},
    )  # fmt: skip


def confirmed(text: str) -> list[tuple[int, str]]:
    """Numbers and hashes a writer was told; a kill may cut the last line short."""
    return [tuple(json.loads(line)) for line in text.splitlines(keepends=True) if line[-1] == "\n"]


def check(folder: Path, told: list[tuple[int, str]]) -> int:
    """Every confirmed entry is there, and the record as it was written; the count of entries."""
    with stock_in(folder) as stock:
        assert verify(stock) == []
        kept = {(entry.number, entry.hash) for entry in stock.every_entry()}
    assert set(told) <= kept
    return len(kept)


def kills(folder: Path, times: int) -> None:
    chance = random.Random(18)
    with stock_in(folder):
        pass
    told: list[tuple[int, str]] = []
    for _ in range(times):
        someone = writer(folder, "R1")
        assert someone.stdout is not None
        first = someone.stdout.readline()  # it has begun
        time.sleep(chance.random() * 0.05)
        someone.send_signal(signal.SIGKILL)
        told += confirmed(first + someone.communicate()[0])
        entries = check(folder, told)
        # in hand at each kill: at most the one that was written and not told
        assert len(told) + 1 <= entries <= len(told) + 1 + times


def test_a_kill_loses_at_most_the_entry_in_hand(tmp_path: Path) -> None:
    kills(tmp_path, 4)


@pytest.mark.long
def test_three_hundred_kills(tmp_path: Path) -> None:
    kills(tmp_path, 300)


def two_writers(folder: Path, each: int) -> None:
    with stock_in(folder, None, draft("register"), draft("register", "R2")):
        pass
    both = [writer(folder, rope, each) for rope in ("R1", "R2")]
    told = [pair for one in both for pair in confirmed(one.communicate()[0])]
    assert [one.returncode for one in both] == [0, 0]
    assert len(told) == 2 * each
    assert check(folder, told) == 2 * each + 2


def test_two_people_write_at_once(tmp_path: Path) -> None:
    two_writers(tmp_path, 40)


@pytest.mark.long
def test_two_people_write_two_thousand_entries(tmp_path: Path) -> None:
    two_writers(tmp_path, 1000)


def test_a_full_disk_refuses_the_entry_in_hand_alone(tmp_path: Path) -> None:
    with stock_in(tmp_path) as stock:
        (pages,) = stock.connection.execute("PRAGMA page_count").fetchone()
        stock.connection.execute(f"PRAGMA max_page_count = {pages + 4}")
        told = []

        def fill_up() -> None:
            for _ in range(MANY):
                entry = stock.append(draft("event", note="x" * 400))
                told.append((entry.number, entry.hash))

        with pytest.raises(CannotWrite, match=r"full.*all entries before it are kept"):
            fill_up()
    assert len(told) > 1
    assert check(tmp_path, told) == len(told) + 1


def test_a_file_that_may_not_grow_refuses_the_entry_in_hand_alone(tmp_path: Path) -> None:
    with stock_in(tmp_path):
        pass

    def small() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, 60_000))

    path = os.pathsep.join([str(ROOT / "sim"), str(ROOT / "tests")])
    done = subprocess.run(
        [sys.executable, WRITER, tmp_path / "store.ropes", "R1", str(MANY)],
        capture_output=True, text=True, preexec_fn=small, env={**os.environ, "PYTHONPATH": path},
    )  # fmt: skip
    assert "CannotWrite" in done.stderr
    told = confirmed(done.stdout)
    assert told
    assert check(tmp_path, told) == len(told) + 1


def opened(path: Path) -> None:
    with open_stock(path, built_in_rules()) as stock:
        stock.summaries()
        list(stock.every_entry())


@pytest.mark.parametrize("content", [b"", b"rope,kind\n", b"SQLite format 3\0", b"\xff" * 9000])
def test_what_is_no_record_is_left_as_it_is(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "store.ropes"
    path.write_bytes(content)
    with pytest.raises(DatasetError):
        opened(path)
    with pytest.raises(DatasetError), open_stock(path, {}, make=True):
        pass
    assert path.read_bytes() == content
    assert [one.name for one in tmp_path.iterdir()] == ["store.ropes"]


def test_another_programs_file_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "store.ropes"
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE ropes (name TEXT)")
    other.close()
    before = path.read_bytes()
    with pytest.raises(Mismatch, match="another program"):
        opened(path)
    assert path.read_bytes() == before


def test_a_newer_record_is_left_as_it_is(tmp_path: Path) -> None:
    with stock_in(tmp_path) as stock:
        stock.connection.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    before = (tmp_path / "store.ropes").read_bytes()
    with pytest.raises(Mismatch, match="use a newer edgewear"):
        opened(tmp_path / "store.ropes")
    assert (tmp_path / "store.ropes").read_bytes() == before


@pytest.mark.parametrize("version", range(1, schema.VERSION))
def test_an_older_record_is_brought_up_to_date(version: int, tmp_path: Path) -> None:
    from support.ropes import chained

    entries = chained([draft("register"), draft("job"), draft("event", what="heat")])
    old = sqlite3.connect(tmp_path / "store.ropes", isolation_level=None)
    with transaction(old):
        for statement in (s for one in schema.MIGRATIONS[:version] for s in one):
            old.execute(statement)
        old.execute(f"PRAGMA application_id = {schema.APPLICATION}")
        old.execute(f"PRAGMA user_version = {version}")
        for e in entries:
            values = (*e[:6], json.dumps(e.body), e.before, e.hash)
            old.execute("INSERT INTO entries VALUES (?,?,?,?,?,?,?,?,?)", values)
    old.close()
    with open_stock(tmp_path / "store.ropes", built_in_rules()) as stock:
        assert list(stock.every_entry()) == entries
        assert verify(stock) == []
        assert stock.summaries()[0]["word"] == "set aside"


@pytest.mark.parametrize("seed", range(20))
def test_a_damaged_record_is_a_sentence_or_shows(seed: int, tmp_path: Path) -> None:
    """A byte flipped anywhere: an error in words, or `verify` finds it, or nothing was touched."""
    with stock_in(tmp_path) as stock:
        stock.append_all([draft("event", note=f"entry {n} " + "x" * 60) for n in range(60)])
        whole = list(stock.every_entry())
    path = tmp_path / "store.ropes"
    data, chance = bytearray(path.read_bytes()), random.Random(seed)
    for _ in range(40):
        data[chance.randrange(100, len(data))] ^= 1 << chance.randrange(8)
    path.write_bytes(data)
    with contextlib.suppress(DatasetError), open_stock(path, built_in_rules()) as stock:
        assert verify(stock) or list(stock.every_entry()) == whole


def test_entries_are_neither_changed_nor_deleted(tmp_path: Path) -> None:
    with stock_in(tmp_path) as stock:
        for statement in ("UPDATE entries SET by = 'x'", "DELETE FROM entries"):
            with pytest.raises(sqlite3.IntegrityError, match="enter a correction"):
                stock.connection.execute(statement)


@pytest.mark.parametrize(
    ("tamper", "found"),
    [
        ("UPDATE entries SET body = replace(body, 'fuzz', 'nothing')", "was changed"),
        ("UPDATE entries SET by = 'Somebody' WHERE number = 2", "entry 2 was changed"),
        ("DELETE FROM entries WHERE number = 2", "entry 2 is missing"),
        ("UPDATE standings SET summary = replace(summary, 'set aside', 'in use')", "lists"),
    ],
)
def test_tampering_shows(tamper: str, found: str, tmp_path: Path) -> None:
    with stock_in(tmp_path) as stock:
        stock.append_all([draft("inspection", finding="fuzz"), draft("event", what="heat")])
        assert verify(stock) == []
        stock.connection.execute("DROP TRIGGER entries_stay")
        stock.connection.execute("DROP TRIGGER entries_are_kept")
        stock.connection.execute(tamper)
        assert any(found in one for one in verify(stock))


def test_an_entry_noted_earlier_must_be_there_still(tmp_path: Path) -> None:
    with stock_in(tmp_path) as stock:
        noted = stock.append(draft("event", what="heat")).hash
        assert verify(stock, noted[:16]) == []
        stock.connection.execute("DROP TRIGGER entries_are_kept")
        stock.connection.execute("PRAGMA foreign_keys = OFF")
        stock.connection.execute("DELETE FROM standings")
        stock.connection.execute("DELETE FROM entries WHERE number = 2")
        assert verify(stock) == []  # nothing inside the file can tell
        assert any(noted[:16] in one for one in verify(stock, noted[:16]))


def test_some_entries_are_written_all_or_none(tmp_path: Path) -> None:
    with stock_in(tmp_path) as stock:
        with pytest.raises(ScenarioError) as error:
            stock.append_all([draft("event"), draft("event", "R9"), draft("job", first_mm=59_999)])
        assert len(error.value.problems) == 2
        assert stock.head()[0] == 1


def test_a_record_is_never_made_over_another(tmp_path: Path) -> None:
    from edgewear.stock.connection import create

    with stock_in(tmp_path):
        pass
    before = (tmp_path / "store.ropes").read_bytes()
    with pytest.raises(CannotCreate):
        create(tmp_path / "store.ropes")
    assert (tmp_path / "store.ropes").read_bytes() == before
    with pytest.raises(CannotCreate):
        create(tmp_path / "nowhere" / "store.ropes")
