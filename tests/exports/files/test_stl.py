"""Layout of binary STL after StereoLithography Interface Specification, 3D Systems, October 1989, as quoted (no standard):
an 80-byte header, a count, then 50 bytes a facet, little-endian, corners anticlockwise seen from outside."""

from __future__ import annotations

import io
import struct
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from planestock.exports.files import stl
from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import WriterFailed
from planestock.models.solids.parts import Mesh
from tests.support.export_support import HALF_VOLUME, STAMP, box_mesh, mesh_of, parts


def facets_of(content: bytes) -> list[tuple[np.ndarray, np.ndarray, int]]:
    """Normal, corners and attribute of each facet, read by the published layout."""
    (count,) = struct.unpack_from("<I", content, 80)
    assert len(content) == 84 + 50 * count
    found = []
    for number in range(count):
        *values, attribute = struct.unpack_from("<12fH", content, 84 + 50 * number)
        rows = np.array(values).reshape(4, 3)
        found.append((rows[0], rows[1:], attribute))
    return found


def test_a_box_of_twelve_facets_takes_684_bytes() -> None:
    content = stl.binary(box_mesh(), STAMP)
    assert len(content) == 84 + 12 * 50 == 684
    # Readers take a file that begins with this word for the text format.
    assert not content.startswith(b"solid")


def test_facets_enclose_their_volume_counted_from_their_corners_alone() -> None:
    # Gauss: a sixth of the sum of the corners' determinants; positive where corners run anticlockwise seen from outside
    found = facets_of(stl.binary(box_mesh(3, 2, 1), STAMP))
    assert sum(float(np.linalg.det(corners)) for _, corners, _ in found) / 6 == pytest.approx(6.0)


def test_every_facet_holds_its_triangle_and_a_unit_normal_pointing_out() -> None:
    box = box_mesh(3, 2, 1)
    found = facets_of(stl.binary(box, STAMP))
    middle = np.array([1.5, 1.0, 0.5])
    for (normal, corners, attribute), face in zip(found, box.faces, strict=True):
        np.testing.assert_array_equal(corners, box.vertices[face].astype(np.float32))
        assert attribute == 0
        assert np.linalg.norm(normal) == pytest.approx(1)
        assert sorted(np.abs(normal)) == [0, 0, 1]
        assert normal @ (corners.mean(axis=0) - middle) > 0
        right_hand = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        assert normal @ right_hand == pytest.approx(np.linalg.norm(right_hand))


def test_a_second_library_finds_a_closed_solid_of_the_right_volume() -> None:
    for half in parts()[:2]:
        finest = mesh_of(half.shape.copy(), 1e-4, 0.02)
        read = trimesh.load(io.BytesIO(stl.binary(finest, STAMP)), file_type="stl")
        assert isinstance(read, trimesh.Trimesh)
        assert read.is_watertight
        assert read.is_winding_consistent
        assert read.volume == pytest.approx(HALF_VOLUME, rel=1e-5)
        np.testing.assert_allclose(read.bounds[0], finest.vertices.min(axis=0), atol=1e-5)


def test_the_header_says_where_the_file_comes_from() -> None:
    header = stl.binary(box_mesh(), STAMP)[:80].decode("ascii")
    assert header.rstrip() == "mm; 0123456789ab; planestock 0.1.0; Invented try plane"


def test_a_failing_design_says_so_within_the_header_however_long_its_name() -> None:
    failing = Stamp("x" * 300, "0123456789abcdef", "0.1.0", ("cheek",))
    content = stl.binary(box_mesh(), failing)
    assert len(content) == 684
    assert content.startswith(b"mm; FAILS ITS CHECKS; 0123456789ab; planestock 0.1.0; xxx")


@given(st.text(max_size=200).map(lambda text: Stamp(text, "ab" * 16, "0.1.0")))
def test_the_header_is_80_printable_letters_that_no_reader_takes_for_the_text_form(stamp: Stamp) -> None:
    header = stl.header(stamp)
    assert len(header) == 80
    assert header.isascii()
    assert header.decode("ascii").isprintable()
    assert not header.lower().startswith(b"solid")


def test_a_set_named_solid_does_not_turn_the_file_into_the_text_form() -> None:
    content = stl.binary(box_mesh(), replace(STAMP, name="solid oak"))
    read = trimesh.load(io.BytesIO(content), file_type="stl")
    assert isinstance(read, trimesh.Trimesh)
    assert len(read.faces) == 12


def test_a_triangle_without_area_gets_a_zero_normal_and_no_other_number() -> None:
    flat = np.array([[(0, 0, 0), (1, 0, 0), (2, 0, 0)], [(0, 0, 0), (1, 0, 0), (0, 1, 0)]], dtype=float)
    np.testing.assert_array_equal(stl.facet_normals(flat), [(0, 0, 0), (0, 0, 1)])


def broken(kind: str) -> Mesh:
    box = box_mesh()
    vertices, faces = box.vertices.copy(), box.faces.copy()
    match kind:
        case "open":
            faces = faces[1:]
        case "one triangle turned":
            faces[0] = faces[0][::-1]
        case "a triangle twice":
            faces = np.vstack((faces, faces[:1]))
        case "index too large":
            faces[0, 0] = len(vertices)
        case "index negative":
            faces[0, 0] = -1
        case "not a number":
            vertices[0, 0] = np.nan
        case "every triangle twice":
            faces = np.vstack((faces, faces))
        case "two corners in one":
            # Between opposite corners of the box there is no edge, so this triangle's edges are all new.
            low, high = np.argmin(vertices.sum(axis=1)), np.argmax(vertices.sum(axis=1))
            faces = np.vstack((faces, [(low, low, high)]))
        case "empty":
            faces = faces[:0]
    return Mesh(vertices, faces)


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("open", "an edge is open"),
        ("one triangle turned", "an edge is open, used twice one way"),
        ("a triangle twice", "an edge is open, used twice one way"),
        ("every triangle twice", "an edge is open, used twice one way"),
        ("index too large", "an index is outside 0 to 7"),
        ("index negative", "an index is outside 0 to 7"),
        ("not a number", "finite"),
        ("two corners in one", "an edge is open, used twice one way, or joins a point to itself"),
        ("empty", "at least 4 triangles"),
    ],
)
def test_an_unsound_mesh_is_refused(kind: str, said: str) -> None:
    with pytest.raises(WriterFailed, match=said):
        stl.binary(broken(kind), STAMP)


def test_the_same_mesh_gives_the_same_bytes() -> None:
    assert stl.binary(box_mesh(), STAMP) == stl.binary(box_mesh(), replace(STAMP))
