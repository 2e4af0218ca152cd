"""The page of a board: whole as it is sent, so that it can be read before any script runs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from edgewear.board.editing.guided import QUESTIONS, Question, words_of
from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.report.formats.escape import markup

if TYPE_CHECKING:
    from edgewear.board.shown import Board

NOTHING_SETTLED = "no comparison is settled yet\n"

BUTTONS = (
    ("undo", "Undo", "Control+Z"),
    ("redo", "Redo", "Control+Y"),
    ("save", "Save to file", "Control+S"),
)

KEYS = (
    "Tab goes from handle to handle; arrow keys move one by 5 cm, with Shift by 50 cm, with Alt by "
    "1 cm. Escape lets go while dragging. Control+Z takes back, Control+Y makes again, Control+S "
    "saves."
)


def whole(board: Board) -> str:
    """Write the page as things are now."""
    state, result = board.state(), board.result()
    title = str(state["title"])
    drawing = board.drawing(board.session.now, "", False, False)
    pictures = "".join(
        f'<div class="picture" data-kind="{one["kind"]}">{one["svg"]}</div>'
        for one in drawing["pictures"]
    )
    options = "".join(f"<option>{markup(str(name))}</option>" for name in state["options"])
    return "\n".join(
        [
            *_head(title),
            '<body><a class="skip" href="#board-answer">To the answer</a>',
            "<header>",
            f'<div><h1 id="board-title">{markup(title)}</h1>',
            f'<p id="board-file">{markup(str(state["file"]))}</p></div>',
            f'<div class="buttons" role="group" aria-label="Text">{"".join(_buttons())}</div>',
            "</header>",
            *_without_script(),
            '<p id="board-told" role="status" aria-live="polite"></p>',
            '<div id="board-beside" role="alert" hidden></div>',
            '<main><div id="board-work">',
            '<section aria-labelledby="board-drawing-h" id="board-drawing">',
            '<h2 id="board-drawing-h">Drawing</h2>',
            '<div class="row script"><label>Option shown <select id="board-option">'
            f"{options}</select></label>",
            '<button type="button" id="board-copy">Copy this option</button>',
            '<button type="button" id="board-remove">Remove it</button></div>',
            '<p class="printed">Drawn: <strong id="board-drawn"></strong></p>',
            f'<div id="board-pictures">{pictures}</div>',
            '<p id="board-place" aria-live="polite"></p>',
            '<p id="board-far" class="row script"></p>',
            "</section>",
            '<section aria-labelledby="board-answer-h" id="board-answer" tabindex="-1">',
            '<h2 id="board-answer-h">Options side by side</h2>',
            '<p id="board-stage" class="heard" role="status" aria-live="polite"></p>',
            f'<div id="board-results">{result["html"]}</div>',
            '<p id="board-files" class="row"></p>',
            "</section>",
            '<section aria-labelledby="board-loads-h" class="script" id="board-rope">',
            '<h2 id="board-loads-h">Loads and rope</h2>',
            '<div id="board-loads"></div>',
            f'<p class="note" id="board-keys">{KEYS}</p></section></div>',
            '<section aria-labelledby="board-fields-h" id="board-fields" class="script">',
            '<h2 id="board-fields-h">What the file says</h2>',
            '<div id="board-problems" role="alert"></div>',
            '<div id="board-groups"></div>',
            "</section></main>",
            f"<footer><p><strong>{PROJECTION}</strong> {LAW_FIRST}</p></footer>",
            '<script src="assets/board.js"></script>',
            "</body></html>\n",
        ]
    )


def _head(title: str) -> Iterator[str]:
    yield '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield '<meta name="color-scheme" content="light dark">'
    yield f"<title>{markup(title)}</title>"
    yield '<link rel="icon" type="image/svg+xml" href="assets/icon.svg">'
    for name in ("page.css", "picture.css", "board.css"):
        yield f'<link rel="stylesheet" href="assets/{name}">'
    yield "</head>"


def _buttons() -> Iterator[str]:
    for name, label, keys in BUTTONS:
        yield (
            f'<button type="button" id="board-{name}" class="script" '
            f'aria-keyshortcuts="{keys}">{label}</button>'
        )


def _without_script() -> Iterator[str]:
    yield (
        "<noscript><p>Without JavaScript nothing here can be moved. This is the last report.</p>"
        '<iframe src="report.html" title="The last report"></iframe></noscript>'
    )


def start(name: str) -> str:
    """Write the page of the guided start.

    Parameters:
        name: of the file that will be written.
    """
    parts = dict.fromkeys(one.part for one in QUESTIONS)
    sets = [
        f'<fieldset><legend>{part}</legend><div class="group-fields">'
        + "".join(_question(at, one) for at, one in enumerate(QUESTIONS) if one.part == part)
        + "</div></fieldset>"
        for part in parts
    ]
    return "\n".join(
        [
            *_head("A new scenario"),
            "<body><header><div><h1>A new scenario</h1>",
            f'<p id="board-file">{markup(name)} will be written</p></div></header>',
            "<noscript><p>The questions need JavaScript; without it, write the file in an editor "
            "and open it again.</p></noscript>",
            '<p id="board-told" role="status" aria-live="polite"></p>',
            '<main class="one"><form id="start-form" novalidate class="script">',
            "<p>Everything can be changed afterwards. What is asked for and not known may be "
            "guessed: the figures say how much hangs on it.</p>",
            *sets,
            '<p class="row"><button type="submit">Write the file and compare</button></p>',
            "</form></main>",
            f"<footer><p><strong>{PROJECTION}</strong> {LAW_FIRST}</p></footer>",
            '<script src="assets/start.js"></script>',
            "</body></html>\n",
        ]
    )


def _question(number: int, one: Question) -> str:
    """Write a question with what may be chosen, and room for what is due."""
    identity, words = f"start-{number}", words_of(one)
    shared = (
        f'id="{identity}" data-key="{one.key}" '
        f'aria-describedby="{identity}-help {identity}-wrong"{" required" if one.needed else ""}'
    )
    if words:
        blank = "" if one.usual else "<option></option>"
        chosen = "".join(
            f"<option{' selected' if word == one.usual else ''}>{markup(word)}</option>"
            for word in words
        )
        asked = f"<select {shared}>{blank}{chosen}</select>"
    else:
        asked = (
            f'<input type="text" autocomplete="off" spellcheck="false" {shared} '
            f'value="{markup(one.usual)}">'
        )
    return (
        f'<div class="field"><label for="{identity}">{one.label}</label>{asked}'
        f'<small id="{identity}-help">{one.help}</small>'
        f'<small id="{identity}-wrong" class="none"></small></div>'
    )


def nothing_settled() -> str:
    """Write what stands where a report will be."""
    return "\n".join(
        [*_head("No report yet"), f"<body><main><h1>No report yet</h1><p>{PROJECTION}</p>",
         "<p>The first comparison is not settled yet; load this page again in a minute.</p>",
         "</main></body></html>\n"]
    )  # fmt: skip
