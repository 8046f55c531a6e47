"""What a fitted scan shows: how far its true faces are from the design's, how flat its datum face is, where wood and metal
meet."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.body.layout import Layout
from planestock.models.scan.faces import Face, Flat
from planestock.models.scan.fine import MARGIN, Fine, owned
from planestock.models.scan.motion import Array
from planestock.models.scan.places import Place, gathered
from planestock.models.scan.robust import surface_through
from planestock.models.scan.samples import Samples
from planestock.models.scan.subjects import Subject
from planestock.models.scan.wood_depth import depth, openings

WIDE = 2.0
"""How far a sample may lie from its fitted face to count as of it, mm: dents and warps do, ribs and tops do not."""

STRICTLY_ALIKE = 0.92
"""Least |cosine| between a sample's direction and its face's for its residual to count: edges, where directions run into one
another, are left out."""

LEAST_CONTACT = 0.1
"""Least depth in the wood that is told, mm: a shaving, and what a scraper takes off; wood gives that much."""

TOO_WIDE = 0.3
"""Gap beyond the designed one that is told, mm: three sheets of paper; a casting rocks on it."""

NEAR_METAL = 6.0
"""Contact deeper than this is not told, mm: it is the bench or another thing that was scanned along, not the metal."""


@dataclass(frozen=True)
class Residuals:
    """Distances of a face's samples from the design's face, mm. bias: their median with its sign; the rest are of sizes."""

    name: str
    words: str
    count: int
    bias: float
    median: float
    most: float
    rms: float


@dataclass(frozen=True)
class Flatness:
    """The datum face's own shape. peak: from its lowest to its highest after a smooth surface through it, mm; twist: of its
    two ends against each other, degrees, positive where the heel end's right side stands higher; along, across: hollow
    (positive) or proud along its length and its width, mm. u: expanded uncertainty of a length; u_twist: of the twist."""

    peak: float
    twist: float
    along: float
    across: float
    u: float
    u_twist: float


@dataclass(frozen=True, eq=False)
class Deviations:
    """Every sample against the design. owner: (n,) number of its patch, -1 for none; apart: (n,) mm from the design's face,
    positive outwards; after: the same from the fitted face."""

    owner: npt.NDArray[np.int64]
    apart: Array
    after: Array


def gates_of(subject: Subject) -> dict[str, float]:
    """Return how far a sample may lie from each fitted face to count as of it."""
    return {patch.name: min(WIDE, patch.reach) for patch in subject.patches}


def deviations(subject: Subject, points: Array, directions: Array, fine: Fine) -> Deviations:
    """Return how far points of the scan, (n, 3) in its own coordinates, lie from the design's faces."""
    fitted, wanted = subject.faces(fine.values), subject.faces(subject.values)
    here, facing = fine.motion.points(points), fine.motion.directions(directions)
    owner, after = owned(fitted, here, facing, gates_of(subject), MARGIN, STRICTLY_ALIKE)
    apart = np.zeros(len(points))
    numbers = {patch.name: number for number, patch in enumerate(subject.patches)}
    patch_of = np.full(len(points), -1, dtype=np.int64)
    for number, name in enumerate(fitted):
        rows = owner == number
        if name in wanted:
            apart[rows] = wanted[name].distances(here[rows])
            patch_of[rows] = numbers[name]
    return Deviations(patch_of, apart, np.where(patch_of >= 0, after, 0.0))


def residuals(subject: Subject, owner: npt.NDArray[np.int64], apart: Array) -> tuple[Residuals, ...]:
    """Return the residuals of all true faces together, then of each that was seen; pieces of one name in words are one."""
    rows = owner >= 0
    told = [_residuals("all", "all true faces", apart[rows])] if rows.any() else []
    pieces: dict[str, list[int]] = {}
    for number, patch in enumerate(subject.patches):
        pieces.setdefault(patch.words, []).append(number)
    for words, numbers in pieces.items():
        of_it = apart[np.isin(owner, numbers)]
        name = subject.patches[numbers[0]].name
        if len(of_it):
            told.append(_residuals(name if len(numbers) == 1 else name.rpartition(" ")[0], words, of_it))
    return tuple(told)


def _residuals(name: str, words: str, apart: Array) -> Residuals:
    size = np.abs(apart)
    rms = math.sqrt(float(np.mean(apart**2)))
    middle, most = float(np.median(size)), float(np.percentile(size, 95))
    return Residuals(name, words, len(apart), float(np.median(apart)), middle, most, rms)


def flatness(subject: Subject, samples: Samples, fine: Fine, found: Deviations, limit: float) -> Flatness | None:
    """Return the shape of the datum face, from a surface of second degree through its samples; None where too few were
    seen."""
    face = subject.faces(fine.values).get(subject.datum)
    number = next(number for number, patch in enumerate(subject.patches) if patch.name == subject.datum)
    rows = np.flatnonzero(found.owner == number)
    if not isinstance(face, Flat) or len(rows) < 100:
        return None
    points = fine.motion.points(samples.points[rows])
    u, v = np.clip(face.places(points), -1.0, 1.0).T
    height = -found.after[rows] if face.normal[2] < 0 else found.after[rows]
    terms = np.column_stack((np.ones(len(u)), u, v, u * u, u * v, v * v))
    shape = surface_through(terms, height)
    smooth = terms[:, 3:] @ shape[3:] - np.mean(terms[:, 3:] @ shape[3:])
    half = float(np.mean(face.half))
    expanded = 2.0 * limit * math.sqrt(2.0 / 3.0)
    hollow = -1.0 if face.normal[2] < 0 else 1.0
    return Flatness(
        peak=float(np.percentile(smooth, 99) - np.percentile(smooth, 1)),
        twist=math.degrees(math.atan(2 * float(shape[4]) * float(face.across[1]) / half)),
        along=hollow * float(shape[3]),
        across=hollow * float(shape[5]),
        u=expanded,
        u_twist=math.degrees(math.atan(expanded / half)),
    )


def contacts(
    points: Array, at: Layout, tolerance: float, area: float, near: Iterable[Face], origin: Array
) -> tuple[Place, ...]:
    """Return where the metal lies in the wood. points: (n, 3), in the body; tolerance: mm that noise may give; near: the
    subject's faces, beside which points count."""
    deep, nearest = depth(points, at)
    rows = np.flatnonzero((deep > max(LEAST_CONTACT, tolerance)) & (deep < NEAR_METAL))
    close = np.zeros(len(rows), dtype=bool)
    local = points[rows] - origin
    for face in near:
        close |= (np.abs(face.distances(local)) < NEAR_METAL / 2) & face.within(local, -NEAR_METAL / 2)
    rows = rows[close]
    words = np.array([*(opening.words for opening in openings(at)), "outside of the body"])
    return gathered(points[rows], deep[rows], words[nearest[rows]], area)


def gaps(subject: Subject, points: Array, found: Deviations, at: Layout, tolerance: float, area: float) -> tuple[Place, ...]:
    """Return where the metal lies further from the wood than the design means it to, and more than `TOO_WIDE` so.

    points: (n, 3), in the body. Only where the design's metal bears on wood, or stands beside it with the seat's gap.
    """
    wanted = subject.faces(subject.values)
    excess = np.zeros(len(points))
    names = np.full(len(points), "", dtype=object)
    for number, patch in enumerate(subject.patches):
        rows = np.flatnonzero((found.owner == number) & (found.apart < -TOO_WIDE / 2))
        if len(rows) == 0 or patch.name not in wanted:
            continue
        local = points[rows] - subject.origin
        meant = local - wanted[patch.name].normals(local) * found.apart[rows, None]
        gap, _ = depth(points[rows], at)
        gap_meant, _ = depth(meant + subject.origin, at)
        beside = gap_meant > -BESIDE_WOOD
        excess[rows] = np.where(beside, gap_meant - gap, 0.0)
        names[rows] = patch.words
    rows = np.flatnonzero(excess > max(TOO_WIDE, tolerance))
    return gathered(points[rows], excess[rows], names[rows].astype(str), area)


BESIDE_WOOD = 1.5
"""Distance from the wood within which the design's metal counts as standing beside it, mm: the seat's gap and a little."""
