"""The metal's stand-ins leave one another room: no picture shows an iron through a casting."""

from __future__ import annotations

from itertools import combinations

import manifold3d
import numpy as np
import pytest

from planestock.models.design import design
from planestock.models.solids import metal
from planestock.models.solids.checks import FACET_NOISE
from planestock.models.solids.parts import Part
from planestock.params.files import load, shipped
from tests.support.full_set import full_design


def manifold(part: Part) -> manifold3d.Manifold:
    return manifold3d.Manifold(manifold3d.Mesh64(part.mesh.vertices, part.mesh.faces.astype(np.uint64)))


OPENED = ("iron", "cap iron", "frog", "casting")


@pytest.mark.parametrize("name", sorted(shipped()))
def test_iron_cap_iron_frog_and_casting_share_no_volume(name: str) -> None:
    made = design(load(name)).assembly
    opened: list[Part] = [made.part(part) for part in OPENED]
    solids = {part.name: manifold(part) for part in opened}
    for one, other in combinations(opened, 2):
        shared = (solids[one.name] ^ solids[other.name]).volume()
        assert shared < FACET_NOISE, f"{one.name} and {other.name} share {shared:.1f} mm³"


@pytest.mark.parametrize("name", sorted(shipped()))
@pytest.mark.parametrize("handle", ["tote", "knob"])
def test_a_handle_stands_on_wood_and_casting_and_in_neither(name: str, handle: str) -> None:
    made = design(load(name)).assembly
    standing = manifold(made.part(handle))
    shared = {part.name: (standing ^ manifold(part)).volume() for part in made.parts if part.name != handle}
    assert {part: volume for part, volume in shared.items() if volume > FACET_NOISE} == {}
    pressed = standing.translate((0, 0, -0.5))
    under = [part for part in made.parts if part.name != handle and (pressed ^ manifold(part)).volume() > FACET_NOISE]
    assert under, "it hangs in the air"


def test_a_foot_without_a_screw_ends_where_its_level_place_does() -> None:
    """The foot's length ahead of the bolt is a guess, which gives way to the cove; that it is there at all is none."""
    made = full_design()
    at, handle = made.layout, made.given.tote
    assert handle is not None
    assert at.tail is not None
    bolt = at.corner[0] + handle.bolt_x.value
    corners = metal.tote_corners(handle.model_copy(update={"toe_screw_x": None}), made.given, at)
    assert corners[0][0] == pytest.approx(max(bolt - 45, at.tail.level_from[0]), abs=1.0)
    with_screw = metal.tote_corners(handle, made.given, at)
    assert handle.toe_screw_x is not None
    assert with_screw[0][0] <= at.corner[0] + handle.toe_screw_x.value - metal.LEAST_FOOT
