"""The router's files: solids read back by the kernel, the sheet by PDF readers, the data by a JSON reader."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import cadquery
import pdfplumber
import pytest
import shapely
from shapely.ops import unary_union

from planestock.exports.building import Extra, order_for, writers_for
from planestock.exports.files.stamp import Stamp
from planestock.exports.machining.machining_files import router_files
from planestock.exports.machining.sheet import setup_sheet
from planestock.models.design import Design, design
from planestock.models.machining.all_setups import PlanOfWork, plan_of_work
from planestock.models.solids.kernel import volume
from planestock.params.files import load, shipped
from tests.support.full_set import full
from tests.support.machining_support import polygon_of
from tests.support.paper_support import pages, type_sizes

BOX_ERROR = 1e-4
"""How exactly the kernel bounds curved faces, mm."""

ROUTER: frozenset[Extra] = frozenset({"router"})

LAMINATED = ("body.centre_strip=6", "body.pad=12", "body.slip=5")

SMALLEST_TYPE = 5.0
"""Points below which a sheet cannot be read at the machine; common practice, no published source."""


def stamp_for(made: Design) -> Stamp:
    return Stamp(made.given.name, made.given.digest, "0.1.0")


@cache
def made_of(name: str, *changes: str) -> Design:
    return design(load(name, list(changes)) if name in shipped() else full(*changes))


@cache
def files_of(name: str, *changes: str) -> Mapping[str, bytes]:
    made = made_of(name, *changes)
    return router_files(made, stamp_for(made))


def work_of(made: Design) -> PlanOfWork:
    return plan_of_work(made.given, made.settled, made.layout)


def data_of(name: str, *changes: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(files_of(name, *changes)["cnc/setups.json"])
    return found


def read(content: bytes, folder: Path) -> cadquery.Shape:
    path = folder / "part.step"
    path.write_bytes(content)
    shape = cadquery.importers.importStep(str(path)).val()
    assert isinstance(shape, cadquery.Shape)
    return shape


def extent(shape: cadquery.Shape) -> tuple[list[float], list[float]]:
    """Return the lowest and highest corner of a shape, tight on curved faces."""
    around = shape.BoundingBox()
    return [around.xmin, around.ymin, around.zmin], [around.xmax, around.ymax, around.zmax]


def test_every_setup_has_its_solid_and_its_block_and_nothing_else_is_written() -> None:
    names = set(files_of("fore"))
    setups = [setup for part in data_of("fore")["parts"] for setup in part["setups"]]
    solids = {f"cnc/{setup[key]}" for setup in setups for key in ("file", "stock_file")}
    assert names == solids | {"cnc/setup-sheet.pdf", "cnc/setups.json"}
    assert "cnc/right-half-1-mating-face-up.step" in names


@pytest.mark.parametrize(("name", "changes"), [("jack", ()), ("full", LAMINATED)])
def test_solids_read_back_lie_as_the_sheet_says_inside_their_block(
    name: str, changes: tuple[str, ...], tmp_path: Path
) -> None:
    files = files_of(name, *changes)
    for part in data_of(name, *changes)["parts"]:
        for setup in part["setups"]:
            shape = read(files[f"cnc/{setup['file']}"], tmp_path)
            solids = shape.Solids()
            assert shape.isValid()
            assert len(solids) == 1 if part["name"] != "centre strip" else len(solids) >= 2
            low, high = extent(shape)
            assert low == pytest.approx(setup["part"]["low"], abs=BOX_ERROR)
            assert high == pytest.approx(setup["part"]["high"], abs=BOX_ERROR)
            raw_low, raw_high = extent(read(files[f"cnc/{setup['stock_file']}"], tmp_path))
            assert raw_low == pytest.approx(setup["stock"]["low"], abs=BOX_ERROR)
            assert raw_high == pytest.approx(setup["stock"]["high"], abs=BOX_ERROR)
            assert all(a <= b + BOX_ERROR for a, b in zip(raw_low, low, strict=True))
            assert all(a >= b - BOX_ERROR for a, b in zip(raw_high, high, strict=True))


def test_the_zero_is_on_the_part_where_the_sheet_says() -> None:
    setups = {(part["name"], setup["number"]): setup for part in data_of("jack")["parts"] for setup in part["setups"]}
    for side in ("right half", "left half"):
        first, second = setups[side, 1], setups[side, 2]
        assert first["zero"] == "X0 toe, Y0 sole, Z0 mating face (above)"
        assert first["part"]["high"][2] == 0
        assert second["zero"] == "X0 toe, Y0 mating face, Z0 sole (below)"
        assert second["part"]["low"][2] == 0
        assert {first["part"]["low"][0], second["part"]["low"][0]} == {0}
        assert 0 in (first["part"]["low"][1], first["part"]["high"][1])


def test_files_tell_part_setup_zero_and_set() -> None:
    text = files_of("jack")["cnc/right-half-2-top-up.step"].decode("ascii")
    assert "Invented jack: right half, setup 2, top up" in text
    assert "Z0 sole (below)" in text
    assert made_of("jack").given.digest[:12] in text
    assert "PRODUCT('right half'" in text
    assert "COLOUR_RGB" in text
    stock = files_of("jack")["cnc/right-half-2-top-up-stock.step"].decode("ascii")
    assert "PRODUCT('stock of right half'" in stock


def test_the_same_design_gives_the_same_bytes() -> None:
    again = design(load("jack"))
    assert router_files(again, stamp_for(again)) == files_of("jack")


def test_holes_that_stay_for_the_bench_are_not_in_the_solids() -> None:
    """The wood of a half in the hand-over is more than the finished half's by what its holes for hand work take."""
    made = made_of("jack")
    from planestock.exports.machining.solids import laid_parts

    right = next(laid_parts(made, work_of(made)))
    more = volume(right.part.shape) - volume(made.assembly.part("right half").shape)
    own = [hole for hole in made.layout.holes if hole.kind != "dowel" and hole.start[1] >= 0]
    by_hand = [hole for hole in own if hole.kind in ("frog screw", "tote bolt", "tote toe screw", "knob bolt")]
    most = sum(3.1416 * hole.radius**2 * hole.depth * (0.5 if hole.start[1] == 0 else 1.0) for hole in by_hand)
    assert more == pytest.approx(most, rel=0.05)


RELIEVED = ("casting.corner_radius=0", "casting.tail_drop=0", "casting.cove_radius=0", "shop.cutter.corners=relieved")


def test_relieved_corners_are_really_cut_and_only_from_the_router_s_solids() -> None:
    """Wood less by the reliefs outside their pockets (shapely) times the pockets' depths."""
    from planestock.exports.machining.solids import laid_parts

    made, sharp = made_of("full", *RELIEVED), made_of("full", *RELIEVED[:-1])
    work = work_of(made)
    reliefs = work.reliefs("right half", 1) + work.reliefs("right half", 2)
    assert reliefs
    expected = 0.0
    for corner in reliefs:
        assert corner.relief is not None
        cut = next(one for setup in work.parts[0].setups for one in setup.cuts if one.feature == corner.feature)
        rings = [ring for setup in work.parts[0].setups if setup.number == corner.setup for one in setup.cuts
                 for pocket in one.pockets for ring in pocket.cut]  # fmt: skip
        outside = polygon_of(corner.relief).difference(unary_union([polygon_of(ring) for ring in rings]).buffer(1e-4))
        expected += outside.area * cut.depth
    relieved, plain = (next(laid_parts(one, work_of(one))).part.shape for one in (made, sharp))
    assert relieved.isValid()
    assert len(relieved.Solids()) == 1
    assert volume(plain) - volume(relieved) == pytest.approx(expected, rel=0.02)
    assert volume(made.assembly.part("right half").shape) == pytest.approx(volume(sharp.assembly.part("right half").shape))
    left = next(laid for laid in laid_parts(made, work) if laid.plan.name == "left half")
    assert volume(left.part.shape) == pytest.approx(volume(relieved))


# The sheet


@cache
def sheet_of(name: str, *changes: str) -> bytes:
    if (name, changes) in (("jack", ()), ("fore", ()), ("full", LAMINATED)):
        return files_of(name, *changes)["cnc/setup-sheet.pdf"]
    made = made_of(name, *changes)
    return setup_sheet(made, work_of(made), stamp_for(made))


@pytest.mark.parametrize(
    ("name", "changes"),
    [(name, ()) for name in shipped()] + [("jack", ("shop.paper=Letter",)), ("full", LAMINATED)],
)
def test_the_sheet_is_one_page_that_can_be_read(name: str, changes: tuple[str, ...]) -> None:
    content = sheet_of(name, *changes)
    with pdfplumber.open(io.BytesIO(content)) as document:
        assert len(document.pages) == 1
        page = document.pages[0]
        width, height = (612, 792) if changes and "Letter" in changes[0] else (595.28, 841.89)
        assert [page.width, page.height] == pytest.approx([width, height], abs=0.1)
        words = page.extract_words()
        assert all(word["x0"] > 0 and word["x1"] < page.width and word["bottom"] < page.height - 20 for word in words)
        text = " ".join(page.extract_text().split())
    assert min(type_sizes(pages(content)[0])) >= SMALLEST_TYPE
    for said in ("Right half, setup 1: mating face up", "Zero: X0 toe", "throat", "Tolerances: ISO 2768-m", "Cautions",
                 "By hand", "chisel", "seat above the sole", "± 0°20′", "The machine's manual"):  # fmt: skip
        assert said in text, said


def test_the_sheet_says_depths_stock_and_what_stays() -> None:
    with pdfplumber.open(io.BytesIO(sheet_of("jack"))) as document:
        text = " ".join(document.pages[0].extract_text().split())
    assert "26.40" in text
    assert "Block 405.0 × 54.2 × 40.0 mm" in text
    assert "WARNING: no place for a clamp on this face" in text
    assert "1.40 deeper" in text
    assert "+ 0.1 / − 0.3" in text


def test_a_set_in_inches_has_inches_beside_the_millimetres() -> None:
    with pdfplumber.open(io.BytesIO(sheet_of("fore"))) as document:
        text = " ".join(document.pages[0].extract_text().split())
    assert "28.57 (1.125)" in text
    assert "mm (in)" in text


def test_the_sheet_warns_where_a_check_of_the_body_fails() -> None:
    made = made_of("jack")
    content = setup_sheet(made, work_of(made), Stamp("Bad", "ab" * 32, "0.1.0", ("cheek",)))
    with pdfplumber.open(io.BytesIO(content)) as document:
        assert "fails its checks" in document.pages[0].extract_text()


# The data


def test_the_data_has_every_corner_that_the_numbers_have() -> None:
    work, data = work_of(made_of("fore")), data_of("fore")
    told = [corner for part in data["parts"] if part["mirror_of"] is None for setup in part["setups"]
            for corner in setup["corners"]]  # fmt: skip
    assert [round(one.left.area, 6) for one in work.corners] == [corner["area"] for corner in told]
    right, left = (data["parts"][index]["setups"][0]["corners"] for index in (0, 1))
    assert [(one["place"][0], -one["place"][1]) for one in right] == [tuple(one["place"]) for one in left]


def test_outlines_in_the_data_are_closed_and_lie_on_the_part() -> None:
    for part in data_of("jack")["parts"]:
        for setup in part["setups"]:
            low, high = setup["part"]["low"], setup["part"]["high"]
            for cut in setup["cuts"]:
                for pocket in cut["pockets"]:
                    if pocket["title"] != "cove":
                        points = [step["to"] for ring in pocket["outline"] for step in ring]
                        hull = shapely.MultiPoint(points).bounds
                        assert hull[0] >= low[0] - 1e-6
                        assert hull[2] <= high[0] + 1e-6


def test_the_build_shows_the_cutter_s_checks_where_its_files_are_asked_for() -> None:
    made = made_of("jack")
    plain, asked = (order_for(made, "", solids=True, extras=extras) for extras in (frozenset[Extra](), ROUTER))
    ids = {"cutter-cuts", "cutter-reaches", "cutter-passes", "relief-cover"}
    assert {row.id for row in asked.rows} - {row.id for row in plain.rows} == ids
    assert ids <= {row["id"] for row in asked.report["checks"]}
    assert asked.report["verdict"] == "warn"
    assert "hand-over for a router (STEP, PDF)" in {writer.title for writer in writers_for(asked)}
