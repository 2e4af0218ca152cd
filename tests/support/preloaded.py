"""The command as a process of its own without the second that a start takes: forked when loaded.

Run as a script it loads the command once. For each order on its standard input, one line of JSON,
it forks a process that stands as a fresh one would: streams, environment, folder. It answers with
the exit code and what came out.
"""

from __future__ import annotations

import contextlib
import fcntl
import gc
import io
import json
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
import threading
import time
import traceback
import tty
from pathlib import Path
from typing import Any, NamedTuple, TextIO

from support.tree import ROOT

PATIENCE_S = 120.0
GONE_S = 5.0
ENDS = ("pipe", "terminal", "head", "gone", "full", "closed", "locked")
"""Where a stream leads: read to its end; a terminal; read for one line; a pipe that nobody reads;
a device that is full; nowhere; open for reading only."""


class Came(NamedTuple):
    """What came of a command."""

    code: int
    out: bytes
    told: bytes
    trouble: str  # an exception that nobody caught, wherever its streams led
    left: list[int]  # processes of it that were there still, `GONE_S` after a signal


class Preloaded:
    """Starts commands in a moment."""

    def __init__(self) -> None:
        """Load."""
        paths = os.pathsep.join([str(ROOT / "sim"), str(ROOT / "tests")])
        self._server = subprocess.Popen(
            [sys.executable, "-m", "support.preloaded"], stdin=subprocess.PIPE,
            stdout=subprocess.PIPE, text=True, cwd=ROOT, env={**os.environ, "PYTHONPATH": paths},
        )  # fmt: skip

    def run(
        self,
        *words: str | Path,
        environment: dict[str, str] | None = None,
        stdin: str = "full",
        stdout: str = "pipe",
        stderr: str = "pipe",
        encoding: str = "utf-8",
        folder: Path = ROOT,
        ends_by: int = 0,
        after_s: float = 0.0,
        whom: str = "command",
    ) -> Came:
        """Run a command.

        Parameters:
            words: what is typed.
            environment: beside what everybody has.
            stdin: pipe, full (endless zeros) or closed; stdout, stderr: one of `ENDS`.
            encoding: of the streams.
            ends_by: signal that is sent, 0 for none; after_s: so long after the start.
            whom: who gets the signal: the command, a worker of it (if there is one by then), all,
                or all as soon as the command listens for it and has two workers.
        """
        order = {
            "words": list(map(str, words)), "environment": environment or {}, "stdin": stdin,
            "stdout": stdout, "stderr": stderr, "encoding": encoding, "folder": str(folder),
            "ends_by": int(ends_by), "after_s": after_s, "whom": whom,
        }  # fmt: skip
        assert self._server.stdin is not None
        assert self._server.stdout is not None
        self._server.stdin.write(json.dumps(order) + "\n")
        self._server.stdin.flush()
        found = json.loads(self._server.stdout.readline())
        out, told = (bytes.fromhex(found[name]) for name in ("out", "told"))
        return Came(found["code"], out, told, found["trouble"], found["left"])

    def close(self) -> None:
        """End it."""
        self._server.communicate()


def _end(kind: str, columns: str) -> tuple[int | None, int | None]:
    """Make an end to write to, and one to read what was written, where there is one."""
    if kind == "closed":
        return None, None
    if kind == "full":
        return os.open("/dev/full", os.O_RDWR), None
    if kind == "locked":
        return os.open("/dev/zero", os.O_RDONLY), None
    if kind == "terminal":
        ours, theirs = pty.openpty()
        wide = int(columns) if columns.isdecimal() and len(columns) < 4 else 80
        tty.setraw(theirs)  # else it sends an end of line as two bytes, whatever the encoding
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, wide, 0, 0))
        return theirs, ours
    ours, theirs = os.pipe()
    if kind == "gone":
        os.close(ours)
        return theirs, None
    return theirs, ours


def _become(order: dict[str, Any], ends: list[int | None]) -> None:
    """Stand as Python starts a process with these streams."""
    for number, end in enumerate(ends):
        if end is None:
            os.close(number)
        else:
            os.dup2(end, number)
    os.environ.update(order["environment"])
    os.chdir(order["folder"])
    opened = [
        None if end is None else _opened(number, order["encoding"])
        for number, end in enumerate(ends)
    ]
    sys.stdin, sys.stdout, sys.stderr = opened
    sys.__stdin__, sys.__stdout__, sys.__stderr__ = opened
    sys.argv = ["edgewear", *order["words"]]
    sys.modules["__main__"].__package__ = ""  # as of the script that pip makes


def _opened(number: int, encoding: str) -> TextIO:
    mode, errors = "r" if number == 0 else "w", "backslashreplace" if number == 2 else "strict"
    return open(number, mode, encoding=encoding, errors=errors, closefd=False)


def _child(order: dict[str, Any], ends: list[int | None], trouble: int) -> int:
    from edgewear.cli import ended

    code = 1
    signal.signal(signal.SIGHUP, signal.SIG_DFL)  # what runs under nohup is deaf to it
    try:
        _become(order, ends)
        code = ended()
        for stream in (sys.stdout, sys.stderr):
            stream.flush()  # as the end of Python does
    except KeyboardInterrupt:  # before the command began, or when it had ended
        return 130
    except BaseException:
        os.write(trouble, traceback.format_exc().encode())
    return code


def _fork(order: dict[str, Any]) -> tuple[int, list[int | None]]:
    columns = order["environment"].get("COLUMNS", "")
    given = os.open("/dev/zero", os.O_RDONLY) if order["stdin"] == "full" else None
    if order["stdin"] == "pipe":
        given, theirs = os.pipe()
        os.close(theirs)
    pairs = [_end(order[name], columns) for name in ("stdout", "stderr")]
    heard, trouble = os.pipe()
    child = os.fork()
    if child == 0:
        os.setsid()
        os._exit(_child(order, [given, *(write for write, _ in pairs)], trouble))
    for end in (given, trouble, *(write for write, _ in pairs)):
        if end is not None:
            os.close(end)
    return child, [*(read for _, read in pairs), heard]


def _heard(ends: list[int | None], only_a_line: list[bool]) -> list[bytes]:
    """Read all ends until nobody writes there any more."""
    found = [b""] * len(ends)
    open_ends = {end: place for place, end in enumerate(ends) if end is not None}
    until = time.monotonic() + PATIENCE_S
    while open_ends and time.monotonic() < until:
        for end in select.select(list(open_ends), [], [], 1.0)[0]:
            place = open_ends[end]
            try:
                raw = os.read(end, 1 if only_a_line[place] else 65_536)
            except OSError:  # a terminal that nobody has open
                raw = b""
            found[place] += raw
            if not raw or (only_a_line[place] and raw == b"\n"):
                os.close(end)
                del open_ends[end]
    return found


def _load() -> None:
    """Do once what every process would load for: a check and a run."""
    from edgewear.cli.commands import app

    scenario = str(ROOT / "scenarios" / "reference-ascent.yaml")
    with (
        contextlib.redirect_stdout(io.StringIO()),
        contextlib.redirect_stderr(io.StringIO()),
    ):
        for words in (["check", scenario], ["run", scenario]):
            with contextlib.suppress(SystemExit):
                app(words)
    gc.freeze()


def _end_it(child: int, number: int, whom: str) -> None:
    """Send a signal, if there is still somebody to get it."""
    with contextlib.suppress(ProcessLookupError):
        while whom == "all at work" and child in _session(child) and not _is_at_work(child, number):
            time.sleep(0.01)
        if whom == "command":
            os.kill(child, number)
        elif whom in ("all", "all at work"):
            os.killpg(child, number)
        elif workers := _workers(child):
            os.kill(workers[number % len(workers)], number)


def _workers(child: int) -> list[int]:
    return [one for one in _session(child) if one != child and not _keeps_books(one)]


def _is_at_work(child: int, number: int) -> bool:
    """Tell whether a command listens for a signal and has its workers."""
    with contextlib.suppress(OSError):
        told = Path(f"/proc/{child}/status").read_text().partition("SigCgt:")[2].split()[0]
        return bool(int(told, 16) >> (number - 1) & 1) and len(_workers(child)) > 1
    return False


def _keeps_books(process: int) -> bool:
    """Tell whether a process is Python's own beside the workers, which counts what they share."""
    try:
        return b"resource_tracker" in Path(f"/proc/{process}/cmdline").read_bytes()
    except OSError:
        return True


def _session(leader: int) -> list[int]:
    """Processes of a session, but for those that have ended and are not fetched yet."""
    found = []
    for folder in Path("/proc").iterdir():
        if folder.name.isdecimal():
            with contextlib.suppress(OSError):
                state, _, _, session, *_ = (folder / "stat").read_text().rpartition(")")[2].split()
                if int(session) == leader and state not in "ZX":
                    found.append(int(folder.name))
    return sorted(found)


def _left(leader: int) -> list[int]:
    """Wait for the processes of a session to go; those that do not."""
    until = time.monotonic() + GONE_S
    while (there := _session(leader)) and time.monotonic() < until:
        time.sleep(0.02)
    for one in there:
        with contextlib.suppress(ProcessLookupError):
            os.kill(one, 9)
    return there


def main() -> None:
    """Answer orders until there are no more."""
    _load()
    for line in sys.stdin:
        order = json.loads(line)
        child, read = _fork(order)
        lines = [order[name] == "head" for name in ("stdout", "stderr")]
        killer = threading.Timer(
            order["after_s"], _end_it, (child, order["ends_by"], order["whom"])
        )
        if order["ends_by"]:
            killer.start()
        out, told, trouble = _heard(read, [*lines, False])
        killer.cancel()
        if order["ends_by"]:
            killer.join()  # before the number of the process can be another's
        code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        found = {"code": code, "out": out.hex(), "told": told.hex(), "trouble": trouble.decode()}
        left = _left(child) if order["ends_by"] else []
        print(json.dumps({**found, "left": left}), flush=True)


if __name__ == "__main__":
    main()
