from __future__ import annotations

import io
import math
import os
import subprocess
import sys

import ezdxf
import pytest
from ezdxf.document import Drawing
from ezdxf.entities import Hatch
from ezdxf.lldxf.types import DXFTag

from planestock.exports.drawing.dxf import LONGEST_TEXT, dxf_file, dxf_files
from planestock.exports.drawing.model import LAYERS, View
from planestock.exports.files.stamp import Stamp
from planestock.params.outlines.pieces import area
from tests.support.paper_support import SETS, shipped_design, shipped_views, stamp

NEAR = 1e-6
HOSTILE = ('a <b> & "c" #$@\\ 100 %%c', "line\nbreak\r\n  0\nEOF", "🪵 木", "W" * 300)


def read(content: bytes) -> Drawing:
    return ezdxf.read(io.StringIO(content.decode("utf-8")))  # type: ignore[attr-defined]


def view(name: str, which: str) -> View:
    return next(one for one in shipped_views(name) if one.name == which)


def written(name: str, which: str) -> Drawing:
    return read(dxf_file(view(name, which), stamp(shipped_design(name))))


@pytest.mark.parametrize("name", SETS)
def test_every_file_is_in_millimetres_sound_and_on_named_layers(name: str) -> None:
    files = dxf_files(shipped_design(name), stamp(shipped_design(name)), shipped_views(name))
    assert len(files) == len(shipped_views(name))
    for file, content in files.items():
        found = read(content)
        audit = found.audit()
        assert not audit.errors, file
        assert not audit.fixes, file
        # DXF reference (2015 help), header variables: $INSUNITS, group code 70, 4 = millimetres
        assert found.header["$INSUNITS"] == 4
        assert b"$INSUNITS\n 70\n4\n" in content
        assert found.header["$MEASUREMENT"] == 1
        assert {entity.dxf.layer for entity in found.modelspace()} <= set(LAYERS)
        assert all(layer in found.layers for layer in LAYERS)


def test_the_outline_read_by_its_unit_is_as_long_as_the_body() -> None:
    from ezdxf import bbox
    from ezdxf.enums import InsertUnits
    from ezdxf.units import conversion_factor

    for name in SETS:
        found = written(name, "top")
        box = bbox.extents(found.modelspace().query('LWPOLYLINE[layer=="outline"]'))
        long = box.size.x * conversion_factor(InsertUnits(found.header["$INSUNITS"]), InsertUnits.Millimeters)
        assert long == pytest.approx(shipped_design(name).given.body.length.value, abs=NEAR)


def test_line_types_have_the_words_and_proportions_of_iso_128() -> None:
    found = written("jack", "inside-right-half")
    # ISO 128-2:2020, as quoted: dash 12 d, gap 3 d; narrow lines are 0.13 mm here
    (dash, gap) = (element.value for element in dashes_of(found, "DASHED_NARROW"))
    assert (dash, -gap) == pytest.approx((12 * 0.13, 3 * 0.13))
    for name in ("LONG_DASHED_DOTTED_NARROW", "LONG_DASHED_DOUBLE_DOTTED_NARROW"):
        elements = [element.value for element in dashes_of(found, name)]
        assert elements[0] > 12 * 0.13
        assert [-value for value in elements[1::2]] == pytest.approx([3 * 0.13] * (len(elements) // 2))
        assert 1 + name.count("DOUBLE") == len(elements) // 2 - 1
    used = {layer.dxf.linetype.upper() for layer in found.layers}
    assert used <= {"CONTINUOUS", "DASHED_NARROW", "LONG_DASHED_DOTTED_NARROW", "LONG_DASHED_DOUBLE_DOTTED_NARROW"}


def dashes_of(found: Drawing, name: str) -> list[DXFTag]:
    return [tag for tag in found.linetypes.get(name).pattern_tags.tags if tag.code == 49]


@pytest.mark.parametrize("name", SETS)
def test_hatch_and_type_are_the_files_own(name: str) -> None:
    hatches = 0
    for one in shipped_views(name):
        found = read(dxf_file(one, stamp(shipped_design(name))))
        assert {style.dxf.font for style in found.styles} == {"txt"}
        for hatch in found.modelspace().query("HATCH[solid_fill==0]"):
            hatches += 1
            assert isinstance(hatch, Hatch)
            assert hatch.pattern is not None
            (line,) = hatch.pattern.lines
            assert hatch.dxf.pattern_name == "SECTION"
            assert line.angle == pytest.approx(30.0)
            assert math.hypot(*line.offset) == pytest.approx(1.5 / one.scale)
    assert hatches


def test_the_blank_the_throat_and_the_plan_are_closed() -> None:
    for which, layer in (
        ("inside-right-half", "outline"),
        ("inside-right-half", "throat"),
        ("top", "outline"),
        ("top", "seat"),
    ):
        lines = written("jack", which).modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
        assert lines.first is not None
        assert lines.first.closed, f"{which}, {layer}"


def test_points_of_the_layout_come_back_to_a_nanometre() -> None:
    at = shipped_design("jack").layout
    found = written("jack", "inside-right-half").modelspace()
    throat = found.query('LWPOLYLINE[layer=="throat"]').first.get_points("xy")
    for point in at.throat:
        assert min(math.dist(point, one) for one in throat) < NEAR
    dowels = [hole for hole in at.holes if hole.kind == "dowel"]
    circles = [(c.dxf.center.x, c.dxf.center.y, c.dxf.radius) for c in found.query('CIRCLE[layer=="holes"]')]
    for hole in dowels:
        assert min(math.dist((hole.start[0], hole.start[2], hole.radius), one) for one in circles) < NEAR


def test_the_plan_encloses_the_same_area_when_read_back() -> None:
    made = shipped_design("jack")
    outline = written("jack", "top").modelspace().query('LWPOLYLINE[layer=="outline"]').first
    from ezdxf import path

    points = path.make_path(outline).flattening(0.001)
    corners = [(p.x, p.y) for p in points]
    total = sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(corners, [*corners[1:], corners[0]], strict=True)) / 2
    assert total == pytest.approx(area(made.layout.plan.whole_outline()), rel=1e-5)


def test_the_cove_is_an_arc_of_its_own_radius() -> None:
    seat = written("jack", "inside-right-half").modelspace().query('LWPOLYLINE[layer=="seat"]').first
    bulges = [bulge for _, _, bulge in seat.get_points("xyb") if bulge]
    at = shipped_design("jack").layout
    assert at.tail is not None
    chord = math.dist(at.tail.cove_high, at.tail.cove_low)
    # Radius from bulge and chord: r = c (1 + b²) / 4b.
    assert [chord * (1 + b * b) / (4 * abs(b)) for b in bulges] == pytest.approx([18.0])


def test_figures_stay_text_and_signs_use_the_codes_of_dxf() -> None:
    texts = [entity.dxf.text for entity in written("jack", "inside-right-half").modelspace().query("TEXT")]
    assert "mouth, front 115.80" in texts
    assert any("%%c 8, 14 deep" in text for text in texts)
    assert any("45%%d" in text for text in texts)


def test_the_same_view_gives_the_same_bytes() -> None:
    one = view("jack", "sole")
    assert dxf_file(one, stamp(shipped_design("jack"))) == dxf_file(one, stamp(shipped_design("jack")))


@pytest.mark.parametrize("name", HOSTILE)
def test_any_name_is_kept_as_a_property_and_harms_nothing(name: str) -> None:
    one = view("jack", "toe")
    found = read(dxf_file(one, Stamp(name, "ab" * 32, "0.1.0", ("cheek",))))
    assert not found.audit().errors
    plain = read(dxf_file(one, Stamp("x", "ab" * 32, "0.1.0")))
    assert len(found.modelspace()) == len(plain.modelspace())
    properties = dict(found.header.custom_vars)
    assert properties["Digest"] == "ab" * 32
    assert properties["Fails its checks"] == "cheek"
    assert len(properties["Set"]) <= LONGEST_TEXT


def test_the_fixed_meta_data_does_not_leak_into_other_uses_of_the_library() -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing  # type: ignore[attr-defined]
    dxf_file(view("jack", "toe"), stamp(shipped_design("jack")))
    assert ezdxf.options.write_fixed_meta_data_for_testing == before  # type: ignore[attr-defined]


def test_the_bytes_do_not_hang_on_the_order_of_sets_in_a_process() -> None:
    code = (
        "import hashlib\nfrom planestock.exports.drawing.side import inside_right\n"
        "from planestock.exports.drawing.dxf import dxf_file\n"
        "from planestock.exports.files.stamp import Stamp\nfrom planestock.models.design import design\n"
        "from planestock.params.files import load\n"
        "print(hashlib.sha256(dxf_file(inside_right(design(load('jack'))), Stamp('x', 'ab' * 32, '0.1.0'))).hexdigest())"
    )
    found = {
        subprocess.run(
            [sys.executable, "-c", code], env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, check=True
        ).stdout
        for seed in ("1", "2")
    }
    assert len(found) == 1
