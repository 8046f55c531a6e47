"""A table in a scan is found and left out whichever way the scan lies, and no face of a thing is taken for one."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from planestock.models.design import Design, design
from planestock.models.scan.fit import Asked, Scan, expected_size, fitted, read_scan
from planestock.models.scan.scale import Scale, likely
from planestock.models.scan.subjects import Of, widest
from planestock.models.scan.table import LeftOut, told_apart_from_table
from planestock.params.files import load
from planestock.params.problems import InputProblem
from tests.support.invent_scan import (
    CASTING,
    METAL,
    WITHOUT_IRON,
    WOOD,
    Invented,
    Spoilt,
    Tabletop,
    invented_truth,
    off_by,
    resting,
    scanned,
    stood,
)

NEAR, TURNED = 0.1, 0.1
"""What is asked for with a table as without: within 0.1 mm and 0.1 degree."""

FEW = 15_000
"""Samples of a scan in tests, a quarter of what the command takes."""

TOPS = (
    Tabletop(),
    Tabletop(underside=20.0, fused=False),
    Tabletop((300.0, 300.0), disc=True, edge=10.0),
    Tabletop((150.0, 110.0), edge=5.0),
    Tabletop((900.0, 600.0)),
)
"""Larger than the thing and smaller, square and round, as a web joined to it and as a board of its own."""

NOISES = (0.05, 0.1, 0.2)

_IN_MM = Scale(1.0, "mm, as stated")

SHOWN: dict[tuple[str, ...], Of] = {METAL: "metal", WITHOUT_IRON: "metal", CASTING: "casting", WOOD: "new-body"}


@cache
def made(name: str) -> Design:
    return design(load(name))


def on_table(name: str, parts: tuple[str, ...], seed: int) -> Invented:
    """Return a scan of a thing that rests on one of the tables, turned any way."""
    real = invented_truth(name, parts, 4.5 if parts == WOOD else 2.0)
    spoilt = Spoilt(noise=NOISES[seed % len(NOISES)], bench=False)
    return scanned(stood(real, resting(real, seed), TOPS[seed % len(TOPS)]), seed, spoilt)


def freed(scan: Invented, name: str, of: Of | None) -> tuple[Invented, tuple[LeftOut, ...]]:
    """Return a scan without its table, and what was left out."""
    expected = expected_size(made(name), of)
    vertices, faces, left = told_apart_from_table(scan.vertices, scan.faces, lambda size: likely(size, expected, 1.0, None))
    return Invented(vertices, faces, scan.motion), left


def off(name: str, parts: tuple[str, ...], seed: int) -> tuple[float, float]:
    """Return how far a thing on a table is found from where it is, mm and degrees; that its table was found is held, too."""
    scan = on_table(name, parts, seed)
    thing, left = freed(scan, name, SHOWN[parts] if parts == WOOD else None)
    assert [one.what for one in left] == ["table"]
    down = scan.motion.back.directions(resting(invented_truth(name, parts, 4.5 if parts == WOOD else 2.0), seed)[None])[0]
    assert left[0].normal @ -down > np.cos(np.radians(0.2))
    assert left[0].noise < 1.2 * NOISES[seed % len(NOISES)]
    with_left = Scan("scan.stl", thing.vertices, thing.faces, len(scan.faces), 0, False, _IN_MM, left)
    found = fitted(made(name), with_left, Asked(of=SHOWN[parts] if parts == WOOD else None), count=FEW)
    assert found.subject.of == SHOWN[parts]
    assert not found.contacts
    assert not found.corrected
    return off_by(found.fine.motion, scan, found.subject.origin, invented_truth(name, parts, 4.5 if parts == WOOD else 2.0))


@pytest.mark.parametrize(("parts", "seed"), [(WITHOUT_IRON, 2), (CASTING, 3), (WOOD, 0)])
def test_a_thing_on_a_table_is_found_within_a_tenth(parts: tuple[str, ...], seed: int) -> None:
    away, angle = off("smoother", parts, seed)
    assert away < NEAR
    assert angle < TURNED


@pytest.mark.long
@pytest.mark.parametrize(("name", "parts"), [("jack", METAL), ("smoother", WITHOUT_IRON), ("smoother", CASTING)])
def test_thirty_things_on_tables_are_found_within_a_tenth(name: str, parts: tuple[str, ...]) -> None:
    worst = np.max([off(name, parts, seed) for seed in range(100, 130)], axis=0)
    assert worst[0] < NEAR
    assert worst[1] < TURNED


@pytest.mark.parametrize("seed", range(5))
def test_the_thing_is_left_and_only_the_table_goes(seed: int) -> None:
    """The same noise and holes without a table are the closed form: what is left is that scan's area but for what the table
    touches or hides."""
    scan = on_table("jack", METAL, seed)
    thing, left = freed(scan, "jack", None)
    count = len(invented_truth("jack", METAL, 2.0).vertices)
    own = (scan.faces < count).all(axis=1)
    assert sum(len(one.faces) for one in left) + len(thing.faces) == len(scan.faces)
    assert len(thing.faces) == pytest.approx(np.count_nonzero(own), rel=0.03)
    assert widest(thing.vertices) == pytest.approx(widest(invented_truth("jack", METAL, 2.0).vertices), abs=3.0)


@pytest.mark.parametrize("name", ["jack", "smoother", "fore", "jointer"])
@pytest.mark.parametrize("parts", [METAL, WITHOUT_IRON, CASTING, WOOD], ids=["metal", "without iron", "casting", "body"])
def test_no_face_of_a_thing_is_taken_for_a_table(name: str, parts: tuple[str, ...]) -> None:
    """A casting's underside and top, a body's sole, sides and seat, an iron: large, flat, and at a side of the scan."""
    real = invented_truth(name, parts, 4.5)
    scan = scanned(real, 7, Spoilt(bench=False))
    thing, left = freed(scan, name, SHOWN[parts] if parts == WOOD else None)
    assert left == ()
    assert thing.vertices is scan.vertices
    assert thing.faces is scan.faces


def test_a_casting_scanned_from_below_alone_keeps_its_seat() -> None:
    real = invented_truth("jack", CASTING, 3.0)
    corners = real.vertices[real.faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    below = Spoilt(bench=False)
    scan = scanned(type(real)(real.vertices, real.faces[normals[:, 2] < -1e-9]), 1, below)
    assert freed(scan, "jack", None)[1] == ()


def test_a_sole_that_was_scanned_stays_where_the_table_is_a_mesh_of_its_own() -> None:
    real = invented_truth("smoother", WOOD, 4.5)
    plate = stood(real, np.array([0.0, 0.0, -1.0]), Tabletop(fused=False))
    table = plate.faces[(plate.faces >= len(real.vertices)).all(axis=1)]
    both = type(real)(plate.vertices, np.vstack((real.faces, table)))
    thing, left = freed(scanned(both, 2, Spoilt(bench=False, missing=0.0, holes=0)), "smoother", "new-body")
    assert len(thing.faces) == len(real.faces)
    assert len(left[0].faces) == len(table)


def test_a_loose_flat_piece_of_a_bench_is_left_out_and_told_apart_from_a_table() -> None:
    scan = scanned(invented_truth("jack", CASTING, 3.0), 1, Spoilt())
    thing, left = freed(scan, "jack", None)
    assert [one.what for one in left] == ["piece"]
    assert left[0].area == pytest.approx(2 * 55.0**2 + 4 * 55.0 * 0.5, rel=0.01)
    assert len(thing.faces) + len(left[0].faces) == len(scan.faces)


def test_the_width_of_a_thing_is_the_same_whichever_way_it_lies() -> None:
    real = invented_truth("jack", METAL, 4.5).vertices
    widths = [
        widest(scanned(invented_truth("jack", METAL, 4.5), seed, Spoilt(0.0, 0.0, 0, False)).vertices) for seed in range(5)
    ]
    assert widths == pytest.approx([widest(real)] * 5, abs=1e-9)
    box = np.array(np.meshgrid((0.0, 200.0), (0.0, 60.0), (0.0, 40.0))).reshape(3, -1).T
    assert widest(box) == pytest.approx(np.sqrt(200.0**2 + 60.0**2 + 40.0**2))


@pytest.mark.parametrize(("factor", "unit"), [(1.0, "mm"), (0.1, "cm"), (1 / 25.4, "in")])
def test_the_unit_is_told_by_the_thing_and_not_by_its_table(tmp_path: Path, factor: float, unit: str) -> None:
    scan = on_table("jack", METAL, 4)
    mesh = scan.mesh
    mesh.apply_scale(factor)
    mesh.export(tmp_path / "on-table.stl")
    found = read_scan(tmp_path / "on-table.stl", expected_size(made("jack"), None), Asked())
    assert found.scale.words.startswith(f"{unit}, told by its size")
    assert found.has_table
    assert found.left_out[0].noise == pytest.approx(0.1, rel=0.5)
    with pytest.raises(InputProblem, match="times too"):
        read_scan(tmp_path / "on-table.stl", expected_size(made("jack"), None), Asked(unit="m"))


def test_a_table_that_is_kept_is_part_of_the_scan(tmp_path: Path) -> None:
    scan = on_table("smoother", WITHOUT_IRON, 3)
    scan.mesh.export(tmp_path / "on-table.stl")
    expected = expected_size(made("smoother"), "metal")
    kept = read_scan(tmp_path / "on-table.stl", expected, Asked(of="metal", unit="mm", keep_table=True))
    freed_of_it = read_scan(tmp_path / "on-table.stl", expected, Asked(of="metal", unit="mm"))
    assert kept.left_out == ()
    assert len(kept.faces) == len(freed_of_it.faces) + len(freed_of_it.left_out[0].faces)


def test_a_body_that_lay_on_its_sole_is_refused_with_what_to_do() -> None:
    real = invented_truth("smoother", WOOD, 4.5)
    scan = scanned(stood(real, np.array([0.0, 0.0, -1.0]), Tabletop()), 5, Spoilt(bench=False))
    thing, left = freed(scan, "smoother", "new-body")
    with_left = Scan("scan.stl", thing.vertices, thing.faces, len(scan.faces), 0, False, _IN_MM, left)
    with pytest.raises(InputProblem, match=r"the sole was not found in it.*stood on a table.*other way up.*--table keep"):
        fitted(made("smoother"), with_left, Asked(of="new-body"), count=FEW)
