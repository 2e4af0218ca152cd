"""Where text goes: data to stdout, everything else to stderr, a progress line only for people."""

from __future__ import annotations

import json
import re
import shutil
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING

from edgewear.report.terminal.console import (
    LEAST_WIDTH,
    display_width,
    fill,
    shorten,
    takes_escapes,
)

if TYPE_CHECKING:
    from edgewear.study.progress import Progress, Told

_EVERY_S = 0.2  # between two redraws: often enough to look alive, too seldom to cost anything
_LOGGED_S = (
    60.0  # between two lines in a log: a job of minutes leaves none, one of hours its course
)
_LABEL = re.compile(r" *(?:\S+ {2,})?")  # and what sets the text off from it
_CLEAR = "\r\x1b[K"


def emit(document: Mapping[str, object]) -> None:
    """Print a document to stdout as JSON; NaN and infinity are refused, null says "never".

    Raises:
        ValueError: a number that JSON does not know.
    """
    text = json.dumps(document, ensure_ascii=False, allow_nan=False, indent=2)
    try:
        text.encode(getattr(sys.stdout, "encoding", None) or "utf-8")
    except UnicodeEncodeError:  # JSON has its own way to write what an encoding lacks
        text = json.dumps(document, allow_nan=False, indent=2)
    print(text)


WIDEST = 80  # longer lines are hard to read, and to paste into a message


def width() -> int:
    """Columns that texts are fitted to: `COLUMNS`, or those of the terminal; 40 to 80."""
    columns = shutil.get_terminal_size((WIDEST, 24)).columns
    return min(max(columns, LEAST_WIDTH), WIDEST)


def say(*lines: str) -> None:
    """Print lines to stdout; one that is too long is broken, after a label where it has one."""
    for line in lines:
        if display_width(line) <= width():
            print(line)
            continue
        label = _label(line)
        print(*fill(line.removeprefix(label), width(), label, "    "), sep="\n")


def _label(line: str) -> str:
    found = _LABEL.match(line)
    return found[0] if found else ""


@contextmanager
def progress_line(quiet: bool) -> Iterator[Told | None]:
    """Give what tells on stderr how far a study is; clean up behind it.

    In a terminal that is one line drawn over and over, in a log a line a minute.

    Parameters:
        quiet: tell nothing, None.
    """
    if quiet:
        yield None
        return
    if not takes_escapes(sys.stderr):
        yield _logged()
        return
    last = 0.0

    def told(progress: Progress) -> None:
        nonlocal last
        now = time.monotonic()
        if now - last >= _EVERY_S or progress.done == progress.rows:
            last = now
            print(_CLEAR + _fitted(progress_text(progress)), end="", file=sys.stderr, flush=True)

    try:
        yield told
    finally:
        print(_CLEAR, end="", file=sys.stderr, flush=True)


def _fitted(text: str) -> str:
    """Cut a text to one line of the terminal: a second one would stay behind."""
    return shorten(text, max(shutil.get_terminal_size((WIDEST, 24)).columns - 1, 4))


def _logged() -> Told:
    last = time.monotonic()

    def told(progress: Progress) -> None:
        nonlocal last
        now = time.monotonic()
        if now - last >= _LOGGED_S:
            last = now
            print(progress_text(progress), file=sys.stderr, flush=True)

    return told


@contextmanager
def said_line(quiet: bool) -> Iterator[Callable[[str], None]]:
    """Give what says on stderr how far something without a known end is; clean up behind it.

    In a terminal that is one line drawn over and over, in a log a line a minute.
    """
    drawn, last = takes_escapes(sys.stderr), time.monotonic()

    def said(text: str) -> None:
        nonlocal last
        if quiet:
            return
        if drawn:
            print(_CLEAR + _fitted(text), end="", file=sys.stderr, flush=True)
        elif time.monotonic() - last >= _LOGGED_S:
            last = time.monotonic()
            print(text, file=sys.stderr, flush=True)

    try:
        yield said
    finally:
        if drawn and not quiet:
            print(_CLEAR, end="", file=sys.stderr, flush=True)


def progress_text(progress: Progress) -> str:
    """Say how far a study is, how fast, and how long it has to go."""
    parts = [f"{progress.done:,} of {progress.rows:,} {progress.of}"]
    if progress.rate_per_s is not None:
        parts.append(_rate_text(progress.rate_per_s))
    if progress.eta_s is not None:
        parts.append(f"{duration_text(progress.eta_s)} to go")
    if progress.failed:
        parts.append(f"{progress.failed:,} failed")
    return ", ".join(parts)


def _rate_text(per_second: float) -> str:
    """Say a rate by the second, or by the minute where a second has only a few."""
    few = per_second < 9.5  # what would read as less than "10 a second"
    return f"{60.0 * per_second:,.0f} a minute" if few else f"{per_second:,.0f} a second"


def duration_text(seconds: float) -> str:
    """Say a duration in the two largest units that it needs."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s"
    return f"{whole // 3600} h {whole % 3600 // 60} min"
