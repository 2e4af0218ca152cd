"""Writes `promises.md` from the promises below and the last figures in `promises.json`.

    python docs/reference/make_promises.py
    python docs/reference/make_promises.py --note kills "1,000 kills, 0 rows lost" \\
        --machine "16 cores, Python 3.12" [--date 2026-11-28]

The second line puts a figure in first. Whoever runs a long test notes what it came to.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import dataclass
from datetime import date
from pathlib import Path

PAGE = Path(__file__).with_name("promises.md")
FIGURES = Path(__file__).with_name("promises.json")


@dataclass(frozen=True)
class Promise:
    """One thing promised, and the tests that hold it: file::function."""

    key: str
    about: str
    words: str
    tests: tuple[str, ...]


PROMISES = (
    Promise("kills", "loss", "What a study has finished is kept when its runner is killed at any "
            "moment, and goes on to the same bytes.",
            ("tests/study/test_hardships.py::test_a_runner_killed_twice_leaves_the_same_bytes_and_no_stray_files",
             "tests/study/test_hardships.py::test_killed_a_hundred_times_over_twenty_studies",
             "tests/house/test_interrupted.py::test_ctrl_c_keeps_the_finished_parts_of_a_study")),
    Promise("writing", "loss", "A command that writes leaves no file half written at its place, "
            "however it is ended, and typed again it writes the same files.",
            ("tests/house/test_kills.py::test_a_command_that_is_ended_leaves_nothing_half_written",)),
    Promise("processes", "loss", "No process is left of a command that was killed or stopped.",
            ("tests/study/test_killed.py::test_no_process_is_left_of_a_runner_that_is_killed",
             "tests/study/test_killed.py::test_no_process_is_left_a_hundred_times",
             "tests/study/test_workers.py::test_workers_that_are_interrupted_and_let_go_say_nothing")),
    Promise("disk", "loss", "A full disk loses nothing that was finished.",
            ("tests/study/test_hardships.py::test_a_full_disk_loses_nothing_that_was_finished",)),
    Promise("damages", "loss", "Damage of a dataset is noticed, and what is missing is made again.",
            ("tests/study/test_hardships.py::test_random_damages_are_noticed_and_mended",
             "tests/study/test_hardships.py::test_a_thousand_random_damages_are_noticed_and_mended",
             "tests/dataset/test_files.py::test_any_bit_that_flips_in_a_manifest_is_noticed")),
    Promise("workers", "bytes", "The number of workers, and the order in which they end, change "
            "no byte of a result.",
            ("tests/house/test_main_job.py::test_the_same_seed_gives_the_same_bytes_for_any_number_of_workers",
             "tests/study/test_sweep.py::test_workers_leave_no_trace",
             "tests/study/test_cluster.py::test_a_cluster_one_of_whose_workers_dies_gives_the_same_bytes")),
    Promise("crafted", "loss", "A dataset that somebody sent is read or refused in a sentence, "
            "whatever its tables hold and whoever signed its manifest.",
            ("tests/fuzz/test_crafted.py::test_a_table_spoilt_and_signed_is_read_or_refused",
             "tests/fuzz/test_crafted.py::test_ten_thousand_crafted_datasets")),
    Promise("replay", "bytes", "Any row of a dataset comes out again bit for bit with the same "
            "versions on the same machine.",
            ("tests/study/test_replay.py::test_a_row_of_a_sweep_comes_out_again_bit_for_bit",
             "tests/study/test_replay.py::test_two_hundred_random_rows_come_out_again_bit_for_bit")),
    Promise("typed", "bytes", "A row of a study is what a scenario typed with its values gives.",
            ("tests/study/test_rows.py::test_a_row_equals_its_values_typed_for_some_singles_and_pairs",
             "tests/study/test_rows.py::test_every_pair_of_addresses_is_typed_together_in_some_row")),
    Promise("ranks", "order", "Who misses the target has no rank, and every output keeps the order "
            "of the ranking.",
            ("tests/report/test_never.py::test_an_option_that_misses_the_target_has_no_rank",
             "tests/report/test_never.py::test_options_keep_the_order_of_the_ranking")),
    Promise("worse", "order", "A worse edge, load or climber never wears less where physics says "
            "so.",
            ("tests/wear/test_tendencies.py::test_a_worse_edge_or_load_never_wears_less",
             "tests/wear/test_tendencies.py::test_a_worse_edge_or_load_never_wears_less_in_many_setups",
             "tests/house/test_tendencies.py::test_jerky_climbing_costs_more_than_smooth_and_protection_saves")),
    Promise("never", "order", "No output promises: status and level stand in every row, and that "
            "it is no permission.",
            ("tests/report/test_never.py::test_every_output_says_that_it_is_no_permission_and_law_comes_first",
             "tests/house/test_words.py::test_no_output_promises_anything")),
    Promise("pythons", "versions", "Python 3.11, 3.12 and 3.13, and the lowest and newest versions "
            "of the dependencies, compute the same to 1e-9.",
            ("tests/everywhere/test_everywhere.py::test_other_pythons_compute_the_same",
             "tests/mechanics/test_uncompiled.py::test_plain_python_comes_to_what_compiled_kernels_do")),
    Promise("schemas", "versions", "A dataset of a newer schema is refused, never misread.",
            ("tests/dataset/test_files.py::test_a_newer_schema_is_refused_and_another_one_too",)),
    Promise("wheel", "versions", "The wheel holds every file of the package and runs in an "
            "environment of its own.",
            ("tests/house/test_wheel.py::test_the_wheel_holds_what_the_tree_holds",
             "tests/house/test_wheel.py::test_the_wheel_runs_in_an_environment_of_its_own")),
    Promise("files", "limits", "A file that comes in is read, or refused with its place: no "
            "traceback, no control character, within bounds of time and memory.",
            ("tests/fuzz/test_files.py",
             "tests/scenario/test_fuzz.py::test_changed_file_is_read_or_refused")),
    Promise("streams", "limits", "Whatever encoding, width, terminal, pipe or disk the streams of "
            "a command are, it ends with a documented code, prints no traceback, no escape where "
            "none is wanted and no line wider than asked, and writes the same files.",
            ("tests/house/test_streams.py::test_any_streams",
             "tests/house/test_streams.py::test_any_streams_five_hundred_times")),
    Promise("messages", "limits", "A board refuses nonsense and touches no file for it.",
            ("tests/board/test_server.py::test_nonsense_is_refused_and_touches_nothing",
             "tests/board/test_server.py::test_ten_thousand_pieces_of_nonsense")),
    Promise("soak", "limits", "A long day of sweeps, comparisons and changes on a board "
            "leaves memory flat, and no file open.",
            ("tests/soak/test_long_day.py::test_hours_of_work_leave_memory_flat_and_nothing_open",)),
    Promise("ten_million", "limits", "A dataset of ten million rows is planned, and any "
            "stretch of it is played and verified.",
            ("tests/soak/test_ten_million_rows.py::test_any_stretch_of_ten_million_rows_is_planned_and_played",)),
    Promise("mutants", "tests", "Of small changes made to the sources on purpose, at least nine in "
            "ten are noticed by the narrow tests of their room.",
            ("tests/mutants/test_mutations.py::test_every_place_is_changed_once_for_each_way",)),
)  # fmt: skip

HEAD = """# Promises: what is meant to hold, and how it is tested

Written by `python docs/reference/make_promises.py`. The suite runs a sample of each by default and
the full count under `-m long`. A figure is the last one that somebody noted, with the machine and
the day; it tells what was seen then, and no test can show that nothing is left to find.

| about | promise | tested by | last figure |
| --- | --- | --- | --- |
"""


def figures() -> dict[str, dict[str, str]]:
    """Give what was noted last: key -> figure, machine, date."""
    return json.loads(FIGURES.read_text("utf-8"))


def page() -> str:
    """Give the page."""
    noted = figures()
    return HEAD + "".join(_row(one, noted.get(one.key)) for one in PROMISES)


def _row(one: Promise, noted: dict[str, str] | None) -> str:
    tests = "<br>".join(f"`{test}`" for test in one.tests)
    last = "none noted"
    if noted:
        last = f"{noted['figure']} ({noted['machine']}, {noted['date']})"
    return f"| {one.about} | {one.words} | {tests} | {last} |\n"


def note(key: str, figure: str, machine: str, day: str) -> None:
    """Put a figure in."""
    if key not in {one.key for one in PROMISES}:
        raise SystemExit(f"{key}: no promise of that name")
    noted = figures() | {key: {"figure": figure, "machine": machine, "date": day}}
    FIGURES.write_text(json.dumps(dict(sorted(noted.items())), indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--note", nargs=2, metavar=("KEY", "FIGURE"))
    parser.add_argument("--machine", default="two cores, Python 3.11")
    parser.add_argument("--date", default=date.today().isoformat())
    given = parser.parse_args()
    if given.note:
        note(*given.note, given.machine, given.date)
    PAGE.write_text(page(), encoding="utf-8")
    print(PAGE, file=sys.stderr)
