"""The first laying of a scan on the design, from any place and any side: flat faces, main axes and every flip are tried.

Each start is pulled in by a trimmed ICP that asks for every point of the design whether the scan has it: what a scan has
beside (ribs, top, screws, a piece of the bench) is never asked for, and what it lacks is trimmed away.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from planestock.models.scan.motion import Array, Motion, frame, kept_square, turned
from planestock.models.scan.planes import planes
from planestock.models.scan.samples import Samples
from planestock.models.scan.subjects import Subject

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

SEARCHED = 25_000
"""Samples of the scan that are searched among."""

ASKED = 700
"""Points of the design that are asked for while many starts are tried."""

KEPT_SHARE = 0.65
"""Share of the design's points that is believed at each step; the rest may be missing from the scan."""

FAR = 8.0
"""Distance beyond which a point of the design counts as missing, mm."""

AGREE = 0.75
"""Least |cosine| between the design's normal and the scan's direction at a point that is found."""

BESIDE_IT = 3.0
"""Distance within which a sample of the scan stands for the surface at a point of the design, mm."""

FIRST_STEPS, FEW_STEPS, MORE_STEPS = 5, 10, 30
"""Steps of ICP at most for every start, for the better ones, and for the best."""

SETTLED = 1e-3
"""Step, mm or radians, below which ICP has come to rest."""

HEATS, FINALISTS = 12, 4
"""How many different starts are followed further, and to the end."""

BESIDE = ((-5.0, 0.0, 0.0), (5.0, 0.0, 0.0), (-10.0, 0.0, 0.0), (10.0, 0.0, 0.0), (0.0, 0.0, -4.0), (0.0, 0.0, 4.0))
"""Shifts of a good start, mm, that are tried too: plates are a few millimetres thick, and a face laid on the back of its
plate is a place where ICP rests."""


@dataclass(frozen=True)
class Laid:
    """A motion and how well the design is found under it. missed: mean distance of the design's points, mm, `FAR` where one
    is not found or faces another way; seen: share of them found within `SEEN`."""

    motion: Motion
    missed: float
    seen: float


SEEN = 1.5
"""Distance within which a point of the design is called found, mm."""


@dataclass(frozen=True, eq=False)
class _Scan:
    """What is searched among."""

    points: Array
    directions: Array
    tree: cKDTree


def laid(subject: Subject, samples: Samples) -> Laid:
    """Return the best laying of a scan on a subject."""
    from scipy.spatial import cKDTree

    step = max(1, len(samples.points) // SEARCHED)
    points = samples.points[::step]
    scan = _Scan(points, samples.directions[::step], cKDTree(points))
    few = slice(None, None, max(1, len(subject.looked_at) // ASKED))
    asked, facing = subject.looked_at[few], subject.facing[few]

    def pulled(motions: Iterable[Motion], steps: int) -> list[Laid]:
        return [_pulled(motion, asked, facing, scan, steps) for motion in motions]

    first = _distinct(pulled(_starts(subject, samples), FIRST_STEPS), HEATS)
    best = _distinct(pulled((one.motion for one in first), FEW_STEPS), FINALISTS)
    beside = pulled((_shifted(one.motion, shift) for one in best for shift in BESIDE), FEW_STEPS)
    finals = _distinct([*best, *beside], FINALISTS)
    followed = [_pulled(one.motion, subject.looked_at, subject.facing, scan, MORE_STEPS) for one in finals]
    return min(followed, key=lambda one: one.missed)


def _distinct(found: list[Laid], most: int) -> list[Laid]:
    """Return the best layings that are not the same."""
    kept: list[Laid] = []
    for one in sorted(found, key=lambda one: one.missed):
        if all(_apart(one.motion, other.motion) for other in kept):
            kept.append(one)
        if len(kept) == most:
            break
    return kept


def _apart(one: Motion, other: Motion) -> bool:
    """Tell whether two motions lay a scan differently: turned, or shifted by more than ICP would make good."""
    between = one.back.then(other)
    return between.angle > 10.0 or float(np.linalg.norm(between.shift)) > 2.5


def _shifted(motion: Motion, shift: tuple[float, float, float]) -> Motion:
    return Motion(motion.turn, motion.shift + np.array(shift))


def _starts(subject: Subject, samples: Samples) -> Iterator[Motion]:
    """Yield first guesses: each flat face as the datum, either side up, either end first; then the main axes, all ways."""
    datum = subject.faces(subject.values)[subject.datum]
    design_up = datum.normals(np.zeros((1, 3)))[0]
    design_frame = frame(design_up, np.array([1.0, 0.0, 0.0]))
    middle = subject.looked_at.mean(axis=0)
    on_datum = subject.looked_at[np.abs(datum.distances(subject.looked_at)) < 1e-6]
    for plane in planes(samples):
        rows = samples.points[plane.rows]
        along = np.linalg.eigh(np.cov((rows - plane.middle).T))[1][:, 2]
        for up, way in product((1.0, -1.0), repeat=2):
            turn = design_frame.T @ frame(up * plane.normal, way * along)
            yield _centred(turn, rows.mean(axis=0), on_datum.mean(axis=0))
    centre = samples.points.mean(axis=0)
    axes = np.linalg.eigh(np.cov((samples.points - centre).T))[1].T
    design_axes = np.linalg.eigh(np.cov((subject.looked_at - middle).T))[1].T
    for signs in product((1.0, -1.0), repeat=3):
        turn = design_axes.T @ np.diag(signs) @ axes
        if np.linalg.det(turn) > 0:
            yield _centred(turn, centre, middle)


def _centred(turn: Array, scan_middle: Array, design_middle: Array) -> Motion:
    return Motion(turn, design_middle - turn @ scan_middle)


def _pulled(start: Motion, asked: Array, facing: Array, scan: _Scan, steps: int) -> Laid:
    """Return a start after some steps of trimmed ICP: point to point first, then point to plane."""
    motion = start
    for step in range(steps):
        apart, nearest = scan.tree.query(motion.back.points(asked))
        kept = apart <= np.quantile(apart, KEPT_SHARE)
        found, directions = scan.points[nearest[kept]], scan.directions[nearest[kept]]
        if step < min(4, steps // 2):
            motion = fitted_points(found, asked[kept])
        else:
            motion, size = _to_plane(motion, found, directions, asked[kept])
            if size < SETTLED:
                break
    return _judged(kept_square(motion), asked, facing, scan)


def fitted_points(scan: Array, design: Array) -> Motion:
    """Return the motion that lays points (n, 3) of a scan on points of the design with the least squares (Kabsch's)."""
    scan_middle, design_middle = scan.mean(axis=0), design.mean(axis=0)
    left, _, right = np.linalg.svd((design - design_middle).T @ (scan - scan_middle))
    sign = np.diag([1.0, 1.0, np.sign(np.linalg.det(left @ right))])
    return _centred(left @ sign @ right, scan_middle, design_middle)


def _to_plane(motion: Motion, found: Array, directions: Array, asked: Array) -> tuple[Motion, float]:
    """Return the motion after one step that brings the scan's small planes onto the design's points, and the step's size."""
    points, normals = motion.points(found), motion.directions(directions)
    middle = points.mean(axis=0)
    rows = np.column_stack((normals, np.cross(points - middle, normals)))
    apart = np.einsum("nd,nd->n", normals, points - asked)
    square = rows.T @ rows + 1e-6 * len(rows) * np.eye(6)
    step = np.linalg.solve(square, -rows.T @ apart)
    turn = turned(step[3:])
    return motion.then(Motion(turn, middle - turn @ middle + step[:3])), float(np.abs(step).max())


def _judged(motion: Motion, asked: Array, facing: Array, scan: _Scan) -> Laid:
    apart, nearest = scan.tree.query(motion.back.points(asked))
    normals = motion.directions(scan.directions[nearest])
    agree = np.abs(np.einsum("nd,nd->n", normals, facing)) > AGREE
    off = np.abs(np.einsum("nd,nd->n", normals, asked - motion.points(scan.points[nearest])))
    # Near by, samples lie about a millimetre apart: how far off their plane a point is tells more than how far from them.
    missed = np.where(agree, np.where(apart < BESIDE_IT, off, np.minimum(apart, FAR)), FAR)
    return Laid(motion, float(missed.mean()), float((agree & (apart < SEEN)).mean()))
