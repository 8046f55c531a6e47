"""How sure the numbers are, season by season and truing by truing: the tables that report and screen show alike."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from planestock.exports.wording import window_tables as tables
from planestock.exports.wording.window_tables import Table
from planestock.models.window.old_body import old_body_notes

if TYPE_CHECKING:
    from planestock.models.design import Design

COLUMN_GAP = "  "
"""Between the columns of a table in plain text."""


def sure_tables(made: Design) -> Iterator[Table]:
    """Yield the uncertainty budgets, largest share first, and the suspects where the two roads disagree."""
    settled, length = made.settled, made.given.lengths
    yield tables.budget_table("Thinnest that withdraws (T min)", settled.low, length)
    yield tables.budget_table("Thickest that reaches (T max)", settled.high, length)
    if settled.thickness_budget.terms:
        yield tables.budget_table("Thickness as it will be cut", settled.thickness_budget, length)
    yield tables.budget_table("Mouth opening as it will be", settled.mouth, length)
    if settled.comparison is not None and not settled.comparison.agree:
        yield tables.suspects_table(settled.comparison, length)


def old_body_notes_of(made: Design) -> tuple[str, ...]:
    """Return what the old body tells in sentences; empty where none was measured."""
    return () if made.old_body is None else old_body_notes(made.old_body, made.settled.thickness, made.given.lengths)


def all_tables(made: Design) -> Iterator[Table]:
    """Yield every table: budgets, seasons, sole life, old body."""
    yield from sure_tables(made)
    yield tables.seasons_table(made.seasons, made.given.lengths)
    yield tables.sole_life_table(made.sole_life, made.given.lengths)
    if made.old_body is not None:
        yield tables.old_body_table(made.old_body, made.given.lengths)


def as_lines(table: Table) -> Iterator[str]:
    """Yield a table as plain text: its title, its headings, its rows; first column flush left, the others flush right."""
    yield table.title
    rows = [table.headings, *table.rows]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = (
            cell.rjust(width) if at else cell.ljust(width) for at, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        yield COLUMN_GAP.join(cells).rstrip()
