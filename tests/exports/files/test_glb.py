"""Structure after the published glTF 2.0 specification (clause numbers from memory), read by hand and by trimesh."""

from __future__ import annotations

import io
import json
import struct
from dataclasses import replace
from typing import Any

import cadquery
import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from planestock.exports.files import glb
from planestock.exports.files.shading import CREASE_ANGLE, split_vertices
from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import WriterFailed, one_line, require_sound
from planestock.models.solids.parts import Mesh
from tests.support.export_support import (
    BEECH,
    HALF_WIDTH,
    HEIGHT,
    LENGTH,
    PLAIN_WILD_NAME,
    STAMP,
    STEEL,
    STRIP,
    WILD_NAME,
    box_mesh,
    mesh_of,
    part,
    parts,
    signed_volume,
)

COMPONENTS = {5126: ("<f4", 4), 5125: ("<u4", 4)}
WIDTHS = {"VEC3": 3, "SCALAR": 1}


def chunks_of(content: bytes) -> tuple[dict[str, Any], bytes]:
    """JSON and binary chunk; the frame is checked on the way."""
    magic, version, length = struct.unpack_from("<4sII", content)
    assert (magic, version, length) == (b"glTF", 2, len(content))
    size, kind = struct.unpack_from("<I4s", content, 12)
    assert kind == b"JSON"
    assert size % 4 == 0
    text = content[20 : 20 + size]
    binary_size, binary_kind = struct.unpack_from("<I4s", content, 20 + size)
    assert binary_kind == b"BIN\0"
    assert binary_size % 4 == 0
    assert 28 + size + binary_size == len(content)
    return json.loads(text), content[28 + size :]


def values_of(document: dict[str, Any], data: bytes, number: int) -> np.ndarray:
    accessor = document["accessors"][number]
    view = document["bufferViews"][accessor["bufferView"]]
    kind, _ = COMPONENTS[accessor["componentType"]]
    width = WIDTHS[accessor["type"]]
    start = view["byteOffset"]
    values = np.frombuffer(data[start : start + view["byteLength"]], kind)
    assert len(values) == accessor["count"] * width
    return values.reshape(-1, width).astype(float)


def primitives_of(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [primitive for mesh in document["meshes"] for primitive in mesh["primitives"]]


@pytest.fixture(scope="module")
def written() -> tuple[dict[str, Any], bytes]:
    return chunks_of(glb.scene(parts(), STAMP))


def test_each_part_is_one_named_node_with_one_mesh_of_one_primitive(written: tuple[dict[str, Any], bytes]) -> None:
    document, _ = written
    assert [node["name"] for node in document["nodes"]] == [part.name for part in parts()]
    assert [node["mesh"] for node in document["nodes"]] == [0, 1, 2, 3]
    assert [len(mesh["primitives"]) for mesh in document["meshes"]] == [1, 1, 1, 1]
    assert document["scenes"] == [{"name": STAMP.name, "nodes": [0, 1, 2, 3]}]
    assert document["nodes"][3]["extras"] == {"kind": "metal", "material": "grey iron"}


def test_wood_is_solid_and_rough_and_see_through_metal_is_blended(written: tuple[dict[str, Any], bytes]) -> None:
    document, _ = written
    materials = [document["materials"][found["material"]] for found in primitives_of(document)]
    assert [material["alphaMode"] for material in materials] == ["OPAQUE", "OPAQUE", "OPAQUE", "BLEND"]
    assert [material["name"] for material in materials] == ["beech", "beech", "maple", "grey iron"]
    for material in materials[:3]:
        assert material["pbrMetallicRoughness"]["metallicFactor"] == 0
        assert material["pbrMetallicRoughness"]["roughnessFactor"] >= 0.7
    metal = materials[3]["pbrMetallicRoughness"]
    assert 0 < metal["metallicFactor"] <= 0.5
    assert metal["baseColorFactor"][3] == STEEL[3]


def test_colours_are_stored_as_linear_light(written: tuple[dict[str, Any], bytes]) -> None:
    # IEC 61966-2-1 (from memory): the two branches meet at 0.04045; mid grey 0.5 is 0.214041 linear.
    assert glb.linear(0.0) == 0
    assert glb.linear(1.0) == 1
    assert glb.linear(0.5) == pytest.approx(0.214041, abs=1e-6)
    assert glb.linear(0.04045) == pytest.approx(0.0031308, abs=1e-6)
    document, _ = written
    factor = document["materials"][0]["pbrMetallicRoughness"]["baseColorFactor"]
    assert factor == [glb.linear(BEECH[0]), glb.linear(BEECH[1]), glb.linear(BEECH[2]), 1.0]


def test_equal_materials_are_shared_and_none_is_unused(written: tuple[dict[str, Any], bytes]) -> None:
    document, _ = written
    used = [found["material"] for found in primitives_of(document)]
    assert used == [0, 0, 1, 2]
    assert len(document["materials"]) == 3


def test_every_view_and_accessor_is_used_once_aligned_and_inside_the_buffer(
    written: tuple[dict[str, Any], bytes],
) -> None:
    document, data = written
    used = [
        number
        for found in primitives_of(document)
        for number in (found["attributes"]["POSITION"], found["attributes"]["NORMAL"], found["indices"])
    ]
    assert sorted(used) == list(range(len(document["accessors"])))
    assert [accessor["bufferView"] for accessor in document["accessors"]] == list(range(len(used)))
    assert document["buffers"] == [{"byteLength": len(data)}]
    end = 0
    for view in document["bufferViews"]:
        assert view["byteOffset"] == end
        assert view["byteOffset"] % 4 == 0
        end += view["byteLength"]
    assert end == len(data)


def test_bounds_of_every_accessor_are_those_of_its_values(written: tuple[dict[str, Any], bytes]) -> None:
    document, data = written
    for number, accessor in enumerate(document["accessors"]):
        values = values_of(document, data, number)
        assert np.isfinite(values).all()
        np.testing.assert_array_equal(accessor["min"], values.min(axis=0))
        np.testing.assert_array_equal(accessor["max"], values.max(axis=0))


def test_indices_reach_exactly_the_vertices_there_are(written: tuple[dict[str, Any], bytes]) -> None:
    document, data = written
    for found in primitives_of(document):
        points = values_of(document, data, found["attributes"]["POSITION"])
        normals = values_of(document, data, found["attributes"]["NORMAL"])
        indices = values_of(document, data, found["indices"]).ravel().astype(int)
        assert found["mode"] == 4
        assert len(indices) % 3 == 0
        assert set(indices) == set(range(len(points)))
        assert len(normals) == len(points)
        np.testing.assert_allclose(np.linalg.norm(normals, axis=1), 1, atol=1e-6)


def test_positions_are_metres_with_y_up(written: tuple[dict[str, Any], bytes]) -> None:
    document, _ = written
    positions = [document["accessors"][found["attributes"]["POSITION"]] for found in primitives_of(document)]
    lows, highs = [found["min"] for found in positions], [found["max"] for found in positions]
    wide = HALF_WIDTH + STRIP / 2
    # The left half is y < 0 in the body; with x to the right and y up it comes towards the viewer, z > 0.
    np.testing.assert_allclose(lows[0], (0, 0, STRIP / 2000), atol=1e-8)
    np.testing.assert_allclose(highs[0], (LENGTH / 1000, HEIGHT / 1000, wide / 1000), atol=1e-8)
    np.testing.assert_allclose(highs[3][1], (HEIGHT + 5) / 1000, atol=1e-8)


def test_triangles_keep_their_turn_so_that_outside_stays_outside(written: tuple[dict[str, Any], bytes]) -> None:
    document, data = written
    for found, original in zip(primitives_of(document), parts(), strict=True):
        points = values_of(document, data, found["attributes"]["POSITION"])
        faces = values_of(document, data, found["indices"]).astype(np.int32).reshape(-1, 3)
        assert len(faces) == len(original.mesh.faces)
        assert signed_volume(Mesh(points, faces)) == pytest.approx(signed_volume(original.mesh) / 1e9, rel=1e-5)


def test_a_second_library_reads_names_places_colours_and_volumes() -> None:
    read = trimesh.load(io.BytesIO(glb.scene(parts(), STAMP)), file_type="glb")
    assert isinstance(read, trimesh.Scene)
    assert set(read.graph.nodes_geometry) == {part.name for part in parts()}
    np.testing.assert_allclose(
        read.bounds,
        [
            (0, 0, -(HALF_WIDTH + STRIP / 2) / 1000),
            (LENGTH / 1000, (HEIGHT + 5) / 1000, (HALF_WIDTH + STRIP / 2) / 1000),
        ],
        atol=1e-7,
    )
    for original in parts():
        geometry = read.geometry[original.name].copy()
        assert isinstance(geometry, trimesh.Trimesh)
        visual: Any = geometry.visual
        assert visual.material.alphaMode == ("BLEND" if original.kind == "metal" else "OPAQUE")
        geometry.merge_vertices(merge_norm=True, merge_tex=True)
        assert geometry.is_watertight
        assert geometry.volume == pytest.approx(signed_volume(original.mesh) / 1e9, rel=1e-5)


def test_the_asset_carries_the_stamp() -> None:
    failing = replace(STAMP, failing=("cheek",))
    document, _ = chunks_of(glb.scene(parts(), failing))
    assert document["asset"] == {
        "version": "2.0",
        "generator": "planestock 0.1.0",
        "extras": {
            "name": STAMP.name,
            "digest": STAMP.digest,
            "version": "0.1.0",
            "failing": ["cheek"],
            "stamp": failing.line,
        },
    }


@given(st.text())
def test_any_text_can_be_a_name(name: str) -> None:
    box = part("box", cadquery.Solid.makeBox(3, 2, 1))
    document, _ = chunks_of(glb.scene([replace(box, name=name, material=name)], Stamp(name, "ab", "0.1.0")))
    assert document["nodes"][0]["name"] == document["materials"][0]["name"] == one_line(name)
    json.dumps(document, ensure_ascii=False).encode("utf-8")


def test_a_name_keeps_its_marks_and_loses_its_control_characters() -> None:
    document, _ = chunks_of(glb.scene([replace(parts()[2], name=WILD_NAME)], STAMP))
    assert document["nodes"][0]["name"] == PLAIN_WILD_NAME


def test_the_edges_of_a_box_are_hard() -> None:
    points, normals, faces = split_vertices(box_mesh())
    assert len(points) == 24
    assert len(faces) == 12
    assert {tuple(np.abs(normal)) for normal in normals} == {(1, 0, 0), (0, 1, 0), (0, 0, 1)}


def test_a_rod_is_smooth_round_its_side_and_hard_at_its_ends() -> None:
    rod = mesh_of(cadquery.Solid.makeCylinder(10, 40), 0.05, 0.2)
    points, normals, _ = split_vertices(rod)
    side = np.abs(normals[:, 2]) < 0.5
    # Seen from the axis, the true normal of the side points straight out at every vertex.
    np.testing.assert_allclose(normals[side, :2], points[side, :2] / 10, atol=1e-3)
    np.testing.assert_allclose(np.abs(normals[~side]), np.broadcast_to((0, 0, 1), (int((~side).sum()), 3)), atol=1e-9)
    assert len(points) == 2 * len(rod.vertices)


@pytest.mark.parametrize(("lean", "vertices"), [(CREASE_ANGLE - 1, 6), (CREASE_ANGLE + 1, 8)])
def test_an_edge_is_hard_from_the_crease_angle_on(lean: float, vertices: int) -> None:
    # A ridge between two roofs that lean from each other by the given angle; only the roofs' corners are counted.
    half = np.radians(lean / 2)
    drop = 10 * np.tan(half)
    profile = cadquery.Workplane("XZ").polyline([(-10, -drop), (0, 0), (10, -drop), (10, -30), (-10, -30)]).close()
    solid = profile.extrude(20).val()
    assert isinstance(solid, cadquery.Shape)
    points, normals, _ = split_vertices(mesh_of(solid))
    roof = (points[:, 2] > -drop - 1e-9) & (normals[:, 2] > 0.5)
    assert int(roof.sum()) == vertices


def prism(sides: int, diagonals: int) -> Mesh:
    """A prism of unit radius along z; bit k of `diagonals` says which way side k is cut into two triangles."""
    turn = 2 * np.pi * np.arange(sides) / sides
    ring = np.column_stack((np.cos(turn), np.sin(turn)))
    vertices = np.vstack([np.column_stack((ring, np.full(sides, z))) for z in (0.0, 1.0)])
    faces = []
    for low in range(sides):
        after = (low + 1) % sides
        high, high_after = low + sides, after + sides
        cut = [(low, after, high_after), (low, high_after, high)]
        faces += [(low, after, high), (after, high_after, high)] if diagonals >> low & 1 else cut
    for low in range(1, sides - 1):
        faces += [(0, low + 1, low), (sides, sides + low, sides + low + 1)]
    return Mesh(vertices, np.array(faces, dtype=np.int32))


@given(st.integers(0, 2**32 - 1))
def test_normals_do_not_depend_on_how_a_curved_side_was_cut_into_triangles(diagonals: int) -> None:
    points, normals, _ = split_vertices(prism(32, diagonals))
    side = np.abs(normals[:, 2]) < 0.5
    assert int(side.sum()) == 64
    np.testing.assert_allclose(normals[side], points[side] * (1, 1, 0), atol=2e-5)


def test_a_triangle_without_area_is_left_out_of_the_picture() -> None:
    box = box_mesh()
    start, end, third = box.faces[0]
    middle = len(box.vertices)
    vertices = np.vstack((box.vertices, box.vertices[[start, end]].mean(axis=0)))
    # The first triangle is cut in two; its neighbour keeps the whole edge, so a flat triangle fills the gap.
    cut = [(start, middle, third), (middle, end, third), (start, end, middle)]
    closed = Mesh(vertices, np.vstack((cut, box.faces[1:])).astype(np.int32))
    require_sound("box", closed)
    _, normals, drawn = split_vertices(closed)
    assert (len(closed.faces), len(drawn)) == (14, 13)
    np.testing.assert_allclose(np.linalg.norm(normals, axis=1), 1)


def test_the_same_parts_give_the_same_bytes() -> None:
    assert glb.scene(parts(), STAMP) == glb.scene(parts(), replace(STAMP))


def test_an_unsound_mesh_is_refused_by_name() -> None:
    wrong = box_mesh()
    wrong.faces[0, 0] = 8
    with pytest.raises(WriterFailed, match=r"mesh of 'centre strip' .*an index is outside 0 to 7"):
        glb.scene([replace(parts()[2], mesh=wrong)], STAMP)


def test_no_part_is_refused() -> None:
    with pytest.raises(WriterFailed, match="no part to draw"):
        glb.scene([], STAMP)
