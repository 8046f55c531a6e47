"""What the viewer is given, unpacked again and held against the solids it was made from."""

from __future__ import annotations

import json
import math
from base64 import b64decode
from functools import cache
from typing import Any

import cadquery as cq
import numpy as np
import pytest

from planestock.exports.files.edges import edge_lines
from planestock.exports.files.stamp import stamp_of
from planestock.exports.files.writer_rules import WriterFailed
from planestock.exports.pages.scene import Grid, as_json, places, scene, travel
from planestock.models.body.metal_outlines import iron_place
from planestock.models.design import Design, design
from planestock.models.solids import metal
from planestock.models.solids.kernel import box
from planestock.models.solids.meshes import mesh
from planestock.params.files import load
from tests.support.full_set import full

HALF_STEP = 0.005 + 1e-6
"""Rounding to the grid of 0.01 mm; the rest is the 32-bit numbers of the test's own arithmetic."""


@cache
def made() -> Design:
    return design(full("body.centre_strip=6", "body.pad=12"))


@cache
def drawn() -> dict[str, Any]:
    return scene(made(), stamp_of(made(), made().number_checks))


def part(name: str) -> dict[str, Any]:
    return next(entry for entry in drawn()["parts"] if entry["name"] == name)


def points(packed: str) -> np.ndarray:
    grid = drawn()["grid"]
    steps = np.frombuffer(b64decode(packed), "<i2").reshape(-1, 3).astype(float)
    return np.asarray(steps * float(grid["step"]) + np.array(grid["origin"]))


def indices(entry: dict[str, Any]) -> np.ndarray:
    return np.frombuffer(b64decode(entry["faces"]), "<u4" if entry["wide"] else "<u2").reshape(-1, 3)


def polylines(entry: dict[str, Any]) -> list[np.ndarray]:
    ends = np.cumsum(np.frombuffer(b64decode(entry["lengths"]), "<u2"))
    return np.split(points(entry["points"]), ends[:-1])


def test_every_part_is_there_with_its_mesh_to_half_a_step() -> None:
    assert [entry["name"] for entry in drawn()["parts"]] == [one.name for one in made().assembly.parts]
    for solid in made().assembly.parts:
        entry = part(solid.name)
        assert np.abs(points(entry["points"]) - solid.mesh.vertices).max() <= HALF_STEP
        assert np.array_equal(indices(entry), solid.mesh.faces)


@pytest.mark.parametrize("name", ["right half", "left half", "centre strip", "pad", "casting", "knob"])
def test_edges_run_through_the_points_of_the_mesh(name: str) -> None:
    known = {tuple(row) for row in np.round(points(part(name)["points"]), 4)}
    lines = polylines(part(name)["sharp"]) + polylines(part(name)["smooth"])
    assert lines
    assert {tuple(row) for line in lines for row in np.round(line, 4)} <= known


def test_the_left_half_has_the_right_halfs_edges_mirrored() -> None:
    left, right = (points(part(name)["sharp"]["points"]) for name in ("left half", "right half"))
    assert np.allclose(left * [1, -1, 1], right, atol=1e-9)


def test_a_box_has_twelve_sharp_edges_of_its_own_lengths() -> None:
    solid = cq.Solid.makeBox(30, 20, 10)
    mesh(solid)
    lines = edge_lines(solid)
    lengths = sorted(float(np.linalg.norm(line[-1] - line[0])) for line in lines.sharp)
    assert lengths == pytest.approx([10] * 4 + [20] * 4 + [30] * 4)
    assert lines.smooth == ()
    assert len(lines.centres) == 0


def test_a_cylinder_shows_its_two_circles_and_no_seam() -> None:
    solid = cq.Solid.makeCylinder(4, 10)
    mesh(solid)
    lines = edge_lines(solid)
    assert len(lines.sharp) == 2
    assert all(np.allclose(np.linalg.norm(line[:, :2], axis=1), 4) for line in lines.sharp)
    assert sorted(lines.centres[:, 2]) == pytest.approx([0, 10])


def test_where_a_round_begins_the_edge_is_smooth() -> None:
    solid = cq.Workplane().box(30, 20, 10).edges("|Z").fillet(3).val()
    assert isinstance(solid, cq.Shape)
    mesh(solid)
    lines = edge_lines(solid)
    assert len(lines.smooth) == 8
    assert all(np.allclose(line[0][:2], line[-1][:2]) for line in lines.smooth)


def test_the_iron_moved_along_its_travel_is_the_iron_built_there() -> None:
    at, ways = made().layout, drawn()["travel"]
    for proud in (ways["back"], 0.0, ways["out"]):
        shift = (proud - ways["drawn"]) * np.array(ways["per_mm"])
        built = box(metal.iron(made().given, at, iron_place(made().given, at, proud)))
        moved = points(part("iron")["points"]) + shift
        assert moved.min(axis=0) == pytest.approx(built.low, abs=2 * HALF_STEP)
        assert moved.max(axis=0) == pytest.approx(built.high, abs=2 * HALF_STEP)


def test_the_travel_ends_where_the_window_says_and_the_edge_stands_where_it_is_drawn() -> None:
    ways, window, thickness = travel(made()), made().settled.window, made().settled.thickness
    assert ways["out"] == pytest.approx(window.edge_low - thickness)
    assert ways["back"] == pytest.approx(window.edge_high - thickness)
    assert points(part("iron")["points"])[:, 2].min() == pytest.approx(-ways["drawn"], abs=HALF_STEP)
    assert ways["closing"] == pytest.approx(1 / math.tan(math.radians(made().given.frog.bed_angle.value)))


def test_only_iron_and_cap_iron_ride() -> None:
    assert [entry["name"] for entry in drawn()["parts"] if entry["rides"]] == ["iron", "cap iron"]


def test_apart_halves_part_evenly_and_metal_stands_above_the_wood_it_leaves() -> None:
    moves = {entry["name"]: entry["apart"] for entry in drawn()["parts"]}
    assert moves["right half"] == [0, -moves["left half"][1], 0]
    assert moves["right half"][1] > 0
    assert moves["centre strip"] == [0, 0, 0]
    assert 0 < moves["pad"][2] < moves["casting"][2] < moves["frog"][2] < moves["iron"][2] < moves["cap iron"][2]


def test_places_worth_a_cut_are_the_mid_plane_the_edge_and_every_hole() -> None:
    found = places(made())
    assert {"axis": "y", "at": 0.0, "name": "the mid-plane"} in found
    across = {entry["at"] for entry in found if entry["axis"] == "x"}
    wanted = {made().layout.edge[0], *(hole.start[0] for hole in made().layout.holes)}
    assert all(min(abs(at - want) for at in across) <= 0.05 for want in wanted)
    assert [entry["at"] for entry in found if entry["axis"] == "x"] == sorted(across)


def test_a_part_keeps_its_key_until_it_changes() -> None:
    other = design(full("body.centre_strip=6", "body.pad=12", "iron.length=175"))
    keys = {entry["name"]: entry["key"] for entry in scene(other, stamp_of(other, other.number_checks))["parts"]}
    before = {entry["name"]: entry["key"] for entry in drawn()["parts"]}
    assert keys["iron"] != before["iron"]
    assert keys["knob"] == before["knob"]
    assert keys["right half"] == before["right half"]


def test_the_same_set_gives_the_same_bytes() -> None:
    again = design(full("body.centre_strip=6", "body.pad=12"))
    assert as_json(scene(again, stamp_of(again, again.number_checks))) == as_json(drawn())


@pytest.mark.parametrize("name", ["jack", "smoother", "fore", "jointer"])
def test_a_shipped_set_travels_in_less_than_300_kb(name: str) -> None:
    shipped = design(load(name))
    text = as_json(scene(shipped, stamp_of(shipped, shipped.number_checks)))
    assert len(text.encode()) < 300_000
    assert json.loads(text)["digest"] == shipped.given.digest


def test_the_grid_reaches_no_farther_than_sixteen_bits() -> None:
    grid = Grid((0.0, 0.0, 0.0), 0.01)
    assert grid.counted(np.array([[327.67, -327.67, 0.0]])).tolist() == [[32767, -32767, 0]]


def test_a_plane_too_large_to_draw_is_refused_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planestock.exports.pages.scene.STEPS", (1e-4,))
    with pytest.raises(WriterFailed, match="nothing this large can be drawn"):
        scene(made(), stamp_of(made(), made().number_checks))
