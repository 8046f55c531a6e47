"""Whether a scan is of a body, of this set's, and of all of it, told from how it is first laid."""

from __future__ import annotations

from typing import Any

import numpy as np

from planestock.models.design import Design
from planestock.models.scan.body_subject import body
from planestock.models.scan.coarse import AGREE, BESIDE_IT, Laid, laid
from planestock.models.scan.motion import Array, Motion
from planestock.models.scan.samples import Samples
from planestock.models.scan.subjects import Subject
from planestock.params.problems import refuse

LEAST_BODY_SEEN = 0.65
"""Share of the faces of a body that a scan must show: the long flats of any plane's body lie on one another, which alone
can make half, and one laid end for end on itself three fifths; of the right one a side or an end may be missing."""

LENGTH_NEAR = 0.03
"""Share of the design's length that a body may be longer or shorter by: a scanner's or the wood's fault is far below, the
next plane's body at least a tenth away."""

LONGER = 1.25
"""Times the metal's length beyond which what lies in line with it is no metal: a body is longer by half, a handle stands
within the casting."""

BESIDE = 5.0
"""Distance beyond the sides, sole and top of a body within which samples are still its own, mm; a bench lies farther off."""

DEEP = 60.0
"""Distance from the seat plane within which samples are in line with the metal, mm."""

NEAR_SOLE = 4.0
"""Distance from the design's sole within which samples may be a sole, mm: the next truings and a worn body included."""

SOLE_SHARE = 0.03
"""Share of samples near the sole from which a scan may be a body and is laid on one as well: a body's sole is a seventh of
its surface and more, of the metal only the edge comes there. Laying it costs as much again, so it is not done for all."""

OFF = 1.5
"""Distance from a small plane of the scan within which a point of a body counts as found, mm: a body may be a little thicker
or wider than the design's."""

OUTERMOST = 0.1
"""Per cent of samples left out at either end, for noise."""

HALF_FROM, HALF_TO = 0.3, 0.6
"""Shares of a body's width that one half has: less than a half beside a centre strip."""

ALIKE = 0.1
"""Share by which length and height of a half may differ from the body's."""

HULL_OF = 5_000
"""Samples that a box is laid around; more do not change it."""


def require_no_half(made: Design, name: str, samples: Samples) -> None:
    """Refuse a scan of one half of a body. name: of the file."""
    import trimesh

    at = made.layout
    points = samples.points[:: max(1, len(samples.points) // HULL_OF)]
    boxed: Any = trimesh.bounds.oriented_bounds
    low, middle, long = sorted(float(one) for one in boxed(points)[1])
    width = 2 * at.plan.half_width
    half = any(
        HALF_FROM * width <= wide <= HALF_TO * width and abs(high / at.height - 1) <= ALIKE
        for wide, high in ((low, middle), (middle, low))
    )
    if half and abs(long / at.length - 1) <= ALIKE:
        shown = f"{long:.0f} × {middle:.0f} × {low:.0f} mm"
        raise refuse(name, shown, "this is one half of the body", "scan the halves closed")


def share_found(subject: Subject, samples: Samples, motion: Motion) -> float:
    """Return the share of the design's points that the scan has, off its small planes by no more than `OFF`.

    Unlike the share that a scan is first laid by it does not fall with the distance between samples, which grows with the
    size of a body.
    """
    from scipy.spatial import cKDTree

    apart, nearest = cKDTree(samples.points).query(motion.back.points(subject.looked_at))
    normals = motion.directions(samples.directions[nearest])
    off = np.abs(np.einsum("nd,nd->n", normals, subject.looked_at - motion.points(samples.points[nearest])))
    agree = np.abs(np.einsum("nd,nd->n", normals, subject.facing)) > AGREE
    return float((agree & (apart < BESIDE_IT) & (off < OFF)).mean())


def require_this_body(made: Design, name: str, samples: Samples, start: Laid) -> None:
    """Refuse a scan of another body than the design's, or of too little of it. start: how it is laid on the design, seen as
    in `share_found`."""
    at = made.layout
    x, y, z = start.motion.points(samples.points).T
    own = (np.abs(y) < at.plan.half_width + BESIDE) & (z > -BESIDE) & (z < at.height + BESIDE)
    length = _span(x[own])
    if abs(length / at.length - 1) > LENGTH_NEAR:
        rule = f"the set's body is {at.length:.0f} mm long: this is another plane's body, or an end is missing"
        remedy = "check that scan and set are of the same plane, and scan both ends"
        raise refuse(name, f"{length:.0f} mm long", rule, remedy)
    if start.seen < LEAST_BODY_SEEN:
        rule = f"shows too little of the design's faces, at least {LEAST_BODY_SEEN * 100:.0f} % of a body must be seen"
        raise refuse(name, f"{start.seen * 100:.0f} %", rule, "check that it is this set's body, and scan it from all sides")


def require_no_body(made: Design, subject: Subject, name: str, samples: Samples, start: Laid) -> None:
    """Refuse a scan of a body that nobody calls one: the seat of a body is a cast of the casting and passes for it.

    subject: the metal that it is taken for; start: how it is laid on that.
    """
    x, y, z = start.motion.points(samples.points).T
    in_width = np.abs(y) < made.layout.plan.half_width
    length = _span(x[in_width & (np.abs(z) < DEEP)])
    most = LONGER * float(np.ptp(subject.looked_at[:, 0]))
    on_sole = float((in_width & (np.abs(z + made.layout.thickness) < NEAR_SOLE)).mean())
    if length <= most and on_sole < SOLE_SHARE:
        return
    as_body = laid(body(made, "new-body"), samples)
    if as_body.seen > start.seen or length > most:
        of_body, of_metal = as_body.seen * 100, start.seen * 100
        shown = f"{length:.0f} mm long, {of_body:.0f} % of the body's faces, {of_metal:.0f} % of the metal's"
        remedy = "say which: --of old-body or --of new-body; if it is metal, --of metal or --of casting"
        raise refuse(name, shown, "looks like a body and not like metal", remedy)


def _span(along: Array) -> float:
    if not len(along):
        return 0.0
    low, high = np.percentile(along, [OUTERMOST, 100.0 - OUTERMOST])
    return float(high - low)
