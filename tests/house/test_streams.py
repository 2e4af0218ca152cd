"""Whatever the streams of a command are: no traceback, nothing lost, no line too wide."""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

import pytest

from edgewear.cli.reference import commands_page
from edgewear.report.terminal.console import display_width
from support.preloaded import ENDS, Came, Preloaded
from support.seeds import seeds
from support.shell import EDGEWEAR
from support.studies import bytes_of
from support.tree import ROOT

DOCUMENTED = {
    int(code)
    for row in re.findall(r"^\| (\d[\d, ]*) \|", commands_page(), re.M)
    for code in row.split(",")
}
UNWRITTEN = 74
PROBLEMS = (2, 65, 73, 74, 75)
WIDEST, LEAST = 80, 40
ENCODINGS = ("ascii", "latin-1", "cp1252", "utf-8", "utf-16", "cp037", "koi8-r")
COLUMNS = ("", "20", "39", "40", "41", "52", "63", "64", "79", "80", "81", "132", "400", "0", "-7",
           "wide", "9" * 30)  # fmt: skip
PLAIN = ({}, {"NO_COLOR": "1"}, {"TERM": "dumb"}, {"NO_COLOR": "", "TERM": "xterm"})
NAME = "Br\xfcstung \u5317 \u2264"  # an umlaut, a sign two cells wide, one that few encodings have
ESCAPES = re.compile(r"\x1b\[[\d;?]*[A-Za-z]")
SPELLED = re.compile(r"\\(x[0-9a-f]{2}|u[0-9a-f]{4}|U[0-9a-f]{8})")


class Typed(NamedTuple):
    """A command, what it writes to, and what it does where every stream is as most have it."""

    words: tuple[str, ...]
    writes: str = ""  # the folder given with --out, below that of the test


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, preloaded: Preloaded) -> Path:
    """A place with scenarios whose names no ASCII has, and a dataset."""
    root = tmp_path_factory.mktemp("streams")
    text = (ROOT / "scenarios" / "reference-ascent.yaml").read_text("utf-8")
    (root / "site.yaml").write_text(
        re.sub("^title: .*", f"title: {NAME}", text, flags=re.M), "utf-8"
    )
    (root / "bad.yaml").write_text(f"title: {NAME}\n{NAME}: 3\njob: [{NAME}]\n", "utf-8")
    shutil.copy(ROOT / "scenarios" / "procedure.yaml", root / "team.yaml")
    shutil.copy(ROOT / "scenarios" / "sleeve-study.yaml", root / "study.yaml")
    came = preloaded.run(*SMALL, "--out", "dataset", folder=root)
    assert came.code == 0
    words = ("store.ropes", "R1", "--length", "60 m", "--by", "A. Keeper")
    assert preloaded.run("rope", "register", *words, folder=root).code == 0
    return root


SMALL = ("compare", "site.yaml", "--replicates", "20", "--workers", "1")
TYPED = (
    Typed(()),
    Typed(("--help",)),
    Typed(("--version",)),
    Typed(("compare", "--help")),
    Typed(("rope", "--help")),
    Typed(("chek",)),
    Typed(("run", "--opt")),
    Typed(("check", NAME)),
    Typed(("check", "bad.yaml")),
    Typed(("check", "site.yaml", "team.yaml")),
    Typed(("check", "--details", "team.yaml")),
    Typed(("check", "--json", "site.yaml")),
    Typed(("run", "site.yaml")),
    Typed(("run", "--json", "site.yaml")),
    Typed(SMALL, "out"),
    Typed((*SMALL, "--details"), "out"),
    Typed((*SMALL, "--json"), "out"),
    Typed(("report", "dataset"), "page"),
    Typed(("sweep", "--verify", "dataset")),
    Typed(("sweep", "--verify", "nothing")),
    Typed(("replay", "dataset", "3")),
    Typed(("replay", "dataset", "9999999")),
    Typed(("how-far", "site.yaml")),
    Typed(("how-far", "site.yaml", "--input", "job/times", "--replicates", "20", "--workers", "1")),
    Typed(("self-check",)),
    Typed(("rope", "show", "store.ropes", "R1")),
    Typed(("rope", "due", "store.ropes")),
    Typed(("rope", "verify", "store.ropes")),
    Typed(("rope", "register", "store.ropes", "R1", "--length", "60 m", "--by", NAME)),
)


QUICK = [one for one in TYPED if one.words[:2] in {
    ("check", "bad.yaml"), ("check", "--json"), ("run", "site.yaml"), ("compare", "site.yaml"),
    ("rope", "show"),
} and one.words[len(SMALL):] == ()]  # fmt: skip


class Streams(NamedTuple):
    """How the streams of a command stand."""

    environment: Mapping[str, str]
    stdin: str
    stdout: str
    stderr: str
    encoding: str

    @property
    def width(self) -> int:
        """Columns asked for."""
        asked = self.environment.get("COLUMNS", "")
        known = asked.isdecimal() and int(asked) > 0
        return min(max(int(asked), LEAST), WIDEST) if known else WIDEST

    def escapes(self, end: str) -> bool:
        """Tell whether a stream may show emphasis."""
        plain = self.environment.get("NO_COLOR") or self.environment.get("TERM") == "dumb"
        return end == "terminal" and not plain


def drawn(chance: random.Random) -> Streams:
    """Draw how the streams stand; each as most have it half of the time."""
    columns = chance.choice(COLUMNS)
    return Streams(
        {"TERM": "xterm", **chance.choice(PLAIN), **({"COLUMNS": columns} if columns else {})},
        chance.choice(("pipe", "full", "closed")),
        chance.choice(("pipe", *ENDS)),
        chance.choice(("pipe", *ENDS)),
        chance.choice(ENCODINGS),
    )


def read(raw: bytes, encoding: str, cut: bool = False) -> str:
    """Read what was printed, escapes of what an encoding lacks as what they stand for.

    Parameters:
        cut: whether reading ended in the midst of a line.
    """
    text = raw.decode(encoding, "ignore" if cut else "strict").replace("\r\n", "\n")
    return SPELLED.sub(lambda found: chr(int(found[1][1:], 16)), text)


def too_wide(text: str, width: int) -> list[str]:
    """Give the lines that are wider than asked; a path is not broken."""
    found = []
    for line in ESCAPES.sub("", text).splitlines():
        paths = [word for word in line.split(" ") if "/" in word and len(word) > LEAST // 2]
        if display_width(line) - sum(map(len, paths)) > width:
            found.append(line)
    return found


def check_text(raw: bytes, end: str, streams: Streams, whole_lines: bool) -> None:
    """Hold what came out of a stream to what is promised of it.

    Parameters:
        whole_lines: whether nothing is broken there: JSON, or the problems of a file.
    """
    text = read(raw, streams.encoding, cut=end == "head")
    assert "Traceback" not in text
    assert streams.escapes(end) or "\x1b" not in text
    if end in ("pipe", "terminal") and not whole_lines:
        assert too_wide(text, streams.width) == []


def check_code(came: Came, usual: Came, streams: Streams) -> None:
    """The code tells whether what was asked for was written."""
    assert came.code in DOCUMENTED
    if not usual.out or streams.stdout in ("pipe", "terminal", "closed"):
        assert came.code == usual.code
    elif streams.stdout in ("full", "locked", "gone"):
        assert came.code == UNWRITTEN
    else:
        assert came.code in (UNWRITTEN, usual.code)
    if came.code == UNWRITTEN != usual.code and streams.stderr == "pipe":
        said = streams.stdout in ("full", "locked")
        assert ("standard output: " in read(came.told, streams.encoding)) == said


def hold(preloaded: Preloaded, folder: Path, typed: Typed, streams: Streams, at: Path) -> None:
    """Run a command as usual and with such streams, and compare."""
    usually, here = (at / name for name in ("usually", "here"))
    usual, came = (
        preloaded.run(*typed.words, *(("--out", out) if typed.writes else ()), folder=folder, **how)
        for out, how in (
            (usually, {"environment": {"COLUMNS": str(streams.width)}}),
            (here, streams._asdict()),
        )
    )
    assert came.trouble == ""
    as_json = "--json" in typed.words
    check_text(came.out, streams.stdout, streams, as_json)
    check_text(came.told, streams.stderr, streams, came.code in PROBLEMS)
    check_code(came, usual, streams)
    if streams.stdout == "pipe" and as_json and usual.code == 0:
        where = {"dataset", "report"}
        pair = [json.loads(one.out.decode(how)) for one, how in
                ((usual, "utf-8"), (came, streams.encoding))]  # fmt: skip
        expected, told = ({k: v for k, v in one.items() if k not in where} for one in pair)
        assert told == expected
    elif streams.stdout == "pipe":
        expected = usual.out.decode().replace("usually", "here")
        assert read(came.out, streams.encoding).split() == expected.split()
    if typed.writes:
        assert bytes_of(here) == bytes_of(usually)


@pytest.mark.parametrize("typed", QUICK, ids=lambda typed: "-".join(typed.words[:3]))
def test_any_streams(typed: Typed, preloaded: Preloaded, folder: Path, tmp_path: Path) -> None:
    chance = random.Random(str(typed.words))
    hold(preloaded, folder, typed, drawn(chance), tmp_path)


NARROW = [one for one in TYPED if one.words[:2] in {
    ("sweep", "--verify"), ("rope", "show"), ("rope", "verify"), ("check", "--details"),
    ("replay", "dataset"),
}]  # fmt: skip


@pytest.mark.parametrize("typed", NARROW, ids=lambda typed: "-".join(typed.words))
def test_no_line_is_wider_than_the_narrowest(
    typed: Typed, preloaded: Preloaded, folder: Path
) -> None:
    """The folder's name is no path that has to stay in one."""
    came = preloaded.run(*typed.words, folder=folder, environment={"COLUMNS": str(LEAST)})
    assert too_wide(read(came.out, "utf-8"), LEAST) == []


def test_a_fresh_process_stands_as_those_that_are_forked(folder: Path) -> None:
    """The stream's encoding as the environment says; a reader who leaves; a stdout that is shut."""
    read_on = f"{EDGEWEAR} check site.yaml --json | (read -n 1; sleep 0.1)"
    script = f"{read_on}; {EDGEWEAR} --version >&-; echo $?"
    ended = subprocess.run(
        ["bash", "-c", script], cwd=folder, capture_output=True, text=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert ended.stderr == ""
    assert ended.stdout == "0\n"


@pytest.mark.long
@pytest.mark.parametrize("seed", seeds(500))
def test_any_streams_five_hundred_times(
    seed: int, preloaded: Preloaded, folder: Path, tmp_path: Path
) -> None:
    chance = random.Random(seed)
    hold(preloaded, folder, chance.choice(TYPED), drawn(chance), tmp_path)
