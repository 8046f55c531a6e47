"""The window of a set, the thickness that is settled on, and what had to be allowed for.

Safe thicknesses, seat to sole as cut in the shop: with the cut straying by s, the edge must still reach when the body is at
its thickest of the year and T_max at the low end of its expanded uncertainty U, and still withdraw when it is thinnest and
T_min at its high end:
    (T + s) + swelling <= T_max - U(T_max)   and   (T - s) - shrinkage >= T_min + U(T_min).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from planestock.models.window.budgets import (
    KnownWindow,
    governing,
    known_windows,
    mouth_budget,
    thickness_budget,
    thickness_stray,
)
from planestock.models.window.chance import Chance, probability_works
from planestock.models.window.make_room import room_problem
from planestock.models.window.reach import Number, Window
from planestock.models.window.readings import Given
from planestock.models.window.two_roads import Comparison, compared
from planestock.models.window.uncertainty import Budget, Retake
from planestock.models.window.year import Year, year
from planestock.params.parameter_set import ParameterSet
from planestock.params.problems import InputProblem, Problem


@dataclass(frozen=True)
class Allowances:
    """What is kept free inside the window, mm: T_max - expanded_high - swelling - cutting is the thickest safe body,
    T_min + expanded_low + shrinkage + cutting the thinnest."""

    expanded_low: float
    expanded_high: float
    swelling: float
    shrinkage: float
    cutting: float


@dataclass(frozen=True)
class Safe:
    """The window, and the thicknesses in it that are sure. given: the readings that it rests on.

    known: the governing window with its budgets; roads: by each road there is, the bench first; comparison: of the two,
    where there are two. safe_low, safe_high: thinnest and thickest body, as cut, that is sure to work all year; safe_low
    is the larger where no body is.
    """

    given: Given = field(repr=False, compare=False)
    known: KnownWindow
    roads: tuple[KnownWindow, ...]
    comparison: Comparison | None
    allowances: Allowances
    safe_low: float
    safe_high: float

    @property
    def sure(self) -> bool:
        """Whether there is a thickness that is sure to work."""
        return self.safe_low <= self.safe_high

    @property
    def window(self) -> Window:
        """The governing window."""
        return self.known.window

    @property
    def low(self) -> Budget:
        """Budget of T_min."""
        return self.known.low

    @property
    def high(self) -> Budget:
        """Budget of T_max."""
        return self.known.high

    @property
    def contradicted(self) -> bool:
        """Whether the two roads contradict each other: what is sure is then so by the governing one alone."""
        return self.comparison is not None and not self.comparison.agree

    @property
    def retake(self) -> Retake | None:
        """The reading most worth taking again."""
        return self.known.retake

    @property
    def no_room(self) -> Problem | None:
        """Why no thickness is sure, and what would make room; None where one is."""
        if self.sure:
            return None
        taken = self.allowances
        return room_problem(self.given, self.known, self.safe_low - self.safe_high, taken.swelling + taken.shrinkage)


@dataclass(frozen=True)
class Settled(Safe):
    """The thickness that the body of a set gets, and the window it was taken from. chosen: by the program, not given."""

    given: ParameterSet = field(repr=False, compare=False)
    thickness: float
    chosen: bool

    @property
    def wear_left(self) -> float:
        """How much may surely be planed off the sole: T - safe_low; negative where not even now is it sure."""
        return self.thickness - self.safe_low

    @property
    def bare_wear_left(self) -> float:
        """The same with nothing allowed for: T - T_min."""
        return self.window.wear_left(self.thickness)

    @property
    def safe_margin(self) -> float:
        """How far the thickness lies inside the safe thicknesses, mm, on its worse side; negative outside."""
        return min(self.safe_high - self.thickness, self.thickness - self.safe_low)

    @cached_property
    def thickness_budget(self) -> Budget:
        """Budget of the thickness as cut."""
        return thickness_budget(self.given, self.thickness)

    @cached_property
    def mouth(self) -> Budget:
        """Budget of the mouth opening as it comes out when the layout is followed."""
        return mouth_budget(self.given, self.thickness)

    @cached_property
    def chance(self) -> Chance:
        """The probability that the body works, by Monte Carlo; some 20 ms, once."""
        return probability_works(self.given, self.thickness)


def safe_ends(
    low: Number, high: Number, expanded: tuple[Number, Number], stray: Number, through: Year
) -> tuple[Number, Number]:
    """Return the thinnest and thickest thickness as cut that are sure to work all year, mm; arrays broadcast.

    low, high: T_min and T_max; expanded: their expanded uncertainties; stray: of the cut; through: the year's changes. The
    first is the larger where no thickness is sure.
    """
    safe_low = through.thinnest_in_shop(low + expanded[0]) + stray
    safe_high = through.thickest_in_shop(high - expanded[1]) - stray
    return safe_low, safe_high


def safe_thicknesses(given: Given) -> Safe:
    """Return the window and the thicknesses that are sure, with budgets and allowances.

    The governing road is the one that knows its worse end better (`budgets.governing`).
    """
    roads = known_windows(given)
    known = governing(roads)
    low, high, stray = known.low, known.high, thickness_stray(given)
    ends = safe_ends(low.value, high.value, (low.expanded, high.expanded), stray, year(given))
    safe_low, safe_high = (float(end) for end in ends)
    allowances = Allowances(
        expanded_low=low.expanded,
        expanded_high=high.expanded,
        swelling=high.value - high.expanded - stray - safe_high,
        shrinkage=safe_low - stray - low.value - low.expanded,
        cutting=stray,
    )
    return Safe(given, known, roads, compared(roads), allowances, safe_low, safe_high)


def settle(given: ParameterSet) -> Settled:
    """Return window and thickness, with budgets and allowances.

    A thickness "from window" is the largest safe one, so that the sole has the most wear left. Raises InputProblem at
    body.thickness when none is safe; a given thickness is never refused here, its checks fail.
    """
    found = safe_thicknesses(given)
    own = given.body.thickness
    if own is None and found.no_room is not None:
        raise InputProblem([found.no_room])
    return Settled(
        given=given,
        known=found.known,
        roads=found.roads,
        comparison=found.comparison,
        allowances=found.allowances,
        safe_low=found.safe_low,
        safe_high=found.safe_high,
        thickness=found.safe_high if own is None else own.value,
        chosen=own is None,
    )
