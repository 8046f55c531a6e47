"""A camera and what it sees: a solid casting on a sheet of paper, with lens, light, shadow, blur and noise.

It knows nothing of how the program looks at pictures: it goes from the solid to the pixel by the pinhole and the lens of
Brown (1971) and Conrady, commonly written x' = x (1 + k1 r² + k2 r⁴ + k3 r⁶) + 2 p1 x y + p2 (r² + 2 x²), likewise y
(in normalised coordinates), adds light in linear units and encodes it at the end as sRGB (IEC 61966-2-1) does.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from scipy import ndimage

Floats = npt.NDArray[np.float64]

ROWS = 4
"""Scan lines per pixel; along a line the share of each pixel that is covered is exact."""


@dataclass(frozen=True)
class Lens:
    """Coefficients in the usual order, and their strength: the share by which the picture's corner is moved."""

    k1: float = 0.0
    k2: float = 0.0
    p1: float = 0.0
    p2: float = 0.0
    k3: float = 0.0

    def bent(self, points: Floats) -> Floats:
        """Where normalised points, shape (n, 2), come to lie behind the lens."""
        x, y = points.T
        r2 = x * x + y * y
        radial = 1 + r2 * (self.k1 + r2 * (self.k2 + r2 * self.k3))
        return np.column_stack([
            x * radial + 2 * self.p1 * x * y + self.p2 * (r2 + 2 * x * x),
            y * radial + self.p1 * (r2 + 2 * y * y) + 2 * self.p2 * x * y,
        ])  # fmt: skip

    def share(self, radius: float) -> float:
        """The share by which a point at a normalised radius is moved out (pincushion) or in (barrel, negative)."""
        r2 = radius * radius
        return r2 * (self.k1 + r2 * (self.k2 + r2 * self.k3))


@dataclass(frozen=True, eq=False)
class Camera:
    """Where a camera stands and looks: z up from the sheet, mm. focal, principal: pixels; right, down, ahead: its axes."""

    size: tuple[int, int]
    focal: float
    principal: tuple[float, float]
    place: Floats
    axes: Floats
    lens: Lens

    def project(self, points: Floats) -> Floats:
        """Where points in space, shape (n, 3), lie in the picture: x right, y down, pixel centres at whole numbers."""
        seen = (points - self.place) @ self.axes.T
        flat = self.lens.bent(seen[:, :2] / seen[:, 2:])
        found: Floats = flat * self.focal + np.asarray(self.principal)
        return found


def camera(  # noqa: PLR0913, PLR0917 - what a camera is
    size: tuple[int, int],
    focal: float,
    aim: tuple[float, float],
    height: float,
    lean: tuple[float, float],
    roll: float = 0.0,
    lens: Lens | None = None,
    off: tuple[float, float] = (0.0, 0.0),
) -> Camera:
    """A camera that looks at a point of the sheet. height: above it, mm; lean: degrees from plumb, towards x and y."""
    slope_x, slope_y = (math.tan(math.radians(one)) for one in lean)
    place = np.array([aim[0] + height * slope_x, aim[1] + height * slope_y, height])
    ahead = np.array([aim[0], aim[1], 0.0]) - place
    ahead /= np.linalg.norm(ahead)
    turn = math.radians(roll)
    down = -np.array([math.sin(turn), math.cos(turn), 0.0])
    down -= (down @ ahead) * ahead
    down /= np.linalg.norm(down)
    right = np.cross(down, ahead)
    principal = ((size[0] - 1) / 2 + off[0], (size[1] - 1) / 2 + off[1])
    return Camera(size, focal, principal, place, np.stack([right, down, ahead]), lens or Lens())


# ---- shapes into shares of pixels ---------------------------------------------------------------------------------------


def covered(shape: Any, size: tuple[int, int]) -> Floats:
    """The share of each pixel that a polygon in the picture covers, shape (rows, columns)."""
    wide, tall = size
    steps = np.zeros((tall, wide + 2))
    for part in getattr(shape, "geoms", [shape]):
        for ring in (part.exterior, *part.interiors):
            _add_ring(steps, np.asarray(ring.coords), clockwise=not ring.is_ccw, hole=ring is not part.exterior)
    x0, y0, x1, y1 = shape.bounds
    rows = slice(max(0, math.floor(y0)), max(0, math.ceil(y1) + 2))
    columns = slice(max(0, math.floor(x0)), min(wide, max(0, math.ceil(x1) + 2)))
    shares = np.zeros((tall, wide))
    shares[rows, columns] = np.clip(np.cumsum(steps[rows, columns], axis=1), 0, 1)
    return shares


def _add_ring(steps: Floats, ring: Floats, *, clockwise: bool, hole: bool) -> None:
    """Add to every scan line the steps up and down where an edge crosses it."""
    way = (1 if clockwise else -1) * (-1 if hole else 1)
    points = (ring + 0.5) * np.array([1.0, ROWS]) - np.array([0.0, 0.5])
    (x0, y0), (x1, y1) = points[:-1].T, points[1:].T
    low, high = np.ceil(np.minimum(y0, y1)).astype(int), np.ceil(np.maximum(y0, y1)).astype(int)
    count = high - low
    edge = np.repeat(np.arange(len(count)), count)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + low[edge]
    at = x0[edge] + (row - y0[edge]) / (y1 - y0)[edge] * (x1 - x0)[edge]
    sign = np.where(y1 > y0, -1.0, 1.0)[edge] * way
    keep = (row >= 0) & (row < len(steps) * ROWS)
    row, sign, at = row[keep] // ROWS, sign[keep] / ROWS, np.clip(at[keep], 0, steps.shape[1] - 2)
    column = np.floor(at).astype(int)
    np.add.at(steps, (row, column), sign * (column + 1 - at))
    np.add.at(steps, (row, column + 1), sign * (at - column))


# ---- the scene ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Light:
    """Far lamps: unit vectors towards them, shape (n, 3), and the share of the light on a level sheet each gives."""

    towards: Floats
    share: Floats


def sky(count: int = 8) -> Light:
    """An even sky: rings of lamps, each giving as much as its height above the bench lets it."""
    rings = [(math.radians(e), a) for e in (20, 45, 70) for a in np.arange(count) * math.tau / count + e]
    towards = np.array([(math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e)) for e, a in rings])
    weight = towards[:, 2] * np.hypot(towards[:, 0], towards[:, 1])
    return Light(towards, weight / weight.sum())


def lamp(azimuth: float, elevation: float, across: float, share: float, rest: Light) -> Light:
    """A lamp so many degrees across (0: a hard shadow) that gives a share of the light; the rest comes from the sky."""
    e, a = math.radians(elevation), math.radians(azimuth)
    if across == 0:
        places = [(0.0, 0.0)]
    else:
        places = [(r * math.sin(t), r * math.cos(t)) for r, n in ((0.3, 5), (0.75, 9)) for t in np.arange(n) * math.tau / n]
    half = math.radians(across) / 2
    towards = np.array([
        (math.cos(high) * math.cos(way), math.cos(high) * math.sin(way), math.sin(high))
        for high, way in ((e + half * v, a + half * u) for u, v in places)
    ])  # fmt: skip
    mine = np.full(len(towards), share / len(towards))
    return Light(np.concatenate([towards, rest.towards]), np.concatenate([mine, rest.share * (1 - share)]))


@dataclass(frozen=True, eq=False)
class Scene:
    """A casting on a sheet on a bench. casting, holes: on the sheet, mm; albedos: shares of the light that come back."""

    sheet: tuple[float, float]
    casting: Any
    holes: tuple[Any, ...]
    thickness: float
    light: Light
    paper: float = 0.8
    bench: float = 0.12
    top: float = 0.04
    wall: float = 0.035


def swept(shape: Any, other: Any) -> Any:
    """What an outline passes over on its straight way to another with the same number of points."""
    one, two = np.asarray(shape.exterior.coords), np.asarray(other.exterior.coords)
    quads = shapely.polygons(np.stack([one[:-1], one[1:], two[1:], two[:-1]], axis=1))
    return shapely.union_all([shape, other, *shapely.make_valid(quads)])


def in_picture(seen_by: Camera, shape: Any, z: float = 0.0) -> Any:
    """A shape at a height, as the camera sees it; edges longer than 2 mm are parted, since a lens bends them."""
    fine = shapely.segmentize(shape, 2.0)
    return shapely.transform(fine, lambda rows: seen_by.project(np.column_stack([rows, np.full(len(rows), z)])))


def silhouette(seen_by: Camera, scene: Scene) -> Any:
    """What the casting hides of the sheet, on the sheet: the outline from underside to top, each seen from the camera."""
    x, y, high = seen_by.place
    grown = high / (high - scene.thickness)
    raised = shapely.affinity.scale(scene.casting, grown, grown, origin=(x, y))
    return swept(scene.casting, raised)


def radiance(seen_by: Camera, scene: Scene) -> Floats:
    """Linear light that comes from each pixel, 1 from a white sheet in full light."""
    size = seen_by.size
    x, y, high = seen_by.place
    sheet = covered(in_picture(seen_by, shapely.box(0, 0, *scene.sheet)), size)
    lit = np.ones(size[::-1])
    for (tx, ty, tz), share in zip(scene.light.towards, scene.light.share, strict=True):
        far = scene.thickness / tz
        shade = swept(scene.casting, shapely.affinity.translate(scene.casting, -tx * far, -ty * far))
        lit -= share * covered(in_picture(seen_by, shade), size)
    picture = scene.bench * (1 - sheet) + scene.paper * lit * sheet
    hidden = covered(in_picture(seen_by, silhouette(seen_by, scene)), size)
    top = covered(in_picture(seen_by, scene.casting, scene.thickness), size)
    picture = picture * (1 - hidden) + scene.wall * hidden
    picture = picture * (1 - top) + scene.top * top
    grown = high / (high - scene.thickness)
    for hole in scene.holes:
        raised = shapely.affinity.scale(hole, grown, grown, origin=(x, y))
        through = covered(in_picture(seen_by, hole & raised), size)
        picture = picture * (1 - through) + scene.paper * 0.6 * through
    return picture


def developed(
    light: Floats, *, uneven: tuple[float, float, float], blur: float, noise: float, seed: int
) -> npt.NDArray[np.uint8]:
    """A picture of eight bits. uneven: light lost from the middle to the right, down and corners; noise: of 255 at white."""
    tall, wide = light.shape
    y, x = np.mgrid[-1 : 1 : tall * 1j, -1 : 1 : wide * 1j]
    shaded = light * (1 - uneven[0] * x - uneven[1] * y - uneven[2] * (x * x + y * y) / 2)
    soft = np.clip(ndimage.gaussian_filter(shaded, blur), 0, None)
    random = np.random.default_rng(seed)
    grainy = soft + random.normal(0, 1, soft.shape) * noise / 255 * np.sqrt(0.02 + soft)
    return np.round(255 * encoded(np.clip(grainy, 0, 1))).astype(np.uint8)


def encoded(light: Floats) -> Floats:
    """Shades of linear light, as sRGB encodes it."""
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055)


def ring_of(points: Sequence[tuple[float, float]]) -> Any:
    return shapely.Polygon(points)
