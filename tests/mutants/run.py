"""Change the sources on purpose, one place at a time, and list the changes no test notices.

    python tests/mutants/run.py --rooms ranking control --sample 300 --seed 1 --minutes 8
    python tests/mutants/run.py --rooms ranking --again survivors.json

Runs in copies of the tree in a temporary folder; the tree itself is left alone. Needs nothing but
the package's own dependencies and pytest, and no network. The tests of a room must pass unchanged.
The list, as JSON, says of each survivor its file, line, what stood there and what came instead;
`--again` tries the survivors of such a list alone, wherever their lines have moved to, and
what `explained.json` holds, with its reason, is counted apart. A mutant that hangs is noticed.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parent))

from mutations import Mutant, mutants
from rooms import ROOMS, ROOT

KNOWN = Path(__file__).with_name("explained.json")
COPIED = ("sim", "tests", "scenarios", "docs", "results/README.md",
          "pyproject.toml", "README.md", "DEVELOPERS.md", "LICENSE", ".ci")  # fmt: skip
BEFOREHAND = ("numpy", "numba", "pandas", "pyarrow.parquet", "scipy.stats", "simpy", "pydantic",
              "typer", "yaml", "pytest")  # fmt: skip
"""Loaded once, before a process is forked for each mutant; none of ours is among them."""
PATIENCE = 4.0
"""A mutant that takes so many times as long as the tests do unchanged hangs."""
GRACE_S = 40.0


@dataclass
class Trial:
    """A process that tries one mutant, or none."""

    room: str
    mutant: Mutant | None
    folder: Path
    begun: float
    limit_s: float


def try_in(folder: Path, room: str, changed: bool) -> int:
    """Fork a process that runs a room's tests in a copy of the tree; its number."""
    process = os.fork()
    if process:
        return process
    code = 70
    try:
        code = _tests(folder, room, changed)
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def _tests(folder: Path, room: str, changed: bool) -> int:
    os.setsid()
    os.chdir(folder)
    said = os.open(folder / "said.txt", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(said, 1)
    os.dup2(said, 2)
    os.environ["PYTHONPATH"] = f"{folder}/sim"
    elsewhere = [path for path in sys.path if (Path(path) / "edgewear").exists()]
    sys.path[:] = [f"{folder}/sim", *(path for path in sys.path if path not in elsewhere)]
    sys.dont_write_bytecode = changed
    importlib.invalidate_caches()
    import pytest

    plain = ["-q", "-x", "-n", "0", "-p", "no:cacheprovider", "--no-header"]
    return int(pytest.main([*plain, *ROOMS[room].tests]))


def write(folder: Path, file: str, source: str) -> None:
    """Write a source, and forget what was compiled of it."""
    path = folder / file
    path.write_text(source, "utf-8")
    for kept in (path.parent / "__pycache__").glob(f"{path.stem}.*"):
        kept.unlink()


def original(file: str) -> str:
    """Give a source of the tree."""
    return (ROOT / file).read_text("utf-8")


def baseline(folder: Path, rooms: list[str]) -> dict[str, float]:
    """Run the tests of every room unchanged; how long each took [s]."""
    took = {}
    for room in rooms:
        begun = time.monotonic()
        _, status = os.waitpid(try_in(folder, room, changed=False), 0)
        took[room] = time.monotonic() - begun
        tell(f"{room}: unchanged, {took[room]:.0f} s")
        if status:
            raise SystemExit(
                f"{room}: the tests fail unchanged\n{(folder / 'said.txt').read_text()[-3000:]}"
            )
    return took


class Slots:
    """Copies of the tree, each with at most one trial in it."""

    def __init__(self, first: Path, count: int) -> None:
        self.free = [first]
        for number in range(1, count):
            self.free.append(first.with_name(f"tree-{number}"))
            shutil.copytree(first, self.free[-1], symlinks=True)
        self.trials: dict[int, Trial] = {}

    def begin(self, room: str, mutant: Mutant, limit_s: float) -> None:
        """Try a mutant in a free copy."""
        folder = self.free.pop()
        write(folder, mutant.file, mutant.source)
        process = try_in(folder, room, changed=True)
        self.trials[process] = Trial(room, mutant, folder, time.monotonic(), limit_s)

    def ended(self) -> Iterator[tuple[Trial, str]]:
        """Give the trials that have come to an end, with what came of each."""
        for process, trial in list(self.trials.items()):
            late = time.monotonic() - trial.begun > trial.limit_s
            if late:
                with contextlib.suppress(ProcessLookupError):
                    os.killpg(process, signal.SIGKILL)
            gone, status = os.waitpid(process, 0 if late else os.WNOHANG)
            if gone:
                del self.trials[process]
                write(trial.folder, trial.mutant.file, original(trial.mutant.file))
                self.free.append(trial.folder)
                yield trial, "hung" if late else "noticed" if status else "survived"


def tell(words: str) -> None:
    """Say how far it is."""
    print(words, file=sys.stderr, flush=True)


def chosen(given: argparse.Namespace) -> list[tuple[str, Mutant]]:
    """Give the mutants to try, in an order drawn by seed."""
    every = [
        (room, mutant)
        for room in given.rooms
        for file in ROOMS[room].files()
        if given.only in file
        for mutant in mutants(file, original(file))
    ]
    if given.again:
        every = list(survivors_of(given.again, every))
    random.Random(given.seed).shuffle(every)
    tell(f"{len(every)} mutants")
    return every[: given.sample]


def survivors_of(listed: Path, every: list[tuple[str, Mutant]]) -> Iterator[tuple[str, Mutant]]:
    """Give the survivors of an earlier run: of those alike in a file, the nearest by line."""
    left = list(every)
    for row in json.loads(listed.read_text("utf-8"))["survivors"]:
        key = tuple(row[part] for part in ("file", "kind", "before", "after"))
        alike = [one for one in left if one[0] == row["room"] and one[1].key == key]
        if alike:
            found = min(alike, key=lambda one: abs(one[1].line - row["line"]))
            left.remove(found)
            yield found
        elif any(room == row["room"] for room, _ in every):
            tell(f"gone: {row['file']}:{row['line']}: {row['before']} -> {row['after']}")


def tried(given: argparse.Namespace, first: Path) -> list[tuple[str, Mutant, str]]:
    """Try mutants until all are tried or the time is over; what came of each."""
    began = time.monotonic()
    waiting = chosen(given)[::-1]
    took = baseline(first, sorted({room for room, _ in waiting}))
    slots = Slots(first, given.workers)
    found = []
    while waiting or slots.trials:
        over = time.monotonic() - began > 60 * given.minutes
        while waiting and slots.free and not over:
            room, mutant = waiting.pop()
            slots.begin(room, mutant, GRACE_S + PATIENCE * took[room])
        for trial, came in slots.ended():
            found.append((trial.room, trial.mutant, came))
            if came == "survived":
                tell(trial.mutant.told())
        if over and not slots.trials:
            break
        time.sleep(0.05)
    return found


def explained() -> dict[tuple[str, ...], str]:
    """Give the survivors that change nothing anybody could see, and why."""
    rows = json.loads(KNOWN.read_text("utf-8"))
    parts = ("file", "kind", "before", "after", "text")
    return {tuple(row[part] for part in parts): row["why"] for row in rows}


def document(found: list[tuple[str, Mutant, str]], given: argparse.Namespace) -> dict:
    """Give what is written: counts and scores by room, and the survivors."""
    known = explained()
    rooms = {}
    for room in given.rooms:
        came = Counter(
            "explained" if how == "survived" and mutant.place in known else how
            for at, mutant, how in found if at == room
        )  # fmt: skip
        score = 1 - came["survived"] / total if (total := came.total()) else None
        rooms[room] = {**came, "tried": total, "score": score}
    survivors = [
        {"room": room, "file": m.file, "line": m.line, "kind": m.kind, "before": m.before,
         "after": m.after, "text": m.text}
        for room, m, came in found if came == "survived" and m.place not in known
    ]  # fmt: skip
    survivors.sort(key=lambda one: (one["file"], one["line"]))
    return {
        "schema": "edgewear.mutants/1",
        "seed": given.seed,
        "rooms": rooms,
        "survivors": survivors,
    }


def asked() -> argparse.Namespace:
    """Read what was typed."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--rooms", nargs="+", choices=ROOMS, default=list(ROOMS))
    parser.add_argument("--only", default="", help="part of a file's path")
    parser.add_argument("--sample", type=int, help="so many, drawn by seed; by default all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--again", type=Path, help="a list of an earlier run: its survivors alone")
    parser.add_argument("--minutes", type=float, default=8.0, help="begin none later than this")
    parser.add_argument("--workers", type=int, default=len(os.sched_getaffinity(0)))
    parser.add_argument("--out", type=Path, help="by default the list is printed")
    return parser.parse_args()


def main() -> None:
    """Copy, try, list."""
    given = asked()
    for name in BEFOREHAND:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    with tempfile.TemporaryDirectory() as place:
        first = Path(place) / "tree-0"
        for name in COPIED:
            at = ROOT / name
            (first / name).parent.mkdir(parents=True, exist_ok=True)
            left = shutil.ignore_patterns("__pycache__", ".hypothesis")
            shutil.copytree(at, first / name, ignore=left) if at.is_dir() else shutil.copy2(
                at, first / name
            )
        found = tried(given, first)
    text = json.dumps(document(found, given), indent=1)
    given.out.write_text(text + "\n", "utf-8") if given.out else print(text)


if __name__ == "__main__":
    main()
