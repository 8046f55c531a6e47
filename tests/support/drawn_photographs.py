"""Photographs of solid castings drawn at random: view, lens, light, shadow, blur, noise, and how a person reads places."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from planestock.params.outlines.pieces import Outline, flattened
from planestock.params.outlines.polygons import rounded
from tests.support.camera_support import Camera, Lens, Light, Scene, camera, developed, lamp, radiance, sky
from tests.support.traced_support import JACK, waisted

SHEET = (297.0, 210.0)
"""A4 lying, mm, as the person says; the sheet itself is off by `SHEET_TRUE`."""

SHEET_TRUE = 0.2

SIZE = (1280, 960)
"""Of a picture, pixels: a tenth of a telephone's, so that a hundred of them are drawn in minutes."""

CORNERS_READ, MARKS_READ = 1.5, 0.6
"""Spread, pixels, of the sheet's corners (refined by the program) and of the marks as they are read off."""

STRONGEST = 0.05
"""Share by which the strongest lens moves the picture's corner."""

PHONES = (Lens(0.168, -0.717, 0.0, 0.0, 1.63), Lens(0.275, -1.236, 0.0, 0.0, 1.846))
"""Calibrations of two telephones (coefficients published with open calibration code); used in part and in full."""


@dataclass(frozen=True, eq=False)
class Photograph:
    """A photograph and what is known of it. thickness: None where the person does not say it."""

    seen_by: Camera
    scene: Scene
    outline: Outline
    place: tuple[float, float, float]
    seed: int
    said: float | None
    uneven: tuple[float, float, float] = (0.0, 0.0, 0.0)
    blur: float = 0.9
    noise: float = 5.0
    kind: str = ""

    def image(self) -> Any:
        from PIL import Image

        light = radiance(self.seen_by, self.scene)
        return Image.fromarray(developed(light, uneven=self.uneven, blur=self.blur, noise=self.noise, seed=self.seed))

    def pixel(self, x: float, y: float) -> tuple[float, float]:
        """Where a point of the casting's underside, from D, lies in the picture."""
        at = on_sheet(shapely.Point(x, y), self.place)
        return self.of_sheet(at.x, at.y)

    def of_sheet(self, x: float, y: float) -> tuple[float, float]:
        ((u, v),) = self.seen_by.project(np.array([(x, y, 0.0)]))
        return float(u), float(v)

    def options(self, *, corners_read: float = CORNERS_READ, marks_read: float = MARKS_READ) -> list[str]:
        """What a person types: places read off to whole pixels, the sides as the packet says."""
        random = np.random.default_rng(1000 + self.seed)
        wide, tall = self.scene.sheet
        ring = ((0, tall), (wide, tall), (wide, 0), (0, 0))
        corners = [self.of_sheet(*at) + random.normal(0, corners_read, 2) for at in ring]
        rear = shapely.Polygon(flattened(self.outline, 0.01)).bounds[2]
        marks = [self.pixel(*at) + random.normal(0, marks_read, 2) for at in ((0, 0), (0.9 * rear, 0))]
        corner, middle = (f"{x:.0f},{y:.0f}" for x, y in marks)
        thickness = [] if self.said is None else ["--thickness", f"{self.said:.1f} mm"]
        return [
            "--rectangle", " ".join(f"{x:.0f},{y:.0f}" for x, y in corners), "--sides", "297 x 210 mm",
            "--corner", corner, "--middle", middle, *thickness,
        ]  # fmt: skip


def on_sheet(shape: Any, place: tuple[float, float, float]) -> Any:
    """A shape that is drawn from D, turned by degrees and laid on the sheet."""
    x, y, degrees = place
    return shapely.affinity.translate(shapely.affinity.rotate(shape, degrees, origin=(0, 0)), x, y)


def drawn(seed: int, size: tuple[int, int] = SIZE) -> Photograph:
    """The photograph of a seed."""
    random = np.random.default_rng(seed)
    outline = _outline(random)
    polygon = shapely.Polygon(flattened(outline, 0.02))
    place = _place(random, polygon)
    sheet = (SHEET[0] + random.normal(0, SHEET_TRUE), SHEET[1] + random.normal(0, SHEET_TRUE))
    thickness = float(random.uniform(2, 6))
    kind, light = _light(random)
    holes = tuple(on_sheet(shapely.Point(x, y).buffer(4), place) for x, y in ((62, 14), (62, -14), (-30, 0)))
    dark = float(random.uniform(0.025, 0.06))
    scene = Scene(
        sheet, on_sheet(polygon, place), holes, thickness, light,
        paper=float(random.uniform(0.65, 0.85)), bench=float(random.uniform(0.05, 0.25)),
        top=dark, wall=dark * float(random.uniform(0.6, 1.5)),
    )  # fmt: skip
    uneven = (*random.uniform(-0.12, 0.12, 2), random.uniform(0, 0.15))
    return Photograph(
        _view(random, size), scene, outline, place, seed,
        round(thickness + random.normal(0, 0.1), 1) if random.random() < 0.7 else None,
        uneven, float(random.uniform(0.6, 1.3)), float(random.uniform(3, 9)), kind,
    )  # fmt: skip


def _outline(random: Any) -> Outline:
    which = random.integers(3)
    if which < 2:
        return (waisted(), JACK)[which]
    front, rear, f, r = random.uniform(-95, -70), random.uniform(110, 150), random.uniform(24, 33), random.uniform(20, 30)
    return rounded(((front, -f), (rear, -r), (rear, r), (front, f)), float(random.uniform(6, 18)))


def _place(random: Any, polygon: Any) -> tuple[float, float, float]:
    """Where D lies on the sheet: anywhere that leaves a hand's breadth of paper around the casting, no less than 11 mm."""
    while True:
        place = (float(random.uniform(90, 160)), float(random.uniform(60, 150)), float(random.uniform(-8, 8)))
        if shapely.box(11, 11, SHEET[0] - 11, SHEET[1] - 11).contains(on_sheet(polygon, place)):
            return place


def _light(random: Any) -> tuple[str, Light]:
    which = random.integers(3)
    if which == 0:
        return "sky", sky()
    across = 0.0 if which == 1 else float(random.uniform(10, 40))
    share = float(random.uniform(0.4, 0.75))
    azimuth, elevation = float(random.uniform(0, 360)), float(random.uniform(35, 70))
    return ("hard", "soft")[which - 1], lamp(azimuth, elevation, across, share, sky())


def _view(random: Any, size: tuple[int, int]) -> Camera:
    """A camera that sees the whole sheet: 22 to 48 mm of one with a film of 36 by 24 mm, up to 15 degrees from plumb."""
    diagonal = math.hypot(*size)
    focal = diagonal * float(random.uniform(0.5, 1.1))
    lens = _lens(random, diagonal / 2 / focal)
    aim = (SHEET[0] / 2 + float(random.uniform(-25, 25)), SHEET[1] / 2 + float(random.uniform(-20, 20)))
    lean = tuple(float(one) for one in random.uniform(-15, 15, 2))
    roll, off = float(random.uniform(-6, 6)), tuple(float(one) for one in random.normal(0, 0.004, 2) * diagonal / 2)
    height = focal * SHEET[0] / size[0]
    corners = np.array([(0, 0, 0), (SHEET[0], 0, 0), (*SHEET, 0), (0, SHEET[1], 0)], dtype=float)
    while True:
        found = camera(size, focal, aim, height, lean, roll, lens, off)  # type: ignore[arg-type]
        seen = found.project(corners)
        if (seen > 20).all() and (seen < np.array(size) - 21).all():
            return found
        height *= 1.02


def _lens(random: Any, corner: float) -> Lens:
    """A lens that moves the picture's corner by 5 % at most and nothing on the way there by more. corner: its radius."""
    while True:
        which = random.integers(3)
        part = float(random.uniform(-1, 1))
        if which == 0:
            lens = Lens(part * STRONGEST / corner**2)
        elif which == 1:
            phone = PHONES[random.integers(2)]
            part = float(random.uniform(-0.5, 1.2))
            lens = Lens(part * phone.k1, part * phone.k2, 0.0, 0.0, part * phone.k3)
        else:
            a, b, c = random.normal(0, 0.04, 3)
            lens = Lens(a / corner**2, b / corner**4, 0.0, 0.0, c / corner**6)
        p1, p2 = random.normal(0, 0.001, 2)
        if max(abs(lens.share(corner * step / 20)) for step in range(21)) <= STRONGEST:
            return Lens(lens.k1, lens.k2, float(p1), float(p2), lens.k3)
