"""Commands that write, ended at any moment: nothing half written, and the same files afterwards."""

from __future__ import annotations

import json
import random
import re
import shutil
import signal
import time
from pathlib import Path

import pytest

from edgewear.dataset.door import TEMPORARY
from support.jobs import MEASURED, PROCEDURE, STUDY
from support.preloaded import Came, Preloaded
from support.programmes import tower
from support.seeds import seeds
from support.studies import bytes_of
from support.tree import ROOT

SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
ALONE, TWO = ("--workers", "1"), ("--workers", "2")
SMALL = ("--replicates", "20", *ALONE)
TOLD = (
    tower("short ascents", "1 m")
    + """\
asked:
  wear/sheath energy: {value: 3e8 J/m3, low: 3e7 J/m3, high: 3e9 J/m3, distribution: lognormal}
tests:
  a: {how far: job/1/ascend, seen: [{core visible: {not by: 1 m, by: 1.5 m}}]}
"""
)
COMMANDS = {
    "compare": ("compare", "site.yaml", *SMALL, "--out"),
    "compare with workers": ("compare", "site.yaml", "--replicates", "600", *TWO, "--out"),
    "report": ("report", "dataset", "--out"),
    "replay": ("replay", "dataset", "3", "--traces"),
    "how-far": ("how-far", "site.yaml", "--input", "job/times", *SMALL, "--out"),
    "deposit": ("deposit", "dataset", "--out"),
    "sweep": ("sweep", "study.yaml", *ALONE, "--out"),
    "sweep with workers": ("sweep", "study.yaml", *TWO, "--out"),
    "faults": ("faults", "team.yaml", "--replicates", "2", *ALONE, "--out"),
    "faults with workers": ("faults", "team.yaml", "--replicates", "8", *TWO, "--out"),
    "learn": ("learn", "tests.yaml", "--particles", "64", "--provisional", *ALONE, "--out"),
    "observe": ("observe", "measured.yaml", "--replicates", "256", *ALONE, "--out"),
    "propose": ("propose", "measured.yaml", *SMALL, "--out"),
    "freeze": ("forecast", "freeze", "site.yaml", "--replicates", "20", "--out"),
}  # fmt: skip
"""Commands that write; the place is put behind."""

ONCE = ("freeze",)
"""Commands that never write over: typed again they are refused where the whole file is there."""

Usual = dict[str, tuple[Came, dict[str, str], float]]

GROWING = {"manifest.json", "README.md"}
"""Files that say how far a dataset is: they may be those of one that is not finished."""

STATE = re.compile(r"unfinished-[\w-]+\.npz|(parts|progress)\.txt|lock")
"""Files that say how far a command is, so that it goes on there."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, preloaded: Preloaded) -> Path:
    """A place with a scenario and a dataset of it."""
    root = tmp_path_factory.mktemp("kills")
    shutil.copy(ROOT / "scenarios" / "reference-ascent.yaml", root / "site.yaml")
    (root / "study.yaml").write_text(STUDY.replace("rows: 4", "rows: 256"), "utf-8")
    (root / "team.yaml").write_text(PROCEDURE, "utf-8")
    (root / "measured.yaml").write_text(MEASURED, "utf-8")
    (root / "tests.yaml").write_text(TOLD, "utf-8")
    assert preloaded.run("compare", "site.yaml", *SMALL, "--out", "dataset", folder=root).code == 0
    return root


@pytest.fixture(scope="module")
def usual(folder: Path, preloaded: Preloaded) -> Usual:
    """What each command does when nobody ends it: what came, the files, and seconds; by need."""
    return {}


def as_usual(name: str, usual: Usual, folder: Path, preloaded: Preloaded) -> None:
    """Let a command do what it does when nobody ends it, once."""
    if name not in usual:
        place = folder / f"usual-{name}" / name
        place.parent.mkdir()
        began = time.monotonic()
        came = preloaded.run(*COMMANDS[name], place, folder=folder)
        assert came.code in (0, 3), (name, came)
        usual[name] = came, files_of(place), time.monotonic() - began


def files_of(place: Path) -> dict[str, str]:
    """What a command wrote, a folder or a file; not what it had only begun, under another name."""
    found = bytes_of(place.parent)
    for path in place.parent.rglob("*.forecast.yaml"):  # the moment of its making is in it
        said = re.sub(r"^(frozen|seal): .*\n", "", path.read_text("utf-8"), flags=re.M)
        found[path.relative_to(place.parent).as_posix()] = said
    return {name: sha for name, sha in found.items() if not name.endswith(TEMPORARY)}


def ended_once(
    name: str, preloaded: Preloaded, folder: Path, usual: Usual, chance: random.Random, at: Path
) -> None:
    """End a command, a worker of it or both at a random moment, and type it again."""
    as_usual(name, usual, folder, preloaded)
    came, files, seconds = usual[name]
    place = at / name
    number = chance.choice(SIGNALS)
    whom = chance.choice(("command", "worker", "all")) if TWO[1] in COMMANDS[name] else "command"
    ended = preloaded.run(
        *COMMANDS[name], place, folder=folder,
        ends_by=number, after_s=chance.uniform(0, seconds), whom=whom,
    )  # fmt: skip
    assert ended.trouble == ""
    assert b"Traceback" not in ended.told
    assert ended.code in (came.code, -number, 130), ended.told
    assert ended.left == []
    left = files_of(place)
    wrong = {Path(one).name for one, sha in left.items() if files.get(one) != sha}
    assert {one for one in wrong if not STATE.fullmatch(one)} <= GROWING
    again = preloaded.run(*COMMANDS[name], place, folder=folder)
    refused = name in ONCE and left.keys() >= files.keys()
    assert (again.code == came.code) is not refused, again.told
    assert files_of(place) == files
    assert not list(at.rglob(f"*{TEMPORARY}"))


@pytest.mark.long
@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("seed", seeds(100))
def test_a_command_that_is_ended_leaves_nothing_half_written(
    name: str, seed: int, preloaded: Preloaded, folder: Path, usual: Usual, tmp_path: Path
) -> None:
    ended_once(name, preloaded, folder, usual, random.Random(f"{name}{seed}"), tmp_path)


def test_a_terminal_that_closes_over_workers_leaves_our_own_words_alone(
    preloaded: Preloaded, folder: Path, tmp_path: Path
) -> None:
    """Python's process beside them is hung up too: its warnings would stand in `nohup.out`."""
    ended = preloaded.run(
        *COMMANDS["compare with workers"], tmp_path / "out", folder=folder,
        ends_by=signal.SIGHUP, whom="all at work",
    )  # fmt: skip
    assert (ended.code, ended.trouble, ended.left) == (130, "", [])
    told = ended.told.decode().splitlines()
    assert [line for line in told if not line.startswith("stopped on request; ")] == []


BY = ("--by", "A. Keeper", "--on", "2026-05-01")
ENTRIES = {
    "register": (1, ("register", "store.ropes", "R2", "--length", "50 m", *BY)),
    "job": (1, ("job", "store.ropes", "R1", "--job", "pier", *BY)),
    "look": (1, ("look", "store.ropes", "R1", "--finding", "fuzz", *BY)),
    "event": (1, ("event", "store.ropes", "R1", "--what", "heat", *BY)),
    "import": (60, ("import", "store.ropes", "log.json")),
}
"""What enters something into a record of ropes: how much, and what is typed."""


def entered(folder: Path, preloaded: Preloaded) -> list[dict[str, object]]:
    """Give the entries of a record that is as it was written."""
    assert preloaded.run("rope", "verify", "store.ropes", folder=folder).code == 0
    export = preloaded.run("rope", "export", "store.ropes", "--out", "all.json", folder=folder)
    assert export.code == 0, export.told
    found = json.loads((folder / "all.json").read_text("utf-8"))
    (folder / "all.json").unlink()
    entries: list[dict[str, object]] = found["entries"]
    return entries


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory, preloaded: Preloaded) -> Path:
    """A record of one rope, and a log of many jobs of others."""
    root = tmp_path_factory.mktemp("kept")
    words = ("register", "store.ropes", "R1", "--length", "60 m", *BY)
    assert preloaded.run("rope", *words, folder=root).code == 0
    first = entered(root, preloaded)[0]
    log = {"schema": "edgewear.rope-record/1",
           "entries": [{**first, "rope": f"L{n}"} for n in range(60)]}  # fmt: skip
    (root / "log.json").write_text(json.dumps(log), "utf-8")
    return root


@pytest.mark.long
@pytest.mark.parametrize("name", ENTRIES)
@pytest.mark.parametrize("seed", seeds(40))
def test_an_entry_that_is_ended_is_there_or_not_and_loses_no_other(
    name: str, seed: int, preloaded: Preloaded, kept: Path, tmp_path: Path
) -> None:
    chance, at = random.Random(f"{name}{seed}"), tmp_path / "at"
    shutil.copytree(kept, at)
    before, (count, words) = entered(at, preloaded), ENTRIES[name]
    number = chance.choice(SIGNALS)
    ended = preloaded.run("rope", *words, folder=at, ends_by=number, after_s=chance.uniform(0, 0.4))
    assert (ended.trouble, ended.left) == ("", [])
    assert ended.code in (0, -number, 130), ended.told
    after = entered(at, preloaded)
    assert after[: len(before)] == before
    assert len(after) in {len(before), len(before) + count}
    if len(after) == len(before):
        assert ended.code != 0
        assert preloaded.run("rope", *words, folder=at).code == 0
        assert len(entered(at, preloaded)) == len(before) + count
