"""The layout: every point of the side view and the plan as plain numbers. Solids, checks and drawings all start here.

x from the toe to the heel, y across (0 on the mid-plane), z up from the sole; millimetres. Points of the side view are
(x, z). The casting's place follows from the mouth's place and the thickness; nothing on the casting has its own x.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from planestock.models.body import holes as drilled
from planestock.models.body.casting_outline import grown, traced_plan
from planestock.models.body.casting_tail import traced_tail
from planestock.models.body.dowels import dowel_places
from planestock.models.body.holes import Hole
from planestock.models.body.plan import End, Plan
from planestock.models.window import reach
from planestock.params.metal import Casting
from planestock.params.outlines.along import height_on
from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, extremes, shifted
from planestock.params.outlines.polygons import polygon, rounded
from planestock.params.parameter_set import ParameterSet
from planestock.params.species import species

OVERRUN = 5.0
"""How far cutting tools reach beyond the wood, mm; zero leaves slivers."""

SHOULDER = 10.0
"""How far the plan's parallel part reaches beyond the throat, mm, so that the cheeks are full there; our own choice."""


@dataclass(frozen=True)
class Tail:
    """The cove and the lowered tail. cove_high: where the underside leaves the seat; cove_low: the foot of the cove.

    fall: the underside from `cove_high` to where it stays level, toe to heel; rear: the casting's rear end. From the end of
    the fall on, the wood is level. centre: of the cove's arc, above the tail (the cove is hollow); None where the underside
    was traced.
    """

    cove_high: Point
    cove_low: Point
    centre: Point | None
    rear: Point
    fall: Outline

    @property
    def level_from(self) -> Point:
        """Where the level part begins; at the casting's rear end where the underside is level nowhere."""
        return self.fall[-1].end

    @property
    def level(self) -> float:
        """Height of the level part, at the rear end and behind it."""
        return self.fall[-1].end[1]

    @property
    def lowest(self) -> float:
        """Least height of the wood's top under the tail."""
        return min(z for piece in self.fall for _, z in extremes(piece))

    def height_at(self, x: float) -> float:
        """Return the height of the wood's top at x, from `cove_high` on."""
        if self.centre is None:
            piece = next((piece for piece in self.fall if x < piece.end[0]), None)
            return self.level if piece is None else height_on(piece, x)
        if x >= self.cove_low[0]:
            return self.cove_low[1]
        radius = self.centre[1] - self.cove_low[1]
        return self.centre[1] - math.sqrt(max(0.0, radius**2 - (x - self.centre[0]) ** 2))


@dataclass(frozen=True)
class Layout:
    """All places of one body. The names are those of the report's `layout.*`.

    edge: of the iron on the sole; bed_foot: where the bed meets the sole; corner: D, where it meets the seat plane;
    mouth_front, wear_top, breast_top: the front wall from the sole to the top; recess: the four corners of the frog's
    recess, from its low end on the bed; seat: plan of the casting's seat as cut, gap included; casting: plan of the metal.
    casting_front, casting_rear: the metal's ends; casting_width: across its widest, twice its farthest from the middle line;
    is_traced: whether that plan comes from a drawing.
    """

    length: float
    thickness: float
    height: float
    bed_angle: float
    edge: Point
    bed_foot: Point
    corner: Point
    mouth_front: Point
    wear_top: Point
    breast_top: Point
    seat_front: Point
    seat_rear: Point
    throat_half_width: float
    recess: tuple[Point, Point, Point, Point] | None
    recess_half_width: float
    tail: Tail | None
    tail_full_width: bool
    seat: Outline
    casting: Outline
    casting_front: float
    casting_rear: float
    casting_width: float
    is_traced: bool
    let_in: float
    plan: Plan
    strip: float
    pad: float
    slip: float
    edge_kind: str
    edge_size: float
    holes: tuple[Hole, ...]

    @property
    def up_the_bed(self) -> Point:
        """Unit vector u up the bed."""
        theta = math.radians(self.bed_angle)
        return (math.cos(theta), math.sin(theta))

    @property
    def out_of_the_bed(self) -> Point:
        """Unit vector n out of the bed, towards the toe."""
        theta = math.radians(self.bed_angle)
        return (-math.sin(theta), math.cos(theta))

    def on_the_bed(self, along: float, out: float = 0.0) -> Point:
        """Return the point `along` up the bed from the corner and `out` from the bed."""
        (ux, uz), (nx, nz), (x, z) = self.up_the_bed, self.out_of_the_bed, self.corner
        return (x + along * ux + out * nx, z + along * uz + out * nz)

    def front_at(self, z: float) -> float:
        """Return where the front wall, wear or breast, is at a height above the sole, mm from the toe."""
        (low_x, low_z), (high_x, high_z) = (
            (self.mouth_front, self.wear_top) if z <= self.wear_top[1] else (self.wear_top, self.breast_top)
        )
        share = (z - low_z) / (high_z - low_z)
        return low_x + share * (high_x - low_x)

    def bed_at(self, z: float) -> float:
        """Return where the bed is at a height above the sole, mm from the toe."""
        return self.bed_foot[0] + z / math.tan(math.radians(self.bed_angle))

    def top_at(self, x: float) -> float:
        """Return the height of the wood on the mid-plane at x, throat and holes left aside."""
        return top_height(x, self)

    @property
    def throat(self) -> tuple[Point, ...]:
        """Corners of the throat in the side view, from the mouth's front anticlockwise, up to the wood's top."""
        return (self.mouth_front, self.bed_foot, self.on_the_bed(self.let_in / self.up_the_bed[1]), self.breast_top,
                self.wear_top)  # fmt: skip

    def throat_tool(self) -> Outline:
        """Return the throat's outline with overrun below the sole and above the top."""
        (bx, bz), (wx, wz) = self.breast_top, self.wear_top
        rise = self.height + OVERRUN - bz
        lean = (bx - wx) / (bz - wz)
        return polygon(
            (
                self.wear_top,
                self.mouth_front,
                (self.mouth_front[0], -OVERRUN),
                (self.bed_foot[0], -OVERRUN),
                self.bed_foot,
                self.on_the_bed((self.let_in + OVERRUN) / self.up_the_bed[1]),
                (bx + rise * lean, self.height + OVERRUN),
            )
        )

    def tail_tool(self) -> Outline | None:
        """Return the outline in the side view of what the cove and the lowered tail take away, with overrun."""
        if self.tail is None:
            return None
        above, end = self.height + OVERRUN, max(self.length, self.tail.level_from[0]) + OVERRUN
        begin, low = self.tail.cove_high, self.tail.level
        corners = [self.tail.level_from, (end, low), (end, above), (begin[0], above), begin]
        pieces: list[Piece] = [Line(start, finish) for start, finish in pairwise(corners)]
        return (*self.tail.fall, *pieces)


def top_height(x: float, at: Layout) -> float:
    """Return the height of the wood's top on the mid-plane at x."""
    if at.tail is not None and x >= at.tail.cove_high[0]:
        if at.tail_full_width or x <= at.seat_rear[0]:
            return at.tail.height_at(x)
        return at.height
    return at.thickness if at.seat_front[0] <= x <= at.seat_rear[0] else at.height


def side_view(given: ParameterSet, thickness: float) -> tuple[Point, Point, Point, Point, Point, Point]:
    """Return edge, bed foot, corner, mouth front, wear top and breast top for a body of this thickness."""
    theta, t = given.frog.bed_angle.value, given.iron.thickness.value
    height = thickness + given.casting.let_in.value
    edge = given.body.toe_to_mouth.value
    foot = edge + float(reach.edge_from_bed_foot(t, theta))
    corner = (foot + thickness / math.tan(math.radians(theta)), thickness)
    front = edge - given.throat.opening.value
    wear_height = given.throat.wear_height.value
    wear = (front - wear_height * math.tan(math.radians(given.throat.wear_lean.value)), wear_height)
    breast = wear[0] - (height - wear_height) * math.tan(math.radians(given.throat.breast_lean.value))
    return (edge, 0.0), (foot, 0.0), corner, (front, 0.0), wear, (breast, height)


def lay_out(given: ParameterSet, thickness: float) -> Layout:
    """Return the layout of the body of this thickness (seat plane to sole, mm)."""
    edge, foot, corner, front, wear, breast = side_view(given, thickness)
    casting, body = given.casting, given.body
    gap = body.seat_gap.value
    shape = _casting(given, corner[0], gap)
    tail = _tail(given, corner, thickness, shape.rear)
    bare = Layout(
        length=body.length.value,
        thickness=thickness,
        height=thickness + casting.let_in.value,
        bed_angle=given.frog.bed_angle.value,
        edge=edge,
        bed_foot=foot,
        corner=corner,
        mouth_front=front,
        wear_top=wear,
        breast_top=breast,
        seat_front=(shape.front - gap, thickness),
        seat_rear=(shape.rear + gap, thickness if tail is None else tail.level),
        throat_half_width=max(given.iron.width.value, given.cap_iron.width.value) / 2 + given.throat.side_clearance.value,
        recess=None,
        recess_half_width=given.frog.width.value / 2 + gap,
        tail=tail,
        tail_full_width=body.heel_top == "lowered",
        seat=shape.seat,
        casting=shape.metal,
        casting_front=shape.front,
        casting_rear=shape.rear,
        casting_width=shape.width,
        is_traced=casting.outline is not None,
        let_in=casting.let_in.value,
        plan=_plan(given, min(front, wear, breast)[0], corner[0]),
        strip=body.centre_strip.value,
        pad=body.pad.value,
        slip=body.slip.value,
        edge_kind=body.edge,
        edge_size=body.edge_size.value,
        holes=(),
    )
    cut = replace(bare, recess=_recess(given, bare))
    drilled_for_metal = replace(cut, holes=_metal_holes(given, cut))
    dowels = dowel_places(given.body.dowels, drilled_for_metal, given.work.least_cover.value)
    return replace(drilled_for_metal, holes=(*drilled_for_metal.holes, *dowels))


@dataclass(frozen=True)
class _Casting:
    """The casting as it lies in the body: its ends and width, its plan, and that of its seat."""

    front: float
    rear: float
    width: float
    metal: Outline
    seat: Outline


def _casting(given: ParameterSet, corner_x: float, gap: float) -> _Casting:
    """Return the casting from above: as it was traced, else as the readings make it."""
    casting = given.casting
    traced = traced_plan(casting)
    if traced is not None:
        by = (corner_x, 0.0)
        return _Casting(
            corner_x + traced.front,
            corner_x + traced.rear,
            traced.width,
            shifted(traced.metal, by),
            shifted(grown(traced.even, gap), by),
        )
    return _Casting(
        corner_x + casting.front.value,
        corner_x + casting.rear.value,
        max(casting.front_width.value, casting.rear_width.value),
        parametric_plan(casting, corner_x, 0.0),
        parametric_plan(casting, corner_x, gap),
    )


def _tail(given: ParameterSet, corner: Point, thickness: float, rear: float) -> Tail | None:
    """Return cove and tail: as traced, else as the readings make them. rear: the casting's rear end, from the toe."""
    casting = given.casting
    if casting.profile is not None:
        return _traced_tail(casting, corner, rear)
    drop, radius = casting.tail_drop.value, casting.cove_radius.value
    if drop == 0:
        return None
    low = rear - casting.tail_length.value
    high = low - math.sqrt(2 * radius * drop - drop**2)
    level = thickness - drop
    begin, foot, centre = (high, thickness), (low, level), (low, level + radius)
    return Tail(begin, foot, centre, (rear, level), (Arc(begin, foot, centre, clockwise=False),))


def _traced_tail(casting: Casting, corner: Point, rear: float) -> Tail | None:
    traced = traced_tail(casting, rear - corner[0])
    if traced is None:
        return None
    fall = shifted(traced.fall, corner)
    foot = (traced.foot[0] + corner[0], traced.foot[1] + corner[1])
    return Tail((fall[0].start[0], corner[1]), foot, None, (rear, fall[-1].end[1]), fall)


def _recess(given: ParameterSet, bare: Layout) -> tuple[Point, Point, Point, Point] | None:
    frog, gap = given.frog, given.body.seat_gap.value
    depth = frog.recess_depth.value
    if depth == 0:
        return None
    low, high = frog.foot_low.value - gap, frog.foot_high.value + gap
    return (bare.on_the_bed(low), bare.on_the_bed(low, -depth), bare.on_the_bed(high, -depth), bare.on_the_bed(high))


def parametric_plan(casting: Casting, corner_x: float, gap: float) -> Outline:
    """Return the outline that the casting's readings make, seen from above, grown by `gap` mm all round."""
    front, rear = corner_x + casting.front.value - gap, corner_x + casting.rear.value + gap
    half_front, half_rear = casting.front_width.value / 2 + gap, casting.rear_width.value / 2 + gap
    radius = casting.corner_radius.value + gap if casting.corner_radius.value > 0 else 0.0
    corners = ((front, -half_front), (rear, -half_rear), (rear, half_rear), (front, half_front))
    return rounded(corners, radius)


def _plan(given: ParameterSet, front_x: float, corner_x: float) -> Plan:
    body = given.body
    half = body.width.value / 2
    toe = body.toe_width.value / 2 if body.toe_width else half
    heel = body.heel_width.value / 2 if body.heel_width else half
    length = body.length.value
    return Plan(
        inner=body.centre_strip.value / 2,
        half_width=half,
        toe=End(0.0, front_x - SHOULDER, toe, body.toe_radius.value),
        heel=End(length, corner_x + SHOULDER, heel, body.heel_radius.value),
    )


def _metal_holes(given: ParameterSet, cut: Layout) -> tuple[Hole, ...]:
    gravity = species(
        given.wood.pad_species or given.wood.species if cut.pad else given.wood.species
    ).specific_gravity_12.value
    x = cut.corner[0]
    return (
        *drilled.frog_holes(given.frog, cut.corner),
        *drilled.casting_holes(given.casting, x, cut.top_at, gravity),
        *(drilled.tote_holes(given.tote, x, cut.top_at) if given.tote else ()),
        *((drilled.knob_hole(given.knob, cut.top_at),) if given.knob else ()),
    )
