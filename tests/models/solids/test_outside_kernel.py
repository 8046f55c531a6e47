"""The body against a second, general-purpose kernel: manifold3d, fed with the layout's numbers only (see rebuilt.py)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import manifold3d
import numpy as np
import pytest

from planestock.models.design import Design, design
from planestock.models.solids.kernel import volume
from planestock.params.files import load
from tests.support.full_set import full_design
from tests.support.rebuilt import rebuilt

REBUILT_ERROR = 3e-5
"""Most that a part's exact volume and the second kernel's may differ, as a share.

Chords stray by 0.001 mm, on average by two thirds of it, from the curved part of a surface of some 400 cm² around 600 cm³.
"""

MESH_SKIN = 0.005
"""Thickness, spread over the whole surface, of what one body has and the other has not, mm.

Facets stray by up to 0.05 mm from curves, by two thirds of that on average, and a tenth of the surface is curved: 0.0033.
"""

BODIES: dict[str, Callable[[], Design]] = {
    "the jack": lambda: design(load("jack")),
    "the jack, sharp edges": lambda: design(load("jack", ["body.edge_size=0"])),
    "strip, pad, slip, chamfer": lambda: full_design(
        "body.centre_strip=6", "body.pad=18", "body.slip=5", "body.edge=chamfer"
    ),
    "strip, pad, slip, sharp edges": lambda: full_design(
        "body.centre_strip=6", "body.pad=12", "body.slip=5", "body.edge_size=0"
    ),
    "strip, pocket that rises again": lambda: full_design("body.centre_strip=4", "body.heel_top=full"),
    "resting on top": lambda: full_design("casting.let_in=0", "body.toe_radius=0"),
}


@pytest.fixture(params=BODIES.values(), ids=list(BODIES))
def made(request: pytest.FixtureRequest) -> Design:
    build: Callable[[], Design] = request.param
    return build()


def test_volumes_and_pieces_agree(made: Design) -> None:
    again = rebuilt(made.layout)
    assert set(again) == {part.name for part in made.assembly.wood}
    for part in made.assembly.wood:
        assert again[part.name].volume() == pytest.approx(volume(part.shape), rel=REBUILT_ERROR), part.name
        assert len(again[part.name].decompose()) == len(part.shape.Solids()), part.name


def test_nothing_lies_outside_of_the_other_body(made: Design) -> None:
    again = rebuilt(made.layout)
    for part in made.assembly.wood:
        mesh = manifold3d.Mesh64(part.mesh.vertices, part.mesh.faces.astype(np.uint64))
        ours, theirs = manifold3d.Manifold(mesh), again[part.name]
        differing = (ours - theirs).volume() + (theirs - ours).volume()
        assert differing < MESH_SKIN * ours.surface_area(), part.name


def test_a_body_that_lacks_a_hole_is_told_apart() -> None:
    made = full_design()
    lacking = rebuilt(replace(made.layout, holes=made.layout.holes[:-1]))
    right = made.assembly.part("right half")
    assert lacking["right half"].volume() != pytest.approx(volume(right.shape), rel=REBUILT_ERROR)
