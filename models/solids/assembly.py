"""All solids of a design as named parts with their meshes: the wood, and the metal as reference."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cadquery as cq
import numpy as np

from planestock.models.body.layout import Layout
from planestock.models.body.metal_outlines import iron_place
from planestock.models.solids import metal
from planestock.models.solids.meshes import mesh
from planestock.models.solids.parts import Mesh, Part, Vector
from planestock.models.solids.wood import WoodSolids, wood
from planestock.models.window.thickness import Settled
from planestock.params.parameter_set import ParameterSet
from planestock.params.species import species

Colour = tuple[float, float, float, float]

STEEL: Colour = (0.62, 0.65, 0.69, 0.55)
CAST_IRON: Colour = (0.24, 0.26, 0.29, 0.55)
HANDLE: Colour = (0.36, 0.20, 0.13, 0.55)
"""sRGB and opacity of the stand-ins; our own choice."""


@dataclass(frozen=True, eq=False)
class Assembly:
    """Wood and metal of one body. solids: the wood as the kernel made it; parts: wood first, then metal."""

    solids: WoodSolids
    wood: tuple[Part, ...]
    metal: tuple[Part, ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        """All parts."""
        return (*self.wood, *self.metal)

    def part(self, name: str) -> Part:
        """Return a part by name. Raises KeyError where there is none."""
        return {part.name: part for part in self.parts}[name]


def assemble(given: ParameterSet, settled: Settled, layout: Layout) -> Assembly:
    """Build every part. Raises KernelProblem naming the feature when the kernel cannot."""
    solids = wood(layout)
    return Assembly(solids, tuple(_wood_parts(given, solids)), tuple(_metal_parts(given, settled, layout)))


def _wood_parts(given: ParameterSet, solids: WoodSolids) -> Iterator[Part]:
    body = given.wood.species
    right = mesh(solids.right)
    yield _wooden("right half", body, solids.right, right, (0.0, -1.0, 0.0))
    yield _wooden("left half", body, solids.left, mirrored_mesh(right), (0.0, 1.0, 0.0))
    others: tuple[tuple[str, str | None, cq.Shape | None, Vector], ...] = (
        ("centre strip", given.wood.strip_species, solids.strip, (0.0, -1.0, 0.0)),
        ("pad", given.wood.pad_species, solids.pad, (0.0, 0.0, -1.0)),
        ("slip", given.wood.slip_species, solids.slip, (0.0, 0.0, 1.0)),
    )
    for name, kind, shape, normal in others:
        if shape is not None:
            yield _wooden(name, kind or body, shape, mesh(shape), normal)


def mirrored_mesh(original: Mesh) -> Mesh:
    """Return the mesh mirrored across the mid-plane, exactly, facing outwards."""
    return Mesh(original.vertices * np.array([1.0, -1.0, 1.0]), np.ascontiguousarray(original.faces[:, ::-1]))


def _wooden(name: str, kind: str, shape: cq.Shape, meshed: Mesh, normal: Vector) -> Part:
    found = species(kind)
    red, green, blue = (int(found.colour[start : start + 2], 16) / 255 for start in (1, 3, 5))
    return Part(name, "wood", found.name, (red, green, blue, 1.0), shape, meshed, normal)


def _metal_parts(given: ParameterSet, settled: Settled, at: Layout) -> Iterator[Part]:
    place = iron_place(given, at, settled.window.out(at.thickness))
    stand_ins: tuple[tuple[str, str, Colour, cq.Shape | None], ...] = (
        ("iron", "steel", STEEL, metal.iron(given, at, place)),
        ("cap iron", "steel", STEEL, metal.cap_iron(given, at, place)),
        ("frog", "cast iron", CAST_IRON, metal.frog(given, at)),
        ("casting", "cast iron", CAST_IRON, metal.casting(given, at)),
        ("knob", "wood of the old knob", HANDLE, metal.knob(given, at)),
        ("tote", "wood of the old tote", HANDLE, metal.tote(given, at)),
    )
    for name, material, colour, shape in stand_ins:
        if shape is not None:
            yield Part(name, "metal", material, colour, shape, mesh(shape), None)
