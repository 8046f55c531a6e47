"""What the seasons do to a body: its thickness, mouth, throat, seat, bed, glue lines; and the mass of its parts.

Lengths in mm, moisture contents in percent. The body is cut to its numbers at `wood.worked` and then lives between
`wood.dry` and `wood.wet`. Wood moves across the grain only; along it (toe to heel) 0.1 to 0.2 % from green to ovendry is
left out. The growth rings of every piece are taken to lie as `wood.cut` says. Formulas: models/window/movement.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from planestock.models.body.casting_outline import traced_plan
from planestock.models.window import reach
from planestock.models.window.movement import directions, glue_line_mismatch, mass, movement
from planestock.models.window.year import Moistures, change_between, moistures, woods
from planestock.params.parameter_set import ParameterSet
from planestock.params.species import Direction, Species, species


@dataclass(frozen=True)
class Season:
    """The body in one season. thickness: seat to sole; mouth: opening, the edge level with the sole, the iron on the frog.

    side_clearance: beside the wider of iron and cap iron, each side, in the tightest layer of wood. casting_gap, foot_gap:
    room on each side of the casting in its pocket and of the frog's foot in its recess, the tightest way across or along;
    None where there is none. bed_proud: how far the bed's foot stands out of the frog's plane (the wood shrinks up
    towards the seat, the frog's face does not); negative where it has dropped away from it.
    """

    name: str
    moisture: float
    thickness: float
    mouth: float
    side_clearance: float
    casting_gap: float | None
    foot_gap: float | None
    bed_proud: float

    @property
    def least_gap(self) -> float | None:
        """The smaller of the gaps around casting and frog's foot, None where there is neither pocket nor recess."""
        gaps = [gap for gap in (self.casting_gap, self.foot_gap) if gap is not None]
        return min(gaps, default=None)


@dataclass(frozen=True)
class GlueLine:
    """A glue line between unlike woods: by how much more the first would grow than the second, dry and wet, if free."""

    between: str
    across: float
    dry: float
    wet: float

    @property
    def worst(self) -> float:
        """The larger of the two mismatches, as a size."""
        return max(abs(self.dry), abs(self.wet))


@dataclass(frozen=True)
class Seasons:
    """A body through the year. per_percent: change of the thickness for 1 % of moisture content at the shop's, mm.

    An uncertainty of 1 % goes with every moisture content that was computed from air (movement.MOISTURE_LIMIT).
    """

    worked: Season
    dry: Season
    wet: Season
    glue_lines: tuple[GlueLine, ...]
    per_percent: float

    @property
    def all(self) -> tuple[Season, Season, Season]:
        """The shop, the driest and the dampest season."""
        return (self.worked, self.dry, self.wet)

    @property
    def driest(self) -> Season:
        """The season with the least moisture content, the shop included."""
        return min(self.all, key=lambda season: season.moisture)

    @property
    def dampest(self) -> Season:
        """The season with the most moisture content, the shop included."""
        return max(self.all, key=lambda season: season.moisture)


def seasons(given: ParameterSet, thickness: float) -> Seasons:
    """Return what the seasons do to a body of this thickness, mm, cut in the shop."""
    at = moistures(given)
    worked, dry, wet = (_season(given, thickness, name, getattr(at, name), at.worked) for name in ("worked", "dry", "wet"))
    nearby = at.worked - 1.0 if at.worked >= 1.0 else at.worked + 1.0
    per_percent = abs(float(change_between(given, at.worked, nearby).of(thickness)))
    return Seasons(worked, dry, wet, _glue_lines(given, thickness, at), per_percent)


def _season(given: ParameterSet, thickness: float, name: str, to: float, worked: float) -> Season:
    theta = given.frog.bed_angle.value
    upright = change_between(given, worked, to)
    change = float(upright.of(thickness))
    return Season(
        name=name,
        moisture=to,
        thickness=thickness + change,
        mouth=given.throat.opening.value - change * float(reach.mouth_closing(theta)),
        side_clearance=_beside_iron(given, worked, to),
        casting_gap=_casting_gap(given, worked, to),
        foot_gap=_foot_gap(given, worked, to, upright.strain),
        bed_proud=-change * math.cos(math.radians(theta)),
    )


def _beside_iron(given: ParameterSet, worked: float, to: float) -> float:
    """Return the room beside the iron in the tightest of the layers that the throat passes through."""
    metal = max(given.iron.width.value, given.cap_iron.width.value)
    throat = metal + 2 * given.throat.side_clearance.value
    layers = ["halves", *(layer for layer in ("pad", "slip") if getattr(given.body, layer).value > 0)]
    return min((_across(given, layer, throat, worked, to) - metal) / 2 for layer in layers)


def _casting_gap(given: ParameterSet, worked: float, to: float) -> float | None:
    """Return the room beside the casting across its pocket, which is cut in the pad where there is one."""
    if given.casting.let_in.value == 0:
        return None
    traced = traced_plan(given.casting)
    metal = traced.width if traced else max(given.casting.front_width.value, given.casting.rear_width.value)
    layer = "pad" if given.body.pad.value > 0 else "halves"
    return (_across(given, layer, metal + 2 * given.body.seat_gap.value, worked, to) - metal) / 2


def _foot_gap(given: ParameterSet, worked: float, to: float, upright: float) -> float | None:
    """Return the room around the frog's foot, across and up the bed, where wood moves by its upright strain · sin² θ."""
    frog, gap = given.frog, given.body.seat_gap.value
    if frog.recess_depth.value == 0:
        return None
    across = (_across(given, "halves", frog.width.value + 2 * gap, worked, to) - frog.width.value) / 2
    length = frog.foot_high.value - frog.foot_low.value
    strain = upright * math.sin(math.radians(frog.bed_angle.value)) ** 2
    return min(across, ((length + 2 * gap) * (1.0 + strain) - length) / 2)


def _across(given: ParameterSet, layer: str, width: float, worked: float, to: float) -> float:
    """Return what a width across the body, cut in the shop, comes to in a season; the strip moves as its own wood does."""
    kinds, level = woods(given), directions(given.wood.cut)[1]
    strip = min(width, given.body.centre_strip.value) if layer == "halves" else 0.0
    grown = movement(width - strip, kinds[layer], level, worked, to) + movement(strip, kinds["strip"], level, worked, to)
    return width + grown


def _glue_lines(given: ParameterSet, thickness: float, at: Moistures) -> tuple[GlueLine, ...]:
    """Return the glue lines between unlike woods: the strip's along the height of the halves, pad's and slip's across."""
    body, kinds = given.body, woods(given)
    upright, level = directions(given.wood.cut)
    height = thickness + given.casting.let_in.value - body.pad.value - body.slip.value
    lines: tuple[tuple[str, float, Direction], ...] = (
        ("strip", height, upright),
        ("pad", body.width.value, level),
        ("slip", body.width.value, level),
    )
    return tuple(
        _glue_line(layer, across, direction, kinds, at)
        for layer, across, direction in lines
        if _laid(given, layer) and kinds[layer].name != kinds["halves"].name
    )


def _laid(given: ParameterSet, layer: str) -> bool:
    return bool((given.body.centre_strip if layer == "strip" else getattr(given.body, layer)).value > 0)


def _glue_line(layer: str, across: float, direction: Direction, kinds: dict[str, Species], at: Moistures) -> GlueLine:
    dry, wet = (
        glue_line_mismatch(kinds[layer], direction, kinds["halves"], direction, across, at.worked, to)
        for to in (at.dry, at.wet)
    )
    between = f"{layer} of {kinds[layer].name} and halves of {kinds['halves'].name}"
    return GlueLine(between, across, dry, wet)


def wood_mass(volume: float, kind: str, moisture_content: float) -> float:
    """Return the mass in grams of a volume in mm³ of a species by name, both at this moisture content."""
    return mass(volume, species(kind).specific_gravity_12.value, moisture_content)
