"""The table in a scan: the plane that the thing stands on, and flat pieces of a bench apart from it.

A table is one of the largest flat faces, and told from the thing's own ones by four rules, none of which hangs on the unit
or on the way that the scan lies. What is on one side of the plane, the thing, is of a likely size. Its middle is over the
plane, or it would fall. The plane goes on beyond it: a sole, a seat or a side ends where its own thing ends. And on the
plane's other side is nothing but the table's edge or its underside, which has one depth.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from planestock.models.scan.from_file import Faces
from planestock.models.scan.motion import Array, frame
from planestock.models.scan.planes import Plane, planes
from planestock.models.scan.samples import Samples, sampled
from planestock.models.scan.subjects import widest

Mask = npt.NDArray[np.bool_]

SIZE = 400.0
"""A scan of an unknown unit is made this wide before planes are looked for, so that lengths below are 1/400 of its width:
some millimetre on a plane's metal, two on a table of three feet."""

LOOKED_AT = 20_000
"""Samples that a table is looked for among."""

MOST_PLANES = 12
"""Flat faces that are tried: a body has eight that may be larger than what is seen of a small table."""

BAND = 5.0
"""Standard deviations of a table's own noise within which a triangle is of the table."""

LEAST_NOISE = 0.02
"""Least standard deviation that a table is taken to have, 1/400 of the scan's width: rounding."""

LEAST_BAND = 0.6
"""Least of that, 1/400 of the width of what stands on it: no scanned table is flatter, and where a thing stands on it scans
are rounded."""

BEYOND_BY = 4.0
"""Distance from what stands on it that a plane must pass to go on beyond it, 1/400 of the scan's width: drafted walls,
broken edges and unseen walls stay below."""

LEAST_BEYOND = 0.08
"""Share of a plane's samples that lie that far beyond what stands on it; of a thing's own face none do."""

LEAST_ON_IT = 0.01
"""Share of all samples that stand on a table at least: a plane's iron on a table of three feet is more."""

RIM_WITHIN, RIM_BEYOND = 5.0, 30.0
"""Width of a table's rim within the outline of its flat top and beyond it, 1/400 of the scan's width: there its edge may
fall away."""

MOST_STRAY = 0.02
"""Share of the samples below a table that are neither of its rim nor of its underside: noise."""

LEVEL_DEPTH = 1.0
"""Farthest that a sample of a table's underside lies from the depth of all, 1/400 of the scan's width: a board has one
thickness, a casting falls to its tail."""

LEVEL = 0.9
"""Least |cosine| between a table's plane and the directions of its underside."""

OVERHUNG = 0.02
"""Share of the triangles in a table's plane that a connected piece of the mesh may have beyond what stands on it and be no
table: then what it has in the plane is its own face, scanned although it lies there."""

LINKED = 6.0
"""Samples nearer than this hang together, 1/400 of the scan's width: twice their distance from one another."""

APART = 8.0
"""Least distance between the thing and a loose piece, 1/400 of the scan's width: wider than an unseen strip of a thing."""

LARGEST_PIECE, SMALLEST_PIECE = 0.3, 0.005
"""Shares of all samples that a loose piece has: larger, it may be the thing; smaller, it is a stray and does no harm."""

THIN = 2.5
"""Greatest thickness of a loose flat piece, 1/400 of the scan's width."""

SAME_WAY = 0.99
"""Least |cosine| between a loose piece and a flat face of the thing at which it may be of the thing: a part of the face, or
the tail beside the seat, what joins them unseen."""


@dataclass(frozen=True, eq=False)
class LeftOut:
    """A part of a scan that is not of the thing, in the unit of the scan's points. what: the table that the thing stands on,
    or a flat piece apart from it; vertices, faces: its mesh; middle, normal: its plane, the normal towards the thing; noise:
    standard deviation of its samples from that plane."""

    what: Literal["table", "piece"]
    vertices: Array
    faces: Faces
    middle: Array
    normal: Array
    noise: float

    @property
    def area(self) -> float:
        """Area of its triangles."""
        corners = self.vertices[self.faces]
        crossed = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        return float(np.linalg.norm(crossed, axis=1).sum()) / 2

    def scaled(self, factor: float) -> LeftOut:
        """Return it in another unit."""
        vertices, middle = self.vertices * factor, self.middle * factor
        return replace(self, vertices=vertices, middle=middle, noise=self.noise * factor)


def told_apart_from_table(
    vertices: Array, faces: Faces, likely: Callable[[float], bool]
) -> tuple[Array, Faces, tuple[LeftOut, ...]]:
    """Return a scan's mesh without table and loose flat pieces, and these. likely: tells whether a thing of that width, in
    the scan's unit, can be what the scan shows. A scan that has neither is returned as it is."""
    left: list[LeftOut] = []
    look = _looked_at(vertices, faces)
    table = next((one for plane in look.planes if (one := _as_table(look, plane, likely)) is not None), None)
    if table is not None:
        gone = _faces_of(table, look.points, faces)
        left.append(_left_out("table", vertices, faces[gone], table.plane, table.noise, look.factor))
        vertices, faces = _used(vertices, faces[~gone])
        look = _looked_at(vertices, faces)
    gone = np.zeros(len(faces), dtype=bool)
    for rows, plane, noise in _loose(look):
        piece = _near_samples(look.points[faces].mean(axis=1), look.samples.points, rows) & ~gone
        gone |= piece
        if piece.any():
            left.append(_left_out("piece", vertices, faces[piece], plane, noise, look.factor))
    return *(_used(vertices, faces[~gone]) if gone.any() else (vertices, faces)), tuple(left)


@dataclass(frozen=True, eq=False)
class _Look:
    """A mesh as it is looked at: its points `factor` times as large, `SIZE` wide, samples of it, and its flat faces."""

    factor: float
    points: Array
    samples: Samples
    planes: list[Plane]


def _looked_at(vertices: Array, faces: Faces) -> _Look:
    factor = SIZE / widest(vertices)
    points = vertices * factor
    samples = sampled(points, faces, LOOKED_AT)
    return _Look(factor, points, samples, planes(samples, MOST_PLANES))


@dataclass(frozen=True, eq=False)
class _Table:
    """A plane that is a table: its normal towards the thing; band: height below which all is of the table; turn: (3, 3),
    lays it level; outside: how far places on it lie outside what stands on it."""

    plane: Plane
    noise: float
    band: float
    turn: Array
    outside: Callable[[Array], Array]

    def heights(self, points: Array) -> Array:
        """Return how far points (n, 3) lie from the plane, positive towards the thing."""
        heights: Array = (points - self.plane.middle) @ self.plane.normal
        return heights

    def beyond(self, points: Array) -> Mask:
        """Tell which points lie beyond what stands on it."""
        beyond: Mask = self.outside(((points - self.plane.middle) @ self.turn.T)[:, :2]) > BEYOND_BY
        return beyond


def _as_table(look: _Look, plane: Plane, likely: Callable[[float], bool]) -> _Table | None:
    """Return a plane as a table, either side up, or None where it is none."""
    samples = look.samples
    apart = (samples.points[plane.rows] - plane.middle) @ plane.normal
    noise = 1.4826 * float(np.median(np.abs(apart)))
    band = BAND * max(noise, LEAST_NOISE)
    for sign in (1.0, -1.0):
        up = Plane(plane.middle, sign * plane.normal, plane.rows)
        turn = frame(up.normal, np.eye(3)[np.abs(up.normal).argmin()])
        local = (samples.points - up.middle) @ turn.T
        above, below = local[:, 2] > band, local[:, 2] < -band
        if np.count_nonzero(above) < LEAST_ON_IT * len(local) or not likely(widest(samples.points[above]) / look.factor):
            continue
        reach = max(band, LEAST_BAND * widest(samples.points[above]) / SIZE)
        table = _Table(up, noise, reach, turn, _outside(local[above, :2]))
        beyond = plane.rows[table.beyond(samples.points[plane.rows])]
        if len(beyond) < LEAST_BEYOND * len(plane.rows):
            continue
        top = _outside(local[beyond, :2])  # a thing's own faces just over the table do not count
        is_over = top(local[above, :2].mean(axis=0)[None])[0] <= 0.0
        level = np.abs(samples.directions @ up.normal) > LEVEL
        if is_over and _is_under(top(local[below, :2]), local[below, 2], level[below]):
            return table
    return None


def _outside(flat: Array) -> Callable[[Array], Array]:
    """Return what tells how far points (n, 2) lie outside the convex hull of `flat`, negative within it: by the farthest of
    the hull's sides, which is exact but beyond its corners."""
    from scipy.spatial import ConvexHull

    sides = ConvexHull(flat, qhull_options="QJ").equations
    # Sides of a noisy hull are many and alike; one in each of a few hundred ways is as good.
    _, kept = np.unique(np.floor(np.arctan2(sides[:, 1], sides[:, 0]) / np.radians(1.0)), return_index=True)
    sides = sides[kept]

    def outside(points: Array) -> Array:
        found: Array = (points @ sides[:, :2].T + sides[:, 2]).max(axis=1)
        return found

    return outside


def _is_under(outside: Array, depth: Array, level: Mask) -> bool:
    """Tell whether what lies below a plane is the rim or the underside of a table. outside: how far samples (n,) lie outside
    the plane's outline; depth: their heights over it; level: which face as it does."""
    if len(depth) == 0:
        return True
    under = level & (outside <= -RIM_WITHIN)
    if under.any():
        under &= np.abs(depth - np.median(depth[under])) < LEVEL_DEPTH
    explained = (outside < RIM_BEYOND) & ((outside > -RIM_WITHIN) | under)
    return float(explained.mean()) >= 1.0 - MOST_STRAY


def _faces_of(table: _Table, points: Array, faces: Faces) -> Mask:
    """Return which triangles are the table's: all with a corner in its plane or below it, which takes the web that joins the
    thing to it, too; but none of what hangs together with the thing and not with the table."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    low = (table.heights(points) < table.band)[faces].any(axis=1)
    count = int(faces.max()) + 1
    pairs = np.vstack((faces[:, :2], faces[:, 1:]))
    links = coo_array((np.ones(len(pairs), dtype=np.int8), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    piece = connected_components(links, directed=False)[1][faces[:, 0]]
    pieces = int(piece.max()) + 1
    beyond = np.zeros(len(faces), dtype=bool)
    beyond[low] = table.beyond(points[faces[low]].mean(axis=1))
    lows = np.bincount(piece[low], minlength=pieces)
    stands = np.bincount(piece[~low], minlength=pieces) > 0
    own = stands & (np.bincount(piece[beyond], minlength=pieces) <= OVERHUNG * lows)
    gone: Mask = low & ~own[piece]
    return gone


def _loose(look: _Look) -> list[tuple[npt.NDArray[np.int64], Plane, float]]:
    """Return flat pieces apart from the thing: samples, plane with its normal towards the thing, noise of each."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    points = look.samples.points
    pairs = cKDTree(points).query_pairs(LINKED, output_type="ndarray")
    links = coo_array((np.ones(len(pairs), dtype=np.int8), (pairs[:, 0], pairs[:, 1])), shape=(len(points), len(points)))
    label = connected_components(links, directed=False)[1]
    counts = np.bincount(label)
    thing = points[label == counts.argmax()]
    tree = cKDTree(thing)
    pieces = []
    for number in np.flatnonzero((counts >= SMALLEST_PIECE * len(points)) & (counts <= LARGEST_PIECE * len(points))):
        own = points[label == number]
        middle = own.mean(axis=0)
        normal = np.linalg.eigh(np.cov((own - middle).T))[1][:, 0]
        heights = (own - middle) @ normal
        thick = float(np.ptp(np.percentile(heights, [1.0, 99.0])))
        if (
            thick > THIN
            or float(tree.query(own)[0].min()) < APART
            or _is_fragment(normal, look.planes, label == counts.argmax())
        ):
            continue
        towards = normal if (thing.mean(axis=0) - middle) @ normal > 0 else -normal
        noise = 1.4826 * float(np.median(np.abs(heights)))
        rows = np.flatnonzero(label == number)
        pieces.append((rows, Plane(middle, towards, rows), noise))
    return pieces


def _is_fragment(normal: Array, found: list[Plane], of_thing: Mask) -> bool:
    """Tell whether a loose piece lies as a flat face of the thing does, and may be of it. of_thing: tells of every sample
    whether it is."""
    return any(of_thing[plane.rows].mean() > 0.5 and abs(float(plane.normal @ normal)) > SAME_WAY for plane in found)


def _near_samples(middles: Array, points: Array, rows: npt.NDArray[np.int64]) -> Mask:
    """Return which triangles have one of the samples `rows` as the nearest to their middle."""
    from scipy.spatial import cKDTree

    near = np.zeros(len(middles), dtype=bool)
    low, high = points[rows].min(axis=0) - LINKED, points[rows].max(axis=0) + LINKED
    box = np.flatnonzero(((middles > low) & (middles < high)).all(axis=1))
    chosen = np.zeros(len(points), dtype=bool)
    chosen[rows] = True
    near[box] = chosen[cKDTree(points).query(middles[box])[1]]
    return near


def _left_out(
    what: Literal["table", "piece"], vertices: Array, faces: Faces, plane: Plane, noise: float, factor: float
) -> LeftOut:
    points, numbered = _used(vertices, faces)
    return LeftOut(what, points, numbered, plane.middle / factor, plane.normal, noise / factor)


def _used(vertices: Array, faces: Faces) -> tuple[Array, Faces]:
    """Return only the points that a triangle has."""
    used, numbers = np.unique(faces, return_inverse=True)
    return vertices[used], numbers.reshape(-1, 3).astype(np.int64)
