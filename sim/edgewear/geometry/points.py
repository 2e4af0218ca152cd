"""A point of the site, as geometry hands it about."""

from __future__ import annotations

Point = tuple[float, float, float]
"""x out from the structure, y along it, z up [m]."""
