"""How uncertain numbers lean on each other, from the correlation that the fit found."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

Leans = tuple[tuple[str, float], ...]
Correlation = Mapping[str, Mapping[str, float]]

COMMON = 0.95
"""Loading of a rope's, an edge's or a person's number on what ropes, edges or people have in
common [1]; assumed. The rest is their own."""

FITTED = (
    "sheath energy", "core energy", "contact share", "rotation", "cold share", "presliding",
    "radius exponent", "core exponent", "core strength share", "bend strength", "core weakening",
)  # fmt: skip
"""Numbers that observations or tests of one's own fit, each leaning on those before it."""

SHARED = {
    "friction of steel": "edges/*/friction",
    "force ratio": "people/*/force ratio",
    "body stiffness": "people/*/body stiffness",
    "damping": "ropes/*/damping",
}
"""Numbers that nobody knows of steel, people and rope in general -> the uncertainties they are
part of. A draw of their own name stands for what is common."""

DIRECT = {
    "jerky rise": "techniques/jerky/rise",
    "jerky sit back": "techniques/jerky/sit back",
    "jerky rise time": "techniques/jerky/rise time",
}
"""Numbers that are one uncertainty -> its name."""


def fitted_leans(correlation: Correlation) -> dict[str, Leans]:
    """Loadings of each fitted number on the draws of what it was found to go with.

    The rows of the Cholesky factor of the correlation matrix, in which the numbers of `SHARED` and
    `DIRECT` are independent of each other. Through a common part a correlation is `1/COMMON` times
    as strong.

    Parameters:
        correlation: of the logarithms, fitted number -> other number -> [1].

    Returns:
        Fitted number -> ((name of a draw, loading), ...).

    Raises:
        ValueError: no such correlations can be drawn.
    """
    names = (*SHARED, *DIRECT, *FITTED)
    matrix = np.eye(len(names))
    for one, others in correlation.items():
        for other, found in others.items():
            if one not in FITTED or other not in names:
                known = ", ".join(names)
                raise ValueError(
                    f"{one} with {other}: fitted are {', '.join(FITTED)}; with {known}"
                )
            i, j = names.index(one), names.index(other)
            matrix[i, j] = matrix[j, i] = found / (COMMON if other in SHARED else 1.0)
    try:
        factor = np.linalg.cholesky(matrix)
    except np.linalg.LinAlgError as error:
        raise ValueError("together these are no correlations; they are too strong") from error
    return {
        name: tuple((_draw(names[j]), float(factor[i, j])) for j in range(i) if factor[i, j] != 0.0)
        for i, name in enumerate(names)
        if name in FITTED
    }


def common_lean(quantity: str, correlation: Correlation) -> Leans:
    """Loading of an uncertainty on the common part of a number of `SHARED`.

    Parameters:
        quantity: such as `damping`.
        correlation: as in `fitted_leans`; nothing is common where the fit did not use it.
    """
    used = any(quantity in others for others in correlation.values())
    return ((_draw(quantity), COMMON),) if used else ()


def _draw(name: str) -> str:
    """Name of the draw that stands for a number."""
    if name in SHARED:
        return f"common/{name}"
    return DIRECT.get(name, f"wear/{name}")
