"""The wooden parts as the router leaves them, laid into each setup, and the blocks they are cut from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from planestock.exports.files.lying import Array, moved_shape
from planestock.models.body.layout import OVERRUN
from planestock.models.machining.all_setups import PlanOfWork
from planestock.models.machining.bores import feature_of
from planestock.models.machining.corners import Corner
from planestock.models.machining.part_blocks import Frame
from planestock.models.machining.setups import PartPlan, Setup
from planestock.models.solids.kernel import Tool, cut, naming, plan_prism
from planestock.models.solids.parts import Part
from planestock.models.solids.wood import WoodSolids, wood
from planestock.params.outlines.pieces import mirrored_across

if TYPE_CHECKING:
    import cadquery

    from planestock.models.design import Design

RAW_OPACITY = 0.35
"""Opacity of the raw block: the part shows through it where both are opened together."""


@dataclass(frozen=True, eq=False)
class Laid:
    """One part in one setup: its solid and the raw block's, in machine coordinates."""

    plan: PartPlan
    setup: Setup
    part: Part
    block: Part


def laid_parts(made: Design, work: PlanOfWork) -> Iterator[Laid]:
    """Yield every part in every setup. Holes that stay for hand work are left out, relieved corners are cut.

    Raises KernelProblem naming the feature when the kernel cannot.
    """
    built: dict[frozenset[str], WoodSolids] = {}
    for plan in work.parts:
        original = made.assembly.part(plan.name)
        shape = _relieved(_bored(made, plan, built), plan, work)
        for setup in plan.setups:
            laid = moved_shape(shape, matrix(setup.frame))
            yield Laid(plan, setup, replace(original, shape=laid), _block(original, setup))


def _bored(made: Design, plan: PartPlan, built: dict[frozenset[str], WoodSolids]) -> cadquery.Shape:
    """Return a part with those holes alone that are bored on the router."""
    drilled = frozenset(cut.feature for setup in plan.setups for cut in setup.cuts if cut.diameter is not None)
    if drilled not in built:
        holes = tuple(hole for hole in made.layout.holes if feature_of(hole) in drilled)
        built[drilled] = wood(replace(made.layout, holes=holes))
    return _named(built[drilled], plan.name)


def _named(solids: WoodSolids, name: str) -> cadquery.Shape:
    shapes = {
        "right half": solids.right,
        "left half": solids.left,
        "centre strip": solids.strip,
        "pad": solids.pad,
        "slip": solids.slip,
    }
    shape = shapes[name]
    assert shape is not None
    return shape


def _relieved(shape: cadquery.Shape, plan: PartPlan, work: PlanOfWork) -> cadquery.Shape:
    for setup in plan.setups:
        corners = work.reliefs(plan.name, setup.number)
        if corners:
            there = matrix(setup.frame)
            tools = [_relief(corner, plan, setup) for corner in corners]
            with naming("relieved corners", "leave them for the chisel (shop.cutter.corners)"):
                relieved, _ = cut(moved_shape(shape, there), tools)
                shape = moved_shape(_solid(relieved), back(there))
    return shape


def _solid(shape: cadquery.Shape) -> cadquery.Shape:
    """Return the solids of a cut; one comes back by itself."""
    import cadquery

    solids = shape.Solids()
    return solids[0] if len(solids) == 1 else cadquery.Compound.makeCompound(solids)


def _relief(corner: Corner, plan: PartPlan, setup: Setup) -> Tool:
    assert corner.relief is not None
    pocket = next(
        pocket
        for one in setup.cuts
        if one.feature == corner.feature
        for pocket in one.pockets
        if pocket.title == corner.pocket
    )
    outline = mirrored_across(corner.relief) if plan.mirror_of else corner.relief
    face = setup.shape.high[2]
    floor = face - pocket.depth - (OVERRUN if pocket.through else 0.0)
    return Tool(f"relief of {corner.pocket}", plan_prism(outline, floor, face + OVERRUN))


def matrix(frame: Frame) -> Array:
    """Return the rigid (4, 4) transform from the body into machine coordinates."""
    result = np.eye(4)
    result[:3, :3] = frame.rows
    result[:3, 3] = -(result[:3, :3] @ np.array(frame.origin)) + 0.0
    return result


def back(there: Array) -> Array:
    """Return the inverse of a rigid (4, 4) transform."""
    result = np.eye(4)
    result[:3, :3] = there[:3, :3].T
    result[:3, 3] = -(there[:3, :3].T @ there[:3, 3])
    return result


def _block(part: Part, setup: Setup) -> Part:
    import cadquery

    (x, y, z), (length, width, height) = setup.stock.low, setup.stock.size
    shape = cadquery.Solid.makeBox(length, width, height, cadquery.Vector(x, y, z))
    red, green, blue, _ = part.colour
    return replace(
        part, name=f"stock of {part.name}", colour=(red, green, blue, RAW_OPACITY), shape=shape, mating_normal=None
    )
