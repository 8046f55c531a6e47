"""Side view, mouth and plan of a design as inline SVG, drawn from the layout's numbers; all variants at one scale."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from planestock.exports.files.markup import Markup, joined, tag, text
from planestock.models.body.holes import Hole
from planestock.models.body.metal_outlines import cap_iron_outline, casting_side, iron_outline, iron_place
from planestock.models.body.side_section import front_block, rear_block
from planestock.models.design import Design
from planestock.params.outlines.pieces import Arc, Outline, Point
from planestock.params.outlines.polygons import polygon
from planestock.params.species import species

MARGIN = 6.0
"""Free room around a view, mm."""

ABOVE = 34.0
"""How much of iron and casting is shown above the wood, mm."""

MOUTH_AHEAD, MOUTH_BEHIND, MOUTH_HIGH, MOUTH_BELOW = 20.0, 26.0, 20.0, 6.0
"""What the view of the mouth shows around the edge, mm."""


@dataclass(frozen=True)
class Frame:
    """What a view shows, mm: left, width along the body; high, height upwards (or across, in the plan)."""

    left: float
    width: float
    high: float
    height: float

    @property
    def box(self) -> str:
        """The frame as a viewBox, its second axis down."""
        return f"{self.left:.2f} {-self.high:.2f} {self.width:.2f} {self.height:.2f}"


def side_frame(made: Sequence[Design]) -> Frame:
    """Return the frame that holds every design's side view."""
    high = max(one.layout.height for one in made) + ABOVE
    return Frame(-MARGIN, max(one.layout.length for one in made) + 2 * MARGIN, high, high + MARGIN)


def plan_frame(made: Sequence[Design]) -> Frame:
    """Return the frame that holds every design's plan."""
    half = max(one.layout.plan.half_width for one in made) + MARGIN
    return Frame(-MARGIN, max(one.layout.length for one in made) + 2 * MARGIN, half, 2 * half)


def mouth_frame(made: Design) -> Frame:
    """Return the frame around a design's mouth, the same size for every design."""
    return Frame(made.layout.edge[0] - MOUTH_AHEAD, MOUTH_AHEAD + MOUTH_BEHIND, MOUTH_HIGH, MOUTH_HIGH + MOUTH_BELOW)


def side_view(made: Design, frame: Frame, name: str) -> Markup:
    """Return the section on the mid-plane with iron, cap iron and casting. name: unlike any other on the page."""
    return _svg(
        frame, f"Side view, thickness {made.given.lengths(made.layout.thickness)}", *_section(made, name), class_="side"
    )


def mouth_view(made: Design, name: str) -> Markup:
    """Return the mouth from the side, enlarged, with its opening. name: unlike any other on the page."""
    at, opening = made.layout, made.given.throat.opening.value
    front, edge = at.mouth_front[0], at.edge[0]
    size = 2.2
    mark = joined(
        tag("path", d=f"M{front:.2f} 0.5V2.4M{edge:.2f} 0.5V2.4", class_="mark"),
        tag("text", text(f"{opening:.2f}"), x=(front + edge) / 2, y=4.6, font_size=size, text_anchor="middle"),
    )
    return _svg(mouth_frame(made), f"Mouth, {made.given.lengths(opening)}", *_section(made, name), mark, class_="mouth")


def plan_view(made: Design, frame: Frame) -> Markup:
    """Return the body from above: outline, throat, mouth, recess, casting and holes."""
    at = made.layout
    throat = at.throat_half_width
    pieces = [
        tag("path", d=_path(at.plan.whole_outline()), fill=_colour(made, "pad" if at.pad else "halves"), class_="wood"),
        tag("path", d=_rectangle(at.breast_top[0], at.throat[2][0], throat), class_="open"),
        tag("path", d=_rectangle(at.mouth_front[0], at.bed_foot[0], throat), class_="mouth"),
        tag("path", d=_path(at.casting), class_="metal"),
    ]
    if at.recess is not None:
        xs = [x for x, _ in at.recess]
        pieces.insert(1, tag("path", d=_rectangle(min(xs), max(xs), at.recess_half_width), class_="hidden"))
    if at.strip:
        pieces.append(tag("path", d=f"M0 {at.strip / 2:.2f}H{at.length:.2f}M0 {-at.strip / 2:.2f}H{at.length:.2f}",
                          class_="glue"))  # fmt: skip
    on_top = [hole for hole in at.holes if hole.kind not in ("dowel", "frog screw")]
    pieces += [tag("circle", cx=hole.start[0], cy=-hole.start[1], r=hole.radius, class_="hole") for hole in on_top]
    return _svg(frame, f"Plan, {made.given.lengths(2 * at.plan.half_width)} wide", *pieces, class_="plan")


def _svg(frame: Frame, title: str, *pieces: Markup, class_: str) -> Markup:
    return tag("svg", tag("title", text(title)), *pieces, viewBox=frame.box, role="img", class_=class_)


def _section(made: Design, name: str) -> Iterator[Markup]:
    given, at = made.given, made.layout
    blocks = [front_block(at), rear_block(at)]
    wood = "".join(_path(block) for block in blocks)
    yield tag("clipPath", tag("path", d=wood), id=name)
    yield tag("path", d=wood, fill=_colour(made, "halves"), class_="wood")
    bands = (("slip", 0.0, at.slip), ("pad", at.height - at.pad, at.height))
    for layer, low, high in bands:
        if high > low:
            yield tag("rect", x=0.0, y=-high, width=at.length, height=high - low, fill=_colour(made, layer),
                      clip_path=f"url(#{name})", class_="band")  # fmt: skip
    yield from (_hole(hole) for hole in at.holes)
    yield tag("path", d=wood, class_="rim")
    place = iron_place(given, at, 0.0)
    for outline in (casting_side(given, at), iron_outline(given, at, place), cap_iron_outline(given, at, place)):
        yield tag("path", d=_path(outline), class_="metal")


def _hole(hole: Hole) -> Markup:
    """Return a hole from the side: a dowel's round, any other as a groove along its axis."""
    (x, _, z), (dx, _, dz) = hole.start, hole.direction
    if hole.kind == "dowel":
        return tag("circle", cx=x, cy=-z, r=hole.radius, class_="hole")
    across = (-dz * hole.radius, dx * hole.radius)
    end = (hole.end[0], hole.end[2])
    corners = [(x + across[0], z + across[1]), (end[0] + across[0], end[1] + across[1]),
               (end[0] - across[0], end[1] - across[1]), (x - across[0], z - across[1])]  # fmt: skip
    return tag("path", d=_path(polygon(corners)), class_="hole")


def _colour(made: Design, layer: str) -> str:
    wood = made.given.wood
    own = {"pad": wood.pad_species, "slip": wood.slip_species}.get(layer)
    return species(own or wood.species).colour


def _rectangle(left: float, right: float, half: float) -> str:
    return _path(polygon([(left, -half), (right, -half), (right, half), (left, half)]))


def _path(outline: Outline) -> str:
    """Return a closed outline as a path; its second axis, up, is turned to the screen's, down."""
    drawn = [f"M{_xy(outline[0].start)}"]
    for piece in outline:
        if isinstance(piece, Arc):
            large = int(abs(piece.sweep) > math.pi)
            drawn.append(f"A{piece.radius:.2f} {piece.radius:.2f} 0 {large} {int(piece.clockwise)} {_xy(piece.end)}")
        else:
            drawn.append(f"L{_xy(piece.end)}")
    return "".join(drawn) + "Z"


def _xy(point: Point) -> str:
    return f"{point[0]:.2f} {-point[1] + 0.0:.2f}"
