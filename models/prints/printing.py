"""How all pieces lie and on which plates they go: what the files and the list are written from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planestock.models.prints.bed import Bed, Places, bed_of, plates
from planestock.models.prints.filament import Estimate, filament
from planestock.models.prints.overhang import Lying, lie
from planestock.models.prints.print_groups import Group, Missing
from planestock.models.prints.print_list import prints
from planestock.models.prints.thin_walls import ThinWall, thin_wall
from planestock.params.problems import InputProblem, Problem
from planestock.params.wanted import Shop

if TYPE_CHECKING:
    from planestock.models.design import Design


@dataclass(frozen=True, eq=False)
class Printed:
    """One piece ready to print. thin: its worst layer, None where every wall is thick enough."""

    lying: Lying
    filament: Estimate
    thin: ThinWall | None


@dataclass(frozen=True, eq=False)
class Job:
    """One group ready to print. plates: on each, pieces by their index in `pieces` with the place of their corner."""

    group: Group
    pieces: tuple[Printed, ...]
    plates: tuple[Places, ...]


def jobs(made: Design) -> tuple[tuple[Job, ...], tuple[Missing, ...]]:
    """Return everything to print, laid out on plates, and what is missing. Raises InputProblem, KernelProblem."""
    found = prints(made)
    return tuple(job(group, made.given.shop) for group in found.groups), found.missing


def job(group: Group, shop: Shop) -> Job:
    """Return one group ready to print."""
    bed = bed_of(shop.printer)
    pieces = tuple(_printed(lying, shop) for lying in _lying(group, bed, shop.filament.overhang.value))
    footprints = [piece.lying.size[:2] for piece in pieces]
    return Job(group, pieces, tuple(plates(footprints, bed)))


def _lying(group: Group, bed: Bed, limit: float) -> Sequence[Lying]:
    found = []
    for piece in group.pieces:
        lying = lie(piece, bed, limit)
        if lying is None:
            raise InputProblem(
                [Problem("shop.printer.x", piece.name, "does not fit the printer's bed", "enter a larger bed")]
            )
        found.append(lying)
    return found


def _printed(lying: Lying, shop: Shop) -> Printed:
    return Printed(lying, filament(lying.mesh, shop), thin_wall(lying.mesh, shop.printer.nozzle.value))
