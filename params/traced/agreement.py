"""Whether a traced outline or profile in a set can be that of the casting whose readings stand beside it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING

from planestock.params.outlines.along import directions, height_on
from planestock.params.outlines.path_text import is_closed, read
from planestock.params.outlines.pieces import Outline, bounds, flattened
from planestock.params.problems import InputProblem, Problem
from planestock.params.traced.cleaning import UPRIGHT, Kind, uncrossed, wrong_scale

if TYPE_CHECKING:
    from planestock.params.metal import Casting

LENGTHS_AGREE = (0.8, 1.25)
"""Shares of the length by the readings between which a drawing can be that casting's; outside it is of another scale."""

WIDTHS_AGREE = (0.6, 1.6)
"""The same of the width; wider, as a waist or a bulge between the measured ends is the reason to trace."""

ENDS_AGREE = 0.15
"""Share of the length by which an end may lie elsewhere than its reading: more, and the drawing is not placed at D."""

MIDDLE_AGREES = 0.15
"""Share of the width by which the outline's middle may lie beside the middle line before it is taken to be misplaced."""

FLAT_SEAT = 0.3
"""How far the underside may stray from the seat plane ahead of the cove, mm; more, and it is not placed on it."""

BLUNT = 4.0
"""Length at the front end, mm, over which a traced underside may round off and is not held to the seat plane."""


def traced_faults(casting: Casting) -> Iterator[Problem]:
    """Yield what is wrong with the traced shapes of a casting. A file that is not read yet is a fault of its own."""
    for kind, name in (("outline", casting.outline_file), ("profile", casting.profile_file)):
        if name is not None:
            yield Problem(
                f"casting.{kind}_file",
                name[:80],
                "names a file, and none is read on behalf of a page or a pipe",
                "open the set from its folder again once the rest is mended; or build SET writes one that carries it",
            )
    if casting.outline is not None:
        found = list(text_faults(casting.outline, "outline"))
        yield from found or _outline_misplaced(casting, read(casting.outline, "casting.outline"))
    if casting.profile is not None:
        found = list(text_faults(casting.profile, "profile"))
        yield from found or _profile_misplaced(casting, read(casting.profile, "casting.profile"))


@lru_cache(maxsize=64)
def text_faults(text: str, kind: Kind) -> tuple[Problem, ...]:
    """Return what is wrong with path data by itself: not readable, open, crossing itself, running back."""
    path = f"casting.{kind}"
    try:
        pieces = read(text, path)
        if kind == "outline" and not is_closed(pieces):
            return (Problem(path, f"{len(pieces)} pieces", "does not close upon itself", "end the path with Z"),)
        if kind == "profile" and any(
            min(way[0] for way in directions(piece)) < -UPRIGHT or piece.end[0] <= piece.start[0] for piece in pieces
        ):
            return (Problem(path, f"{len(pieces)} pieces", "runs back under itself", "draw it from front end to rear end"),)
        uncrossed(pieces, kind, path)
    except InputProblem as found:
        return found.problems
    return ()


def _outline_misplaced(casting: Casting, pieces: Outline) -> Iterator[Problem]:
    box = bounds(pieces)
    yield from _length_wrong(casting, "outline", box.left, box.right)
    widest = max(casting.front_width.value, casting.rear_width.value)
    if not WIDTHS_AGREE[0] * widest <= box.height <= WIDTHS_AGREE[1] * widest:
        yield Problem(
            "casting.outline",
            f"{box.height:.4g} mm wide",
            f"is far from the readings, {widest:.4g} mm across",
            "check the drawing's unit and scale, and casting.front_width and rear_width",
        )
    elif abs(box.low + box.high) / 2 > MIDDLE_AGREES * box.height:
        yield Problem(
            "casting.outline",
            f"y {box.low:.4g} to {box.high:.4g} mm",
            "does not lie on both sides of the middle line",
            "move the drawing so that its x axis is the casting's middle line, or place it by two marks",
        )


def _profile_misplaced(casting: Casting, pieces: Outline) -> Iterator[Problem]:
    left, right = pieces[0].start[0], pieces[-1].end[0]
    wrong = list(_length_wrong(casting, "profile", left, right))
    yield from wrong
    points = [*flattened(pieces, 0.01), pieces[-1].end]
    ahead = [_height(pieces, left + BLUNT + share * (-left - BLUNT)) for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    ahead += [z for x, z in points if left + BLUNT < x <= 0.0]
    if not wrong and max((abs(z) for z in ahead), default=0.0) > FLAT_SEAT:
        worst = max(ahead, key=abs)
        yield Problem(
            "casting.profile",
            f"z {worst:.3g} mm ahead of D",
            "does not lie on the seat plane, which is z = 0",
            "move or turn the drawing so that the underside between front end and D lies on its x axis",
        )
    elif not wrong and max(z for x, z in points if x > 0.0) > FLAT_SEAT:
        highest = max(z for x, z in points if x > 0.0)
        yield Problem(
            "casting.profile",
            f"z {highest:.3g} mm behind D",
            "rises above the seat plane",
            "z points up from the seat plane, and the wood lies below it; turn the drawing over",
        )


def _height(pieces: Outline, x: float) -> float:
    piece = next((piece for piece in pieces if piece.start[0] <= x <= piece.end[0]), None)
    return 0.0 if piece is None else height_on(piece, x)


def _length_wrong(casting: Casting, kind: Kind, left: float, right: float) -> Iterator[Problem]:
    front, rear = casting.front.value, casting.rear.value
    long, asked = right - left, rear - front
    path = f"casting.{kind}"
    if not LENGTHS_AGREE[0] * asked <= long <= LENGTHS_AGREE[1] * asked:
        cause = wrong_scale(long / asked)
        yield Problem(
            path,
            f"{long:.4g} mm long",
            f"is far from the readings, {asked:.4g} mm from casting.front to rear",
            f'{cause}; set casting.tracing.unit to "mm" or "in", or scale the drawing'
            if cause
            else "check the drawing's unit and scale, and casting.front and rear",
        )
    elif max(abs(left - front), abs(right - rear)) > ENDS_AGREE * asked:
        turned = abs(left + rear) + abs(right + front) < abs(left - front) + abs(right - rear)
        yield Problem(
            path,
            f"x {left:.4g} to {right:.4g} mm",
            f"is not where the readings are, {front:.4g} to {rear:.4g} mm from D",
            "it lies the other way round: x must point from D towards the heel"
            if turned
            else "move the drawing so that D is its origin, or place it by two marks",
        )
