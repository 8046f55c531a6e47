"""What the budgets mean, in sentences: for the report, the shop sheet and the app. Lengths in mm."""

from __future__ import annotations

from planestock.models.confidence.readings_in import named, unit_of
from planestock.models.confidence.two_roads import Comparison
from planestock.models.confidence.uncertainty import Retake
from planestock.models.seasons import Seasons
from planestock.models.sole_life import SoleLife
from planestock.models.thickness import Settled

ROADS = {"bench": "the bench method", "readings": "the chain of readings"}

SURE = 0.9995
"""Share of the draws from which "100.0 %" is printed: it is then said as "more than 99.9 %"."""


def window_sentence(settled: Settled) -> str:
    """Say the window, its expanded uncertainty and the road."""
    low, high = settled.low, settled.high
    return (
        f"Thicknesses from {low.value:.2f} ± {low.expanded:.2f} to {high.value:.2f} ± {high.expanded:.2f} mm work "
        f"(± with 95 % coverage), by {ROADS[settled.known.road]}."
    )


def retake_sentence(again: Retake | None) -> str:
    """Say which reading to take again and what it brings."""
    if again is None:
        return "No reading sharpens the window when taken again with its usual tool."
    return (
        f"Take {named(again.path)} again to ± {again.limit:g} {unit_of(again.path)} and the window sharpens from "
        f"± {again.before:.2f} to ± {again.after:.2f} mm."
    )


def thickness_sentence(settled: Settled) -> str:
    """Say how the thickness was settled, allowance by allowance."""
    taken = settled.allowances
    if not settled.chosen:
        return (
            f"The thickness {settled.thickness:.2f} mm was given; {settled.safe_low:.2f} to {settled.safe_high:.2f} mm "
            "would be sure to work all year."
            if settled.safe_low <= settled.safe_high
            else f"The thickness {settled.thickness:.2f} mm was given; no thickness would be sure to work all year."
        )
    return (
        f"The thickness {settled.thickness:.2f} mm is the largest safe one: {settled.high.value:.2f}, less "
        f"{taken.expanded_high:.2f} for the readings' ±, {taken.swelling:.2f} for swelling and {taken.cutting:.2f} "
        "for the cut."
    )


def wear_sentence(settled: Settled) -> str:
    """Say how much sole may be planed away."""
    if settled.wear_left < 0:
        return f"Nothing may surely be planed off the sole; with luck, {max(0.0, settled.bare_wear_left):.2f} mm."
    return f"{settled.wear_left:.2f} mm may surely be planed off the sole; with luck, {settled.bare_wear_left:.2f} mm."


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
    mouth = settled.mouth
    return (
        f"Cut to the layout, the mouth comes out at {mouth.value:.2f} ± {mouth.expanded:.2f} mm: leave it tight and open it "
        "after trying the iron in the body."
    )


def comparison_sentence(comparison: Comparison) -> str:
    """Say whether the two roads agree, and if not, what to measure again."""
    low, high = comparison.low, comparison.high
    apart = (
        f"T_min by {low.apart.value:+.2f} ± {low.apart.expanded:.2f} mm, "
        f"T_max by {high.apart.value:+.2f} ± {high.apart.expanded:.2f} mm"
    )
    if comparison.agree:
        return f"Readings and bench method agree: the readings differ from the bench in {apart}."
    worst = comparison.suspects[:1]
    again = "".join(f" Measure {named(one.path)} again: {_explains(one.path, one.change)}." for one in worst)
    return f"Readings and bench method contradict each other: the readings differ from the bench in {apart}.{again}"


def _explains(path: str, change: float) -> str:
    return f"alone it would have to be {abs(change):.2f} {unit_of(path)} {'more' if change > 0 else 'less'}"


def seasons_sentence(through: Seasons) -> str:
    """Say what the year does to thickness and mouth."""
    dry, wet = through.driest, through.dampest
    return (
        f"Between {dry.moisture:.1f} and {wet.moisture:.1f} % moisture the body is {dry.thickness:.2f} to "
        f"{wet.thickness:.2f} mm thick, and the mouth {dry.mouth:.2f} to {wet.mouth:.2f} mm open; 1 % more or less moves "
        f"the thickness by {through.per_percent:.2f} mm."
    )


def sole_life_sentence(life: SoleLife) -> str:
    """Say when the sole needs a slip and the mouth a piece."""
    return (
        f"A slip is due when {life.slip_due:.2f} mm are gone from the sole, a mouth piece when {life.mouth_piece_due:.2f} "
        f"mm are; until then the sole takes {life.truings} truings."
    )
