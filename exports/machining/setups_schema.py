"""What `cnc/setups.json` promises: every key, in their order. Null where there is none."""

from __future__ import annotations

from planestock.exports.files.promised import Number, Place, Point, Promised

Area = tuple[Number, Number, Number, Number]
"""Left, low, right and high of a rectangle in machine coordinates, mm."""


class Cutter(Promised):
    """The cutter, mm. corners: what becomes of inside corners."""

    diameter: Number
    reach: Number
    corners: str


class FromBody(Promised):
    """How a point of the body becomes one of the machine: rows of a turn, and where the machine's zero lies, mm."""

    rows: tuple[Place, Place, Place]
    origin: Place


class Block(Promised):
    """A block between two corners, mm."""

    low: Place
    high: Place


class Straight(Promised):
    """A straight piece of an outline, to a point, mm."""

    to: Point


class Arc(Promised):
    """A circular piece of an outline, to a point, mm."""

    to: Point
    centre: Point
    clockwise: bool


class Pocket(Promised):
    """What is cut away, mm. passage: the narrowest; reached: share that the cutter reaches; outline: closed rows of
    pieces."""

    title: str
    depth: Number
    through: bool
    leaning_walls: bool
    passage: Number | None
    reached: Number
    outline: tuple[tuple[Arc | Straight, ...], ...]


class Cut(Promised):
    """One cut, mm. beyond_reach: deeper than the cutter; diameter, places: of holes."""

    feature: str
    name: str
    depth: Number
    beyond_reach: Number
    diameter: Number | None
    places: tuple[Point | Place, ...]
    pockets: tuple[Pocket, ...]


class Corner(Promised):
    """What a round cutter leaves in a pocket, mm, mm² and degrees, and what becomes of it, in words."""

    pocket: str
    kind: str
    place: Point
    angle: Number | None
    area: Number
    farthest: Number
    nearest: Number
    relieved: bool
    becomes: str


class Holding(Promised):
    """Where the work may be held, mm, machine coordinates."""

    clamps: tuple[Area, ...]
    jaws_up_to: Number | None
    jaws_along: tuple[Point, ...]
    screws: tuple[Area, ...]
    tabs_at_toe_and_heel: bool


class Setup(Promised):
    """One setup of a part: its files, its zero in words, the raw block and the part in it, what is cut, and how it is
    held."""

    number: int
    position: str
    file: str
    stock_file: str
    zero: str
    from_body: FromBody
    stock: Block
    part: Block
    cuts: tuple[Cut, ...]
    corners: tuple[Corner, ...]
    holding: Holding


class HandWork(Promised):
    """What stays for the bench and why; depth and diameter in mm, lean in degrees from plumb."""

    feature: str
    name: str
    reason: str
    why: str
    depth: Number
    diameter: Number | None
    lean: Number


class Part(Promised):
    """One wooden part. mirror_of: the part that it is the mirror image of."""

    name: str
    mirror_of: str | None
    setups: tuple[Setup, ...]
    hand_work: tuple[HandWork, ...]


class Tolerance(Promised):
    """A size with its limits; iso_2768_m: the general tolerance, medium; asked_by: why it is tighter than that."""

    what: str
    nominal: Number
    unit: str
    iso_2768_m: Number | None
    minus: Number
    plus: Number
    tighter: bool
    asked_by: str


class Check(Promised):
    """A check of the cutter against the work."""

    id: str
    asked: str
    value: Number | None
    limit: Number
    unit: str
    verdict: str
    change: str


class SetupsFound(Promised):
    """The hand-over for a router. Lengths in mm, angles in degrees. failing: ids of failing checks."""

    planestock: str
    name: str
    digest: str
    failing: tuple[str, ...]
    units: str
    cautions: tuple[str, ...]
    cutter: Cutter
    parts: tuple[Part, ...]
    tolerances: tuple[Tolerance, ...]
    checks: tuple[Check, ...]
