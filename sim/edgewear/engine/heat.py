"""Temperature of the moving contact; an output and a mark, not a weight of the wear law."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from edgewear.case import Case, Records


def contact_temperature_c(case: Case, row: int, sums: Records) -> NDArray[np.float64]:
    """Highest temperature at each edge of a section, (n,) [degC]; NaN where it is not known."""
    return np.full(len(sums), np.nan)
