"""What `salvage --json` promises: every key, in their order. Null where there is none."""

from __future__ import annotations

from planestock.exports.files.promised import Number, Promised


class SetWanted(Promised):
    """The set of the body as it was wanted. digest: of its values, hexadecimal."""

    name: str
    digest: str


class Cut(Promised):
    """The body as it was cut, mm. limit: ± of its thickness."""

    thickness: Number
    limit: Number
    mouth: Number


class Window(Promised):
    """Thicknesses that work, mm. notes: what that rests on besides readings, in sentences."""

    min: Number
    max: Number
    notes: tuple[str, ...]


class Margins(Promised):
    """How far a body lies inside both ends of the window, mm. u_…: expanded uncertainty; sure_…: what is left of it whatever
    readings, seasons and cut do."""

    out: Number
    u_out: Number
    back: Number
    u_back: Number
    sure_out: Number
    sure_back: Number


class WeightPoints(Promised):
    """Points of a glue-up, a surface, a hole, a litre of wood, a loose piece; and what doubt, wear and mouth are weighed
    with."""

    glue_up: Number
    surface: Number
    hole: Number
    litre: Number
    loose: Number
    doubt: Number
    wear: Number
    mouth: Number


class Weights(Promised):
    """What repairs are ranked by, and where that comes from."""

    points: WeightPoints
    source: str


class Points(Promised):
    """What a repair costs, in points; the least total is recommended."""

    total: Number
    gluing: Number
    surfaces: Number
    holes: Number
    wood: Number
    loose: Number
    doubt: Number
    wear: Number
    mouth: Number


class Piece(Promised):
    """Wood or shim to be put on, mm. planed_off: what the body loses first where it goes; glue_area: mm²; volume: mm³."""

    length: Number
    width: Number
    thickness: Number
    planed_off: Number
    glue_area: Number
    volume: Number


class Moves(Promised):
    """How places move, mm. corner_…: the corner D in the wood; along_bed: frog and its screws; metal_x: casting and tote;
    edge_x: edge and bed foot."""

    corner_x: Number
    corner_z: Number
    along_bed: Number
    metal_x: Number
    edge_x: Number


class Mouth(Promised):
    """The mouth, mm and degrees. followed: where the old walls are only followed; opening: as it is to be made; pared_…: off
    the front wall; wear_…: afterwards."""

    before: Number
    followed: Number
    opening: Number
    pared_wear: Number
    pared_breast: Number
    wear_height: Number
    wear_lean: Number


class Repair(Promised):
    """One repair. reasons: why it is not sound; removed: wood cut away, mm³; surfaces, holes: to be made anew; failing:
    checks that only it fails; changes: of the set, null where no set can say it; steps: in order, in sentences."""

    name: str
    feasible: bool
    reasons: tuple[str, ...]
    points: Points | None
    thickness: Number
    piece: Piece | None
    removed: Number
    moves: Moves
    mouth: Mouth
    surfaces: tuple[str, ...]
    holes: tuple[str, ...]
    margins: Margins | None
    failing: tuple[str, ...]
    changes: tuple[str, ...] | None
    steps: tuple[str, ...]


class SalvageFound(Promised):
    """A body that was cut wrong and its repairs, sound ones first, least points first. Lengths in mm.

    target: thickness to work to; standing, why: in sentences; recommended: name of the repair, null where none is sound.
    """

    set: SetWanted
    cut: Cut
    window: Window
    target: Number
    standing: str
    margins: Margins
    recommended: str | None
    why: str
    weights: Weights
    cautions: tuple[str, ...]
    ways: tuple[Repair, ...]
