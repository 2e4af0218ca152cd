"""Ctrl-C in the midst of the long commands: an orderly end, and nothing left behind."""

from __future__ import annotations

import contextlib
import json
import os
import pty
import re
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from edgewear.dataset.door import TEMPORARY
from edgewear.procedure.fault_runs import MOST_AT_ONCE
from edgewear.study.runner import JOURNAL
from support.shell import EDGEWEAR
from support.tree import ROOT

PATIENCE_S = 300.0
"""Nothing takes so long, not even compiling beside other work; only a command that hangs does."""
WORKERS = 2
UNDER_WAY = WORKERS + 1
"""Chunks that are with the workers at once; a request to stop lets them finish."""
COUNTED = re.compile(rb"([\d,]+) of ([\d,]+) runs")


class Watched:
    """A command run in a terminal, as the only ones there who see how far it is."""

    def __init__(self, *words: str | Path) -> None:
        self.screen, theirs = pty.openpty()
        self.process = subprocess.Popen(
            [EDGEWEAR, *words, "--workers", str(WORKERS)],
            cwd=ROOT, env={**os.environ, "TERM": "xterm", "NO_COLOR": ""}, start_new_session=True,
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=theirs,
        )  # fmt: skip
        os.close(theirs)
        self.shown = b""

    def until_counted(self) -> tuple[int, int]:
        """Runs done and wanted, once there are any."""
        for _ in self._shows():
            done, rows = self.counted()
            if done:
                return done, rows
        raise AssertionError(f"ended before it was interrupted: {self.shown!r}")

    def counted(self) -> tuple[int, int]:
        """Runs done and wanted by what was shown last."""
        found = COUNTED.findall(self.shown) or [(b"0", b"0")]
        done, rows = (int(number.replace(b",", b"")) for number in found[-1])
        return done, rows

    def anybody_works(self) -> bool:
        """Tell whether all workers have begun: they are deaf to Ctrl-C from then on."""
        children = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children")
        return sum(map(_deaf, children.read_text().split())) > WORKERS  # one more keeps books

    def interrupt(self) -> None:
        """What Ctrl-C does: everybody in the terminal's foreground gets the signal."""
        os.killpg(self.process.pid, signal.SIGINT)

    def ended(self) -> tuple[int, bytes]:
        """Exit code and standard output, when everybody who could write here has gone."""
        for _ in self._shows():
            pass
        output, _ = self.process.communicate(timeout=PATIENCE_S)
        return self.process.returncode, output

    def close(self) -> None:
        """Leave nobody behind, whatever a test found."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.communicate()
        os.close(self.screen)

    def anybody(self) -> bool:
        """Tell whether a process of the command is there still; they may take a moment to go."""
        for _ in range(int(PATIENCE_S / 0.05)):
            try:
                os.killpg(self.process.pid, 0)
            except ProcessLookupError:
                return False
            time.sleep(0.05)
        return True

    def _shows(self) -> Iterator[bytes]:
        """What appears, until nobody has the terminal open any more."""
        while select.select([self.screen], [], [], PATIENCE_S)[0]:
            try:
                found = os.read(self.screen, 65_536)
            except OSError:  # the far end is closed
                return
            self.shown += found
            yield found
        raise AssertionError(f"nothing was shown for {PATIENCE_S:g} s: {self.shown!r}")


def _deaf(process: str) -> bool:
    """Tell whether a process ignores Ctrl-C."""
    status = Path(f"/proc/{process}/status").read_text("utf-8")
    ignored = int(status.split("SigIgn:")[1].split()[0], 16)
    return bool(ignored >> (signal.SIGINT - 1) & 1)


@pytest.fixture
def watched() -> Iterator[list[Watched]]:
    """Commands that a test started."""
    started: list[Watched] = []
    yield started
    for one in started:
        one.close()


def interrupted(watched: list[Watched], kept: bytes, *words: str | Path) -> tuple[int, int, int]:
    """Interrupt a command when its first chunk is done; runs done then and at the end, and wanted.

    It ends with the code of an interrupted command, says so and what is kept, prints no data, and
    its workers go.
    """
    command = Watched(*words)
    watched.append(command)
    begun, rows = command.until_counted()
    command.interrupt()
    code, output = command.ended()
    assert code == 130
    assert output == b""
    assert b"stopped on request; " + kept in command.shown
    assert b"Traceback" not in command.shown
    assert not command.anybody()
    return begun, command.counted()[0], rows


def check_folder(folder: Path) -> int:
    """Hold a dataset that was interrupted to what is promised of it; its rows a chunk."""
    assert not list(folder.rglob(f"*{TEMPORARY}"))
    manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
    assert manifest["finished"] is False
    parts = {path.relative_to(folder).as_posix() for path in folder.glob("*/part-*.parquet")}
    noted = {line.split()[0] for line in (folder / JOURNAL).read_text().splitlines() if line}
    assert parts  # the first chunk is kept
    assert parts <= noted
    return int(manifest["chunk_rows"])


def check_end(begun: int, ended: int, rows: int, chunk_rows: int) -> None:
    """The chunks under way were finished, and few others.

    Between the count that was seen and the signal as many may have been done again.
    """
    assert begun <= ended <= begun + 2 * UNDER_WAY * chunk_rows < rows


@pytest.mark.parametrize(
    ("words", "scenario"),
    [(("compare", "--replicates", "6000"), "demo.yaml"), (("sweep",), "sleeve-study.yaml")],
)
def test_ctrl_c_keeps_the_finished_parts_of_a_study(words, scenario, watched, tmp_path) -> None:
    folder = tmp_path / "study"
    counts = interrupted(
        watched,
        b"what is finished is kept",
        words[0],
        ROOT / "scenarios" / scenario,
        "--out",
        folder,
        *words[1:],
    )
    check_end(*counts, check_folder(folder))


def test_ctrl_c_ends_the_search_for_faults(watched, tmp_path) -> None:
    replicates = 16  # enough for several chunks
    picture = tmp_path / "worst.svg"
    counts = interrupted(
        watched, b"nothing is kept", "faults", ROOT / "scenarios" / "procedure.yaml", "--json",
        "--replicates", str(replicates), "--picture", picture, "--out", tmp_path / "page",
    )  # fmt: skip
    assert not list(tmp_path.iterdir())
    check_end(*counts, MOST_AT_ONCE)


def test_a_second_ctrl_c_waits_for_nobody(watched) -> None:
    command = Watched("faults", ROOT / "scenarios" / "procedure.yaml", "--replicates", "400")
    watched.append(command)
    while not command.anybody_works():
        time.sleep(0.05)
    command.interrupt()
    time.sleep(0.2)  # else the two signals are one
    command.interrupt()
    code, output = command.ended()  # the chunks under way are not waited for
    assert code == 130
    assert output == b""
    assert not command.anybody()


LOST = {
    "a callback": """
class Thing:
    def __del__(self):
        signal.raise_signal(signal.SIGINT)
def app(**_):
    Thing()
    time.sleep(60)
""",
    "a callback, on a machine that is slow to begin a thread": """
class Slow(threading.Thread):
    def start(self):
        super().start()
        time.sleep(0.1)
threading.Thread = Slow
class Thing:
    def __del__(self):
        signal.raise_signal(signal.SIGINT)
def app(**_):
    Thing()
    time.sleep(60)
""",
    "compiled code, printed before it is dropped": """
class Thing:
    def __del__(self):
        try:
            signal.raise_signal(signal.SIGINT)
        except KeyboardInterrupt:
            sys.excepthook(*sys.exc_info())
            raise
def app(**_):
    Thing()
    time.sleep(60)
""",
} | {
    f"a library, which makes a {error} of it": f"""
def app(**_):
    try:
        signal.raise_signal(signal.SIGINT)
        time.sleep(60)
    except KeyboardInterrupt:
        raise {error}("what no study writes")
"""
    for error in ("DatasetError", "SystemError", "ImportError", "AttributeError", "TypeError")
}
"""Where an exception is dropped, with a traceback, or taken for a mistake of the caller."""


@pytest.mark.parametrize("where", LOST)
def test_ctrl_c_is_not_lost_where_no_exception_may_pass(where: str) -> None:
    script = f"""
import signal, sys, threading, time
import typer.main
from edgewear.cli import commands, main
from edgewear.errors import DatasetError
{LOST[where]}
typer.main.get_command, commands.app = lambda given: given, app
signal.signal(signal.SIGINT, signal.default_int_handler)  # what runs in the background is deaf
main()
"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "")
