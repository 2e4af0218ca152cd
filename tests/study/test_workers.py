"""Worker processes that are interrupted as they start, and let go at once: nobody complains."""

from __future__ import annotations

import os
import subprocess
import sys

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
