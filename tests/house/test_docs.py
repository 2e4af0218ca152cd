"""Pages of the documentation: every link leads somewhere."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from support.shell import edgewear
from support.tree import ROOT, kept_files

PAGES = [path for path in kept_files() if path.suffix == ".md"]
LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)\s]+)\)")
FENCE = re.compile(r"```.*?```|`[^`\n]*`", re.S)


def links(page: Path) -> Iterator[tuple[Path, str]]:
    """File and heading that each inner link of a page names."""
    for target in LINK.findall(FENCE.sub("", page.read_text())):
        if "://" not in target and not target.startswith("mailto:"):
            file, _, heading = target.partition("#")
            yield (page.parent / file if file else page), heading


def headings(page: Path) -> set[str]:
    """Anchors of a page's headings, spelled as the usual renderers do."""
    titles = re.findall(r"^#+ +(.+)$", FENCE.sub("", page.read_text()), re.M)
    return {re.sub(r"[^\w\- ]", "", title.lower()).strip().replace(" ", "-") for title in titles}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    for file, heading in links(page):
        assert file.exists(), f"{file} is named and not there"
        assert not heading or heading in headings(file), f"{file} has no heading {heading}"


def test_every_page_is_reached_from_the_front() -> None:
    seen: set[Path] = set()
    todo = [ROOT / "README.md", ROOT / "docs" / "README.md"]
    while todo:
        page = todo.pop().resolve()
        if page not in seen and page.suffix == ".md" and page.is_file():
            seen.add(page)
            todo += [file for file, _ in links(page)]
    lost = {p.relative_to(ROOT) for p in PAGES if p.is_relative_to(ROOT / "docs")} - {
        p.relative_to(ROOT) for p in seen
    }
    assert lost == set()


SCENARIO = re.compile(r"^```yaml\n(edgewear: 1\n.*?)^```", re.S | re.M)


def test_every_scenario_in_the_docs_can_be_used(tmp_path: Path) -> None:
    texts = [text for page in PAGES for text in SCENARIO.findall(page.read_text())]
    files = [tmp_path / f"scenario-{number}.yaml" for number, _ in enumerate(texts)]
    for file, text in zip(files, texts, strict=True):
        file.write_text(text)
    assert len(files) >= 3, "the tutorial's and the how-to page's"
    done = edgewear("check", *files)
    assert done.returncode == 0, done.stderr
