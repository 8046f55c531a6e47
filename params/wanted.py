"""What is wanted: the body, its throat, the wood, the work, the shop it is made in; and what is left of the old body."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from planestock.params.fields import Angle, Group, Length, Quantity
from planestock.params.reading import LengthUnit, Reading, exactly, parse
from planestock.params.tools import TOOLS, Tool, spoken

FROM_WINDOW = "from window"
"""Thickness to be chosen as large as is safe inside the window."""


class Dowels(Group):
    """Locating dowels across the mid-plane; their places are chosen clear of every cut.

    Defaults are our own choice; two dowels at least to a joint are common practice, no published source.
    """

    count: int = Field(default=4, ge=0, le=12, title="Dowels", description="How many; 0 for none, else two or more.")
    diameter: Annotated[Reading, Length(3, 16)] = Field(
        default=exactly("8"),
        title="Dowel diameter",
        description="Of the dowel and of its hole; a hole to H12 of ISO 286 is up to 0.15 mm wider at 8 mm.",
    )
    depth: Annotated[Reading, Length(4, 40)] = Field(
        default=exactly("12"), title="Dowel depth", description="Hole depth in each half, from its mating face."
    )


def _one_word_or_reading(raw: Any) -> Any:
    """Let the words "from window" through as no reading at all."""
    return None if isinstance(raw, str) and raw.strip().lower() == FROM_WINDOW else raw


Thickness = Annotated[
    Annotated[Reading, Length(20, 120)] | None,
    BeforeValidator(_one_word_or_reading),
    WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string"}], "x-dimension": "length", "x-unit": "mm",
                    "x-minimum": 20, "x-maximum": 120, "x-measured": False, "x-words": [FROM_WINDOW]}),
]  # fmt: skip


class Body(Group):
    """The wooden body. Defaults are our own choice."""

    length: Annotated[Reading, Length(120, 900)] = Field(title="Body length", description="Toe to heel.")
    width: Annotated[Reading, Length(35, 130)] = Field(
        title="Body width", description="Across the body at the mouth, its widest place."
    )
    toe_width: Annotated[Reading, Length(20, 130)] | None = Field(
        default=None, title="Toe width", description="Across the toe; leave it out for the body's width."
    )
    heel_width: Annotated[Reading, Length(20, 130)] | None = Field(
        default=None, title="Heel width", description="Across the heel; leave it out for the body's width."
    )
    toe_to_mouth: Annotated[Reading, Length(30, 400)] = Field(
        title="Toe to edge", description="From the toe to the iron's edge where it meets the sole."
    )
    thickness: Thickness = Field(
        default=None,
        title="Thickness",
        description='Seat plane to sole, slip included; "from window" takes the largest that is safe.',
    )
    edge: Literal["round", "chamfer"] = Field(
        default="round", title="Top edge", description="How the outer top edges are broken: round or chamfer."
    )
    edge_size: Annotated[Reading, Length(0, 15)] = Field(
        default=exactly("3"),
        title="Top edge size",
        description="Radius or leg of the broken top edges; 0 leaves them sharp.",
    )
    toe_radius: Annotated[Reading, Length(0, 50)] = Field(
        default=exactly("6"),
        title="Toe corner radius",
        description="Of the toe's corners seen from above; 0 leaves them square.",
    )
    heel_radius: Annotated[Reading, Length(0, 50)] = Field(
        default=exactly("6"),
        title="Heel corner radius",
        description="Of the heel's corners seen from above; 0 leaves them square.",
    )
    centre_strip: Annotated[Reading, Length(0, 25)] = Field(
        default=exactly("0"), title="Centre strip", description="Thickness of the strip between the halves; 0 for none."
    )
    pad: Annotated[Reading, Length(0, 60)] = Field(
        default=exactly("0"), title="Pad", description="Thickness of the lamination on top; 0 for none."
    )
    slip: Annotated[Reading, Length(0, 40)] = Field(
        default=exactly("0"), title="Slip", description="Thickness of the lamination on the sole; 0 for none."
    )
    seat_gap: Annotated[Reading, Length(0, 3)] = Field(
        default=exactly("0.3"),
        title="Seat gap",
        description="Room left around the casting where it is let in, and around the frog's foot.",
    )
    heel_top: Literal["lowered", "full"] = Field(
        default="lowered",
        title="Top at the heel",
        description="Behind the cove the whole top stays lowered to the heel, or rises again behind the casting (full).",
    )
    dowels: Dowels = Field(default=Dowels(), title="Dowels", description="Locating dowels between the halves.")


class Throat(Group):
    """Mouth, wear, breast, and the room beside the iron.

    Defaults are common practice, no published source: a wear of 6 to 10 mm, 80 to 90 degrees to the sole, then opening; two
    old wooden planes had 0.5 and 1.25 mm beside the iron.
    """

    opening: Annotated[Reading, Length(0.05, 8)] = Field(
        title="Mouth opening", description="From the iron's edge to the mouth's front, along the sole."
    )
    wear_height: Annotated[Reading, Length(2, 40)] = Field(
        default=exactly("8"), title="Wear height", description="From the sole up to where the breast begins."
    )
    wear_lean: Annotated[Reading, Angle(-10, 40)] = Field(
        default=exactly("3", "deg"),
        title="Wear lean",
        description="From plumb, positive when its upper end leans to the toe.",
    )
    breast_lean: Annotated[Reading, Angle(-10, 65)] = Field(
        default=exactly("20", "deg"),
        title="Breast lean",
        description="From plumb, positive when its upper end leans to the toe.",
    )
    side_clearance: Annotated[Reading, Length(0, 6)] = Field(
        default=exactly("0.8"),
        title="Side clearance",
        description="Room beside the iron, on each side, throat and mouth.",
    )


class Climate(Group):
    """Air that the body stands in for weeks; or the wood's moisture content directly. Defaults are our own choice."""

    temperature: float = Field(default=20.0, ge=-10, le=60, title="Temperature", description="Air temperature, °C.")
    humidity: float | None = Field(default=None, ge=5, le=95, title="Relative humidity", description="Of the air, per cent.")
    moisture: float | None = Field(
        default=None,
        ge=2,
        le=25,
        title="Moisture content",
        description="Of the wood, per cent, instead of an air humidity.",
    )


class Wood(Group):
    """What the body is made of, and the seasons it must live through.

    Defaults are our own choice: a room heated in winter, a damp summer, a shop between the two.
    """

    species: str = Field(default="beech, american", title="Species", description="Of the halves.")
    strip_species: str | None = Field(
        default=None, title="Strip species", description="Of the centre strip; the body's where it is left out."
    )
    pad_species: str | None = Field(
        default=None, title="Pad species", description="Of the pad; the body's where it is left out."
    )
    slip_species: str | None = Field(
        default=None, title="Slip species", description="Of the slip; the body's where it is left out."
    )
    cut: Literal["flat", "quarter"] = Field(
        default="flat",
        title="Cut",
        description="Flat: growth rings lie level in the body. Quarter: they stand upright.",
    )
    dry: Climate = Field(default=Climate(humidity=30.0), title="Driest season", description="Air, or moisture content.")
    wet: Climate = Field(default=Climate(humidity=65.0), title="Dampest season", description="Air, or moisture content.")
    worked: Climate = Field(
        default=Climate(humidity=50.0), title="While worked", description="Air of the shop while the body is made."
    )


class Work(Group):
    """What the plane is to do, and how near the maker dares to go.

    Defaults are our own choice; a cutting tolerance of 0.2 mm lies between the fine and the medium class of ISO 2768-1:1989
    for 30 to 120 mm (0.15 and 0.3).
    """

    deepest_cut: Annotated[Reading, Length(0.05, 6)] = Field(
        default=exactly("0.5"), title="Deepest cut", description="How far the edge must come out below the sole."
    )
    withdraw: Annotated[Reading, Length(0.05, 6)] = Field(
        default=exactly("0.3"), title="Withdraw", description="How far the edge must go up above the sole."
    )
    truing_depth: Annotated[Reading, Length(0.02, 3)] = Field(
        default=exactly("0.3"), title="Truing depth", description="Wood that one truing takes off the sole."
    )
    truings: int = Field(
        default=3, ge=0, le=50, title="Truings", description="How many truings the body should live through."
    )
    cutting_tolerance: Annotated[Reading, Length(0, 2)] = Field(
        default=exactly("0.2"),
        title="Cutting tolerance",
        description="How far the cut thickness may stray from the one wanted.",
    )
    widest_mouth: Annotated[Reading, Length(0.1, 12)] = Field(
        default=exactly("3"), title="Widest mouth", description="Mouth opening that still serves the work wanted."
    )
    least_cheek: Annotated[Reading, Length(1, 30)] = Field(
        default=exactly("5"),
        title="Least cheek",
        description="Thinnest wood wanted beside the throat, frog or casting.",
    )
    least_cover: Annotated[Reading, Length(1, 30)] = Field(
        default=exactly("5"), title="Least cover", description="Thinnest wood wanted around holes and below cuts."
    )


class Printer(Group):
    """A printer for test pieces.

    Defaults are common practice, no published source: a small printer's bed, a 0.4 mm nozzle, 0.2 to 0.3 mm on each side.
    """

    x: Annotated[Reading, Length(50, 1000)] = Field(
        default=exactly("220"), title="Bed along", description="Printable length."
    )
    y: Annotated[Reading, Length(50, 1000)] = Field(
        default=exactly("220"), title="Bed across", description="Printable width."
    )
    z: Annotated[Reading, Length(50, 1000)] = Field(default=exactly("250"), title="Height", description="Printable height.")
    clearance: Annotated[Reading, Length(0, 1)] = Field(
        default=exactly("0.25"), title="Clearance", description="Room on each side between printed parts that slide."
    )
    nozzle: Annotated[Reading, Length(0.1, 2)] = Field(
        default=exactly("0.4"), title="Nozzle", description="Nozzle diameter."
    )


class Filament(Group):
    """What the printer melts, how it fills a piece, and how far out it prints without support.

    Defaults are common practice: 45 degrees is what web guides agree on; 1.24 g/cm³ for PLA has no published source here.
    """

    density: float = Field(default=1.24, ge=0.8, le=9, title="Density", description="In g/cm³, as its maker says; PLA 1.24.")
    walls: int = Field(default=3, ge=1, le=20, title="Walls", description="Lines of plastic around each piece.")
    infill: float = Field(default=15.0, ge=0, le=100, title="Infill", description="Per cent of the inside that is filled.")
    overhang: Annotated[Reading, Angle(20, 80)] = Field(
        default=exactly("45", "deg"),
        title="Overhang",
        description="From plumb, how far a face may lean out without support.",
    )


class Cutter(Group):
    """A router cutter.

    Defaults are common practice, no published source: 6 mm is a usual cutter, used to some four diameters deep.
    """

    diameter: Annotated[Reading, Length(1, 40)] = Field(
        default=exactly("6"), title="Cutter diameter", description="Of the smallest cutter used for pockets."
    )
    reach: Annotated[Reading, Length(3, 150)] = Field(
        default=exactly("25"), title="Cutter reach", description="How deep it can cut below the holder."
    )
    corners: Literal["chisel", "relieved", "relieved everywhere"] = Field(
        default="chisel",
        title="Inside corners",
        description="Left for the chisel; relieved by the cutter, never into faces metal lies on; or relieved everywhere.",
    )


class Shop(Group):
    """What the shop has. Defaults are our own choice; the widths of chisels are common ones."""

    paper: Literal["A4", "Letter", "A3", "Tabloid", "A1", "roll"] = Field(
        default="A4", title="Paper", description="Paper for full-size templates."
    )
    chisels: tuple[Annotated[Reading, Length(1, 60)], ...] = Field(
        default=(exactly("3"), exactly("6"), exactly("12"), exactly("25")),
        max_length=30,
        title="Chisels",
        description="Widths of the chisels at hand.",
    )
    bushing_diameter: Annotated[Reading, Length(2, 30)] = Field(
        default=exactly("8"),
        title="Bushing diameter",
        description="Outside diameter of the drill bushing for printed guides.",
    )
    bushing_length: Annotated[Reading, Length(4, 60)] = Field(
        default=exactly("16"), title="Bushing length", description="Of the drill bushings, from end to end."
    )
    bushing_clearance: Annotated[Reading, Length(0, 0.6)] = Field(
        default=exactly("0.1"),
        title="Bushing clearance",
        description="Room on each side of a bushing in a printed guide; 0.05 to 0.15 mm holds it by hand pressure.",
    )
    dowel_bushing_diameter: Annotated[Reading, Length(4, 40)] = Field(
        default=exactly("12"),
        title="Dowel bushing diameter",
        description="Outside diameter of the bushing that guides the dowel bit.",
    )
    printer: Printer = Field(default=Printer(), title="Printer", description="For test prints.")
    filament: Filament = Field(default=Filament(), title="Filament", description="What is printed with.")
    cutter: Cutter = Field(default=Cutter(), title="Cutter", description="For a shop with a router.")


LengthLimit = Annotated[Reading, Length(0.001, 2, same_as="instrument.length")] | None
AngleLimit = Annotated[Reading, Angle(0.01, 3, same_as="instrument.angle")] | None


def _of_tool(tool: Tool) -> Any:
    """Declare the ± of a tool; left out, `length` or `angle` holds for it."""
    metric, inches = TOOLS[tool].usual
    kind = "angles" if tool == "protractor" else "lengths"
    usual = metric if metric == inches else f"{metric} or {inches}"
    return Field(
        default=None,
        title=f"± of the {spoken(tool)}",
        description=f"Limit of error of what is read with it with no ± beside it, usually {usual}; left out, ± of {kind}.",
    )


class Instrument(Group):
    """The ± of readings that carry none of their own: that of the field's tool, else that of all lengths or angles.

    Defaults are our own choice.
    """

    length: Annotated[Reading, Length(0.001, 2)] = Field(
        default=exactly("0.1"),
        title="± of lengths",
        description="Limit of error of a measured length with no ± of its own, whose tool has none here either.",
    )
    angle: Annotated[Reading, Angle(0.01, 3)] = Field(
        default=exactly("0.3", "deg"),
        title="± of angles",
        description="Limit of error of a measured angle with no ± of its own, where the protractor has none here either.",
    )
    caliper: LengthLimit = _of_tool("caliper")
    micrometer: LengthLimit = _of_tool("micrometer")
    depth_gauge: LengthLimit = _of_tool("depth_gauge")
    rule: LengthLimit = _of_tool("rule")
    radius_gauge: LengthLimit = _of_tool("radius_gauge")
    protractor: AngleLimit = _of_tool("protractor")

    def limit_of(self, quantity: Quantity) -> Reading:
        """Return the ± of a measured quantity that is written without one: its tool's, else that of lengths or angles."""
        own: Reading | None = getattr(self, quantity.tool)
        return own or (self.angle if quantity.dimension == "angle" else self.length)


def usual_limits(units: LengthUnit) -> Instrument:
    """Return an instrument in which every tool has the ± that is usual with it, in round numbers of `units`."""
    place = 1 if units == "in" else 0
    limits = {tool: parse(each.usual[place], "angle" if tool == "protractor" else "length") for tool, each in TOOLS.items()}
    return Instrument.model_validate(limits)


IronThen = Annotated[Reading, Length(1, 9, measured=True, tool="micrometer", same_as="iron.thickness")]
SetbackThen = Annotated[Reading, Length(0, 6, measured=True, tool="rule", same_as="cap_iron.setback")]
LengthThen = Annotated[Reading, Length(120, 900, measured=True, tool="rule", same_as="body.length")]
ToeToMouthThen = Annotated[Reading, Length(30, 400, measured=True, tool="rule", same_as="body.toe_to_mouth")]


class OldBody(Group):
    """The old body as evidence; where it and the metal disagree, the metal wins."""

    thickness_toe: Annotated[Reading, Length(10, 130, measured=True)] | None = Field(
        default=None, title="Old thickness, toe", description="Seat plane to sole at the toe, with all wood that was added."
    )
    thickness_mouth: Annotated[Reading, Length(10, 130, measured=True)] | None = Field(
        default=None,
        title="Old thickness, mouth",
        description="Seat plane to sole just before the mouth, with all wood that was added.",
    )
    thickness_heel: Annotated[Reading, Length(10, 130, measured=True)] | None = Field(
        default=None,
        title="Old thickness, heel",
        description="Seat plane to sole at the heel, with all wood that was added.",
    )
    sole_patch: Annotated[Reading, Length(0, 40, measured=True)] | None = Field(
        default=None,
        title="Added below",
        description="Thickness of wood that was added under the old body, whether it holds or has come away.",
    )
    top_patch: Annotated[Reading, Length(0, 40, measured=True)] | None = Field(
        default=None,
        title="Added on top",
        description="Thickness of wood that was added between casting and old body, whether it holds or has come away.",
    )
    iron_thickness: IronThen | None = Field(
        default=None,
        title="Old iron thickness",
        description="Of the old body's own iron, where another is in use.",
    )
    setback: SetbackThen | None = Field(
        default=None, title="Old setback", description="Of its cap iron, where it is set otherwise in use."
    )
    length: LengthThen | None = Field(
        default=None, title="Old body length", description="Toe to heel, where the new body has another."
    )
    toe_to_mouth: ToeToMouthThen | None = Field(
        default=None, title="Old toe to edge", description="Toe to the iron's edge, where it is elsewhere now."
    )
