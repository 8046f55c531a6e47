"""Rules of the 3MF core specification 1.4.0 (published 2025-02-11, spec_core at commit 997b385), checked by
number."""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from planestock.exports.files import threemf
from planestock.exports.files.lying import laid_mesh
from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import WriterFailed, one_line
from planestock.models.solids.parts import Mesh
from tests.support.export_support import (
    HALF_WIDTH,
    HEIGHT,
    LENGTH,
    PLAIN_WILD_NAME,
    STAMP,
    STRIP,
    WILD_NAME,
    box_mesh,
    parts,
    signed_volume,
)

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
NUMBER = re.compile(r"[-+]?([0-9]+(\.[0-9]+)?|\.[0-9]+)([eE][-+]?[0-9]+)?")
"""Form of ST_Number in the specification's schema, appendix B.1."""


def printed() -> list[tuple[str, Mesh]]:
    return [(part.name, laid_mesh(part, "down")) for part in parts()[:3]]


def files_of(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def model_of(content: bytes) -> ElementTree.Element:
    return ElementTree.fromstring(files_of(content)["3D/3dmodel.model"])


def mesh_from(found: ElementTree.Element) -> Mesh:
    vertices = [[float(vertex.attrib[axis]) for axis in "xyz"] for vertex in found.iter(f"{CORE}vertex")]
    faces = [[int(triangle.attrib[key]) for key in ("v1", "v2", "v3")] for triangle in found.iter(f"{CORE}triangle")]
    return Mesh(np.array(vertices), np.array(faces, dtype=np.int32))


def placed_boxes(model: ElementTree.Element) -> list[tuple[np.ndarray, np.ndarray]]:
    """Low and high corner of each build item on the plate, with its transform applied (3.3: row vectors)."""
    objects = {found.attrib["id"]: mesh_from(found) for found in model.iter(f"{CORE}object")}
    boxes = []
    for item in model.iter(f"{CORE}item"):
        matrix = np.array(item.attrib["transform"].split(), dtype=float).reshape(4, 3)
        points = objects[item.attrib["objectid"]].vertices @ matrix[:3] + matrix[3]
        boxes.append((points.min(axis=0), points.max(axis=0)))
    return boxes


def test_the_package_holds_the_three_parts_an_open_package_needs() -> None:
    # 2.1 and appendix C: content types and the StartPart relationship that leads to the model.
    files = files_of(threemf.package(printed(), STAMP))
    assert list(files) == ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
    types = {
        found.attrib["Extension"]: found.attrib["ContentType"]
        for found in ElementTree.fromstring(files["[Content_Types].xml"])
    }
    assert types == {
        "rels": "application/vnd.openxmlformats-package.relationships+xml",
        "model": "application/vnd.ms-package.3dmanufacturing-3dmodel+xml",
    }
    (relationship,) = ElementTree.fromstring(files["_rels/.rels"])
    assert relationship.attrib["Type"] == "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
    assert relationship.attrib["Target"].lstrip("/") in files
    assert re.fullmatch(r"[A-Za-z_][\w.-]*", relationship.attrib["Id"])


def test_the_archive_is_plain_and_without_today_s_date() -> None:
    # 1.1: stored or deflated, and no ZIP64 where it is not needed.
    with zipfile.ZipFile(io.BytesIO(threemf.package(printed(), STAMP))) as archive:
        for entry in archive.infolist():
            assert entry.date_time == (1980, 1, 1, 0, 0, 0)
            assert entry.compress_type == zipfile.ZIP_STORED
            assert entry.extract_version < 45
            assert (entry.create_system, entry.external_attr) == (3, 0o644 << 16)


def test_the_model_is_in_millimetres_and_in_the_core_namespace_without_a_document_type() -> None:
    # 3.4 (unit), 2.3.2 (UTF-8, no DTD), 2.3.1 (nothing is required beyond the core).
    content = files_of(threemf.package(printed(), STAMP))["3D/3dmodel.model"]
    model = ElementTree.fromstring(content)
    assert content.startswith(b'<?xml version="1.0" encoding="UTF-8"?>')
    assert b"<!DOCTYPE" not in content
    assert model.tag == f"{CORE}model"
    assert model.attrib["unit"] == "millimeter"
    assert "requiredextensions" not in model.attrib
    assert {found.tag for found in model} == {f"{CORE}metadata", f"{CORE}resources", f"{CORE}build"}
    assert [found.tag for found in model][-2:] == [f"{CORE}resources", f"{CORE}build"]


def test_metadata_names_are_well_known_or_in_our_own_namespace_and_occur_once() -> None:
    # 3.4.1, table 3-1.
    well_known = {"Title", "Designer", "Description", "Copyright", "LicenseTerms", "Rating", "Application"}
    content = threemf.package(printed(), STAMP)
    entries = [(found.attrib["name"], found.text) for found in model_of(content).iter(f"{CORE}metadata")]
    metadata = dict(entries)
    assert len(metadata) == len(entries)
    assert {name for name in metadata if ":" not in name} <= well_known
    assert metadata == {
        "Title": "Invented try plane",
        "Description": STAMP.line,
        "Application": "planestock 0.1.0",
        "planestock:digest": STAMP.digest,
    }
    assert b'xmlns:planestock="' in files_of(content)["3D/3dmodel.model"]


def test_a_failing_design_says_so() -> None:
    model = model_of(threemf.package(printed(), replace(STAMP, failing=("cheek",))))
    assert any("FAILS ITS CHECKS: cheek" in (found.text or "") for found in model.iter(f"{CORE}metadata"))


def test_every_object_is_named_and_built_once_under_a_unique_positive_number() -> None:
    # 3.4.2 (unique ids), 3.4 (defined before it is referenced), 3.4.3.1 (item).
    model = model_of(threemf.package(printed(), STAMP))
    objects = list(model.iter(f"{CORE}object"))
    numbers = [found.attrib["id"] for found in objects]
    assert [found.attrib["name"] for found in objects] == ["left half", "right half", "centre strip"]
    assert [found.attrib["type"] for found in objects] == ["model"] * 3
    assert len(set(numbers)) == 3
    assert all(int(number) > 0 for number in numbers)
    assert [item.attrib["objectid"] for item in model.iter(f"{CORE}item")] == numbers


def test_every_edge_is_shared_by_two_triangles_that_run_along_it_in_opposite_order() -> None:
    # 4.1 (manifold edges, consistent orientation, outward normals), 4.1.4.1 (distinct corners, indices in range).
    for found in model_of(threemf.package(printed(), STAMP)).iter(f"{CORE}object"):
        mesh = mesh_from(found)
        edges = [(int(face[k]), int(face[(k + 1) % 3])) for face in mesh.faces for k in range(3)]
        assert len(set(edges)) == len(edges)
        assert {(end, start) for start, end in edges} == set(edges)
        assert all(start != end for start, end in edges)
        assert mesh.faces.min() == 0
        assert mesh.faces.max() == len(mesh.vertices) - 1
        assert signed_volume(mesh) > 0


def test_no_vertex_occurs_twice() -> None:
    # 4.1.3: duplicates only where merging would make an edge non-manifold.
    for found in model_of(threemf.package(printed(), STAMP)).iter(f"{CORE}object"):
        mesh = mesh_from(found)
        assert len(np.unique(mesh.vertices, axis=0)) == len(mesh.vertices)


def test_coordinates_are_the_mesh_s_own_to_a_nanometre_and_in_the_schema_s_form() -> None:
    tiny = box_mesh(1 / 3, 2e-5, 1e5 / 3)
    tiny = Mesh(tiny.vertices - 1e-9, tiny.faces)
    (found,) = model_of(threemf.package([("tiny", tiny)], STAMP)).iter(f"{CORE}object")
    np.testing.assert_allclose(mesh_from(found).vertices, tiny.vertices, atol=0.5000001e-6, rtol=0)
    np.testing.assert_array_equal(mesh_from(found).faces, tiny.faces)
    written = [vertex.attrib[axis] for vertex in found.iter(f"{CORE}vertex") for axis in "xyz"]
    assert all(NUMBER.fullmatch(text) for text in written)
    assert "2e-05" in written
    assert "-0.0" not in written


def test_parts_stand_on_the_plate_in_the_positive_octant_clear_of_each_other() -> None:
    # 3.3: positive octant after all transforms; 3.4.3.1: items should not overlap.
    boxes = placed_boxes(model_of(threemf.package(printed(), STAMP)))
    for low, _ in boxes:
        np.testing.assert_allclose((low[0], low[2]), 0, atol=1e-9)
    for (_, high), (low, _) in pairwise(boxes):
        assert low[1] - high[1] == pytest.approx(threemf.PLATE_GAP, abs=2e-6)
    sizes = [(LENGTH, HEIGHT, HALF_WIDTH)] * 2 + [(LENGTH, HEIGHT, STRIP)]
    np.testing.assert_allclose([high - low for low, high in boxes], sizes, atol=1e-6)


def test_parts_given_anywhere_in_space_come_to_the_plate() -> None:
    away = [("far", Mesh(box_mesh().vertices - (500, 40, 3), box_mesh().faces)), ("near", box_mesh())]
    boxes = placed_boxes(model_of(threemf.package(away, STAMP)))
    np.testing.assert_allclose(boxes[0][0], (0, 0, 0), atol=1e-9)
    np.testing.assert_allclose(boxes[1][0], (0, 2 + threemf.PLATE_GAP, 0), atol=1e-9)


def test_a_second_library_reads_names_volumes_and_places() -> None:
    read = trimesh.load(io.BytesIO(threemf.package(printed(), STAMP)), file_type="3mf")
    assert isinstance(read, trimesh.Scene)
    assert set(read.geometry) == {"left half", "right half", "centre strip"}
    for name, mesh in printed():
        geometry = read.geometry[name]
        assert isinstance(geometry, trimesh.Trimesh)
        assert geometry.is_watertight
        assert geometry.volume == pytest.approx(signed_volume(mesh), rel=1e-6)
    depth = 3 * HEIGHT + 2 * threemf.PLATE_GAP
    np.testing.assert_allclose(read.bounds, [(0, 0, 0), (LENGTH, depth, HALF_WIDTH)], atol=1e-6)


def test_any_name_comes_back_with_its_marks_and_without_its_control_characters() -> None:
    content = threemf.package([(WILD_NAME, box_mesh())], replace(STAMP, name=WILD_NAME))
    model = model_of(content)
    assert [found.attrib["name"] for found in model.iter(f"{CORE}object")] == [PLAIN_WILD_NAME]
    titles = [found.text for found in model.iter(f"{CORE}metadata") if found.attrib["name"] == "Title"]
    assert titles == [PLAIN_WILD_NAME]


def test_letters_that_xml_cannot_hold_are_dropped() -> None:
    # XML 1.0, production 2 (Char): no surrogates, no U+FFFE and U+FFFF; control characters bar three.
    content = threemf.package([("a\ud800b\ufffec\U0001ffffd\x00e\x7ff\u2028g", box_mesh())], STAMP)
    assert [found.attrib["name"] for found in model_of(content).iter(f"{CORE}object")] == ["abcdef g"]


@given(st.text())
def test_every_text_is_a_possible_name(name: str) -> None:
    content = threemf.package([(name, box_mesh())], Stamp(name, "ab", "0.1.0"))
    assert [found.attrib["name"] for found in model_of(content).iter(f"{CORE}object")] == [one_line(name)]


def test_the_same_meshes_give_the_same_bytes_and_another_order_does_not() -> None:
    content = threemf.package(printed(), STAMP)
    assert content == threemf.package(printed(), replace(STAMP))
    assert content != threemf.package(printed()[::-1], STAMP)


def test_an_open_mesh_is_refused_by_name() -> None:
    open_box = Mesh(box_mesh().vertices, box_mesh().faces[1:])
    with pytest.raises(WriterFailed, match=r"mesh of 'lid' \(8 vertices, 11 triangles\): an edge is open"):
        threemf.package([("sound", box_mesh()), ("lid", open_box)], STAMP)


def test_no_part_is_refused() -> None:
    with pytest.raises(WriterFailed, match="no part to print"):
        threemf.package([], STAMP)
