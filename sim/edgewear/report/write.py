"""Writing everything that comes from finished datasets: page, text documents, table, pictures."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from edgewear.dataset.door import names_in, remove
from edgewear.dataset.files import write_bytes
from edgewear.dataset.said import as_a_study_writes
from edgewear.report import page
from edgewear.report.drawings import pictures
from edgewear.report.formats import html, markdown, table_csv, text_document
from edgewear.report.formats.document import Sheet
from edgewear.report.parts import card
from edgewear.report.parts.sources import Source, source

if TYPE_CHECKING:
    from edgewear.dataset.ranking.model import Ranking
    from edgewear.dataset.reading import Dataset

PAGE = "report.html"
FILES = (PAGE, "report.md", "report.odt", "table.csv")
FOLDERS = ("pictures", "cards")
OWN_PICTURE = re.compile(r"d1-(sheath-left|o\d+-(elevation|detail|plan|wear|timeline))\.svg")
OWN_CARD = re.compile(r"option-\d+\.html")
"""What a report consists of, so that a dataset can tell it from what does not belong to it."""


def write_report(dataset_dirs: Sequence[Path], out: Path) -> Path:
    """Write the report of finished datasets into a folder and give the path of its page.

    Parameters:
        dataset_dirs: at least one; the first is the one decided on.
        out: folder, made where it is missing; older files of the same names are replaced.

    Raises:
        DatasetError: a dataset cannot be read or trusted.
        CannotCreate, CannotWrite: the folder or a file cannot be written.
    """
    with as_a_study_writes(", ".join(map(str, dataset_dirs))):
        return write_sources([read(Path(folder)) for folder in dataset_dirs], Path(out))


def write_answer(
    out: Path, stem: str, sheet: Sheet, table: str, document: Mapping[str, object]
) -> Path:
    """Write one answer as page, table for a spreadsheet and document; give the path of the page.

    Parameters:
        out: folder, made where it is missing; older files of the same names are replaced.
        stem: of the files' names.
        sheet: the page; table: CSV; document: JSON-able.

    Raises:
        CannotCreate, CannotWrite: the folder or a file cannot be written.
    """
    text = json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False)
    files = {
        f"{stem}.html": html.page(sheet),
        f"{stem}.csv": "\ufeff" + table,
        f"{stem}.json": text + "\n",
    }
    write_files(out, {name: text.encode() for name, text in files.items()})
    return out / f"{stem}.html"


def read(folder: Path) -> Source:
    """Read what the report needs of a dataset."""
    from edgewear.dataset.ranking.rank import ranking_of
    from edgewear.dataset.reading import open_dataset

    dataset = open_dataset(folder)
    return _source(ranking_of(dataset), dataset)


def write_ranked(ranking: Ranking, dataset: Dataset, out: Path, below: str = "") -> Path:
    """Write report and cards of a comparison as it was ranked, or corrected by measurements.

    Parameters:
        out: folder.
        below: folder in it, entered through no link.
    """
    return write_sources([_source(ranking, dataset)], Path(out), below)


def _source(ranking: Ranking, dataset: Dataset) -> Source:
    return source(
        ranking, dataset.wear(), dataset.timeline(), dataset.events(), dataset.step_wear()
    )


def write_sources(sources: Sequence[Source], out: Path, below: str = "") -> Path:
    """Write the report of datasets that were read already.

    Parameters:
        sources: at least one.
        out: folder.
        below: folder in it, entered through no link.
    """
    sheet = page.sheet(sources)
    files: dict[str, bytes] = {
        PAGE: html.page(sheet).encode(),
        "report.md": markdown.write(sheet).encode(),
        "report.odt": text_document.write(sheet),
        "table.csv": ("\ufeff" + table_csv.table(sources[0].ranking)).encode(),
    }
    for figure in pictures.figures(sheet.blocks):
        files[f"pictures/{figure.name}.svg"] = pictures.standalone(figure.svg).encode()
    ranking = sources[0].ranking
    for place, option in enumerate(ranking.options, 1):
        if card.offered(option):
            files[f"cards/option-{place}.html"] = card.write(ranking, option).encode()
    _clear(out, below)
    write_files(out, {_joined(below, name): content for name, content in files.items()})
    return out / below / PAGE


def write_files(out: Path, files: Mapping[str, bytes]) -> None:
    """Write some files into a folder, each whole or not at all, none through a link.

    Parameters:
        out: folder, made where it is missing.
        files: path below it -> content.

    Raises:
        CannotCreate, CannotWrite: the folder or a file cannot be written.
    """
    for name, content in files.items():
        write_bytes(out, name, content)


def _joined(below: str, name: str) -> str:
    return f"{below}/{name}" if below else name


def take_away(out: Path, below: str = "") -> bool:
    """Take away a report that does not hold any more; other people's files there stay.

    Parameters:
        out: folder.
        below: folder in it, entered through no link.

    Returns:
        Whether there was anything of it.

    Raises:
        CannotCreate: a folder is a link, or nothing may be removed.
    """
    gone = [_clear(out, below)]
    gone += [remove(out, _joined(below, name)) for name in FILES]
    return any(gone)


def _clear(out: Path, below: str) -> bool:
    """Take away pictures and cards of an older report; say whether there were any."""
    own_names = zip(FOLDERS, (OWN_PICTURE, OWN_CARD), strict=True)
    inner = [(_joined(below, folder), own) for folder, own in own_names]
    found = [
        f"{folder}/{name}" for folder, own in inner for name in names_in(out, folder)
        if own.fullmatch(name)
    ]  # fmt: skip
    return sum(remove(out, name) for name in found) > 0  # `any` would stop at the first
