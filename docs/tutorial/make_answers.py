"""Print anew what a tutorial's commands answer; run it after a change of what is printed.

    python docs/tutorial/make_answers.py

A block of `text` that follows a block of `sh` holds what that command prints. The scenario is the
page's first block of `yaml`.
"""

from __future__ import annotations

import re
import sys
import tempfile
from contextlib import chdir
from pathlib import Path

from typer.testing import CliRunner

from edgewear.cli.commands import app

PAGE = Path(__file__).with_name("first-comparison.md")
FILE = "roof.yaml"
_SCENARIO = re.compile(r"^```yaml\n(edgewear: 1\n.*?)^```", re.S | re.M)
_ANSWERED = re.compile(r"(^```sh\nedgewear ([^\n]*)\n```\n\n```text\n)(.*?)(^```)", re.S | re.M)


def answered(text: str) -> str:
    """Give a page with what its commands answer today."""
    found = _SCENARIO.search(text)
    if found is None:
        raise ValueError("the page has no scenario")
    with tempfile.TemporaryDirectory() as folder, chdir(folder):
        Path(FILE).write_text(found.group(1))
        return _ANSWERED.sub(lambda one: one[1] + answer(one[2]) + one[4], text)


def answer(typed: str) -> str:
    """Run a command and give what it prints, warnings last."""
    quiet = (
        ["--quiet"] if typed.startswith("compare") else []
    )  # how far it is depends on the machine
    done = CliRunner().invoke(app, [*typed.split(), *quiet])
    if done.exit_code:
        raise ValueError(f"edgewear {typed} ended with {done.exit_code}: {done.output}")
    return f"{done.stdout}{done.stderr}"


if __name__ == "__main__":
    PAGE.write_text(answered(PAGE.read_text()))
    print(PAGE, file=sys.stderr)
