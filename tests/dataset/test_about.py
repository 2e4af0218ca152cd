"""What a dataset says of itself, and the bundle for an archive."""

from __future__ import annotations

import hashlib
import platform
import shutil
import subprocess
import zipfile
from dataclasses import replace
from math import inf, nan
from pathlib import Path

import pytest

import edgewear
from edgewear.dataset.about import citation, methods
from edgewear.dataset.deposit import deposit
from edgewear.dataset.processor import processor
from edgewear.dataset.reading import STEPS, Dataset, open_dataset
from edgewear.dataset.said import as_a_study_writes, odd_in_about
from edgewear.errors import DatasetError
from support.studies import SLEEVE as BASE

ROOT = Path(__file__).parents[2]
STUDY = "study: {sample: {method: random, rows: 2, over: [friction]}, seed: 3}\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    root = tmp_path_factory.mktemp("deposit") / "out"
    edgewear.load(f"{BASE}{STUDY}").sweep(root)
    return root


ODD = {
    "file": (["job.yaml", ""], [None, 3, ["x"]]),
    "title": (["x"], [None, 3]),
    "setting": ([None, "alpine"], [3, ["x"]]),
    "target": ([None, 0.5, 1], [0, -0.5, True, inf, nan, "half"]),
    "seed": ([0, 2**64 - 1], [-1, 2**64, 1.0, True, "1", None]),
    "replicates": ([1, 10**12], [0, 10**12 + 1, True, None]),
    "travel": ([0, 10**12], [-1, 10**12 + 1, False, 0.5]),
    "changes": ([[], ["x", "y"]], ["x", [3], ["x", None], None]),
    "edges": ([True, False], [0, 1, None, "yes"]),
    "structural": ([[], ["x"]], [{}, ["x", 3]]),
    "sets": ([[], [["a", "b", []], ["c", "d", ["e"]]]],
             ["x", [["a", "b"]], [["a", "b", [], []]], [[3, "b", []]], [["a", 3, []]],
              [["a", "b", []], "abc"], None]),
}  # fmt: skip
"""What a manifest may say of a study, and what it may not."""


@pytest.mark.parametrize("name", ODD)
def test_what_a_manifest_cannot_say_is_named(name):
    right, wrong = ODD[name]
    first = {key: values[0][0] for key, values in ODD.items()}
    for value in right:
        assert odd_in_about({**first, name: value}) is None
    for value in wrong:
        assert odd_in_about({**first, name: value}) == name
    assert odd_in_about({}) is None  # what it does not say at all is looked for elsewhere


@pytest.mark.parametrize(
    "odd", [KeyError("mass"), IndexError("3"), TypeError("None"), ValueError("\x1bx"),
            AttributeError("get"), ZeroDivisionError("0"), RecursionError("deep")]
)  # fmt: skip
def test_what_no_study_writes_is_told_with_the_folder_and_what_is_odd(odd):
    """Whatever a document of somebody else leads to; nothing of it can steer a terminal."""
    with pytest.raises(DatasetError, match=r"^somewhere: scenario\.json, a table or") as told:
        with_odd(odd)
    assert type(odd).__name__ in str(told.value)
    assert "\x1b" not in str(told.value)
    with pytest.raises(OSError, match="ours"):
        with_odd(OSError("ours"))


def with_odd(error):
    with as_a_study_writes("somewhere"):
        raise error


def test_a_dataset_has_a_readme_and_a_licence_under_its_checksums(folder):
    files = {file.path for file in open_dataset(folder).manifest.files}
    assert {"README.md", "LICENSE.txt"} <= files
    assert "A projection, not permission" in (folder / "README.md").read_text()


def test_a_dataset_has_what_its_manifest_lists_and_nothing_else(folder):
    dataset = open_dataset(folder)
    listed = {file.path for file in dataset.manifest.files}
    assert all(dataset.has(name) for name in listed)
    assert not any(dataset.has(name) for name in ("none.json", "runs", "", "manifest.json"))


def test_the_scenario_of_a_dataset_is_told_by_its_bytes(folder):
    dataset = open_dataset(folder)
    raw = (folder / "scenario.yaml").read_bytes()
    assert dataset.scenario_text == raw.decode()
    assert dataset.scenario_sha256 == hashlib.sha256(raw).hexdigest()


READ = {
    "scenario.yaml": lambda study: study.scenario_text,
    "scenario.json": lambda study: study.resolved,
    "plan.parquet": Dataset.plan,
    "runs/part-000000.parquet": Dataset.runs,
    "nominal/events.parquet": Dataset.events,
    "nominal/wear.parquet": Dataset.wear,
    "nominal/timeline.parquet": Dataset.timeline,
    STEPS: Dataset.step_wear,
}
"""What reads each file of a dataset."""


@pytest.mark.parametrize("name", READ)
def test_no_file_is_read_that_is_not_what_was_written(name, folder, tmp_path):
    copy = shutil.copytree(folder, tmp_path / "copy")
    found = READ[name](open_dataset(copy))
    assert found is not None
    if name.endswith(".parquet") and not name.startswith("runs/"):
        part = open_dataset(copy).part(name)
        assert str(part.to_pydict()) == str(found.to_pydict())  # nan is like no other number
    (copy / name).write_bytes((copy / name).read_bytes() + b" ")
    with pytest.raises(DatasetError, match=f"{name}: its sha256 is not the one written; damaged"):
        READ[name](open_dataset(copy))
    manifest = open_dataset(copy).manifest
    others = tuple(file for file in manifest.files if file.path != name)
    without = Dataset(copy, replace(manifest, files=others))
    if name == STEPS:  # an older edgewear wrote none
        assert without.step_wear() is None
    else:
        with pytest.raises(DatasetError, match=r"has no|kept no runs"):
            READ[name](without)


CPUS = (
    ("processor: 0\nmodel name\t: A fast one \nflags: x\nmodel name: another\n", "A fast one"),
    ("processor: 0\n", None), ("", None), (None, None),
)  # fmt: skip


@pytest.mark.parametrize(("told", "name"), CPUS)
@pytest.mark.parametrize("machine", ["arm", ""])
def test_a_processor_has_the_name_that_is_known_of_it(told, name, machine, monkeypatch):
    """What the system tells of the first one; else what Python knows; else that nothing is."""

    def read(path):
        if told is None:
            raise FileNotFoundError(path)
        return told

    monkeypatch.setattr(Path, "read_text", read)
    monkeypatch.setattr(platform, "processor", lambda: machine)
    assert processor().strip() == (name or machine or "unknown")


def test_the_methods_paragraph_tells_the_figures_of_the_manifest(folder):
    manifest = open_dataset(folder).manifest
    said = methods(manifest)
    assert said in (folder / "README.md").read_text()
    sample = manifest.about["study"]["sample"]
    for part in (
        f"model {manifest.model}",
        f"numpy {manifest.versions['numpy']}",
        f"Of {manifest.rows:,} runs {manifest.failed:,} failed",
        f"the seed ({manifest.about['seed']})",
        f"sampled {sample['rows']} times by {sample['method']}",
        manifest.study[:16],
    ):
        assert part in said, part
    assert "\n" not in said
    assert manifest.versions["cpu"] not in said  # of a paper, only what was computed with
    assert said.count("edgewear") == said.count(f"edgewear {edgewear.__version__}") == 1


def test_a_bundle_holds_every_file_with_its_checksum_and_is_the_same_twice(folder, tmp_path):
    first, second = (deposit(folder, tmp_path / name, "CC-BY-4.0") for name in ("a.zip", "b.zip"))
    assert first.sha256 == second.sha256
    with zipfile.ZipFile(tmp_path / "a.zip") as bundle:
        held = {name: bundle.read(name) for name in bundle.namelist()}
        assert bundle.namelist() == sorted(held)
        times = {info.date_time for info in bundle.infolist()}
    assert times == {(1980, 1, 1, 0, 0, 0)}  # of every file, the earliest that a ZIP file can say
    sums = dict(reversed(line.split("  ")) for line in held.pop("SHA256SUMS").decode().splitlines())
    own = [name for name in sums if name not in ("CITATION.cff", "data-LICENSE.txt")]
    assert own == sorted(own)  # the same bytes from any Python, whatever its sets' order
    assert sums == {name: hashlib.sha256(content).hexdigest() for name, content in held.items()}
    for file in open_dataset(folder).manifest.files:
        assert held[file.path] == (folder / file.path).read_bytes()
    assert b"CC-BY-4.0" in held["data-LICENSE.txt"]
    assert open_dataset(folder).verify() == []


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="no sha256sum here")
def test_the_checksums_are_those_that_common_tools_read(folder, tmp_path):
    deposit(folder, tmp_path / "a.zip")
    with zipfile.ZipFile(tmp_path / "a.zip") as bundle:
        bundle.extractall(tmp_path / "unpacked")
    command = ["sha256sum", "--check", "--strict", "--quiet", "SHA256SUMS"]
    assert subprocess.run(command, cwd=tmp_path / "unpacked", check=False).returncode == 0


def test_a_damaged_dataset_is_not_bundled(folder, tmp_path):
    copy = shutil.copytree(folder, tmp_path / "copy")
    (copy / "scenario.yaml").write_text("other")
    with pytest.raises(DatasetError, match=r"scenario\.yaml"):
        deposit(copy, tmp_path / "a.zip")
    assert not (tmp_path / "a.zip").exists()


def test_the_citation_file_is_that_of_this_version():
    from edgewear.scenario.text.tree import parse_tree

    text = (ROOT / "docs" / "CITATION.cff").read_text()
    assert text == citation(edgewear.__version__)
    assert parse_tree(text, "CITATION.cff").data["cff-version"] == "1.2.0"
