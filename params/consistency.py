"""Rules between fields: readings that contradict one another, each named by the path that breaks it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from planestock.params.problems import NOTHING, InputProblem, Problem, shown
from planestock.params.reading import Reading
from planestock.params.species import species
from planestock.params.traced.agreement import traced_faults

if TYPE_CHECKING:
    from planestock.params.metal import Casting
    from planestock.params.parameter_set import ParameterSet
    from planestock.params.wanted import Climate, Wood


def contradictions(given: ParameterSet) -> list[Problem]:
    """Return every contradiction between fields that are each within their own bounds."""
    return [
        *_name(given),
        *_road_to_the_window(given),
        *_metal(given),
        *wood_faults(given.wood),
        *_wanted(given),
        *_old_body(given),
    ]


def _name(given: ParameterSet) -> Iterator[Problem]:
    if not any(character.isprintable() and not character.isspace() for character in given.name):
        yield Problem("name", shown(given.name), "has no letter that could be read", "give the plane a name")


def _road_to_the_window(given: ParameterSet) -> Iterator[Problem]:
    if given.adjuster is None and given.bench is None:
        yield Problem(
            "adjuster",
            NOTHING,
            "the window needs the adjuster's travel or the bench method",
            "give [adjuster] or [bench]",
        )
    if given.adjuster is not None and given.cap_iron.slot_to_edge is None:
        yield Problem(
            "cap_iron.slot_to_edge",
            NOTHING,
            "is needed together with [adjuster]",
            "measure it, or use [bench] alone",
        )
    yield from travel_faults(given.reading_at)


TRAVELS = (("adjuster.pin_low", "adjuster.pin_high"), ("bench.edge_high", "bench.edge_low"))
"""Both ends of the adjuster's travel as each road reads them, the smaller first."""


def travel_faults(reading_at: Callable[[str], Reading | None]) -> Iterator[Problem]:
    """Yield each travel of the adjuster whose ends are the wrong way round. reading_at: gives the reading at a path."""
    for low_path, high_path in TRAVELS:
        low, high = reading_at(low_path), reading_at(high_path)
        if low is not None and high is not None:
            yield from _ordered(low_path, low, high_path, high)


def _metal(given: ParameterSet) -> Iterator[Problem]:
    yield from _ordered("frog.foot_low", given.frog.foot_low, "frog.foot_high", given.frog.foot_high)
    if given.cap_iron.hump_height.exact < given.cap_iron.thickness.exact:
        yield Problem(
            "cap_iron.hump_height",
            given.cap_iron.hump_height.text,
            f"is less than cap_iron.thickness = {given.cap_iron.thickness.text}",
            "measure the hump from the iron's flat face, cap iron screwed down",
        )
    yield from _casting(given.casting)


def _casting(casting: Casting) -> Iterator[Problem]:
    yield from traced_faults(casting)
    if casting.profile is None:
        yield from _cove(casting)
    if casting.outline is None:
        yield from _corners(casting)


def _cove(casting: Casting) -> Iterator[Problem]:
    if 0 < casting.cove_radius.exact < casting.tail_drop.exact or (casting.tail_drop.exact > 0 == casting.cove_radius.exact):
        yield Problem(
            "casting.cove_radius",
            casting.cove_radius.text,
            f"is less than casting.tail_drop = {casting.tail_drop.text}",
            "a quarter turn of the cove must reach the tail; measure both again",
        )


def _corners(casting: Casting) -> Iterator[Problem]:
    narrow = min(casting.front_width.exact, casting.rear_width.exact)
    if 2 * casting.corner_radius.exact > narrow:
        yield Problem(
            "casting.corner_radius",
            casting.corner_radius.text,
            "is more than half the casting's narrower end",
            "a round end has half its width as radius",
        )


def _wanted(given: ParameterSet) -> Iterator[Problem]:
    for end in ("toe", "heel"):
        width: Reading | None = getattr(given.body, f"{end}_width")
        if width is not None and width.exact > given.body.width.exact:
            yield Problem(
                f"body.{end}_width",
                width.text,
                f"is more than body.width = {given.body.width.text}",
                "the body is widest at the mouth; raise body.width or lower this",
            )
    if given.body.dowels.count == 1:
        yield Problem("body.dowels.count", "1", "one dowel does not locate a half", "give 0 or at least 2")


def _old_body(given: ParameterSet) -> Iterator[Problem]:
    """The old body's edge lies between its ends; what is not written of it is as in the new body."""
    old = given.old_body
    if old is None or (old.length is None and old.toe_to_mouth is None):
        return
    edge = (
        ("old_body.toe_to_mouth", old.toe_to_mouth) if old.toe_to_mouth else ("body.toe_to_mouth", given.body.toe_to_mouth)
    )
    length = ("old_body.length", old.length) if old.length else ("body.length", given.body.length)
    yield from _ordered(*edge, *length)


def wood_faults(wood: Wood) -> Iterator[Problem]:
    """Yield each season that is told twice or not at all, and each species that is not known."""
    yield from _climate("wood.dry", wood.dry)
    yield from _climate("wood.wet", wood.wet)
    yield from _climate("wood.worked", wood.worked)
    for field in ("species", "strip_species", "pad_species", "slip_species"):
        name: str | None = getattr(wood, field)
        try:
            _ = name is None or species(name, f"wood.{field}")
        except InputProblem as unknown:
            yield from unknown.problems


def _climate(path: str, climate: Climate) -> Iterator[Problem]:
    if (climate.humidity is None) == (climate.moisture is None):
        yield Problem(
            path,
            "both" if climate.humidity is not None else "neither",
            "needs a relative humidity or a moisture content, not both",
            f"give {path}.humidity (with a temperature) or {path}.moisture",
        )


def _ordered(low_path: str, low: Reading, high_path: str, high: Reading) -> Iterator[Problem]:
    if low.exact >= high.exact:
        forgotten = low.exact > 0 and -low.exact < high.exact and _may_be_negative(low_path)
        remedy = "check which end is which, and the signs"
        if forgotten:
            remedy = f"did you mean {replace(low, exact=-low.exact).text}? Else check which end is which"
        yield Problem(low_path, low.text, f"must be less than {high_path} = {high.text}", remedy)


def _may_be_negative(path: str) -> bool:
    from planestock.params.catalogue import declared
    from planestock.params.fields import quantity_of

    field = declared(path)
    quantity = quantity_of(field) if field else None
    return quantity is not None and quantity.low < 0
