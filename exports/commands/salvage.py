"""`planestock salvage`: the repairs of a body cut too thin, too thick or too wide at the mouth; the repaired set, written on
request."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planestock.exports.commands.options import AsJson, Changes, SetSource

if TYPE_CHECKING:
    from rich.console import Console, RenderableType
    from rich.table import Table

    from planestock.models.salvage.judging import Salvage, Way
    from planestock.models.window.uncertainty import Budget
    from planestock.params.fields import Quantity
    from planestock.params.lengths import Lengths
    from planestock.params.parameter_set import ParameterSet
    from planestock.params.reading import Reading

Thickness = Annotated[
    str,
    typer.Option(
        "--thickness",
        metavar="READING",
        help='The body as it is, seat plane to sole, for example "44.1 ± 0.1 mm".',
        show_default=False,
    ),
]
FoundMouth = Annotated[
    str | None,
    typer.Option(
        "--mouth",
        metavar="READING",
        help="Its mouth as it is; left out, it is the set's throat.opening.",
        show_default=False,
    ),
]
RepairOption = Annotated[
    str | None,
    typer.Option(
        "--repair", metavar="REPAIR", help="Show or write this repair instead of the recommended one.", show_default=False
    ),
]
Write = Annotated[
    Path | None,
    typer.Option("--write", metavar="FILE", help="Write the repaired body as a parameter set.", show_default=False),
]
Overwrite = Annotated[bool, typer.Option("--overwrite", help="Replace FILE if there is one.")]

WIDTH = 80
"""Columns of text that is read on any screen."""


def salvage(  # noqa: PLR0913, PLR0917 - a command's options
    source: SetSource,
    thickness: Thickness,
    mouth: FoundMouth = None,
    repair: RepairOption = None,
    write: Write = None,
    overwrite: Overwrite = False,
    changes: Changes = None,
    as_json: AsJson = False,
) -> int:
    """Find the cheapest repair of a body that was cut too thin, too thick or too wide at the mouth.

    Pad, slip, shim, lowered seat, planed sole, mouth piece or living with it: what each needs, moves and leaves, ranked.
    With --write the repaired body becomes a set that can be built. Ends with 1 when no repair is sound.
    """
    from planestock.exports.commands.endings import CHECK_FAILED, FINE
    from planestock.exports.commands.progress import print_json
    from planestock.exports.report.screen import result_console
    from planestock.models.salvage.judging import salvage as salvaged
    from planestock.params.files import load

    given = load(source, changes or ())
    found = salvaged(given, _reading("--thickness", thickness, given), _mouth(mouth, given))
    shown = _chosen(found, repair)
    if write is not None:
        _write(found, shown, source, changes or [], write, overwrite=overwrite)
    if as_json:
        from planestock.exports.salvage.data import as_data

        print_json(as_data(found))
    else:
        show(result_console(), found, shown)
    if write is not None:
        from planestock.exports.commands.progress import say

        say(f"Wrote {write}. Build it with: planestock build {write}")
    return FINE if found.recommended else CHECK_FAILED


def _reading(option: str, text: str, given: ParameterSet, quantity: Quantity | None = None) -> Reading:
    from planestock.params.problems import refuse
    from planestock.params.reading import typed_length

    reading = typed_length(option, text, given.units)
    if quantity is not None and not quantity.low <= reading.value <= quantity.high:
        raise refuse(option, text, quantity.rule(reading.unit), "measure it again, along the sole")
    return reading


def _mouth(text: str | None, given: ParameterSet) -> Reading | None:
    from planestock.params.catalogue import declared
    from planestock.params.fields import quantity_of

    field = declared("throat.opening")
    assert field is not None, "throat.opening is declared"
    return None if text is None else _reading("--mouth", text, given, quantity_of(field))


def _chosen(found: Salvage, name: str | None) -> Way | None:
    """Return the repair that is asked for by name, else the recommended one. Raises InputProblem for an unknown name."""
    from planestock.params.problems import nearest, refuse

    if name is None:
        return found.recommended
    by_name = {way.plan.name.casefold(): way for way in found.ways}
    wanted = " ".join(name.replace("-", " ").split()).casefold()
    if wanted not in by_name:
        raise refuse("--repair", name, "is none of the repairs", nearest(wanted, by_name))
    return by_name[wanted]


def _write(found: Salvage, way: Way | None, source: str, changes: list[str], path: Path, *, overwrite: bool) -> None:
    """Write the repaired body's set with the comments of its origin. Raises InputProblem where there is nothing to write."""
    from planestock.exports.files.front_door import write_one
    from planestock.params.problems import refuse

    if path.exists() and not path.is_dir() and not overwrite:
        raise refuse(str(path), "a file", "is there already and is not replaced", "choose another name, or add --overwrite")
    write_one(path, salvaged_text(found, way, source, changes).encode())


def salvaged_text(found: Salvage, way: Way | None, source: str, changes: list[str]) -> str:
    """Return the TOML text of the repaired body: the text of `source`, its comments kept, with the repair's values in it.

    Raises InputProblem for a repair that is not feasible or that no set can say (a loose shim is no part of the body).
    """
    from planestock.models.salvage.judging import with_changes
    from planestock.params.files import text_as_used, text_of
    from planestock.params.problems import refuse

    if way is None or not way.feasible:
        reason = "; ".join(way.reasons) if way else "no repair is sound"
        raise refuse("--write", way.plan.name if way else "nothing", reason, "see the repairs without --write")
    if way.plan.changes is None:
        raise refuse(
            "--write", way.plan.name, "is loose and no part of a set", "choose another with --repair, for example pad"
        )
    given = with_changes(found.given, way.plan.changes)
    return text_as_used(text_of(source), [*changes, *way.plan.changes], given)


def show(console: Console, found: Salvage, shown: Way | None) -> None:
    """Print where the body stands, every repair, what may hurt, and one repair step by step."""
    from rich.padding import Padding
    from rich.text import Text

    from planestock.exports.files.writer_rules import one_line
    from planestock.exports.wording.cautions import AT_THE_BENCH
    from planestock.exports.wording.salvage import standing, weights_in_words, why_first
    from planestock.exports.wording.window_notes import window_notes

    width = min(console.width, WIDTH)
    title = Text(one_line(found.given.name), style="bold").append(f"  (set {found.given.digest[:12]})", style="not bold")
    console.print(title, width=width)
    console.print(Padding(_standing_table(found), (0, 0, 1, 2), expand=False), width=width)
    console.print(Text(standing(found), style="bold"), "", width=width)
    for note in window_notes(found.wanted.settled):
        console.print(Text(note), "", width=width)
    if any(way.feasible for way in found.ways):
        console.print(Padding(_ways_table(found), (0, 0, 1, 2), expand=False), width=width)
    refused = [way for way in found.ways if not way.feasible]
    if refused:
        console.print(Padding(_refused_table(refused), (0, 0, 1, 2), expand=False), width=width)
    console.print(Text(why_first(found)), width=width)
    console.print(Text(weights_in_words()), "", width=width)
    if shown is not None and shown.feasible:
        for block in _blocks(found, shown):
            console.print(block, width=width)
        console.print()
        console.print(Text("Cautions", style="bold"), width=width)
        for caution in AT_THE_BENCH:
            console.print(Padding(_bullet(caution), (0, 0, 0, 2), expand=False), width=width)


def _bullet(text: str) -> Table:
    from rich.table import Table

    table = Table.grid(padding=(0, 1))
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    table.add_row("-", text)
    return table


def _standing_table(found: Salvage) -> Table:
    settled, cut, length = found.wanted.settled, found.cut, found.given.lengths
    rows = (
        ("As cut", length.spread(cut.thickness, cut.limit), "seat plane to sole"),
        ("Window", length.span(settled.window.low, settled.window.high),
         f"± {length.number(settled.low.expanded)} and ± {length(settled.high.expanded)}"),
        ("Sure", length.span(settled.safe_low, settled.safe_high), "whatever readings, seasons and cut do"),
        ("Wanted", length(found.target), "the thickest that is sure, so that most wear is left"),
    )  # fmt: skip
    return _grid(rows)


def _grid(rows: tuple[tuple[str, str, str], ...]) -> Table:
    from rich.table import Table

    table = Table.grid(padding=(0, 2))
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True, style="bold")
    table.add_column(overflow="fold")
    for row in rows:
        table.add_row(*row)
    return table


def _ways_table(found: Salvage) -> Table:
    from rich.table import Table

    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, header_style="underline")
    table.add_column("repair", no_wrap=True)
    length = found.given.lengths
    for name in ("points", "piece", "mouth", "to T max", "to T min"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("holes", justify="right", no_wrap=True)
    for way in found.ways:
        if way.feasible and way.margins and way.points:
            piece = length.number(way.plan.piece.thickness) if way.plan.piece else "–"
            out, back = _spread(way.margins.out, length), _spread(way.margins.back, length)
            table.add_row(way.plan.name, f"{way.points.total:.1f}", piece, length.number(way.plan.mouth.opening),
                          out, back, str(len(way.plan.holes)))  # fmt: skip
    return table


def _spread(margin: Budget, length: Lengths) -> str:
    return f"{length.number(margin.value)} ± {length.number(margin.expanded)}"


def _refused_table(refused: list[Way]) -> Table:
    from rich.table import Table

    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, header_style="underline")
    table.add_column("not sound", no_wrap=True)
    table.add_column("because", overflow="fold")
    for way in refused:
        table.add_row(way.plan.name, "; ".join(way.reasons))
    return table


def _blocks(found: Salvage, way: Way) -> Iterator[RenderableType]:
    """Yield one repair in full: its steps, what moves, what is to be trued again."""
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    from planestock.exports.wording.salvage import movements, steps

    yield Text(f"{way.plan.name.capitalize()}, step by step", style="bold")
    numbered = Table.grid(padding=(0, 1))
    numbered.add_column(justify="right", no_wrap=True)
    numbered.add_column(overflow="fold")
    for count, step in enumerate(steps(found, way), start=1):
        numbered.add_row(f"{count}.", step)
    yield Padding(numbered, (0, 0, 1, 2), expand=False)
    moved = [(name, found.given.lengths(abs(by)), _side(name, by)) for name, by in movements(way.plan) if abs(by) >= 0.005]
    if moved:
        yield Text("What moves", style="bold")
        yield Padding(_grid(tuple(moved)), (0, 0, 1, 2), expand=False)
    if way.plan.surfaces:
        yield Text(f"To be cut or trued again: {', '.join(way.plan.surfaces)}.")


def _side(name: str, by: float) -> str:
    if name.endswith("along the body"):
        return "to the heel" if by > 0 else "to the toe"
    return "up" if by > 0 else "down"
