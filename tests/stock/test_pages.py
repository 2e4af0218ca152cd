"""Tutorial and how-to page of the record, every command run as it stands there."""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
from datetime import date
from pathlib import Path

import pytest
import yaml

from support.ropes import draft, stock_in
from support.shell import EDGEWEAR, edgewear
from support.tree import ROOT

DOCS = ROOT / "docs"
SHELL = re.compile(r"^```sh\n(.*?)^```", re.S | re.M)


def commands(page: Path) -> list[list[str]]:
    """Every command line of a page, in order."""
    return [shlex.split(line) for block in SHELL.findall(page.read_text())
            for line in block.splitlines()]  # fmt: skip


def run(page: Path, folder: Path) -> list[str]:
    """Run a page; what each command printed."""
    printed = []
    for program, *words in commands(page):
        assert program == "edgewear"
        done = edgewear(*words, folder=folder)
        assert done.returncode == 0, (words, done.stderr)
        printed.append(done.stdout)
    return printed


def test_the_tutorial_shows_what_it_says(tmp_path: Path) -> None:
    printed = run(DOCS / "tutorial" / "rope-record.md", tmp_path)
    assert "yarns cut" in printed[3]
    assert "set aside" in printed[3]
    assert "retired" not in printed[4]
    assert "retired" in printed[5]
    due = printed[7]
    assert "R-015" in due
    assert "R-014" not in due  # retired ropes ask for nobody
    assert (tmp_path / "pages" / "R-014.html").is_file()
    assert len(json.loads((tmp_path / "store.json").read_text())["entries"]) == 7


def test_the_how_to_page_shows_what_it_says(tmp_path: Path) -> None:
    page = DOCS / "how-to" / "keep-a-rope-record.md"
    first = (DOCS / "tutorial" / "first-comparison.md").read_text()
    (roof,) = re.findall(r"```yaml\n(edgewear: .*?)```", first, re.S)
    (strict,) = re.findall(r"```yaml\n# strict.yaml\n(.*?)```", page.read_text(), re.S)
    (log,) = re.findall(r"```text\n(.*?)```", page.read_text(), re.S)
    for name, text in (("roof.yaml", roof), ("strict.yaml", strict), ("log.csv", log)):
        (tmp_path / name).write_text(text)
    printed = run(page, tmp_path)
    shown = printed[4]
    assert "Gutter bracket" in shown
    assert re.search(r"nothing: computed .*(corrected to|corrects nothing)", shown, re.S)
    assert "fuzz: set aside [store rule 4]" in printed[6]
    assert "after 91 days" in printed[6]
    assert "entry 6 to 8 written" in printed[7]


def test_the_plan_of_the_how_to_page_starts_from_the_record(tmp_path: Path) -> None:
    page = (DOCS / "how-to" / "keep-a-rope-record.md").read_text()
    (said,) = (
        yaml.safe_load(found) for found in re.findall(r"```yaml\n(ropes:\n.*?)```", page, re.S)
    )
    first = (DOCS / "tutorial" / "first-comparison.md").read_text()
    (roof,) = re.findall(r"```yaml\n(edgewear: .*?)```", first, re.S)
    plan = yaml.safe_load(roof)
    rigged = plan["options"]["from the post, pad"]
    plan["ropes"] = said["ropes"]
    plan["options"] = {name: {**rigged, **own} for name, own in said["options"].items()}
    (tmp_path / "next.yaml").write_text(json.dumps(plan, indent=1))
    on = date.today().isoformat()  # what time alone asks for depends on it
    with stock_in(
        tmp_path, None,
        draft("register", "R-014", on, length_m=40.0, like="low-stretch 11"),
        draft("job", "R-014", on), draft("inspection", "R-014", on, to_m=40.0),
    ):  # fmt: skip
        pass
    done = edgewear("check", "next.yaml", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    look_at = " ".join(done.stderr.split())
    assert "working line: 'R-014' is worn before the job begins" in look_at


def test_an_entry_whose_answer_nobody_reads_is_written_and_says_so(
    tmp_path: Path,
) -> None:
    words = ("register", "store.ropes", "R1", "--length", "60 m", "--by", "A. Keeper")
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [EDGEWEAR, "rope", *words], cwd=tmp_path, stdout=writer, stderr=subprocess.PIPE, text=True
    )
    os.close(writer)
    assert done.returncode == 74
    assert "entry 1 is written; only the answer could not be printed" in done.stderr
    assert "Traceback" not in done.stderr
    verified = edgewear("rope", "verify", "store.ropes", "--json", folder=tmp_path)
    assert json.loads(verified.stdout)["entries"] == 1


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("due", "nowhere.ropes"), 74, "cannot be read"),
        (("show", "store.ropes", "R9"), 2, "no rope 'R9' is registered"),
        (("look", "store.ropes", "R1", "--finding", "well", "--by", "B"), 65,
         "'well': allowed are"),
        (("look", "store.ropes", "R1", "--finding", "fuzz", "--to", "99 m", "--by", "B"), 65,
         "beyond the rope's end"),
        (("register", "store.ropes", "R1", "--length", "60", "--by", "B"), 2, "--length"),
        (("register", "store.ropes", "R1", "--length", "60 m", "--by", "B"), 65, "already"),
        (("job", "store.ropes", "R1", "--by", "B"), 2, "either --dataset or --job"),
        (("event", "store.ropes", "R1", "--what", "heat", "--by", "B", "--on", "1.2.26"), 2,
         "--on"),
        (("rules", "store.ropes", "--by", "B"), 2, "go together"),
        (("export", "store.ropes", "--out", "x.xls"), 2, ".csv or .json"),
    ],
)  # fmt: skip
def test_what_cannot_be_entered_is_a_sentence(
    words: tuple[str, ...], code: int, said: str, tmp_path: Path
) -> None:
    with stock_in(tmp_path):
        pass
    done = edgewear("rope", *words, folder=tmp_path)
    assert (done.returncode, "Traceback" in done.stderr) == (code, False)
    assert said in done.stderr
    assert done.stdout == ""
