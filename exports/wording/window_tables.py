"""Budgets, seasons, sole life, old body and suspects as tables of words, at most 80 columns wide, for every writer alike;
lengths as the set has them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from string import ascii_lowercase

from planestock.models.body.seasons import Season, Seasons
from planestock.models.window.old_body import OldBodyEvidence
from planestock.models.window.readings import told, unit_of
from planestock.models.window.sole_life import SoleLife
from planestock.models.window.two_roads import Comparison
from planestock.models.window.uncertainty import Budget
from planestock.params.lengths import Lengths

NONE = "–"
"""Stands where there is nothing to tell."""


@dataclass(frozen=True)
class Table:
    """A table of words; each row has a word per heading. The first column is meant flush left, the others flush right."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def budget_table(title: str, result: Budget, length: Lengths) -> Table:
    """Return a budget sorted by share, its sum in the last row (JCGM 100).

    u: standard uncertainty of the reading in its unit; slope: the sensitivity; mm or in: the contribution.
    """
    # Lengths of uncertainty have two decimals more than others; a slope by an angle is a length for each degree.
    scale, places = (1.0, 4) if length.units == "mm" else (1 / 25.4, 5)

    def own(path: str) -> float:
        return scale if unit_of(path) == "mm" else 1.0

    rows = [
        (term.path, told(term.path, term.value, length), f"{term.u * own(term.path):.{places}f}",
         f"{term.sensitivity * scale / own(term.path):+.4f}".replace("-", "−"),
         f"{term.contribution * scale:.{places}f}", f"{100 * term.share:.0f} %")
        for term in result.terms
    ]  # fmt: skip
    rows.append(("together", length(result.value), "", "", f"{result.u * scale:.{places}f}", f"± {length(result.expanded)}"))
    return Table(title, ("reading", "value", "u", "slope", length.units, "share"), tuple(rows))


def suspects_table(comparison: Comparison, length: Lengths) -> Table:
    """Return the readings that may explain a disagreement of the two roads, most probable first.

    alike: readings with the same letter cannot be told apart by the two roads; times ±: the change over the reading's ±;
    chance: that a reading with that ± errs by so much.
    """
    letters = {
        one.path: letter
        for letter, each in zip(ascii_lowercase, comparison.explanations, strict=False)
        for one in each.suspects
    }
    rows = (
        (one.path, letters[one.path], f"{100 * one.probability:.0f} %",
         f"{'+' if one.change > 0 else ''}{told(one.path, one.change, length)}", f"{one.limits:.1f}",
         f"{100 * one.chance:.1f} %")
        for one in comparison.suspects
    )  # fmt: skip
    headings = ("reading", "alike", "probably", "change that mends it", "times ±", "chance")
    return Table("Which reading is off, if one is", headings, tuple(rows))


def seasons_table(through: Seasons, length: Lengths) -> Table:
    """Return shop, driest and dampest season side by side."""
    rows = (
        _season_row("moisture content, %", through, "{:.2f}".format, lambda season: season.moisture),
        _season_row("thickness", through, length.number, lambda season: season.thickness),
        _season_row("mouth opening", through, length.number, lambda season: season.mouth),
        _season_row("room beside the iron", through, length.number, lambda season: season.side_clearance),
        _season_row("gap around the casting", through, length.number, lambda season: season.casting_gap),
        _season_row("gap around the frog's foot", through, length.number, lambda season: season.foot_gap),
        _season_row("bed's foot proud of the frog", through, length.number, lambda season: season.bed_proud),
    )
    return Table(f"Seasons, {length.units}", ("", "in the shop", "driest", "dampest"), rows)


def _season_row(
    name: str, through: Seasons, text: Callable[[float], str], of: Callable[[Season], float | None]
) -> tuple[str, ...]:
    values = (of(season) for season in (through.worked, through.driest, through.dampest))
    return (name, *(NONE if value is None else text(value) for value in values))


def sole_life_table(life: SoleLife, length: Lengths) -> Table:
    """Return what each truing leaves."""
    rows = (
        (str(row.count), *map(length.number, (row.removed, row.thickness, row.out, row.back, row.wear_left, row.mouth)),
         _listed(row.due))
        for row in life.rows
    )  # fmt: skip
    headings = ("truings", "removed", "thickness", "out", "back", "wear left", "mouth", "due")
    return Table(f"Sole life, {length.units}", headings, tuple(rows))


def _listed(words: Iterable[str]) -> str:
    return ", ".join(words) or NONE


def old_body_table(old: OldBodyEvidence, length: Lengths) -> Table:
    """Return where the old body stands in the window in each state."""
    rows = (
        (
            one.what,
            f"{length.number(one.thickness.value)} ± {length.number(one.thickness.expanded)}",
            length.signed(one.margin),
            one.verdict,
        )
        for one in old.standings
    )
    return Table(f"Old body {old.place}, {length.units}", ("", "thickness", "inside the window", "a copy"), tuple(rows))
