"""The board in a real browser: dragged, nudged, typed, taken back, saved, by keys alone."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from edgewear.board.answers import Answer
from edgewear.board.editing.kept_file import KeptFile
from edgewear.board.editing.session import Session
from edgewear.board.results import fragment
from edgewear.report.parts import decided
from edgewear.study.compare import REPLICATES, compare
from support.boards import DEMO, SMALL
from support.browser import Browser

pytestmark = pytest.mark.browser

LOOKS = [(1280, False), (1280, True), (390, False), (390, True)]
"""Width in pixels and whether the colour scheme is dark."""

PATIENCE_MS = 300_000
"""A machine that must compile the kernels first has time; a board that does not answer fails."""


@contextmanager
def served(path: Path) -> Iterator[str]:
    """A board of a file, served by the command itself; its address."""
    command = [sys.executable, "-m", "edgewear", "board", str(path), "--no-open", "--quiet"]
    command[1:3] = ["-c", "from edgewear.cli import main; main()"]
    running = subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, cwd=path.parent, env={**os.environ}
    )
    try:
        assert running.stdout is not None
        yield running.stdout.readline().strip()
    finally:
        running.send_signal(signal.SIGINT)
        running.wait(30)
        if running.stdout is not None:
            running.stdout.close()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the file lies that the tests of this page share."""
    return tmp_path_factory.mktemp("board")


@pytest.fixture(scope="module")
def address(folder: Path) -> Iterator[str]:
    """A board of the small scenario, for all tests of this file."""
    (folder / "job.yaml").write_text(SMALL)
    with served(folder / "job.yaml") as found:
        yield found


@pytest.fixture
def page(browser: Browser, address: str, folder: Path) -> Page:
    """A page of the board that shows the small scenario as it was at first."""
    path = folder / "job.yaml"
    if path.read_text() != SMALL:
        path.write_text(SMALL)
        os.utime(path, ns=(2, 2))
    browser.visit(address)
    found = browser.page
    found.set_default_timeout(PATIENCE_MS)
    expect.set_options(timeout=PATIENCE_MS)
    ready(found)
    if found.locator("#board-beside").is_visible():
        found.get_by_text("Go on with the file's text").click()
    while found.locator("#board-undo").is_enabled() and "not saved" in text(found, "#board-file"):
        with found.expect_response("**/undo"):  # else the next look is at a button on its way out
            found.locator("#board-undo").click()
        found.wait_for_timeout(100)
    return found


def ready(page: Page) -> None:
    """Wait until everything can be taken hold of."""
    page.wait_for_selector(".handle")
    page.wait_for_selector("#board-groups details", state="attached")


def text(page: Page, selector: str) -> str:
    return page.locator(selector).inner_text()


def handle(page: Page, name: str) -> Any:
    return page.locator(f'[data-kind="side"] .handle[data-name="{name}"]')


def field(page: Page, address: str) -> Any:
    found = page.locator(f'[data-address="{address}"]')
    found.evaluate("(one) => { for (let d = one; d; d = d.parentElement) d.open = true; }")
    return found


def until(check: Callable[[], bool], page: Page) -> None:
    """Wait for something that is no part of the page."""
    for _ in range(PATIENCE_MS // 50):
        if check():
            return
        page.wait_for_timeout(50)
    raise AssertionError("it did not come to be")


def drag(page: Page, name: str, right_px: int, down_px: int) -> None:
    box = handle(page, name).bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 6):
        page.mouse.move(x + right_px * step / 5, y + down_px * step / 5)
    page.mouse.up()


def test_an_anchor_is_dragged_taken_back_and_made_again(page: Page) -> None:
    expect(page.locator("#board-results table").first).to_be_visible()
    before = handle(page, "bollard").get_attribute("aria-label")
    assert before == "anchor bollard: out paced 6 m back, up 0.2 m"
    drag(page, "bollard", -40, -10)
    expect(page.locator("#board-file")).to_contain_text("not saved")
    label = re.compile(r"anchor bollard: out paced [67]\.?\d* m back, up 0\.\d+ m")
    expect(handle(page, "bollard")).to_have_attribute("aria-label", label)
    # a place on the way may be drawn until what was let go of is
    expect(page.locator("#board-pictures")).to_have_attribute("aria-busy", "false")
    after = handle(page, "bollard").get_attribute("aria-label")
    assert after != before
    page.locator("#board-undo").click()
    expect(handle(page, "bollard")).to_have_attribute("aria-label", before)
    page.locator("#board-redo").click()
    expect(handle(page, "bollard")).to_have_attribute("aria-label", after)


@pytest.mark.long
def test_a_typed_value_is_refused_in_the_words_of_the_file_then_taken(page: Page) -> None:
    mass = field(page, "people/hand/mass")
    mass.fill("80 m")
    mass.press("Enter")
    expect(mass).to_have_attribute("aria-invalid", "true")
    wrong = page.locator(f"#{mass.get_attribute('id')}-wrong")
    expect(wrong).to_contain_text("a mass is due")
    assert "not saved" not in text(page, "#board-file")
    mass.fill("95 kg")
    mass.press("Enter")
    expect(page.locator("#board-file")).to_contain_text("not saved")
    expect(mass).not_to_have_attribute("aria-invalid", "true")


def test_saving_changes_the_line_and_nothing_else(page: Page, folder: Path) -> None:
    field(page, "people/hand/mass").fill("95 kg")
    field(page, "people/hand/mass").press("Enter")
    expect(page.locator("#board-save")).to_be_enabled()
    page.locator("#board-save").click()
    expect(page.locator("#board-file")).to_contain_text(", saved")
    assert (folder / "job.yaml").read_text() == SMALL.replace("80 kg", "95 kg")


@pytest.mark.long
def test_a_file_changed_underneath_asks_which_one_stays(page: Page, folder: Path) -> None:
    field(page, "people/hand/mass").fill("95 kg")
    field(page, "people/hand/mass").press("Enter")
    expect(page.locator("#board-save")).to_be_enabled()
    other = SMALL.replace("Ladder bay", "Ladder bay, west")
    (folder / "job.yaml").write_text(other)
    os.utime(folder / "job.yaml", ns=(3, 3))
    expect(page.locator("#board-beside")).to_be_visible()
    expect(page.locator("#board-save")).to_be_disabled()
    assert (folder / "job.yaml").read_text() == other
    page.get_by_text("Make my changes on it again").click()
    expect(page.locator("#board-beside")).to_be_hidden()
    page.locator("#board-save").click()
    until(lambda: "95 kg" in (folder / "job.yaml").read_text(), page)
    assert (folder / "job.yaml").read_text() == other.replace("80 kg", "95 kg")


@pytest.mark.long
def test_two_tabs_show_one_text(page: Page, address: str) -> None:
    other = page.context.new_page()
    other.goto(address)
    ready(other)
    field(page, "people/hand/mass").fill("91 kg")
    field(page, "people/hand/mass").press("Enter")
    expect(field(other, "people/hand/mass")).to_have_value("91 kg")
    expect(other.locator("#board-file")).to_contain_text("not saved")
    other.locator("#board-undo").click()
    expect(field(page, "people/hand/mass")).to_have_value("80 kg")
    other.close()


def test_everything_goes_by_keys_alone(page: Page, folder: Path) -> None:
    page.evaluate("document.activeElement.blur()")
    for _ in range(60):
        page.keyboard.press("Tab")
        name = page.evaluate("document.activeElement.dataset.name || ''")
        if name == "bollard":
            break
    assert name == "bollard"
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("ArrowUp")
    label = "anchor bollard: out paced 6.5 m back, up 0.25 m"
    expect(handle(page, "bollard")).to_have_attribute("aria-label", label)
    assert page.evaluate("document.activeElement.dataset.name") == "bollard"  # the focus stays
    page.keyboard.press("Control+s")
    expect(page.locator("#board-file")).to_contain_text(", saved")
    moved = SMALL.replace("paced 6 m back, up: 0.2 m", "paced 6.5 m back, up: 0.25 m")
    assert (folder / "job.yaml").read_text() == moved
    page.keyboard.press("Control+z")
    expect(page.locator("#board-file")).to_contain_text("not saved")


@pytest.mark.long
def test_options_are_copied_named_and_removed(page: Page) -> None:
    page.locator("#board-copy").click()
    expect(page.locator("#board-option")).to_have_value("padded, copy")
    names = "[...document.querySelectorAll('#board-option option')].map((o) => o.textContent)"
    assert page.evaluate(names) == ["padded", "padded, copy", "bare"]
    expect(page.locator("#board-results")).to_contain_text("padded, copy")
    page.locator("#board-remove").click()
    expect(page.locator("#board-option option")).to_have_count(2)


OVERFLOW = """
(() => {
  const wide = document.documentElement.clientWidth, out = [];
  for (const one of document.querySelectorAll("header, header *, main *, footer, footer *")) {
    if (one.closest("details:not([open])") && !one.matches("summary")) continue;
    if (one.closest(".handles, svg") || one.matches(".handles")) continue;
    const box = one.getBoundingClientRect();
    const off = box.right > wide + 1 || box.left < -1;
    if (box.width > 2 && off) out.push(one.outerHTML.slice(0, 90));
  }
  if (document.documentElement.scrollWidth > wide) out.push("the page scrolls sideways");
  return out;
})()
"""
AXE = resources.files("axe_core_python").joinpath("axe.min.js")


def axe(page: Page) -> list[Any]:
    """What an accessibility checker finds wrong; the script comes past the page's policy."""
    session = page.context.new_cdp_session(page)
    session.send("Runtime.evaluate", {"expression": AXE.read_text("utf-8") + "; 1"})
    found = page.evaluate("axe.run(document).then((r) => r.violations)")
    return [(one["id"], one["nodes"][0]["html"][:200]) for one in found]


@pytest.mark.parametrize(
    ("width", "dark"), [pytest.param(*one, marks=[] if at in (0, 3) else pytest.mark.long)
                        for at, one in enumerate(LOOKS)]
)  # fmt: skip
def test_every_look_is_whole_and_can_be_read(
    page: Page, browser: Browser, address: str, width: int, dark: bool
) -> None:
    browser.visit(address, width, dark)
    ready(browser.page)
    browser.page.wait_for_selector("#board-results table", timeout=PATIENCE_MS)
    browser.value("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    assert browser.value(OVERFLOW) == []
    assert axe(browser.page) == []
    assert browser.complaints == []
    assert all(one.startswith(address) for one in browser.requests)


def test_without_a_script_the_last_report_is_shown(browser: Browser, address: str) -> None:
    browser.visit(address, scripts=False)
    assert "A projection, not permission" in browser.page.content()
    frame = browser.page.frame_locator("iframe")
    expect(frame.locator("h1")).to_be_visible(timeout=PATIENCE_MS)


TYPED = {
    "title": "Gutter bracket", "target": "60 %", "anchor": "post", "anchor out": "-2 m",
    "anchor up": "0.8 m", "other": "plant room", "other out": "paced 14 m back",
    "other up": "0.5 m", "edge": "arris", "down": "4 m", "who": "fitter", "mass": "95 kg",
    "length": "40 m",
}  # fmt: skip
CHOSEN = {"edge is": "worn masonry arris", "rope": "low-stretch 11"}


@pytest.mark.long
def test_a_newcomer_comes_to_a_ranked_page_without_a_file(browser: Browser, tmp_path: Path) -> None:
    assert len(TYPED) + len(CHOSEN) <= 25
    with served(tmp_path / "new.yaml") as address:
        browser.visit(address, 390)
        page = browser.page
        page.set_default_timeout(PATIENCE_MS)
        assert axe(page) == []
        assert browser.value(OVERFLOW) == []
        page.get_by_role("button").click()
        expect(page.locator("[aria-invalid=true]")).to_have_count(len(TYPED) + len(CHOSEN))
        for key, value in TYPED.items():
            page.locator(f'[data-key="{key}"]').fill(value)
        for key, value in CHOSEN.items():
            page.locator(f'[data-key="{key}"]').select_option(value)
        page.get_by_role("button").click()
        page.wait_for_selector("#board-results table")
        rows = page.locator("#board-results table").first.locator("tbody th")
        assert sorted(rows.all_inner_texts()) == ["plant room, pad", "post, bare", "post, pad"]
    assert (tmp_path / "new.yaml").read_text().startswith("# begun on the board")


@pytest.mark.long
def test_the_settled_page_says_what_the_command_says(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "demo.yaml"
    path.write_text(DEMO.read_text())
    with served(path) as address:
        browser.visit(address)
        page = browser.page
        ready(page)
        drag(page, "guard posts", -30, -10)
        expect(page.locator("#board-save")).to_be_enabled(timeout=PATIENCE_MS)
        page.locator("#board-save").click()
        settled = page.locator('#board-results[data-settled="true"]')
        expect(settled).to_be_visible(timeout=2 * PATIENCE_MS)  # the whole comparison
        cells = page.locator("#board-results table td, #board-results table tbody th")
        shown = cells.all_inner_texts()
        headline = page.locator("#board-results .lead").inner_text()
        minded = page.locator("#board-mind li").all_inner_texts()
        ranking = compare(path, out=tmp_path / "out")
        assert headline == ranking.headline
        between = {option.name: (None, None) for option in ranking.options}
        page.set_content(fragment(Answer(0, ranking, REPLICATES, True, between)))
        assert shown == page.locator("table td, table tbody th").all_inner_texts()
        assert len(shown) >= 8 * len(ranking.options)
    assert minded == decided.shared(ranking, warnings=True)


@pytest.mark.long
def test_a_slow_machine_loses_nothing(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(SMALL)
    with served(path) as address:
        browser.visit(address)
        page = browser.page
        ready(page)
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 8})
        for at in range(20):
            field(page, "people/hand/mass").fill(f"{70 + at} kg")
            field(page, "people/hand/mass").press("Enter")
        expect(field(page, "people/hand/mass")).to_have_value("89 kg", timeout=PATIENCE_MS)
        draft = path.with_name(f".{path.name}.draft")
        until(lambda: "89 kg" in json.loads(draft.read_text())["text"], page)
    with served(path) as address:
        browser.visit(address)
        ready(browser.page)
        expect(field(browser.page, "people/hand/mass")).to_have_value("89 kg", timeout=PATIENCE_MS)


@pytest.mark.long
def test_what_was_typed_is_there_after_the_board_is_killed(tmp_path: Path) -> None:
    """The lid is closed and the battery dies: no signal that a program could hear."""
    path = tmp_path / "job.yaml"
    path.write_text(SMALL)
    for at in range(5):
        command = [sys.executable, "-c", "from edgewear.cli import main; main()", "board",
                   str(path), "--no-open", "--quiet"]  # fmt: skip
        running = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=tmp_path)
        assert running.stdout is not None
        address = running.stdout.readline().strip()
        session = Session.open(KeptFile(path))
        revision = session.revision  # as the board has it: it reads the same draft
        change = {"do": "set", "address": "people/hand/mass", "value": f"{81 + at} kg"}
        asked = urllib.request.Request(
            f"{address}change", json.dumps({"revision": revision, "changes": [change]}).encode(),
            {"Content-Type": "application/json", "Origin": "/".join(address.split("/")[:3])},
        )  # fmt: skip
        with urllib.request.urlopen(asked, timeout=60) as answer:
            assert answer.status == 200
        running.kill()
        running.wait(30)
        running.stdout.close()
        kept = Session.open(KeptFile(path))
        assert kept.now.text == SMALL.replace("80 kg", f"{81 + at} kg")
        assert path.read_text() == SMALL


LEGS = SMALL.replace(
    "  bollard: {out: paced 6 m back, up: 0.2 m, kind: pair}   # behind the hut\n",
    '  bollard: {kind: pair, legs: ["paced 6 m back, 0.2 m up, over lip"]}   # behind the hut\n',
).replace("lip: {out: 0 m, up: 0 m, ", "lip: {")


@pytest.mark.long
def test_what_legs_place_is_dragged_and_its_limits_are_marked_as_they_come(
    browser: Browser, tmp_path: Path
) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(LEGS)
    with served(path) as address:
        browser.visit(address)
        page = browser.page
        page.set_default_timeout(PATIENCE_MS)
        expect.set_options(timeout=PATIENCE_MS)
        ready(page)
        expect(page.locator("#board-results table").first).to_be_visible()
        handle(page, "bollard").focus()
        page.keyboard.press("Shift+ArrowLeft")
        page.keyboard.press("ArrowUp")
        expect(handle(page, "bollard")).to_have_attribute(
            "aria-label", "anchor bollard: out −6.5 m, up 250 mm, by legs"
        )
        page.keyboard.press("Control+s")
        expect(page.locator("#board-file")).to_contain_text(", saved")
        assert path.read_text() == LEGS.replace("6 m back, 0.2 m up", "6.5 m back, 0.25 m up")
        page.get_by_role("button", name="How far out may bollard go?").click()
        expect(page.locator(".tried").first).to_be_visible()
        expect(page.locator("#board-place")).to_contain_text("meets the target")
        assert browser.complaints == []
