"""Draws the edge gauge: rounded corners at true size, to compare an edge with.

    python docs/how-to/make_edge_gauge.py

writes edge-gauge.svg beside this file. One unit of the drawing is one millimetre on paper.
"""

from __future__ import annotations

from pathlib import Path

RADII_MM = (0.5, 0.75, 1.0, 2.0, 3.0, 5.0, 8.0, 10.0, 15.0, 20.0, 25.0, 35.0)
"""Radii drawn [mm]; the second is the limit below which an edge is a cutting edge."""

WIDTH_MM, HEIGHT_MM = 190.0, 138.0
_LEG_MM = 9.0  # straight part on either side of a corner
_ROWS = (RADII_MM[:8], RADII_MM[8:])
_CHECK_MM = 100.0


def corner(x: float, y: float, radius: float) -> str:
    """Draw a corner whose straight sides run left and down from its rounding.

    Parameters:
        x: of the point where the sides would meet [mm].
        y: of that point [mm].
        radius: of the rounding [mm].
    """
    start = f"M {x - radius - _LEG_MM:g} {y:g} H {x - radius:g}"
    arc = f"A {radius:g} {radius:g} 0 0 1 {x:g} {y + radius:g}"
    return f'<path id="r{radius:g}" d="{start} {arc} V {y + radius + _LEG_MM:g}"/>'


def label(x: float, y: float, text: str, anchor: str = "middle") -> str:
    """Write a text.

    Parameters:
        x: of its anchor [mm].
        y: of its base line [mm].
        text: plain.
        anchor: start, middle or end.
    """
    return f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}">{text}</text>'


def drawing() -> str:
    """Make the whole drawing."""
    paths, texts = [], [label(8, 9, "Edge gauge: corners at true size, radius in mm", "start")]
    top = 18.0
    for row in _ROWS:
        x = 8.0
        for radius in row:
            x += radius + _LEG_MM + (4 if radius < 10 else 6)
            paths.append(corner(x, top, radius))
            texts.append(label(x - 1 - radius / 2, top + radius + _LEG_MM + 5, f"{radius:g}"))
        top += max(row) + _LEG_MM + 16
    paths.append(f'<path id="check" d="M 45 {HEIGHT_MM - 20:g} h {_CHECK_MM:g}"/>')
    ends = " ".join(f"M {x:g} {HEIGHT_MM - 22:g} v 4" for x in (45.0, 45.0 + _CHECK_MM))
    paths.append(f'<path d="{ends}"/>')
    texts += [
        label(95, HEIGHT_MM - 13, "Print at 100 %. This line must measure 100 mm."),
        label(95, HEIGHT_MM - 6, "Below 0.75 mm, burred or broken: cutting edge."),
    ]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM:g}mm" '
            f'height="{HEIGHT_MM:g}mm" viewBox="0 0 {WIDTH_MM:g} {HEIGHT_MM:g}" role="img">',
            "<title>Edge gauge with corners of known radius at true size</title>",
            f'<rect width="{WIDTH_MM:g}" height="{HEIGHT_MM:g}" fill="#fff"/>',
            '<g fill="none" stroke="#000" stroke-width="0.25">',
            *paths,
            "</g>",
            '<g fill="#000" font-family="sans-serif" font-size="4">',
            *texts,
            "</g>",
            "</svg>",
            "",
        ]
    )


if __name__ == "__main__":
    (Path(__file__).parent / "edge-gauge.svg").write_text(drawing(), encoding="utf-8")
