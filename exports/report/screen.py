"""What the screen shows of a design: what to act on first, then what does not pass, then the numbers behind it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planestock.exports.files.writer_rules import one_line
from planestock.exports.wording.cautions import IN_SHORT
from planestock.exports.wording.design import by_urgency, first_numbers, folded, has_failing, outcome, row_text, to_act_on
from planestock.exports.wording.evidence import all_tables, as_lines, old_body_notes_of
from planestock.exports.wording.numbers import KeyNumber
from planestock.exports.wording.window import retake_sentence
from planestock.exports.wording.window_notes import window_notes
from planestock.models.checks.rows import Row, Verdict
from planestock.params.lengths import Lengths, counted

if TYPE_CHECKING:
    from planestock.models.design import Design

STYLES: dict[Verdict, str] = {"pass": "green", "warn": "bold yellow", "fail": "bold red"}
"""Colours go with the verdict's word, never instead of it."""

WIDE = 120
"""Columns of a screen from which the checks of the table are worded in full, not only named."""


def result_console() -> Console:
    """Return the console for results, on stdout; plain text where that is no terminal."""
    return Console(highlight=False, markup=False, emoji=False, soft_wrap=False)


def show_checks(console: Console, made: Design, rows: Sequence[Row], *, solids: bool, where: str = "", every: bool) -> None:
    """Print one sentence to act on, what does not pass with what to change, the passes as a count, and key numbers.

    where: says where the passing checks are listed. every: list them here instead.
    """
    console.print(_title(made))
    console.print(Text(to_act_on(made, failing=has_failing(rows)), style="bold"))
    console.print()
    for row in by_urgency(rows):
        if row.verdict != "pass":
            console.print(check_block(row, made.given.lengths))
    if every:
        table = checks_table(by_urgency(rows), made.given.lengths, wide=console.width >= WIDE)
        console.print(Padding(table, (0, 0, 1, 2), expand=False))
    elif count := folded(rows, where):
        console.print(Text(count))
        console.print()
    console.print(Padding(numbers_table(first_numbers(made)), (0, 0, 1, 2), expand=False))
    for note in window_notes(made.settled):
        console.print(Padding(Text(note), (0, 0, 1, 2), expand=False))
    console.print(Padding(Text(retake_sentence(made.settled.retake, made.given.lengths)), (0, 0, 1, 2), expand=False))
    for note in old_body_notes_of(made):
        console.print(Padding(Text(note), (0, 0, 1, 2), expand=False))
    console.print(Padding(Text(IN_SHORT), (0, 0, 1, 2), expand=False))
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


def numbers_table(numbers: Iterable[KeyNumber]) -> Table:
    """Return key numbers as a table without lines."""
    table = Table.grid(padding=(0, 2))
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True, style="bold")
    table.add_column(overflow="fold")
    for number in numbers:
        table.add_row(number.name, number.value, number.words)
    return table


def checks_table(rows: Sequence[Row], lengths: Lengths, *, wide: bool) -> Table:
    """Return all checks, one line each: verdict, id, value, limit, margin; wide: also what was asked."""
    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, header_style="underline")
    table.add_column("verdict", no_wrap=True)
    table.add_column("check", no_wrap=True)
    for name in ("value", "limit", "margin"):
        table.add_column(name, justify="right", no_wrap=True)
    if wide:
        table.add_column("asked", no_wrap=True, overflow="ellipsis")
    for row in rows:
        told = row_text(row, lengths)
        verdict = Text(row.verdict, style=STYLES[row.verdict])
        table.add_row(verdict, row.id, told.value, told.limit, told.margin, *([row.asked] if wide else []))
    return table


def check_block(row: Row, lengths: Lengths) -> RenderableType:
    """Return a check in full: what was asked, what was found, what to change."""
    head = Text.assemble((row.verdict.upper(), STYLES[row.verdict]), f" {row.id}: {row.asked}")
    change = Text.assemble(("change: ", "italic"), row.change)
    return Group(head, Padding(Text(row_text(row, lengths).found), (0, 0, 0, 5)), Padding(change, (0, 0, 1, 5)))


def show_files(console: Console, folder: Path, sizes: Mapping[str, int]) -> None:
    """Print what was written, with sizes."""
    console.print(Text(f"Wrote {counted(len(sizes), 'file')} into {folder}:"))
    table = Table.grid(padding=(0, 2))
    table.add_column(overflow="fold")
    table.add_column(justify="right", no_wrap=True)
    for name, size in sizes.items():
        table.add_row(name, f"{max(1, round(size / 1000))} kB")
    console.print(Padding(table, (0, 0, 0, 2), expand=False))
