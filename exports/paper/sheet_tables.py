"""The shop sheet's tables as rows of texts: layout, widths, drilling, angles, pieces."""

from __future__ import annotations

import math
from typing import Any

from planestock.exports.inch import FINEST, MILLIMETRES, on_the_rule, signed
from planestock.exports.paper.said import Said, angle, number
from planestock.models.bench.angle_table import Slope, slopes
from planestock.models.bench.cut_list import Piece, Size, cut_list, dowel_stock
from planestock.models.bench.drill_table import Drilling, drillings, inch_bit, metric_bit
from planestock.models.bench.marks import Mark, marks, widths
from planestock.models.design import Design

Cells = list[str]


def rule(length: float) -> Cells:
    """Return a length as three cells: mm, inch to 1/64, and what the mark is off by in mm."""
    mark = on_the_rule(length)
    return [f"{length:.2f}".replace("-", "−"), mark.text, mark.error_text]


def layout_table(made: Design) -> list[dict[str, Any]]:
    """Return the marks of each face: its name and rows of mark, from the toe (3 cells), above the sole (3 cells)."""
    found = marks(made.layout)
    heads = {"sole": "On the sole", "inside face": "On the inside faces", "top": "On the top"}
    return [{"head": head, "rows": [_mark(mark) for mark in found if mark.face == face]} for face, head in heads.items()]


def _mark(mark: Mark) -> Cells:
    up = rule(mark.up) if mark.face == "inside face" else ["", "", ""]
    return [mark.name, *rule(mark.from_toe), *up]


def width_table(made: Design) -> list[Cells]:
    """Return the distances from the middle: what, where, and three cells."""
    return [[one.name, one.place, *rule(one.from_middle)] for one in widths(made.given, made.layout)]


def drill_table(made: Design) -> list[Cells]:
    """Return the holes: what, where, diameter, depth, lean, metric bit, inch bit, remark."""
    numbers = {one.from_toe: index for index, one in enumerate(_dowels(made), 1)}
    return [_drill(one, numbers) for one in drillings(made.given, made.layout)]


def _dowels(made: Design) -> list[Drilling]:
    return [one for one in drillings(made.given, made.layout) if one.kind == "dowel"]


def _drill(one: Drilling, numbers: dict[float, int]) -> Cells:
    name = f"dowel {numbers[one.from_toe]}" if one.kind == "dowel" else one.kind
    metric, inch = metric_bit(one.diameter), inch_bit(one.diameter)
    sizes = [f"{one.diameter:.2f}", f"{one.depth:.1f}"]
    return [name, _where(one), *sizes, _lean(one), metric.name, inch.name, signed(inch.over), _remark(one)]


def _where(one: Drilling) -> str:
    if one.face == "mating face":
        return f"inside faces, {number(one.from_toe, 2)} from the toe, {number(one.up, 2)} up"
    pair = f", {number(one.across, 2)} to either side" if one.count == 2 else ", on the middle"
    if one.along is not None:
        return f"bed, {number(-one.along, 2)} {'below' if one.along <= 0 else 'above'} the corner D{pair}".replace("−", "")
    return f"top, {number(one.from_toe, 2)} from the toe{pair}"


def _lean(one: Drilling) -> str:
    if abs(one.lean) < 0.05:
        return "square"
    toward = (
        ("the sole" if one.lean > 0 else "the top") if one.face == "bed" else ("the heel" if one.lean > 0 else "the toe")
    )
    return f"{angle(abs(one.lean))}, point to {toward}"


def _remark(one: Drilling) -> str:
    if one.kind == "dowel":
        return "in each half"
    if one.gauge is None:
        return ""
    shank = f"; shank {one.shank.diameter:.1f}, {one.shank.depth:.1f} deep" if one.shank else ""
    return f"pilot for No. {one.gauge}{shank}"


def angle_table(made: Design) -> list[Cells]:
    """Return the angles: what, for which tool, from the sole, from square, leans, rise and run."""
    return [_slope(one) for one in slopes(made.given, made.layout)]


def _slope(one: Slope) -> Cells:
    leans = f"to the {one.leans}" if one.leans else "–"
    if one.use == "drill" and one.leans:
        leans = f"point to the {one.leans}"
    elif one.leans:
        leans = f"top to the {one.leans}"
    return [one.name, one.use, f"{one.from_sole:.1f}°", f"{one.from_plumb:.1f}°", leans, f"{one.rise:.1f} : {one.run:.1f}"]


def piece_table(made: Design, said: Said) -> list[Cells]:
    """Return the pieces: name, count, wood, finished size, rough size, litres, board feet, mass of one finished."""
    rows = [_piece(one, said) for one in cut_list(made.given, made.layout, made.masses)]
    dowels = dowel_stock(made.given, made.layout)
    if dowels:
        size = "Ø " + _sides((dowels.diameter, dowels.length), said)
        rows.append(["dowel", str(dowels.count), "hard, straight-grained", size, "", "", "", ""])
    return rows


def _piece(one: Piece, said: Said) -> Cells:
    mass = "" if one.mass is None else f"{one.mass:.0f} g"
    return [one.name, str(one.count), one.material, _size(one.finished, said), _rough(one.rough, said), f"{one.litres:.2f}",
            f"{one.board_feet:.2f}", mass]  # fmt: skip


def _size(size: Size, said: Said) -> str:
    return _sides((size.length, size.width, size.thickness), said)


def _sides(sides: tuple[float, ...], said: Said) -> str:
    if said.units == "in":
        return " × ".join(on_the_rule(side).text for side in sides) + " in"
    return " × ".join(number(side) for side in sides) + " mm"


def _rough(size: Size, said: Said) -> str:
    """Return a rough size, each side rounded up: to whole millimetres, or to eighths of an inch."""
    step = float(MILLIMETRES) / 8 if said.units == "in" else 1.0
    up = [math.ceil(side / step - 1 / FINEST) * step for side in (size.length, size.width, size.thickness)]
    return _sides(tuple(up), said)


def totals(made: Design) -> dict[str, str]:
    """Return rough volume of all pieces and the mass of the finished body."""
    pieces = cut_list(made.given, made.layout, made.masses)
    return {
        "litres": f"{sum(one.litres for one in pieces):.2f}",
        "board_feet": f"{sum(one.board_feet for one in pieces):.2f}",
        "mass": f"{made.mass:.0f}",
        "moisture": number(made.seasons.worked.moisture),
    }
