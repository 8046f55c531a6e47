"""`planestock compare`: variants side by side, as tables, as JSON, or as a page with their views."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planestock.exports.commands.options import AsJson, Changes, Numbers

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from planestock.exports.variants.compare_text import Cell
    from planestock.models.variants.compare import Comparison
    from planestock.params.parameter_set import ParameterSet

Sources = Annotated[
    list[str],
    typer.Argument(metavar="SET…", help="Sets to compare: files, or names of shipped sets.", show_default=False),
]
Variants = Annotated[
    list[str] | None,
    typer.Option(
        "--variant",
        metavar="CHANGES",
        help='One more variant of a single set, for example "throat.opening=0.8; body.width=72"; repeatable.',
        show_default=False,
    ),
]
Page = Annotated[
    Path | None,
    typer.Option("--page", metavar="FILE.html", help="Write a page with the views side by side.", show_default=False),
]

WIDTH = 80
"""Columns of text that is read on any screen."""

BESIDE = 3
"""Variants that stand beside one another on 80 columns; more go into further tables."""

TITLE_WIDTH = 28
"""Columns of a row's title or path, at most."""


def compare(
    sources: Sources,
    variants: Variants = None,
    page: Page = None,
    changes: Changes = None,
    numbers: Numbers = False,
    as_json: AsJson = False,
) -> int:
    """Compare variants: what differs in their sets, and what follows from it.

    Give several sets, or one set with a --variant for each change; --set applies to all. Thickness, window, mouth, wear,
    thinnest wood, mass, movement and failing checks of each stand side by side. Ends with 1 when a check of any fails.
    """
    from planestock.exports.commands.endings import CHECK_FAILED, FINE
    from planestock.exports.commands.progress import busy, print_json, say
    from planestock.exports.report.screen import result_console
    from planestock.exports.variants.compare_text import as_data
    from planestock.models.variants.compare import compare as compared
    from planestock.params.problems import refuse

    if page is not None and page.suffix not in (".html", ".htm"):
        raise refuse("--page", str(page), "the page's file ends in .html", "name it so")
    sets = labelled_sets(sources, variants or [], changes or [])
    with busy("" if numbers else "building the variants and checking them"):
        found = compared(sets, solids=not numbers)
        told = as_data(found)
    if page is not None:
        _write(found, page)
        say(f"Wrote {page}")
    if as_json:
        print_json(told)
    else:
        show(result_console(), found)
    failed = any(variant.failing or variant.made is None for variant in found.variants)
    return CHECK_FAILED if failed else FINE


def labelled_sets(sources: Sequence[str], variants: Sequence[str], changes: Sequence[str]) -> list[tuple[str, ParameterSet]]:
    """Return the sets to compare with their labels. Raises InputProblem where sets and variants do not go together."""
    from planestock.params.files import load, loaded, text_of
    from planestock.params.problems import refuse

    if variants and len(sources) > 1:
        raise refuse("--variant", variants[0], "goes with one set", f"name one of {', '.join(sources)}")
    if len(sources) == 1 and not variants:
        raise refuse("compare", sources[0], "takes at least 2 variants", "name another set, or add --variant")
    if not variants:
        return [(label, load(source, changes)) for label, source in zip(_labels(sources), sources, strict=True)]
    source = sources[0]
    text = text_of(source)
    (name,) = _labels(sources)
    own = [(name, loaded(text, source, changes))]
    return own + [(variant.strip(), loaded(text, source, [*changes, *split_changes(variant)])) for variant in variants]


def _labels(sources: Sequence[str]) -> list[str]:
    """Return what each source is called: its file's name without folder and ending, the whole source where two are alike."""
    short = [Path(source).stem for source in sources]
    return [name if short.count(name) == 1 else source for name, source in zip(short, sources, strict=True)]


_CHANGE = re.compile(r"""(?:"[^"]*"|'[^']*'|\[[^\]]*\]|\{[^}]*\}|[^;"'\[{]|["'\[{])+""")
"""One change: anything up to a semicolon that does not stand in quotes, brackets or braces."""


def split_changes(variant: str) -> list[str]:
    """Return the changes of a variant written "PATH=VALUE; PATH=VALUE". Raises InputProblem for one that holds none."""
    from planestock.params.problems import refuse

    found = [change.strip() for change in _CHANGE.findall(variant) if change.strip()]
    if not found:
        raise refuse("--variant", variant, "holds no change", 'for example --variant "throat.opening=0.8; body.width=72"')
    return found


def _write(found: Comparison, path: Path) -> None:
    from planestock.exports.files.front_door import write_one
    from planestock.exports.files.stamp import program_version
    from planestock.exports.pages.compare import page

    write_one(path, page(found, program_version()))


def show(console: Console, found: Comparison) -> None:
    """Print who is who, what differs, what follows, and what fails."""
    from rich.padding import Padding
    from rich.text import Text

    from planestock.exports.variants.compare_text import input_rows, outcome_rows, window_lines

    width = min(console.width, WIDTH)
    console.print(_who(found), width=width)
    count = len(found.variants)
    for title, rows in (("What differs in the sets", input_rows(found)), ("What follows", outcome_rows(found))):
        console.print(Text(title, style="bold"), width=width)
        if not rows:
            console.print("  Nothing: the sets hold the same values.", width=width)
        for start in range(0, count, BESIDE) if rows else ():
            table = _table(rows, range(start, min(start + BESIDE, count)))
            console.print(Padding(table, (0, 0, 1, 2), expand=False), width=width)
    for line in (*window_lines(found), *_told(found)):
        console.print(Text(line), width=width)


def _who(found: Comparison) -> Table:
    from rich.table import Table

    from planestock.exports.files.writer_rules import one_line
    from planestock.exports.variants.compare_text import letter

    table = Table.grid(padding=(0, 2))
    table.add_column(no_wrap=True, style="bold")
    table.add_column(overflow="fold")
    for index, variant in enumerate(found.variants):
        table.add_row(letter(index), f"{one_line(variant.label)}  (set {variant.given.digest[:12]})")
    return table


def _table(rows: Sequence[Cell], shown: range) -> Table:
    from rich.table import Table

    from planestock.exports.variants.compare_text import letter

    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, header_style="underline")
    longest = min(TITLE_WIDTH, max(len(row.path or row.title) for row in rows))
    table.add_column("", min_width=longest, max_width=TITLE_WIDTH, overflow="fold")
    for index in shown:
        table.add_column(letter(index), justify="right", overflow="fold")
    for row in rows:
        table.add_row(row.path or row.title, *(row.values[index] for index in shown), style="bold" if row.differs else "")
    return table


def _told(found: Comparison) -> Iterator[str]:
    """Yield what is no number: where wood is thinnest, what fails, which set is no body."""
    from planestock.exports.variants.compare_text import letter

    thinnest = next(one for one in found.outcomes if one.key == "wood.thinnest")
    for index, variant in enumerate(found.variants):
        name = letter(index)
        if variant.made is None:
            yield f"{name} is no body: {variant.problem}"
            continue
        where = f"thinnest wood by {thinnest.notes[index]}" if thinnest.notes and thinnest.notes[index] else ""
        fails = f"fails {', '.join(variant.failing)}" if variant.failing else "no check fails"
        yield f"{name}: {'; '.join(filter(None, (fails, where)))}"
