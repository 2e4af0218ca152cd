"""How soon the board answers: geometry, first margins, and all of it settled.

`python tests/bench/board.py --json` serves the demo, its four options, by the command itself, moves
an anchor again and again as a page does, and prints one object: `geometry_ms` from sending a look
to its drawing; `change_ms` from sending a change to its state; `first_s` from sending a change to
the order from the first trials; `typed_s` the same where a field is typed that all four options
have, without a look before it, so that no trial was begun; `settled_s` to the comparison itself,
once. Of each median and 95th percentile; wall time as a page sees it, so nothing else should run
meanwhile. Every change plays all four options anew: nothing is kept of one that it did not touch.
Each turn begins while the trials of the turn before are still played.
"""

from __future__ import annotations

import argparse
import json
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path
from queue import Queue
from statistics import quantiles
from typing import Any

DEMO = Path(__file__).parents[2] / "scenarios" / "demo.yaml"


class Page:
    """What a page does, without a browser."""

    def __init__(self, address: str) -> None:
        """Open the page and listen."""
        self._address = address
        self._origin = address[: address.index("/", 8)]
        self.told: Queue[tuple[float, dict[str, Any]]] = Queue()
        threading.Thread(target=self._listen, daemon=True).start()
        self.revision = self.until(lambda one: one["kind"] == "state")[1]["revision"]

    def _listen(self) -> None:
        with urllib.request.urlopen(self._address + "events") as stream:
            for line in stream:
                if line.startswith(b"data: "):
                    self.told.put((time.perf_counter(), json.loads(line[6:])))

    def until(self, fits: Any) -> tuple[float, dict[str, Any]]:
        """Wait for something that is told."""
        while True:
            at, one = self.told.get(timeout=300)
            if fits(one):
                return at, one

    def forget(self) -> None:
        """Let go of what was told so far."""
        while not self.told.empty():
            self.told.get_nowait()

    def post(self, path: str, document: object) -> tuple[float, Any]:
        """Send a message; how long its answer took [s], and the answer."""
        heads = {"Content-Type": "application/json", "Origin": self._origin}
        asked = urllib.request.Request(
            self._address + path, json.dumps(document).encode(), headers=heads
        )
        began = time.perf_counter()
        with urllib.request.urlopen(asked) as answer:
            body = json.load(answer)
        return time.perf_counter() - began, body


def spread(values: list[float], scale: float = 1.0) -> dict[str, float]:
    """Median and 95th percentile."""
    cut = quantiles(values, n=20, method="inclusive")
    return {"median": round(cut[9] * scale, 3), "p95": round(cut[18] * scale, 3)}


def changed(page: Page, change: dict[str, Any]) -> tuple[float, float]:
    """Make a change; how long until its state, and until the order from the first trials [s].

    The order may be told before the state is: both are of the text that the change makes.
    """
    page.forget()
    began = time.perf_counter()
    took, body = page.post("change", {"revision": page.revision, "changes": [change]})
    page.revision = body["state"]["revision"]
    at, _ = page.until(lambda one: one["kind"] == "answer" and one["trials"] == 8)
    return took, at - began


def measured(page: Page, turns: int) -> dict[str, Any]:
    """Move an anchor many times, waiting for the first order after each move."""
    geometry, changes, first, typed = [], [], [], []
    for turn in range(turns):
        move = {"do": "move", "section": "anchors", "name": "guard posts",
                "out": -2.6 - 0.05 * (turn + 1), "up": 0.9}  # fmt: skip
        look = {"changes": [move], "option": "posts, rollers", "hold": True, "ask": turn}
        geometry.append(page.post("look?narrow=0", look)[0])
        took, until_first = changed(page, move)
        changes.append(took)
        first.append(until_first)
        mass = {"do": "set", "address": "people/inspector/mass", "value": f"{80 + turn / 10} kg"}
        began = time.perf_counter()
        typed.append(changed(page, mass)[1])
    at, _ = page.until(lambda one: one["kind"] == "answer" and one["settled"])
    return {
        "turns": turns,
        "geometry_ms": spread(geometry, 1000),
        "change_ms": spread(changes, 1000),
        "first_s": spread(first),
        "typed_s": spread(typed),
        "settled_s": round(at - began, 2),
    }


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--turns", type=int, default=30)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(shutil.copy(DEMO, folder))
        command = [sys.executable, "-c", "from edgewear.cli import main; main()", "board"]
        running = subprocess.Popen(
            [*command, str(path), "--no-open", "--quiet"], stdout=subprocess.PIPE, text=True
        )
        try:
            assert running.stdout is not None
            page = Page(running.stdout.readline().strip())
            page.until(lambda one: one["kind"] == "answer" and one["trials"] >= 8)
            found = measured(page, asked.turns)
        finally:
            running.send_signal(signal.SIGINT)
            running.wait(60)
    print(json.dumps(found) if asked.json else json.dumps(found, indent=1))


if __name__ == "__main__":
    main()
