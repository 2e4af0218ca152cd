"""The command line: parse, call, print, exit code; no logic of its own."""

from __future__ import annotations

import atexit
import os
import signal
import sys
import threading
import time
from contextlib import suppress
from traceback import walk_stack
from types import CodeType, FrameType, TracebackType
from typing import NoReturn

from edgewear.garbage import seldom_collect

INTERRUPTED = 130
UNWRITTEN = 74
AGAIN_S = 0.01


def main() -> NoReturn:
    """Run the command that was typed and end with its exit code."""
    code = ended()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C finds nothing to stop any more
    if all(one.daemon or one is threading.main_thread() for one in threading.enumerate()):
        _leave(code)
    sys.exit(code)


def _leave(code: int) -> NoReturn:
    """End without taking modules apart: all is written, and that takes longer than a report."""
    atexit._run_exitfuncs()
    sys.stderr.flush()
    os._exit(code)


def ended() -> int:
    """Run the command that was typed; give its exit code when everything is written."""
    # Our matrices are small: threads of the linear algebra would wait for each other, and their
    # number, the machine's, would show in last digits. Worker processes inherit it.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from edgewear.cli.out.streams import Broken, flush, open_streams, why_broken

    open_streams()
    pressed = _hear_ctrl_c()
    try:
        code = _ended(pressed)
        flush()
    except KeyboardInterrupt:  # before or after the command itself
        return INTERRUPTED
    except Broken as broken:
        if why := why_broken(broken):
            print(why, file=sys.stderr)
        return UNWRITTEN
    except Exception:
        if pressed:  # what broke, broke by Ctrl-C, which some library took in
            return INTERRUPTED
        raise
    return code


def _hear_ctrl_c() -> list[int]:
    """Note every Ctrl-C, so that none is lost where no exception may pass; what was noted.

    Python drops an exception in the midst of a callback of its own, with a traceback on stderr,
    and compiled code of libraries prints one of its own before that; these are raised again a
    moment later. Other libraries make another error of it, which counts as a Ctrl-C too.
    """
    pressed: list[int] = []
    if signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        return pressed
    usual, told = sys.unraisablehook, sys.excepthook
    missed: list[bool] = []

    def heard(number: int, frame: FrameType | None) -> None:
        pressed.append(number)
        if not _within(
            frame, (dropped.__code__, printed.__code__)
        ):  # where it would be dropped for good
            missed.clear()
            raise KeyboardInterrupt

    def insist() -> None:
        while missed:
            time.sleep(AGAIN_S)
            if missed:
                os.kill(os.getpid(), signal.SIGINT)

    def dropped(what: sys.UnraisableHookArgs) -> None:
        if isinstance(what.exc_value, KeyboardInterrupt):
            missed.append(True)
            threading.Thread(target=insist, daemon=True).start()
        else:
            usual(what)

    def printed(
        kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        if not issubclass(kind, KeyboardInterrupt):
            told(kind, error, trace)

    with suppress(ValueError):  # not in the main thread, which alone hears of signals
        signal.signal(signal.SIGINT, heard)
        sys.unraisablehook, sys.excepthook = dropped, printed
    return pressed


def _within(frame: FrameType | None, codes: tuple[CodeType, ...]) -> bool:
    """Tell whether one of these functions is being run."""
    return any(one.f_code in codes for one, _ in walk_stack(frame))


def _ended(pressed: list[int]) -> int:
    seldom_collect()
    from typer.main import get_command

    from edgewear.cli.commands import app
    from edgewear.cli.terminal import width
    from edgewear.errors import EdgewearError, Interrupted

    try:
        get_command(app)(terminal_width=width())  # the app itself would take over the excepthook
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    except Interrupted as error:
        print(error, file=sys.stderr)
        return error.exit_code
    except EdgewearError as error:
        if pressed:
            raise
        print(error, file=sys.stderr)
        return error.exit_code
    except OSError as error:  # a place nobody guarded; still a sentence, not a traceback
        print(f"{error.filename or 'input or output'}: {error.strerror or error}", file=sys.stderr)
        return UNWRITTEN
    return 0
