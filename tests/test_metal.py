"""The metal's stand-ins leave one another room: no picture shows an iron through a casting."""

from __future__ import annotations

from itertools import combinations

import manifold3d
import numpy as np
import pytest

from planestock.models.design import design
from planestock.models.parts import Part
from planestock.models.solid_checks import FACET_NOISE
from planestock.params.files import load, shipped


def manifold(part: Part) -> manifold3d.Manifold:
    return manifold3d.Manifold(manifold3d.Mesh64(part.mesh.vertices, part.mesh.faces.astype(np.uint64)))


OPENED = ("iron", "cap iron", "frog", "casting")


@pytest.mark.parametrize("name", sorted(shipped()))
def test_iron_cap_iron_frog_and_casting_share_no_volume(name: str) -> None:
    made = design(load(name)).assembly
    metal: list[Part] = [made.part(part) for part in OPENED]
    solids = {part.name: manifold(part) for part in metal}
    for one, other in combinations(metal, 2):
        shared = (solids[one.name] ^ solids[other.name]).volume()
        assert shared < FACET_NOISE, f"{one.name} and {other.name} share {shared:.1f} mm³"
