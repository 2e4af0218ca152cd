"""Every command, in the order in which `--help` and the reference list them.

Each parses what was typed, calls one room and prints what it hands back.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgewear.cli import forecasts as forecasts
from edgewear.cli import jobs as jobs
from edgewear.cli import limits as limits
from edgewear.cli import procedure as procedure
from edgewear.cli import proposals as proposals
from edgewear.cli import rope_entries as rope_entries
from edgewear.cli import rope_lists as rope_lists
from edgewear.cli import studies as studies
from edgewear.cli import upkeep as upkeep
from edgewear.cli.app import app
from edgewear.cli.learning import learn as learn
from edgewear.cli.rope_options import ropes

if TYPE_CHECKING:
    from typer import Typer
    from typer.models import CommandInfo

__all__ = ["app"]

ORDER = (
    "check", "run", "compare", "report", "observe", "how-far", "what-matters", "faults", "propose",
    "board", "sweep", "deposit", "replay", "self-check", "learn",
)  # fmt: skip
"""Along a job, then what a researcher needs; words with commands of their own come after these."""

FORECAST_ORDER = ("freeze", "enter", "score", "next", "side-by-side")

ROPE_ORDER = (
    "register", "job", "look", "event", "set-aside", "put-back", "retire", "correct", "due",
    "show", "export", "import", "rules", "verify",
)  # fmt: skip
"""What is entered along a rope's life, then what is read."""


def _in_order(listed: Typer, order: tuple[str, ...]) -> None:
    """Sort commands: a module registers its own when it is first imported, by whomever."""

    def place(command: CommandInfo) -> int:
        return order.index(command.name or getattr(command.callback, "__name__", ""))

    listed.registered_commands.sort(key=place)


_in_order(app, ORDER)
for _group, _order in ((forecasts.forecasts, FORECAST_ORDER), (ropes, ROPE_ORDER)):
    _in_order(_group, _order)
    app.add_typer(_group)
