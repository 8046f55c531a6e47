"""Budgets, seasons, sole life, old body and suspects as tables of words, at most 80 columns wide, for every writer alike."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from planestock.models.confidence.readings_in import unit_of
from planestock.models.confidence.two_roads import Comparison
from planestock.models.confidence.uncertainty import Budget
from planestock.models.old_body import OldBodyEvidence
from planestock.models.seasons import Season, Seasons
from planestock.models.sole_life import SoleLife

NONE = "–"
"""Stands where there is nothing to tell."""


@dataclass(frozen=True)
class Table:
    """A table of words; each row has a word per heading. The first column is meant flush left, the others flush right."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def budget_table(title: str, result: Budget) -> Table:
    """Return a budget sorted by share, its sum in the last row. slope: the sensitivity; mm: the contribution (JCGM 100)."""
    rows = [
        (term.path, f"{term.value:.2f} {unit_of(term.path)}", f"{term.u:.4f}", f"{term.sensitivity:+.4f}",
         f"{term.contribution:.4f}", f"{100 * term.share:.0f} %")
        for term in result.terms
    ]  # fmt: skip
    rows.append(("together", f"{result.value:.2f} mm", "", "", f"{result.u:.4f}", f"± {result.expanded:.2f} mm"))
    return Table(title, ("reading", "value", "u", "slope", "mm", "share"), tuple(rows))


def suspects_table(comparison: Comparison) -> Table:
    """Return the readings that may explain a disagreement of the two roads, most probable first."""
    rows = (
        (one.path, f"{100 * one.probability:.0f} %", f"{one.change:+.2f} {unit_of(one.path)}") for one in comparison.suspects
    )
    return Table("Which reading is off, if one is", ("reading", "probably", "change that mends it"), tuple(rows))


def seasons_table(through: Seasons) -> Table:
    """Return shop, driest and dampest season side by side."""
    rows = (
        _season_row("moisture content, %", through, lambda season: season.moisture),
        _season_row("thickness", through, lambda season: season.thickness),
        _season_row("mouth opening", through, lambda season: season.mouth),
        _season_row("room beside the iron", through, lambda season: season.side_clearance),
        _season_row("gap around the casting", through, lambda season: season.casting_gap),
        _season_row("gap around the frog's foot", through, lambda season: season.foot_gap),
        _season_row("bed's foot proud of the frog", through, lambda season: season.bed_proud),
    )
    return Table("Seasons, mm", ("", "in the shop", "driest", "dampest"), rows)


def _season_row(name: str, through: Seasons, of: Callable[[Season], float | None]) -> tuple[str, ...]:
    values = (of(season) for season in (through.worked, through.driest, through.dampest))
    return (name, *(NONE if value is None else f"{round(value, 2) + 0.0:.2f}" for value in values))


def sole_life_table(life: SoleLife) -> Table:
    """Return what each truing leaves."""
    rows = (
        (str(row.count), f"{row.removed:.2f}", f"{row.thickness:.2f}", f"{row.out:.2f}", f"{row.back:.2f}",
         f"{row.wear_left:.2f}", f"{row.mouth:.2f}", _listed(row.due))
        for row in life.rows
    )  # fmt: skip
    headings = ("truings", "removed", "thickness", "out", "back", "wear left", "mouth", "due")
    return Table("Sole life, mm", headings, tuple(rows))


def _listed(words: Iterable[str]) -> str:
    return ", ".join(words) or NONE


def old_body_table(old: OldBodyEvidence) -> Table:
    """Return where the old body stands in the window in each state."""
    rows = (
        (one.what, f"{one.thickness.value:.2f} ± {one.thickness.expanded:.2f}", f"{one.margin:+.2f}", one.verdict)
        for one in old.standings
    )
    return Table(f"Old body {old.place}, mm", ("", "thickness", "inside the window", "a copy"), tuple(rows))
