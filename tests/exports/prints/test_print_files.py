"""Files of prints: 3MF in millimetres by plates, the same bytes each time, and the list that goes with them."""

from __future__ import annotations

import json
import re
import zipfile
from collections.abc import Mapping
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from lxml import etree

from planestock.exports.files.front_door import write_all
from planestock.exports.prints.listing import as_data, as_text
from planestock.exports.prints.print_files import plate_names, print_files
from planestock.exports.prints.print_picture import crease_lines, piece_picture
from planestock.models.design import design
from planestock.models.prints.bed import APART
from planestock.models.prints.meshing import block, mesh_of
from planestock.models.prints.print_groups import Missing
from planestock.models.prints.print_list import jigs_of, making_of, seat_group
from planestock.models.prints.printing import job, jobs
from planestock.params.files import load
from planestock.params.problems import InputProblem
from tests.support.export_support import STAMP
from tests.support.prints_support import read_3mf
from tests.support.promises import require_every_key_counts, require_promised

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
CHANGES = ('name=A <wild> & "long" name 木', "shop.printer.x=200", "shop.printer.y=160", "shop.printer.z=150")


@cache
def files() -> Mapping[str, bytes]:
    return print_files(design(load("smoother", CHANGES)), STAMP)


def listed() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(files()["prints/prints.json"])
    return found


def test_the_list_is_as_promised_and_every_key_counts() -> None:
    require_promised("prints.json", listed())
    require_every_key_counts("prints.json", listed())


@pytest.mark.parametrize("name", [pytest.param(name, marks=pytest.mark.long) for name in ("jack", "fore", "jointer")])
def test_the_list_of_every_shipped_set_is_as_promised(name: str) -> None:
    made = design(load(name))
    require_promised("prints.json", as_data(made, STAMP, *jobs(made), plate_names))


def test_every_piece_of_the_list_is_in_its_plate_s_file_under_its_name_and_closed() -> None:
    pieces = [piece for group in listed()["groups"] for piece in group["pieces"]]
    in_files = set()
    for name, content in files().items():
        if name.endswith(".3mf"):
            read = read_3mf(content)
            for piece, geometry in read.geometry.items():
                assert isinstance(geometry, trimesh.Trimesh)
                assert geometry.is_watertight, (name, piece)
                assert geometry.body_count == 1
                in_files.add((name.removeprefix("prints/"), piece, round(geometry.volume / 1000, 2)))
    assert in_files == {(piece["plate"], piece["name"], piece["volume"]) for piece in pieces}


def test_plates_are_in_millimetres_and_no_larger_than_the_bed_and_pieces_lie_apart() -> None:
    for name, content in files().items():
        if not name.endswith(".3mf"):
            continue
        with zipfile.ZipFile(BytesIO(content)) as archive:
            model = etree.fromstring(archive.read("3D/3dmodel.model"))
        assert model.get("unit") == "millimeter"
        assert len({found.get("name") for found in model.iter(f"{CORE}object")}) == len(list(model.iter(f"{CORE}object")))
        read = read_3mf(content)
        low, high = read.bounds
        np.testing.assert_allclose(low, 0, atol=1e-5)
        assert (high <= np.array([200, 160, 150]) + 1e-5).all()
        boxes = [piece.bounds for piece in read.dump()]
        for number, one in enumerate(boxes):
            for other in boxes[:number]:
                assert max((other[0] - one[1])[:2].max(), (one[0] - other[1])[:2].max()) >= APART - 1e-4


def test_the_same_design_gives_the_same_bytes() -> None:
    again = print_files(design(load("smoother", CHANGES)), STAMP)
    assert again == files()


def test_the_front_door_takes_the_files(tmp_path: Path) -> None:
    write_all(tmp_path / "out", dict(files()))
    assert {path.name for path in (tmp_path / "out" / "prints").iterdir()} == {name.partition("/")[2] for name in files()}


def test_masses_are_the_volumes_times_the_density() -> None:
    for group in listed()["groups"]:
        assert group["mass"] == pytest.approx(
            sum(piece["mass"] for piece in group["pieces"]), abs=0.1 * len(group["pieces"])
        )
        for piece in group["pieces"]:
            assert piece["solid_mass"] == pytest.approx(1.24 * piece["volume"], abs=0.11)
            assert 0 < piece["mass"] <= piece["solid_mass"]


def test_the_text_tells_every_piece_how_to_use_it_and_what_can_hurt() -> None:
    text = files()["prints/prints.txt"].decode()
    data = listed()
    flat = " ".join(text.split())
    for group in data["groups"]:
        assert group["name"].upper() in text
        assert all(" ".join(sentence.split()) in flat for sentence in group["use"])
        assert all(piece["name"] in flat for piece in group["pieces"])
    for word in ("hot", "fumes", "no guard", "safety glasses", "manuals"):
        assert word in flat
    assert STAMP.digest[:12] in text
    assert all(len(line) <= 100 for line in text.splitlines())


def listed_seat_gauge(name: str, *changes: str) -> dict[str, Any]:
    """The list of a design that has only its seat gauge printed."""
    made = design(load(name, changes))
    work = job(seat_group(made, making_of(made)), made.given.shop)
    missing = [one for one in jigs_of(made) if isinstance(one, Missing)]
    return as_data(made, STAMP, [work], missing, plate_names)


def test_what_needs_support_is_named_with_its_area() -> None:
    (piece,) = listed_seat_gauge("jack")["groups"][0]["pieces"]
    assert piece["lies"] == "on its right side"
    assert [face["face"] for face in piece["support_faces"]] == ["throat's cheek"]
    assert piece["support_area"] == pytest.approx(sum(face["area"] for face in piece["support_faces"]), abs=0.2)


def test_the_body_needs_no_support() -> None:
    bodies = [group for group in listed()["groups"] if group["name"].startswith("body")]
    assert len(bodies) == 2
    assert all(piece["support_area"] == 0 for body in bodies for piece in body["pieces"])


def test_a_thin_wall_is_warned_of() -> None:
    assert "WARNING" in as_text(listed_seat_gauge("smoother", "shop.printer.nozzle=1.8"))
    assert "WARNING" not in as_text(listed_seat_gauge("smoother"))


def test_what_is_missing_is_listed_with_its_reason() -> None:
    data = listed_seat_gauge("smoother", "body.dowels.count=0", "shop.bushing_diameter=4")
    reasons = {one["name"]: one["why"] for one in data["missing"]}
    assert reasons["dowel guide"] == "the set has no dowels"
    assert "raise shop.bushing_diameter" in reasons["drill guide"]
    assert "NOT MADE" in as_text(data)


def test_a_picture_of_nothing_that_is_printed_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(InputProblem, match=r"seat-gauge.*drill-guide"):
        piece_picture(design(load("smoother")), "teapot")


def test_creases_of_a_box_are_its_twelve_edges() -> None:
    lines = crease_lines(mesh_of(block((0, 0, 0), (3, 4, 5))))
    assert len(lines) == 12
    assert np.linalg.norm(lines[:, 0] - lines[:, 1], axis=1).sum() == pytest.approx(4 * (3 + 4 + 5))


def test_the_list_of_a_set_in_inches_is_in_inches() -> None:
    text = as_text(listed_seat_gauge("fore", "shop.printer.nozzle=1.8 mm"))
    assert "WARNING" in text
    assert "Printer: bed 8.7 × 8.7 in, 9.8 in high" in text
    assert re.findall(r"[^\s]+ (?:[cm]m[²³]?)(?![\w/])", text) == []
    assert "millimetres" not in text.replace("its unit millimetres", "")


@pytest.mark.parametrize(
    "changes",
    [
        ("shop.bushing_diameter=0.16 in",),
        ("shop.bushing_diameter=1 in",),
        ("shop.bushing_length=0.2 in",),
        ("throat.breast_lean=0",),
    ],
)
def test_what_a_set_in_inches_has_not_made_says_why_in_inches(changes: tuple[str, ...]) -> None:
    made = design(load("fore", changes))
    said = [
        sentence for one in jigs_of(made) for sentence in ([one.why] if isinstance(one, Missing) else [*one.use, *one.notes])
    ]
    assert said
    assert [sentence for sentence in said if re.search(r"\bmm\b|frog\.screws|millimetre", sentence)] == []
