"""How true an outline from a picture is: what lens and height did, what is left of them, and what the rest adds.

The casting lies on the sheet with its underside down. Seen from the camera, a rim that stands higher moves away from the
point below it: on the sides turned away from that point the upper rim is seen, on the others the underside's. Walls are
taken to stand square to the underside, so the outline that is given is that of the underside, which lies in the wood.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from planestock.params.traced.camera import Camera, Taken
from planestock.params.traced.perspective import READ_TO
from planestock.params.traced.strokes import Floats

USUAL_HEIGHT, HEIGHT_SPREAD = 4.0, 1.2
"""Height of the rim above the sheet where nobody says it, and its spread, mm: castings' flanges are 2 to 6 mm thick (common
practice, no published source)."""

SAID_SPREAD = 0.15
"""Spread of the rim's height about the thickness that was said, mm: that is read where a screw goes through."""

SURE = 0.975
"""Share of the ways in which the picture may have been taken whose farthest point lies within the limit."""

AN_EDGE = 2.0
"""How far a casting's edge may lie from where it is seen, pixels: light round its rim, blur, the shade at its foot."""

OF_SHADOW = 0.15
"""Share of a shadow's width by which the edge between metal and shadow may be misplaced (our own choice, from drawn
photographs)."""

MOST = 3.0
"""Widest limit, mm, that casting.tracing.limit takes; a picture that is worse is of no use."""

LENS_UNSEEN = 0.02
"""Share by which a telephone's lens moves things half way out, where nothing in the picture shows it."""


@dataclass(frozen=True)
class Exactness:
    """How far the outline may be off, mm: view, edge, fit, shadow and mirror, whose squares add to that of the limit.

    view: where the camera stood, its lens, the sheet, the rim's height, the scale and the marks. lens, height: by how much
    these had moved the outline and were taken out, None where they were not looked for. thickness: of the rim; said: by the
    maker. sides: of the sheet that were seen; misfit: how far they are from straight sides of the stated lengths.
    """

    view: float
    edge: float
    fit: float
    shadow: float
    mirror: float = 0.0
    lens: float | None = None
    height: float | None = None
    thickness: float | None = None
    said: bool = False
    sides: int | None = None
    misfit: float = 0.0

    @property
    def by_picture(self) -> float:
        """The limit by what the picture shows, before the outline is compared with its mirror image."""
        return math.hypot(self.view, self.edge, self.fit, self.shadow)

    @property
    def limit(self) -> float:
        """The whole limit."""
        return math.hypot(self.by_picture, self.mirror)


@dataclass(frozen=True)
class Rim:
    """How high the casting's rim stands on the sheet, and the spread of that, mm."""

    height: float
    spread: float


def rim(said: float | None) -> Rim:
    """Return how high the rim stands, by the thickness that was said."""
    return Rim(USUAL_HEIGHT, HEIGHT_SPREAD) if said is None else Rim(said, SAID_SPREAD)


def lowered(outline: Floats, camera: Camera, height: float) -> Floats:
    """Return the underside's outline, closed, mm on the sheet, from what a casting so high hides of the sheet.

    What it hides is the outline at every height up to the rim's, as seen from the camera, so the outline is what is common
    to it and to its upper end brought down.
    """
    import shapely

    if height <= 0:
        return outline
    hidden = shapely.make_valid(shapely.Polygon(outline))
    share = 1 - height / camera.height
    x, y = camera.foot
    brought = shapely.affinity.scale(hidden, share, share, origin=(float(x), float(y)))
    return np.asarray(_largest(hidden & brought).exterior.coords)


def _largest(shape: Any) -> Any:
    parts = [part for part in getattr(shape, "geoms", [shape]) if part.geom_type == "Polygon"]
    return max(parts, key=lambda part: part.area)


def height_did(outline: Floats, normals: Floats, camera: Camera, height: float) -> float:
    """Return by how much at most a rim so high had moved the outline outward, mm. outline: on the sheet."""
    return float(np.hypot(*(outline - _brought_down(outline, normals, camera, height)).T).max())


def _brought_down(outline: Floats, normals: Floats, camera: Camera, height: float) -> Floats:
    """Return points of an outline brought down where the upper rim is seen; as `lowered`, but point by point."""
    from_foot = outline - camera.foot
    turned_away = (from_foot * normals).sum(axis=1) > 0
    brought: Floats = np.where(turned_away[:, None], outline - from_foot * (height / camera.height), outline)
    return brought


def view_error(way: Taken, outline: Floats, marks: Floats | None, stands: Rim) -> float:
    """Return how far the farthest point may be off by the view, mm: the `SURE` share of the ways it may have been taken.

    outline: closed, pixels; marks: the corner's and the middle's, pixels, None where the outline is placed by itself.
    """
    thin = outline[: -1 : max(1, len(outline) // 400)]
    random = np.random.default_rng(len(way.drawn))
    likely, normals = _placed(way.likely, thin, marks, stands.height)
    worst = []
    for camera in way.drawn:
        height = max(0.0, stands.height + stands.spread * float(random.normal()))
        moved = None if marks is None else marks + random.normal(0, READ_TO / math.sqrt(3), marks.shape)
        found, _ = _placed(camera, thin, moved, height)
        worst.append(float(np.abs(((found - likely) * normals).sum(axis=1)).max()))
    return float(np.quantile(worst, SURE))


def _placed(camera: Camera, outline: Floats, marks: Floats | None, height: float) -> tuple[Floats, Floats]:
    """Return the outline from its marks, or from its own middle and long way, and its normals."""
    points = camera.millimetres(outline)
    points = _brought_down(points, normals_of(points), camera, height)
    if marks is not None:
        origin, other = camera.millimetres(marks)
        way = (other - origin) / float(np.hypot(*(other - origin)))
    else:
        origin = points.mean(axis=0)
        way = np.linalg.svd(points - origin, full_matrices=False)[2][0]
        way = way if way[0] >= 0 else -way
    turned = (points - origin) @ np.array([[way[0], -way[1]], [way[1], way[0]]])
    return turned, normals_of(turned)


def normals_of(points: Floats) -> Floats:
    """Return outward normals of a closed outline, its last point not repeated."""
    ways = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    ways = ways / np.maximum(np.hypot(*ways.T), 1e-12)[:, None]
    normals = np.column_stack([ways[:, 1], -ways[:, 0]])
    following = np.roll(points, -1, axis=0)
    around = float(np.sum(points[:, 0] * following[:, 1] - points[:, 1] * following[:, 0]))
    found: Floats = normals if around > 0 else -normals
    return found
