"""Every command, in the order in which `--help` lists them.

Each parses what was typed, calls one room and prints what it hands back.
"""

from __future__ import annotations

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

__all__ = ["app"]
