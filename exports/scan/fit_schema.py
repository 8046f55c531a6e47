"""What `fit.json` and `fit --json` promise: every key, in their order. Null where there is none."""

from __future__ import annotations

from typing import Literal

from planestock.exports.files.promised import Number, Place, Promised


class SetFitted(Promised):
    """The set that the scan was laid on. digest: of its values, hexadecimal."""

    name: str
    digest: str


class ScanUsed(Promised):
    """The scan. triangles: in the file; used: of them; reduced: whether there were too many; unit: how mm were found."""

    file: str
    triangles: int
    used: int
    reduced: bool
    without_area: int
    mm_per_unit: Number
    unit: str


class LeftOut(Promised):
    """What of the scan is no part of the thing: the table that it stands on, or a flat piece apart from it. area: mm²;
    noise: standard deviation from its plane, mm; middle, normal: of the plane, in the scan in mm, the normal towards the
    thing."""

    what: Literal["table", "piece"]
    triangles: int
    area: Number
    noise: Number
    middle: Place
    normal: Place


class Placed(Promised):
    """How the scan lies: a point p of it, in mm, lies at turn p + shift in the body."""

    turn: tuple[Place, Place, Place]
    shift: Place


class Residuals(Promised):
    """Distances of a face's samples from the design's face, mm. bias: their median with its sign; the rest are of sizes."""

    name: str
    words: str
    count: int
    bias: Number | None
    median: Number | None
    most: Number | None
    rms: Number | None


class Datum(Promised):
    """The scan's datum. front, rear: from the corner D to the casting's ends and the expanded uncertainty, mm; up,
    tilt_along, tilt_across: how the seat plane lies against the casting, mm and degrees."""

    corner: bool
    front: tuple[Number, Number] | None
    rear: tuple[Number, Number] | None
    up: Number
    tilt_along: Number
    tilt_across: Number


class Flatness(Promised):
    """The datum face's own shape, mm; twist: degrees; u, u_twist: expanded uncertainties."""

    peak: Number
    twist: Number
    along: Number
    across: Number
    u: Number
    u_twist: Number


class Spot(Promised):
    """A place in the body. at: x, y, z, mm; amount: the worst there, mm; area: mm²."""

    where: str
    at: Place
    amount: Number
    area: Number


class Reading(Promised):
    """One reading. found, u: by the scan with its expanded uncertainty; given, u_given: the set's; error: E_n of the two;
    line: as it is pasted into a set. Null where it was not seen or the set has none."""

    path: str
    title: str
    unit: str
    found: Number | None
    u: Number | None
    given: Number | None
    u_given: Number | None
    error: Number | None
    verdict: str
    units: str
    line: str | None


class Found(Promised):
    """A length by the scan with its expanded uncertainty, mm."""

    found: Number
    u: Number


class Size(Promised):
    """One size of the body: as it should be, and by the scan with its expanded uncertainty; null where it was not seen."""

    name: str
    words: str
    unit: str
    design: Number
    found: Number | None
    u: Number | None


class Body(Promised):
    """What the scan shows of a body. margin: how far inside the window, mm; doubts: what was not seen or is off."""

    sizes: tuple[Size, ...]
    standing: str
    margin: Number | None
    doubts: tuple[str, ...]


class Ends(Promised):
    """Both ends of the window, mm."""

    min: Number
    max: Number


class SureEnds(Ends):
    """Both ends of the window with their expanded uncertainties, mm."""

    u_min: Number
    u_max: Number


class CorrectedSet(Promised):
    """The set with the scan's readings. changes: path=value; left: paths that were not taken; problem: why it cannot be
    built; …_after: null where it cannot."""

    changes: tuple[str, ...]
    left: tuple[str, ...]
    problem: str | None
    window_before: Ends
    window_after: SureEnds | None
    thickness_after: Number | None


class Band(Promised):
    """One colour, red, green and blue from 0 to 1, and the deviations it stands for, mm; null where it is open."""

    colour: tuple[Number, Number, Number]
    low: Number | None
    high: Number | None


class Colours(Promised):
    """The colour scale: what positive and negative deviations mean, and its bands."""

    positive: str
    negative: str
    bands: tuple[Band, ...]


class FitFound(Promised):
    """A scan laid on the design. Lengths in mm, angles in degrees. faces_found: share of the design's faces; noise: of the
    scan; edge_depth, edge_meant: of the iron's edge below the seat, by the scan and by the set; next: what to do."""

    planestock: str
    stamp: str
    set: SetFitted
    scan: ScanUsed
    left_out: tuple[LeftOut, ...]
    of: str
    of_stated: bool
    faces_found: Number
    noise: Number
    scanner_limit: Number
    placed: Placed
    outcome: str
    contradicted: bool
    residuals: tuple[Residuals, ...]
    residuals_after: tuple[Residuals, ...]
    datum: Datum | None
    flatness: Flatness | None
    contacts: tuple[Spot, ...]
    gaps: tuple[Spot, ...]
    readings: tuple[Reading, ...]
    casting_length: Found | None
    edge_depth: Found | None
    edge_meant: Number | None
    body: Body | None
    next: tuple[str, ...]
    corrected: CorrectedSet | None
    colours: Colours


class FitWritten(FitFound):
    """`fit --json`: the fit, the folder, and the files that were written there."""

    folder: str
    files: tuple[str, ...]
