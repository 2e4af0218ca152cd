"""From metres to drawing units: the room a drawing has, its scale, what lies inside it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from edgewear.report.drawings import svg

Plane = tuple[float, float]
"""Two of a point's three coordinates, the second drawn upwards [m]."""

TOP = 12.0


@dataclass(frozen=True)
class Frame:
    """The size of a picture: columns of labels at both sides, the linework between them."""

    width: float
    column: float
    height: float  # of the linework at most

    @property
    def room(self) -> svg.Xy:
        """Room for the linework, width and height [drawing unit]."""
        return self.width - 2 * self.column - 30, self.height


LARGE = Frame(600.0, 108.0, 360.0)
"""The main drawing of an option on a wide page."""

SMALL = Frame(420.0, 96.0, 210.0)
"""A drawing beside it, on a card or on a telephone."""


@dataclass(frozen=True)
class View:
    """From metres to drawing units, the same in both directions."""

    frame: Frame
    units_per_m: float
    origin: svg.Xy  # where (left, high) falls
    left: float
    high: float
    right: float
    low: float

    def at(self, point: Plane) -> svg.Xy:
        """Give the place of a point.

        Parameters:
            point: [m].
        """
        return (
            self.origin[0] + (point[0] - self.left) * self.units_per_m,
            self.origin[1] + (self.high - point[1]) * self.units_per_m,
        )

    @property
    def bottom(self) -> float:
        """Lowest place of the linework [drawing unit]."""
        return self.origin[1] + (self.high - self.low) * self.units_per_m

    def inside(self, point: Plane) -> bool:
        """Tell whether a point is shown."""
        return self.left <= point[0] <= self.right and self.low <= point[1] <= self.high


def view_of(points: Sequence[Plane], frame: Frame = SMALL) -> View:
    """Choose the largest scale at which all points fit.

    Parameters:
        points: at least one [m].
        frame: room there is.
    """
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, high = min(z for _, z in points), max(z for _, z in points)
    wide, tall = max(right - left, 1e-3), max(high - low, 1e-3)
    scale = min(frame.room[0] / wide, frame.room[1] / tall)
    start = frame.column + 15 + (frame.room[0] - scale * wide) / 2
    return View(frame, scale, (start, TOP + 10), left, high, right, low)


def cut(start: Plane, end: Plane, view: View) -> tuple[Plane, Plane] | None:
    """Keep the part of a straight line inside the view (Liang and Barsky's parametric clipping)."""
    (x0, z0), (x1, z1) = start, end
    first, last = 0.0, 1.0
    for step, room in (
        (x0 - x1, x0 - view.left),
        (x1 - x0, view.right - x0),
        (z0 - z1, z0 - view.low),
        (z1 - z0, view.high - z0),
    ):
        slack = room + 1e-9
        if step == 0:
            if slack < 0:
                return None
        elif step < 0:
            first = max(first, slack / step)
        else:
            last = min(last, slack / step)
    if first >= last:
        return None
    return (
        (x0 + first * (x1 - x0), z0 + first * (z1 - z0)),
        (x0 + last * (x1 - x0), z0 + last * (z1 - z0)),
    )


def nice(length: float) -> float:
    """Give the largest 1, 2 or 5 times a power of ten not above a length.

    Parameters:
        length: above 0, any unit.
    """
    power = 10.0 ** math.floor(math.log10(length))
    return max(step * power for step in (1, 2, 5) if step * power <= length * (1 + 1e-9))


def scale_bar(view: View, base: float) -> list[str]:
    """Draw a bar of round length with its length in words."""
    metres = nice(90 / view.units_per_m)
    column = view.frame.column
    end = column + metres * view.units_per_m
    ticks = [svg.line((x, base - 4), (x, base + 1), "rule") for x in (column, end)]
    return [
        svg.line((column, base), (end, base), "rule", data_from="scale", data_m=f"{metres:.6g}"),
        *ticks,
        svg.text([f"{metres:g} m"], (end + 6, base + 3), class_="note"),
    ]
