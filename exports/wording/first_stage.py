"""The answer of the stage *thickness* in words: what to cut, what is sure, what a mistake does, what was taken for it."""

from __future__ import annotations

from collections.abc import Iterator

from planestock.exports.wording.design import NOTHING_SURE, cut_sentence, mark_on_the_rule, window_number
from planestock.exports.wording.numbers import KeyNumber, millimetres
from planestock.exports.wording.window import ROADS, comparison_sentence
from planestock.models.window.budgets import paths_of, thickness_stray
from planestock.models.window.readings import limit_at, told_limit
from planestock.models.window.thickness import Safe
from planestock.params.fields import quantity_of
from planestock.params.first_stage import FirstStage, declarations
from planestock.params.species import species
from planestock.params.tools import spoken
from planestock.params.wanted import Climate


def cut_or_not(safe: Safe, *, failing: bool) -> str:
    """Return the one sentence to act on. failing: whether a check fails."""
    if not safe.sure:
        return NOTHING_SURE
    if failing:
        return "Do not cut yet: a check fails."
    return cut_sentence(safe, safe.safe_high)


def answer_numbers(safe: Safe, *, failing: bool) -> Iterator[KeyNumber]:
    """Yield the numbers of the answer, each with a remark; inches have millimetres beside them.

    failing: whether a check fails, so that no thickness is to be told yet.
    """
    length, window = safe.given.lengths, safe.window
    stray = length.short(thickness_stray(safe.given))

    def both(value: float) -> str:
        return millimetres(value, length.units)

    if not failing:
        rule = mark_on_the_rule(safe.safe_high, length.units)
        yield KeyNumber("Thickness", both(safe.safe_high), f"seat plane to sole; {rule}")
        yield KeyNumber("Sure", length.span(safe.safe_low, safe.safe_high), f"all year, if cut to ± {stray}")
        yield KeyNumber("Wear left", both(safe.safe_high - safe.safe_low), "may surely be planed off the sole")
    yield window_number(safe)
    yield KeyNumber("Too thick", f"above {both(window.high)}", f"the edge does not come out {length(window.deepest_cut)}")
    yield KeyNumber("Too thin", f"below {both(window.low)}", f"the edge does not go back {length(window.withdraw)}")


MISTAKES = (
    "A body that is too thick can still be planed at the sole. One that is too thin needs wood again: a slip on the sole, "
    "or a pad on top."
)
"""What each side of a mistake costs: why one begins at the thick end."""


def taken_notes(given: FirstStage, told: frozenset[str], safe: Safe) -> Iterator[str]:
    """Yield what was taken though nobody said it: ± of tools, the wood and its seasons. told: paths that were told."""
    limits = _limits(given, safe)
    if limits:
        yield f"Readings without a ± have the one that is usual with their tool: {'; '.join(limits)}."
    length, taken, wood = given.lengths, safe.allowances, given.wood
    yield (
        f"The seasons take {length(taken.swelling)} off the thick end and {length(taken.shrinkage)} off the thin one, with "
        f"wood of the species {species(wood.species).name}, {wood.cut}-sawn, that is worked in {_air(wood.worked)} and "
        f"used between {_air(wood.dry)} and {_air(wood.wet)}."
    )
    if not any(path.startswith("wood.") for path in told):
        yield "That wood and those seasons are our own choice; say yours with --species, --cut and --set wood.…"


def _limits(given: FirstStage, safe: Safe) -> list[str]:
    """Return the tools' ± that count in any road, with what was read with them."""
    by_tool: dict[str, list[str]] = {}
    paths = dict.fromkeys(path for known in safe.roads for path in paths_of(given, known.road))
    for path in paths:
        reading, quantity = given.reading_at(path), quantity_of(declarations()[path].field)
        if reading is not None and reading.limit is None and quantity is not None:
            said = f"± {told_limit(path, limit_at(given, path), given.lengths)}, {spoken(quantity.tool)}"
            by_tool.setdefault(said, []).append(path)
    return [f"{said} ({', '.join(which)})" for said, which in by_tool.items()]


def _air(climate: Climate) -> str:
    if climate.moisture is not None:
        return f"{climate.moisture:g} % moisture"
    return f"{climate.humidity:g} % humidity at {climate.temperature:g} °C"


def roads_sentence(safe: Safe) -> str:
    """Say what is told when there are two roads and they agree; empty otherwise, a contradiction is among the notes."""
    if safe.comparison is None or not safe.comparison.agree:
        return ""
    return f"{comparison_sentence(safe.comparison, safe.given.lengths)} The window is that of {ROADS[safe.known.road]}."
