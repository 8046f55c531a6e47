"""Invents scans of a set's metal or body: python -m tests.support.invent_scan SET FILE [PATH=VALUE …]

The metal's solids are true where the readings fix them; ribs, a boss and a piece of the bench that no design knows are
added, then noise, missing triangles, holes, triangles turned any way, and a rigid motion. Invented throughout; no real
casting was scanned.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import trimesh
from scipy.spatial import cKDTree

from planestock.models.design import Design, design
from planestock.models.scan.motion import Motion, frame, turned
from planestock.params.files import load

Array = npt.NDArray[np.float64]

METAL = ("casting", "frog", "iron", "cap iron")
WITHOUT_IRON = ("casting", "frog")
CASTING = ("casting",)
WOOD = ("right half", "left half")


@dataclass(frozen=True, eq=False)
class Truth:
    """A fine mesh of the true thing, in the body's coordinates, mm."""

    vertices: Array
    faces: npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Invented:
    """A scan. faces may be fewer than the truth's; motion: lays the scan's points back on the body, the thing to be
    found."""

    vertices: Array
    faces: npt.NDArray[np.int64]
    motion: Motion

    @property
    def mesh(self) -> Any:
        """The scan as a trimesh, which writes any format."""
        return trimesh.Trimesh(self.vertices, self.faces, process=False)


@dataclass(frozen=True)
class Spoilt:
    """What is done to the truth. noise: standard deviation of every point, mm; missing: share of triangles; holes: round
    ones; bench: whether a piece of it was scanned along."""

    noise: float = 0.05
    missing: float = 0.2
    holes: int = 4
    bench: bool = True


def truth(made: Design, parts: Sequence[str], edge: float, *, unknown: bool = True) -> Truth:
    """Return a mesh of parts with edges of `edge` mm at most. unknown: with ribs and a boss on the casting's top."""
    meshes = [trimesh.Trimesh(made.assembly.part(name).mesh.vertices, made.assembly.part(name).mesh.faces) for name in parts]
    meshes += _unknown(made) if unknown else []
    together: Any = trimesh.util.concatenate(meshes)
    vertices, faces = _divided(together, edge)
    fine = trimesh.Trimesh(vertices, faces)
    fine.merge_vertices()
    return Truth(np.array(fine.vertices), np.array(fine.faces))


def _divided(mesh: Any, edge: float) -> Any:
    divide: Any = trimesh.remesh.subdivide_to_size
    return divide(mesh.vertices, mesh.faces, edge, max_iter=25)


def _unknown(made: Design) -> list[Any]:
    """Return ribs across and along the casting's top, and a boss."""
    at, casting = made.layout, made.given.casting
    origin = np.array([at.corner[0], 0.0, at.corner[1] + casting.thickness.value])
    front, rear = casting.front.value, casting.rear.value
    rib = (3.0, 0.6 * casting.rear_width.value, 6.0)
    boxes = [(rib, (place, 0.0, 2.9)) for place in (0.85 * front, 0.65 * front, 0.3 * rear)]
    boxes.append(((0.35 * rear, 3.0, 8.0), (0.35 * rear, 0.0, 3.9)))
    found = []
    for size, place in boxes:
        box = trimesh.creation.box(size)
        box.apply_translation(origin + place)
        found.append(box)
    boss = trimesh.creation.cylinder(7.0, 5.0)
    boss.apply_translation(origin + np.array([0.9 * front, 0.0, 2.4]))
    return [*found, boss]


@cache
def invented_truth(name: str, parts: tuple[str, ...], edge: float = 2.5) -> Truth:
    """Return the truth of a shipped set; the same object each time."""
    return truth(design(load(name)), parts, edge, unknown=parts != WOOD)


def scanned(real: Truth, seed: int, spoilt: Spoilt | None = None) -> Invented:
    """Return a scan of the truth, somewhere in space, the same for the same seed."""
    spoilt = spoilt or Spoilt()
    generator = np.random.Generator(np.random.PCG64(seed))
    vertices = real.vertices + generator.normal(0.0, spoilt.noise, real.vertices.shape)
    faces = real.faces[generator.random(len(real.faces)) >= spoilt.missing]
    middles = vertices[faces].mean(axis=1)
    for _ in range(spoilt.holes):
        middle = middles[generator.integers(len(middles))]
        kept = np.linalg.norm(middles - middle, axis=1) > generator.uniform(5.0, 12.0)
        faces, middles = faces[kept], middles[kept]
    if spoilt.bench:
        vertices, faces = _with_bench(vertices, faces, generator)
    over = generator.random(len(faces)) < 0.3
    faces[over] = faces[over][:, ::-1]
    away = Motion(turned(_any_way(generator) * generator.uniform(0.0, np.pi)), generator.uniform(-400.0, 400.0, 3))
    return Invented(away.points(vertices), faces, away.back)


def _any_way(generator: np.random.Generator) -> Array:
    way: Array = generator.normal(size=3)
    return way / np.linalg.norm(way)


def _with_bench(vertices: Array, faces: npt.NDArray[np.int64], generator: np.random.Generator) -> Any:
    plate = trimesh.creation.box((55.0, 55.0, 0.5))
    points, triangles = _divided(plate, 4.0)
    points = points @ turned(_any_way(generator)).T + vertices.mean(axis=0) + (generator.uniform(-40.0, 40.0), 0.0, -75.0)
    return np.vstack((vertices, points)), np.vstack((faces, triangles + len(vertices)))


@dataclass(frozen=True)
class Tabletop:
    """A table to stand a thing on. size: along and across, mm; disc: whether it is round, as wide as `size` is long; edge:
    radius by which its edge falls away, 0 where it ends; underside: depth at which it was scanned, too, mm, 0 for not;
    fused: whether a scanner's program has joined it to the thing."""

    size: tuple[float, float] = (420.0, 300.0)
    disc: bool = False
    edge: float = 0.0
    underside: float = 0.0
    fused: bool = True


TOUCHING = 0.3
"""Faces of a thing that lie on the table within this, mm, cannot be seen."""

IN_SHADOW = 3.0
"""Distance from the thing within which the table cannot be seen, mm."""


def resting(real: Truth, seed: int) -> Array:
    """Return a way down, in the body's coordinates, in which a thing rests: a side of its convex hull that its middle stands
    over, one of the larger ones, the same for the same seed."""
    hull = trimesh.Trimesh(real.vertices, real.faces).convex_hull
    middle = hull.center_mass
    wide = np.flatnonzero(hull.facets_area > 0.08 * hull.area)
    stable = []
    for facet in wide:
        normal = hull.facets_normal[facet]
        corners = hull.vertices[np.unique(hull.faces[hull.facets[facet]])]
        over = middle + ((corners[0] - middle) @ normal) * normal
        spokes = corners - over
        angles = np.sort(np.arctan2(spokes @ np.cross(normal, spokes[0]), spokes @ spokes[0]))
        if np.max(np.diff([*angles, angles[0] + 2 * np.pi])) < np.pi:
            stable.append(normal)
    generator = np.random.Generator(np.random.PCG64(seed))
    chosen: Array = np.asarray(stable[generator.integers(len(stable))])
    return chosen


def stood(real: Truth, down: Array, top: Tabletop) -> Truth:
    """Return a thing standing on a table as a scanner sees it: without what lies on the table and what it hides. down: the
    way down, in the body's coordinates."""
    turn = frame(-down, np.eye(3)[np.abs(down).argmin()])
    points = real.vertices @ turn.T
    level = points[:, 2].min()
    low = points[real.faces][:, :, 2].max(axis=1) < level + TOUCHING
    seen = real.faces[~low]
    middle = (points[:, :2].max(axis=0) + points[:, :2].min(axis=0)) / 2
    table, triangles = _tabletop(top)
    table = table + np.array([*middle, level])
    near = points[points[:, 2] < level + 15.0]
    hidden = (cKDTree(near[:, :2]).query(table[:, :2])[0] < IN_SHADOW) & (table[:, 2] > level - 1.0)
    moved = triangles + len(points)
    whole = moved[~hidden[triangles].any(axis=1)]
    everything = np.vstack((points, table))
    faces = np.vstack((seen, whole))
    if top.fused:
        border = moved[hidden[triangles].any(axis=1) & ~hidden[triangles].all(axis=1)]
        used = np.unique(seen)
        nearest = used[cKDTree(points[used]).query(everything)[1]]
        under = np.concatenate((np.zeros(len(points), dtype=bool), hidden))
        joined = np.where(under[border], nearest[border], border)
        proper = (joined != np.roll(joined, 1, axis=1)).all(axis=1)
        faces = np.vstack((faces, joined[proper]))
    return Truth(everything @ turn, faces)


def _tabletop(top: Tabletop) -> tuple[Array, npt.NDArray[np.int64]]:
    """Return the top of a table about its middle, level at 0."""
    long, wide = (top.size[0], top.size[0]) if top.disc else top.size
    plate = trimesh.creation.box((long + 2 * top.edge, wide + 2 * top.edge, 1.0))
    upper = plate.faces[plate.face_normals[:, 2] > 0.5]
    points, triangles = _divided(trimesh.Trimesh(plate.vertices, upper), 4.0)
    points = np.array(points) - (0.0, 0.0, 0.5)
    half = np.array([long, wide]) / 2
    out = (
        np.linalg.norm(points[:, :2], axis=1) - half[0] if top.disc
        else np.linalg.norm(np.maximum(np.abs(points[:, :2]) - half, 0.0), axis=1)
    )  # fmt: skip
    kept = triangles[(out[triangles] <= top.edge + 1e-9).all(axis=1)]
    fallen = np.clip(out, 0.0, top.edge)
    points[:, 2] -= top.edge - np.sqrt(np.maximum(top.edge**2 - fallen**2, 0.0))
    if top.underside:
        below = points * (1.0, 1.0, 0.0) - (0.0, 0.0, top.underside)
        kept = np.vstack((kept, kept + len(points)))
        points = np.vstack((points, below))
    return points, np.array(kept)


def off_by(found: Motion, scan: Invented, origin: Array, real: Truth) -> tuple[float, float]:
    """Return how far a found motion is from the true one: largest distance of the true thing's points, mm, and the angle,
    degrees."""
    placed = Motion(found.turn, found.shift + origin)
    there = scan.motion.back.points(real.vertices)
    away = np.linalg.norm(placed.points(there) - real.vertices, axis=1)
    return float(away.max()), scan.motion.back.then(placed).angle


def main() -> None:
    """Write one scan of the whole metal, some 200 000 triangles."""
    source, path, *changes = sys.argv[1:]
    real = truth(design(load(source, changes)), METAL, 1.8)
    found = scanned(real, 1, Spoilt(missing=0.05))
    found.mesh.export(Path(path))
    print(f"{path}: {len(found.faces)} triangles, invented from {source}")


if __name__ == "__main__":
    main()
