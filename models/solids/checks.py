"""Checks of the solids themselves: sound, mirrored, of the right volume; and no metal where wood is."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import manifold3d
import numpy as np

from planestock.models.body.layout import Layout
from planestock.models.body.metal_outlines import iron_place
from planestock.models.checks.rows import Row, at_most
from planestock.models.solids import metal
from planestock.models.solids.assembly import Assembly
from planestock.models.solids.kernel import volume
from planestock.models.solids.meshes import LINEAR_DEFLECTION, mesh
from planestock.models.solids.parts import Mesh, Part
from planestock.models.window.thickness import Settled
from planestock.params.outlines.pieces import area
from planestock.params.outlines.polygons import polygon
from planestock.params.parameter_set import ParameterSet

FACET_NOISE = 1.0
"""Shared volume that touching facets of two meshes can show without touching in truth, mm³."""

MESH_ERROR = 0.002
"""Most a mesh's volume may differ from its solid's, as a share."""

MIRROR_ERROR = 1e-9
"""Most the halves' volumes may differ, as a share: they are one solid and its mirror image."""


def solid_checks(given: ParameterSet, settled: Settled, at: Layout, made: Assembly) -> tuple[Row, ...]:
    """Return the checks that need solids and meshes."""
    wood = [_manifold(part.mesh) for part in made.wood]
    return (*_sound(at, made, wood), *_clear(given, settled, at, made, wood))


def _sound(at: Layout, made: Assembly, wood: Sequence[manifold3d.Manifold]) -> Iterator[Row]:
    volumes = [volume(part.shape) for part in made.wood]
    bad = [part.name for part in made.wood if not part.shape.isValid() or not _count_is_right(part)]
    open_meshes = [part.name for part, solid in zip(made.wood, wood, strict=True) if solid.is_empty()]
    blank = area(at.plan.whole_outline()) * at.height
    wood_left = sum(volumes)
    yield at_most("solids-sound", _named("Every part is a valid solid in one piece", bad), float(len(bad)), 0.0,
                  "change a value slightly; two cuts may just touch", unit="")  # fmt: skip
    yield at_most("meshes-closed", _named("Every mesh is closed", open_meshes), float(len(open_meshes)), 0.0,
                  "change a value slightly; two cuts may just touch", unit="")  # fmt: skip
    yield at_most("halves-mirror", "Left and right half have one volume", abs(volumes[0] - volumes[1]) / volumes[0],
                  MIRROR_ERROR, "this is a fault of the program; report it with the set", unit="")  # fmt: skip
    yield at_most("mesh-volume", "Meshes have the volume of their solids",
                  max(abs(solid.volume() / exact - 1) for solid, exact in zip(wood, volumes, strict=True)),
                  MESH_ERROR, "this is a fault of the program; report it with the set", unit="")  # fmt: skip
    yield at_most("volume-in-bounds", "The wood is less than its blank and no less than the cuts leave, as a share",
                  max(wood_left / blank, (blank - most_cut(at)) / wood_left), 1.0,
                  "this is a fault of the program; report it with the set", unit="")  # fmt: skip


def most_cut(at: Layout) -> float:
    """Return the most that the cuts can take from the blank, mm³: each by itself, as if none met another.

    Throat, frog's recess, seat, tail, holes, and broken edges as square legs, from the layout's numbers alone.
    """
    throat = 2 * at.throat_half_width * area(polygon(at.throat))
    recess = 2 * at.recess_half_width * abs(area(polygon(at.recess))) if at.recess else 0.0
    seat = area(at.seat) * at.let_in
    tail = at.tail_tool()
    lowered = 2 * at.plan.half_width * abs(area(tail)) if tail else 0.0
    holes = sum(math.pi * hole.radius**2 * hole.depth for hole in at.holes)
    edges = 2 * (at.length + 2 * at.plan.half_width) * at.edge_size**2
    return throat + recess + seat + lowered + holes + edges


def _named(asked: str, names: list[str]) -> str:
    return f"{asked} (not: {', '.join(names)})" if names else asked


def _count_is_right(part: Part) -> bool:
    """Tell whether a part has the pieces it should: one, but the strip at least two, as the throat severs it."""
    pieces = len(part.shape.Solids())
    return pieces >= 2 if part.name == "centre strip" else pieces == 1


def _clear(
    given: ParameterSet, settled: Settled, at: Layout, made: Assembly, wood: Sequence[manifold3d.Manifold]
) -> Iterator[Row]:
    out, back = settled.window.out(at.thickness), -settled.window.back(at.thickness)
    for end, proud in (("out", out), ("back", back)):
        place = iron_place(given, at, proud)
        yield _row(f"iron-clear-{end}", f"The iron touches no wood, adjuster all the way {end}",
                   [mesh(metal.iron(given, at, place))], wood,
                   "raise throat.opening, or measure iron and bed again")  # fmt: skip
        yield _row(f"cap-iron-clear-{end}", f"The cap iron touches no wood, adjuster all the way {end}",
                   [mesh(metal.cap_iron(given, at, place))], wood,
                   "raise throat.opening; the hump comes down to the front wall there")  # fmt: skip
    swept = [mesh(shape) for shape in metal.swept_way_out(given, at, iron_place(given, at, out))]
    yield _row("iron-lifts-out", "Iron and cap iron can be lifted out along the bed", swept, wood,
               "raise throat.opening or breast_lean, lower throat.wear_height, or check cap_iron.hump_height")  # fmt: skip
    yield _row("frog-clear", "The frog shares no volume with wood", [made.part("frog").mesh], wood,
               "make frog.recess_depth equal to foot_thickness; raise body.seat_gap")  # fmt: skip
    yield _row("casting-clear", "The casting shares no volume with wood", [_lifted(made.part("casting").mesh)], wood,
               "raise body.seat_gap, check casting.let_in, or choose body.heel_top = \"lowered\"")  # fmt: skip
    yield _stands("tote", "check tote.bolt_x and toe_screw_x, and the casting's cove and rear", made, wood)
    yield _stands("knob", "check knob.from_toe, and the casting's front", made, wood)


def _stands(name: str, change: str, made: Assembly, wood: Sequence[manifold3d.Manifold]) -> Row:
    """Return the row of a handle's stand-in against the wood; nothing is measured where the plane has no such handle."""
    asked = f"The {name} stands on a level place and shares no volume with wood"
    meshes = [part.mesh for part in made.metal if part.name == name]
    if not meshes:
        return at_most(f"{name}-clear", asked, None, FACET_NOISE, change, unit="mm³")
    return _row(f"{name}-clear", asked, meshes, wood, change)


def _lifted(resting: Mesh) -> Mesh:
    """Return the casting's mesh lifted off seat and cove by what facets may stray, so that resting is not sharing."""
    return Mesh(resting.vertices + np.array([1.0, 0.0, 1.0]) * LINEAR_DEFLECTION, resting.faces)


def _row(name: str, asked: str, metal_meshes: list[Mesh], wood: Sequence[manifold3d.Manifold], change: str) -> Row:
    shared = sum((_manifold(piece) ^ solid).volume() for piece in metal_meshes for solid in wood)
    return at_most(name, asked, max(0.0, shared), FACET_NOISE, change, unit="mm³")


def _manifold(meshed: Mesh) -> manifold3d.Manifold:
    return manifold3d.Manifold(manifold3d.Mesh64(meshed.vertices.astype(np.float64), meshed.faces.astype(np.uint64)))
