"""Print anew what the tutorials' commands answer; run it after a change of what is printed.

    python docs/tutorial/make_answers.py

A block of `text` that follows a block of `sh` holds what that command prints. The scenario is the
page's first block of `yaml`; a block that begins with `# name.yaml` is a file of that name. Of the
programme of tests every command is run, also those without an answer; it takes minutes.
"""

from __future__ import annotations

import re
import shlex
import sys
import tempfile
from collections.abc import Iterator
from contextlib import chdir, contextmanager
from pathlib import Path

from typer.testing import CliRunner

from edgewear.cli.commands import app

PAGES = tuple(map(Path(__file__).with_name, ("first-comparison.md", "how-far-back.md")))
PROGRAMME = Path(__file__).with_name("test-programme.md")
"""Where every command runs, one after the other in one folder."""

FILE = "roof.yaml"
LONG = ("compare", "forecast", "how-far", "learn", "propose")
_SCENARIO = re.compile(r"^```yaml\n(edgewear: 1\n.*?)^```", re.S | re.M)
_ANSWERED = re.compile(r"(^```sh\nedgewear ([^\n]*)\n```\n\n```text\n)(.*?)(^```)", re.S | re.M)
_NAMED = re.compile(r"^```yaml\n# ([\w-]+\.yaml)\n(.*?)^```", re.S | re.M)
_RUN = re.compile(r"(^```sh\nedgewear ([^\n]*)\n```\n)(?:(\n```text\n)(.*?)(^```))?", re.S | re.M)


def answered(text: str) -> str:
    """Give a page with what its commands answer today."""
    with _folder_of(text):
        return _ANSWERED.sub(lambda one: one[1] + answer(one[2]) + one[4], text)


def all_run(text: str) -> str:
    """Give a page whose every command was run, with what those answer that have an answer."""

    def ran(one: re.Match[str]) -> str:
        said = answer(one[2])
        return one[1] + (one[3] + said + one[5] if one[3] else "")

    with _folder_of(text):
        return _RUN.sub(ran, text)


@contextmanager
def _folder_of(text: str) -> Iterator[None]:
    """Work in a new folder that holds a page's files."""
    found = _SCENARIO.search(text)
    if found is None:
        raise ValueError("the page has no scenario")
    with tempfile.TemporaryDirectory() as folder, chdir(folder):
        Path(FILE).write_text(found.group(1))
        for name, content in _NAMED.findall(text):
            Path(name).write_text(content)
        yield


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
    PROGRAMME.write_text(all_run(PROGRAMME.read_text()))
    print(PROGRAMME, file=sys.stderr)
