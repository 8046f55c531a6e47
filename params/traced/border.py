"""The casting's border, where metal ends and a shadow may begin: the first steep edge that is met going out of the metal.

A shadow beside the casting is dark too. Its own edge is softer than the casting's, or lies farther out; what of the way from
the metal's shade to the ground's is left beyond the edge that was taken tells how much shadow lies there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planestock.params.traced.edges import GAMMA, STEP, across
from planestock.params.traced.photographs import Greys
from planestock.params.traced.strokes import Floats

INSIDE, OUTSIDE = 3.0, 8.0
"""How far in and out of the border, mm, shades are looked at: a shadow reaches about as far as the casting is high."""

LEAST_EDGE = 0.14
"""Least step of an edge in shade, as a share of that from the metal to the ground: paint and rust within the metal step by
less, and so does its side wall against its top (our own choice, from drawn photographs)."""

BESIDE = 4.0
"""Pixels to both sides of an edge that tell where it lies."""

CALMED = 21
"""Places along the border, a pixel apart, of which the middle one in size is taken."""

TRIED = 2.0
"""Pixels to both sides of where an edge was met that its place is looked for in."""


@dataclass(frozen=True, eq=False)
class Border:
    """outline: closed, pixels, shape (n, 2); width: of the edge where it is sharp, pixels; shadow: how much farther out the
    ground's own shade begins where a shadow lies beside the casting, pixels."""

    outline: Floats
    width: float
    shadow: float


def border(shades: Greys, outline: Floats, pixel: float, *, light: bool, keep: bool = False) -> Border:
    """Return the border near a region's outline. pixel: its size, mm; light: the casting is lighter than its ground.

    keep: leave the outline where it is, and tell only how wide its edge is.
    """
    from scipy import ndimage

    points, normals = _evenly(outline)
    reach = (INSIDE / pixel, OUTSIDE / pixel)
    away, found = across(shades, points, normals, reach)
    found = found if not light else 1.0 - found
    seen = found ** (1 / GAMMA)
    metal = np.median(seen[:, (away < -1.0 / pixel)], axis=1)
    ground = np.quantile(seen[:, away > 0], 0.9, axis=1)
    metal, ground = (ndimage.median_filter(one, 61, mode="wrap") for one in (metal, ground))
    span = np.maximum(ground - metal, 0.02)
    rise = (seen - metal[:, None]) / span[:, None]
    at = _first_edge(away, rise)
    at = np.clip(at, away[2], away[-3])
    fine = _placed(away, found, at, _blur(away, found, at))
    fine = ndimage.median_filter(fine, CALMED, mode="wrap")
    first, last = _crossing(away, rise, 0.15), _crossing(away, rise, 0.85)
    width = np.maximum(last - first, 0.0)
    sharp = float(np.quantile(width, 0.2))
    beyond = ndimage.median_filter(np.maximum(width - 1.5 * sharp, 0.0), 9, mode="wrap")
    moved = outline[:-1] if keep else points + fine[:, None] * normals
    return Border(np.vstack([moved, moved[:1]]), sharp, float(beyond.max()))


def _evenly(outline: Floats) -> tuple[Floats, Floats]:
    """Return points a pixel apart on a closed outline, without the last, and their outward normals."""
    from scipy import ndimage

    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(outline, axis=0).T))])
    at = np.linspace(0, along[-1], max(20, round(along[-1])), endpoint=False)
    points = np.column_stack([np.interp(at, along, outline[:, axis]) for axis in (0, 1)])
    points = ndimage.gaussian_filter1d(points, 1.5, axis=0, mode="wrap")
    ways = ndimage.gaussian_filter1d(np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0), 2.0, axis=0, mode="wrap")
    ways /= np.hypot(*ways.T)[:, None]
    turns = float(np.sum(points[:, 0] * np.roll(points[:, 1], -1) - points[:, 1] * np.roll(points[:, 0], -1)))
    normals = np.column_stack([ways[:, 1], -ways[:, 0]])
    return points, normals if turns > 0 else -normals


def _first_edge(away: Floats, rise: Floats) -> Floats:
    """Return where, going out of the metal, the first edge lies that steps by enough."""
    slopes = np.gradient(rise, STEP, axis=1)
    top = (slopes[:, 1:-1] >= slopes[:, :-2]) & (slopes[:, 1:-1] > slopes[:, 2:])
    # An edge blurred with spread s climbs by its step / (s sqrt(2 pi)) a pixel at its steepest.
    steep = top & (slopes[:, 1:-1] > LEAST_EDGE / (1.6 * 2.5)) & (away[1:-1] > away[0] + 1.5)
    any_edge = steep.any(axis=1)
    first = np.where(any_edge, steep.argmax(axis=1), slopes[:, 1:-1].argmax(axis=1)) + 1
    found: Floats = away[first]
    return found


def _blur(away: Floats, light: Floats, at: Floats) -> float:
    """Return the spread of the picture's blur, pixels, by the sharpest part of the border: its step over its steepness."""
    slopes = np.gradient(light, STEP, axis=1)
    near = np.abs(away[None, :] - at[:, None]) <= BESIDE
    step = np.where(near, light, 0.0).max(axis=1) - np.where(near, light, 1.0).min(axis=1)
    wide = step / np.maximum(np.where(near, slopes, 0.0).max(axis=1), 1e-6) / math.sqrt(math.tau)
    return float(np.clip(np.quantile(wide, 0.2), 0.9, BESIDE / 2))


def _placed(away: Floats, light: Floats, at: Floats, blur: float) -> Floats:
    """Return where the edges near some places lie: a blurred step, and beyond it a shadow that lightens, fit best.

    By least squares over places of the edge, the steps' sizes following from each (variable projection).
    """
    from scipy.special import ndtr

    beside = np.arange(-BESIDE, BESIDE + STEP / 2, STEP)
    rows = np.arange(len(light))[:, None]
    index = np.clip((at[:, None] + beside - away[0]) / STEP, 0, light.shape[1] - 1.001)
    low = index.astype(int)
    read = light[rows, low] + (index - low) * (light[rows, low + 1] - light[rows, low])
    tried = np.arange(-TRIED, TRIED + 1e-9, STEP / 4)
    left = np.empty((len(light), len(tried)))
    for column, place in enumerate(tried):
        u = (beside - place) / blur
        bell = np.exp(-u * u / 2) / math.sqrt(math.tau)
        ramp = u * ndtr(u) + bell
        curve = (u * u + 1) * ndtr(u) + u * bell
        terms = np.column_stack([np.ones_like(u), ndtr(u), ramp, curve])
        onto = np.linalg.qr(terms)[0]
        left[:, column] = (read**2).sum(axis=1) - ((read @ onto) ** 2).sum(axis=1)
    found: Floats = at + tried[left.argmin(axis=1)]
    return found


def _crossing(away: Floats, rise: Floats, share: float) -> Floats:
    """Return where a share of the way from the metal's shade to the ground's is first reached."""
    over = rise > share
    first = np.maximum(np.where(over.any(axis=1), over.argmax(axis=1), over.shape[1] - 1), 1)
    rows = np.arange(len(rise))
    low, high = rise[rows, first - 1], rise[rows, first]
    part = np.clip((share - low) / np.where(high > low, high - low, 1.0), 0, 1)
    found: Floats = away[first - 1] + part * STEP
    return found
