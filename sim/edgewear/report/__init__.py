"""Terminal tables, the page, text documents and cards, all from finished datasets."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from edgewear.report.drawings.fault_chart import faults_picture
    from edgewear.report.how_far.files import write_how_far
    from edgewear.report.how_far.terminal import print_how_far
    from edgewear.report.learning.learned import print_learned
    from edgewear.report.learning.plan import print_next_tests
    from edgewear.report.learning.scores import print_frozen, print_scores
    from edgewear.report.learning.series import print_sides
    from edgewear.report.procedure.audit_page import write_audit
    from edgewear.report.procedure.page import write_faults
    from edgewear.report.proposals.files import write_proposals
    from edgewear.report.proposals.terminal import print_proposals
    from edgewear.report.terminal.comparison import print_ranking
    from edgewear.report.terminal.faults import print_faults
    from edgewear.report.terminal.observed import print_observed
    from edgewear.report.terminal.single_run import print_run
    from edgewear.report.terminal.understood import print_look_at, print_understood
    from edgewear.report.what_matters.files import write_what_matters
    from edgewear.report.what_matters.terminal import print_what_matters
    from edgewear.report.write import take_away, write_ranked, write_report

__all__ = [
    "faults_picture",
    "print_faults",
    "print_frozen",
    "print_how_far",
    "print_learned",
    "print_look_at",
    "print_next_tests",
    "print_observed",
    "print_proposals",
    "print_ranking",
    "print_run",
    "print_scores",
    "print_sides",
    "print_understood",
    "print_what_matters",
    "take_away",
    "write_audit",
    "write_faults",
    "write_how_far",
    "write_proposals",
    "write_ranked",
    "write_report",
    "write_what_matters",
]

_HOMES = {
    "faults_picture": "drawings.fault_chart",
    "print_how_far": "how_far.terminal",
    "print_next_tests": "learning.plan",
    "print_observed": "terminal.observed",
    "print_ranking": "terminal.comparison",
    "print_faults": "terminal.faults",
    "print_frozen": "learning.scores",
    "print_learned": "learning.learned",
    "print_scores": "learning.scores",
    "print_sides": "learning.series",
    "print_run": "terminal.single_run",
    "print_look_at": "terminal.understood",
    "print_understood": "terminal.understood",
    "take_away": "write",
    "write_audit": "procedure.audit_page",
    "write_ranked": "write",
    "write_faults": "procedure.page",
    "write_how_far": "how_far.files",
    "write_proposals": "proposals.files",
    "print_proposals": "proposals.terminal",
    "print_what_matters": "what_matters.terminal",
    "write_report": "write",
    "write_what_matters": "what_matters.files",
}


def __getattr__(name: str) -> Any:  # whatever the name stands for
    """Load a public name on first use."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_HOMES[name]}", __name__), name)
