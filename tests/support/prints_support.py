"""What must hold of everything that is printed, for any design; and readers of its files that are not ours."""

from __future__ import annotations

import io
from functools import cache

import numpy as np
import trimesh
from manifold3d import Manifold

from planestock.models.design import Design, design
from planestock.models.prints.jigs import Bushing, Jig
from planestock.models.prints.meshing import SHARED_NOISE, joined, solid
from planestock.models.prints.overhang import Lying, lie
from planestock.models.prints.print_groups import Group, Joint
from planestock.models.prints.print_list import Prints, making_of, prints
from planestock.models.prints.split_body import HALF_SIZE
from planestock.models.prints.splitting import LEAST_WALL, sockets
from planestock.models.solids.meshes import mesh
from planestock.models.solids.parts import Mesh
from planestock.params.files import load

SAME_PLACE = 1e-6
"""A bushing's axis is the screw's to this, mm; the kernel keeps 1e-12."""

SAME_BODY = 0.05
"""Most that pieces put together may differ from the body, mm³ (crumbs of rounding in booleans of meshes)."""

SAME_CLEARANCE = 1e-6
"""The clearance of a peg is the stated one to this, mm: all its faces are flat."""


@cache
def printed(name: str, *changes: str) -> tuple[Design, Prints]:
    """Design and prints of a shipped set, made once."""
    made = design(load(name, changes))
    return made, prints(made)


def group(found: Prints, name: str) -> Group:
    return next(one for one in found.groups if one.name == name)


def jig(found: Prints, name: str) -> Jig:
    return next(one for one in found.jigs if one.name == name)


def hold(made: Design, found: Prints) -> None:
    """Fail unless all that must hold of prints and jigs holds."""
    limit = made.given.shop.filament.overhang.value
    making = making_of(made)
    for one in found.groups:
        for piece in one.pieces:
            told = f"{one.name}: {piece.name}"
            assert_sound(piece.mesh, told)
            lying = lie(piece, making.bed, limit)
            assert lying is not None, told
            assert_on_bed(lying, (making.bed.x, making.bed.y, making.bed.z), told)
        assert_pegs(made, one)
    for name, scale in (("body, full size", 1.0), ("body, half size", HALF_SIZE)):
        whole = next((one for one in found.groups if one.name == name), None)
        if whole is not None:
            assert_assembled(made, whole, scale)
    for standing in found.jigs:
        assert_clear(made, standing)
        if standing.bushings:
            assert_axes(standing)


def assert_sound(meshed: Mesh, told: str) -> None:
    """A second library, which merges corners as readers do, finds one closed body."""
    read = trimesh.Trimesh(np.round(meshed.vertices, 6), meshed.faces)
    assert read.is_watertight, told
    assert read.is_winding_consistent, told
    assert read.volume > 0, told
    assert read.body_count == 1, told


def assert_on_bed(lying: Lying, bed: tuple[float, float, float], told: str) -> None:
    points = lying.mesh.vertices
    np.testing.assert_allclose(points.min(axis=0), 0, atol=1e-9, err_msg=told)
    assert (points.max(axis=0) <= np.array(bed) + 2e-6).all(), told
    assert lying.contact > 0, told


def assert_pegs(made: Design, one: Group) -> None:
    """Pegs are as many as their places, and neither they nor their sockets share volume with what must be solid."""
    making = making_of(made)
    pegs = [piece for piece in one.pieces if piece.peg]
    assert len(pegs) == sum(len(joint.places) for _, joint in one.joints)
    pieces = [solid(piece.mesh) for piece in one.pieces if not piece.peg]
    for peg in pegs:
        body = solid(peg.mesh)
        assert all((body ^ piece).volume() < 1e-6 for piece in pieces), peg.name
        gaps = [body.min_gap(piece, 2.0) for piece in pieces]
        assert abs(min(gaps) - making.clearance) < SAME_CLEARANCE or making.clearance == 0, (peg.name, min(gaps))


def assert_assembled(made: Design, one: Group, scale: float) -> None:
    """Pieces, with what their sockets took away filled again, are the body; the walls of all sockets lie inside it."""
    making = making_of(made)
    for part in made.assembly.wood:
        whole = solid(Mesh(part.mesh.vertices * scale, part.mesh.faces))
        joints = [joint for name, joint in one.joints if name == part.name]
        pieces = [solid(piece.mesh) for piece in one.pieces if piece.name.startswith(part.name) and not piece.peg]
        filled = joined([*pieces, *(body for joint in joints for body in sockets(joint, making.clearance))])
        assert abs(filled.volume() - whole.volume()) < SAME_BODY, part.name
        assert abs((filled - whole).volume()) + abs((whole - filled).volume()) < SAME_BODY, part.name
        for joint in joints:
            outside = sum((walled - whole).volume() for walled in _walled(joint, making.clearance))
            assert outside < 1e-3, (part.name, joint, outside)


def _walled(joint: Joint, clearance: float) -> list[Manifold]:
    """Sockets with the least wall round them: an eight-sided wall reaches 1.082 as far at its corners as on its flats."""
    return sockets(joint, clearance + LEAST_WALL / 1.083)


def assert_clear(made: Design, one: Jig) -> None:
    """A jig shares no volume with wood, nor with its bushings; and no bushing with wood. All other metal is off.

    The dowel guide lies on one half while the other is away.
    """
    on_half = one.name == "dowel guide"
    wood = [solid(part.mesh) for part in made.assembly.wood if not on_half or part.name == "right half"]
    steel = [solid(mesh(bushing.solid())) for bushing in one.bushings]
    jig_body = solid(one.piece.mesh)
    for name, pairs in (
        ("wood", [(jig_body, each) for each in wood]),
        ("bushing", [(jig_body, each) for each in steel]),
        ("bushing in wood", [(a, b) for a in steel for b in wood]),
        ("bushing in bushing", [(a, b) for number, a in enumerate(steel) for b in steel[:number]]),
    ):
        assert sum(max(0.0, (a ^ b).volume()) for a, b in pairs) < SHARED_NOISE, (one.name, name)


def assert_axes(one: Jig) -> None:
    """The axis of a bore, read from the cylindrical face of the solid, is the axis of its hole."""
    assert one.piece.shape is not None
    bores = cylinders(one)
    for bushing in one.bushings:
        assert any(same_axis(bushing, bore) for bore in bores), (one.name, bushing.hole)
    assert len(bores) == len(one.bushings)


def cylinders(one: Jig) -> list[tuple[np.ndarray, np.ndarray, float]]:
    """Point, direction and radius of every cylindrical face of a jig's solid."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_Cylinder

    assert one.piece.shape is not None
    found = []
    for face in one.piece.shape.Faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        if surface.GetType() == GeomAbs_Cylinder:
            axis = surface.Cylinder().Axis()
            place, way = axis.Location(), axis.Direction()
            found.append((np.array(place.Coord()), np.array(way.Coord()), surface.Cylinder().Radius()))
    return found


def same_axis(bushing: Bushing, bore: tuple[np.ndarray, np.ndarray, float]) -> bool:
    """Whether both ends of the hole's axis lie on the bore's to `SAME_PLACE`."""
    place, way, _ = bore
    ends = np.array([bushing.hole.start, bushing.hole.end]) - place
    return bool((np.linalg.norm(np.cross(ends, way), axis=1) < SAME_PLACE).all())


def read_3mf(content: bytes) -> trimesh.Scene:
    read = trimesh.load(io.BytesIO(content), file_type="3mf")
    assert isinstance(read, trimesh.Scene)
    return read
