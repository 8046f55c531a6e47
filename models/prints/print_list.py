"""All that a design has to print: gauges, bodies and jigs, and what it does not have, with the reason."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planestock.models.prints.bed import bed_of, bed_words, true_to
from planestock.models.prints.dowel_guide import dowel_guide
from planestock.models.prints.drill_guide import drill_guide
from planestock.models.prints.gauges import arches, mouth_gauge, seat_gauge
from planestock.models.prints.jigs import Jig
from planestock.models.prints.meshing import mesh_of, solid, without
from planestock.models.prints.paring_blocks import paring_blocks
from planestock.models.prints.pegs import socket_depth
from planestock.models.prints.print_groups import Group, Missing, Piece
from planestock.models.prints.split_body import HALF_SIZE, body_group
from planestock.models.prints.splitting import Making, split
from planestock.params.problems import InputProblem, Problem

if TYPE_CHECKING:
    from planestock.models.design import Design

SEAT_GAUGE, MOUTH_GAUGE = "seat gauge", "mouth gauge"

SHORT_DIGEST = 8
"""Letters of the digest on a piece: enough to tell one set from another on the bench."""

SEAT_SIDES = ((0.0, 0.0, -1.0), (0.0, 1.0, 0.0))
"""The seat gauge stands on its feet; where it is too long for that it lies on its right side, if the bed takes it whole."""

MOUTH_SIDES = ((0.0, 0.0, -1.0), (0.0, 1.0, 0.0))


@dataclass(frozen=True)
class Prints:
    """groups: what there is to print; missing: what set or printer do not allow; jigs: as they stand on the body."""

    groups: tuple[Group, ...]
    missing: tuple[Missing, ...]
    jigs: tuple[Jig, ...]


def prints(made: Design) -> Prints:
    """Return all test pieces and jigs of a design. Builds the solids.

    Raises InputProblem where the printer is too small for any test piece in full size, and KernelProblem.
    """
    making = making_of(made)
    tests = [_tried(name, make) for name, make in _tests(made, making)]
    if all(isinstance(one, Missing) for one in tests[:3]):
        _refuse(tests[0], making)
    jigs = jigs_of(made)
    groups = [*tests, *(_jig_group(one, making) for one in jigs)]
    return Prints(
        tuple(one for one in groups if isinstance(one, Group)),
        tuple(one for one in groups if isinstance(one, Missing)),
        tuple(one for one in jigs if isinstance(one, Jig)),
    )


def making_of(made: Design) -> Making:
    """Return what pieces are split by, from the set's printer."""
    printer = made.given.shop.printer
    return Making(bed_of(printer), printer.clearance.value, printer.nozzle.value, made.given.lengths)


def jigs_of(made: Design) -> list[Jig | Missing]:
    """Return every jig as it stands on the body, or why there is none."""
    words = (made.given.name, made.given.digest[:SHORT_DIGEST])
    at, shop, lengths = made.layout, made.given.shop, made.given.lengths
    return [drill_guide(at, shop, words, lengths), *paring_blocks(at, words, lengths), dowel_guide(at, shop, words, lengths)]


def _tests(made: Design, making: Making) -> Iterator[tuple[str, Callable[[], Group]]]:
    yield SEAT_GAUGE, lambda: seat_group(made, making)
    yield MOUTH_GAUGE, lambda: mouth_group(made, making)
    yield "body, full size", lambda: body_group(made.assembly, making, 1.0)
    yield "body, half size", lambda: body_group(made.assembly, making, HALF_SIZE)


def _tried(name: str, make: Callable[[], Group]) -> Group | Missing:
    """Return a group, or what is missing: a printer too small for one piece may well print another."""
    try:
        return make()
    except InputProblem as problem:
        return Missing(name, f"the printer's bed {problem.problems[0].rule}")


def _refuse(why: Group | Missing, making: Making) -> None:
    reason = why.why if isinstance(why, Missing) else ""
    rule = f"is too small for any test piece of this body in full size: {reason}"
    value = f"a bed of {bed_words(making.bed, making.lengths)}"
    raise InputProblem([Problem("shop.printer.x", value, rule, "enter a larger printer, or build without --prints")])


def seat_group(made: Design, making: Making) -> Group:
    """Return the seat gauge, thinned from below, in one piece where the bed takes it. Raises InputProblem."""
    at, given = made.layout, made.given
    whole = mesh_of(seat_gauge(at, given.name, given.digest[:SHORT_DIGEST]))
    parted = split(SEAT_GAUGE, whole, making, SEAT_SIDES)
    room = [socket_depth(joint.size, making.clearance) + making.wall for joint in parted.joints]
    keep = [(joint.x - deep, joint.x + deep) for joint, deep in zip(parted.joints, room, strict=True)]
    hollows = arches(at, making.nozzle, keep)
    pieces = [Piece(one.name, mesh_of(without(solid(one.mesh), hollows)), SEAT_SIDES) for one in parted.pieces]
    joints = tuple((SEAT_GAUGE, joint) for joint in parted.joints)
    use = (
        (
            "Press casting and frog into it as they go on the body, no iron yet. The casting must lie on the seat all round "
            "without rocking and go down over cove and tail; the frog's face must be one plane with the bed: lay a "
            "straightedge over both. Blacken the metal with a soft pencil and see where it leaves its mark."
        ),
        (
            "D marks the corner where bed and seat meet, E the iron's edge on the sole; the grooves on both ends are the "
            "middle. "
            f"What rubs or gapes by more than the print's own {true_to(given.lengths)} tells which reading to take again."
        ),
    )
    return Group(SEAT_GAUGE, use, (*pieces, *parted.pegs), (), joints)


def mouth_group(made: Design, making: Making) -> Group:
    """Return the mouth gauge. Raises InputProblem where the bed is too small for it."""
    at, given = made.layout, made.given
    piece = Piece(MOUTH_GAUGE, mesh_of(mouth_gauge(at, given.name, given.digest[:SHORT_DIGEST])), MOUTH_SIDES)
    use = (
        (
            "Lay the iron with its cap iron on the bed and push them down until the edge is level with the underside, "
            "which is the "
            "sole. Look in from the open side: the opening ahead of the edge, and the way a shaving goes between cap iron "
            "and wear. "
            "Push a strip of paper or a real shaving through."
        ),
        (
            "The bed runs through here without the frog's recess. Plastic is no bed for an iron: do not plane with it, and "
            "keep your fingers behind the edge."
        ),
    )
    return _fitting(Group(MOUTH_GAUGE, use, (piece,)), making)


def _fitting(group: Group, making: Making) -> Group:
    from planestock.models.prints.overhang import fits

    for piece in group.pieces:
        if not fits(piece, making.bed):
            x, y, z = sorted(piece.mesh.vertices.max(axis=0) - piece.mesh.vertices.min(axis=0))
            size = making.lengths.sizes(z, y, x, decimals=0 if making.lengths.units == "mm" else 1)
            rule = f"has no room for {size} in one piece"
            raise InputProblem([Problem("shop.printer.x", group.name, rule, "enter a larger printer")])
    return group


def _jig_group(one: Jig | Missing, making: Making) -> Group | Missing:
    """Return a jig as a group; the dowel guide may be split, the others lose their truth at a joint."""
    if isinstance(one, Missing):
        return one
    if one.name == "dowel guide":
        return _tried(one.name, lambda: _split_jig(one, making))
    return _tried(one.name, lambda: _fitting(Group(one.name, one.use, (one.piece,), one.notes), making))


def _split_jig(one: Jig, making: Making) -> Group:
    parted = split(one.name, one.piece.mesh, making, one.piece.downs)
    notes = (*one.notes, "Glue its pieces on a flat board, fences against a straight edge.") if parted.joints else one.notes
    pieces = (*parted.pieces, *parted.pegs) if parted.joints else (one.piece,)
    return Group(one.name, one.use, pieces, notes, tuple((one.name, joint) for joint in parted.joints))
