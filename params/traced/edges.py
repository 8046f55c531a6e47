"""Edges in a picture, found to a part of a pixel: shades are read across them, and the light climbs steepest at the edge.

Light is taken as linear there, since blur adds light and not shades: half way in shades, a blurred edge lies too far into
the dark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planestock.params.outlines.pieces import Point
from planestock.params.traced.photographs import Greys
from planestock.params.traced.strokes import Floats

STEP = 0.5
"""Between readings across an edge, pixels."""

ACROSS, ALONG = 0.8, 2.0
"""Width (standard deviation) of the blur that calms the readings across an edge and along it, pixels."""

GAMMA = 2.2
"""Exponent that turns shades into light, near enough to that of sRGB (IEC 61966-2-1) for places of edges."""

BOW = 0.04
"""Share of a side by which it may lie off the straight way between its given corners, by a strong lens and by corners that
were read badly."""

LEAST_BOW = 6.0
"""The same, pixels: how far off a corner may have been read in a small picture."""

CORNERS_LEFT = 0.04
"""Share of a side at both its ends that is not looked at: readings across it leave the sheet there."""

STATIONS = 40
"""Places along a side that are kept, each the median of many."""

LEAST_SEEN = 0.6
"""Share of a side's places that must lie on one smooth line for the side to count as seen."""

NEAR_LINE = 0.6
"""How far from a smooth line a place of a side may lie to count as on it, pixels."""

LEAST_STEP = 0.02
"""Least light that a sheet's side must climb by a pixel, as a share of the light of white."""


def across(shades: Greys, points: Floats, normals: Floats, reach: tuple[float, float]) -> tuple[Floats, Floats]:
    """Return distances along the normals, pixels, and the light read there, shape (points, distances)."""
    from scipy import ndimage

    away = np.arange(-reach[0], reach[1] + STEP / 2, STEP)
    x = points[:, :1] + normals[:, :1] * away
    y = points[:, 1:] + normals[:, 1:] * away
    read = ndimage.map_coordinates(shades, [y, x], order=1, mode="nearest", output=np.float32)
    light = ndimage.gaussian_filter(read.clip(0, 1) ** GAMMA, (ALONG, ACROSS / STEP), mode="nearest")
    return away, light.astype(np.float64)


@dataclass(frozen=True, eq=False)
class Side:
    """Places on one side of the sheet, shape (n, 2), pixels; scatter: standard deviation of one of them, pixels."""

    points: Floats
    scatter: float


def sheet_sides(shades: Greys, corners: Sequence[Point]) -> tuple[Side | None, ...]:
    """Return the places of the four sides of a sheet, found near the ways between its given corners; None where unseen."""
    ring = np.asarray(corners, dtype=np.float64)
    found = [_readings(shades, ring[i], ring[(i + 1) % 4], ring.mean(axis=0)) for i in range(4)]
    lighter = sum(float(np.median(one.slopes.max(axis=1)) - np.median(-one.slopes.min(axis=1))) for one in found) > 0
    return tuple(_side(one, 1.0 if lighter else -1.0) for one in found)


@dataclass(frozen=True, eq=False)
class _Readings:
    points: Floats
    inward: Floats
    away: Floats
    slopes: Floats


def _readings(shades: Greys, start: Floats, end: Floats, middle: Floats) -> _Readings:
    """Return how steeply the light climbs inward along one side."""
    long = float(np.hypot(*(end - start)))
    way = (end - start) / long
    inward = np.array([-way[1], way[0]])
    inward = inward if (middle - start) @ inward > 0 else -inward
    shares = np.linspace(CORNERS_LEFT, 1 - CORNERS_LEFT, max(STATIONS, round(long * (1 - 2 * CORNERS_LEFT))))
    points = start + shares[:, None] * (end - start)
    reach = max(LEAST_BOW, BOW * long)
    away, light = across(shades, points, np.broadcast_to(inward, points.shape), (reach, reach))
    return _Readings(points, inward, away, np.gradient(light, STEP, axis=1))


def _side(read: _Readings, sign: float) -> Side | None:
    """Return places of one side: the steepest, then those on the smooth line that most of them lie on."""
    slopes = sign * read.slopes
    along = np.linspace(-1, 1, len(slopes))
    steepest = read.away[slopes.argmax(axis=1)]
    line = _smooth_line(along, steepest)
    near = np.where(np.abs(read.away[None, :] - line[:, None]) <= LEAST_BOW / 2, slopes, -1.0)
    offsets = peak(read.away, near)
    on_line = np.abs(offsets - _smooth_line(along, offsets)) < NEAR_LINE
    if on_line.mean() < LEAST_SEEN or float(np.median(near.max(axis=1))) < LEAST_STEP:
        return None
    places = read.points + offsets[:, None] * read.inward
    kept = [np.median(places[part[on_line[part]]], axis=0) for part in np.array_split(np.arange(len(places)), STATIONS)
            if on_line[part].mean() > LEAST_SEEN]  # fmt: skip
    scatter = float(np.std(offsets[on_line] - _smooth_line(along, offsets)[on_line]))
    return Side(np.array(kept), scatter / max(1.0, np.sqrt(len(places) / STATIONS / (4 * ALONG))))


def peak(away: Floats, slopes: Floats) -> Floats:
    """Return where the slopes of each row are greatest, between readings by the parabola through three of them."""
    rows, best = np.arange(len(slopes)), slopes[:, 1:-1].argmax(axis=1) + 1
    before, here, after = (slopes[rows, best + step] for step in (-1, 0, 1))
    bend = before - 2 * here + after
    shift = np.where(bend < -1e-12, (before - after) / (2 * np.where(bend < -1e-12, bend, -1.0)), 0.0)
    found: Floats = away[best] + STEP * np.clip(shift, -0.5, 0.5)
    return found


def _smooth_line(along: Floats, offsets: Floats) -> Floats:
    """Return the cubic that most of the offsets lie on (least squares, reweighted by Tukey's biweight)."""
    powers = np.vander(along, 4)
    weight = np.ones_like(offsets)
    line = np.full_like(offsets, float(np.median(offsets)))
    for turn in range(12):
        solved = np.linalg.lstsq(powers * weight[:, None], offsets * weight, rcond=None)[0]
        line = powers @ solved
        left = np.abs(offsets - line)
        if turn < 6:
            weight = 1 / np.sqrt(np.maximum(left, 0.2))
        else:
            wide = max(6 * float(np.median(left)), 1.0)
            weight = np.where(left < wide, 1 - (left / wide) ** 2, 0.0)
    return line
