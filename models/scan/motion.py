"""Rigid motions: a turn and a shift that lay a scan on the design. Points are rows, (n, 3), in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Motion:
    """A point p of the scan lies at `turn` p + `shift` in the design. turn: (3, 3), a proper rotation; shift: (3,), mm."""

    turn: Array
    shift: Array

    def points(self, rows: Array) -> Array:
        """Return points (n, 3) of the scan as they lie in the design."""
        moved: Array = rows @ self.turn.T + self.shift
        return moved

    def directions(self, rows: Array) -> Array:
        """Return directions (n, 3) of the scan as they point in the design."""
        turned: Array = rows @ self.turn.T
        return turned

    def then(self, later: Motion) -> Motion:
        """Return the motion that does this one first and `later` after it."""
        return Motion(later.turn @ self.turn, later.turn @ self.shift + later.shift)

    @property
    def back(self) -> Motion:
        """The motion that undoes this one."""
        return Motion(self.turn.T, -self.turn.T @ self.shift)

    @property
    def angle(self) -> float:
        """How far it turns, degrees, 0 to 180."""
        from scipy.spatial.transform import Rotation

        return math.degrees(Rotation.from_matrix(self.turn).magnitude())


def still() -> Motion:
    """Return the motion that moves nothing."""
    return Motion(np.eye(3), np.zeros(3))


def turned(vector: Array) -> Array:
    """Return the rotation (3, 3) about `vector` by its length in radians."""
    from scipy.spatial.transform import Rotation

    turn: Array = Rotation.from_rotvec(vector).as_matrix()
    return turn


def nudged(motion: Motion, step: Array) -> Motion:
    """Return the motion followed by a small one. step: (6,), shift in mm, then turn as a vector in radians."""
    return motion.then(Motion(turned(step[3:]), step[:3]))


def kept_square(motion: Motion) -> Motion:
    """Return the motion with its rotation made exactly orthonormal again, after many small steps."""
    left, _, right = np.linalg.svd(motion.turn)
    return Motion(left @ right, motion.shift)


def frame(up: Array, along: Array) -> Array:
    """Return the rotation (3, 3) that turns `up` to z and `along`, as far as it is square to that, to x."""
    z = up / np.linalg.norm(up)
    x = along - (along @ z) * z
    x = x / np.linalg.norm(x)
    return np.array([x, np.cross(z, x), z])
