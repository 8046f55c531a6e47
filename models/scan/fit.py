"""A scan laid on a design: the whole way from a mesh to residuals, contacts, gaps and corrected readings."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from planestock.models.design import Design
from planestock.models.scan.body_checks import require_no_body, require_no_half, require_this_body, share_found
from planestock.models.scan.body_findings import WORST, BodyFindings, body_findings
from planestock.models.scan.body_subject import body
from planestock.models.scan.cleaning import cleaned
from planestock.models.scan.coarse import Laid, laid
from planestock.models.scan.findings import (
    Deviations,
    Flatness,
    Residuals,
    contacts,
    deviations,
    flatness,
    gaps,
    residuals,
)
from planestock.models.scan.fine import Fine, refined
from planestock.models.scan.from_file import Faces
from planestock.models.scan.metal_subject import ANGLE, FOOT_LOW, FRONT, IRON_THICK, IRON_WIDTH, REAR, edge_depth, metal
from planestock.models.scan.motion import Array
from planestock.models.scan.places import Place
from planestock.models.scan.proposals import Adjuster, Proposal, at_the_bench, held_against, proposals
from planestock.models.scan.samples import SAMPLES, Samples, sampled
from planestock.models.scan.scale import Scale, Unit, likely, scale_of
from planestock.models.scan.scan_file import read
from planestock.models.scan.subjects import EDGE, Of, Subject
from planestock.models.scan.table import LeftOut, told_apart_from_table
from planestock.models.window.budgets import edges, governing, values_in
from planestock.params.problems import refuse

LEAST_SEEN = 0.3
"""Share of the design's true faces that a scan must show to be laid on it; below, it is more likely another thing."""

FROG_SEEN = 0.25
"""Share of the bed that must be seen for a scan to be taken for the whole metal when nobody says what it shows."""

WORST_MEDIAN = 0.6
"""Largest median residual, mm, under which a scan is taken to be laid right: after that, faces do not belong to one
another."""

DIVERGED = 5.0
"""Farthest that a value may be found from its reading, mm or degrees: less than what the search starts from allows."""


@dataclass(frozen=True)
class Asked:
    """What the user says. of: what the scan shows, None where that is to be found out; adjuster: where it stood, None where
    no iron is in place or nobody knows; unit, factor: as in `scale_of`; scanner_limit: limit of error of the scanner, mm;
    keep_table: whether a table in the scan is taken for a part of what it shows."""

    of: Of | None = None
    adjuster: Adjuster | None = None
    unit: Unit | None = None
    factor: float = 1.0
    scanner_limit: float = 0.05
    keep_table: bool = False


@dataclass(frozen=True, eq=False)
class Scan:
    """A scan in mm. triangles: in the file; dropped: without area; thinned: whether there were too many; scale: how mm were
    found; left_out: the table and pieces of it, in mm; vertices and faces are without them."""

    name: str
    vertices: Array
    faces: Faces
    triangles: int
    dropped: int
    thinned: bool
    scale: Scale
    left_out: tuple[LeftOut, ...] = ()

    @property
    def has_table(self) -> bool:
        """Whether the thing stood on a table that was left out."""
        return any(one.what == "table" for one in self.left_out)


@dataclass(frozen=True)
class Datum:
    """The scan's datum. corner: whether the corner D was seen; front, rear: from it to the casting's ends along the
    underside, mm, and their expanded uncertainty, None without corner or where no reading says them. up, tilt_along,
    tilt_across: how the seat plane lies against the casting as a whole laid on the design's: mm, and degrees, front end up
    and right side up positive."""

    corner: bool
    front: tuple[float, float] | None
    rear: tuple[float, float] | None
    up: float
    tilt_along: float
    tilt_across: float


@dataclass(frozen=True, eq=False)
class Fitted:
    """A scan laid on a design. told: whether `of` was said or found out; seen: share of the design's faces found; before,
    after: residuals from the set's readings and from those of the scan; proposed: every reading; length: front to rear of
    the casting, only where the corner D was not seen; edge_depth, u_edge: of the iron's edge below the seat, None where no
    iron was seen."""

    made: Design
    scan: Scan
    asked: Asked
    subject: Subject
    told: bool
    seen: float
    samples: Samples
    fine: Fine
    found: Deviations
    before: tuple[Residuals, ...]
    after: tuple[Residuals, ...]
    flat: Flatness | None
    datum: Datum | None
    contacts: tuple[Place, ...]
    gaps: tuple[Place, ...]
    proposed: tuple[Proposal, ...]
    length: tuple[float, float] | None
    edge: tuple[float, float] | None
    edge_meant: float | None
    body: BodyFindings | None

    @property
    def corrected(self) -> tuple[Proposal, ...]:
        """The readings that the scan corrects, or adds."""
        return tuple(one for one in self.proposed if one.verdict in ("corrected", "new"))

    @property
    def in_body(self) -> Array:
        """The scan's vertices (n, 3) where they lie in the design's body, mm."""
        points: Array = self.fine.motion.points(self.scan.vertices) + self.subject.origin
        return points


def read_scan(path: Path, expected: float, asked: Asked) -> Scan:
    """Return the scan in a file, in mm. expected: largest width of what it shows, mm. Raises InputProblem where it is not
    sane."""
    name = path.name
    found = read(path)
    mesh = cleaned(name, found)
    vertices, faces = mesh.vertices, mesh.faces
    left_out: tuple[LeftOut, ...] = ()
    if not asked.keep_table:
        vertices, faces, left_out = told_apart_from_table(
            vertices, faces, lambda size: likely(size, expected, asked.factor, found.unit)
        )
    scale = scale_of(name, vertices, expected, (asked.unit, asked.factor), found.unit)
    by = scale.millimetres
    left_out = tuple(one.scaled(by) for one in left_out)
    return Scan(name, vertices * by, faces, mesh.triangles, mesh.dropped, mesh.thinned, scale, left_out)


def expected_size(made: Design, of: Of | None) -> float:
    """Return the largest width of what a scan shows, mm."""
    return body(made, of).whole if of in ("old-body", "new-body") else metal(made, of or "metal").whole


def fitted(
    made: Design, scan: Scan, asked: Asked, begin: Callable[[str], None] = lambda _: None, *, count: int = SAMPLES
) -> Fitted:
    """Lay a scan on a design. begin: told the name of each step; count: points that the scan is fitted by.

    Raises InputProblem where the two do not fit at all.
    """
    begin("sampling the scan")
    samples = sampled(scan.vertices, scan.faces, count)
    begin("laying it on the design")
    if asked.of in ("old-body", "new-body"):
        require_no_half(made, scan.name, samples)
    subject, start = _laid(made, samples, asked)
    if asked.of is None:
        require_no_body(made, subject, scan.name, samples, start)
    if subject.of in ("old-body", "new-body"):
        start = replace(start, seen=share_found(subject, samples, start.motion))
    if start.seen < LEAST_SEEN:
        rule = f"shows {start.seen * 100:.0f} % of the design's faces, too little to be laid on it"
        raise refuse(scan.name, f"a mesh of {scan.triangles} triangles", rule, _unlike(scan, subject))
    if subject.of in ("old-body", "new-body"):
        require_this_body(made, scan.name, samples, start)
    begin("fitting its readings")
    fine = refined(subject, samples, start.motion, asked.scanner_limit, free=subject.free, values=subject.values)
    _require_sane(scan, subject, fine)
    begin("finding contacts and gaps")
    return _told(made, scan, asked, subject, samples, start, fine)


def _unlike(scan: Scan, subject: Subject) -> str:
    """Return what to do where a scan and what it is taken for do not belong together."""
    others = [f"--of {one}" for one in WORDS if one != subject.of]
    said = f"check that it is a scan of {WORDS[subject.of]} of this set, or say what it shows: {', '.join(others[:-1])} or "
    on_table = (
        f"; it stood on a table, which was left out, and hid the {subject.patch(subject.datum).words} if it lay on that: "
        "scan it the other way up, or say --table keep if that is no table"
    )
    return f"{said}{others[-1]}{on_table if scan.has_table else ''}"


WORDS: dict[Of, str] = {
    "metal": "the metal (casting and frog, bolted together)",
    "casting": "the casting alone",
    "old-body": "the old body",
    "new-body": "the new body",
}


def _laid(made: Design, samples: Samples, asked: Asked) -> tuple[Subject, Laid]:
    """Return what the scan shows and how it lies first."""
    if asked.of in ("old-body", "new-body"):
        subject = body(made, asked.of)
        return subject, laid(subject, samples)
    if asked.of == "casting":
        subject = metal(made, "casting")
        return subject, laid(subject, samples)
    whole = metal(made, "metal")
    start = laid(whole, samples)
    has_frog = start.seen >= LEAST_SEEN and _bed_seen(whole, samples, start) >= FROG_SEEN
    if asked.of == "metal" or has_frog:
        return _with_edge(whole, samples, start), start
    alone = metal(made, "casting")
    other = laid(alone, samples)
    return (alone, other) if other.missed < start.missed else (whole, start)


def _edge_meant(made: Design, asked: Asked) -> float | None:
    """Return how far below the seat the set has the edge with the adjuster where it stood, mm; None where that is not
    said."""
    if asked.adjuster is None:
        return None
    road = governing(made.settled.roads).road
    back, out = edges(values_in(made.given, road), road)
    return float(out if asked.adjuster == "out" else back)


def _bed_seen(subject: Subject, samples: Samples, start: Laid) -> float:
    """Return the share of the frog's part of the bed that has samples on it."""
    face = subject.faces(subject.values)["bed"]
    points, directions = start.motion.points(samples.points), start.motion.directions(samples.directions)
    near = np.abs(face.distances(points)) < subject.patch("bed").reach
    alike = np.abs(np.einsum("nd,nd->n", face.normals(points), directions)) > 0.9
    count = np.count_nonzero(near & alike & face.within(points, 0.0))
    return float(count) * samples.area / face.area


def _with_edge(subject: Subject, samples: Samples, start: Laid) -> Subject:
    """Return the subject with the iron's edge where the scan has the lowest end of an iron, if it has one."""
    bed = subject.faces(subject.values)["bed"]
    points = start.motion.points(samples.points)
    theta, thick = math.radians(subject.values[ANGLE]), subject.values[IRON_THICK]
    along = points @ np.array([math.cos(theta), 0.0, math.sin(theta)])
    out = bed.distances(points)
    below = along < subject.values[FOOT_LOW] - 2.0
    tip = along[below & (np.abs(out - thick / 2) < thick) & (np.abs(points[:, 1]) < 0.45 * subject.values[IRON_WIDTH])]
    if len(tip) < FEWEST_ON_TIP:
        return subject
    return replace(subject, values={**subject.values, EDGE: float(np.percentile(tip, 1.0))})


FEWEST_ON_TIP = 20
"""Samples below the frog's foot that make an iron."""


def _require_sane(scan: Scan, subject: Subject, fine: Fine) -> None:
    """Refuse a fit that has gone astray rather than give its numbers."""
    if not (fine.owner >= 0).any():
        rule = "no face of the design was found in it"
        raise refuse(scan.name, f"a mesh of {scan.triangles} triangles", rule, _unlike(scan, subject))
    median = float(np.median(np.abs(fine.apart[fine.owner >= 0])))
    if subject.datum not in fine.counts:
        rule = f"the {subject.patch(subject.datum).words} was not found in it, on which all else is laid"
        raise refuse(scan.name, f"a mesh of {scan.triangles} triangles", rule, _unlike(scan, subject))
    if median > WORST_MEDIAN:
        rule = "does not come to lie on the design: its faces and the design's do not belong to one another"
        raise refuse(scan.name, f"median residual {median:.2f} mm", rule, _unlike(scan, subject))


def _told(made: Design, scan: Scan, asked: Asked, subject: Subject, samples: Samples, start: Laid, fine: Fine) -> Fitted:
    found = deviations(subject, samples.points, samples.directions, fine)
    of_metal = subject.of in ("metal", "casting")
    in_body = fine.motion.points(samples.points) + subject.origin
    tolerance = max(2 * asked.scanner_limit, 4 * fine.noise)
    faces = subject.faces(subject.values)
    touching = [face for name, face in faces.items() if "iron" not in name and name != "bevel"]
    anchored = subject.anchor is not None and subject.anchor in fine.counts
    read_off = list(proposals(made.given, fine, _paths_seen(subject, fine, anchored=anchored))) if of_metal else []
    edge = _edge(fine) if anchored else None
    if edge is not None and asked.adjuster is not None:
        read_off.append(held_against(made.given, f"bench.edge_{_END[asked.adjuster]}", *at_the_bench(made.given, *edge)))
    return Fitted(
        made=made,
        scan=scan,
        asked=asked,
        subject=subject,
        told=asked.of is not None,
        seen=start.seen,
        samples=samples,
        fine=fine,
        found=found,
        before=residuals(subject, found.owner, found.apart),
        after=residuals(subject, found.owner, found.after),
        flat=flatness(subject, samples, fine, found, asked.scanner_limit),
        datum=_datum(made, samples, fine, asked, anchored=anchored) if of_metal else None,
        contacts=contacts(in_body, made.layout, tolerance, samples.area, touching, subject.origin) if of_metal else (),
        gaps=gaps(subject, in_body, found, made.layout, tolerance, samples.area) if of_metal else (),
        proposed=tuple(read_off),
        length=_length(fine) if of_metal and not anchored else None,
        edge=edge,
        edge_meant=_edge_meant(made, asked) if of_metal else None,
        body=None if of_metal else body_findings(made, subject, samples, fine, asked.scanner_limit),
    )


_END: dict[Adjuster, str] = {"out": "low", "back": "high"}


def _paths_seen(subject: Subject, fine: Fine, *, anchored: bool) -> frozenset[str]:
    """Return the paths that a face of the scan hangs on; without the bed nothing is known of places along the casting."""
    seen = {path for patch in subject.patches if patch.name in fine.counts for path in patch.paths}
    return frozenset(seen if anchored else seen - {FRONT, REAR})


def _edge(fine: Fine) -> tuple[float, float] | None:
    """Return how far the edge lies below the seat and its standard uncertainty, mm; None where no bevel and face were
    seen."""
    if "bevel" not in fine.counts or "iron front" not in fine.counts:
        return None
    theta = math.radians(fine.values[ANGLE])
    sin, cos = math.sin(theta), math.cos(theta)
    along, thick = fine.values[EDGE], fine.values[IRON_THICK]
    slopes = {EDGE: -sin, IRON_THICK: -cos, ANGLE: -math.radians(along * cos - thick * sin)}
    return edge_depth(fine.values), fine.standard_uncertainty(slopes)


def _length(fine: Fine) -> tuple[float, float] | None:
    """Return the casting's length and its expanded uncertainty; None where that is too large to tell anything."""
    if FRONT not in fine.order:
        return None
    u = 2.0 * fine.standard_uncertainty({REAR: 1.0, FRONT: -1.0})
    return (fine.values[REAR] - fine.values[FRONT], u) if u <= WORST else None


def _datum(made: Design, samples: Samples, fine: Fine, asked: Asked, *, anchored: bool) -> Datum:
    """Return how the scan's datum lies against the place where its casting as a whole lies best on the design's."""
    casting = metal(made, "casting")
    whole = refined(casting, samples, fine.motion, asked.scanner_limit, free=(), values=casting.values)
    apart = fine.motion.back.then(whole.motion)
    corner, up = apart.points(np.zeros((1, 3)))[0], apart.turn[:, 2]
    known = anchored and FRONT in fine.order
    front, rear = (
        (fine.values[path], 2.0 * fine.standard_uncertainty({path: 1.0})) if known else None for path in (FRONT, REAR)
    )
    return Datum(
        corner=anchored,
        front=front,
        rear=rear,
        up=float(corner[2]),
        tilt_along=math.degrees(math.atan2(float(up[0]), float(up[2]))),
        tilt_across=math.degrees(math.atan2(-float(up[1]), float(up[2]))),
    )
