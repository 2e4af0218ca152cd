"""The command line: parse, call, print, exit code; no logic of its own."""

from __future__ import annotations

import sys
from typing import NoReturn


def main() -> NoReturn:
    """Run the command that was typed and end with its exit code."""
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
    sys.exit(0)
