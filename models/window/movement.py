"""Wood and the seasons: moisture content from the air, change of a dimension, density and mass.

Lengths in mm, temperatures in degrees Celsius, humidities and moisture contents in percent. Sources: *Wood
Handbook*, Forest Products Laboratory, FPL-GTR-190 (2010), chapters 4 and 13.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np
import numpy.typing as npt

from planestock.params.problems import refuse
from planestock.params.species import (
    FIBRE_SATURATION,
    Direction,
    Species,
    basic_specific_gravity,
    coefficient_from_shrinkage,
    shrinkage_from_coefficient,
    specific_gravity_at,
)

__all__ = [
    "FIBRE_SATURATION",
    "GLUE_LINE_WARNING",
    "HUMIDITY_RANGE",
    "LINEAR_RANGE",
    "MOISTURE_LIMIT",
    "MOISTURE_LIMIT_MARK",
    "TEMPERATURE_RANGE",
    "Climate",
    "Cut",
    "Direction",
    "coefficient_from_shrinkage",
    "density",
    "directions",
    "equilibrium_moisture",
    "glue_line_mismatch",
    "mass",
    "moisture",
    "movement",
    "shrinkage_from_coefficient",
]

Cut = Literal["flat", "quarter"]
Number = TypeVar("Number", float, npt.NDArray[np.float64])

TEMPERATURE_RANGE = (-1.2, 65.6)
"""Degrees Celsius over which the equation was compared with table 4-2, 30 to 150 °F."""
HUMIDITY_RANGE = (0.0, 95.0)
"""Relative humidities in percent: the table ends at 95 %; at 0 % the equation gives dry wood exactly."""
LINEAR_RANGE = (6.0, 14.0)
"""Moisture contents in percent between which the coefficients of table 13-5 hold (p. 13-16)."""
MOISTURE_LIMIT = 1.0
"""± on a moisture content computed from a climate, in percent of moisture content."""
MOISTURE_LIMIT_MARK = "from memory; FPL-GTR-229 (2014): the data behind the equation suit practical work"
GLUE_LINE_WARNING = 0.5
"""Difference of movement across a glue line, mm, from which to warn; common practice, no published source."""
WATER_DENSITY = 1000.0
"""kg/m³, as the Wood Handbook takes it for specific gravity (chapter 4)."""
GRAMS_PER_KILOGRAM_CUBIC_METRE = 1e-6
"""Grams in one mm³ of a material of 1 kg/m³."""


@dataclass(frozen=True)
class Climate:
    """The air a body lives in. temperature: degrees Celsius; humidity: relative, percent."""

    temperature: float
    humidity: float


def equilibrium_moisture(temperature: Number, relative_humidity: Number, path: str = "climate") -> Number:
    """Return the moisture content in percent at which wood settles in air of this temperature and humidity.

    temperature: degrees Celsius, `TEMPERATURE_RANGE`; relative_humidity: percent, `HUMIDITY_RANGE`; floats,
    or arrays of one shape. Hailwood-Horrobin equation with two hydrates, constants for degrees Celsius as in
    Simpson, FPL-RN-0268 (1998); within 0.1 of every value of Wood Handbook table 4-2. Raises InputProblem,
    naming `path`, outside the ranges.
    """
    _require_within(f"{path}.temperature", temperature, TEMPERATURE_RANGE, "degrees Celsius")
    _require_within(f"{path}.humidity", relative_humidity, HUMIDITY_RANGE, "percent")
    t = temperature
    w = 349.0 + 1.29 * t + 0.0135 * t * t
    k = 0.805 + 0.000736 * t - 0.00000273 * t * t
    k1 = 6.27 - 0.00938 * t - 0.000303 * t * t
    k2 = 1.91 + 0.0407 * t - 0.000293 * t * t
    kh = k * relative_humidity / 100.0
    first = k1 * kh
    second = k1 * k2 * kh * kh
    return 1800.0 / w * (kh / (1.0 - kh) + (first + 2.0 * second) / (1.0 + first + second))


def _require_within(path: str, value: Number, limits: tuple[float, float], unit: str) -> None:
    low, high = limits
    if not bool(np.all((low <= value) & (value <= high))):
        rule = f"the equation for moisture content holds from {low:g} to {high:g} {unit}"
        raise refuse(path, value, rule, "correct it, or give the moisture content itself")


def moisture(season: Climate | float, path: str = "climate") -> float:
    """Return the moisture content in percent of a season, given as a climate or as moisture content.

    Raises InputProblem, naming `path`, for a climate outside the equation's ranges or a moisture content
    outside 0 to 30 %, fibre saturation: a body does not live wetter than that.
    """
    if isinstance(season, Climate):
        return equilibrium_moisture(season.temperature, season.humidity, path)
    if not 0.0 <= season <= FIBRE_SATURATION:
        rule = f"a moisture content lies between 0 and {FIBRE_SATURATION:g} %"
        raise refuse(path, season, rule, "give percent of the dry mass, e.g. 8 for a heated room")
    return float(season)


def directions(cut: Cut) -> tuple[Direction, Direction]:
    """Return the directions in which thickness (seat to sole) and width (cheek to cheek) move.

    Flat-sawn: growth rings lie along the width, so the thickness is radial and the width tangential;
    quarter-sawn: the other way round. Boards between the two move by something between (Wood Handbook
    p. 13-17).
    """
    return ("radial", "tangential") if cut == "flat" else ("tangential", "radial")


def movement(dimension: float, species: Species, direction: Direction, mc_from: float, mc_to: float) -> float:
    """Return the change of a dimension, given at mc_from, when the wood goes to mc_to; swelling is positive.

    Both moisture contents within 6 to 14 %: Wood Handbook Eq. 13-2, D C (mc_to - mc_from). Otherwise Eq. 13-3
    (its form from memory), D (mc_to - mc_from) / (3000/S - 30 + mc_from), for the whole change; the two
    differ by some 2 % of the change, more only where the species' coefficients do not follow from its
    shrinkage. Above 30 % wood does not move. Raises ValueError for a moisture content below 0.
    """
    if not (mc_from >= 0.0 and mc_to >= 0.0):
        raise ValueError(f"moisture contents {mc_from} and {mc_to} must not be negative")
    start, end = min(mc_from, FIBRE_SATURATION), min(mc_to, FIBRE_SATURATION)
    low, high = LINEAR_RANGE
    if low <= min(start, end) and max(start, end) <= high:
        return dimension * species.coefficient(direction) * (end - start)
    dry_length = 100.0 * FIBRE_SATURATION / species.shrinkage(direction) - FIBRE_SATURATION
    return dimension * (end - start) / (dry_length + start)


def glue_line_mismatch(
    species_a: Species,
    direction_a: Direction,
    species_b: Species,
    direction_b: Direction,
    dimension: float,
    mc_from: float,
    mc_to: float,
) -> float:
    """Return by how much a grows more than b along a glue line this long at mc_from, in mm; negative if less.

    The figure is for free boards: the glue holds them together and takes it up as shear. See
    `GLUE_LINE_WARNING`.
    """
    grown_a = movement(dimension, species_a, direction_a, mc_from, mc_to)
    grown_b = movement(dimension, species_b, direction_b, mc_from, mc_to)
    return grown_a - grown_b


def density(gravity_12: float, mc: float) -> float:
    """Return the density in kg/m³ at mc percent from the specific gravity on the volume at 12 %.

    ρ = 1000 G (1 + mc/100) with G on the volume at mc (Wood Handbook chapter 4); G goes from 12 % to mc
    through the basic specific gravity. Raises ValueError for a moisture content below 0.
    """
    if not mc >= 0.0:
        raise ValueError(f"moisture content {mc} must not be negative")
    gravity = specific_gravity_at(basic_specific_gravity(gravity_12, 12.0), mc)
    return WATER_DENSITY * gravity * (1.0 + mc / 100.0)


def mass(volume: float, gravity_12: float, mc: float) -> float:
    """Return the mass in grams of a volume in mm³, both at mc percent."""
    return volume * density(gravity_12, mc) * GRAMS_PER_KILOGRAM_CUBIC_METRE
