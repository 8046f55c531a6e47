"""What `trace --json` promises: every key, in their order. Null where there is none, as in a drawing."""

from __future__ import annotations

from typing import Literal

from planestock.exports.files.promised import Number, Promised


class LimitParts(Promised):
    """What a picture's limit of error is made of, mm."""

    view: Number
    edge: Number
    fit: Number
    shadow: Number
    mirror: Number


class TraceFound(Promised):
    """What was found. Lengths in mm, angles in degrees, area in mm². path: as a set carries it, from the corner D.

    strays: from what was drawn, at most; pixel, level, holes, limit and what moved it: of a picture only; doubt: why it
    cannot be what was meant; folder, files: what was written.
    """

    source: str
    kind: Literal["outline", "profile"]
    path: str
    pieces: int
    arcs: int
    front: Number
    rear: Number
    length: Number
    low: Number
    high: Number
    across: Number
    perimeter: Number
    area: Number | None
    asymmetry: Number | None
    middle_line_off: Number | None
    middle_line_askew: Number | None
    tolerance: Number
    strays: Number
    largest_gap_closed: Number
    left_out: int
    unit: str
    pixel: Number | None
    limit: Number | None
    limit_parts: LimitParts | None
    lens_moved: Number | None
    height_moved: Number | None
    thickness: Number | None
    sheet_sides_seen: int | None
    level: Number | None
    holes: int | None
    notes: tuple[str, ...]
    doubt: str | None
    folder: str
    files: tuple[str, ...]
