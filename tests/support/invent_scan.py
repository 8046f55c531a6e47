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

from planestock.models.design import Design, design
from planestock.models.scan.motion import Motion, turned
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
