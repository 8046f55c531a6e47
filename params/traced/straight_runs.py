"""Truly straight runs in a row of points: the best line through each, trimmed where it rounds off."""

from __future__ import annotations

import numpy as np

from planestock.params.outlines.pieces import Line, Point
from planestock.params.traced.strokes import Floats

STRAIGHTEST, STRAIGHT = 0.25, 1.0
"""A straight part strays less than the first share of the tolerance; one that is truly straight gets little longer (`ENDS`)
when it may stray as far as the second, a shallow arc twice as long."""

ENDS = 1.5
"""How much longer, as a share, a truly straight part may get under the wider of these."""

LEAST_STRAIGHT = 2.0
"""Shortest straight part that is looked for, mm."""


def straight_runs(points: Floats, tolerance: float) -> list[tuple[int, int, Line]]:
    """Return the truly straight runs of points, first and last index and the line, longest found first, in order."""
    if len(points) < 6:
        return []
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    stride = max(1, len(points) // 400)
    found: list[tuple[float, int, int]] = []
    for low in range(0, len(points) - 3, stride):
        high = _run_end(points, low, STRAIGHTEST * tolerance)
        span = float(along[high] - along[low])
        if span >= LEAST_STRAIGHT and high - low >= 5:
            found.append((span, low, high))
    runs: list[tuple[int, int, Line]] = []
    for span, low, high in sorted(found, key=lambda one: (-one[0], one[1])):
        if all(high < a or low > b for a, b, _ in runs):
            line = _true_line(points, along, (low, high), span, tolerance)
            if line is not None:
                runs.append(line)
    return sorted(runs, key=lambda run: run[0])


def _run_end(points: Floats, low: int, stray: float) -> int:
    """Return the last index to which the points from `low` stay within `stray` of their chord."""
    good, step = low + 1, 1
    while good + step < len(points) and _chord_stray(points, low, good + step) <= stray:
        good, step = good + step, step * 2
    while step > 1:
        step //= 2
        if good + step < len(points) and _chord_stray(points, low, good + step) <= stray:
            good += step
    return good


def _chord_stray(points: Floats, low: int, high: int) -> float:
    way = points[high] - points[low]
    size = float(np.hypot(way[0], way[1])) or 1.0
    offset = points[low : high + 1] - points[low]
    return float(np.abs(offset[:, 0] * way[1] - offset[:, 1] * way[0]).max()) / size


def _true_line(
    points: Floats, along: Floats, run: tuple[int, int], span: float, tolerance: float
) -> tuple[int, int, Line] | None:
    """Return a run, trimmed at its ends, as the best line through it; None where it is only the flat of a shallow arc."""
    low, high = run
    wide = _run_end(points, low, STRAIGHT * tolerance)
    back = len(points) - 1 - _run_end(points[::-1], len(points) - 1 - high, STRAIGHT * tolerance)
    if along[wide] - along[low] > ENDS * span or along[high] - along[back] > ENDS * span:
        return None
    trim = min(0.1 * span, 2.0)
    first = 0 if low == 0 else int(np.searchsorted(along, along[low] + trim))
    last = high if high == len(points) - 1 else int(np.searchsorted(along, along[high] - trim, "right")) - 1
    if last - first < 3:
        return None
    inner = points[first : last + 1]
    middle = inner.mean(axis=0)
    way = np.linalg.svd(inner - middle)[2][0]
    way = way if way @ (inner[-1] - inner[0]) > 0 else -way
    ends = [middle + way * float((point - middle) @ way) for point in (inner[0], inner[-1])]
    if first == 0:
        ends[0] = inner[0]
    if last == len(points) - 1:
        ends[1] = inner[-1]
    return first, last, Line(point_of(ends[0]), point_of(ends[1]))


def point_of(row: Floats) -> Point:
    """Return a row of an array as a point."""
    return (float(row[0]), float(row[1]))
