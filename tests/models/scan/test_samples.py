"""Points over meshes whose triangles are of very unlike sizes, as drawn solids and thinned-out scans have them."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import trimesh

from planestock.models.design import design
from planestock.models.scan.fit import Asked, Scan, fitted
from planestock.models.scan.samples import SMOOTHED, sampled
from planestock.models.scan.scale import Scale
from planestock.params.files import load

FINE = 0.01
"""Deflection of the finest mesh, mm: 14 000 triangles on the rounds of the jack's body beside faces of a few large ones."""


@cache
def body(deflection: float) -> trimesh.Trimesh:
    """The jack's two halves as one solid, meshed as a drawing program would."""
    parts = design(load("jack")).assembly
    whole = parts.part("right half").shape.fuse(parts.part("left half").shape).clean()
    vertices, faces = whole.tessellate(deflection, 0.05)
    mesh = trimesh.Trimesh([point.toTuple() for point in vertices], faces)
    mesh.merge_vertices()
    return mesh


def test_a_large_triangle_keeps_its_own_direction_beside_small_ones() -> None:
    # A box whose upper face is finely divided: its sides are two triangles each, and nothing may tilt what is over them.
    box = trimesh.creation.box((40.0, 30.0, 4.0))
    upper = np.flatnonzero(box.face_normals[:, 2] > 0.9)
    fine = box.subdivide(upper)
    for _ in range(7):
        fine = fine.subdivide(np.flatnonzero(fine.triangles_center[:, 2] > 1.99))
    assert np.median(fine.area_faces) < SMOOTHED**2
    samples = sampled(np.array(fine.vertices), np.array(fine.faces), 4000)
    across = np.abs(samples.directions[:, 2])
    on_sides = np.abs(samples.points[:, 2]) < 1.9
    assert on_sides.sum() > 500
    assert across[on_sides].max() < 1e-6


@pytest.mark.parametrize("deflection", [FINE, 0.2])
def test_a_drawn_body_is_found_as_it_was_drawn_however_finely_it_is_meshed(deflection: float) -> None:
    mesh = body(deflection)
    scan = Scan("body.stl", np.array(mesh.vertices), np.array(mesh.faces), len(mesh.faces), 0, False, Scale(1.0, "mm"))
    found = fitted(design(load("jack")), scan, Asked(of="new-body"), count=15_000).body
    assert found is not None
    for name, value, near in (("bed_angle", 45.0, 0.02), ("toe_to_mouth", 118.0, 0.05), ("mouth_opening", 2.2, 0.05)):
        size = found.size(name)
        assert size.found == pytest.approx(value, abs=near), name
