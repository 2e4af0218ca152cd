"""Pages in a headless browser with name resolution blocked: nothing asked for, nothing cut off."""

from __future__ import annotations

import io
from importlib import resources
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from support.browser import Browser

pytestmark = pytest.mark.browser

LOOKS = [(1280, False), (1280, True), (390, False), (390, True)]
"""Width in pixels and whether the colour scheme is dark."""

OVERFLOW = """
(() => {
  const wide = document.documentElement.clientWidth;
  const out = [];
  for (const one of document.querySelectorAll("main *")) {
    if (one.closest("details:not([open])") && !one.matches("summary")) continue;
    const box = one.getBoundingClientRect();
    if (box.width && (box.right > wide + 1 || box.left < -1)) out.push(one.outerHTML.slice(0, 80));
    const clips = getComputedStyle(one).overflowX !== "visible";
    if (clips && one.scrollWidth > one.clientWidth + 1 && box.width > 2 && !one.closest("svg")) {
      out.push("clipped " + one.outerHTML.slice(0, 80));
    }
  }
  if (document.documentElement.scrollWidth > wide) out.push("the page scrolls sideways");
  return out;
})()
"""

CONTRAST = """
(() => {
  const light = (c) => {
    const [r, g, b] = c.match(/[\\d.]+/g).slice(0, 3).map((v) => {
      const s = v / 255;
      return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const behind = (one) => {
    for (let at = one; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (!/, 0\\)$/.test(colour)) return colour;
    }
    return "rgb(255, 255, 255)";
  };
  let least = 99;
  let where = "";
  for (const one of document.querySelectorAll("main *")) {
    const own = [...one.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    if (!own || one.closest("title, desc")) continue;
    const style = getComputedStyle(one);
    const ink = light(one.closest("svg") ? style.fill : style.color);
    const paper = light(behind(one));
    const ratio = (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05);
    if (ratio < least) { least = ratio; where = one.outerHTML.slice(0, 100); }
  }
  return [least, where];
})()
"""


def pages(folder: Path) -> list[Path]:
    """The page and the cards of a report."""
    return [folder / "report.html", *sorted((folder / "cards").glob("*.html"))]


@pytest.mark.parametrize(("width", "dark"), LOOKS)
@pytest.mark.parametrize("kind", ["ordinary", "hostile"])
def test_nothing_is_asked_for_and_nothing_cut_off(
    any_fonts: Browser, kind: str, width: int, dark: bool, request: pytest.FixtureRequest
) -> None:
    for path in pages(request.getfixturevalue(kind)):
        any_fonts.open(path, width, dark)
        any_fonts.value("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        assert any_fonts.value(OVERFLOW) == []
        assert any_fonts.complaints == []
        assert any_fonts.requests == [path.as_uri()]


@pytest.mark.parametrize(("width", "dark"), LOOKS)
def test_every_word_stands_out_from_its_ground(
    browser: Browser, ordinary: Path, width: int, dark: bool
) -> None:
    for path in pages(ordinary):
        browser.open(path, width, dark)
        browser.value("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        least, where = browser.value(CONTRAST)
        assert least >= 4.5, where  # WCAG 2.2, success criterion 1.4.3


def axe(browser: Browser, path: Path, width: int, dark: bool) -> list[dict[str, Any]]:
    """What an accessibility checker finds wrong with a page."""
    source = resources.files("axe_core_python").joinpath("axe.min.js").read_text("utf-8")
    browser.open(path, width, dark)
    browser.value("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    browser.value(source + "; 1")
    return list(browser.value("axe.run(document).then((r) => r.violations)"))


@pytest.mark.parametrize(
    ("kind", "width", "dark"), [("ordinary", 1280, False), ("hostile", 390, True)]
)
def test_the_accessibility_checker_finds_nothing(
    browser: Browser, kind: str, width: int, dark: bool, request: pytest.FixtureRequest
) -> None:
    for path in pages(request.getfixturevalue(kind)):
        found = axe(browser, path, width, dark)
        assert [(one["id"], one["nodes"][0]["html"][:200]) for one in found] == []


def names(browser: Browser) -> list[str]:
    """Names of the options in the order they stand in the ranked table."""
    rows = "document.querySelectorAll('table')[0].tBodies[0].rows"
    return list(browser.value(f"Array.from({rows}, (r) => r.querySelector('th').textContent)"))


def test_sorting_keeps_every_row_in_its_band(browser: Browser, ordinary: Path) -> None:
    browser.open(ordinary / "report.html")
    before = names(browser)
    click = "document.querySelector('table th:nth-child(5) button').click()"
    browser.value(click)
    header = "document.querySelector('table th:nth-child(5)').getAttribute('aria-sort')"
    assert browser.value(header) == "ascending"
    assert names(browser) == before  # every option is alone in its group and level
    edges = "document.querySelectorAll('table')[1]"
    column = f"Array.from({edges}.tBodies[0].rows, (r) => r.cells[7].textContent)"
    assert browser.value(column) == ["80 %", "20 %"]
    browser.value(f"{edges}.querySelector('th:nth-child(8) button').click()")
    assert browser.value(column) == ["20 %", "80 %"]
    browser.value(f"{edges}.querySelector('th:nth-child(8) button').click()")
    assert browser.value(column) == ["80 %", "20 %"]


def test_folds_open_and_headings_step_by_one(browser: Browser, ordinary: Path) -> None:
    browser.open(ordinary / "report.html")
    fold = "document.querySelector('details')"
    height = browser.value(f"{fold}.getBoundingClientRect().height")
    browser.value(f"{fold}.querySelector('summary').click()")
    assert browser.value(f"{fold}.getBoundingClientRect().height") > height
    levels = browser.value(
        "Array.from(document.querySelectorAll('h1,h2,h3,h4'), (h) => Number(h.tagName[1]))"
    )
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_the_page_is_whole_without_scripts(browser: Browser, ordinary: Path) -> None:
    browser.open(ordinary / "report.html", scripts=False)
    text = browser.page.content()
    assert "<button" not in text
    for words in ("re-anchored", "bollards bare", "below 3/256", "To be signed by hand"):
        assert words in text


def sheets(browser: Browser, path: Path) -> list[str]:
    """The text of each sheet a page prints to."""
    browser.open(path)
    paper = PdfReader(io.BytesIO(browser.paper()))
    return [sheet.extract_text() for sheet in paper.pages]


def test_the_page_prints_on_few_sheets_that_each_say_what_they_belong_to(
    browser: Browser, ordinary: Path
) -> None:
    printed = sheets(browser, ordinary / "report.html")
    assert len(printed) <= 8
    for number, text in enumerate(printed, 1):
        line = " ".join(text.split())
        for words in ("revision", "author", "checker", "survey date", "input abababababab"):
            assert words in line
        assert f"{number} of {len(printed)}" in line
        assert "a projection, not permission" in line
    whole = " ".join(" ".join(printed).split())
    for words in ("What each word was taken to mean", "paced 22 m back", "far bollards"):
        assert words in whole


@pytest.mark.parametrize("kind", ["ordinary", "hostile", "crowded"])
def test_every_card_prints_on_exactly_one_sheet(
    any_fonts: Browser, kind: str, request: pytest.FixtureRequest
) -> None:
    cards = pages(request.getfixturevalue(kind))[1:]
    assert len(cards) == (5 if kind == "crowded" else 2)
    for path in cards:
        any_fonts.open(path)
        paper = PdfReader(io.BytesIO(any_fonts.paper()))
        assert len(paper.pages) == 1
        box = paper.pages[0].mediabox
        # A5 in points; the browser rounds to whole pixels of 0.75 points
        assert float(box.width) == pytest.approx(148 / 25.4 * 72, abs=1.5)
        assert float(box.height) == pytest.approx(210 / 25.4 * 72, abs=1.5)
        text = " ".join(paper.pages[0].extract_text().split())
        assert "retired on sight" in text
        assert "stop above" in text
