"""Commands that write, ended at any moment: nothing half written, and the same files afterwards."""

from __future__ import annotations

import random
import shutil
import signal
import time
from pathlib import Path

import pytest

from edgewear.dataset.door import TEMPORARY
from support.preloaded import Came, Preloaded
from support.seeds import seeds
from support.studies import bytes_of
from support.tree import ROOT

SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
SMALL = ("--replicates", "20", "--workers", "1")
FOLDERS = {
    "compare": ("compare", "site.yaml", *SMALL, "--out"),
    "report": ("report", "dataset", "--out"),
    "replay": ("replay", "dataset", "3", "--traces"),
    "how-far": ("how-far", "site.yaml", "--input", "job/times", *SMALL, "--out"),
    "deposit": ("deposit", "dataset", "--out"),
}  # fmt: skip
"""Commands by what they write; the place is put behind."""

Usual = dict[str, tuple[Came, dict[str, str], float]]

GROWING = {"manifest.json", "README.md"}
"""Files that say how far a dataset is: they may be those of one that is not finished."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, preloaded: Preloaded) -> Path:
    """A place with a scenario and a dataset of it."""
    root = tmp_path_factory.mktemp("kills")
    shutil.copy(ROOT / "scenarios" / "reference-ascent.yaml", root / "site.yaml")
    assert preloaded.run("compare", "site.yaml", *SMALL, "--out", "dataset", folder=root).code == 0
    return root


@pytest.fixture(scope="module")
def usual(folder: Path, preloaded: Preloaded) -> Usual:
    """What each command does when nobody ends it: what came, the files, and seconds."""
    found = {}
    for name, words in FOLDERS.items():
        place = folder / f"usual-{name}" / name
        place.parent.mkdir()
        began = time.monotonic()
        came = preloaded.run(*words, place, folder=folder)
        assert came.code == 0, (name, came)
        found[name] = came, files_of(place), time.monotonic() - began
    return found


def files_of(place: Path) -> dict[str, str]:
    """What a command wrote, a folder or a file; not what it had only begun, under another name."""
    found = bytes_of(place.parent)
    return {name: sha for name, sha in found.items() if not name.endswith(TEMPORARY)}


def ended_once(
    name: str,
    preloaded: Preloaded,
    folder: Path,
    usual: Usual,
    chance: random.Random,
    at: Path,
) -> None:
    """End a command at a random moment and type it again."""
    came, files, seconds = usual[name]
    place = at / name
    number = chance.choice(SIGNALS)
    ended = preloaded.run(
        *FOLDERS[name], place, folder=folder, ends_by=number, after_s=chance.uniform(0, seconds)
    )
    assert ended.trouble == ""
    assert b"Traceback" not in ended.told
    assert ended.code in (came.code, -number, 130)
    left = files_of(place)
    wrong = {one for one, sha in left.items() if files.get(one) != sha}
    assert {Path(one).name for one in wrong} <= GROWING
    again = preloaded.run(*FOLDERS[name], place, folder=folder)
    assert again.code == came.code, again.told
    assert files_of(place) == files
    assert not list(at.rglob(f"*{TEMPORARY}"))


@pytest.mark.long
@pytest.mark.parametrize("name", FOLDERS)
@pytest.mark.parametrize("seed", seeds(150))
def test_a_command_that_is_ended_leaves_nothing_half_written(
    name: str, seed: int, preloaded: Preloaded, folder: Path, usual: Usual, tmp_path: Path
) -> None:
    ended_once(name, preloaded, folder, usual, random.Random(f"{name}{seed}"), tmp_path)
