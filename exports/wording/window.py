"""What the budgets mean, in sentences: for the report, the shop sheet and the app; lengths as the set has them."""

from __future__ import annotations

from planestock.models.body.seasons import Seasons
from planestock.models.window.readings import named, told, told_limit
from planestock.models.window.sole_life import SoleLife
from planestock.models.window.thickness import Settled
from planestock.models.window.two_roads import Comparison, Explanation, Suspect
from planestock.models.window.uncertainty import Retake
from planestock.params.lengths import Lengths, counted

ROADS = {"bench": "the bench method", "readings": "the chain of readings"}

SURE = 0.9995
"""Share of the draws from which "100.0 %" is printed: it is then said as "more than 99.9 %"."""


def window_sentence(settled: Settled) -> str:
    """Say the window, its expanded uncertainty and the road."""
    low, high, length = settled.low, settled.high, settled.given.lengths
    return (
        f"Thicknesses from {length.number(low.value)} ± {length.number(low.expanded)} to "
        f"{length.spread(high.value, high.expanded)} work "
        f"(± with 95 % coverage), by {ROADS[settled.known.road]}."
    )


def retake_sentence(again: Retake | None, length: Lengths) -> str:
    """Say which reading to take again and what it brings."""
    if again is None:
        return "No reading sharpens the window when taken again with its usual tool."
    return (
        f"Take {named(again.path)} again to ± {told_limit(again.path, again.limit, length)} and the window sharpens from "
        f"± {length.number(again.before)} to ± {length(again.after)}."
    )


def thickness_sentence(settled: Settled) -> str:
    """Say how the thickness was settled, allowance by allowance."""
    taken, length = settled.allowances, settled.given.lengths
    thickness = length(settled.thickness)
    if not settled.chosen:
        sure = settled.safe_low <= settled.safe_high
        which = length.span(settled.safe_low, settled.safe_high) if sure else "no thickness"
        return f"The thickness {thickness} was given; {which} would be sure to work all year."
    return (
        f"The thickness {thickness} is the largest safe one: {length.number(settled.high.value)}, less "
        f"{length.number(taken.expanded_high)} for the readings' ±, {length.number(taken.swelling)} for swelling and "
        f"{length.number(taken.cutting)} for the cut."
    )


def wear_sentence(settled: Settled) -> str:
    """Say how much sole may be planed away."""
    length = settled.given.lengths
    if settled.wear_left < 0:
        return f"Nothing may surely be planed off the sole; with luck, {length(max(0.0, settled.bare_wear_left))}."
    return f"{length(settled.wear_left)} may surely be planed off the sole; with luck, {length(settled.bare_wear_left)}."


def chance_sentence(settled: Settled) -> str:
    """Say how probably the body works. Runs the Monte Carlo draws on first use."""
    chance = settled.chance
    return f"A body cut so works with a probability of {_percent(chance.works)}, all year {_percent(chance.all_year)}."


def _percent(share: float) -> str:
    if share >= SURE:
        return "more than 99.9 %"
    return "less than 0.1 %" if share <= 1.0 - SURE else f"{100 * share:.1f} %"


def mouth_sentence(settled: Settled) -> str:
    """Say how far the mouth may come out from what is wanted."""
    mouth = settled.given.lengths.spread(settled.mouth.value, settled.mouth.expanded)
    return (
        f"Cut to the layout, the mouth comes out at {mouth}: leave it tight and open it after trying the iron in the body."
    )


def comparison_sentence(comparison: Comparison, length: Lengths) -> str:
    """Say whether the two roads agree, and if not, both windows and what to measure again."""
    low, high = comparison.low, comparison.high
    apart = (
        f"T_min by {length.signed(low.apart.value)} ± {length(low.apart.expanded)}, "
        f"T_max by {length.signed(high.apart.value)} ± {length(high.apart.expanded)}"
    )
    if comparison.agree:
        return f"Readings and bench method agree: the readings differ from the bench in {apart}."
    readings, bench = comparison.readings.window, comparison.bench.window
    windows = (
        f"by the readings {length.span(readings.low, readings.high)} work, by the bench {length.span(bench.low, bench.high)}"
    )
    again = "; ".join(_explains(each, length) for each in comparison.told)
    explained = f" What alone could explain it, most probable first: {again}." if again else ""
    return f"Readings and bench method contradict each other: {windows}, and the readings differ in {apart}.{explained}"


def _explains(explanation: Explanation, length: Lengths) -> str:
    """Say what each reading would have to be off by; those that cannot be told apart together."""
    each = [_off(one, length) for one in explanation.suspects]
    if len(each) == 1:
        return each[0]
    return f"{', '.join(each[:-1])} or {each[-1]}, which the two roads cannot tell apart"


def _off(one: Suspect, length: Lengths) -> str:
    more = f"{told(one.path, abs(one.change), length)} {'more' if one.change > 0 else 'less'}"
    return f"{named(one.path)} {more} ({one.limits:.1f} times its ±, chance {_percent(one.chance)})"


def seasons_sentence(through: Seasons, length: Lengths) -> str:
    """Say what the year does to thickness and mouth."""
    dry, wet = through.driest, through.dampest
    return (
        f"Between {dry.moisture:.1f} and {wet.moisture:.1f} % moisture the body is "
        f"{length.span(dry.thickness, wet.thickness)} thick, and the mouth {length.span(dry.mouth, wet.mouth)} open; "
        f"1 % more or less moves the thickness by {length(through.per_percent)}."
    )


def sole_life_sentence(life: SoleLife, length: Lengths) -> str:
    """Say when the sole needs a slip and the mouth a piece."""
    return (
        f"A slip is due when {length(life.slip_due)} are gone from the sole, a mouth piece when "
        f"{length(life.mouth_piece_due)} are; until then the sole takes {counted(life.truings, 'truing')}."
    )
