"""How the thickness of a body changes through the year, from the shop to its driest and its dampest season.

Lengths in mm, moisture contents in percent. Formulas: models/window/movement.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planestock.models.window.movement import Climate, Cut, directions, moisture, movement
from planestock.models.window.reach import Number
from planestock.models.window.readings import Given, value_at
from planestock.params.species import Species, species
from planestock.params.wanted import Climate as GivenClimate


@dataclass(frozen=True)
class Moistures:
    """Moisture content in percent while the body is worked, and in its driest and dampest season."""

    worked: float
    dry: float
    wet: float


@dataclass(frozen=True)
class Change:
    """Change of the thickness (seat to sole) from the shop to a season: strain · T + offset, mm; swelling is positive.

    strain: of the body's wood; offset: what pad and slip of other wood add. T may be an array.
    """

    strain: float
    offset: float

    def of(self, thickness: Number) -> Number:
        """Return the change of a body of this thickness."""
        return self.strain * thickness + self.offset

    def before(self, changed: Number) -> Number:
        """Return the thickness in the shop of a body that comes to `changed` in the season."""
        return (changed - self.offset) / (1.0 + self.strain)


@dataclass(frozen=True)
class Year:
    """Changes of the thickness from the shop to the driest and to the dampest season."""

    dry: Change
    wet: Change

    def thickest_in_shop(self, most: Number) -> Number:
        """Return the largest thickness in the shop that is at most `most` there and all year; arrays broadcast."""
        return np.minimum(most, np.minimum(self.dry.before(most), self.wet.before(most)))

    def thinnest_in_shop(self, least: Number) -> Number:
        """Return the smallest thickness in the shop that is at least `least` there and all year; arrays broadcast."""
        return np.maximum(least, np.maximum(self.dry.before(least), self.wet.before(least)))


def moistures(given: Given) -> Moistures:
    """Return the moisture contents of a set. Raises InputProblem for air outside the equation's ranges."""
    wood = given.wood
    return Moistures(*(_moisture(f"wood.{name}", getattr(wood, name)) for name in ("worked", "dry", "wet")))


def _moisture(path: str, climate: GivenClimate) -> float:
    if climate.moisture is not None:
        return moisture(climate.moisture, f"{path}.moisture")
    assert climate.humidity is not None, "a climate with neither is refused when the set is read"
    return moisture(Climate(climate.temperature, climate.humidity), path)


def woods(given: Given) -> dict[str, Species]:
    """Return the species of each layer: halves, strip, pad, slip. Raises InputProblem for an unknown one."""
    wood = given.wood
    body = species(wood.species)
    others = {"strip": wood.strip_species, "pad": wood.pad_species, "slip": wood.slip_species}
    return {"halves": body} | {
        layer: species(name, f"wood.{layer}_species") if name else body for layer, name in others.items()
    }


def year(given: Given, cut: Cut | None = None) -> Year:
    """Return how the thickness changes from the shop to both seasons, layer by layer: slip, halves, pad below the seat.

    cut: how the growth rings lie; left out, as it is given.
    """
    at = moistures(given)
    return Year(change_between(given, at.worked, at.dry, cut), change_between(given, at.worked, at.wet, cut))


def change_between(given: Given, worked: float, to: float, cut: Cut | None = None) -> Change:
    """Return how the thickness changes from one moisture content to another, in percent; cut: as in `year`."""
    kinds, upright = woods(given), directions(cut or given.wood.cut)[0]
    strains = {layer: movement(1.0, kind, upright, worked, to) for layer, kind in kinds.items()}
    pad = value_at(given, "body.pad")
    under_seat = max(0.0, pad - value_at(given, "casting.let_in")) if pad > 0 else 0.0
    layers = {"pad": under_seat, "slip": value_at(given, "body.slip")}
    offset = sum(thick * (strains[layer] - strains["halves"]) for layer, thick in layers.items())
    return Change(strains["halves"], offset)
