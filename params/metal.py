"""Readings of the metal, which cannot be changed: iron, cap iron, adjuster, frog, casting, tote and knob.

Datum: the corner D, where the bed meets the seat plane. "Up the bed" is measured along the frog's face from D, positive away
from the sole; x on the casting is measured along its underside from D, positive towards the heel.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from planestock.params.fields import Angle, Group, Length
from planestock.params.outlines.path_text import LONGEST_TEXT
from planestock.params.reading import Reading, exactly

MOST_SCREWS = 12
"""Screws of one kind that a casting or frog could have."""


class Iron(Group):
    """The cutting iron."""

    width: Annotated[Reading, Length(20, 110, measured=True)] = Field(
        title="Iron width", description="Caliper across the iron just behind its edge."
    )
    thickness: Annotated[Reading, Length(1, 9, measured=True, tool="micrometer")] = Field(
        title="Iron thickness",
        description="At the edge, behind the bevel, no rust or paint under the jaws; a caliper's ± is written beside.",
    )
    length: Annotated[Reading, Length(50, 320, measured=True, tool="rule")] = Field(
        title="Iron length", description="From the edge to the other end, along the flat face."
    )
    bevel_angle: Annotated[Reading, Angle(15, 45, measured=True)] = Field(
        title="Bevel angle", description="Between the bevel and the flat face, as it is honed."
    )


class CapIron(Group):
    """The cap iron that stiffens the iron and breaks the shaving."""

    width: Annotated[Reading, Length(20, 110, measured=True)] = Field(
        title="Cap iron width", description="Caliper across the cap iron at its front edge."
    )
    slot_to_edge: Annotated[Reading, Length(15, 200, measured=True)] | None = Field(
        default=None,
        title="Adjuster slot to cap iron edge",
        description="From the wall of the slot that the adjuster pin pushes against to the cap iron's front edge, along "
        "the cap iron; needed together with the adjuster's readings.",
    )
    setback: Annotated[Reading, Length(0, 6, measured=True, tool="rule")] = Field(
        title="Setback",
        description="From the iron's edge back to the cap iron's front edge, as it is set for use; read through a lens.",
    )
    thickness: Annotated[Reading, Length(0.5, 8, measured=True)] = Field(
        title="Cap iron thickness", description="Of the flat part, away from the hump."
    )
    hump_height: Annotated[Reading, Length(0.5, 14, measured=True)] = Field(
        title="Hump height",
        description="From the iron's flat face to the highest point of the hump, the cap iron screwed down.",
    )
    hump_distance: Annotated[Reading, Length(2, 40, measured=True)] = Field(
        title="Hump distance",
        description="From the cap iron's front edge back to the highest point of the hump, along the iron.",
    )


ASSUMED_PLAY = (0.0, 0.5)
"""Play between pin and slot, mm, assumed where it was not measured: up to half a turn of a screw of 1 mm pitch; our own
choice."""

Play = Annotated[Reading, Length(0, 4, measured=True, tool="depth_gauge", assumed=ASSUMED_PLAY)]


class Adjuster(Group):
    """The adjuster's travel: where its pin stands at both ends, up the bed from the corner."""

    pin_low: Annotated[Reading, Length(-60, 200, measured=True, tool="depth_gauge")] = Field(
        title="Pin, low end",
        description="From the corner D up the bed to the side of the pin that pushes the cap iron, adjuster run all the way "
        "out (deepest cut); a caliper's depth rod serves.",
    )
    pin_high: Annotated[Reading, Length(-60, 220, measured=True, tool="depth_gauge")] = Field(
        title="Pin, high end", description="The same with the adjuster run all the way back (edge withdrawn)."
    )
    play: Play | None = Field(
        default=None,
        title="Adjuster play",
        description="Metal together, adjuster at rest: push the iron down the bed by hand, then draw it up; how far it goes "
        "along the bed.",
    )


BenchIron = Annotated[Reading, Length(1, 9, measured=True, tool="micrometer", same_as="iron.thickness")]
BenchSetback = Annotated[Reading, Length(0, 6, measured=True, tool="rule", same_as="cap_iron.setback")]


class Bench(Group):
    """The bench method: metal bolted together without the wood, measured from the seat plane straight down to the edge."""

    edge_low: Annotated[Reading, Length(10, 160, measured=True, tool="depth_gauge")] = Field(
        title="Edge below seat, adjuster out",
        description="From the casting's underside straight down to the edge, adjuster run all the way out: its pin "
        "pushes the iron.",
    )
    edge_high: Annotated[Reading, Length(5, 160, measured=True, tool="depth_gauge")] = Field(
        title="Edge below seat, adjuster back",
        description="From the casting's underside straight down to the edge, adjuster run all the way back: its pin "
        "pulls the iron, so that its play is in it.",
    )
    iron_thickness: BenchIron | None = Field(
        default=None,
        title="Iron thickness at the bench",
        description="Of the iron that the bench readings were taken with, where it is another one than the iron in use.",
    )
    setback: BenchSetback | None = Field(
        default=None,
        title="Setback at the bench",
        description="Of the cap iron when the bench readings were taken, where it is set otherwise in use.",
    )


class FrogScrew(Group):
    """A screw that holds the frog to the wood; one off the mid-plane stands for a pair, left and right."""

    along: Annotated[Reading, Length(-150, 60, measured=True)] = Field(
        title="Along", description="From the corner D up the bed to the middle of the hole; below D is negative."
    )
    across: Annotated[Reading, Length(0, 50, measured=True)] = Field(
        title="Across",
        description="From the frog's middle line to the middle of the hole; half the distance of a pair.",
    )
    diameter: Annotated[Reading, Length(1, 12)] = Field(
        title="Hole diameter", description="Hole to drill in the wood for this screw."
    )
    depth: Annotated[Reading, Length(3, 90)] = Field(
        title="Hole depth", description="Along the hole from the bed (or from the recess floor where there is one)."
    )
    tilt: Annotated[Reading, Angle(-40, 40, measured=True)] = Field(
        default=exactly("0", "deg"),
        title="Tilt",
        description="From square to the bed, positive when the far end of the screw leans to the sole.",
    )


class Frog(Group):
    """The frog: the metal the iron lies on. Its face and the wooden bed are one plane."""

    bed_angle: Annotated[Reading, Angle(35, 65, measured=True)] = Field(
        title="Bed angle", description="Between the frog's face and the seat plane (underside of the casting)."
    )
    width: Annotated[Reading, Length(8, 110, measured=True)] = Field(
        title="Frog width", description="Caliper across the frog's foot, where it goes into the wood."
    )
    foot_low: Annotated[Reading, Length(-150, 20, measured=True)] = Field(
        title="Foot, low end",
        description="From the corner D along the bed to the foot's lower end; below D is negative.",
    )
    foot_high: Annotated[Reading, Length(-120, 60, measured=True)] = Field(
        title="Foot, high end",
        description="From the corner D along the bed to the foot's upper end; below D is negative.",
    )
    recess_depth: Annotated[Reading, Length(0, 25)] = Field(
        title="Recess depth",
        description="Depth of the recess to cut in the bed for the foot, square to the bed; 0 for none.",
    )
    foot_thickness: Annotated[Reading, Length(0, 25, measured=True)] = Field(
        title="Foot thickness", description="From the frog's face to the back of its foot, square to the face."
    )
    screws: tuple[FrogScrew, ...] = Field(
        default=(), max_length=MOST_SCREWS, title="Frog screws", description="Each screw, or each pair of screws."
    )


class CastingScrew(Group):
    """A wood screw through the casting; one off the mid-plane stands for a pair, left and right."""

    x: Annotated[Reading, Length(-400, 500, measured=True)] = Field(
        title="Place", description="From the corner D along the casting's underside; towards the heel is positive."
    )
    y: Annotated[Reading, Length(0, 55, measured=True)] = Field(
        title="Across",
        description="From the casting's middle line to the middle of the hole; half the distance of a pair.",
    )
    gauge: int = Field(ge=4, le=16, title="Gauge", description="Wood-screw gauge number that fills the hole in the casting.")
    length: Annotated[Reading, Length(6, 80)] = Field(
        title="Length", description="Length of the screw that goes under the casting's top, head flush."
    )


class Tracing(Group):
    """How the casting's drawings are read, and how far they are to be trusted."""

    unit: Literal["file", "mm", "in"] = Field(
        default="file",
        title="Unit of the drawings",
        description="What one unit of a drawing is: as the file says (mm where it says nothing), mm or in.",
    )
    largest_gap: Annotated[Reading, Length(0, 2)] = Field(
        default=exactly("0.1"), title="Largest gap", description="Ends of lines that lie this near are joined."
    )
    tolerance: Annotated[Reading, Length(0.001, 0.5)] = Field(
        default=exactly("0.01"),
        title="Tolerance",
        description="How far the lines and arcs that are made of a drawing may stray from it.",
    )
    limit: Annotated[Reading, Length(0, 3)] = Field(
        default=exactly("0.2"),
        title="± of the drawings",
        description="How far a line of a drawing may lie from the metal; `planestock trace` says it for a photograph.",
    )
    placing: Literal["origin", "marks"] = Field(
        default="origin",
        title="Placing",
        description="Where the corner D is in a drawing: its origin, with x towards the heel; or a mark named corner, with "
        "a second named middle on the middle line (in a profile, on the seat plane) towards the heel.",
    )
    outline_marks: str | None = Field(
        default=None,
        max_length=100,
        title="Marks in the outline",
        description='The two marks as x y x y in the drawing\'s own units, such as "12.5 40 212.5 40"; left out, points on '
        "layers (DXF) or circles with ids (SVG) of those names are used.",
    )
    profile_marks: str | None = Field(
        default=None,
        max_length=100,
        title="Marks in the profile",
        description="The same in the profile's drawing.",
    )
    marks_apart: Annotated[Reading, Length(10, 1000)] | None = Field(
        default=None,
        title="Distance of the marks",
        description="Between the two marks on the metal; the drawings' scale is checked against it.",
    )


LONGEST_NAME = 300
"""Characters of the name of a drawing's file."""


class Casting(Group):
    """The casting on top: its outline, how deep it is let in, its lowered tail, its screws.

    outline, profile: path data with x from the corner D towards the heel, y across or z up from the seat plane, mm. Where
    they are given, the shape of seat, cove and tail follows from them; the readings then are what they are checked by.
    """

    front: Annotated[Reading, Length(-400, -5, measured=True)] = Field(
        title="Front end", description="From the corner D along the underside to the casting's front end; negative."
    )
    rear: Annotated[Reading, Length(10, 500, measured=True)] = Field(
        title="Rear end", description="From the corner D along the underside to the casting's rear end; positive."
    )
    front_width: Annotated[Reading, Length(15, 120, measured=True)] = Field(
        title="Front width", description="Across the casting at its front end, before the corners round off."
    )
    rear_width: Annotated[Reading, Length(15, 120, measured=True)] = Field(
        title="Rear width", description="Across the casting at its rear end, before the corners round off."
    )
    corner_radius: Annotated[Reading, Length(0, 60, measured=True, tool="radius_gauge")] = Field(
        title="Corner radius", description="Radius of the outline's corners seen from above; coins serve."
    )
    thickness: Annotated[Reading, Length(1.5, 15, measured=True)] = Field(
        title="Casting thickness", description="From the underside to the top where a screw goes through."
    )
    let_in: Annotated[Reading, Length(0, 15)] = Field(
        title="Let in", description="How deep the casting is let into the wood's top; 0 where it rests on it."
    )
    cove_radius: Annotated[Reading, Length(0, 60, measured=True, tool="radius_gauge")] = Field(
        title="Cove radius",
        description="Radius of the hollow curve that leads from the seat down to the lowered tail; coins serve.",
    )
    tail_drop: Annotated[Reading, Length(0, 40, measured=True, tool="depth_gauge")] = Field(
        title="Tail drop", description="From the seat plane down to the underside of the lowered tail; 0 for none."
    )
    tail_length: Annotated[Reading, Length(0, 300, measured=True)] = Field(
        default=exactly("0"),
        title="Tail length",
        description="Flat length of the lowered tail, from the foot of the cove to the casting's rear end.",
    )
    screws: tuple[CastingScrew, ...] = Field(
        default=(), max_length=MOST_SCREWS, title="Casting screws", description="Each screw, or each pair of screws."
    )
    outline_file: str | None = Field(
        default=None,
        min_length=1,
        max_length=LONGEST_NAME,
        title="Drawing of the outline",
        description="DXF or SVG file beside the set with the casting's outline seen from above, traced or drawn; "
        "`planestock trace` makes one from a photograph.",
        json_schema_extra={"x-drawing": "outline file"},
    )
    profile_file: str | None = Field(
        default=None,
        min_length=1,
        max_length=LONGEST_NAME,
        title="Drawing of the profile",
        description="DXF or SVG file beside the set with the underside seen from the side, front end to rear end, or with "
        "the whole side; gives cove and tail any shape.",
        json_schema_extra={"x-drawing": "profile file"},
    )
    outline: str | None = Field(
        default=None,
        min_length=1,
        max_length=LONGEST_TEXT,
        title="Traced outline",
        description="The outline itself as SVG path data of lines and arcs, mm from D; outline_file becomes this.",
        json_schema_extra={"x-drawing": "outline"},
    )
    profile: str | None = Field(
        default=None,
        min_length=1,
        max_length=LONGEST_TEXT,
        title="Traced profile",
        description="The underside itself as SVG path data of lines and arcs, mm from D; profile_file becomes this.",
        json_schema_extra={"x-drawing": "profile"},
    )
    tracing: Tracing = Field(default=Tracing(), title="Tracing", description="How drawings of the casting are read.")


class Tote(Group):
    """The handle behind the iron: its long bolt and the screw at its toe."""

    bolt_x: Annotated[Reading, Length(0, 500, measured=True)] = Field(
        title="Bolt place",
        description="From the corner D to the bolt's middle where it enters the wood; towards the heel.",
    )
    bolt_tilt: Annotated[Reading, Angle(-35, 35, measured=True)] = Field(
        title="Bolt tilt", description="From plumb, positive when the bolt's lower end leans to the heel."
    )
    bolt_diameter: Annotated[Reading, Length(2, 14)] = Field(
        title="Bolt hole diameter",
        description="Hole to drill in the wood for the bolt; for M6, ISO 273 has 6.4 (fine), 6.6 or 7 mm (coarse).",
    )
    bolt_depth: Annotated[Reading, Length(5, 120)] = Field(
        title="Bolt hole depth", description="Along the hole from the wood's top."
    )
    toe_screw_x: Annotated[Reading, Length(-50, 450, measured=True)] | None = Field(
        default=None,
        title="Toe screw place",
        description="From the corner D to the screw in the tote's toe, towards the heel; leave it out where there is none.",
    )
    toe_screw_diameter: Annotated[Reading, Length(1, 10)] = Field(
        default=exactly("3"),
        title="Toe screw hole diameter",
        description="Hole to drill in the wood for the toe screw.",
    )
    toe_screw_depth: Annotated[Reading, Length(3, 60)] = Field(
        default=exactly("15"),
        title="Toe screw hole depth",
        description="Straight down from the wood's top.",
    )


class Knob(Group):
    """The knob at the toe."""

    from_toe: Annotated[Reading, Length(5, 300)] = Field(
        title="Knob from the toe", description="From the body's toe to the middle of the knob's bolt."
    )
    bolt_diameter: Annotated[Reading, Length(2, 14)] = Field(
        title="Bolt hole diameter",
        description="Hole to drill in the wood for the knob's bolt; for M6, ISO 273 has 6.4 (fine), 6.6 or 7 mm (coarse).",
    )
    bolt_depth: Annotated[Reading, Length(5, 120)] = Field(
        title="Bolt hole depth", description="Straight down from the wood's top."
    )
