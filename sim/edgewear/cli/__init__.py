"""The command line: parse, call, print, exit code; no logic of its own."""

from __future__ import annotations

import os
import signal
import sys
from typing import NoReturn

from edgewear.garbage import seldom_collect

INTERRUPTED = 130
UNWRITTEN = 74


def main() -> NoReturn:
    """Run the command that was typed and end with its exit code."""
    code = ended()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C finds nothing to stop any more
    sys.exit(code)


def ended() -> int:
    """Run the command that was typed; give its exit code when everything is written."""
    # Our matrices are small: threads of the linear algebra would wait for each other, and their
    # number, the machine's, would show in last digits. Worker processes inherit it.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from edgewear.cli.out.streams import Broken, flush, open_streams, why_broken

    open_streams()
    try:
        code = _ended()
        flush()
    except KeyboardInterrupt:  # before or after the command itself
        return INTERRUPTED
    except Broken as broken:
        if why := why_broken(broken):
            print(why, file=sys.stderr)
        return UNWRITTEN
    return code


def _ended() -> int:
    seldom_collect()
    from edgewear.cli.commands import app
    from edgewear.cli.terminal import width
    from edgewear.errors import EdgewearError

    try:
        app(terminal_width=width())
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    except EdgewearError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    except OSError as error:  # a place nobody guarded; still a sentence, not a traceback
        print(f"{error.filename or 'input or output'}: {error.strerror or error}", file=sys.stderr)
        return UNWRITTEN
    return 0
