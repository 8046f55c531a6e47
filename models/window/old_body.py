"""The old body as evidence: where it stands in the window, with and without the wood added to it, and what wear has done.

The old body is wood and was worn, mended or made wrong; the metal was not. Where the two disagree the metal wins, and this
module says by how much. Thicknesses of the old body are read with all that was added (params.wanted.OldBody). Results are
budgets, so that each difference comes with the uncertainty of the readings on both sides.

Two windows are asked: a copy is to be used with the iron in use; what the old body did, it did with its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from planestock.models.window.budgets import KnownWindow, governing, known_windows
from planestock.models.window.readings import input_at, value_at
from planestock.models.window.states import OWN, as_it_was, moved_by
from planestock.models.window.thickness import Settled
from planestock.models.window.uncertainty import Budget, budget, difference
from planestock.params.lengths import Lengths
from planestock.params.parameter_set import ParameterSet

TOE, MOUTH, HEEL = (f"old_body.thickness_{place}" for place in ("toe", "mouth", "heel"))
ADDED = {"sole": "old_body.sole_patch", "top": "old_body.top_patch"}

SAME = 0.005
"""Thicknesses that differ by less than this, mm, read the same."""

Verdict = Literal["would work", "doubtful", "cannot work"]
Weights = Mapping[str, float]


@dataclass(frozen=True)
class Standing:
    """The old body in one state. what: which; below_high: budget of T_max - T; above_low: budget of T - T_min; mm."""

    what: str
    thickness: Budget
    below_high: Budget
    above_low: Budget

    @property
    def margin(self) -> float:
        """How far it lies inside the window on its worse side, mm; negative outside: by so much the metal overrules it."""
        return self._worse.value

    @property
    def verdict(self) -> Verdict:
        """Whether a copy would work; doubtful where the readings' ± leave it open."""
        worse = self._worse
        if abs(worse.value) <= worse.expanded:
            return "doubtful"
        return "would work" if worse.value > 0 else "cannot work"

    @property
    def side(self) -> Literal["thick", "thin"]:
        """On which side its margin is the smaller."""
        return "thick" if self.below_high.value < self.above_low.value else "thin"

    @property
    def _worse(self) -> Budget:
        return self.below_high if self.side == "thick" else self.above_low


@dataclass(frozen=True)
class OldBodyEvidence:
    """standings: as measured, then without each addition, the first wood last. place: where its thickness was taken.

    lost: sole lost by the bare wood since it was T_max thick with its own iron, the most at which it can have worked;
    ever_worked: whether it can have worked with that iron as measured; other_metal: whether that iron or its setback is
    another than in use; thinner_than_new: the new body's thickness less the
    bare wood's; taper: toe less heel, None without both; hollow: how far the mouth lies above
    the line from toe to heel, None without all three. All in mm.
    """

    place: str
    standings: tuple[Standing, ...]
    lost: Budget
    ever_worked: bool
    other_metal: bool
    thinner_than_new: float
    taper: Budget | None
    hollow: Budget | None

    @property
    def as_measured(self) -> Standing:
        """With all that was added."""
        return self.standings[0]

    @property
    def bare(self) -> Standing:
        """The wood alone."""
        return self.standings[-1]

    @property
    def worst(self) -> Standing:
        """The state whose copy would be furthest out of the window."""
        return min(self.standings, key=lambda standing: standing.margin)

    @property
    def is_trap(self) -> bool:
        """Whether the body works only by what was added, so that copying the first wood alone fails."""
        return self.as_measured.margin >= 0 > self.bare.margin


def old_body(given: ParameterSet, settled: Settled) -> OldBodyEvidence | None:
    """Return what the old body tells, None where no thickness of it was read."""
    where = _where(given)
    if where is None:
        return None
    place, at_mouth = where
    added = [path for path in ADDED.values() if _given(given, path)]
    then = governing(known_windows(as_it_was(given, "old_body")))
    states: list[tuple[str, list[str]]] = [("as measured", [])]
    states += [(f"without {_name(path)}", [path]) for path in added]
    if len(added) > 1:
        states.append(("without all that was added", added))
    standings = tuple(_standing(settled.known, what, _sum(given, _less(at_mouth, gone))) for what, gone in states)
    bare = standings[-1]
    return OldBodyEvidence(
        place=place,
        standings=standings,
        lost=_told_of_then(given, difference(then.high, bare.thickness)),
        ever_worked=_standing(then, "then", _sum(given, at_mouth)).verdict != "cannot work",
        other_metal=bool(moved_by(given, "old_body")),
        thinner_than_new=settled.thickness - bare.thickness.value,
        taper=_taper(given),
        hollow=_hollow(given),
    )


def _given(given: ParameterSet, path: str) -> bool:
    """Tell whether a reading is there; an addition of 0 is none."""
    old, name = given.old_body, path.partition(".")[2]
    reading = getattr(old, name) if old is not None else None
    return reading is not None and (path not in ADDED.values() or reading.exact > 0)


def _name(path: str) -> str:
    return {"old_body.sole_patch": "what was added below", "old_body.top_patch": "what was added on top"}[path]


def _where(given: ParameterSet) -> tuple[str, Weights] | None:
    """Return the best evidence for the thickness at the mouth, as weights of the readings: it decides what the edge does."""
    share = _share(given)
    if _given(given, MOUTH):
        return "at the mouth", {MOUTH: 1.0}
    if _given(given, TOE) and _given(given, HEEL):
        return "at the mouth, between toe and heel", {TOE: 1.0 - share, HEEL: share}
    for place, path in (("at the toe", TOE), ("at the heel", HEEL)):
        if _given(given, path):
            return place, {path: 1.0}
    return None


def _share(given: ParameterSet) -> float:
    """Return how far back the old body's mouth lies, as a share of its length."""
    return value_at(given, "old_body.toe_to_mouth") / value_at(given, "old_body.length")


def _less(weights: Weights, added: list[str]) -> Weights:
    return {**weights, **dict.fromkeys(added, -1.0)}


def _sum(given: ParameterSet, weights: Weights) -> Budget:
    """Return the budget of a weighted sum of readings of the old body; its sensitivities are the weights."""
    inputs = [input_at(given, path) for path in weights]
    return budget(sum(weights[each.path] * each.value for each in inputs), inputs, weights)


def _standing(known: KnownWindow, what: str, thickness: Budget) -> Standing:
    return Standing(what, thickness, difference(known.high, thickness), difference(thickness, known.low))


def _told_of_then(given: ParameterSet, result: Budget) -> Budget:
    """Return a budget of the old state with the paths under which its own iron and setback are kept."""
    own = {in_use: kept for in_use, kept in OWN["old_body"].items() if given.reading_at(kept) is not None}
    return replace(result, terms=tuple(replace(term, path=own.get(term.path, term.path)) for term in result.terms))


def _taper(given: ParameterSet) -> Budget | None:
    return _sum(given, {TOE: 1.0, HEEL: -1.0}) if _given(given, TOE) and _given(given, HEEL) else None


def _hollow(given: ParameterSet) -> Budget | None:
    if not all(_given(given, path) for path in (TOE, MOUTH, HEEL)):
        return None
    share = _share(given)
    return _sum(given, {TOE: 1.0 - share, HEEL: share, MOUTH: -1.0})


def old_body_notes(old: OldBodyEvidence, thickness: float, length: Lengths) -> tuple[str, ...]:
    """Return what the old body tells in plain sentences; thickness: of the body to be made, mm."""
    notes = [_standing_note(standing, length) for standing in old.standings]
    if old.is_trap:
        notes.append(
            "The old body works only by the wood that was added to it: in a copy without that wood the edge could not be "
            "drawn back."
        )
    if old.as_measured.verdict == "cannot work":
        notes.append(
            f"Old body and metal disagree by {length(-old.as_measured.margin)}. The metal wins: "
            f"the new body is {length(thickness)} thick."
        )
        if old.as_measured.side == "thin" and len(old.standings) == 1 and not old.ever_worked:
            notes.append(
                "So thin, it never worked with this metal as it stands: either wood of it is missing, to be read as "
                "old_body.sole_patch or old_body.top_patch, or it belongs to other metal."
            )
    if old.lost.value > old.lost.expanded:
        then = " with the iron that it had" if old.other_metal else ""
        notes.append(
            f"Its wood is {length.spread(old.lost.value, old.lost.expanded)} thinner than the thickest body that "
            f"works{then}, and can have lost at most so much sole; {_beside_new(old.thinner_than_new, length)}."
        )
    return (*notes, *_shape_notes(old, length))


def _beside_new(thinner: float, length: Lengths) -> str:
    if abs(thinner) < SAME:
        return "it is as thick as the new one"
    return f"it is {length(abs(thinner))} {'thinner' if thinner > 0 else 'thicker'} than the new one"


def _standing_note(standing: Standing, length: Lengths) -> str:
    thickness = length.spread(standing.thickness.value, standing.thickness.expanded)
    text = f"The old body {standing.what} is {thickness} thick"
    if standing.margin < 0:
        edge = "does not withdraw" if standing.side == "thin" else "does not reach out"
        sure = "" if standing.verdict == "cannot work" else ", as far as the readings' ± let us say"
        return f"{text}: {length(-standing.margin)} too {standing.side}, a copy cannot work (the edge {edge}){sure}."
    copy = "would work" if standing.verdict == "would work" else "may work"
    return f"{text}: {length(standing.margin)} inside the window, a copy {copy}."


def _shape_notes(old: OldBodyEvidence, length: Lengths) -> tuple[str, ...]:
    notes = []
    if old.taper is not None and abs(old.taper.value) > old.taper.expanded:
        thinner = "heel" if old.taper.value > 0 else "toe"
        notes.append(f"It tapers: the {thinner} is {length(abs(old.taper.value))} thinner than the other end.")
    if old.hollow is not None and abs(old.hollow.value) > old.hollow.expanded:
        shape = "hollow" if old.hollow.value > 0 else "proud"
        notes.append(f"Its sole is {length(abs(old.hollow.value))} {shape} at the mouth against the line from toe to heel.")
    return tuple(notes)
