"""Change the sources on purpose, one place at a time, and list the changes no test notices.

    python tests/mutants/run.py --rooms ranking control --sample 300 --seed 1 --minutes 8
    python tests/mutants/run.py --rooms ranking --again survivors.json

Runs in copies of the tree in a temporary folder; the tree itself is left alone. Needs nothing but
the package's own dependencies, pytest and coverage, and no network. The tests of a room must pass
unchanged; while they do, it is noted which lines each test runs. A mutant is tried by those that
run its line, the quickest first, and then by all others of the room, until one fails: what survives
has survived them all. `--minutes` bounds everything; no mutant begins too late to be tried by all
tests, and what is cut all the same is counted as unfinished, and against the score. What came so
far is written to `--out` after every mutant.
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
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parent))

from mutations import Mutant, mutants
from reached import Record, Recorder, Turns, file_of
from rooms import ROOMS, ROOT

KNOWN = Path(__file__).with_name("explained.json")
COPIED = ("sim", "tests", "scenarios", "docs", "results/README.md",
          "pyproject.toml", "README.md", "DEVELOPERS.md", "LICENSE", ".ci")  # fmt: skip
BEFOREHAND = ("numpy", "numba", "pandas", "pyarrow.parquet", "scipy.stats", "simpy", "pydantic",
              "typer", "yaml", "pytest", "coverage")  # fmt: skip
"""Loaded once, before a process is forked for each mutant; none of ours is among them."""
PATIENCE = 4.0
"""A mutant that takes so many times as long as the tests do unchanged hangs."""
GRACE_S = 40.0


NONE_LEFT = 5
"""What pytest answers where no test was left to run."""


@dataclass
class Trial:
    """A process that tries one mutant by some tests, and those that come after them."""

    room: str
    mutant: Mutant
    folder: Path
    begun: float
    limit_s: float
    rest: list[str]


def forked(folder: Path, said: str, work: Callable[[], int]) -> int:
    """Fork a process that works in a copy of the tree; its number."""
    process = os.fork()
    if process:
        return process
    code = 70
    try:
        _settle(folder, said)
        code = work()
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def _settle(folder: Path, said: str) -> None:
    os.setsid()
    os.chdir(folder)
    out = os.open(folder / said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(out, 1)
    os.dup2(out, 2)
    os.environ["PYTHONPATH"] = f"{folder}/sim"
    elsewhere = [path for path in sys.path if (Path(path) / "edgewear").exists()]
    sys.path[:] = [f"{folder}/sim", *(path for path in sys.path if path not in elsewhere)]
    importlib.invalidate_caches()


def tested(files: list[str], part: Turns | Recorder) -> int:
    """Run tests, until one fails; what pytest answers."""
    import pytest

    plain = ["-q", "-x", "-n", "0", "-p", "no:cacheprovider", "--no-header"]
    return int(pytest.main([*plain, *files], plugins=[part]))


def tried_by(tests: list[str]) -> int:
    """Try a mutant; 0 where none of the tests notices it."""
    sys.dont_write_bytecode = True
    code = tested(sorted({file_of(test) for test in tests}), Turns(tests))
    return 0 if code == NONE_LEFT else code


def stopped(process: int) -> None:
    """Kill a process and what it has begun."""
    for kill in (os.killpg, os.kill):
        with contextlib.suppress(ProcessLookupError):
            kill(process, signal.SIGKILL)
    os.waitpid(process, 0)


def write(folder: Path, file: str, source: str) -> None:
    """Write a source, and forget what was compiled of it."""
    path = folder / file
    path.write_text(source, "utf-8")
    for kept in (path.parent / "__pycache__").glob(f"{path.stem}.*"):
        kept.unlink()


def original(file: str) -> str:
    """Give a source of the tree."""
    return (ROOT / file).read_text("utf-8")


def test_files(room: str) -> list[str]:
    """Give the files of the tests of a room."""
    found: dict[str, None] = {}
    for name in ROOMS[room].tests:
        at = ROOT / name
        every = sorted(at.rglob("test_*.py")) if at.is_dir() else [at]
        found |= dict.fromkeys(path.relative_to(ROOT).as_posix() for path in every)
    return list(found)


def baseline(folder: Path, rooms: list[str], workers: int, end: float) -> Record:
    """Run the tests of every room unchanged, each file in a process; what they reach."""
    sources = sorted({file for room in rooms for file in ROOMS[room].files()})
    waiting = list(dict.fromkeys(file for room in rooms for file in test_files(room)))
    running: dict[int, tuple[str, Path]] = {}
    record = Record()
    while waiting or running:
        while waiting and len(running) < workers:
            file = waiting.pop()
            name = file.replace("/", "-")
            out = folder / f"{name}.json"
            process = forked(folder, f"{name}.txt", partial(_recorded, folder, sources, file, out))
            running[process] = file, out
        for process in list(running):
            gone, status = os.waitpid(process, os.WNOHANG)
            if gone:
                file, out = running.pop(process)
                if os.waitstatus_to_exitcode(status) not in (0, NONE_LEFT):
                    _give_up(
                        running, f"{file} fails unchanged\n{out.with_suffix('.txt').read_text()}"
                    )
                record.add(json.loads(out.read_text("utf-8")))
        if time.monotonic() > end:
            _give_up(running, "no time is left after the tests unchanged")
        time.sleep(0.02)
    return record


def _recorded(folder: Path, sources: list[str], file: str, out: Path) -> int:
    return tested([file], Recorder(folder, sources, out))


def _give_up(running: dict[int, tuple[str, Path]], words: str) -> None:
    for process in running:
        stopped(process)
    raise SystemExit(words[-3000:])


class Slots:
    """Copies of the tree, each with at most one trial in it."""

    def __init__(self, first: Path, count: int, record: Record) -> None:
        self.record = record
        self.free = [first]
        for number in range(1, count):
            self.free.append(first.with_name(f"tree-{number}"))
            shutil.copytree(first, self.free[-1], symlinks=True)
        self.trials: dict[int, Trial] = {}

    def begin(self, room: str, tests: list[str], mutant: Mutant) -> None:
        """Try a mutant in a free copy by those of the tests that run its line."""
        folder = self.free.pop()
        write(folder, mutant.file, mutant.source)
        parts = self.record.parted(tests, mutant.file, original(mutant.file), mutant.line)
        first, rest = parts if parts[0] else parts[::-1]
        self._try(room, mutant, folder, first, rest)

    def _try(
        self, room: str, mutant: Mutant, folder: Path, tests: list[str], rest: list[str]
    ) -> None:
        process = forked(folder, "said.txt", partial(tried_by, tests))
        limit_s = GRACE_S + PATIENCE * self.record.seconds(tests)
        self.trials[process] = Trial(room, mutant, folder, time.monotonic(), limit_s, rest)

    def ended(self, over: bool) -> Iterator[tuple[Trial, str]]:
        """Give the trials that have come to an end, or all when it is over; what came of each."""
        for process, trial in list(self.trials.items()):
            gone, status = os.waitpid(process, os.WNOHANG)
            late = time.monotonic() - trial.begun > trial.limit_s
            if not gone and not late and not over:
                continue
            del self.trials[process]
            if not gone:
                stopped(process)
            elif not status and trial.rest and not over:
                self._try(trial.room, trial.mutant, trial.folder, trial.rest, [])
                continue
            write(trial.folder, trial.mutant.file, original(trial.mutant.file))
            self.free.append(trial.folder)
            undecided = not status and (not gone or trial.rest)
            yield trial, "hung" if late else "unfinished" if undecided else came_of(status)


def came_of(status: int) -> str:
    """Say what came of a trial that has ended by itself."""
    return "noticed" if status else "survived"


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


def tried(given: argparse.Namespace, first: Path, end: float) -> list[tuple[str, Mutant, str]]:
    """Try mutants until all are tried or the time is over; what came of each."""
    waiting = chosen(given)[::-1]
    begun = time.monotonic()
    record = baseline(first, sorted({room for room, _ in waiting}), given.workers, end)
    tests = {room: record.of_files(test_files(room)) for room in given.rooms}
    longest_s = max((record.seconds(every) for every in tests.values()), default=0.0)
    last = end - min(longest_s, 0.3 * (end - time.monotonic()))
    tell(f"unchanged, {time.monotonic() - begun:.0f} s; all tests once {longest_s:.0f} s")
    slots = Slots(first, given.workers, record)
    found: list[tuple[str, Mutant, str]] = []
    begun = time.monotonic()
    while (waiting and time.monotonic() < last) or slots.trials:
        while waiting and slots.free and time.monotonic() < last:
            room, mutant = waiting.pop()
            slots.begin(room, tests[room], mutant)
        for trial, came in slots.ended(time.monotonic() > end):
            found.append((trial.room, trial.mutant, came))
            put(found, given)
            if came in ("survived", "unfinished"):
                tell(f"{came}: {trial.mutant.told()}")
        time.sleep(0.02)
    minutes = (time.monotonic() - begun) / 60
    tell(f"{len(found)} mutants, {len(found) / max(minutes, 1e-9):.1f} a minute")
    return found


def put(found: list[tuple[str, Mutant, str]], given: argparse.Namespace) -> None:
    """Write what came so far, whole or not at all."""
    if given.out:
        beside = given.out.with_name(f"{given.out.name}.part")
        beside.write_text(json.dumps(document(found, given), indent=1) + "\n", "utf-8")
        beside.replace(given.out)


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
        missed = came["survived"] + came["unfinished"]
        score = 1 - missed / total if (total := came.total()) else None
        rooms[room] = {**came, "tried": total, "score": score}
    survivors = [
        {"room": room, "file": m.file, "line": m.line, "kind": m.kind, "before": m.before,
         "after": m.after, "text": m.text, "came": came}
        for room, m, came in found
        if came in ("survived", "unfinished") and m.place not in known
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
    parser.add_argument("--minutes", type=float, default=8.0, help="how long it goes on")
    parser.add_argument("--workers", type=int, default=len(os.sched_getaffinity(0)))
    parser.add_argument("--out", type=Path, help="by default the list is printed")
    return parser.parse_args()


def main() -> None:
    """Copy, try, list."""
    given = asked()
    end = time.monotonic() + 60 * given.minutes
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
        found = tried(given, first, end)
    put(found, given)
    if not given.out:
        print(json.dumps(document(found, given), indent=1))


if __name__ == "__main__":
    main()
