"""Pegs and sockets: the stated clearance between solids, enough wall, no cavity near."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.gp import gp_Pnt
from OCP.TopoDS import TopoDS_Compound

from planestock.models.prints import pegs
from planestock.models.prints.bed import Bed
from planestock.models.prints.meshing import block, mesh_of, solid, without
from planestock.models.prints.splitting import LEAST_WALL, Making, peg_places, split
from planestock.models.solids.parts import Mesh
from tests.support.prints_support import group, printed

SAME_CLEARANCE = 1e-6
"""Flat faces: the kernel's distance between them is exact but for rounding."""


def faces_near(meshed: Mesh, low: np.ndarray, high: np.ndarray) -> TopoDS_Compound:
    """The facets of a mesh that reach into a box, as flat faces of the kernel."""
    builder, compound = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(compound)
    corners = meshed.vertices[meshed.faces]
    near = (corners.min(axis=1) <= high).all(axis=1) & (corners.max(axis=1) >= low).all(axis=1)
    for triangle in corners[near]:
        if np.linalg.norm(np.cross(triangle[1] - triangle[0], triangle[2] - triangle[0])) < 1e-9:
            continue
        outline = BRepBuilderAPI_MakePolygon(*(gp_Pnt(*map(float, corner)) for corner in triangle), True)
        builder.Add(compound, BRepBuilderAPI_MakeFace(outline.Wire(), True).Face())
    return compound


def apart(one: Mesh, other: Mesh) -> float:
    """Distance between two meshes near the first, by the kernel's own search."""
    low, high = one.vertices.min(axis=0) - 2, one.vertices.max(axis=0) + 2
    search = BRepExtrema_DistShapeShape(faces_near(one, low, high), faces_near(other, low, high))
    assert search.IsDone()
    return float(search.Value())


@pytest.mark.parametrize(("name", "part"), [("fore", "right half"), ("fore", "pad")])
def test_pegs_mate_with_the_stated_clearance_in_both_pieces(name: str, part: str) -> None:
    made, found = printed(name)
    one = group(found, "body, full size")
    pieces = [piece for piece in one.pieces if piece.name.startswith(part) and not piece.peg]
    mating = [piece for piece in one.pieces if piece.peg and piece.name.endswith(f" of {part}")]
    assert len(mating) == 2
    for peg, piece in itertools.product(mating, pieces):
        assert apart(peg.mesh, piece.mesh) == pytest.approx(made.given.shop.printer.clearance.value, abs=SAME_CLEARANCE)


@pytest.mark.parametrize("clearance", [0.0, 0.4])
def test_any_clearance_is_kept_and_the_peg_keeps_its_size(clearance: float) -> None:
    bar = mesh_of(block((0, 0, 0), (200, 30, 40)))
    parted = split("bar", bar, Making(Bed(120, 120, 120), clearance, 0.4))
    assert len(parted.pegs) == 2
    for peg, piece in itertools.product(parted.pegs, parted.pieces):
        assert apart(peg.mesh, piece.mesh) == pytest.approx(clearance, abs=SAME_CLEARANCE)
        assert np.ptp(peg.mesh.vertices, axis=0) == pytest.approx([24, 8, 8], abs=1e-9)


def test_a_wrong_peg_is_found_by_the_same_search() -> None:
    bar = mesh_of(block((0, 0, 0), (200, 30, 40)))
    parted = split("bar", bar, Making(Bed(120, 120, 120), 0.25, 0.4))
    moved = Mesh(parted.pegs[0].mesh.vertices + np.array((0, 0.1, 0)), parted.pegs[0].mesh.faces)
    assert apart(moved, parted.pieces[0].mesh) == pytest.approx(0.15, abs=SAME_CLEARANCE)


def test_pegs_stay_clear_of_a_cavity_with_their_wall() -> None:
    making = Making(Bed(120, 120, 120), 0.25, 0.4)
    hollow = without(block((0, 0, 0), (200, 30, 40)), [block((90, -1, 0), (110, 31, 25))])
    for y, z in peg_places(hollow, 100.0, 5.0, making):
        assert z - 2.5 - 0.25 >= 25 + LEAST_WALL
        assert z + 2.5 + 0.25 <= 40 - LEAST_WALL
        assert 2.75 + LEAST_WALL <= y <= 30 - 2.75 - LEAST_WALL
    assert len(peg_places(hollow, 100.0, 5.0, making)) == 2


def test_a_cavity_that_ends_within_the_socket_s_depth_counts_too() -> None:
    making = Making(Bed(120, 120, 120), 0.25, 0.4)
    deep = pegs.socket_depth(5.0, 0.25)
    whole = block((0, 0, 0), (200, 9, 9))
    near = without(whole, [block((100 + deep, 0, 0), (130, 9, 9)) ^ block((0, -1, 3), (200, 10, 6))])
    far = without(whole, [block((100 + deep + LEAST_WALL + 0.1, 0, 0), (130, 9, 9)) ^ block((0, -1, 3), (200, 10, 6))])
    assert peg_places(near, 100.0, 5.0, making) == ()
    assert len(peg_places(far, 100.0, 5.0, making)) == 1


def test_where_there_is_no_room_there_is_no_peg_and_the_list_says_so() -> None:
    _, found = printed("fore")
    one = group(found, "body, full size")
    strips = [joint for name, joint in one.joints if name == "centre strip"]
    assert strips
    assert all(joint.places == () for joint in strips)
    assert any("No room for a peg in centre strip" in note for note in one.notes)
    assert all(solid(piece.mesh).volume() > 1 for piece in one.pieces)
