"""Small pieces of SVG as text, with every value escaped and every number short."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import cache

from edgewear.report.formats.escape import markup

Xy = tuple[float, float]

LINE_HEIGHT = 13.0
"""Distance between lines of text, in drawing units."""

CHARACTER = 6.2
"""Width of a digit or small letter of the text size used, in drawing units: the style sheet scales
any font until its zero is 0.55 of the size wide, and bold letters take a little more."""

WIDE = frozenset("mwMW@%&")
"""Letters about half as wide again in any font whose letters differ in width."""


def number(value: float) -> str:
    """Give a coordinate with at most two digits, without a negative zero.

    Parameters:
        value: [drawing unit].
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def element(tag: str, *children: str, **attributes: str | float) -> str:
    """Give one element; underscores in attribute names become hyphens, `class_` loses its tail."""
    written = "".join(
        f' {name.rstrip("_").replace("_", "-")}="'
        f'{markup(value) if isinstance(value, str) else number(value)}"'
        for name, value in attributes.items()
    )
    return f"<{tag}{written}>{''.join(children)}</{tag}>" if children else f"<{tag}{written}/>"


def line(start: Xy, end: Xy, class_: str, **attributes: str | float) -> str:
    """Give a straight line.

    Parameters:
        start, end: [drawing unit].
        class_: how it is drawn; see the styles.
        attributes: further ones.
    """
    return element(
        "line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], class_=class_, **attributes
    )


def path(points: Iterable[Xy], class_: str, **attributes: str | float) -> str:
    """Give an open polyline.

    Parameters:
        points: [drawing unit].
        class_: how it is drawn.
        attributes: further ones.
    """
    steps = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    return element("polyline", points=steps, class_=class_, **attributes)


def width_of(text: str) -> float:
    """Estimate how wide a text is drawn; wide scripts count double, combining marks nothing.

    Parameters:
        text: one line.
    """
    return sum(_cells(character) for character in text) * CHARACTER


@cache
def _cells(character: str) -> float:
    if unicodedata.combining(character) or unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0.0
    if unicodedata.east_asian_width(character) in ("W", "F"):
        return 2.0
    if character in WIDE:
        return 1.55
    return 1.25 if character.isupper() else 1.0


def wrap(text: str, width: float) -> list[str]:
    """Break a text into lines, inside a word only where the word alone is too long.

    A no-break space belongs to the word around it.

    Parameters:
        text: any.
        width: [drawing unit].
    """
    lines: list[str] = []
    current = ""
    for word in re.split("[ \t\n\r]+", text.strip()):
        joined = f"{current} {word}".strip()
        if width_of(joined) <= width:
            current = joined
            continue
        if current:
            lines.append(current)
        *whole, current = _pieces(word, width)
        lines.extend(whole)
    if current or not lines:
        lines.append(current)
    return lines


def _pieces(word: str, width: float) -> list[str]:
    pieces = [""]
    for character in word:
        if width_of(pieces[-1] + character) > width and pieces[-1]:
            pieces.append("")
        pieces[-1] += character
    return pieces


def text(
    lines: Iterable[str], at: Xy, anchor: str = "start", class_: str = "", **attributes: str | float
) -> str:
    """Give lines of text, the first on its base line at `at`.

    Parameters:
        lines: unescaped.
        at: [drawing unit].
        anchor: start, middle or end.
        class_: how it is drawn.
        attributes: further ones.
    """
    rows = list(lines)
    named = {"class_": class_} if class_ else {}
    spans = [markup(row) for row in rows[:1]] + [
        element("tspan", markup(row), x=at[0], dy=LINE_HEIGHT) for row in rows[1:]
    ]
    return element("text", *spans, x=at[0], y=at[1], text_anchor=anchor, **named, **attributes)


def picture(
    size: Xy, title: str, description: str, *children: str, identity: str, **data: str | float
) -> str:
    """Give a whole picture with its alternative texts.

    Parameters:
        size: width, height [drawing unit].
        title: short name of what it shows.
        description: what a reader who cannot see it must know.
        children: finished elements.
        identity: unique on the page.
        data: further attributes of the root, such as its scale.
    """
    return element(
        "svg",
        element("title", markup(title), id=f"{identity}-t"),
        element("desc", markup(description), id=f"{identity}-d"),
        *children,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(size[0])} {number(size[1])}",
        preserveAspectRatio="xMinYMin meet",
        role="img",
        aria_labelledby=f"{identity}-t {identity}-d",
        **data,
    )
