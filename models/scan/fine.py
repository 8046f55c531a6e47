"""The fine fit: where a scan lies and what its readings are, in one robust least squares over all true faces.

Every sample is given to the nearest face whose direction it shares. Unknown are the motion (six) and the subject's free
values; residuals are the samples' signed distances from the faces, Tukey's weights throw out what belongs to no face. The
seat plane, the mid-plane between the walls and the corner D (where bed meets seat) are the origin by construction, so the
frame is the trade's datum and not a mean over the casting.

Covariance: C = A⁻¹ (s² c JᵀWJ + Σ g gᵀ + P) A⁻¹ with A = JᵀWJ + P. J: derivatives; W: weights over s², s the residual noise;
c: how many samples share a vertex of the scan; P: a prior so wide that it only shows what the scan cannot tell; g: what the
scanner's limit of error L does to each face, as a shift and two tilts, so that any point of it is off by L/√3 (rectangular).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.scan.faces import Face
from planestock.models.scan.motion import Array, Motion, kept_square, nudged
from planestock.models.scan.samples import Samples
from planestock.models.scan.subjects import Subject, Values

ALIKE = 0.8
"""Least |cosine| between a sample's direction and its face's normal: 37 degrees, room for noise and for a wrong angle."""

MARGIN = 0.7
"""How far inside a face's edges its samples must lie, mm: scanned edges are rounded."""


@dataclass(frozen=True)
class Stage:
    """How far a sample may lie from its face, and inside its edges (outside where negative), mm; whether values move, too;
    rounds at most; every: how many samples there are for each that is looked at; settled: step, mm or degrees, below which
    the stage ends; rounds shrink it several times, so the end is nearer still."""

    gate: float
    margin: float
    values: bool
    rounds: int
    every: int
    settled: float


STAGES = (
    Stage(4.0, -1.5, False, 5, 6, 1e-2),
    Stage(3.0, -1.5, True, 10, 6, 1e-2),
    Stage(1.5, -0.5, True, 8, 4, 1e-3),
    Stage(0.8, MARGIN, True, 8, 2, 1e-3),
    Stage(0.5, MARGIN, True, 8, 1, 2e-5),
)
"""Each stage throws out more. The first ones look beyond a face's edges, as values that move also move its edges."""

PRIOR = 6.0
"""Standard uncertainty of a value before the scan is looked at, mm or degrees: wider than any slip of a caliper."""

LEAST_NOISE = 0.004
"""Least standard uncertainty of a sample, mm: no scan of a real thing is better, and weights must not divide by nothing."""

TUKEY = 4.685
"""Tukey's constant: weights end at this many standard uncertainties; 95 % efficient for normal noise."""

LONGEST_STEP = 1.5
"""Longest step of a value in one round, mm or degrees."""

STEP = 1e-4
"""Difference for derivatives by values, mm or degrees."""

LEAST_ON_A_FACE = 12
"""Samples that a face needs before it is used."""

LEAST_COVERED = 0.06
"""Share of a face that its samples must cover before it is used: a few strays on a face that is not there would bend the
fit."""


@dataclass(frozen=True, eq=False)
class Fine:
    """A fit. motion: the scan's points to the subject's frame; values: by path, free ones as found; owner: (n,), number of
    the patch each sample belongs to, -1 for none; apart: (n,), its signed distance from the fitted face, mm, 0 where it has
    none.

    noise: standard deviation of the residuals; covariance: of motion (six) and free values; order: the free paths in it.
    counts: samples on each patch by name.
    """

    motion: Motion
    values: dict[str, float]
    owner: npt.NDArray[np.int64]
    apart: Array
    noise: float
    covariance: Array
    order: tuple[str, ...]
    counts: Mapping[str, int]

    def standard_uncertainty(self, slopes: Mapping[str, float]) -> float:
        """Return the standard uncertainty of Σ slope · value over free paths."""
        row = np.zeros(len(self.covariance))
        for path, slope in slopes.items():
            row[6 + self.order.index(path)] = slope
        return math.sqrt(max(0.0, float(row @ self.covariance @ row)))


def refined(
    subject: Subject, samples: Samples, start: Motion, scanner_limit: float, *, free: Sequence[str], values: Values
) -> Fine:
    """Return the fit from a first laying. free: paths that may change, empty for the motion alone; values: to begin with."""
    here = _State(subject, samples, start, dict(values), tuple(free))
    for stage in STAGES:
        for _ in range(stage.rounds):
            if here.stepped(stage) < stage.settled:
                break
    return here.finished(STAGES[-1], scanner_limit)


@dataclass(frozen=True, eq=False)
class _Rows:
    """Samples of one patch: which, their residuals, normals and places."""

    name: str
    rows: npt.NDArray[np.int64]
    apart: Array
    normals: Array
    points: Array
    face: Face


class _State:
    """A fit under way."""

    def __init__(
        self, subject: Subject, samples: Samples, motion: Motion, values: dict[str, float], free: tuple[str, ...]
    ) -> None:
        self.subject, self.samples, self.motion, self.values, self.free = subject, samples, motion, values, free
        self.before = dict(values)
        self.noise = 1.0

    def _owned(self, stage: Stage) -> list[_Rows]:
        """Give every sample to its face."""
        points = self.motion.points(self.samples.points[:: stage.every])
        directions = self.motion.directions(self.samples.directions[:: stage.every])
        faces = self.subject.faces(self.values)
        names = list(faces)
        gates = {name: min(stage.gate, self.subject.patch(name).reach) for name in names}
        owner, best = owned(faces, points, directions, gates, stage.margin)
        groups = []
        for number, name in enumerate(names):
            rows = np.flatnonzero(owner == number)
            face = faces[name]
            if len(rows) >= max(
                LEAST_ON_A_FACE / stage.every, LEAST_COVERED * face.area / (self.samples.area * stage.every)
            ):
                groups.append(_Rows(name, rows, best[rows], face.normals(points[rows]), points[rows], face))
        return groups

    def _scale(self, group: _Rows, stage: Stage) -> float:
        """Return the noise that a group's weights go by: its own while its face is still on the move, then everyone's."""
        own = 1.4826 * float(np.median(np.abs(group.apart))) if stage.margin < MARGIN else 0.0
        return max(self.noise, own)

    def _system(self, groups: list[_Rows], stage: Stage, values_too: bool) -> Iterator[tuple[_Rows, Array, Array]]:
        """Yield each group with its derivatives (n, 6 + free) and weights (n,)."""
        count = 6 + (len(self.free) if values_too else 0)
        for group in groups:
            rows = np.zeros((len(group.rows), count))
            rows[:, :3] = group.normals
            rows[:, 3:6] = np.cross(group.points, group.normals)
            if values_too:
                paths = self.subject.patch(group.name).paths
                for number, path in enumerate(self.free):
                    if path in paths:
                        rows[:, 6 + number] = self._slope(group, path)
            scaled = group.apart / (TUKEY * self._scale(group, stage))
            weight = np.where(np.abs(scaled) < 1.0, (1.0 - scaled**2) ** 2, 0.0) / self.noise**2
            yield group, rows, weight

    def _slope(self, group: _Rows, path: str) -> Array:
        place = self.subject.patch(group.name).place
        ends = [place({**self.values, path: self.values[path] + by}) for by in (STEP, -STEP)]
        if ends[0] is None or ends[1] is None:
            return np.zeros(len(group.rows))
        slope: Array = (ends[0].distances(group.points) - ends[1].distances(group.points)) / (2 * STEP)
        return slope

    def stepped(self, stage: Stage) -> float:
        """Move one round; return the largest change."""
        groups = self._owned(stage)
        if not groups:
            return 0.0
        apart = np.concatenate([group.apart for group in groups])
        self.noise = max(LEAST_NOISE, 1.4826 * float(np.median(np.abs(apart))))
        values_too = stage.values and bool(self.free)
        square, right = self._prior(values_too)
        for group, rows, weight in self._system(groups, stage, values_too):
            weighted = rows * weight[:, None]
            square += rows.T @ weighted
            right -= weighted.T @ group.apart
        step: Array = np.asarray(np.linalg.solve(square, right))
        step[6:] = np.clip(step[6:], -LONGEST_STEP, LONGEST_STEP)
        self.motion = kept_square(nudged(self.motion, step[:6]))
        for path, by in zip(self.free, step[6:], strict=False):
            self.values[path] += float(by)
        return float(np.abs(step).max())

    def _prior(self, values_too: bool) -> tuple[Array, Array]:
        count = 6 + (len(self.free) if values_too else 0)
        square, right = np.zeros((count, count)), np.zeros(count)
        square[:6, :6] = np.eye(6) * 1e-12
        if values_too:
            for number, path in enumerate(self.free, start=6):
                square[number, number] = 1.0 / PRIOR**2
                right[number] = (self.before[path] - self.values[path]) / PRIOR**2
        return square, right

    def finished(self, stage: Stage, limit: float) -> Fine:
        """Return the fit as it stands, with its covariance."""
        groups = self._owned(stage)
        apart = np.concatenate([group.apart for group in groups]) if groups else np.zeros(1)
        self.noise = max(LEAST_NOISE, 1.4826 * float(np.median(np.abs(apart))))
        covariance = self._covariance(groups, limit)
        owner = np.full(len(self.samples.points), -1, dtype=np.int64)
        signed = np.zeros(len(owner))
        numbers = {patch.name: number for number, patch in enumerate(self.subject.patches)}
        for group in groups:
            owner[group.rows] = numbers[group.name]
            signed[group.rows] = group.apart
        counts = {group.name: len(group.rows) for group in groups}
        return Fine(self.motion, dict(self.values), owner, signed, self.noise, covariance, self.free, counts)

    def _covariance(self, groups: list[_Rows], limit: float) -> Array:
        prior, _ = self._prior(values_too=True)
        square, spread = prior.copy(), np.zeros_like(prior)
        for group, rows, weight in self._system(groups, STAGES[-1], values_too=True):
            weighted = rows * weight[:, None]
            square += rows.T @ weighted
            spread += self.samples.shared * (weighted.T @ weighted) * self.noise**2
            for basis, u in scanner_errors(group.face, group.points, limit):
                moved = weighted.T @ (basis * u)
                spread += np.outer(moved, moved)
        spread[6:, 6:] += prior[6:, 6:]
        inverse = np.linalg.pinv(square, hermitian=True)
        covariance: Array = inverse @ spread @ inverse
        return covariance


def owned(
    faces: Mapping[str, Face],
    points: Array,
    directions: Array,
    gates: Mapping[str, float],
    margin: float,
    alike: float = ALIKE,
) -> tuple[npt.NDArray[np.int64], Array]:
    """Return for each point the number of the nearest face, in the order of `faces`, and its signed distance.

    -1 and 0 where no face within its gate (mm), `margin` inside its edges, shares the point's direction: |cosine| above
    `alike`.
    """
    owner = np.full(len(points), -1, dtype=np.int64)
    best = np.full(len(points), math.inf)
    for number, (name, face) in enumerate(faces.items()):
        apart = face.distances(points)
        near = np.flatnonzero((np.abs(apart) < gates[name]) & (np.abs(apart) < np.abs(best)))
        near = near[np.abs(np.einsum("nd,nd->n", face.normals(points[near]), directions[near])) > alike]
        near = near[face.within(points[near], margin)]
        owner[near], best[near] = number, apart[near]
    best[owner < 0] = 0.0
    return owner, best


def scanner_errors(face: Face, points: Array, limit: float) -> Iterator[tuple[Array, float]]:
    """Yield how a scanner's limit of error may bend one face: shapes over its points (n,) with standard uncertainties, mm.

    Half of the variance (limit/√3)² is a shift of the face, a quarter each a tilt about its two axes; a tilt that is 1 at
    the face's ends has a mean square of 1/3 over it.
    """
    variance = limit**2 / 3.0
    places = np.clip(face.places(points), -1.0, 1.0)
    yield np.ones(len(points)), math.sqrt(variance / 2)
    yield places[:, 0], math.sqrt(3 * variance / 4)
    yield places[:, 1], math.sqrt(3 * variance / 4)
