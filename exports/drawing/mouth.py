"""The section at the mouth with iron and cap iron, and how the mouth opens as the sole is trued. Datum: the sole."""

from __future__ import annotations

from collections.abc import Iterator

from planestock.exports.drawing.labels import Label, labelled
from planestock.exports.drawing.model import Area, Item, Layer, Stroke, View
from planestock.exports.drawing.pen import Level, Pen, between, degrees, running
from planestock.models.bench.marks import MouthWear, mouth_wear
from planestock.models.body.layout import Layout
from planestock.models.body.metal_outlines import cap_iron_outline, frog_outlines, iron_outline, iron_place
from planestock.models.body.side_section import at_height, front_block, rear_block
from planestock.models.design import Design
from planestock.models.window import reach
from planestock.params.outlines.clipping import clip_piece, polygon_within
from planestock.params.outlines.pieces import Bounds, Outline, Point, flattened
from planestock.params.outlines.polygons import chain

SECTION_SCALE = 2.0
"""The section is drawn at twice its size (ISO 5455)."""

AHEAD, BEHIND, ABOVE, BELOW = 22.0, 56.0, 36.0, 3.0
"""What the section shows around the mouth's front, mm."""

CHORD = 0.02
"""How far chords may stray from an arc in a tinted area, mm."""

WOOD, IRON, CAP, CAST = 0.07, 0.4, 0.25, 0.15
"""Tints of what is cut."""


def mouth_section(made: Design) -> View:
    """Return the section on the mid-plane around the mouth, the iron's edge level with the sole."""
    at, given = made.layout, made.given
    pen = Pen(SECTION_SCALE, given.units)
    front = at.mouth_front[0]
    window = Bounds(front - AHEAD, -BELOW, front + BEHIND, min(ABOVE, at.height + 4.0))
    place = iron_place(given, at, 0.0)
    items: list[Item] = []
    cut: tuple[tuple[Layer, Outline, float], ...] = (
        ("outline", front_block(at), WOOD),
        ("outline", rear_block(at), WOOD),
        ("metal", frog_outlines(given, at)[0], CAST),
        ("metal", iron_outline(given, at, place), IRON),
        ("metal", cap_iron_outline(given, at, place), CAP),
    )
    for layer, outline, shade in cut:
        items += _section(layer, outline, shade, window)
    items += _wear_height(pen, at)
    found = labelled(pen, items, list(_labels(made, pen)), window.grown(pen.paper(6.0)))
    return View("mouth-section", f"Section at the mouth, {SECTION_SCALE:g} : 1", tuple(found), SECTION_SCALE)


def _section(layer: Layer, outline: Outline, shade: float, window: Bounds) -> Iterator[Item]:
    corners = polygon_within(flattened(outline, CHORD), window)
    if len(corners) > 2:
        yield Area("sections", tuple(corners), shade)
    for piece in outline:
        for part in clip_piece(piece, window):
            yield Stroke(layer, (part,), "wide")


def _wear_height(pen: Pen, at: Layout) -> Iterator[Item]:
    x = at.mouth_front[0] - pen.paper(10.0)
    yield Stroke(
        "dimensions", chain((at.wear_top[0] - pen.paper(1.0), at.wear_top[1]), (x - pen.paper(1.0), at.wear_top[1]))
    )
    yield from between(pen, (x, 0.0), (x, at.wear_top[1]), pen.figure(at.wear_top[1]))


def _labels(made: Design, pen: Pen) -> Iterator[Label]:
    given, at = made.given, made.layout
    place = iron_place(given, at, 0.0)
    t = given.iron.thickness.value
    yield Label(f"opening {pen.figure(given.throat.opening.value)}", ((at.mouth_front[0] + at.edge[0]) / 2, 0.0))
    yield Label(f"wear, {degrees(given.throat.wear_lean.value)} from plumb", _between(at.mouth_front, at.wear_top, 0.6))
    high = at_height(at.wear_top, at.breast_top, min(ABOVE * 0.75, at.height * 0.8))
    yield Label(f"breast, {degrees(given.throat.breast_lean.value)} from plumb", high)
    yield Label(f"bed, {degrees(at.bed_angle)} from the sole", _between(at.bed_foot, at.corner, 0.16))
    yield Label(f"iron, {pen.figure(t)} thick", at.on_the_bed(place.along + 30.0, t / 2))
    yield Label(
        f"cap iron, set back {pen.figure(given.cap_iron.setback.value)}",
        at.on_the_bed(place.along + given.cap_iron.setback.value + 4.0, t + 1.5),
    )
    clearance = float(reach.clearance_angle(at.bed_angle, given.iron.bevel_angle.value))
    yield Label(f"clearance angle {degrees(clearance)}", _between(at.edge, at.on_the_bed(place.along + 4.0, 0.0), 0.5))
    if at.recess is not None:
        yield Label(
            f"frog's foot, recess {pen.figure(given.frog.recess_depth.value)} deep",
            _between(at.recess[1], at.recess[2], 0.3),
        )


def _between(start: Point, end: Point, share: float) -> Point:
    return (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))


WEAR_SCALES = (20.0, 10.0, 5.0, 2.0, 1.0)
"""Enlargements (ISO 5455) for the mouth's wear, the largest that fits."""

WEAR_ROOM = (110.0, 60.0)
"""Room for the picture of the mouth's wear, along and up, mm on paper, its words left aside."""

MOST_SOLES = 9
"""Soles that get a figure; of more truings, some between the first and the last are left out."""


def mouth_wear_view(made: Design) -> View:
    """Return the mouth from the side, greatly enlarged, with the sole now and after truings; figures are the openings."""
    at, worn = made.layout, mouth_wear(made.given, made.layout)
    first, last = worn[0], worn[-1]
    wide, deep = last.foot - last.front, last.sole + 0.4
    scale = next(one for one in WEAR_SCALES if one == 1 or (wide * one <= WEAR_ROOM[0] and deep * one <= WEAR_ROOM[1]))
    pen = Pen(scale, made.given.units)
    beside = pen.paper(12.0)
    window = Bounds(last.front - beside, -pen.paper(1.0), last.foot + beside, last.sole + pen.paper(8.0))
    items = [*_section("outline", front_block(at), WOOD, window), *_section("outline", rear_block(at), WOOD, window)]
    iron = _section("metal", iron_outline(made.given, at, iron_place(made.given, at, 0.0)), IRON, window)
    items += [item for item in iron if isinstance(item, Stroke)]
    for wear in _shown(worn)[1:]:
        items.append(Stroke("mouth", chain((window.left, wear.sole), (wear.front, wear.sole)), "narrow"))
        items.append(Stroke("mouth", chain((wear.foot, wear.sole), (window.right, wear.sole)), "narrow"))
    for wear in (first, last) if len(worn) > 1 else (first,):
        items += between(pen, (wear.front, wear.sole), (wear.edge, wear.sole), pen.figure(wear.opening))
    levels = [Level(wear.sole, window.right, _said(wear), f"opening {pen.figure(wear.opening)}") for wear in _shown(worn)]
    items += running(pen, "right", window.right, levels)
    return View("mouth-wear", f"The mouth as the sole is trued, {scale:g} : 1", tuple(items), scale)


def _said(wear: MouthWear) -> str:
    return "now" if wear.truings == 0 else f"after {wear.truings} truing{'s' if wear.truings > 1 else ''}"


def _shown(worn: tuple[MouthWear, ...]) -> list[MouthWear]:
    """Return all truings, or evenly spread ones where there are too many; now and the last are always among them."""
    count = min(MOST_SOLES, len(worn))
    return [worn[round(index * (len(worn) - 1) / max(1, count - 1))] for index in range(count)]
