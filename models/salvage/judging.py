"""Saving a body that is already cut: every repair judged by the numbers of the body it would give, and ranked by effort.

A repair is feasible when the repaired body can be built, fails no check that the body as wanted would not fail too, and lies
inside the window. Feasible repairs are ranked by points, least first: what must be glued, cut, bored and trued again, what
is left in doubt, and what the body can no longer do (`Points`). What each is weighed with is our own choice.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from planestock.models.body.layout import lay_out
from planestock.models.checks.rows import failing
from planestock.models.design import Design, design
from planestock.models.salvage.as_cut import AsCut, Plan
from planestock.models.salvage.cap_iron_room import room_before_cap_iron
from planestock.models.salvage.repairs import plans
from planestock.models.window.thickness import Settled, settle
from planestock.models.window.uncertainty import Budget, difference
from planestock.params.files import changed
from planestock.params.lengths import DECIMALS, Lengths
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem, refuse
from planestock.params.reading import Reading, parse

THINNEST, THICKEST = 10.0, 140.0
"""Thickness of a cut body, mm, that can be talked about: a little more than a set may ask for."""

GLUING = 4.0
"""Points for a glue-up: two faces trued to each other, cramping, a night's wait, flushing."""

PER_SURFACE = 2.0
"""Points for each surface to be cut or trued again."""

PER_HOLE = 1.0
"""Points for each hole to be plugged and bored again."""

PER_LITRE = 10.0
"""Points for each litre (10⁶ mm³) of wood glued on or taken off."""

LOOSE = 3.0
"""Points for a loose leaf under the casting: it shifts, it squashes, and it must be laid in again each time."""

DOUBT = 12.0
"""Points when an end of the window is only just reached; none when it is reached whatever readings, seasons and cut do."""

WEAR = 6.0
"""Points when none of the truings wanted is left; in proportion when some are."""

MOUTH = 3.0
"""Points for a mouth twice as wide as wanted; in proportion otherwise."""

MOST_LOST = 3.0
"""A mouth wider than this many times the wanted one costs no more points; it needs a mouth piece anyway."""


def weights() -> dict[str, float]:
    """Return what each part of `Points` is weighed with. All of them are our own choice: no source weighs a maker's work."""
    return {"glue_up": GLUING, "surface": PER_SURFACE, "hole": PER_HOLE, "litre": PER_LITRE, "loose": LOOSE, "doubt": DOUBT,
            "wear": WEAR, "mouth": MOUTH}  # fmt: skip


@dataclass(frozen=True)
class Points:
    """What a repair costs, each part in points, with no unit but that of the constants above, which are our own choice."""

    gluing: float
    surfaces: float
    holes: float
    wood: float
    loose: float
    doubt: float
    wear: float
    mouth: float

    @property
    def total(self) -> float:
        """The sum; the least is recommended."""
        return math.fsum(getattr(self, name) for name in self.__dataclass_fields__)

    @property
    def parts(self) -> tuple[tuple[str, float], ...]:
        """Each part that is not 0, by name."""
        return tuple((name, value) for name in self.__dataclass_fields__ if (value := getattr(self, name)) > 0)


@dataclass(frozen=True)
class Margins:
    """How far the body lies inside the window at both ends, mm, with the expanded uncertainty of each.

    out: T_max - T, back: T - T_min, as budgets of readings and thickness together; sure_out, sure_back: what is left of them
    when uncertainty, seasons and a stray cut are all at their worst.
    """

    out: Budget
    back: Budget
    sure_out: float
    sure_back: float


@dataclass(frozen=True)
class Way:
    """One repair. made: the numbers of the body it gives, None where it is refused before; failing: checks only it
    fails."""

    plan: Plan
    made: Design | None
    margins: Margins | None
    failing: tuple[str, ...]
    reasons: tuple[str, ...]
    points: Points | None

    @property
    def feasible(self) -> bool:
        """Whether it gives a body that works."""
        return not self.reasons


@dataclass(frozen=True)
class Salvage:
    """A body as cut, where it stands, and its repairs: feasible ones first, least points first.

    wanted: numbers of the body with the thickness that the window asks for; margins: of the body as it is.
    """

    given: ParameterSet
    cut: AsCut
    wanted: Design
    margins: Margins
    ways: tuple[Way, ...]

    @property
    def target(self) -> float:
        """The thickness that is wanted, rounded down to what is written."""
        return rounded_down(self.wanted.settled.thickness, self.given.lengths)

    @property
    def recommended(self) -> Way | None:
        """The first feasible repair, None where there is none."""
        return self.ways[0] if self.ways[0].feasible else None

    def way(self, name: str) -> Way:
        """Return a repair by its name. Raises LookupError where there is none of that name."""
        for way in self.ways:
            if way.plan.name == name:
                return way
        raise LookupError(name)


def salvage(given: ParameterSet, thickness: Reading, opening: Reading | None = None) -> Salvage:
    """Return the repairs of a body of this set that came out with this thickness (seat plane to sole).

    given: the set as wanted; its own body.thickness is not looked at. opening: of the mouth as found; throat.opening
    where it is left out. Raises InputProblem for a thickness that no body has, and where the set itself leaves no
    thickness to work to.
    """
    if not THINNEST <= thickness.value <= THICKEST:
        least, most = given.lengths.short(THINNEST).split()[0], given.lengths.short(THICKEST)
        bounds = f"must lie between {least} and {most}"
        raise refuse("--thickness", thickness.text, bounds,
                     "measure from the seat (where the casting rests) to the sole")  # fmt: skip
    wanted = design(_from_window(given))
    limit = float(
        (given.instrument.caliper or given.instrument.length).exact if thickness.limit is None else thickness.limit
    )
    found = given.throat.opening.value if opening is None else opening.value
    as_found = given if opening is None else with_changes(given, [f"throat.opening={opening.text}"])
    cut = AsCut(given, lay_out(as_found, thickness.value), found, limit, _written(thickness, limit, given.lengths))
    ways = [_judged(cut, plan, wanted) for plan in _fitting_plans(cut, wanted.settled)]
    live = ways[-1]
    assert live.margins is not None, "a body as it is has a thickness and so margins"
    return Salvage(given, cut, wanted, live.margins, tuple(sorted(ways, key=_rank)))


def rounded_down(thickness: float, length: Lengths) -> float:
    """Return a thickness rounded down to what a set and a shop are told, so that it stays safe."""
    return parse(length.written(thickness, "down", DECIMALS[length.units]), "length").value


def _written(thickness: Reading, limit: float, length: Lengths) -> str:
    """Return a measured thickness as a set takes it: as it was read, the mean of repeats rounded, with its ±."""
    as_read = replace(thickness, limit=None).text
    value = length.written(thickness.value) if thickness.repeats else as_read
    return f"{value} ± {length.written(limit, 'up')}"


def _rank(way: Way) -> tuple[bool, float]:
    return (not way.feasible, way.points.total if way.points else math.inf)


def _from_window(given: ParameterSet) -> ParameterSet:
    return given.model_copy(update={"body": given.body.model_copy(update={"thickness": None})})


def with_changes(given: ParameterSet, changes: Iterable[str]) -> ParameterSet:
    """Return the set with `path=value` changes laid over it. Raises InputProblem where one breaks a rule."""
    return parameter_set(changed(given.model_dump(mode="json"), changes))


def _fitting_plans(cut: AsCut, wanted: Settled) -> tuple[Plan, ...]:
    """Return the plans, each to the thickness that is safe for the body it gives: a piece of another wood swells
    otherwise."""
    target = rounded_down(wanted.thickness, cut.length)
    return tuple(_fitting(cut, index, plan, target) for index, plan in enumerate(plans(cut, target)))


def _fitting(cut: AsCut, index: int, plan: Plan, target: float) -> Plan:
    if plan.refused or plan.piece is None or plan.changes is None:
        return plan
    try:
        own = settle(_from_window(with_changes(cut.given, plan.changes))).thickness
    except InputProblem:
        return plan
    return plan if own >= target else plans(cut, rounded_down(own, cut.length))[index]


def _judged(cut: AsCut, plan: Plan, wanted: Design) -> Way:
    """Return the repair with the numbers of the body that it gives, what they fail, and its points."""
    if plan.refused:
        return Way(plan, None, None, (), plan.refused, None)
    try:
        plan, made = _made(cut, plan)
    except InputProblem as problem:
        reasons = tuple(f"{each.path} = {each.value}: {each.rule}" for each in problem.problems)
        return Way(plan, None, _live_margins(cut, plan), (), reasons, None)
    margins, length = margins_of(made.settled), cut.length
    new = _newly_failing(made, wanted)
    reasons = (*_outside(margins, length), *(_explained(made, name) for name in new if name not in WINDOW_CHECKS))
    points = _points(cut, plan, made, margins)
    return Way(plan, made, margins, new, reasons, points if not reasons else None)


def _newly_failing(made: Design, wanted: Design) -> tuple[str, ...]:
    """Return the checks that fail and would not on the body as wanted: those of the numbers, and the solids' one that a thin
    body is likeliest to fail."""
    anyway = failing(wanted.number_checks)
    new = tuple(name for name in failing(made.number_checks) if name not in anyway)
    fouled = _room_all_the_way_out(made) < min(0.0, _room_all_the_way_out(wanted)) - BARELY
    return (*new, CAP_IRON_CLEAR) if fouled else new


BARELY = 0.02
"""How much deeper than in the body as wanted the cap iron may enter, mm: what rounding the thickness down can do."""

CAP_IRON_CLEAR = "cap-iron-clear-out"
"""Check of the solids: the cap iron touches no wood, adjuster all the way out, which in a thin body is far out."""


def _room_all_the_way_out(made: Design) -> float:
    return room_before_cap_iron(made.given, made.layout, made.settled.window.out(made.layout.thickness))


WINDOW_CHECKS = frozenset({"edge-reaches-out", "edge-withdraws"})
"""Checks that say again that the thickness is outside the window."""


def _live_margins(cut: AsCut, plan: Plan) -> Margins | None:
    """Return the margins of the body as it is even where no set can hold its numbers."""
    if plan.name != "live with it":
        return None
    settled = settle(_from_window(cut.given))
    return margins_of(replace(settled, thickness=cut.thickness))


def _made(cut: AsCut, plan: Plan) -> tuple[Plan, Design]:
    """Return the numbers of the repaired body, and the plan with no more dowels than the body still has places for.

    The halves are glued by now, so a dowel that is planed away or has no room is no loss.
    """
    made = design(with_changes(cut.given, plan.judged))
    placed = sum(hole.kind == "dowel" for hole in made.layout.holes)
    for count in (placed, 0):
        if not DOWEL_CHECKS & set(failing(made.number_checks)):
            break
        fewer = f"body.dowels.count={count if count > 1 else 0}"
        changes = None if plan.changes is None else (*plan.changes, fewer)
        plan = replace(plan, judged=(*plan.judged, fewer), changes=changes)
        made = design(with_changes(cut.given, plan.judged))
    return plan, made


DOWEL_CHECKS = frozenset({"dowels-placed", "dowels-covered", "holes-apart"})
"""Checks that a dowel may fail when the glue line or the metal's holes come near it."""


def margins_of(settled: Settled) -> Margins:
    """Return how far a settled thickness lies inside the window."""
    cut = settled.thickness_budget
    return Margins(
        out=difference(settled.high, cut),
        back=difference(cut, settled.low),
        sure_out=settled.safe_high - settled.thickness,
        sure_back=settled.thickness - settled.safe_low,
    )


def _outside(margins: Margins, length: Lengths) -> tuple[str, ...]:
    reasons = []
    if margins.out.value < 0:
        reasons.append(f"the edge would come {length(-margins.out.value)} short of the deepest cut")
    if margins.back.value < 0:
        reasons.append(f"the edge would stay {length(-margins.back.value)} too low when the adjuster is run back")
    return tuple(reasons)


def _explained(made: Design, name: str) -> str:
    if name == CAP_IRON_CLEAR:
        deep = made.given.lengths(-_room_all_the_way_out(made))
        return f"adjuster all the way out, the cap iron would enter the front wall by {deep}"
    row = next(row for row in made.number_checks if row.id == name)
    asked = f"{row.asked[:1].lower()}{row.asked[1:]}"
    value = 0.0 if row.value is None else row.value
    if row.unit == "mm":
        return f"{name}: {asked}: {made.given.lengths.number(value)} against {made.given.lengths(row.limit)}"
    return f"{name}: {asked}: {value:.2f} against {row.limit:.2f} {row.unit}".rstrip()


def _points(cut: AsCut, plan: Plan, made: Design, margins: Margins) -> Points:
    work = cut.given.work
    asked = work.truings * work.truing_depth.value
    left = max(0.0, margins.sure_back)
    loose = plan.name == "shim"
    wanted_mouth = cut.given.throat.opening.value
    return Points(
        gluing=GLUING if plan.piece and not loose else 0.0,
        surfaces=PER_SURFACE * len(plan.surfaces),
        holes=PER_HOLE * len(plan.holes),
        wood=PER_LITRE * ((plan.piece.volume if plan.piece else 0.0) + plan.removed) / 1e6,
        loose=LOOSE if loose else 0.0,
        doubt=DOUBT * max(_doubt(margins.out, margins.sure_out), _doubt(margins.back, margins.sure_back)),
        wear=WEAR * max(0.0, 1.0 - left / asked) if asked > 0 else 0.0,
        mouth=MOUTH * min(MOST_LOST, max(0.0, made.given.throat.opening.value / wanted_mouth - 1.0)),
    )


def _doubt(margin: Budget, sure: float) -> float:
    """Return 0 where the end of the window is reached for sure, 1 where it is just reached with nothing to spare."""
    return 0.0 if sure >= -SURE else min(1.0, -sure / (margin.value - sure))


SURE = 1e-6
"""Rounding of a sure margin, mm: the new thickness is rounded down from the largest sure one."""
