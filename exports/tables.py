"""What the screen shows of a design: key numbers first, then every check, at the end what to change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planestock.exports.evidence import all_tables, as_lines, old_body_notes_of
from planestock.exports.key_numbers import measured
from planestock.exports.wording import first_numbers, limit, outcome
from planestock.exports.writer_rules import one_line
from planestock.models.check_rows import Row, Verdict
from planestock.models.confidence.words import retake_sentence

if TYPE_CHECKING:
    from planestock.models.design import Design

STYLES: dict[Verdict, str] = {"pass": "green", "warn": "bold yellow", "fail": "bold red"}
"""Colours go with the verdict's word, never instead of it."""

WIDE = 120
"""Columns of a screen from which the passing checks are worded in full, not only named."""


def result_console() -> Console:
    """Return the console for results, on stdout; plain text where that is no terminal."""
    return Console(highlight=False, markup=False, emoji=False, soft_wrap=False)


def show_checks(console: Console, made: Design, rows: Sequence[Row], *, solids: bool) -> None:
    """Print key numbers, all checks, and what to change where one does not pass."""
    console.print(_title(made))
    console.print(Padding(numbers_table(made), (0, 0, 1, 2), expand=False))
    console.print(Padding(Text(retake_sentence(made.settled.retake)), (0, 0, 1, 2), expand=False))
    console.print(Padding(checks_table(rows, wide=console.width >= WIDE), (0, 0, 1, 2), expand=False))
    for note in old_body_notes_of(made):
        console.print(Padding(Text(note), (0, 0, 1, 2), expand=False))
    for block in _blocks(rows):
        console.print(block)
    console.print(Text(outcome(rows, solids=solids), style="bold"))


def show_evidence(console: Console, made: Design) -> None:
    """Print the budgets, the seasons, the sole's life and the old body as tables."""
    for table in all_tables(made):
        console.print()
        for line in as_lines(table):
            console.print(Text(line), soft_wrap=True)


def _title(made: Design) -> Text:
    title = Text(one_line(made.given.name), style="bold")
    return title.append(f"  (set {made.given.digest[:12]})", style="not bold")


def numbers_table(made: Design) -> Table:
    """Return the key numbers as a table without lines."""
    table = Table.grid(padding=(0, 2))
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True, style="bold")
    table.add_column(overflow="fold")
    for number in first_numbers(made):
        table.add_row(number.name, number.value, number.words)
    return table


def checks_table(rows: Sequence[Row], *, wide: bool) -> Table:
    """Return all checks, one line each: verdict, id, value, limit, margin; wide: also what was asked."""
    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, header_style="underline")
    table.add_column("verdict", no_wrap=True)
    table.add_column("check", no_wrap=True)
    for name in ("value", "limit", "margin"):
        table.add_column(name, justify="right", no_wrap=True)
    if wide:
        table.add_column("asked", no_wrap=True, overflow="ellipsis")
    for row in rows:
        table.add_row(*_cells(row), *([row.asked] if wide else []))
    return table


def _cells(row: Row) -> Iterator[RenderableType]:
    yield Text(row.verdict, style=STYLES[row.verdict])
    yield row.id
    yield measured(row.value, row.unit)
    yield limit(row)
    yield measured(row.margin, row.unit)


def _blocks(rows: Sequence[Row]) -> Iterator[RenderableType]:
    """Yield a paragraph for every check that does not pass, warnings first, so that what is worst stands last."""
    for verdict in ("warn", "fail"):
        for row in rows:
            if row.verdict == verdict:
                yield _block(row)


def _block(row: Row) -> RenderableType:
    head = Text.assemble((row.verdict.upper(), STYLES[row.verdict]), f" {row.id}: {row.asked}")
    found = Text(f"{measured(row.value, row.unit)}, asked {limit(row)}")
    change = Text.assemble(("change: ", "italic"), row.change)
    return Group(head, Padding(found, (0, 0, 0, 5)), Padding(change, (0, 0, 1, 5)))


def show_files(console: Console, folder: Path, sizes: Mapping[str, int]) -> None:
    """Print what was written, with sizes."""
    console.print(Text(f"Wrote {len(sizes)} files into {folder}:"))
    table = Table.grid(padding=(0, 2))
    table.add_column(overflow="fold")
    table.add_column(justify="right", no_wrap=True)
    for name, size in sizes.items():
        table.add_row(name, f"{max(1, round(size / 1000))} kB")
    console.print(Padding(table, (0, 0, 0, 2), expand=False))
