"""Writes `verification.md`: every exact answer with the error found on this machine."""

from __future__ import annotations

import sys
from pathlib import Path

from edgewear.validation.exact.verify import verify

HEAD = """\
# Exact answers

What the code must reproduce, and the error found when this page was written (by
`python docs/reference/make_verification.py`; `edgewear self-check --verify` finds it anew on
your machine). Errors are relative unless the row names a unit. Agreement with a closed form says
that the equations are solved, not that a rope obeys them.

"""

if __name__ == "__main__":
    page = Path(__file__).with_name("verification.md")
    page.write_text(HEAD + verify(full=True).page(), encoding="utf-8")
    print(page, file=sys.stderr)
