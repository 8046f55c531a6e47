"""What a scan of a body shows: its thickness along the sole, bed, mouth and sizes, and how it sits in the window."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from planestock.models.design import Design
from planestock.models.scan.body_subject import (
    ANGLE,
    BED_FOOT,
    DROP,
    LENGTH,
    LET_IN,
    MOUTH_FRONT,
    WIDTH,
)
from planestock.models.scan.findings import WIDE
from planestock.models.scan.fine import MARGIN, Fine, owned
from planestock.models.scan.motion import Array
from planestock.models.scan.robust import surface_through
from planestock.models.scan.samples import Samples
from planestock.models.scan.subjects import Subject
from planestock.models.window.readings import limit_at

STRETCH = 25.0
"""Length of sole, mm, over which its height is taken at toe, mouth and heel: several thousand points, and a dent does not
count."""

FEWEST = 30
"""Samples that a height needs."""

WORST = 1.0
"""Expanded uncertainty, mm or degrees, beyond which a size is said not to be seen."""


BED_NEAR = 0.5
"""Difference from the design's bed angle, degrees, that a body works with: over a bed some 60 mm long the iron stands off by
half a millimetre at one end, which a shaving off the bed makes good. Common practice, no published source."""

MOUTH_NEAR = 0.5
"""Difference from the design's mouth opening, mm, that a body works with: it passes shavings, finer or coarser. Common
practice, no published source."""

EDGE_NEAR = 1.0
"""Difference in the distance from toe to edge, mm, that is worth no word: nothing bears there."""


@dataclass(frozen=True)
class Size:
    """One size of the body. found, u: by the scan with its expanded uncertainty, None where it was not seen; design: as it
    should be."""

    name: str
    words: str
    unit: str
    design: float
    found: float | None
    u: float | None


Standing = Literal["works", "may work", "thickness only", "too thick", "too thin", "not seen"]
"""How a body sits in the window: inside the safe thicknesses as far as the scan tells, inside the window but for what is
allowed for, either of the two but with bed or mouth unseen or off, outside, or unknown."""


@dataclass(frozen=True)
class BodyFindings:
    """sizes: thicknesses first; standing: how the thickness at the mouth sits in the window; margin: how far inside on its
    worse side, mm, None where it was not seen; doubts: names of bed angle, mouth opening and toe to edge as far as they were
    not seen or are off."""

    sizes: tuple[Size, ...]
    standing: Standing
    margin: float | None
    doubts: tuple[str, ...] = ()

    def size(self, name: str) -> Size:
        """Return a size by name."""
        return next(one for one in self.sizes if one.name == name)


def body_findings(made: Design, subject: Subject, samples: Samples, fine: Fine, limit: float) -> BodyFindings:
    """Return what the scan shows of a body. limit: the scanner's, mm."""
    return judged(made, (*_thicknesses(made, subject, samples, fine, limit), *_sizes(made, subject, fine)))


def judged(made: Design, sizes: tuple[Size, ...]) -> BodyFindings:
    """Return how a body of these sizes stands."""
    standing, margin = _standing(made, sizes)
    doubts = _doubts(made, sizes)
    if standing in ("works", "may work") and {"bed_angle", "mouth_opening"} & {*doubts}:
        standing = "thickness only"
    return BodyFindings(sizes, standing, margin, doubts)


def _doubts(made: Design, sizes: tuple[Size, ...]) -> tuple[str, ...]:
    """Return the names of the sizes beside the thickness that were not seen or are off by more than is worth no word."""
    allowed = {
        "bed_angle": (BED_NEAR, limit_at(made.given, "frog.bed_angle")),
        "mouth_opening": (MOUTH_NEAR, 0.0),
        "toe_to_mouth": (EDGE_NEAR, 0.0),
    }
    return tuple(one.name for one in sizes if one.name in allowed and not _agrees(one, *allowed[one.name]))


def _agrees(one: Size, near: float, limit: float) -> bool:
    """Tell whether a size was seen and lies within `near` of the design's, or the two's combined uncertainty if larger."""
    if one.found is None or one.u is None:
        return False
    return abs(one.found - one.design) <= max(near, math.hypot(one.u, limit))


def _thicknesses(made: Design, subject: Subject, samples: Samples, fine: Fine, limit: float) -> list[Size]:
    """Return seat plane to sole at mouth, toe and heel; the seat's plane is carried on to where there is none."""
    at = made.layout
    points, directions = fine.motion.points(samples.points), fine.motion.directions(samples.directions)
    faces = subject.faces(fine.values)
    names = list(faces)
    owner, _ = owned(faces, points, directions, dict.fromkeys(names, WIDE), MARGIN)
    seat = points[owner == names.index("seat")] if "seat" in fine.counts else np.zeros((0, 3))
    sole = points[owner == names.index("sole")]
    mouth = fine.values[MOUTH_FRONT]
    places = (
        ("mouth", "just before the mouth", mouth - 2.0 - STRETCH, mouth - 2.0),
        ("toe", "at the toe", 5.0, 5.0 + STRETCH),
        ("heel", "at the heel", fine.values[LENGTH] - 5.0 - STRETCH, fine.values[LENGTH] - 5.0),
    )
    told = []
    for name, words, low, high in places:
        under = sole[(sole[:, 0] > low) & (sole[:, 0] < high)]
        found = _thickness(seat, under, fine.noise, limit) if min(len(seat), len(under)) >= FEWEST else None
        value, u = found if found is not None and found[1] <= WORST else (None, None)
        told.append(Size(f"thickness_{name}", f"thickness {words}", "mm", at.thickness, value, u))
    return told


def _thickness(seat: Array, under: Array, noise: float, limit: float) -> tuple[float, float]:
    """Return the distance from a stretch of sole to the seat's plane over it, and its expanded uncertainty."""
    middle = np.array([seat[:, 0].mean(), seat[:, 1].mean()])
    terms = np.column_stack((np.ones(len(seat)), seat[:, :2] - middle))
    plane = surface_through(terms, seat[:, 2])
    x, y = float(np.median(under[:, 0])), float(np.median(under[:, 1]))
    over = float(plane @ np.array([1.0, x - middle[0], y - middle[1]]))
    half = max(1.0, float(seat[:, 0].max() - seat[:, 0].min()) / 2)
    # Each of the two faces is off by the scanner's limit; the seat's tilt grows with the distance it is carried.
    u = limit / math.sqrt(3.0) * math.sqrt(1.0 + 0.5 + 0.75 * ((x - middle[0]) / half) ** 2)
    noise_part = noise * math.sqrt(8.0 / len(under))
    return over - float(np.median(under[:, 2])), 2.0 * math.hypot(u, noise_part)


def _sizes(made: Design, subject: Subject, fine: Fine) -> list[Size]:
    """Return bed angle, mouth and outer sizes."""
    given, at = made.given, made.layout
    theta = math.radians(fine.values[ANGLE])
    iron = given.iron.thickness.value
    foot_to_edge = iron / math.sin(theta)
    angle_part = math.radians(iron * math.cos(theta) / math.sin(theta) ** 2)
    iron_u = limit_at(given, "iron.thickness") / math.sqrt(3.0) / math.sin(theta)
    bed_seen, wear_seen = "bed" in fine.counts, "wear" in fine.counts
    edge_u = math.hypot(fine.standard_uncertainty({BED_FOOT: 1.0, ANGLE: angle_part}), iron_u)
    mouth_u = math.hypot(fine.standard_uncertainty({BED_FOOT: 1.0, MOUTH_FRONT: -1.0, ANGLE: angle_part}), iron_u)
    edge = fine.values[BED_FOOT] - foot_to_edge
    rows = [
        ("bed_angle", "bed angle", "deg", at.bed_angle, *_own(fine, ANGLE), bed_seen),
        ("mouth_opening", "mouth opening, with the set's iron", "mm", given.throat.opening.value,
         edge - fine.values[MOUTH_FRONT], mouth_u, bed_seen and wear_seen),
        ("toe_to_mouth", "toe to the iron's edge", "mm", at.edge[0], edge, edge_u, bed_seen and "toe" in fine.counts),
        ("length", "length", "mm", at.length, *_own(fine, LENGTH), "heel" in fine.counts and "toe" in fine.counts),
        ("width", "width", "mm", 2 * at.plan.half_width, *_own(fine, WIDTH), "left cheek" in fine.counts),
        ("let_in", "depth of the casting's seat", "mm", at.let_in, *_own(fine, LET_IN), "top" in fine.counts),
        ("tail_drop", "seat to lowered tail", "mm", subject.values[DROP], *_own(fine, DROP), "tail" in fine.counts),
    ]  # fmt: skip
    kept = [row for row in rows if row[0] != "tail_drop" or at.tail is not None]
    return [_size(*row) for row in kept if row[0] != "let_in" or at.let_in > 0]


def _own(fine: Fine, path: str) -> tuple[float, float]:
    return fine.values[path], fine.standard_uncertainty({path: 1.0}) if path in fine.order else math.inf


def _size(name: str, words: str, unit: str, design: float, found: float, u: float, seen: bool) -> Size:
    if not seen or 2 * u > WORST:
        return Size(name, words, unit, design, None, None)
    return Size(name, words, unit, design, found, 2 * u)


def _standing(made: Design, sizes: tuple[Size, ...]) -> tuple[Standing, float | None]:
    """Return how the thickness at the mouth sits in the window, and how far inside on its worse side."""
    mouth = next(one for one in sizes if one.name == "thickness_mouth")
    if mouth.found is None or mouth.u is None:
        return "not seen", None
    settled = made.settled
    above, below = settled.window.high - mouth.found, mouth.found - settled.window.low
    margin = min(above, below)
    # A body cut to the thickest safe size lies on the border; the scan's own uncertainty must not call it doubtful.
    if settled.safe_low - mouth.u <= mouth.found <= settled.safe_high + mouth.u:
        return "works", margin
    budget = settled.high if above < below else settled.low
    if margin > -math.hypot(budget.expanded, mouth.u):
        return "may work", margin
    return ("too thick" if above < below else "too thin"), margin
