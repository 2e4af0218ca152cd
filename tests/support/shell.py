"""The installed command, run as people run it, or called here where nothing hangs on a process."""

from __future__ import annotations

import subprocess
import sys
from contextlib import chdir
from pathlib import Path

from typer.testing import CliRunner

from edgewear.cli.commands import app
from edgewear.errors import EdgewearError
from support.tree import ROOT

EDGEWEAR = Path(sys.executable).with_name("edgewear")
SCENARIOS = sorted(
    path for path in (ROOT / "scenarios").glob("*") if path.suffix in (".yaml", ".yml")
)
"""Files of tests lie in a folder of their own."""


def edgewear(*words: str | Path, folder: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """Run the command in a folder, its streams caught."""
    return subprocess.run([EDGEWEAR, *words], cwd=folder, capture_output=True, text=True)


def called(*words: str | Path, folder: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """Call the command in this process, which saves the seconds of a start.

    An error of ours gives its code and sentence, as at the end of the command; any other is raised.
    """
    with chdir(folder):
        done = CliRunner().invoke(app, [str(word) for word in words])
    code, told, error = done.exit_code, done.stderr, done.exception
    if isinstance(error, EdgewearError):
        code, told = error.exit_code, f"{told}{error}\n"
    elif error is not None and not isinstance(error, SystemExit):
        raise error
    return subprocess.CompletedProcess(words, code, done.stdout, told)
