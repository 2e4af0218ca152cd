"""Where text goes: data to stdout, everything else to stderr, a progress line only for people."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Mapping

_EVERY_S = 0.2  # between two redraws: often enough to look alive, too seldom to cost anything


def emit(document: Mapping[str, object]) -> None:
    """Print a document to stdout as JSON; NaN and infinity are refused, null says "never".

    Raises:
        ValueError: a number that JSON does not know.
    """
    print(json.dumps(document, ensure_ascii=False, allow_nan=False, indent=2))


class Progress:
    """A line on stderr with share done, rate and time to go; silent unless that is a terminal."""

    def __init__(self, quiet: bool) -> None:
        """Start the clock.

        Parameters:
            quiet: show nothing even in a terminal.
        """
        self._shown = sys.stderr.isatty() and not quiet
        self._start = self._last = time.monotonic()
        self._drawn = False

    def __call__(self, done: int, total: int, failed: int = 0) -> None:
        """Redraw, at most a few times a second.

        Parameters:
            done, total: rows finished and asked for.
            failed: rows among `done` that could not be computed.
        """
        now = time.monotonic()
        if not self._shown or (now - self._last < _EVERY_S and done < total):
            return
        self._last = now
        print(
            f"\r\x1b[K{progress_text(done, total, failed, now - self._start)}",
            end="",
            file=sys.stderr,
        )
        self._drawn = True

    def close(self) -> None:
        """Remove the line."""
        if self._drawn:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def progress_text(done: int, total: int, failed: int, elapsed_s: float) -> str:
    """Say how far a study is and how long it has to go.

    Parameters:
        done, total, failed: rows.
        elapsed_s: since the start [s].
    """
    rate = done / elapsed_s if elapsed_s > 0 else 0.0
    parts = [f"{done:,} of {total:,} runs"]
    if rate > 0:
        parts += [f"{rate:,.0f} a second", f"{duration_text((total - done) / rate)} to go"]
    if failed:
        parts.append(f"{failed:,} failed")
    return ", ".join(parts)


def duration_text(seconds: float) -> str:
    """Say a duration in the two largest units that it needs."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s"
    return f"{whole // 3600} h {whole % 3600 // 60} min"
