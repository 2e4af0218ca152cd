"""What tests of studies are given."""

from __future__ import annotations

import pytest

from support.studies import SLEEVE


@pytest.fixture
def write(tmp_path):
    """Write a scenario with a study into a file, and give its path."""

    def written(study, base=SLEEVE):
        path = tmp_path / "study.yaml"
        path.write_text(base + study)
        return path

    return written
