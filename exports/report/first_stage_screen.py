"""The answer of the stage *thickness* on the screen."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from planestock.exports.report.screen import check_block, numbers_table
from planestock.exports.wording import first_stage as words
from planestock.exports.wording.cautions import IN_SHORT
from planestock.exports.wording.design import by_urgency, has_failing
from planestock.exports.wording.window import retake_sentence
from planestock.exports.wording.window_notes import window_notes
from planestock.models.checks.rows import Row
from planestock.models.window.thickness import Safe
from planestock.params.first_stage import FirstStage


def show_answer(console: Console, given: FirstStage, safe: Safe, rows: Sequence[Row], told: frozenset[str]) -> None:
    """Print one sentence to act on, what does not pass, the numbers, what they rest on, and the cautions."""
    failing = has_failing(rows)
    console.print(Text(words.cut_or_not(safe, failing=failing), style="bold"))
    console.print()
    for row in by_urgency(rows):
        if row.verdict != "pass":
            console.print(check_block(row, given.lengths))
    console.print(Padding(numbers_table(words.answer_numbers(safe, failing=failing)), (0, 0, 1, 2), expand=False))
    notes = (
        words.MISTAKES,
        retake_sentence(safe.retake, given.lengths),
        words.roads_sentence(safe),
        *window_notes(safe),
        *words.taken_notes(given, told, safe),
        IN_SHORT,
    )
    for note in filter(None, notes):
        console.print(Padding(Text(note), (0, 0, 1, 2), expand=False))
