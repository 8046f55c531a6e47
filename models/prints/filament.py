"""How much filament a piece takes: solid, and as it is usually printed, with walls and infill."""

from __future__ import annotations

from dataclasses import dataclass

from planestock.models.prints.meshing import solid
from planestock.models.solids.parts import Mesh
from planestock.params.wanted import Shop


@dataclass(frozen=True)
class Estimate:
    """volume: of the piece, mm³; solid_mass: printed solid, g; printed_mass: with walls and infill, g."""

    volume: float
    solid_mass: float
    printed_mass: float


def filament(mesh: Mesh, shop: Shop) -> Estimate:
    """Return the estimate for one piece.

    A skin of `walls` lines, each as wide as the nozzle, goes round all of the surface, floors and roofs included; of what is
    left inside, `infill` per cent is plastic: V_skin = min(V, A walls nozzle), m = density (V_skin + infill (V - V_skin)).
    A rough estimate, as is common practice, no published source: corners count twice, brim and support are left out.
    """
    body = solid(mesh)
    volume, grams = float(body.volume()), shop.filament.density / 1000
    skin = min(volume, float(body.surface_area()) * shop.filament.walls * shop.printer.nozzle.value)
    return Estimate(volume, grams * volume, grams * (skin + shop.filament.infill / 100 * (volume - skin)))
