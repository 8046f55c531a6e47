"""The shop sheet's tables as rows of texts: layout, widths, drilling, angles, pieces."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from planestock.exports.wording.hole_steps import LEAST_LEAN
from planestock.exports.wording.inch import FINEST, INCH, MILLIMETRES, on_the_rule
from planestock.exports.wording.said import Said, angle, listed, number
from planestock.models.bench.angle_table import SLOPE_BASE, Slope, slopes
from planestock.models.bench.cut_list import (
    LENGTH_ALLOWANCE,
    THICKNESS_ALLOWANCE,
    WIDTH_ALLOWANCE,
    Piece,
    Size,
    cut_list,
    dowel_stock,
)
from planestock.models.bench.drill_table import Drilling, drillings, inch_bit, metric_bit
from planestock.models.bench.marks import Mark, Width, marks, widths
from planestock.models.design import Design

Cells = list[str]


@dataclass(frozen=True)
class Heads:
    """Heads of the columns whose figures have the set's unit."""

    from_toe: str
    up: str
    mark: str
    error: str
    from_middle: str
    where: str
    drill: Cells
    slope: str


def heads(said: Said) -> Heads:
    """Return the heads of the columns in the set's unit."""
    unit = said.units
    bit = ["Bit", "or"] if unit == "mm" else ["Bit"]
    return Heads(
        from_toe=f"from the toe, {unit}",
        up=f"above the sole, {unit}",
        mark="on the rule, in" if unit == "in" else "in",
        error=f"error, {unit}",
        from_middle=unit,
        where="where",
        drill=["Hole", f"Where, {unit}", f"Ø {unit}", f"Deep {unit}", "Drill leans", *bit, f"wider by, {unit}", "Remark"],
        slope=f"rise : run, {unit}",
    )


def rule(length: float, said: Said) -> Cells:
    """Return a length as three cells: in the set's unit, inch to 1/64, and what the mark is off by in the set's unit."""
    mark = on_the_rule(length)
    if said.units == "mm":
        return [said.bare(length), mark.text, mark.error_text]
    return [said.bare(length), mark.text, "0" if mark.error == 0 else said.lengths.signed(float(mark.error))]


def layout_table(made: Design) -> list[dict[str, Any]]:
    """Return the marks of each face: its name and rows of mark, from the toe (3 cells), above the sole (3 cells)."""
    found, said = marks(made.layout), Said(made.given.units)
    faces = {"sole": "On the sole", "inside face": "On the inside faces", "top": "On the top"}
    return [
        {"head": head, "rows": [_mark(mark, said) for mark in found if mark.face == face]} for face, head in faces.items()
    ]


def _mark(mark: Mark, said: Said) -> Cells:
    up = rule(mark.up, said) if mark.face == "inside face" else ["", "", ""]
    return [mark.name, *rule(mark.from_toe, said), *up]


def width_table(made: Design) -> list[Cells]:
    """Return the distances from the middle: what, where, and three cells."""
    said = Said(made.given.units)
    return [[one.name, _place(one, said), *rule(one.from_middle, said)] for one in widths(made.given, made.layout)]


def _place(one: Width, said: Said) -> str:
    return one.place if one.from_toe is None else f"{one.place}, {said.lengths.rough(one.from_toe)} from the toe"


def drill_table(made: Design) -> list[Cells]:
    """Return the holes: what, where, diameter, depth, lean, nearest bits, what the inch bit is wider by, remark."""
    said = Said(made.given.units)
    numbers = {one.from_toe: index for index, one in enumerate(_dowels(made), 1)}
    return [_drill(one, numbers, said) for one in drillings(made.given, made.layout)]


def _dowels(made: Design) -> list[Drilling]:
    return [one for one in drillings(made.given, made.layout) if one.kind == "dowel"]


def _drill(one: Drilling, numbers: dict[float, int], said: Said) -> Cells:
    name = f"dowel {numbers[one.from_toe]}" if one.kind == "dowel" else one.kind
    inch = inch_bit(one.diameter)
    bit = [metric_bit(one.diameter).name, inch.name] if said.units == "mm" else [inch.name]
    sizes = [said.bare(one.diameter), said.bare(one.depth)]
    return [name, _where(one, said), *sizes, _lean(one), *bit, said.lengths.signed(inch.over), _remark(one, said)]


def _where(one: Drilling, said: Said) -> str:
    if one.face == "mating face":
        return f"inside faces, {said.bare(one.from_toe)} from the toe, {said.bare(one.up)} up"
    pair = f", {said.bare(one.across)} to either side" if one.count == 2 else ", on the middle"
    if one.along is not None:
        return f"bed, {said.bare(abs(one.along))} {'below' if one.along <= 0 else 'above'} the corner D{pair}"
    return f"top, {said.bare(one.from_toe)} from the toe{pair}"


def _lean(one: Drilling) -> str:
    if abs(one.lean) < LEAST_LEAN:
        return "square"
    toward = (
        ("the sole" if one.lean > 0 else "the top") if one.face == "bed" else ("the heel" if one.lean > 0 else "the toe")
    )
    return f"{angle(abs(one.lean))}, point to {toward}"


def _remark(one: Drilling, said: Said) -> str:
    if one.kind == "dowel":
        return "in each half"
    if one.gauge is None:
        return ""
    shank = f"; shank Ø {said.fine(one.shank.diameter)}, {said.length(one.shank.depth)} deep" if one.shank else ""
    return f"pilot for No. {one.gauge}{shank}"


def angle_table(made: Design) -> list[Cells]:
    """Return the angles: what, for which tool, from the sole, from square, leans, rise and run."""
    said = Said(made.given.units)
    return [_slope(one, said) for one in slopes(made.given, made.layout)]


def _slope(one: Slope, said: Said) -> Cells:
    leans = f"to the {one.leans}" if one.leans else "–"
    if one.use == "drill" and one.leans:
        leans = f"point to the {one.leans}"
    elif one.leans:
        leans = f"top to the {one.leans}"
    legs = [number(leg, 1) if said.units == "mm" else on_the_rule(leg * INCH_BASE / SLOPE_BASE).text
            for leg in (one.rise, one.run)]  # fmt: skip
    return [one.name, one.use, f"{one.from_sole:.1f}°", f"{one.from_plumb:.1f}°", leans, " : ".join(legs)]


INCH_BASE = 4 * INCH
"""The longer leg of a slope in inches, mm."""


def piece_table(made: Design, said: Said) -> list[Cells]:
    """Return the pieces: name, count, wood, finished size, rough size, volumes, mass of one."""
    rows = [_piece(one, said) for one in cut_list(made.given, made.layout, made.masses)]
    dowels = dowel_stock(made.given, made.layout)
    if dowels:
        size = f"Ø {said.bore(dowels.diameter)} × {_sides((dowels.length,), said)}"
        rows.append(["dowel", str(dowels.count), "hard, straight-grained", size, "", *[""] * len(volume_heads(said)), ""])
    return rows


def volume_heads(said: Said) -> Cells:
    """Return the heads of the columns of volumes."""
    return ["Litres", "Board feet"] if said.units == "mm" else ["Board feet"]


def _piece(one: Piece, said: Said) -> Cells:
    mass = "" if one.mass is None else f"{one.mass:.0f} g"
    volumes = [f"{one.litres:.2f}", f"{one.board_feet:.2f}"][-len(volume_heads(said)) :]
    return [one.name, str(one.count), one.material, _size(one.finished, said), _rough(one.rough, said), *volumes, mass]


def _size(size: Size, said: Said) -> str:
    return _sides((size.length, size.width, size.thickness), said)


def _sides(sides: tuple[float, ...], said: Said) -> str:
    if said.units == "in":
        return " × ".join(on_the_rule(side).said.replace(" in", "", 1) for side in sides) + " in"
    return " × ".join(number(side) for side in sides) + " mm"


def _rough(size: Size, said: Said) -> str:
    """Return a rough size, each side rounded up: to whole millimetres, or to eighths of an inch."""
    step = float(MILLIMETRES) / 8 if said.units == "in" else 1.0
    up = [math.ceil(side / step - 1 / FINEST) * step for side in (size.length, size.width, size.thickness)]
    return _sides(tuple(up), said)


def wood_to_buy(made: Design) -> str:
    """Return what the table of pieces comes to: how sizes are given, allowances, volume to buy, mass of the body."""
    said = Said(made.given.units)
    pieces = cut_list(made.given, made.layout, made.masses)
    feet = f"{sum(one.board_feet for one in pieces):.2f} board feet"
    litres = f"{sum(one.litres for one in pieces):.2f} litres or " if said.units == "mm" else ""
    added = listed([said.length(one) for one in (LENGTH_ALLOWANCE, WIDTH_ALLOWANCE, THICKNESS_ALLOWANCE)])
    return (
        f"Sizes are length along the grain × width × thickness. Rough sizes add {added}, rounded up (common practice, no "
        f"published source). In all {litres}{feet} to buy; the finished body weighs {made.mass:.0f} g without the metal, at "
        f"{number(made.seasons.worked.moisture)} % moisture content."
    )
