"""One file for an archive: a dataset with its checksums, citation and licence."""

from __future__ import annotations

import hashlib
import io
import zipfile
from pathlib import Path

from edgewear.dataset.about import LICENCE, citation
from edgewear.dataset.door import inside
from edgewear.dataset.files import Written, write_bytes
from edgewear.dataset.manifest import NAME, harm
from edgewear.dataset.reading import open_dataset
from edgewear.errors import DatasetError

SUMS, CITATION = "SHA256SUMS", "CITATION.cff"

_THEN = (1980, 1, 1, 0, 0, 0)
"""Time of every file in a bundle, so that the same dataset makes the same bytes."""


def deposit(folder: str | Path, out: str | Path, licence: str | None = None) -> Written:
    """Bundle a finished dataset: the same dataset makes the same bytes.

    Parameters:
        folder: of the dataset.
        out: the bundle, a ZIP file.
        licence: terms under which whoever made the data gives them, for example CC-BY-4.0; the
            dataset's own file, which says that nothing is said, if left out.

    Returns:
        Where it is and its sha256.

    Raises:
        DatasetError: no finished dataset there, a damaged one, or nowhere to write.
    """
    dataset, path = open_dataset(folder), Path(out)
    if damages := harm(dataset.root, dataset.manifest):
        raise DatasetError(f"{folder}: {'; '.join(damages)}")
    names = sorted({NAME, *(file.path for file in dataset.manifest.files)})
    files = {name: inside(dataset.root, name).read_bytes() for name in names}
    files[CITATION] = citation(str(dataset.manifest.versions.get("edgewear", ""))).encode()
    if licence is not None:
        files[f"data-{LICENCE}"] = f"These data are given under {licence}.\n".encode()
    sums = [f"{hashlib.sha256(content).hexdigest()}  {name}" for name, content in files.items()]
    files[SUMS] = ("\n".join(sums) + "\n").encode()
    return write_bytes(path.absolute().parent, path.name, _zipped(files))


def _zipped(files: dict[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as bundle:
        for name, content in sorted(files.items()):
            bundle.writestr(zipfile.ZipInfo(name, _THEN), content)
    return stream.getvalue()
