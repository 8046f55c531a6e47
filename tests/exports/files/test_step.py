from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
import tempfile
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import cadquery
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planestock.exports.files import step
from planestock.exports.files.exchange_text import LONGEST_STRING, encoded, listed, pieces, quoted
from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import WriterFailed, one_line
from tests.support.export_support import (
    BEECH,
    HALF_VOLUME,
    HALF_WIDTH,
    HEIGHT,
    LENGTH,
    MAPLE,
    PLAIN_WILD_NAME,
    PLATE_VOLUME,
    STAMP,
    STEEL,
    STRIP_VOLUME,
    WILD_NAME,
    part,
    parts,
)

ROOT = Path(__file__).resolve().parents[3]
IN_ANOTHER_PROCESS = """
import hashlib, sys
from planestock.exports.files import step
from tests.support.export_support import STAMP, parts
junk = [bytearray(n) for n in range(int(sys.argv[1]))]
if sys.argv[1] != "0":
    step.machining(parts()[2], STAMP)
    step.assembly(parts()[1:3], STAMP)
print(hashlib.sha256(step.assembly(parts(), STAMP)).hexdigest())
print(hashlib.sha256(step.machining(parts()[0], STAMP)).hexdigest())
"""


@dataclass(frozen=True)
class ReadPart:
    """One product as the kernel's reader finds it."""

    name: str
    colour: tuple[float, ...] | None
    shape: cadquery.Shape


def read_back(content: bytes) -> tuple[str, list[ReadPart]]:
    """Name of the root product, and its parts, by the kernel's own reader; a single product is its own part."""
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.STEPCAFControl import STEPCAFControl_Reader
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDF import TDF_Label, TDF_LabelSequence
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFDoc import XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    reader.SetColorMode(True)
    with tempfile.NamedTemporaryFile(suffix=".step") as file:
        file.write(content)
        file.flush()
        assert reader.ReadFile(file.name) == IFSelect_ReturnStatus.IFSelect_RetDone
    assert reader.Transfer(document)
    roots, components = TDF_LabelSequence(), TDF_LabelSequence()
    XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).GetFreeShapes(roots)
    assert roots.Length() == 1
    XCAFDoc_ShapeTool.GetComponents_s(roots.Value(1), components, False)
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    found = []
    for label in [components.Value(n) for n in range(1, components.Length() + 1)] or [roots.Value(1)]:
        product = TDF_Label()
        if not XCAFDoc_ShapeTool.GetReferredShape_s(label, product):
            product = label
        assert label_name(label) == label_name(product)
        shape = cadquery.Shape.cast(XCAFDoc_ShapeTool.GetShape_s(label))
        found.append(ReadPart(label_name(product), label_colour(colours, product), shape))
    return label_name(roots.Value(1)), found


def label_name(label: object) -> str:
    from OCP.TDataStd import TDataStd_Name

    name = TDataStd_Name()
    assert label.FindAttribute(TDataStd_Name.GetID_s(), name)  # type: ignore[attr-defined]
    return str(name.Get().ToExtString())


def label_colour(colours: object, label: object) -> tuple[float, ...] | None:
    """The colour of a product, or, where it has several solids, the one colour they agree on."""
    from OCP.TDF import TDF_LabelSequence
    from OCP.XCAFDoc import XCAFDoc_ShapeTool

    own = own_colour(colours, label)
    if own:
        return own
    solids = TDF_LabelSequence()
    XCAFDoc_ShapeTool.GetSubShapes_s(label, solids)
    found = {own_colour(colours, solids.Value(number)) for number in range(1, solids.Length() + 1)}
    assert len(found) == 1
    return found.pop()


def own_colour(colours: object, label: object) -> tuple[float, ...] | None:
    from OCP.Quantity import Quantity_ColorRGBA, Quantity_TypeOfColor
    from OCP.XCAFDoc import XCAFDoc_ColorSurf

    colour = Quantity_ColorRGBA()
    if not colours.GetColor_s(label, XCAFDoc_ColorSurf, colour):  # type: ignore[attr-defined]
        return None
    values = colour.GetRGB().Values(Quantity_TypeOfColor.Quantity_TOC_sRGB)
    return (*values, colour.Alpha())


def decoded(text: str) -> str:
    """The text of a string as written, by the rules of ISO 10303-21 and not by the writer's code."""
    return re.sub(
        r"\\X2\\((?:[0-9A-F]{4})+)\\X0\\|\\X4\\((?:[0-9A-F]{8})+)\\X0\\|(\\\\)|('')",
        lambda found: (
            bytes.fromhex(found[1]).decode("utf-16-be")
            if found[1]
            else bytes.fromhex(found[2]).decode("utf-32-be")
            if found[2]
            else "\\"
            if found[3]
            else "'"
        ),
        text,
    )


def strings_of(statement: str) -> list[str]:
    return re.findall(r"'((?:[^']|'')*)'", statement)


def sections(content: bytes) -> tuple[list[str], list[str]]:
    """Statements of the HEADER and of the DATA section, and on the way the frame of the file."""
    lines = content.decode("ascii").split("\n")
    assert lines[:2] == ["ISO-10303-21;", "HEADER;"]
    assert lines[-3:] == ["ENDSEC;", "END-ISO-10303-21;", ""]
    end = lines.index("ENDSEC;")
    assert lines[end + 1] == "DATA;"
    return lines[2:end], lines[end + 2 : -3]


def test_names_colours_and_opacity_survive_reading_back() -> None:
    root, found = read_back(step.assembly(parts(), STAMP))
    assert root == STAMP.name
    assert [part.name for part in found] == ["left half", "right half", "centre strip", "casting"]
    for read, colour in zip(found, [BEECH, BEECH, MAPLE, STEEL], strict=True):
        assert read.colour == pytest.approx(colour, abs=1e-6)


def test_volumes_and_places_survive_reading_back() -> None:
    _, found = read_back(step.assembly(parts(), STAMP))
    for read, original, volume in zip(found, parts(), [HALF_VOLUME, HALF_VOLUME, STRIP_VOLUME, PLATE_VOLUME], strict=True):
        assert read.shape.isValid()
        assert len(read.shape.Solids()) == 1
        assert read.shape.Volume(1e-9) == pytest.approx(volume, rel=1e-8)
        assert read.shape.Center().toTuple() == pytest.approx(original.shape.Center().toTuple(), abs=1e-7)


def test_curved_solids_survive_without_curves_in_parameter_planes() -> None:
    arcs = cadquery.Workplane().moveTo(0, 0).threePointArc((60, -9), (120, 0)).lineTo(120, 20).lineTo(0, 20)
    body = arcs.close().extrude(40).edges(">Z").fillet(3).val()
    assert isinstance(body, cadquery.Shape)
    _, found = read_back(step.assembly([part("body", body)], STAMP))
    assert found[0].shape.isValid()
    assert found[0].shape.Volume(1e-9) == pytest.approx(body.Volume(1e-9), rel=1e-8)


def test_any_text_comes_back_as_the_name_of_set_and_part() -> None:
    wild = replace(parts()[2], name=WILD_NAME)
    root, found = read_back(step.assembly([wild, parts()[3]], Stamp(WILD_NAME, "ab", "0.1.0")))
    assert root == PLAIN_WILD_NAME
    assert found[0].name == PLAIN_WILD_NAME
    single, _ = read_back(step.machining(wild, STAMP))
    assert single == PLAIN_WILD_NAME


def test_a_name_that_looks_like_a_placeholder_stays_as_it_is() -> None:
    sly = replace(parts()[2], name="PLANESTOCK-NAME-0")
    root, found = read_back(step.assembly([sly, replace(parts()[0], name="'; #1 = X")], STAMP))
    assert [root, *(part.name for part in found)] == [STAMP.name, "PLANESTOCK-NAME-0", "'; #1 = X"]


def test_parts_of_one_name_and_one_solid_stay_two_parts() -> None:
    twice = [parts()[2], replace(parts()[2], colour=STEEL)]
    _, found = read_back(step.assembly(twice, STAMP))
    assert [part.name for part in found] == ["centre strip", "centre strip"]
    assert [part.colour for part in found] == [pytest.approx(MAPLE, abs=1e-6), pytest.approx(STEEL, abs=1e-6)]


def test_a_part_of_several_placed_solids_is_one_part_of_one_colour() -> None:
    box = cadquery.Solid.makeBox(10, 6, 4)
    pair = cadquery.Compound.makeCompound([box, box.moved(cadquery.Location(cadquery.Vector(30, 0, 0)))])
    severed = part("severed strip", pair.moved(cadquery.Location(cadquery.Vector(0, 0, 5))), colour=MAPLE)
    _, found = read_back(step.assembly([severed, parts()[3]], STAMP))
    assert [part.name for part in found] == ["severed strip", "casting"]
    assert found[0].colour == pytest.approx(MAPLE, abs=1e-6)
    assert len(found[0].shape.Solids()) == 2
    assert found[0].shape.Volume(1e-9) == pytest.approx(480, rel=1e-8)
    assert found[0].shape.Center().toTuple() == pytest.approx((20, 3, 7), abs=1e-7)


def test_a_part_for_machining_lies_mating_face_up_at_zero() -> None:
    for half in parts()[:2]:
        name, found = read_back(step.machining(half, STAMP))
        assert name == half.name
        assert len(found) == 1
        shape = found[0].shape
        box = shape.BoundingBox()
        corners = [(box.xmin, box.ymin, box.zmin), (box.xmax, box.ymax, box.zmax)]
        np.testing.assert_allclose(corners, [(0, 0, 0), (LENGTH, HEIGHT, HALF_WIDTH)], atol=1e-6)
        top = sum(face.Area() for face in shape.Faces() if abs(face.Center().z - HALF_WIDTH) < 1e-9)
        assert top == pytest.approx(LENGTH * HEIGHT - 30 * 25 - np.pi * 4**2, rel=1e-9)
        assert shape.Volume(1e-9) == pytest.approx(HALF_VOLUME, rel=1e-8)
        assert found[0].colour == pytest.approx(BEECH, abs=1e-6)


def test_the_header_holds_the_three_entries_in_the_prescribed_order() -> None:
    # ISO 10303-21:2016, clause 8: exactly one each, in this order; parameters of FILE_NAME from the same clause.
    header, _ = sections(step.assembly(parts(), STAMP))
    assert [line.partition("(")[0] for line in header] == ["FILE_DESCRIPTION", "FILE_NAME", "FILE_SCHEMA"]
    assert header[0] == f"FILE_DESCRIPTION(('{STAMP.line}'),'2;1');"
    assert header[1] == (
        "FILE_NAME('Invented try plane','1970-01-01T00:00:00',(''),(''),'planestock 0.1.0','planestock 0.1.0','');"
    )
    # ISO 10303-214 (AP214), schema name in written files: with its object identifier, edition 1 or 3, or alone
    names = ("{ 1 0 10303 214 1 1 1 1 }", "{ 1 0 10303 214 3 1 1 1 }")
    assert header[2] in {
        "FILE_SCHEMA(('AUTOMOTIVE_DESIGN'));",
        *(f"FILE_SCHEMA(('AUTOMOTIVE_DESIGN {one}'));" for one in names),
    }
    # … and the data keep to it: every product has that protocol's context
    _, data = sections(step.assembly(parts(), STAMP))
    assert any("APPLICATION_PROTOCOL_DEFINITION(" in line and "'automotive_design'" in line for line in data)


def test_the_header_names_the_part_that_is_to_be_machined() -> None:
    header, _ = sections(step.machining(parts()[0], STAMP))
    assert strings_of(header[0])[0] == STAMP.line
    assert strings_of(header[1])[0] == "left half"


def test_the_header_holds_no_date() -> None:
    header, _ = sections(step.assembly(parts(), STAMP))
    assert str(datetime.now(UTC).year) not in "".join(header)


def test_a_failing_design_says_so_in_full_however_long_its_name() -> None:
    failing = Stamp("Ö" * 300, "0123456789abcdef", "0.1.0", ("cheek", "reach.out"))
    header, _ = sections(step.assembly(parts(), failing))
    written = strings_of(header[0])[:-1]
    assert all(len(text) <= LONGEST_STRING for text in written)
    assert "".join(map(decoded, written)) == failing.line
    assert "FAILS ITS CHECKS: cheek, reach.out" in failing.line
    name = strings_of(header[1])[0]
    assert 240 < len(name) <= LONGEST_STRING
    assert set(decoded(name)) == {"Ö"}


def test_entities_are_numbered_from_one_without_a_gap_and_every_reference_exists() -> None:
    for content in (step.assembly(parts(), STAMP), step.machining(parts()[0], STAMP)):
        _, data = sections(content)
        numbers = [int(line.partition(" ")[0][1:]) for line in data]
        assert numbers == list(range(1, len(data) + 1))
        bare = re.sub(r"'(?:[^']|'')*'", "", "".join(data))
        assert {int(found) for found in re.findall(r"#(\d+)", bare)} == set(numbers)


def test_lengths_are_millimetres() -> None:
    _, data = sections(step.assembly(parts(), STAMP))
    units = {line.partition("= ")[2] for line in data if "LENGTH_UNIT()" in line}
    assert units == {"( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) );"}
    assert not any("CONVERSION_BASED_UNIT" in line for line in data)


def test_nothing_of_the_kernel_leaks_into_names_and_counts() -> None:
    step.assembly(parts(), STAMP)
    text = step.assembly(parts(), STAMP).decode("ascii")
    assert "Open CASCADE" not in text
    assert "PLANESTOCK-NAME" not in text
    assert re.findall(r"NEXT_ASSEMBLY_USAGE_OCCURRENCE\('(\d+)'", text) == ["1", "2", "3", "4"]


def test_another_process_elsewhere_writes_the_same_bytes(tmp_path: Path) -> None:
    here = [step.assembly(parts(), STAMP), step.machining(parts()[0], STAMP)]
    expected = [hashlib.sha256(content).hexdigest() for content in here]
    for load, zone in ((0, "Pacific/Kiritimati"), (2000, "America/New_York")):
        environment = {
            **os.environ,
            "TZ": zone,
            "PYTHONPATH": str(ROOT),
            "PYTHONHASHSEED": str(load + 1),
            "LC_ALL": "C",
        }
        ran = subprocess.run(
            [sys.executable, "-c", IN_ANOTHER_PROCESS, str(load)],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            check=True,
        )
        assert ran.stdout.split() == expected


def test_the_kernels_own_settings_are_put_back_and_do_not_matter() -> None:
    from OCP.Interface import Interface_Static

    expected = step.assembly(parts(), STAMP)
    others = {"write.step.schema": "AP242DIS", "write.step.unit": "INCH", "write.surfacecurve.mode": "On"}
    before = {name: Interface_Static.CVal_s(name) for name in others}
    try:
        for name, value in others.items():
            Interface_Static.SetCVal_s(name, value)
        assert step.assembly(parts(), STAMP) == expected
        assert {name: Interface_Static.CVal_s(name) for name in others} == others
    finally:
        for name, value in before.items():
            Interface_Static.SetCVal_s(name, value)


def test_writing_prints_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    step.assembly(parts(), STAMP)
    step.machining(parts()[0], STAMP)
    assert capfd.readouterr() == ("", "")


def test_no_part_is_refused() -> None:
    with pytest.raises(WriterFailed, match="no part to write"):
        step.assembly([], STAMP)


def test_a_part_without_a_solid_is_refused_by_name() -> None:
    sheet = replace(parts()[2], name="sheet", shape=cadquery.Face.makePlane(3, 4))
    with pytest.raises(WriterFailed, match="'sheet' holds no solid"):
        step.assembly([sheet], STAMP)
    with pytest.raises(WriterFailed, match="'sheet' holds no solid"):
        step.machining(sheet, STAMP)


def test_an_error_of_the_kernel_names_the_part_and_a_remedy() -> None:
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Solid

    without_faces = TopoDS_Solid()
    BRep_Builder().MakeSolid(without_faces)
    hollow = replace(parts()[0], name="hollow", shape=cadquery.Solid(without_faces))
    with pytest.raises(WriterFailed, match=r"the kernel refused 'hollow' .*planestock check"):
        step.machining(hollow, STAMP)


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("plain", "plain"),
        ("", ""),
        ("it's", "it''s"),
        ("back\\slash", "back\\\\slash"),
        ("Hörn", "H\\X2\\00F6\\X0\\rn"),
        ("木材", "\\X2\\67286750\\X0\\"),
        ("🪵", "\\X4\\0001FAB5\\X0\\"),
        ("é🪵", "\\X2\\00E9\\X0\\\\X4\\0001FAB5\\X0\\"),
    ],
)
def test_strings_are_encoded_as_iso_10303_21_says(text: str, written: str) -> None:
    assert encoded(text) == written


@given(st.text(max_size=400))
def test_any_text_becomes_short_ascii_strings_that_give_the_line_back(text: str) -> None:
    written = [encoded(piece) for piece in pieces(text)]
    assert all(len(string) <= LONGEST_STRING for string in written)
    assert all(string.isascii() and string.isprintable() for string in written)
    assert "".join(map(decoded, written)) == one_line(text)
    assert strings_of(quoted(text)) == [written[0] if written else ""]
    assert strings_of(listed(text)) == (written or [""])
