"""General tolerances of ISO 2768-1:1989, class m (medium), chosen by the nominal size.

Tables as printed in several copies of the standard that agree; radii from one copy only. The angle table's minutes are given
as degrees. Sizes below 0.5 mm have no general tolerance: the standard wants theirs written beside them.
"""

from __future__ import annotations

import math

LINEAR: tuple[tuple[float, float], ...] = (
    (3.0, 0.1), (6.0, 0.1), (30.0, 0.2), (120.0, 0.3), (400.0, 0.5), (1000.0, 0.8), (2000.0, 1.2), (4000.0, 2.0),
)  # fmt: skip
"""Table 1, class m: up to this nominal size, mm, included, ± mm."""

RADII: tuple[tuple[float, float], ...] = ((3.0, 0.2), (6.0, 0.5), (math.inf, 1.0))
"""Table 2, classes f and m: radii and heights of chamfers up to this size, mm, included, ± mm."""

ANGLES: tuple[tuple[float, float], ...] = (
    (10.0, 1.0),
    (50.0, 30 / 60),
    (120.0, 20 / 60),
    (400.0, 10 / 60),
    (math.inf, 5 / 60),
)
"""Table 3, classes f and m: shorter leg up to this length, mm, included, ± degrees."""

SMALLEST = 0.5
"""Smallest nominal size with a general tolerance, mm."""


def linear(nominal: float) -> float | None:
    """Return the ± of a length, mm; None below 0.5 mm and above 4 m."""
    return _found(LINEAR, nominal) if nominal >= SMALLEST else None


def radius(nominal: float) -> float | None:
    """Return the ± of a radius or a chamfer's height, mm; None below 0.5 mm."""
    return _found(RADII, nominal) if nominal >= SMALLEST else None


def angle(shorter_leg: float) -> float:
    """Return the ± of an angle, degrees, by the length of its shorter leg, mm."""
    found = _found(ANGLES, shorter_leg)
    assert found is not None
    return found


def _found(table: tuple[tuple[float, float], ...], nominal: float) -> float | None:
    return next((value for limit, value in table if nominal <= limit), None)
