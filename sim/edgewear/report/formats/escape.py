"""Making any text a user typed harmless inside markup, style and script."""

from __future__ import annotations

import html
import re

_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_OVERRIDES = re.compile("[\u202a-\u202e\u2066-\u2069]")


def cleaned(text: str) -> str:
    """Replace what markup may not hold, and drop what reorders the text around it."""
    return _OVERRIDES.sub("", _FORBIDDEN.sub("\N{REPLACEMENT CHARACTER}", text))


def markup(text: str) -> str:
    """Escape a text for HTML, SVG and XML, inside elements and attributes."""
    return html.escape(cleaned(text), quote=True)


def style_string(text: str) -> str:
    """Write a text as a quoted string of a style sheet, everything but plain letters escaped.

    The blank after an escape belongs to it and is not shown.
    """
    written = "".join(
        character
        if character.isascii() and (character.isalnum() or character in " .,:-")
        else f"\\{ord(character):06x} "
        for character in cleaned(text)
    )
    return f'"{written}"'
