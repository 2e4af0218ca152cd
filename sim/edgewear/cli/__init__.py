"""The command line: parse, call, print, exit code; no logic of its own."""

from __future__ import annotations

import os
import signal
import sys
from typing import NoReturn

from edgewear.garbage import seldom_collect


def main() -> NoReturn:
    """Run the command that was typed and end with its exit code."""
    # Our matrices are small: threads of the linear algebra would wait for each other, and their
    # number, the machine's, would show in last digits. Worker processes inherit it.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    seldom_collect()
    from edgewear.cli.commands import app
    from edgewear.errors import EdgewearError

    try:
        app()
    except EdgewearError as error:
        print(error, file=sys.stderr)
        sys.exit(error.exit_code)
    except OSError as error:  # a place nobody guarded; still a sentence, not a traceback
        print(f"{error.filename or 'input or output'}: {error.strerror or error}", file=sys.stderr)
        sys.exit(74)
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C finds nothing to stop any more
    sys.exit(0)
