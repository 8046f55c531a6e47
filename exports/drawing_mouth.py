"""The section at the mouth with iron and cap iron, and how the mouth opens as the sole is trued. Datum: the sole."""

from __future__ import annotations

from collections.abc import Iterator

from planestock.exports.clipping import clip_piece, polygon_within
from planestock.exports.drawing import Area, Box, Item, Layer, Stroke, View, chain
from planestock.exports.drawing_labels import Label, labelled
from planestock.exports.drawing_pen import Pen, between, degrees
from planestock.models import reach
from planestock.models.bench_marks import MouthWear, mouth_wear
from planestock.models.design import Design
from planestock.models.layout import Layout
from planestock.models.metal_outlines import cap_iron_outline, frog_outlines, iron_outline, iron_place
from planestock.models.shapes import Outline, Point, flattened
from planestock.models.side_section import at_height, front_block, rear_block

SECTION_SCALE = 2.0
"""The section is drawn at twice its size (ISO 5455)."""

AHEAD, BEHIND, ABOVE, BELOW = 22.0, 56.0, 42.0, 3.0
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
    window = Box(front - AHEAD, -BELOW, front + BEHIND, min(ABOVE, at.height + 4.0))
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
    lines = [item for item in items if isinstance(item, Stroke)]
    shown = [*items, *_wear_height(pen, at)]
    room = window.grown(pen.paper(6.0))
    found = labelled(pen, [*shown], list(_labels(made, pen)), room)
    return View("mouth-section", "Section at the mouth", tuple(found), SECTION_SCALE) if lines else View("", "", ())


def _section(layer: Layer, outline: Outline, shade: float, window: Box) -> Iterator[Item]:
    corners = polygon_within(flattened(outline, CHORD), window)
    if len(corners) > 2:
        yield Area("sections", tuple(corners), shade)
    for piece in outline:
        for part in clip_piece(piece, window):
            yield Stroke(layer, (part,), "wide")


def _wear_height(pen: Pen, at: Layout) -> Iterator[Item]:
    x = at.mouth_front[0] - pen.paper(10.0)
    yield Stroke("dimensions", chain((at.wear_top[0] - pen.paper(1.0), at.wear_top[1]), (x - pen.paper(1.0), at.wear_top[1])))
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
    yield Label(f"cap iron, set back {pen.figure(given.cap_iron.setback.value)}", at.on_the_bed(place.along + given.cap_iron.setback.value + 4.0, t + 1.5))
    clearance = float(reach.clearance_angle(at.bed_angle, given.iron.bevel_angle.value))
    yield Label(f"clearance angle {degrees(clearance)}", _between(at.edge, at.on_the_bed(place.along + 4.0, 0.0), 0.5))
    if at.recess is not None:
        yield Label(f"frog's foot, recess {pen.figure(given.frog.recess_depth.value)} deep", _between(at.recess[1], at.recess[2], 0.3))


def _between(start: Point, end: Point, share: float) -> Point:
    return (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))


WEAR_SCALES = (20.0, 10.0, 5.0, 2.0)
"""Enlargements (ISO 5455) for the mouth's wear, the largest that fits."""

WEAR_ROOM = (110.0, 70.0)
"""Room for the picture of the mouth's wear, along and up, mm on paper, its words left aside."""

LEAST_STEP = 5.0
"""Least distance of two soles that both get a figure, mm on paper."""


def mouth_wear_view(made: Design) -> View:
    """Return the mouth from the side, greatly enlarged, with the sole now and after truings; figures are the openings."""
    at, worn = made.layout, mouth_wear(made.given, made.layout)
    deep, left, right = worn[-1].sole, worn[-1].front - 0.6, worn[-1].foot + 1.2
    scale = next((one for one in WEAR_SCALES if (right - left) * one <= WEAR_ROOM[0] and (deep + 0.8) * one <= WEAR_ROOM[1]), 1.0)
    pen = Pen(scale, made.given.units)
    edge = pen.paper(12.0)
    window = Box(left - edge, -pen.paper(1.0), right + edge, deep + pen.paper(9.0))
    place = iron_place(made.given, at, 0.0)
    items: list[Item] = []
    for layer, outline, shade in (("outline", front_block(at), WOOD), ("outline", rear_block(at), WOOD),
                                  ("metal", iron_outline(made.given, at, place), 0.0)):  # fmt: skip
        items += [item for item in _section(layer, outline, shade, window) if shade or isinstance(item, Stroke)]  # type: ignore[arg-type]
    for wear in _shown(worn, pen):
        items += _sole_after(pen, wear, window)
    name = f"Mouth as the sole is trued, {scale:g} : 1"
    return View("mouth-wear", name, tuple(items), scale)


def _shown(worn: tuple[MouthWear, ...], pen: Pen) -> list[MouthWear]:
    """Return now, the last truing, and as many between as keep their distance."""
    apart = pen.paper(LEAST_STEP)
    kept = [worn[0]]
    for wear in worn[1:-1]:
        if wear.sole - kept[-1].sole >= apart and worn[-1].sole - wear.sole >= apart:
            kept.append(wear)
    return [*kept, worn[-1]] if len(worn) > 1 else kept


def _sole_after(pen: Pen, wear: MouthWear, window: Box) -> Iterator[Item]:
    if wear.truings:
        yield Stroke("mouth", chain((window.left, wear.sole), (wear.front, wear.sole)), "narrow")
        yield Stroke("mouth", chain((wear.foot, wear.sole), (window.right, wear.sole)), "narrow")
    yield from between(pen, (wear.front, wear.sole), (wear.edge, wear.sole), pen.figure(wear.opening))
    said = "now" if wear.truings == 0 else f"after {wear.truings}"
    from planestock.exports.drawing import Words

    yield Words("text", said, (window.right + pen.paper(1.5), wear.sole - 0.24 * pen.size), pen.size)
