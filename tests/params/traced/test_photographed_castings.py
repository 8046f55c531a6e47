"""Photographs of solid castings: lens, height and shadow are taken out as far as the picture shows them, and the limit that
is said holds for what is left.

The photographs are drawn by a camera of their own (tests/support/camera_support.py). The weights of the program were
chosen on seeds 1000 to 1059; those here are others.
"""

from __future__ import annotations

import contextlib
import io
import json
import math
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from planestock.exports.command_line import main
from planestock.params.traced.border import border
from planestock.params.traced.camera import taken
from planestock.params.traced.edges import sheet_sides
from planestock.params.traced.perspective import by_rectangle
from planestock.params.traced.region import largest_region
from tests.support.camera_support import Lens, camera, covered, developed, in_picture, sky
from tests.support.drawn_photographs import SHEET, Photograph, drawn
from tests.support.promises import require_promised
from tests.support.traced_support import apart, shape_in

MOST_WIDE = 3.0
"""Times the mean error that the mean limit may be: more, and it says nothing."""

MANY, FEW = range(7000, 7100), (7003, 7011)
"""Seeds of the long run, and of the ordinary one."""


def traced(photograph: Photograph, *more: str, options: list[str] | None = None) -> tuple[int, dict[str, Any]]:
    """What the command says of a photograph, and how it ends."""
    said = io.StringIO()
    with tempfile.TemporaryDirectory() as folder, contextlib.redirect_stdout(said):
        path = Path(folder) / "casting.png"
        photograph.image().save(path)
        code = main(["trace", str(path), *(options or photograph.options()), "-o", folder, "--json", *more])
    found = json.loads(said.getvalue())
    require_promised("trace --json", found)
    return code, found


def off_and_limit(photograph: Photograph) -> tuple[float, float]:
    """How far the farthest point is off, and the limit that is said; infinite where the picture is not to be used."""
    code, found = traced(photograph)
    assert code == (1 if found["doubt"] else 0)
    return apart(shape_in(found["path"]), photograph.outline), math.inf if code else found["limit"]


@pytest.mark.parametrize("seed", FEW)
def test_the_limit_holds_for_a_photograph(seed: int) -> None:
    off, limit = off_and_limit(drawn(seed))
    assert off < limit < 3.0


@pytest.mark.long
def test_the_limit_holds_for_95_of_100_photographs_and_is_no_wider_than_it_must_be() -> None:
    found = [off_and_limit(drawn(seed)) for seed in MANY]
    judged = np.array([one for one in found if math.isfinite(one[1])])
    assert sum(off < limit for off, limit in found) >= 95
    assert len(judged) >= 90
    assert judged[:, 1].mean() <= MOST_WIDE * judged[:, 0].mean()


# ---- each by itself ----------------------------------------------------------------------------------------------------


def plain(lens: Lens, thickness: float = 0.05, seed: int = 7003) -> Photograph:
    """A photograph in even light, of a casting so high, through a lens."""
    one = drawn(seed)
    seen_by = camera(one.seen_by.size, 1000, (148, 105), 330, (4, -7), 3, lens)
    scene = replace(one.scene, sheet=SHEET, thickness=thickness, light=sky())
    return replace(one, seen_by=seen_by, scene=scene, said=thickness, uneven=(0.0, 0.0, 0.0), noise=3.0)


def typed(photograph: Photograph) -> list[str]:
    return photograph.options(corners_read=0, marks_read=0)


@pytest.mark.parametrize("share", [-0.05, -0.02, 0.0, 0.03])
def test_a_lens_is_taken_out_and_what_it_did_is_said(share: float) -> None:
    corner = math.hypot(*drawn(7003).seen_by.size) / 2 / 1000
    seen = plain(Lens(share / corner**2))
    code, found = traced(seen, options=typed(seen))
    assert code == 0
    assert apart(shape_in(found["path"]), seen.outline) < 0.6
    assert found["sheet_sides_seen"] == 4
    # What a straight lens would have made of it: the outline by the sheet's four corners alone.
    corners = [seen.of_sheet(*at) for at in ((0, SHEET[1]), SHEET, (SHEET[0], 0), (0, 0))]
    casting = shapely.get_coordinates(seen.scene.casting)
    points = seen.seen_by.project(np.column_stack([casting, np.zeros(len(casting))]))
    by_corners = by_rectangle((corners[0], corners[1], corners[2], corners[3]), SHEET).millimetres(points)
    true = casting * (1, -1) + (0, SHEET[1])
    moved = float(np.hypot(*(by_corners - true).T).max())
    assert found["lens_moved"] == pytest.approx(moved, abs=0.15)


def test_the_rim_of_a_high_casting_is_brought_down_to_its_underside() -> None:
    seen = plain(Lens(), thickness=6.0)
    _, found = traced(seen, options=typed(seen))
    assert apart(shape_in(found["path"]), seen.outline) < 0.6
    # Of similar triangles: a rim h high, r from the point below the camera, is seen r h / (H - h) farther out.
    x, y, high = seen.seen_by.place
    far = np.hypot(*(shapely.get_coordinates(seen.scene.casting) - (x, y)).T).max()
    assert found["height_moved"] == pytest.approx(far * 6.0 / (high - 6.0), rel=0.15)
    untold = [one for one in typed(seen) if one not in {"--thickness", "6.0 mm"}]
    _, unsure = traced(seen, options=untold)
    assert unsure["thickness"] == pytest.approx(4.0)
    assert unsure["limit"] > found["limit"] + 0.2
    assert apart(shape_in(unsure["path"]), seen.outline) < unsure["limit"]


def test_corners_that_were_read_badly_are_put_where_the_sheets_edges_meet() -> None:
    seen = plain(Lens(-0.05))
    badly = seen.options(corners_read=4.0, marks_read=0)
    _, found = traced(seen, options=badly)
    assert apart(shape_in(found["path"]), seen.outline) < 0.6
    true = np.array([seen.of_sheet(*at) for at in ((0, SHEET[1]), SHEET, (SHEET[0], 0), (0, 0))])
    corners = [tuple(float(one) for one in part.split(",")) for part in badly[1].split()]
    shades = np.asarray(seen.image(), dtype=np.float32) / 255
    first = by_rectangle((corners[0], corners[1], corners[2], corners[3]), SHEET)  # type: ignore[arg-type]
    way = taken(seen.seen_by.size, first, corners, SHEET, sheet_sides(shades, corners))  # type: ignore[arg-type]
    assert np.hypot(*(np.array(corners) - true).T).max() > 3.0
    assert np.hypot(*(way.corners - true).T).max() < 0.5
    assert way.likely.height == pytest.approx(seen.seen_by.place[2], rel=0.15)


def test_a_photograph_that_cannot_be_judged_is_not_to_be_used() -> None:
    seen = plain(Lens())
    dim = replace(seen, scene=replace(seen.scene, bench=seen.scene.paper))
    code, found = traced(dim, options=typed(dim))
    assert (code, found["sheet_sides_seen"]) == (1, 0)
    assert found["doubt"].startswith("none of the sheet's four sides is seen")
    wrong = [one.replace("297 x 210", "210 x 297") for one in typed(seen)]
    code, found = traced(seen, options=wrong)
    assert code == 1
    assert "the order of --sides" in found["doubt"]


def test_a_photograph_with_a_plain_scale_is_as_unsure_as_lens_and_height_make_it(tmp_path: Path) -> None:
    from PIL import Image

    seen = plain(Lens(), thickness=4.0)
    image, exif = seen.image(), Image.Exif()
    exif.get_ifd(0x8769)[0x829A] = 0.01
    image.save(tmp_path / "a.jpg", exif=exif)
    image.save(tmp_path / "b.jpg")
    limits = []
    for name in ("a.jpg", "b.jpg"):
        said = io.StringIO()
        with contextlib.redirect_stdout(said):
            main(["trace", str(tmp_path / name), "--scale", "300,400 1000,400 150 mm", "-o", str(tmp_path), "--json"])
        found = json.loads(said.getvalue())
        limits.append(found["limit"])
        assert any(word in note for note in found["notes"] for word in ("a camera took it", "flat scan"))
    assert limits[0] > 2 * limits[1]


def test_the_border_of_metal_is_found_beside_a_shadow() -> None:
    disc = shapely.Point(200.3, 150.8).buffer(100, quad_segs=200)
    shade = shapely.affinity.translate(disc, 14, 6)
    size = (400, 300)
    light = 0.8 * (1 - 0.75 * covered(shade, size))
    metal = covered(disc, size)
    picture = developed(light * (1 - metal) + 0.04 * metal, uneven=(0, 0, 0), blur=0.9, noise=3, seed=1)
    shades = picture.astype(np.float32) / np.float32(255)
    found = border(shades, largest_region(shades).outline, 0.25, light=False)
    radii = np.hypot(found.outline[:, 0] - 200.3, found.outline[:, 1] - 150.8)
    assert np.abs(radii - 100).max() < 1.0
    assert found.shadow > 8


def test_the_camera_of_these_tests_sees_straight_lines_straight_without_a_lens_and_bent_with_one() -> None:
    line = shapely.LineString([(10, 20), (280, 35)])
    for lens, bowed in ((Lens(), False), (Lens(-0.05), True)):
        rows = shapely.get_coordinates(in_picture(camera((1280, 960), 1000, (148, 105), 330, (4, -7), 3, lens), line))
        start, way = rows[0], rows[-1] - rows[0]
        bow = np.abs((rows - start) @ np.array([-way[1], way[0]])) / np.hypot(*way)
        assert bool(bow.max() > 1.0) is bowed
