"""Faces that a scan is held against: flat or round, bounded, with signed distances. Points are rows, (n, 3), in mm.

A distance is positive outside the solid that the face belongs to, along the face's outward normal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.scan.motion import Array

Mask = npt.NDArray[np.bool_]

LARGEST_SHARE = 0.25
"""Share of a face's width that a margin may take on each side; a narrow face keeps its middle half."""


@dataclass(frozen=True, eq=False)
class Flat:
    """A flat face: the trapezoid u in `length`, |v| up to `half` (at both ends of u), seen from `point`.

    point: (3,); normal: outward; along: the direction of u in the face; half: half-width at the low and at the high end.
    """

    point: Array
    normal: Array
    along: Array
    length: tuple[float, float]
    half: tuple[float, float]

    @property
    def across(self) -> Array:
        """The direction of v."""
        return np.cross(self.normal, self.along)

    @property
    def area(self) -> float:
        """Its area, mm²."""
        return (self.length[1] - self.length[0]) * (self.half[0] + self.half[1])

    def distances(self, points: Array) -> Array:
        """Return signed distances (n,) from the plane."""
        found: Array = (points - self.point) @ self.normal
        return found

    def normals(self, points: Array) -> Array:
        """Return the outward normals (n, 3) at points."""
        return np.broadcast_to(self.normal, points.shape)

    def places(self, points: Array) -> Array:
        """Return where points lie on the face as (n, 2), each -1 to 1 within it."""
        u, v = (points - self.point) @ self.along, (points - self.point) @ self.across
        low, high = self.length
        return np.column_stack((2 * (u - low) / (high - low) - 1, v / np.maximum(self._half_at(u), 1e-9)))

    def _half_at(self, u: Array) -> Array:
        low, high = self.length
        share = np.clip((u - low) / (high - low), 0.0, 1.0)
        half: Array = self.half[0] + share * (self.half[1] - self.half[0])
        return half

    def within(self, points: Array, margin: float) -> Mask:
        """Tell which points lie over the face, `margin` mm inside its edges (outside them where negative)."""
        low, high = self.length
        inset = min(margin, LARGEST_SHARE * (high - low))
        u, v = (points - self.point) @ self.along, (points - self.point) @ self.across
        half = self._half_at(u)
        result: Mask = (
            (u >= low + inset) & (u <= high - inset) & (np.abs(v) <= half - np.minimum(margin, LARGEST_SHARE * 2 * half))
        )
        return result

    def grid(self, step: float) -> Array:
        """Return points (n, 3) on the face, about `step` mm apart."""
        low, high = self.length
        us = _middles(low, high, step)
        wide = max(self.half)
        vs = _middles(-wide, wide, step)
        u, v = (each.ravel() for each in np.meshgrid(us, vs, indexing="ij"))
        kept = np.abs(v) <= self._half_at(u)
        points: Array = self.point + np.outer(u[kept], self.along) + np.outer(v[kept], self.across)
        return points


@dataclass(frozen=True, eq=False)
class Round:
    """Part of a cylinder. centre: a point of its axis; axis: unit; middle: unit, from the axis to the middle of the face.

    half_angle: radians to either side of the middle; length: along the axis; outward: +1 where the solid lies inside the
    cylinder (a convex face), -1 where it lies outside.
    """

    centre: Array
    axis: Array
    radius: float
    middle: Array
    half_angle: float
    length: tuple[float, float]
    outward: float = 1.0

    @property
    def area(self) -> float:
        """Its area, mm²."""
        return (self.length[1] - self.length[0]) * 2 * self.half_angle * self.radius

    def _radial(self, points: Array) -> tuple[Array, Array]:
        apart = points - self.centre
        radial: Array = apart - np.outer(apart @ self.axis, self.axis)
        size: Array = np.linalg.norm(radial, axis=1)
        return radial / np.maximum(size, 1e-12)[:, None], size

    def distances(self, points: Array) -> Array:
        """Return signed distances (n,) from the cylinder."""
        return self.outward * (self._radial(points)[1] - self.radius)

    def normals(self, points: Array) -> Array:
        """Return the outward normals (n, 3) at points."""
        return self.outward * self._radial(points)[0]

    def _angles(self, points: Array) -> Array:
        direction = self._radial(points)[0]
        side = np.cross(self.axis, self.middle)
        angles: Array = np.arctan2(direction @ side, direction @ self.middle)
        return angles

    def places(self, points: Array) -> Array:
        """Return where points lie on the face as (n, 2), each -1 to 1 within it."""
        low, high = self.length
        along = (points - self.centre) @ self.axis
        return np.column_stack((2 * (along - low) / (high - low) - 1, self._angles(points) / self.half_angle))

    def within(self, points: Array, margin: float) -> Mask:
        """Tell which points lie over the face, `margin` mm inside its edges (outside them where negative)."""
        low, high = self.length
        inset = min(margin, LARGEST_SHARE * (high - low))
        angle = min(margin / self.radius, LARGEST_SHARE * 2 * self.half_angle)
        along = (points - self.centre) @ self.axis
        result: Mask = (
            (np.abs(self._angles(points)) <= self.half_angle - angle) & (along >= low + inset) & (along <= high - inset)
        )
        return result

    def grid(self, step: float) -> Array:
        """Return points (n, 3) on the face, about `step` mm apart."""
        reach = self.half_angle * self.radius
        angles = _middles(-reach, reach, step) / self.radius
        alongs = _middles(*self.length, step)
        angle, along = (each.ravel() for each in np.meshgrid(angles, alongs, indexing="ij"))
        side = np.cross(self.axis, self.middle)
        radial = np.outer(np.cos(angle), self.middle) + np.outer(np.sin(angle), side)
        points: Array = self.centre + self.radius * radial + np.outer(along, self.axis)
        return points


Face = Flat | Round


def _middles(low: float, high: float, step: float) -> Array:
    """Return the middles of equal pieces of the range, each about `step` long."""
    count = max(1, round((high - low) / step))
    middles: Array = low + (np.arange(count) + 0.5) * (high - low) / count
    return middles
