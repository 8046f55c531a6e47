"""Scans as files: what is read, and that nothing broken, hostile or of the wrong size gets further."""

from __future__ import annotations

import io
import struct
import zipfile
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from planestock.models.scan import cleaning
from planestock.models.scan.cleaning import cleaned, thinned_out, told_apart
from planestock.models.scan.from_file import FromFile
from planestock.models.scan.scale import scale_of
from planestock.models.scan.scan_file import read
from planestock.params.problems import InputProblem

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
"""Namespace of 3MF, core specification 1.4.0."""


HEAD = "property float x\nproperty float y\nproperty float z\n"
POINTS = f"ply\nformat ascii 1.0\nelement vertex 2\n{HEAD}end_header\n0 0 0\n1 1 1\n".encode()
HUGE = (f"ply\nformat binary_little_endian 1.0\nelement vertex 99999999999999\n{HEAD}"
        "element face 9\nproperty list uchar int vertex_indices\nend_header\n\0\0").encode()  # fmt: skip


def ball() -> Any:
    return trimesh.creation.icosphere(subdivisions=2, radius=30.0)


def message(path: Path) -> str:
    with pytest.raises(InputProblem) as caught:
        cleaned(path.name, read(path))
    assert len(caught.value.problems) == 1
    return str(caught.value)


def threemf(path: Path, model: str, name: str = "3D/3dmodel.model") -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, model)
    return path


def model_of(mesh: Any, unit: str, item: str = "") -> str:
    points = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in mesh.vertices.tolist())
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces.tolist())
    inside = f'<object id="1"><mesh><vertices>{points}</vertices><triangles>{faces}</triangles></mesh></object>'
    return model_with(inside, f'<item objectid="1" {item}/>', unit)


def model_with(objects: str, items: str, unit: str = "millimeter") -> str:
    return f'<model unit="{unit}" xmlns="{CORE}"><resources>{objects}</resources><build>{items}</build></model>'


@pytest.mark.parametrize("ending", ["stl", "ply", "obj", "stl_ascii"])
def test_every_format_gives_the_mesh_that_was_written(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"ball.{ending.partition('_')[0]}"
    path.write_bytes(_bytes(ball().export(file_type=ending)))
    found = cleaned(path.name, read(path))
    assert len(found.faces) == len(ball().faces)
    assert len(found.vertices) == len(ball().vertices), "points that triangles share are shared again"
    assert trimesh.Trimesh(found.vertices, found.faces).volume == pytest.approx(ball().volume, rel=1e-5)


def _bytes(content: str | bytes) -> bytes:
    return content.encode() if isinstance(content, str) else content


def test_a_3mf_has_its_unit_and_its_placing(tmp_path: Path) -> None:
    turn = 'transform="0 1 0 -1 0 0 0 0 1 5 6 7"'
    found = read(threemf(tmp_path / "ball.3mf", model_of(ball(), "inch", turn)))
    assert found.unit == "inch"
    expected = ball().vertices @ np.array([[0, 1, 0], [-1, 0, 0], [0, 0, 1]]) + (5, 6, 7)
    assert found.vertices == pytest.approx(expected)


def test_our_own_3mf_is_read_back(tmp_path: Path) -> None:
    from planestock.exports.files.stamp import Stamp
    from planestock.exports.files.threemf import package
    from planestock.models.solids.parts import Mesh

    mesh = Mesh(ball().vertices.astype(float), ball().faces.astype(np.int32))
    path = tmp_path / "own.3mf"
    path.write_bytes(package([("ball", mesh)], Stamp("a", "0" * 64, "1")))
    found = read(path)
    assert found.unit == "millimeter"
    assert len(found.faces) == len(ball().faces)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("empty.stl", b"", "an empty file"),
        ("words.stl", b"not a mesh at all, only words" * 20, "is no STL"),
        ("short.stl", b"hi\n", "is no STL"),
        ("zeros.stl", b"\0\1\2", "is no STL"),
        ("cut.stl", struct.pack("<80sI", b"", 900) + b"\0" * 400, "promises 900 triangles, the file holds about 8"),
        ("solid.stl", struct.pack("<80sI", b"solid", 900) + b"\0" * 400, "is cut off: its header promises 900"),
        ("more.stl", struct.pack("<80sI", b"", 2) + b"\0" * 400, "promises 2 triangles, the file holds about 8"),
        ("none.stl", struct.pack("<80sI", b"", 0), "no triangles"),
        ("points.ply", POINTS, "not points alone"),
        ("huge.ply", HUGE, "PLY"),
        ("list.obj", b"v 0 0 0\nv 1 0 0\nf 1 2 9\n", "OBJ"),
        ("points.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\n", "points"),
        ("mesh.step", b"ISO-10303-21;", ".stl, .ply, .obj, .3mf"),
        ("bad.3mf", b"PK\x03\x04 broken", "3MF"),
    ],
)  # fmt: skip
def test_a_broken_file_is_one_clear_message(tmp_path: Path, name: str, content: bytes, said: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    assert said in message(path)


def test_a_missing_file_and_a_folder_are_named(tmp_path: Path) -> None:
    assert "no such file" in message(tmp_path / "not_there.stl")
    (tmp_path / "folder.stl").mkdir()
    assert "a folder" in message(tmp_path / "folder.stl")


def test_numbers_that_are_none_are_refused() -> None:
    for bad in (np.nan, np.inf, 1e30):
        mesh = ball()
        vertices = mesh.vertices.copy()
        vertices[7] = bad
        with pytest.raises(InputProblem, match="1 of 162 points"):
            cleaned("a.stl", FromFile(vertices, mesh.faces.astype(np.int64), None))


def test_a_mesh_of_slivers_is_refused_and_a_few_are_dropped() -> None:
    mesh = ball()
    flat = np.column_stack((mesh.faces[:, 0], mesh.faces[:, 0], mesh.faces[:, 1])).astype(np.int64)
    with pytest.raises(InputProblem, match="with area"):
        cleaned("a.stl", FromFile(mesh.vertices, flat, None))
    both = cleaned("a.stl", FromFile(mesh.vertices, np.vstack((mesh.faces, flat[:5])).astype(np.int64), None))
    assert (len(both.faces), both.dropped) == (len(mesh.faces), 5)


def test_xml_that_blows_up_reaches_out_or_loops_is_refused(tmp_path: Path) -> None:
    laughs = '<!DOCTYPE m [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]>'
    assert "3MF" in message(
        threemf(tmp_path / "laugh.3mf", laughs + model_of(ball(), "millimeter").replace("1.0", "&b;", 1))
    )
    outside = '<!DOCTYPE m [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    assert "3MF" in message(threemf(tmp_path / "out.3mf", outside + model_of(ball(), "millimeter")))
    itself = '<object id="1"><components><component objectid="1"/></components></object>'
    loop = model_with(itself, '<item objectid="1"/>')
    assert "of itself" in message(threemf(tmp_path / "loop.3mf", loop))
    assert "3dmodel.model" in message(threemf(tmp_path / "other.3mf", "<a/>", "other.xml"))


def test_an_archive_that_unpacks_without_end_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planestock.models.scan.threemf_file.LARGEST_MODEL", 100_000)
    path = threemf(tmp_path / "bomb.3mf", "<model>" + " " * 200_000 + "</model>")
    assert path.stat().st_size < 2_000
    assert "unpacked" in message(path)


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planestock.models.scan.scan_file.LARGEST_TEXT", 1_000)
    path = tmp_path / "ball.obj"
    path.write_text("v 0 0 0\n" * 200)
    assert "a scan may have" in message(path)


def test_materials_beside_an_obj_are_never_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "ball.obj"
    path.write_text("mtllib secret.mtl\nusemtl a\n" + ball().export(file_type="obj"))
    (tmp_path / "secret.mtl").write_text("newmtl a\nmap_Kd secret.png\n")
    opened: list[str] = []
    real = io.open

    def watching(name: object, *rest: object, **others: object) -> object:
        opened.append(str(name))
        return real(name, *rest, **others)  # type: ignore[call-overload]

    monkeypatch.setattr("builtins.open", watching)
    monkeypatch.setattr("io.open", watching)
    assert len(read(path).faces) == len(ball().faces)
    assert not any("secret" in name for name in opened)


@given(st.binary(max_size=400), st.sampled_from([".stl", ".ply", ".obj", ".3mf"]))
@settings(max_examples=120)
def test_any_bytes_are_read_or_refused_never_a_crash(
    tmp_path_factory: pytest.TempPathFactory, content: bytes, ending: str
) -> None:
    path = tmp_path_factory.getbasetemp() / f"any{ending}"
    head = {
        ".ply": b"ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\n",
        ".obj": b"v 0 0 0\nf ",
        ".stl": b"solid ",
        ".3mf": b"PK",
    }
    path.write_bytes(head[ending] + content)
    with suppress(InputProblem):
        found = cleaned(path.name, read(path))
        assert np.isfinite(found.vertices).all()


def test_too_many_triangles_are_thinned_out_and_the_shape_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    fine = trimesh.creation.icosphere(subdivisions=5, radius=40.0)
    monkeypatch.setattr(cleaning, "MOST_TRIANGLES", 10_000)
    monkeypatch.setattr(cleaning, "THINNED_TO", 4_000)
    found = cleaned("a.stl", FromFile(fine.vertices, fine.faces.astype(np.int64), None))
    assert found.thinned
    assert 1_000 < len(found.faces) <= 4_000
    assert np.linalg.norm(found.vertices, axis=1) == pytest.approx(40.0, abs=0.2)


def test_few_enough_triangles_stay_as_they_are() -> None:
    faces = ball().faces.astype(np.int64)
    assert thinned_out(ball().vertices, faces, len(faces))[1] is faces


BOX = np.array([[0.0, 0.0, 0.0], [200.0, 60.0, 40.0]])
"""Two points as far apart as a thing of 212.6 mm."""
SIZE = float(np.linalg.norm(BOX[1]))


@pytest.mark.parametrize(("factor", "unit"), [(1.0, "mm"), (1 / 10, "cm"), (1 / 25.4, "in"), (1 / 1000, "m")])
def test_a_unit_that_nobody_states_is_told_by_size(factor: float, unit: str) -> None:
    for stray in (0.75, 1.0, 1.3):
        found = scale_of("a.stl", BOX * factor * stray, SIZE, (None, 1.0), None)
        assert found.words.startswith(f"{unit}, told by its size")
        assert found.millimetres * factor == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("factor", "stated", "named", "offered"),
    [
        (1 / 25.4, "mm", "25.4 times too small", "--unit in"),
        (1 / 1000, "mm", "1000 times too small", "--unit m"),
        (1 / 10, "mm", "10 times too small", "--unit cm"),
        (1.0, "in", "25.4 times too large", "--unit mm"),
        (1.0, "m", "1000 times too large", "--unit mm"),
        (25.4, "mm", "25.4 times too large", "--scale 0.0393701"),
        (1000.0, "mm", "1000 times too large", "--scale 0.001"),
    ],
)
def test_a_wrong_unit_is_named_with_the_right_option(factor: float, stated: str, named: str, offered: str) -> None:
    for stray in (0.7, 1.0, 1.4):
        with pytest.raises(InputProblem) as caught:
            scale_of("a.stl", BOX * factor * stray, SIZE, (stated, 1.0), None)  # type: ignore[arg-type]
        assert named in str(caught.value)
        assert offered in str(caught.value)
        assert f"its unit taken as {stated}" in str(caught.value)


def test_a_unit_in_the_file_is_held_to_the_size_too() -> None:
    assert scale_of("a.3mf", BOX / 25.4, SIZE, (None, 1.0), "inch").millimetres == 25.4
    with pytest.raises(InputProblem, match=r"25\.4 times too large"):
        scale_of("a.3mf", BOX, SIZE, (None, 1.0), "inch")
    with pytest.raises(InputProblem, match="none of"):
        scale_of("a.3mf", BOX, SIZE, (None, 1.0), "furlong")


def test_a_size_that_no_factor_explains_is_refused() -> None:
    with pytest.raises(InputProblem, match="no usual factor"):
        scale_of("a.stl", BOX * 5.1, SIZE, ("mm", 1.0), None)


def test_points_are_told_apart_as_numpy_tells_rows_apart() -> None:
    generator = np.random.default_rng(2)
    points = generator.integers(-3, 4, size=(4000, 3)) * np.array([0.1, 1e-30, 7e6])
    points[points == 0] *= generator.choice([1.0, -1.0], size=int((points == 0).sum()))
    first, inverse = told_apart(points)
    rows, own, counts = np.unique((points + 0.0).astype(np.float32), axis=0, return_inverse=True, return_counts=True)
    assert len(first) == len(rows) == 7**3
    assert (np.bincount(inverse) > 0).all()
    assert len(np.unique(np.column_stack((own.ravel(), inverse)), axis=0)) == len(rows)  # the same points share a number
    assert sorted(np.bincount(inverse)) == sorted(counts)
    assert ((points[first[inverse]] + 0.0).astype(np.float32) == (points + 0.0).astype(np.float32)).all()
