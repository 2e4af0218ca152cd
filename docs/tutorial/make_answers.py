"""Print anew what the tutorials' commands answer; run it after a change of what is printed.

    python docs/tutorial/make_answers.py

A block of `text` that follows a block of `sh` holds what that command prints. The scenario is the
page's first block of `yaml`.
"""

from __future__ import annotations

import re
import shlex
import sys
import tempfile
from contextlib import chdir
from pathlib import Path

from typer.testing import CliRunner

from edgewear.cli.commands import app

PAGES = tuple(map(Path(__file__).with_name, ("first-comparison.md", "how-far-back.md")))
FILE = "roof.yaml"
LONG = ("compare", "how-far", "propose")
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
    words = shlex.split(typed)
    quiet = ["--quiet"] if words[0] in LONG else []  # how far it is depends on the machine
    done = CliRunner().invoke(app, [*words, *quiet])
    if done.exit_code:
        raise ValueError(f"edgewear {typed} ended with {done.exit_code}: {done.output}")
    return f"{done.stdout}{done.stderr}"


if __name__ == "__main__":
    for page in PAGES:
        page.write_text(answered(page.read_text()))
        print(page, file=sys.stderr)
