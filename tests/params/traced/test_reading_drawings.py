"""Drawings read back: the drawn outline comes back from DXF and SVG, and hostile files are refused with one message."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planestock.params.outlines.path_text import written
from planestock.params.outlines.pieces import Arc, Line, Outline, area, bounds, flattened
from planestock.params.outlines.polygons import polygon, rounded
from planestock.params.problems import InputProblem
from planestock.params.traced.cleaning import How, clean_file
from planestock.params.traced.drawing import LARGEST_DRAWING
from tests.support.traced_support import (
    JACK,
    apart,
    cleaned,
    dense,
    dxf_bytes,
    loose_pieces,
    shape_in,
    svg_bytes,
    svg_path,
    waisted,
    worst_turn,
)

CLOSE = 0.02
"""A drawn outline comes back from a drawing within this, mm: the tolerance of the fit, and as much again."""

PAGE = 'width="400mm" height="100mm" viewBox="-150 -50 400 100"'

Draw = Callable[[Any], object]


def bulged(outline: Outline) -> Draw:
    rows = [(*piece.start, math.tan(piece.sweep / 4) if isinstance(piece, Arc) else 0.0) for piece in outline]
    return lambda space: space.add_lwpolyline(rows, "xyb", close=True)


def old_polyline(outline: Outline) -> Draw:
    rows = [(*piece.start, math.tan(piece.sweep / 4) if isinstance(piece, Arc) else 0.0) for piece in outline]
    return lambda space: space.add_polyline2d(rows, format="xyb", close=True)


def splines(outline: Outline) -> Draw:
    """One cubic B-spline through points of each piece."""

    def draw(space: Any) -> None:
        from ezdxf.math import global_bspline_interpolation

        for piece in outline:
            if isinstance(piece, Line):
                space.add_line(piece.start, piece.end)
                continue
            points = [piece.at(k / 24) for k in range(25)]
            space.add_spline(dxfattribs={"layer": "0"}).apply_construction_tool(
                global_bspline_interpolation(points, degree=3)
            )

    return draw


@pytest.mark.parametrize("outline", [JACK, waisted()], ids=["rounded", "waisted"])
@pytest.mark.parametrize(
    "drawn",
    [loose_pieces, bulged, old_polyline, splines,
     lambda outline: lambda space: space.add_lwpolyline(flattened(outline, 0.002), close=True),
     lambda outline: lambda space: space.add_lwpolyline(np.round(dense(outline, 0.4), 3).tolist(), close=True)],
    ids=["loose", "bulges", "old polyline", "splines", "chords", "digitised"],
)  # fmt: skip
def test_a_drawn_outline_comes_back_from_dxf(outline: Outline, drawn: Callable[[Outline], Draw]) -> None:
    found = cleaned(dxf_bytes(drawn(outline)))
    assert apart(found.outline, outline) < CLOSE
    assert found.strays <= 0.0105
    assert len(found.outline) <= 60
    assert area(found.outline) == pytest.approx(area(outline), rel=2e-4)


def bezier_path(outline: Outline) -> str:
    """The outline as cubic Bézier curves: k = 4/3 tan(sweep / 4) of the radius along the tangents, for at most 30°."""
    parts = [f"M{outline[0].start[0]:.4f},{-outline[0].start[1]:.4f}"]
    for piece in outline:
        if isinstance(piece, Line):
            parts.append(f"L{piece.end[0]:.4f},{-piece.end[1]:.4f}")
            continue
        count = math.ceil(abs(piece.sweep) / math.radians(30))
        for k in range(count):
            a, b = piece.at(k / count), piece.at((k + 1) / count)
            reach = 4 / 3 * math.tan(piece.sweep / count / 4)
            one = (a[0] - reach * (a[1] - piece.centre[1]), a[1] + reach * (a[0] - piece.centre[0]))
            two = (b[0] + reach * (b[1] - piece.centre[1]), b[1] - reach * (b[0] - piece.centre[0]))
            parts.append("C" + " ".join(f"{x:.4f},{-y:.4f}" for x, y in (one, two, b)))
    return f'<path d="{" ".join(parts)}Z"/>'


@pytest.mark.parametrize("outline", [JACK, waisted()], ids=["rounded", "waisted"])
@pytest.mark.parametrize("drawn", [svg_path, bezier_path], ids=["arcs", "curves"])
def test_a_drawn_outline_comes_back_from_svg(outline: Outline, drawn: Callable[[Outline], str]) -> None:
    found = cleaned(svg_bytes(drawn(outline)))
    assert apart(found.outline, outline) < CLOSE
    assert worst_turn(found.outline) < 0.2
    assert found.unit == "a page in millimetres"


@pytest.mark.parametrize(
    ("before", "after", "size"),
    [
        (f'<g transform="scale({96 / 25.4})">', "</g>", ""),
        ('<g transform="translate(40 9) rotate(30) translate(-40 -9)"><g transform="rotate(-30, 40, 9)">', "</g></g>", PAGE),
        ("", "", 'width="40cm" height="10cm" viewBox="-150 -50 400 100"'),
        ("", "", 'width="400mm" viewBox="-150 -50 400 100"'),
        (f'<g transform="scale({96 / 25.4})">', "</g>", 'width="1in" height="2in" viewBox="0 0 96 96"'),
        ('<defs><path d="M0,0h900v900z"/></defs><rect width="999" height="999" style="display: none"/>', "", PAGE),
    ],
)
def test_units_pages_and_transforms_of_svg_are_followed(before: str, after: str, size: str) -> None:
    assert apart(cleaned(svg_bytes(f"{before}{svg_path(JACK)}{after}", size)).outline, JACK) < 1e-3


def test_basic_shapes_of_svg_are_what_the_standard_makes_of_them() -> None:
    box = cleaned(svg_bytes('<rect x="-92" y="-31" width="244" height="62" rx="16"/>', PAGE)).outline
    assert apart(box, rounded(((-92, -31), (152, -31), (152, 31), (-92, 31)), 16)) < 1e-6
    ring = cleaned(svg_bytes('<circle cx="3" r="40"/>', PAGE)).outline
    assert area(ring) == pytest.approx(1600 * math.pi, rel=1e-9)
    oval = cleaned(svg_bytes('<ellipse rx="90" ry="30"/>', PAGE)).outline
    assert area(oval) == pytest.approx(2700 * math.pi, rel=1e-3)
    many = cleaned(svg_bytes('<polygon points="0,0 50,0 50,30 0,30"/>', PAGE)).outline
    assert area(many) == pytest.approx(1500, abs=1e-9)


def test_inches_are_told_by_the_file_or_by_the_asker() -> None:
    small = tuple(Line((a.start[0] / 25.4, a.start[1] / 25.4), (a.end[0] / 25.4, a.end[1] / 25.4))
                  for a in polygon([(-90, -30), (150, -30), (150, 30), (-90, 30)]))  # fmt: skip
    assert bounds(cleaned(dxf_bytes(bulged(small), units=1)).outline).width == pytest.approx(240)
    assert bounds(cleaned(dxf_bytes(bulged(small), units=4), unit="in").outline).width == pytest.approx(240)
    with pytest.raises(InputProblem, match="no size of a casting"):
        cleaned(dxf_bytes(bulged(small), units=4))


def test_gaps_are_closed_up_to_the_stated_one_and_reported() -> None:
    found = cleaned(dxf_bytes(loose_pieces(JACK, gap=0.08)))
    assert 0.03 < found.gap < 0.09
    assert apart(found.outline, JACK) < 0.1
    with pytest.raises(InputProblem, match=r"does not close|no line closes"):
        cleaned(dxf_bytes(loose_pieces(JACK, gap=0.3)), largest_gap=0.05)


def test_holes_words_and_loose_lines_are_left_out_and_counted() -> None:
    def draw(space: Any) -> None:
        loose_pieces(JACK)(space)
        space.add_circle((62, 16), 2.5)
        space.add_text("casting")
        space.add_line((0, 0), (20, 0))

    found = cleaned(dxf_bytes(draw))
    assert found.left_out == 2
    assert apart(found.outline, JACK) < 1e-6


@pytest.mark.parametrize("turned", [0.0, 37.0, 180.0])
def test_two_marks_place_a_drawing_however_it_lies(turned: float) -> None:
    def draw(space: Any) -> None:
        from ezdxf.math import Matrix44

        loose_pieces(waisted())(space)
        space.add_point((0, 0), {"layer": "Corner"})
        space.add_point((140, 0), {"layer": "MIDDLE"})
        for entity in space:
            entity.transform(Matrix44.z_rotate(math.radians(turned)) @ Matrix44.translate(70, -400, 0))

    found = cleaned(dxf_bytes(draw), marks=True, apart=140.0)
    assert apart(found.outline, waisted()) < 1e-6
    marks = '<circle id="corner" r="1"/><ellipse id="middle" cx="90" rx="1" ry="1"/>'
    body = f'<g transform="rotate({turned})">{svg_path(waisted())}{marks}</g>'
    assert apart(cleaned(svg_bytes(body), marks=True).outline, waisted()) < 2e-5
    places = (0.0, 0.0, 100.0 * math.cos(math.radians(turned)), 100.0 * math.sin(math.radians(turned)))
    assert apart(cleaned(svg_bytes(body), marks=True, places=places).outline, waisted()) < 2e-5


def test_marks_at_the_wrong_distance_name_the_wrong_scale() -> None:
    body = f'{svg_path(JACK)}<circle id="corner" r="1"/><circle id="middle" cx="100" r="1"/>'
    with pytest.raises(InputProblem, match="inches and was taken for millimetres"):
        cleaned(svg_bytes(body), marks=True, apart=2540.0)
    with pytest.raises(InputProblem, match="no mark named middle"):
        cleaned(svg_bytes(body.replace("middle", "other")), marks=True)


def test_a_profile_is_the_line_or_the_lower_side_of_the_whole() -> None:
    under = shape_in("M -92 0 L 60 0 A 18 18 0 0 1 78 -10 L 152 -10")
    alone = cleaned(svg_bytes(f'<g transform="scale(1 -1)"><path d="{written(under, closed=False)}"/></g>'), "profile")
    assert written(alone.outline, closed=False) == written(under, closed=False)
    backwards = '<g transform="scale(1 -1)"><path d="M152,-10H78A18,18,0,0,0,60,0H-92"/></g>'
    assert written(cleaned(svg_bytes(backwards), "profile").outline, closed=False) == written(under, closed=False)
    whole = '<g transform="scale(1 -1)"><path d="M-92,0H60A18,18,0,0,1,78,-10H152V-6H79A18,18,0,0,0,61,4H-92Z"/></g>'
    assert written(cleaned(svg_bytes(whole), "profile").outline, closed=False) == written(under, closed=False)


# ---- hostile -----------------------------------------------------------------------------------------------------------


def million(count: int) -> bytes:
    return svg_bytes('<path d="M0,0' + "l1 1" * count + 'Z"/>')


def many_rows(count: int) -> bytes:
    rows = "".join(f" 10\n{i}.5\n 20\n{i * i % 77}.5\n" for i in range(count))
    return f"  0\nSECTION\n  2\nENTITIES\n  0\nLWPOLYLINE\n 90\n{count}\n 70\n1\n{rows}  0\nENDSEC\n  0\nEOF\n".encode()


BOMB = b'<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "ha">' + b"".join(
    f'<!ENTITY {name} "{f"&{before};" * 10}">'.encode() for before, name in zip("abcdefgh", "bcdefghi", strict=True)
) + b'<!ENTITY end "&i;">]><svg xmlns="http://www.w3.org/2000/svg"><title>&end;</title></svg>'  # fmt: skip

MOST_SECONDS = 20.0
"""Seconds of processor time for one hostile file, however busy the machine is."""

HOSTILE = [
    ("billion laughs", BOMB, "entities"),
    ("external entity", b'<!DOCTYPE s [<!ENTITY x SYSTEM "file:///etc/hostname">]><svg><path d="&x;"/></svg>', "entities"),
    ("external picture", svg_bytes('<image href="http://example.org/a.png"/>'), "outside the file"),
    ("external clone", svg_bytes('<use href="other.svg#a"/>'), "outside the file"),
    ("clone of itself", svg_bytes('<g id="a"><use href="#a"/></g>'), "clone"),
    ("a million vertices", million(1_000_000), "more than 100000 points"),
    ("a million rows", many_rows(300_000), "more than 100000 points"),
    ("too many bytes", b"<svg>" + b" " * LARGEST_DRAWING + b"</svg>", "larger than 8 MB"),
    ("zero length", dxf_bytes(lambda space: space.add_lwpolyline([(1, 1)] * 5, close=True)), "with any length"),
    ("no radius", dxf_bytes(lambda space: space.add_circle((0, 0), 0)), "with any length"),
    ("all in one line", dxf_bytes(lambda space: space.add_lwpolyline([(0, 0), (90, 0), (40, 0)], close=True)), "no area"),
    ("crossing itself", dxf_bytes(lambda space: space.add_lwpolyline([(-90, -30), (150, 30), (150, -30), (-90, 40)],
                                                                     close=True)), "crosses"),
    ("not a number", dxf_bytes(lambda space: space.add_line((0, 0), (math.nan, 5))), "not a finite number"),
    ("infinite", svg_bytes('<path d="M0,0L1e999,5L5,5z"/>'), "finite|no curve"),
    ("not a number in SVG", svg_bytes('<path d="M 0 0 L nan 5"/>'), "no path"),
    ("no number in SVG", svg_bytes('<circle r="many"/>'), "no path"),
    ("open", dxf_bytes(lambda space: space.add_lwpolyline([(-90, -30), (150, -30), (150, 30), (-90, 30)])), "gap of 60 mm"),
    ("empty drawing", svg_bytes(""), "with any length"),
    ("empty file", b"  ", "is empty"),
    ("other bytes", b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "neither DXF nor SVG"),
    ("other XML", b"<html><body/></html>", "not an SVG"),
    ("cut off SVG", svg_bytes(svg_path(JACK))[:-30], "is no SVG"),
    ("cut off DXF", b"0\nSECTION\n2\nENTITIES\n0\nLINE\n10\n1", "with any length|cannot be read"),
    ("deep groups", svg_bytes("<g>" * 200 + "</g>" * 200), "too many elements"),
    ("huge page", svg_bytes(svg_path(JACK), 'width="9e99mm" height="1mm" viewBox="0 0 1 1"'), "no size"),
]  # fmt: skip


@pytest.mark.parametrize(("data", "message"), [one[1:] for one in HOSTILE], ids=[one[0] for one in HOSTILE])
def test_a_hostile_file_is_refused_soon_with_one_message(data: bytes, message: str, tmp_path: Path) -> None:
    path = tmp_path / "casting.dxf"
    path.write_bytes(data)
    began = time.process_time()
    with pytest.raises(InputProblem, match=message) as refused:
        clean_file(path, "outline", How(), "casting.outline_file")
    assert len(refused.value.problems) == 1
    assert "casting.outline_file" in str(refused.value)
    assert "\n" not in str(refused.value)
    assert time.process_time() - began < MOST_SECONDS


def test_forty_thousand_points_are_read_in_bounded_time() -> None:
    angles = np.linspace(0, math.tau, 40_001)[:-1]
    points = np.column_stack([30 + 122 * np.cos(angles), 30 * np.sin(angles)])
    path = "M" + "L".join(f"{x:.4f},{y:.4f}" for x, y in points) + "Z"
    found = cleaned(svg_bytes(f'<path d="{path}"/>'))
    assert area(found.outline) == pytest.approx(math.pi * 122 * 30, rel=1e-3)


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(st.binary(max_size=300))
def test_random_bytes_are_refused(data: bytes) -> None:
    with pytest.raises(InputProblem):
        cleaned(data)


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(place=st.floats(0, 1), junk=st.binary(min_size=1, max_size=12))
def test_a_drawing_with_junk_in_it_is_read_or_refused(place: float, junk: bytes) -> None:
    for data in (svg_bytes(svg_path(JACK)), dxf_bytes(bulged(JACK))[-3000:]):
        at = round(place * len(data))
        try:
            found = cleaned(data[:at] + junk + data[at:])
        except InputProblem:
            continue
        assert area(found.outline) > 0


@settings(max_examples=25)
@given(d=st.text(alphabet="MLHVCSQTAZmlhvcsqtaz0123456789.-+eE, ", max_size=80))
def test_any_path_is_read_or_refused(d: str) -> None:
    try:
        cleaned(svg_bytes(f'<path d="{d}"/>'))
    except InputProblem:
        return


def test_a_binary_dxf_is_read_like_one_in_text() -> None:
    import io

    from ezdxf.filemanagement import new

    document = new("R2010", units=4)
    loose_pieces(JACK)(document.modelspace())
    stream = io.BytesIO()
    document.write(stream, fmt="bin")
    assert b"\0" in stream.getvalue()
    assert apart(cleaned(stream.getvalue()).outline, JACK) < 1e-6
    with pytest.raises(InputProblem, match="cannot be read as DXF"):
        cleaned(stream.getvalue()[:300])
