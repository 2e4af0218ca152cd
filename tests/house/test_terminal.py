"""What people see while they wait, and what scripts do not."""

from __future__ import annotations

import io
import json
import math
import sys

import pytest

from edgewear.cli.terminal import duration_text, emit, progress_line, progress_text, width
from edgewear.study.progress import Progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0.4, "0 s"), (59.4, "59 s"), (60, "1 min 0 s"), (3599, "59 min 59 s"), (7260, "2 h 1 min")],
)
def test_a_duration_in_its_two_largest_units(seconds: float, text: str) -> None:
    assert duration_text(seconds) == text


def test_progress_says_rate_time_to_go_and_failures() -> None:
    said = progress_text(Progress(1500, 4000, 2, 500.0, 5.0))
    assert said == "1,500 of 4,000 runs, 500 a second, 5 s to go, 2 failed"
    assert progress_text(Progress(0, 4000, 0, None, None)) == "0 of 4,000 runs"


@pytest.mark.parametrize(
    ("rate_per_s", "text"),
    [(0.02, "1 a minute"), (0.5, "30 a minute"), (9.0, "540 a minute"), (10.0, "10 a second")],
)
@pytest.mark.parametrize("of", ["limits", "tests", "ways of rigging"])
def test_what_is_slow_is_told_by_the_minute_and_by_its_name(rate_per_s, text, of) -> None:
    said = progress_text(Progress(3, 40, 0, rate_per_s, 60.0, of))
    assert said == f"3 of 40 {of}, {text}, 1 min 0 s to go"


@pytest.fixture(autouse=True)
def _a_terminal_that_takes_escapes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)


def test_a_line_is_drawn_in_a_terminal_and_removed(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    with progress_line(quiet=False) as told:
        assert told is not None
        told(Progress(10, 10, 0, 5.0, 0.0))
    drawn = stream.getvalue()
    assert "10 of 10 runs" in drawn
    assert drawn.endswith("\r\x1b[K"), "the line is removed"


@pytest.mark.parametrize(
    ("columns", "fitted"), [("20", 40), ("50", 50), ("80", 80), ("81", 80), ("300", 80)]
)
def test_texts_are_between_forty_and_eighty_wide(
    columns: str, fitted: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    monkeypatch.setattr(sys, "stdout", Terminal())
    assert width() == fitted
    monkeypatch.setattr(sys, "stdout", io.StringIO())
    assert width() == fitted  # whoever sets it means pipes too
    monkeypatch.delenv("COLUMNS")
    assert width() == 80


@pytest.mark.parametrize(("name", "value"), [("NO_COLOR", "1"), ("TERM", "dumb")])
def test_a_terminal_that_takes_no_escapes_gets_the_lines_of_a_log(
    name: str, value: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv(name, value)
    with progress_line(quiet=False) as told:
        assert told is not None
        told(Progress(10, 10, 0, 5.0, 0.0))
    assert stream.getvalue() == ""


def test_a_line_that_is_drawn_over_never_needs_a_second_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv("COLUMNS", "24")
    with progress_line(quiet=False) as told:
        assert told is not None
        told(Progress(1500, 4000, 2, 500.0, 5.0))
    drawn = [line.removeprefix("\x1b[K") for line in stream.getvalue().split("\r")]
    assert drawn[1].startswith("1,500 of 4,000")
    assert max(map(len, drawn)) < 24


def test_a_log_gets_a_plain_line_a_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    stream, clock = io.StringIO(), iter([0.0, 1.0, 59.0, 61.0, 62.0, 125.0])
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setattr("edgewear.cli.terminal.time.monotonic", lambda: next(clock))
    with progress_line(quiet=False) as told:
        assert told is not None
        for done in range(1, 6):
            told(Progress(done, 5, 0, None, None))
    assert stream.getvalue() == "3 of 5 runs\n5 of 5 runs\n"


@pytest.mark.parametrize("stream", [Terminal(), io.StringIO()])
def test_nothing_is_told_when_quiet_is_asked_for(
    stream: io.StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stderr", stream)
    with progress_line(quiet=True) as told:
        assert told is None
    assert stream.getvalue() == ""


def test_a_document_keeps_names_as_they_are_written(capsys: pytest.CaptureFixture[str]) -> None:
    emit({"name": "Brüstung, 北", "never": None})
    shown = capsys.readouterr().out
    assert "Brüstung, 北" in shown
    assert json.loads(shown)["never"] is None


@pytest.mark.parametrize("number", [math.nan, math.inf])
def test_a_number_that_is_none_is_refused(number: float) -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        emit({"margin": number})
