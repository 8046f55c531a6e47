"""Species of wood: movement, shrinkage, specific gravity and a colour, read from `data/species.toml`.

Every figure keeps its mark and its source, so that a report can say what a result rests on. Missing figures
that follow from others are derived here when the table is loaded, and marked as derived.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

from planestock.params.problems import refuse

Direction = Literal["radial", "tangential"]
Mark = Literal["R1", "R2", "R2x", "Mx", "M", "D"]

FIBRE_SATURATION = 30.0
"""Moisture content in percent above which wood no longer moves: the Wood Handbook's convention (p. 13-17)."""
REFERENCE_MOISTURE = 10.0
"""Moisture content in percent of the dimension that the coefficients refer to (Wood Handbook Eq. 13-2)."""
CLOSEST_NAMES = 3
"""Near names that the message about an unknown species suggests."""
LIKENESS = 0.6
"""Least likeness (difflib ratio) of a suggested name: lets one or two wrong letters of a word through."""


@dataclass(frozen=True)
class Figure:
    """One figure of the table. mark: how far it was confirmed, see `marks()`; source: where it is printed."""

    value: float
    mark: Mark
    source: str

    @property
    def confirmed(self) -> bool:
        """Whether the figure is more than a memory."""
        return self.mark != "M"


@dataclass(frozen=True)
class Species:
    """One species. Coefficients: fraction per 1 % moisture content; shrinkage: percent, green to ovendry.

    specific_gravity_12: ovendry mass over the volume at 12 % moisture content. colour: "#rrggbb", sRGB.
    confirmed: whether the coefficients are more than a memory and undisputed. relation_exception: why the
    coefficients do not follow from the shrinkage, empty where they do.
    """

    name: str
    botanical: str
    colour: str
    aliases: tuple[str, ...]
    confirmed: bool
    relation_exception: str
    notes: str
    radial_coefficient: Figure
    tangential_coefficient: Figure
    radial_shrinkage: Figure
    tangential_shrinkage: Figure
    volumetric_shrinkage: Figure | None
    specific_gravity_green: Figure | None
    specific_gravity_12: Figure

    def coefficient(self, direction: Direction) -> float:
        """Return the change per 1 % moisture content, as a fraction of the dimension at 10 %."""
        return {"radial": self.radial_coefficient, "tangential": self.tangential_coefficient}[direction].value

    def shrinkage(self, direction: Direction) -> float:
        """Return the shrinkage in one direction from green to ovendry, in percent of the green dimension."""
        return {"radial": self.radial_shrinkage, "tangential": self.tangential_shrinkage}[direction].value


def coefficient_from_shrinkage(shrinkage: float) -> float:
    """Return the movement per 1 % moisture content that a shrinkage (percent, green to ovendry) implies.

    C = (S/100/30) / (1 - (S/100) 20/30): linear shrinkage below fibre saturation, referred to the dimension
    at 10 %. Derived, and reproduces Wood Handbook table 13-5 from table 4-3 to its last digit wherever both
    speak of one species.
    """
    strain = shrinkage / 100.0 / FIBRE_SATURATION
    return strain / (1.0 - strain * (FIBRE_SATURATION - REFERENCE_MOISTURE))


def shrinkage_from_coefficient(coefficient: float) -> float:
    """Return the shrinkage (percent, green to ovendry) that a movement per 1 % implies (the inverse)."""
    dry = 1.0 + coefficient * (FIBRE_SATURATION - REFERENCE_MOISTURE)
    return 100.0 * FIBRE_SATURATION * coefficient / dry


def specific_gravity_at(basic: float, moisture: float) -> float:
    """Return the specific gravity on the volume at `moisture` percent from the basic (green) one.

    G = Gb / (1 - 0.265 a Gb), a = (30 - moisture)/30, a = 0 above 30 %; ASTM D2395 and Wood Handbook (from
    memory). Right on average over the table's printed pairs, up to 9 % off for one species.
    """
    return basic / (1.0 - 0.265 * _dryness(moisture) * basic)


def basic_specific_gravity(gravity: float, moisture: float) -> float:
    """Return the basic (green) specific gravity from the one on the volume at `moisture` percent."""
    return gravity / (1.0 + 0.265 * _dryness(moisture) * gravity)


def _dryness(moisture: float) -> float:
    return max(0.0, (FIBRE_SATURATION - moisture) / FIBRE_SATURATION)


def species(name: str, path: str = "wood.species") -> Species:
    """Return the species of that name or alias; capitals and word order ("American beech") do not matter.

    path: the field that an unknown name is reported under. Raises InputProblem with the nearest names and the
    whole list.
    """
    spellings = _spellings()
    key = " ".join(name.lower().split())
    if key in spellings:
        return _table()[spellings[key]]
    close = difflib.get_close_matches(key, spellings, n=CLOSEST_NAMES, cutoff=LIKENESS)
    guess = " or ".join(dict.fromkeys(spellings[each] for each in close))
    listed = "use one of: " + "; ".join(known_species())
    remedy = f"did you mean {guess}? {listed}" if guess else listed
    raise refuse(path, name, "no species of that name in the table", remedy)


def known_species() -> tuple[str, ...]:
    """Return the names of all species in the table, in alphabetical order."""
    return tuple(sorted(_table()))


def marks() -> Mapping[str, str]:
    """Return what each mark on a figure means, in words for a report."""
    return {str(mark): str(meaning) for mark, meaning in _document()["marks"].items()}


@cache
def _document() -> dict[str, Any]:
    text = resources.files("planestock.params").joinpath("data", "species.toml").read_text("utf-8")
    return tomllib.loads(text)


@cache
def _table() -> dict[str, Species]:
    document = _document()
    return {row["name"]: _row(row, document["sources"]) for row in document["species"]}


@cache
def _spellings() -> dict[str, str]:
    """Map every accepted spelling to its name: "beech, american", "american beech" and the aliases."""
    spellings: dict[str, str] = {}
    for row in _table().values():
        turned = " ".join(reversed(row.name.split(", ")))
        for spelling in (row.name, turned, *row.aliases):
            if spellings.setdefault(spelling, row.name) != row.name:
                raise ValueError(f"species table: {spelling} means both {spellings[spelling]} and {row.name}")
    return spellings


def _row(row: Mapping[str, Any], sources: Mapping[str, str]) -> Species:
    """Make one species of its row in the table, deriving what is missing and follows from what is there."""

    def figure(key: str) -> Figure | None:
        entry = row.get(key)
        if entry is None:
            return None
        return Figure(float(entry["value"]), entry["mark"], sources[entry["source"]])

    radial = _completed(row["name"], figure("radial_coefficient"), figure("radial_shrinkage"))
    tangential = _completed(row["name"], figure("tangential_coefficient"), figure("tangential_shrinkage"))
    green, volumetric = figure("specific_gravity_green"), figure("volumetric_shrinkage")
    return Species(
        name=row["name"],
        botanical=row["botanical"],
        colour=row["colour"],
        aliases=tuple(row.get("aliases", ())),
        confirmed=row.get("confirmed", True),
        relation_exception=row.get("relation_exception", ""),
        notes=row.get("notes", ""),
        radial_coefficient=radial[0],
        tangential_coefficient=tangential[0],
        radial_shrinkage=radial[1],
        tangential_shrinkage=tangential[1],
        volumetric_shrinkage=volumetric,
        specific_gravity_green=green,
        specific_gravity_12=figure("specific_gravity_12") or _dried(row["name"], green, volumetric),
    )


def _completed(name: str, coefficient: Figure | None, shrinkage: Figure | None) -> tuple[Figure, Figure]:
    """Return coefficient and shrinkage in one direction, the missing one derived from the other."""
    if coefficient is not None and shrinkage is not None:
        return coefficient, shrinkage
    if shrinkage is not None:
        value = coefficient_from_shrinkage(shrinkage.value)
        return _derived(value, shrinkage, "from shrinkage by C = (S/3000) / (1 - S/150)"), shrinkage
    if coefficient is not None:
        value = shrinkage_from_coefficient(coefficient.value)
        return coefficient, _derived(value, coefficient, "from the coefficient by S = 3000 C / (1 + 20 C)")
    raise ValueError(f"species table: {name} has neither coefficient nor shrinkage in one direction")


def _derived(value: float, origin: Figure, how: str) -> Figure:
    """Return a derived figure; what is derived from a memory stays one."""
    return Figure(value, "D" if origin.confirmed else "M", f"derived {how}; {origin.source}")


def _dried(name: str, green: Figure | None, volumetric: Figure | None) -> Figure:
    """Return the specific gravity at 12 % from the green one: the same mass on a volume that has shrunk in proportion."""
    if green is None or volumetric is None:
        raise ValueError(f"species table: {name} has no specific gravity at 12 % and nothing that it follows from")
    shrunk = volumetric.value / 100.0 * (FIBRE_SATURATION - 12.0) / FIBRE_SATURATION
    sure = green.confirmed and volumetric.confirmed
    how = "derived from green by G = Gb / (1 - 0.6 S/100), S the volumetric shrinkage"
    return Figure(green.value / (1.0 - shrunk), "D" if sure else "M", f"{how}; {green.source}")
