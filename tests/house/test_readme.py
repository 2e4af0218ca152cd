"""README's commands: one line each, and the same lines that the checks run."""

from __future__ import annotations

import re

from support.tree import ROOT

README = (ROOT / "README.md").read_text()
CI = (ROOT / ".ci" / "run").read_text()


def commands() -> list[str]:
    return re.findall(r"```sh\n(.*?)```", README, re.S)


def test_two_commands_of_one_line_each() -> None:
    assert len(commands()) == 2
    assert all(command.count("\n") == 1 for command in commands())


def test_the_first_runs_the_main_job_and_the_second_the_tests() -> None:
    job, tests = commands()
    assert job.endswith(".venv/bin/edgewear compare scenarios/demo.yaml\n")
    assert tests.endswith(".venv/bin/python -m pytest\n")
    assert (ROOT / "scenarios" / "demo.yaml").is_file()


def test_each_sets_itself_up() -> None:
    for command in commands():
        assert command.startswith("python3 -m venv --without-pip .venv && ")
        assert "pip --python .venv/bin/python install" in command


def test_the_checks_run_them_word_for_word() -> None:
    lines = CI.splitlines()
    job, tests = (command.strip() for command in commands())
    assert tests in lines
    assert job in lines
    assert lines.index(tests) < lines.index(job)


def test_the_first_paragraph_states_the_job() -> None:
    paragraph = README.split("\n\n")[1]
    assert all(word in paragraph for word in ("ropes", "edges", "sheath", "compares"))
