"""Whatever is handed in ends as what it says or as problems with places, never as a traceback."""

from __future__ import annotations

import os
import random
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from edgewear.errors import MOST_CHARACTERS, MOST_SHOWN, Problem, ScenarioError, visible
from edgewear.incoming import SCENARIO, decoded, read_head, read_text
from fuzz.kinds import KINDS, fallen, judged
from support.tree import PACKAGE, ROOT

SAMPLE = {"scenario": 40, "table of tests": 8, "tests": 12, "study table": 16}
"""Mutants of a kind in the quick suite; of other kinds 25, which are read faster."""

COUNTS = {"scenario": 100_000}
MANY = 20_000
CHUNK = 1_000
CHUNKS = [
    (name, first)
    for name in KINDS
    for first in range(10_000, 10_000 + COUNTS.get(name, MANY), CHUNK)
]


@pytest.mark.parametrize("name", KINDS)
def test_a_spoilt_file_is_read_or_refused(name: str, tmp_path: Path) -> None:
    seeds = range(SAMPLE.get(name, 25))
    fell = {seed: said for seed in seeds if (said := fallen(KINDS[name], seed, tmp_path))}
    assert fell == {}


@pytest.mark.long
@pytest.mark.parametrize(("name", "first"), CHUNKS)
def test_spoilt_files_are_read_or_refused_within_time_and_memory(name: str, first: int) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "fuzz.counts", name, str(first), str(CHUNK)],
        env={**os.environ, "PYTHONPATH": f"{ROOT / 'tests'}:{PACKAGE.parent}"},
        capture_output=True,
        text=True,
        errors="replace",
    )
    assert done.returncode == 0, done.stdout[-4_000:] + done.stderr[-4_000:]


@pytest.mark.parametrize("name", KINDS)
def test_the_whole_file_is_read(name: str, tmp_path: Path) -> None:
    """Some mutant is accepted: what the others are refused for is their fault."""
    accepted = 0
    for seed in range(400):
        (tmp_path / KINDS[name].name).write_bytes(KINDS[name].make(random.Random(seed)))
        try:
            list(KINDS[name].use(tmp_path / KINDS[name].name))
        except Exception:
            continue
        accepted += 1
        break
    assert accepted, "every mutant is refused: the file was never good"


CORPUS = {
    "a word where a mapping is due": ("library", b"surfaces: {steel: slippery}\n"),
    "half a quantity": ("library", b"surfaces: {steel: {friction: {low: 1}}}\n"),
    "a list where a mapping is due": ("library", b"ropes: {mine: [a]}\n"),
    "an accuracy without a share": ("library", b"accuracy: {distance/paced: {least: 1 m}}\n"),
    "an accuracy of nothing known": ("library", b"accuracy: {distance/guessed: {share: 1 %}}\n"),
    "a person without a technique": ("library", b"people: {person: {mass: 80 kg}}\n"),
    "an edge class of a surface that is a word": (
        "library",
        b"surfaces: {odd: word}\nedge classes: {mine: {radius: 1 mm, surface: odd}}\n",
    ),
    "a basis nobody knows": (
        "library",
        b"weather: {wet: {value: 1, basis: rumour}}\n",
    ),
    "infinite": ("library", b"weather: {wet: {value: 1e300, high: 1e308}}\n"),
    "a table as a spreadsheet saves it": ("study table", "options,own\nbare,1\n".encode("utf-16")),
    "a terminal escape in a cell": ("study table", b"options,own\nb\x1b[31mare,1\n"),
    "a terminal escape in a heading": ("study table", b"opt\x1b]0;x\x07ions,own\nbare,1\n"),
    "a cell too many": ("study table", b"options,own\nbare,1,2\n"),
    "no rows": ("study table", b"options\n"),
    "nothing": ("study table", b""),
    "a replicate beyond all whole numbers": ("study table", b"options,replicate\nbare,1e300\n"),
    "nothing at all": ("scenario", b""),
    "an escape by its YAML spelling": ("scenario", b'title: "\\e[31mred"\n'),
    "an escape in a key": ("scenario", b'"\\e[31mtitle": x\n'),
    "a title without end": ("scenario", b"title: " + b"x" * 40_000 + b"\n"),
    "keys without end": ("scenario", b"".join(b"k%d: v\n" % i for i in range(20_000))),
    "a key without end": ("scenario", b"x" * 5_000 + b": y\n"),
    "turned text": ("scenario", "title: \u202eabc\n".encode()),
    "JSON deeper than a stack": ("log as JSON", b"[" * 100_000),
    "a kind that is a mapping": (
        "log as JSON",
        b'{"schema": "edgewear.rope-record/1", "entries": [\n{"rope": "R", "kind": {}, "on": "", '
        b'"by": "", "body": {}}]}',
    ),
    "a number beyond floats": (
        "log as JSON",
        b'{"schema": "edgewear.rope-record/1", "entries": [{"rope": "R", "kind": "register", '
        b'"on": "2026-01-01", "by": "x", "body": {"length_m": 1' + b"0" * 400 + b"}}]}",
    ),
}
"""What once fell, or is near to it: name -> kind of file and its bytes."""


FELL = [
    ("forecast", 10_326),  # a control character spelled by an escape was printed
    ("forecast", 10_641),  # a mapping where a word is due
    ("tests", 10_000),  # a folder as the file of a scenario: told without a place
    ("tests", 10_251),  # no such file: told without a place
    ("record of ropes", 1_296),  # the index left an entry out, and the rest was believed
    ("record of ropes", 3_117),
    ("record of ropes", 4_434),
]
"""Mutants that once fell, by their seeds."""


@pytest.mark.parametrize(("name", "seed"), FELL)
def test_mutants_that_once_fell_are_refused_in_words(name: str, seed: int, tmp_path: Path) -> None:
    assert fallen(KINDS[name], seed, tmp_path) == ""


@pytest.mark.parametrize("name", CORPUS)
def test_what_once_fell_is_refused_at_its_place(name: str, tmp_path: Path) -> None:
    kind, raw = CORPUS[name]
    path = tmp_path / KINDS[kind].name
    path.write_bytes(raw)
    assert judged(KINDS[kind], path) == ""
    with pytest.raises(ScenarioError) as caught:
        list(KINDS[kind].use(path))
    own = [p for p in caught.value.problems if p.file == str(path)]
    assert own, "the file itself is named"
    assert all(p.line >= 1 and p.column >= 1 for p in own)


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _folder(path: Path) -> None:
    path.mkdir()


def _socket(path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as made:
        made.bind(str(path))


def _link_to_a_device(path: Path) -> None:
    path.symlink_to("/dev/zero")


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize("make", [_pipe, _folder, _socket, _link_to_a_device])
def test_what_is_no_regular_file_is_refused_at_once(make, name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)  # a socket's path may not be long
    path = tmp_path / KINDS[name].name
    make(Path(path.name))
    signal.alarm(20)  # a pipe that is opened keeps the test for ever: then this ends it
    try:
        kind = KINDS[name]
        with pytest.raises(Exception, match=r"is a (pipe|folder|socket|device)") as caught:
            list(kind.use(path))
    finally:
        signal.alarm(0)
    assert caught.type.__module__ == "edgewear.errors"


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-32", "latin-1", "cp1252"])
def test_another_encoding_is_refused_in_a_sentence(encoding: str) -> None:
    with pytest.raises(ScenarioError, match=r":\d+:\d+: .*(not UTF-8|not allowed)"):
        decoded("title: Brücke\n".encode(encoding), "file")


def test_a_mark_of_utf_8_is_no_text() -> None:
    assert decoded(b"\xef\xbb\xbftitle", "file") == "title"


def test_too_large_a_file_is_said_by_where_it_ends(tmp_path: Path) -> None:
    path = tmp_path / "large.yaml"
    path.write_bytes(b"#\n" * (SCENARIO.most_bytes // 2 + 10))
    with pytest.raises(ScenarioError, match=rf":{SCENARIO.most_bytes // 2 + 1}:1: larger than"):
        read_text(path, SCENARIO)


@pytest.mark.parametrize("name", ["no\0file", "x" * 5_000, "\ud800"])
def test_a_name_that_no_file_can_have_is_said(name: str) -> None:
    with pytest.raises(ScenarioError, match="cannot be read"):
        read_head(name, 1)


def test_every_control_character_is_shown_as_an_escape() -> None:
    """All of Unicode's, by its own list of what is not printable and no blank."""
    for number in (*range(0x20), *range(0x7F, 0xA0), 0x200E, 0x202E, 0x2028, 0xFEFF, 0xD800):
        found = visible(chr(number))
        assert found.isascii()
        assert found.isprintable()
        assert found.startswith("\\")


def test_a_message_is_never_without_end() -> None:
    problem = Problem("f", 1, 1, "a" * 9_999, f"{'x' * 50_000!r}: allowed are this and that")
    said = str(ScenarioError([problem]))
    assert len(said) < MOST_CHARACTERS + 400
    assert "allowed are this and that" in said


def test_many_problems_are_counted_not_poured_out() -> None:
    many = [Problem("f", n, 1, "", "wrong") for n in range(1, 301)]
    found = ScenarioError([*many, Problem("g", 1, 1, "", "wrong")])
    assert len(found.problems) == MOST_SHOWN + 2
    assert f"{300 - MOST_SHOWN} more" in str(found)
    assert found.problems[-1].file == "g"
