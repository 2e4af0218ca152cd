"""Which sources are changed on purpose, and which tests should notice."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = "sim/edgewear"


@dataclass(frozen=True)
class Room:
    """Sources by pattern, and the narrowest tests that guard them."""

    patterns: tuple[str, ...]
    tests: tuple[str, ...]

    def files(self) -> list[str]:
        """Give the sources by their path in the tree."""
        found = {path for pattern in self.patterns for path in (ROOT / PACKAGE).glob(pattern)}
        return sorted(path.relative_to(ROOT).as_posix() for path in found)


ROOMS = {
    "ranking": Room(
        ("dataset/ranking/*.py",),
        (
            "tests/dataset/test_rank_figures.py",
            "tests/wear/test_spread.py",
            "tests/dataset/test_places.py",
            "tests/dataset/test_said_of_options.py",
            "tests/dataset/test_parts.py",
            "tests/dataset/test_percentiles.py",
            "tests/dataset/test_statistics.py",
            "tests/report/test_decided.py",
            "tests/report/test_mind.py",
            "tests/dataset/test_rank.py",
            "tests/study/test_looks_of_jobs.py",
            "tests/study/test_observe.py",
        ),
    ),
    "dataset": Room(
        ("dataset/*.py",),
        (
            "tests/dataset/test_told.py",
            "tests/dataset/test_tables.py",
            "tests/dataset/test_files.py",
            "tests/dataset/test_door.py",
            "tests/study/test_hardships.py",
            "tests/study/test_runner.py",
            "tests/study/test_killed.py",
            "tests/dataset/test_about.py",
            "tests/fuzz/test_crafted.py",
        ),
    ),
    "control": Room(
        ("rigging/findings/control.py", "rigging/findings/limits.py", "rigging/findings/careful.py",
         "rigging/findings/failures.py", "rigging/findings/independence.py"),
        ("tests/rigging/test_control.py", "tests/rigging/test_limits.py",
         "tests/rigging/test_careful.py", "tests/rigging/test_failures.py",
         "tests/rigging/test_independence.py", "tests/rigging/test_facts.py"),
    ),
    "faults": Room(
        ("procedure/judged/*.py", "procedure/fault*.py", "procedure/difference.py",
         "procedure/between_people.py", "procedure/rescue_ways/*.py"),
        (
            "tests/procedure/test_fault_rows.py",
            "tests/procedure/test_fault_plan.py",
            "tests/procedure/test_runs.py",
            "tests/procedure/test_fault_rigging.py",
            "tests/procedure/test_points.py",
            "tests/procedure/test_calls.py",
            "tests/procedure/test_kits.py",
            "tests/procedure/test_moments.py",
            "tests/procedure/test_scene.py",
            "tests/procedure/test_ways.py",
            "tests/procedure/test_changes.py",
            "tests/procedure/test_difference.py",
            "tests/procedure/test_revisions.py",
            "tests/procedure/test_between_people.py",
            "tests/procedure/test_rates.py",
            "tests/procedure/test_caught.py",
            "tests/procedure/test_doubts.py",
            "tests/procedure/test_fates.py",
            "tests/procedure/test_verdict.py",
            "tests/procedure/test_remedy.py",
            "tests/procedure/test_faults.py",
            "tests/report/test_audit.py",
            "tests/engine/test_faults.py",
            "tests/report/test_faults_page.py",
            "tests/report/test_faults_table.py",
            "tests/procedure/test_planted.py",
        ),
    ),
    "doors": Room(
        ("scenario/text/*.py", "scenario/read/*.py", "incoming.py"),
        (
            "tests/scenario/test_doors.py",
            "tests/scenario",
            "tests/stock/test_scenarios.py",
            "tests/stock/test_standing.py",
        ),
    ),
}  # fmt: skip
