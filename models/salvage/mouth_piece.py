"""The mouth piece: a mouth worn or cut too wide is narrowed by a piece let into the sole ahead of it, nothing else moves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from planestock.models.salvage.as_cut import (
    LEAST_CHANGE,
    STILL,
    AsCut,
    Mouth,
    Piece,
    Plan,
    narrowed_mouth,
    thick_enough_to_narrow,
    upwards,
)

LEAST_THICKNESS = 6.0
"""Thinnest piece worth letting in, mm, truings still to come not counted; common practice, no published source."""

LEAST_LENGTH = 30.0
"""Shortest piece along the body, mm: the shaving presses on its rear end; common practice, no published source."""

LENGTHS_TO_THICKNESS = 3.0
"""Times as long as it is thick that a piece is at least, so that its floor holds more glue than its end; common practice, no
published source."""

AHEAD = 10.0
"""Wood left between the piece and the toe, mm; common practice, no published source."""

BELOW_A_HOLE = 2.0
"""Wood left between the piece and a hole above it, mm."""


def mouth_piece(cut: AsCut) -> Plan:
    """Return the mouth piece: thickness, seat and metal stay as they are, and the mouth becomes as wide as is wanted.

    Its rear end is the new wear: it leans from the new mouth's front to the old front wall at the piece's floor.
    """
    wanted = cut.given.throat.opening.value
    mouth = piece_mouth(cut)
    piece = _piece(cut, mouth.wear_height)
    changes = (
        f"body.thickness={cut.written}",
        f"throat.wear_height={cut.length.written(mouth.wear_height)}",
        f"throat.wear_lean={_number(mouth.wear_lean)} deg",
    )
    surfaces = ("bed of the mouth piece", "sole at the mouth", *(("front wall",) if mouth.pared_breast > 0 else ()))
    idle = cut.opening - wanted < LEAST_CHANGE
    refused = ("the mouth is not too wide",) if idle else tuple(_refused(cut, piece))
    return Plan("mouth piece", cut.thickness, STILL, mouth, piece, piece.volume, surfaces, (), changes, changes, refused)


def piece_mouth(cut: AsCut) -> Mouth:
    """Return the mouth that the piece makes; its wear is as high as the piece is thick."""
    work = cut.given.work
    least = LEAST_THICKNESS + work.truings * work.truing_depth.value
    too_wide = cut.opening - cut.given.throat.opening.value
    thickness = upwards(max(least, thick_enough_to_narrow(cut, too_wide)), cut.step)
    return replace(narrowed_mouth(cut, 0.0, thickness), followed=cut.opening)


def _piece(cut: AsCut, thickness: float) -> Piece:
    """Return the piece: as wide as the throat, so that its rear end closes the whole mouth and no cheek is cut."""
    length = max(LEAST_LENGTH, LENGTHS_TO_THICKNESS * thickness)
    width = 2 * cut.at.throat_half_width
    return Piece(length, width, thickness, 0.0, (length - _reaches(cut) + thickness) * width + 2 * length * thickness)


def _reaches(cut: AsCut) -> float:
    """Return how far the piece reaches into the old mouth, mm."""
    return cut.opening - cut.given.throat.opening.value


def piece_ends(cut: AsCut, piece: Piece) -> tuple[float, float]:
    """Return where the piece begins and ends on the sole, mm from the toe."""
    rear = cut.at.edge[0] - cut.given.throat.opening.value
    return rear - piece.length, rear


def _refused(cut: AsCut, piece: Piece) -> Iterator[str]:
    front, rear = piece_ends(cut, piece)
    length = cut.length
    if front < AHEAD:
        mouth = length.rough(rear)
        yield f"a piece {length.rough(piece.length)} long leaves no wood ahead of it; the mouth is {mouth} from the toe"
    for hole in cut.at.holes:
        floor = hole.start[2] + hole.direction[2] * hole.depth
        near = front - hole.radius < hole.start[0] < rear + hole.radius and abs(hole.start[1]) < piece.width / 2
        if near and floor < piece.thickness + BELOW_A_HOLE:
            yield f"{hole.said} comes down to {length(floor)} above the sole, where the piece would be"


def piece_steps(cut: AsCut, plan: Plan) -> Iterator[str]:
    """Yield the steps of a mouth piece in order, as sentences."""
    piece, mouth = plan.piece, plan.mouth
    assert piece is not None, "a mouth piece has a piece"
    front, rear = piece_ends(cut, piece)
    reaches, length = _reaches(cut), cut.length
    places = 1 if length.units == "mm" else 2
    sizes = length.sizes(piece.length, piece.width, piece.thickness + 1, decimals=places)
    yield "Take out the iron and plane the sole flat."
    yield (
        f"Ahead of the mouth, from {length.span(front, rear - reaches)} from the toe, sink the sole "
        f"{length(piece.thickness)} deep and {length(piece.width)} wide, as wide as the throat: its front end square, its "
        "floor flat, open to the mouth."
    )
    yield (
        f"Fit a piece of dense, dry wood {sizes} into it, "
        f"grain along the body, its rear end leaning {mouth.wear_lean:.1f}° to the toe so that it meets the old front wall "
        f"at the floor. It reaches {length(reaches)} into the old mouth. Glue {length.area(piece.glue_area)}, kept out of "
        "the throat."
    )
    if mouth.pared_breast > 0:
        yield f"Above the piece pare the old wear back to the line of the breast, {length(mouth.pared_breast)} at its top."
    yield (
        "When the glue is hard, plane the piece flush with the sole, draw the iron back into the mouth, and pare the "
        f"piece's rear end until the mouth is {length(mouth.opening)} wide, from the edge to its front, along the sole."
    )


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")
