"""How a photograph of a sheet was taken: where the camera stood, how long its lens is, how it bends, and how sure that is.

A sheet's sides are straight and of known length. From places on them, found in the picture, follow the camera's place and
the lens's radial and decentring terms about the picture's middle (D. C. Brown, Photogrammetric Engineering 37 (1971) 855;
as an undistortion polynomial: F. Devernay and O. Faugeras, Machine Vision and Applications 13 (2001) 14), by least squares
with what is known of cameras beforehand, so that what the sheet does not show stays as unsure as it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planestock.params.outlines.pieces import Point
from planestock.params.traced.edges import Side
from planestock.params.traced.perspective import ByRectangle
from planestock.params.traced.strokes import Floats

USUAL_FOCAL, FOCAL_SPREAD = 1.5, 0.3
"""Focal length of cameras in halves of the picture's diagonal, and its spread (of its logarithm): 18 to 60 mm of a camera
with a film of 36 by 24 mm, where a telephone's main lens has 24 to 28 (common practice, no published source)."""

OFF_MIDDLE = 0.01
"""Spread of the lens's axis about the picture's middle, halves of its diagonal (our own choice; worse if cropped)."""

BENDS = ((0.35, 0.02), (0.7, 0.03), (1.0, 0.04))
"""Radius, in halves of the picture's diagonal, and spread of the share by which lenses move what lies there: telephones'
main lenses do so by about 2 % half way out, and by 2 to 16 % in the corners."""

TERMS = (0.2, 0.3, 0.3)
"""Spread of each radial term by itself: those of telephones are of such sizes and of unlike signs."""

DECENTRED = 0.002
"""Spread of the decentring terms."""

SIDE_TRUE = 0.2
"""Spread of the sheet's sides about what was said of them, mm: read on a rule (our own choice)."""

CORNER_READ = 4.0
"""Spread of a corner of the sheet as a person reads it, pixels; where the sides are seen, it hardly counts."""

PLACE_FLOOR = 0.15
"""Spread of a side's place beside its scatter, pixels: paper is not cut quite straight, and its edge is lit unlike it."""

DRAWN = 300
"""Ways in which the picture may have been taken that are drawn to tell how sure an outline is."""

SEED = 14
"""Of these draws, so that the same picture gives the same answer."""


@dataclass(frozen=True, eq=False)
class Camera:
    """One way in which a picture may have been taken. values: see `_NAMES`; size: of the picture, pixels."""

    values: Floats
    size: tuple[int, int]

    @property
    def foot(self) -> Floats:
        """Where on the sheet the camera stands above, mm."""
        return self.values[3:5]

    @property
    def height(self) -> float:
        """How high above the sheet, mm."""
        return float(np.exp(self.values[5]))

    def millimetres(self, points: Floats) -> Floats:
        """Return where on the sheet places in the picture lie."""
        rays = self.straightened(points)
        turned = np.column_stack([rays / np.exp(self.values[6]), np.ones(len(rays))]) @ _rotation(self.values[:3])
        placed: Floats = self.foot + turned[:, :2] * (self.height / turned[:, 2:])
        return placed

    def straightened(self, points: Floats) -> Floats:
        """Return places as a lens that does not bend would show them, about the middle, in halves of the diagonal."""
        middle, half = (np.array(self.size) - 1) / 2, math.hypot(*self.size) / 2
        k1, k2, k3, p1, p2 = self.values[9:14]
        x, y = ((points - middle) / half - self.values[7:9]).T
        square = x * x + y * y
        radial = 1 + square * (k1 + square * (k2 + square * k3))
        return np.column_stack([
            x * radial + 2 * p1 * x * y + p2 * (square + 2 * x * x),
            y * radial + p1 * (square + 2 * y * y) + 2 * p2 * x * y,
        ])  # fmt: skip

    def pixels(self, places: Floats, near: Floats) -> Floats:
        """Return where in the picture places on the sheet lie, from where they are thought to lie (Newton's method)."""
        found = near.copy()
        for _ in range(8):
            here = self.millimetres(found)
            right, down = (self.millimetres(found + step) - here for step in np.eye(2))
            found = found - np.linalg.solve(np.stack([right, down], axis=2), (here - places)[:, :, None])[:, :, 0]
        return found


_NAMES = ("turn x", "turn y", "turn z", "foot x", "foot y", "ln height", "ln focal", "middle x", "middle y",
          "k1", "k2", "k3", "p1", "p2", "side", "other side")  # fmt: skip


@dataclass(frozen=True, eq=False)
class Taken:
    """How a picture was taken. likely: the likeliest way; drawn: others that it may have been taken, as likely as they are.

    corners: of the sheet where its sides meet, pixels; seen: sides of the sheet that were found; misfit: how far they stay
    from a sheet of the stated sides, mm.
    """

    corners: Floats
    likely: Camera
    drawn: tuple[Camera, ...]
    seen: int
    misfit: float


def taken(
    size: tuple[int, int],
    first: ByRectangle,
    corners: Sequence[Point],
    sides: tuple[float, float],
    found: Sequence[Side | None],
) -> Taken:
    """Return how a picture was taken, from the places on the sheet's sides. first: by its four corners alone."""
    from scipy.optimize import least_squares

    known = _Known(size, first, corners, sides, found)
    solved = least_squares(known.errors, known.start(), x_scale="jac", method="trf", max_nfev=200)
    for _ in range(2):  # Places that lie off by far more than the rest are left out.
        known.leave_out(solved.x)
        solved = least_squares(known.errors, solved.x, x_scale="jac", method="trf", max_nfev=200)
    likely = Camera(solved.x, size)
    on_sides = known.on_sides(solved.x)
    surplus = max(1.0, float(np.mean(on_sides**2)) if len(on_sides) else 1.0)
    spread = np.linalg.pinv(solved.jac.T @ solved.jac) * surplus
    vectors = np.linalg.eigh(spread)
    root = vectors.eigenvectors * np.sqrt(np.maximum(vectors.eigenvalues, 0))
    random = np.random.default_rng(SEED)
    drawn = solved.x + random.normal(size=(DRAWN, len(solved.x))) @ root.T
    misfit = float(np.sqrt(np.mean(known.apart(solved.x) ** 2))) if len(on_sides) else 0.0
    refined = likely.pixels(known.true_places(solved.x), known.corners)
    return Taken(
        refined, likely, tuple(Camera(values, size) for values in drawn), sum(one is not None for one in found), misfit
    )


class _Known:
    """What is known beforehand and what the picture shows, as errors in their own spreads."""

    def __init__(
        self,
        size: tuple[int, int],
        first: ByRectangle,
        corners: Sequence[Point],
        sides: tuple[float, float],
        found: Sequence[Side | None],
    ) -> None:
        self.size, self.first = size, first
        self.corners = np.asarray(corners, dtype=np.float64)
        self.places = first.millimetres(self.corners)
        self.pixel = max(sides) / max(math.dist(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True))
        seen = [(index, side) for index, side in enumerate(found) if side is not None]
        empty: list[Floats] = [np.empty((0, 2))]
        self.points = np.concatenate([*(side.points for _, side in seen), *empty])
        self.which = np.repeat([index for index, _ in seen], [len(side.points) for _, side in seen]).astype(int)
        self.spread = np.repeat([math.hypot(side.scatter, PLACE_FLOOR) for _, side in seen],
                                [len(side.points) for _, side in seen])  # fmt: skip

    def start(self) -> Floats:
        """Return a first guess: the homography taken apart, with the usual focal length."""
        middle, half = (np.array(self.size) - 1) / 2, math.hypot(*self.size) / 2
        to_rays = np.array([[1 / half, 0, -middle[0] / half], [0, 1 / half, -middle[1] / half], [0, 0, USUAL_FOCAL]])
        columns = to_rays @ np.linalg.inv(self.first.matrix)
        scale = math.sqrt(float(np.linalg.norm(columns[:, 0]) * np.linalg.norm(columns[:, 1])))
        columns = columns / scale
        columns = columns if columns[2, 2] > 0 else -columns
        rough = np.column_stack([columns[:, :2], np.cross(columns[:, 0], columns[:, 1])])
        u, _, v = np.linalg.svd(rough)
        turn = u @ v
        place = -turn.T @ columns[:, 2]
        values = np.zeros(len(_NAMES))
        values[:3] = _vector(turn)
        values[3:6] = place[0], place[1], math.log(max(-place[2], 10.0))
        values[6] = math.log(USUAL_FOCAL)
        return values

    def true_places(self, values: Floats) -> Floats:
        """Return where the corners lie on a sheet whose sides are off by so much, mm."""
        found: Floats = self.places + np.sign(self.places) * values[14:16]
        return found

    def apart(self, values: Floats) -> Floats:
        """Return how far each place lies from its side, mm."""
        placed = Camera(values, self.size).millimetres(self.points)
        wide, down = self.true_places(values)[2]
        return np.choose(self.which, [placed[:, 1], placed[:, 0] - wide, placed[:, 1] - down, placed[:, 0]])

    def on_sides(self, values: Floats) -> Floats:
        """Return the same in its own spread."""
        found: Floats = self.apart(values) / (self.spread * self.pixel)
        return found

    def leave_out(self, values: Floats) -> None:
        """Leave out the places that lie off by far more than the rest."""
        if not len(self.points):
            return
        off = np.abs(self.on_sides(values))
        keep = off < max(3.0, 4 * float(np.median(off)))
        self.points, self.which, self.spread = self.points[keep], self.which[keep], self.spread[keep]

    def errors(self, values: Floats) -> Floats:
        """Return all errors, each in its own spread."""
        camera = Camera(values, self.size)
        corners = (camera.millimetres(self.corners) - self.true_places(values)) / (CORNER_READ * self.pixel)
        k1, k2, k3 = values[9:12]
        bends = [(k1 * r**2 + k2 * r**4 + k3 * r**6) / spread for r, spread in BENDS]
        return np.concatenate([
            self.on_sides(values), corners.ravel(), [(values[6] - math.log(USUAL_FOCAL)) / FOCAL_SPREAD],
            values[7:9] / OFF_MIDDLE, bends, values[9:12] / np.array(TERMS), values[12:14] / DECENTRED,
            values[14:16] / SIDE_TRUE,
        ])  # fmt: skip


def _rotation(vector: Floats) -> Floats:
    from scipy.spatial.transform import Rotation

    turn: Floats = Rotation.from_rotvec(vector).as_matrix()
    return turn


def _vector(turn: Floats) -> Floats:
    from scipy.spatial.transform import Rotation

    vector: Floats = Rotation.from_matrix(turn).as_rotvec()
    return vector
