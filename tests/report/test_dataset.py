"""Reports made from finished datasets on disk."""

from __future__ import annotations

from pathlib import Path

import pytest

from edgewear.dataset.ranking.rank import ranking_of
from edgewear.dataset.reading import open_dataset
from edgewear.errors import DatasetError
from edgewear.report import write_report
from edgewear.study.compare import compare_model
from support.studies import DESCRIBED, FakeModel


@pytest.fixture(scope="module")
def dataset(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A finished comparison of three options."""
    root = tmp_path_factory.mktemp("dataset")
    model = FakeModel({"bare": 0.9, "pad": 0.4, "roller": 0.2})
    compare_model(model, DESCRIBED, root, replicates=32, seed=5)
    return root


def files_of(folder: Path) -> dict[str, bytes]:
    """Every file of a folder."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_the_same_dataset_twice_gives_the_same_files(dataset: Path, tmp_path: Path) -> None:
    for name in ("one", "two"):
        assert write_report([dataset], tmp_path / name) == tmp_path / name / "report.html"
    assert files_of(tmp_path / "one") == files_of(tmp_path / "two")


def test_the_page_shows_the_options_in_the_order_of_the_ranking(
    dataset: Path, tmp_path: Path
) -> None:
    text = write_report([dataset], tmp_path).read_text("utf-8")
    table = text.split("<tbody", 1)[1].split("</tbody>", 1)[0]
    names = [option.name for option in ranking_of(open_dataset(dataset)).options]
    assert names == ["roller", "pad", "bare"]
    assert [table.index(f"<bdi>{name}</bdi>") for name in names] == sorted(
        table.index(f"<bdi>{name}</bdi>") for name in names
    )


def test_a_report_in_its_dataset_s_folder_belongs_there(dataset: Path) -> None:
    write_report([dataset], dataset)
    assert open_dataset(dataset).verify() == []


def test_a_second_dataset_stands_beside_the_first(dataset: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    model = FakeModel({"bare": 0.9, "pad": 0.5})
    compare_model(model, DESCRIBED, other, replicates=32, seed=6)
    text = write_report([dataset, other], tmp_path / "both").read_text("utf-8")
    assert "was not compared" in text
    assert "did not meet the same trials" in text


def test_a_folder_without_a_dataset_is_said(tmp_path: Path) -> None:
    with pytest.raises(DatasetError):
        write_report([tmp_path], tmp_path / "out")
