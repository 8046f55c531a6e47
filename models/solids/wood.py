"""The wooden parts as solids: blanks with their edges broken first, then every tool in one cut, then the mirror."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cadquery as cq

from planestock.models.body.holes import clear_of_touching
from planestock.models.body.layout import OVERRUN, Layout
from planestock.models.solids.kernel import KernelProblem, Tool, box, cut, drill, mirrored, naming, plan_prism, side_prism
from planestock.params.outlines.pieces import Line, Outline
from planestock.params.outlines.polygons import polygon

MATING = 1e-6
"""An edge nearer to the mid-plane's mating face than this lies on it, mm."""


@dataclass(frozen=True, eq=False)
class WoodSolids:
    """The solids of one body; strip, pad and slip are None where the set has none."""

    right: cq.Shape
    left: cq.Shape
    strip: cq.Shape | None
    pad: cq.Shape | None
    slip: cq.Shape | None

    def all(self) -> list[cq.Shape]:
        """Return the parts that there are."""
        return [shape for shape in (self.right, self.left, self.strip, self.pad, self.slip) if shape is not None]


def wood(layout: Layout) -> WoodSolids:
    """Build the wooden parts. Raises KernelProblem naming the feature when the kernel cannot."""
    tools = cutting_tools(layout)
    low, high = layout.slip, layout.height - layout.pad
    broken = layout.edge_size if not layout.pad else 0.0
    half, used = _cut_from(_half_blank(layout, low, high, broken), tools, "right half")
    strip, used_by_strip = _strip(layout, tools, low, high, broken)
    pad, used_by_pad = _lamination(layout, tools, "pad")
    slip, used_by_slip = _lamination(layout, tools, "slip")
    _all_cut(tools, used | used_by_strip | used_by_pad | used_by_slip)
    return WoodSolids(half, mirrored(half), strip, pad, slip)


def _all_cut(tools: list[Tool], used: frozenset[str]) -> None:
    idle = [tool.feature for tool in tools if tool.feature not in used]
    if idle:
        raise KernelProblem(f"{', '.join(idle)}: removes no wood; measure its place again, it lies outside the body")


def cutting_tools(layout: Layout) -> list[Tool]:
    """Return every solid that is cut from the wood, across the whole body, with its overrun."""
    return list(_tools(layout))


def _tools(layout: Layout) -> Iterator[Tool]:
    yield _tool("throat", layout.throat_tool(), layout.throat_half_width)
    if layout.recess is not None:
        yield _tool("frog.recess", _recess_tool(layout), layout.recess_half_width)
    if layout.let_in > 0:
        with naming("casting seat", "check casting widths and corner_radius"):
            yield Tool("casting.seat", plan_prism(layout.seat, layout.thickness, layout.height + OVERRUN))
    outline = layout.tail_tool()
    if outline is not None:
        yield _tail_tool(layout, outline)
    for hole in layout.holes:
        with naming(hole.name, "check its diameter and depth"):
            bored = drill(clear_of_touching(hole, layout.strip / 2))
            yield Tool(f"{hole.path} at {hole.start[0]:.2f}, {hole.start[2]:.2f}", bored)


def _tool(feature: str, outline: Outline, half_width: float) -> Tool:
    with naming(feature, "check the angles and widths that make it"):
        return Tool(feature, side_prism(outline, half_width))


def _recess_tool(layout: Layout) -> Outline:
    """Return the recess with overrun out of the bed, into the throat; no wider than that, it cuts no cheek."""
    assert layout.recess is not None
    low, low_floor, high_floor, high = layout.recess
    nx, nz = layout.out_of_the_bed
    out = 0.5
    return polygon([(low[0] + out * nx, low[1] + out * nz), low_floor, high_floor, (high[0] + out * nx, high[1] + out * nz)])


def _tail_tool(layout: Layout, outline: Outline) -> Tool:
    with naming("casting cove and tail", "check casting.cove_radius, tail_drop and tail_length"):
        across = layout.plan.half_width + OVERRUN
        prism = side_prism(outline, across)
        if layout.tail_full_width:
            return Tool("casting.tail", prism)
        assert layout.tail is not None
        return Tool(
            "casting.tail",
            prism.intersect(plan_prism(layout.seat, layout.tail.lowest - OVERRUN, layout.height + 2 * OVERRUN)),
        )


def _half_blank(layout: Layout, low: float, high: float, broken: float) -> cq.Shape:
    return _blank(layout, layout.plan.half_outline(), low, high, broken, inner=layout.plan.inner)


def _blank(layout: Layout, outline: Outline, low: float, high: float, broken: float, *, inner: float | None) -> cq.Shape:
    with naming("blank", "check body widths and corner radii"):
        blank = plan_prism(outline, low, high)
    if broken == 0:
        return blank
    with naming(f"top edge ({layout.edge_kind} of {broken:g} mm)", "make body.edge_size smaller"):
        edges = [edge for edge in blank.Edges() if _is_outer_top(edge, high, inner)]
        return _broken(blank, edges, layout)


def _broken(blank: cq.Solid, edges: list[cq.Edge], layout: Layout) -> cq.Shape:
    size = layout.edge_size
    result: cq.Shape = blank.fillet(size, edges) if layout.edge_kind == "round" else blank.chamfer(size, None, edges)
    return result


def _is_outer_top(edge: cq.Edge, high: float, inner: float | None) -> bool:
    ends = box(edge)
    level = abs(ends.low[2] - high) < MATING and abs(ends.high[2] - high) < MATING
    on_mating_face = inner is not None and abs(ends.low[1] - inner) < MATING and abs(ends.high[1] - inner) < MATING
    return level and not on_mating_face


def _strip(
    layout: Layout, tools: list[Tool], low: float, high: float, broken: float
) -> tuple[cq.Shape | None, frozenset[str]]:
    if layout.strip == 0:
        return None, frozenset()
    half = layout.strip / 2
    corners = ((0.0, -half), (layout.length, -half), (layout.length, half), (0.0, half))
    outline = tuple(Line(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True))
    blank = _strip_blank(layout, outline, low, high, broken)
    return _cut_from(blank, tools, "centre strip")


def _strip_blank(layout: Layout, outline: Outline, low: float, high: float, broken: float) -> cq.Shape:
    """Break only the strip's end edges; its long ones lie on the mating faces."""
    with naming("centre strip", "check body.centre_strip and edge_size"):
        blank = plan_prism(outline, low, high)
        if broken == 0:
            return blank
        ends = [edge for edge in blank.Edges() if _is_outer_top(edge, high, None) and _is_across(edge)]
        return _broken(blank, ends, layout)


def _is_across(edge: cq.Edge) -> bool:
    ends = box(edge)
    return ends.high[0] - ends.low[0] < MATING


def _lamination(layout: Layout, tools: list[Tool], which: str) -> tuple[cq.Shape | None, frozenset[str]]:
    thickness = layout.pad if which == "pad" else layout.slip
    if thickness == 0:
        return None, frozenset()
    low = layout.height - thickness if which == "pad" else 0.0
    broken = layout.edge_size if which == "pad" else 0.0
    blank = _blank(layout, layout.plan.whole_outline(), low, low + thickness, broken, inner=None)
    return _cut_from(blank, tools, which)


def _cut_from(blank: cq.Shape, tools: list[Tool], part: str) -> tuple[cq.Shape, frozenset[str]]:
    with naming(part, "change a value slightly; two cuts may just touch"):
        around = box(blank)
        near = [tool for tool in tools if box(tool.solid).meets(around)]
        result, used = cut(blank, near)
        solids = result.Solids()
        return (solids[0] if len(solids) == 1 else cq.Compound.makeCompound(solids)), used


def whole_blank(layout: Layout) -> cq.Shape:
    """Return the blank of the whole body in one piece, edges broken; for checks against the parts."""
    return _blank(layout, layout.plan.whole_outline(), 0.0, layout.height, layout.edge_size, inner=None)
