"""Worker processes that are interrupted as they start, and let go at once: nobody complains."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from support.tree import ROOT

UNLUCKY = """
import os, signal, threading, time
from concurrent.futures.process import _ExecutorManagerThread as Minder
from multiprocessing.connection import Connection
from edgewear.study.worker_pool import processes

def slow(self, raw, send=Connection._send):
    if threading.current_thread() is threading.main_thread():
        time.sleep(0.4)  # in which another thread can close the pipe
    send(self, raw)

def late(self, *given, end=Minder.terminate_broken):
    time.sleep(0.2)
    end(self, *given)

def main():
    signal.signal(signal.SIGINT, signal.default_int_handler)  # what runs in the background is deaf
    gang = processes(2)
    try:
        gang.begin(2)
        os.killpg(0, signal.SIGINT)  # long before a worker can say that it does not listen
        time.sleep(10.0)
    except KeyboardInterrupt:
        print(gang.submit(abs, -1).result())
    busy = [gang.submit(time.sleep, 600.0) for _ in range(2)]
    while not all(one.running() for one in busy):
        time.sleep(0.01)
    Connection._send, Minder.terminate_broken = slow, late
    gang.dismiss()
    print([thread.name for thread in threading.enumerate()])

if __name__ == "__main__":
    main()
"""


def test_workers_that_are_interrupted_and_let_go_say_nothing(tmp_path) -> None:
    """A thread that outlives its pool closes the pipe which the end of Python writes to."""
    script = tmp_path / "unlucky.py"
    script.write_text(UNLUCKY)
    ended = subprocess.run(
        [sys.executable, script], capture_output=True, text=True, timeout=120,
        env={**os.environ, "PYTHONPATH": str(ROOT / "sim")}, start_new_session=True,
    )  # fmt: skip
    assert ended.stderr == ""
    assert ended.stdout.splitlines() == ["1", "['MainThread']"]
    assert ended.returncode == 0


HUNG_UP = """
import asyncio, os, signal, sys
from multiprocessing.resource_tracker import _resource_tracker as counter
from edgewear.board.answers import Answers
from edgewear.study.workers.processes import Workers

def main():
    signal.signal(signal.SIGHUP, lambda *_: print("heard"))
    kept = []
    if sys.argv[1] == "a board":
        kept.append(Answers(asyncio.sleep, workers=1))
    else:
        kept.append(Workers(2))
    if sys.argv[1] == "workers at work":
        print(kept[0].submit(abs, -1).result())
    first = counter._pid
    os.killpg(0, signal.SIGHUP)
    with Workers(1) as another:  # asks whether the process that counts is there still
        print(another.submit(abs, -1).result())
    print(counter._pid == first)
    kept[0].close() if sys.argv[1] == "a board" else kept[0].shutdown(wait=False)

if __name__ == "__main__":
    main()
"""


@pytest.mark.parametrize("what", ["workers", "workers at work", "a board"])
def test_what_counts_for_workers_outlives_a_terminal_that_closes_and_ends_with_them(
    what: str, tmp_path
) -> None:
    """Python's process beside the workers holds our stream: its end is waited for here, too."""
    script = tmp_path / "hung_up.py"
    script.write_text(HUNG_UP)
    ended = subprocess.run(
        [sys.executable, script, what], capture_output=True, text=True, timeout=120,
        env={**os.environ, "PYTHONPATH": str(ROOT / "sim")}, start_new_session=True,
    )  # fmt: skip
    assert ended.stderr == ""
    assert ended.stdout.splitlines()[-3:] == ["heard", "1", "True"]
    assert ended.returncode == 0


COPIES = """
import _thread, importlib, sys, threading, time
from edgewear.study.worker_pool import processes

known = ["imported"]

def told(nothing):
    return known[0]

def answers(gang):
    with gang:
        return set(gang.later(told, [None, None])())

if __name__ == "__main__":
    known[:] = ["loaded"]
    if "threads" in sys.argv:
        threading.Thread(target=time.sleep, args=(600.0,), daemon=True).start()
    if "unknown" in sys.argv:
        _thread.start_new_thread(time.sleep, (600.0,))
    for library in (word for word in sys.argv[1:] if "." in word):
        importlib.import_module(library)
    gang = processes(2, copies="asked" in sys.argv)
    print(gang.copies)
    if "death" in sys.argv:
        gang.begin(1)
        gang.dismiss()
    print(*answers(gang))
"""


LOADED = "numpy.linalg", "scipy.linalg", "pyarrow.parquet", "scipy.linalg pyarrow.parquet"
"""What brings threads that are no danger to a copy: they end before it, or mind it themselves."""


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells how many threads there are")
@pytest.mark.parametrize(
    ("words", "copies", "knows"),
    [
        ("", "False", "imported"),
        ("asked", "True", "loaded"),
        ("asked threads", "False", "imported"),
        ("asked unknown", "False", "imported"),
        ("asked death", "True", "imported"),
        *((f"asked {some}", "True", "loaded") for some in LOADED),
        *((f"asked unknown {some}", "False", "imported") for some in LOADED),
    ],
)
def test_workers_are_copies_only_of_a_process_of_one_thread_and_only_the_first(
    tmp_path: Path, words: str, copies: str, knows: str
) -> None:
    """A copy keeps for ever what other threads, and a study under way, had locked."""
    script = tmp_path / "copies.py"
    script.write_text(COPIES)
    ended = subprocess.run(
        [sys.executable, "-W", "error", script, *words.split()],
        capture_output=True, text=True, timeout=120,
        env={**os.environ, "PYTHONPATH": str(ROOT / "sim")},
    )  # fmt: skip
    assert ended.stderr == ""
    assert ended.stdout.split() == [copies, knows]


LIGHT = """
import sys
from edgewear.report import write_report
from edgewear.study.compare import compare

if __name__ == "__main__":
    compare(sys.argv[1], 8, workers=1, out="out")
    write_report(["out"], "out")
    print("pandas" in sys.modules)
"""


def test_a_comparison_loads_no_data_frames(tmp_path: Path) -> None:
    """To load what makes them takes each process as long as dozens of trials, and none is made."""
    ended = subprocess.run(
        [sys.executable, "-c", LIGHT, ROOT / "scenarios/reference-ascent.yaml"],
        capture_output=True, text=True, timeout=240, cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT / "sim")},
    )  # fmt: skip
    assert ended.stderr == ""
    assert ended.stdout.split() == ["False"]
