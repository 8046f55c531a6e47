"""The outline of the largest dark or light region of a picture, found to a part of a pixel (scikit-image)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import Any

import numpy as np

from planestock.params.outlines.pieces import Point
from planestock.params.problems import refuse
from planestock.params.traced.photographs import Greys
from planestock.params.traced.strokes import MOST_POINTS, Floats

LEAST_SHARE = 0.003
"""Share of the picture that a region must cover to be taken for the casting."""

LEAST_CONTRAST = 0.12
"""Difference of the mean shades on both sides of the level, 0 to 1, below which a picture shows no clear edge."""

CALMED = 1.0
"""Width (standard deviation) of the blur that calms a camera's noise first, pixels; an edge stays where it is, and one of
radius R moves by 1/(2 R) pixel."""

NEAR_DARK = 0.3
"""Share of the way from the dark shade to the light one at which they are parted: a shadow beside the casting is lighter
than that where any of it is lit by the sky or a wall (our own choice, from drawn photographs)."""

AROUND = 6
"""Pixels kept around the region."""

INWARD = 0.01
"""Share of its size by which a known rectangle is drawn in before the casting is looked for in it: its own edge is none."""


@dataclass(frozen=True, eq=False)
class Region:
    """What was found. outline: closed, (x, y) in pixels, shape (n, 2); level: shade of the edge; holes: closed over."""

    outline: Floats
    level: float
    is_dark: bool
    holes: int


def largest_region(
    shades: Greys, *, light: bool = False, level: float | None = None, within: Sequence[Point] | None = None
) -> Region:
    """Return the largest region that is darker (or lighter) than the level and does not touch the edge of what is searched.

    level: 0 to 1; None for the one that divides the shades best (Otsu, IEEE Trans. Syst. Man Cybern. 9 (1979) 62).
    within: corners of a quadrangle to stay inside of. Holes (screws, mouth) are closed over. Raises InputProblem.
    """
    from scipy import ndimage

    filters, measure = _imaging("filters"), _imaging("measure")

    calm = ndimage.gaussian_filter(shades, CALMED)
    searched, (left, top) = _searched(calm, within)
    found_level = _found_level(searched.shades[searched.inside], level, filters)
    wanted = (searched.shades > found_level if light else searched.shades <= found_level) & searched.inside
    mask, holes = _largest(ndimage.label(wanted)[0], searched.inside, light=light, measure=measure)
    rows, columns = (np.flatnonzero(mask.any(axis=axis)) for axis in (1, 0))
    y0, y1 = max(0, int(rows[0]) - AROUND), int(rows[-1]) + AROUND + 1
    x0, x1 = max(0, int(columns[0]) - AROUND), int(columns[-1]) + AROUND + 1
    outline = _contour(searched.shades[y0:y1, x0:x1], mask[y0:y1, x0:x1], found_level, light=light)
    return Region(outline + np.array([x0 + left, y0 + top]), found_level, not light, holes)


def _found_level(values: Greys, level: float | None, filters: Any) -> float:
    """Return the level that was given, or the one found. Raises InputProblem where it parts no two shades."""
    if float(values.max()) - float(values.min()) < LEAST_CONTRAST:
        raise refuse("the picture", "one shade", "shows no edge", "lay the casting on a ground of another shade")
    found = _level(values, filters) if level is None else level
    _has_contrast(values, found)
    return found


def _level(values: Greys, filters: Any) -> float:
    """Return a shade near that of the darker side of what divides the shades best."""
    divides = float(filters.threshold_otsu(values))
    dark, light = float(np.median(values[values <= divides])), float(np.median(values[values > divides]))
    return dark + NEAR_DARK * (light - dark)


def _imaging(part: str) -> Any:
    """Return a part of scikit-image; its functions carry no types that a checker could use."""
    return import_module(f"skimage.{part}")


@dataclass(frozen=True, eq=False)
class _Searched:
    shades: Greys
    inside: Any


def _searched(shades: Greys, within: Sequence[Point] | None) -> tuple[_Searched, tuple[int, int]]:
    """Return the part of the picture that is searched, which of its pixels count, and its upper left corner."""
    if within is None:
        return _Searched(shades, np.ones(shades.shape, dtype=bool)), (0, 0)
    corners = np.asarray(within, dtype=np.float64)
    middle = corners.mean(axis=0)
    corners = middle + (corners - middle) * (1 - 2 * INWARD)
    height, width = shades.shape
    left, top = (max(0, int(np.floor(value))) for value in corners.min(axis=0))
    right, low = (int(np.ceil(value)) + 1 for value in corners.max(axis=0))
    part = shades[top : min(low, height), left : min(right, width)]
    if min(part.shape) < AROUND:
        raise refuse("--rectangle", "the four corners", "lie outside the picture", "give them in pixels of this picture")
    inside = _imaging("draw").polygon2mask(part.shape, corners[:, ::-1] - np.array([top, left]))
    return _Searched(part, inside), (left, top)


def _has_contrast(values: Greys, level: float) -> None:
    below, above = values[values <= level], values[values > level]
    if not below.size or not above.size:
        raise refuse("--level", f"{level:g}", "has nothing on one side of it", "choose one between the picture's shades")
    if float(above.mean()) - float(below.mean()) < LEAST_CONTRAST:
        shades = f"{float(below.mean()):.2f} and {float(above.mean()):.2f}"
        raise refuse(
            "the picture",
            shades,
            "are too near in shade for a clear edge",
            "lay the casting on a ground of another shade, or light it better",
        )


def _largest(labels: Any, inside: Any, *, light: bool, measure: Any) -> tuple[Any, int]:
    """Return the largest region that does not touch the edge, with its holes filled, and how many holes it had."""
    from scipy import ndimage

    edge = ~ndimage.binary_erosion(inside, border_value=0)
    sizes = _sizes(labels)
    sizes[0] = 0
    sizes[np.unique(labels[edge])] = 0
    best = int(np.argmax(sizes))
    if sizes[best] < LEAST_SHARE * labels.size:
        shade = "light" if light else "dark"
        raise refuse(
            "the picture",
            f"no {shade} region",
            "stands free of the picture's edge and is large enough",
            f"leave ground visible all round; {'leave out' if light else 'add'} --light for a casting that is "
            f"{'darker' if light else 'lighter'} than its ground, or give --level",
        )
    mask = labels == best
    filled = ndimage.binary_fill_holes(mask)
    holes = int(measure.label(filled & ~mask, connectivity=1).max())
    return filled, holes


def _sizes(labels: Any) -> Any:
    """Return how many pixels each label has, counted row by row: at once, numpy would first widen every pixel to 8 bytes."""
    most = int(labels.max()) + 1
    return sum(np.bincount(rows.ravel(), minlength=most) for rows in np.array_split(labels, BLOCKS))


BLOCKS = 8
"""Blocks of rows that a picture's labels are counted in."""


def _contour(shades: Greys, mask: Any, level: float, *, light: bool) -> Floats:
    """Return the outline of one region by marching squares, everything away from its edge made plainly in or out."""
    from scipy import ndimage

    measure = _imaging("measure")
    steps = sum(np.count_nonzero(np.diff(mask, axis=axis)) for axis in (0, 1))
    if steps > 2 * MOST_POINTS:  # Up to two sides of a pixel make one point of the outline.
        raise refuse("the picture", f"an outline of {steps} pixels", "is too ragged for a casting's",
                     "take the picture on a plain ground, or give --level")  # fmt: skip
    near = ndimage.binary_dilation(mask, iterations=2)
    deep = ndimage.binary_erosion(mask, iterations=2)
    out, into = (0.0, 1.0) if light else (1.0, 0.0)
    plain = np.where(deep, into, np.where(near, shades, out)).astype(np.float64)
    rim = [slice(0, 1), slice(-1, None)]
    for one in rim:
        plain[one, :] = plain[:, one] = out
    contours = measure.find_contours(plain, level)
    if not contours:
        raise refuse("the picture", "no outline", "was found", "give --level")
    longest = max(contours, key=len)
    if len(longest) < 20 or not np.array_equal(longest[0], longest[-1]):
        raise refuse(
            "the picture", "the outline", "does not close upon itself", "leave ground visible all round the casting"
        )
    turned: Floats = np.ascontiguousarray(longest[:, ::-1])
    return turned
