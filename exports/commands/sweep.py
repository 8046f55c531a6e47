"""`planestock sweep`: what a set becomes when some of its values vary, as a table, a picture, or built solids."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planestock.exports.commands.options import AsJson, Changes, SetSource

if TYPE_CHECKING:
    import numpy as np
    from rich.console import Console
    from rich.table import Table as Grid

    from planestock.exports.files.stamp import Stamp
    from planestock.exports.variants.build_all import Outcome
    from planestock.exports.variants.sweep_table import Column
    from planestock.models.variants.sweep import Table
    from planestock.models.variants.sweep_axes import Axis
    from planestock.models.variants.sweep_ties import Best
    from planestock.params.parameter_set import ParameterSet

Vary = Annotated[
    list[str],
    typer.Option(
        "--vary",
        metavar='PATH="FROM to TO in N"',
        help='Vary one value in N even steps, for example "cap_iron.setback=0.2 to 1.5 mm in 14"; repeatable, all are '
        "combined.",
        show_default=False,
    ),
]
AtRandom = Annotated[
    int | None,
    typer.Option(
        "--random", metavar="N", help='Draw N variants at random instead, from --vary PATH="FROM to TO".', show_default=False
    ),
]
Seed = Annotated[int, typer.Option("--seed", help="Start of the random draw; the same start draws the same variants.")]
TableFile = Annotated[
    Path | None,
    typer.Option("-o", "--output", metavar="FILE", help="Write all rows: .csv, or .parquet.", show_default=False),
]
PictureFile = Annotated[
    Path | None,
    typer.Option(
        "--picture", metavar="FILE.svg", help="Draw contours over two ranges, or a curve over one.", show_default=False
    ),
]
Shown = Annotated[str, typer.Option("--show", metavar="OUTCOME", help="What the picture shows, for example window.width.")]
SolidsFolder = Annotated[
    Path | None,
    typer.Option(
        "--solids",
        metavar="FOLDER",
        help="Build every variant on all cores, one result file each in FOLDER; a stopped run goes on from there.",
        show_default=False,
    ),
]

MOST_LISTED = 24
"""Variants up to which the screen shows each one."""

MOST_TOLD = 20_000
"""Variants up to which --json tells every row."""

WIDTH = 80
"""Columns of text that is read on any screen."""


@dataclass(frozen=True)
class Wanted:
    """What is to be written: table, picture of an outcome, folder of built variants; each may be None."""

    table: Path | None
    picture: Path | None
    shown: str
    solids: Path | None


@dataclass(frozen=True)
class Swept:
    """A sweep that is done. built: outcomes of the solids, None where they were not asked for."""

    given: ParameterSet
    axes: tuple[Axis, ...]
    table: Table
    built: list[Outcome] | None


def sweep(  # noqa: PLR0913, PLR0917 - every one is an option of the command line
    source: SetSource,
    vary: Vary,
    at_random: AtRandom = None,
    seed: Seed = 0,
    output: TableFile = None,
    picture: PictureFile = None,
    show: Shown = "wear_left",
    solids: SolidsFolder = None,
    changes: Changes = None,
    as_json: AsJson = False,
) -> int:  # fmt: skip
    """See what a set becomes when some of its values vary.

    Window, thickness, wear left and mouth for a grid or a random sample: a summary on the screen, every row as CSV or
    Parquet, and contours as SVG. Values that feed only the window and the mouth are worked out by the million.
    """
    from planestock.exports.commands.endings import CHECK_FAILED, FINE
    from planestock.exports.commands.progress import print_json
    from planestock.exports.report.screen import result_console
    from planestock.models.variants.sweep import inputs_of
    from planestock.models.variants.sweep_axes import axes
    from planestock.params.files import load

    given = load(source, changes or ())
    found = axes(vary, given.units, at_random=at_random is not None)
    wanted = Wanted(output, picture, show, solids)
    _possible(wanted, found, at_random=at_random is not None)
    done = _run(given, found, inputs_of(found, at_random, seed, solids=solids is not None), wanted)
    told = as_data(done) if as_json else None
    _write(done, wanted)
    if told is not None:
        print_json(told)
    else:
        show_table(result_console(), done)
    failed = any(outcome.result is None for outcome in done.built or ())
    return CHECK_FAILED if failed else FINE


def _possible(wanted: Wanted, found: Sequence[Axis], *, at_random: bool) -> None:
    """Refuse what cannot be written, before anything is worked out."""
    from planestock.exports.variants.contours import NAMES
    from planestock.exports.variants.sweep_table import require_parquet
    from planestock.params.problems import nearest, refuse

    if wanted.table is not None:
        if wanted.table.suffix not in (".csv", ".parquet"):
            raise refuse("-o", str(wanted.table), "the table's file ends in .csv or .parquet", "choose one of them")
        if wanted.table.suffix == ".parquet":
            require_parquet()
    if wanted.picture is None:
        return
    if wanted.picture.suffix != ".svg":
        raise refuse("--picture", str(wanted.picture), "the picture's file ends in .svg", "name it so")
    if wanted.shown not in NAMES:
        raise refuse("--show", wanted.shown, "is none of a sweep's outcomes", nearest(wanted.shown, NAMES))
    if at_random or len(found) > 2:
        raise refuse("--picture", f"{len(found)} ranges", "a picture is drawn over one or two ranges of a grid",
                     "leave --random out, and vary one or two values")  # fmt: skip


def _run(given: ParameterSet, found: tuple[Axis, ...], inputs: dict[str, np.ndarray], wanted: Wanted) -> Swept:
    from planestock.exports.commands.progress import steps
    from planestock.models.variants.sweep import in_arrays, swept

    rows = len(next(iter(inputs.values())))
    with steps(1 if in_arrays(list(inputs)) else rows) as begin:
        table = swept(given, inputs, lambda number: begin(f"variant {number + 1} of {rows}"))
    if wanted.solids is None:
        return Swept(given, found, table, None)
    return Swept(given, found, table, _build(given, inputs, wanted.solids))


def _build(given: ParameterSet, inputs: dict[str, np.ndarray], folder: Path) -> list[Outcome]:
    """Build every variant; say at once what failed, so that a long run can be stopped and mended."""
    from planestock.exports.commands.progress import say, steps
    from planestock.exports.variants.build_all import Outcome, Task, build_all
    from planestock.models.variants.sweep import changes_of
    from planestock.params.files import changed
    from planestock.params.parsing import parameter_set
    from planestock.params.problems import InputProblem

    raw = given.model_dump(mode="json")
    tasks: list[Task] = []
    hopeless: dict[int, Outcome] = {}
    for number, changes in enumerate(changes_of(given, inputs)):
        values = changed(raw, changes)
        try:
            tasks.append(Task(parameter_set(values).digest, changes, values))
        except InputProblem as problem:
            hopeless[number] = Outcome(Task("", changes, values), None, str(problem).splitlines()[0])

    def complain(outcome: Outcome) -> None:
        if outcome.error:
            say(f"{', '.join(outcome.task.changes)}: {outcome.error}")

    for outcome in hopeless.values():
        complain(outcome)
    with steps(len(tasks)) as begin:

        def done(outcome: Outcome) -> None:
            begin(f"{len(tasks)} variants")
            complain(outcome)

        built = iter(build_all(tasks, folder, done))
    return [hopeless[number] if number in hopeless else next(built) for number in range(len(tasks) + len(hopeless))]


def _stamp(given: ParameterSet) -> Stamp:
    from planestock.exports.files.stamp import Stamp, program_version

    return Stamp(given.name, given.digest, program_version())


def _write(done: Swept, wanted: Wanted) -> None:
    from planestock.exports.commands.progress import say
    from planestock.exports.files.front_door import write_one
    from planestock.exports.variants.contours import Field, picture
    from planestock.exports.variants.sweep_table import as_csv, as_parquet
    from planestock.models.variants.sweep_axes import reading_there

    stamp = _stamp(done.given)
    if wanted.table is not None:
        writer = as_csv if wanted.table.suffix == ".csv" else as_parquet
        say(f"Wrote {write_one(wanted.table, writer(all_columns(done), stamp))}")
    if wanted.picture is not None:
        own = [reading_there(done.given, axis.path) for axis in done.axes]
        shape = tuple(axis.count or 0 for axis in done.axes)
        field = Field(wanted.shown, done.axes, done.table.outcomes[wanted.shown].reshape(shape),
                      tuple(one.value if one else None for one in own))  # fmt: skip
        say(f"Wrote {write_one(wanted.picture, picture(field, stamp))}")


def all_columns(done: Swept) -> dict[str, Column]:
    """Return every column of the table: inputs, outcomes, and words on what failed."""
    import numpy as np

    from planestock.exports.variants.sweep_table import columns_of

    table = done.table
    outcomes, words = dict(table.outcomes), {}
    if table.failing is not None and table.problems is not None:
        words = {"failing": table.failing, "problem": table.problems}
    if done.built is not None:
        results = [outcome.result for outcome in done.built]
        outcomes["mass"] = np.array([result.mass if result else np.nan for result in results])
        words["failing"] = tuple(" ".join(result.failing) if result else "" for result in results)
        words["problem"] = tuple(outcome.error for outcome in done.built)
    return columns_of(table.inputs, outcomes, words)


def as_data(done: Swept) -> dict[str, Any]:
    """Return the sweep as plain data, every row told. Raises InputProblem where there are more than `MOST_TOLD`."""
    import numpy as np

    from planestock.exports.files.promised import promised, told
    from planestock.exports.variants.sweep_schema import SweepFound
    from planestock.exports.wording.window_notes import notes_on
    from planestock.models.variants.sweep_ties import best, idle
    from planestock.models.window.budgets import governing, known_windows
    from planestock.params.problems import refuse

    if done.table.rows > MOST_TOLD:
        raise refuse(
            "--json", f"{done.table.rows:,} variants", f"tells at most {MOST_TOLD:,} rows", "write them with -o FILE.csv"
        )
    first = best(done.table)
    columns = {name: column.tolist() if isinstance(column, np.ndarray) else list(column)
               for name, column in all_columns(done).items()}  # fmt: skip
    facts = {
        "set": {"name": done.given.name, "digest": done.given.digest},
        "window_notes": notes_on(done.given, governing(known_windows(done.given)), [axis.path for axis in done.axes]),
        "varied": [{"path": axis.path, "from": axis.low, "to": axis.high, "count": axis.count} for axis in done.axes],
        "variants": done.table.rows,
        "unmoved": [{"path": one.path, "why": one.why} for one in idle(done.given, done.axes, done.table)],
        "most_wear": None if first is None else {"wear_left": first.wear, "rows": first.rows, "sure": first.sure},
        "columns": columns,
    }  # fmt: skip
    return told(promised(SweepFound, facts))


def show_table(console: Console, done: Swept) -> None:
    """Print what the variants come to, and each one where there are few."""
    from rich.padding import Padding
    from rich.text import Text

    from planestock.exports.files.writer_rules import one_line
    from planestock.exports.wording.window_notes import notes_on
    from planestock.models.window.budgets import governing, known_windows

    width = min(console.width, WIDTH)
    title = Text(one_line(done.given.name), style="bold").append(f"  (set {done.given.digest[:12]})", style="not bold")
    console.print(title, width=width)
    sure = int(done.table.outcomes["sure"].sum())
    console.print(f"{done.table.rows:,} variants, {sure:,} of them sure to work all year", width=width)
    console.print(Padding(_summary(done), (1, 0, 1, 2), expand=False), width=width)
    if done.table.rows <= MOST_LISTED:
        for block in _listed(done):
            console.print(Padding(block, (0, 0, 1, 2), expand=False), width=width)
    known = governing(known_windows(done.given))
    for line in (*notes_on(done.given, known, [axis.path for axis in done.axes]), *_told(done)):
        console.print(Text(line), width=width)


SUMMED = ("window.min", "window.max", "window.width", "thickness", "wear_left", "mouth.opening", "mouth.after_truings",
          "clearance_angle")  # fmt: skip
"""Outcomes of which the screen tells least and most."""


def _summary(done: Swept) -> Grid:
    from rich.table import Table

    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, header_style="underline")
    table.add_column(f"varied, and what follows, {done.given.units}", no_wrap=True, overflow="ellipsis")
    for name in ("least", "most"):
        table.add_column(name, justify="right", no_wrap=True)
    for axis in done.axes:
        table.add_row(axis.path, _text(done, axis.path, axis.low), _text(done, axis.path, axis.high))
    for name in SUMMED:
        least, most = (_text(done, name, end) for end in _ends(done.table.outcomes[name]))
        table.add_row(name, least, most, style="bold" if name == "wear_left" else "")
    return table


def _ends(column: np.ndarray) -> tuple[float, float]:
    import numpy as np

    known = column[np.isfinite(column)]
    return (float(known.min()), float(known.max())) if known.size else (math.nan, math.nan)


NO_LENGTHS = ("clearance_angle", "mouth.growth_per_mm")
"""Outcomes that are no lengths."""


def _text(done: Swept, name: str, value: float) -> str:
    """Return a varied value or an outcome, lengths in the set's unit."""
    from planestock.params.catalogue import declared
    from planestock.params.fields import quantity_of

    if math.isnan(value):
        return "–"
    field = declared(name)
    quantity = quantity_of(field) if field else None
    if (quantity is None and field is not None) or name in NO_LENGTHS or (quantity and quantity.dimension == "angle"):
        return f"{value:.2f}".replace("-", "−")
    return done.given.lengths.number(value)


def _text_with_unit(done: Swept, name: str, value: float) -> str:
    """Return a varied value with its unit for a sentence."""
    from planestock.params.catalogue import declared
    from planestock.params.fields import quantity_of

    field = declared(name)
    quantity = quantity_of(field) if field else None
    if quantity is None:
        return f"{value:g}"
    return f"{_text(done, name, value)}°" if quantity.dimension == "angle" else done.given.lengths(value)


LISTED = (("width", "window.width"), ("thickness", "thickness"), ("wear", "wear_left"), ("mouth", "mouth.opening"),
          ("sure", "sure"))  # fmt: skip
"""Columns of a listed variant."""

AXES_BESIDE = 3
"""Varied values that fit beside the outcomes on 80 columns; more are shown in further tables."""


def _listed(done: Swept) -> list[Grid]:
    """Return tables of every variant, the varied values of at most `AXES_BESIDE` axes in each."""
    return [_listing(done, done.axes[start : start + AXES_BESIDE]) for start in range(0, len(done.axes), AXES_BESIDE)]


def _listing(done: Swept, beside: Sequence[Axis]) -> Grid:
    from rich.table import Table

    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, header_style="underline")
    table.add_column("no.", justify="right", no_wrap=True)
    for axis in beside:
        table.add_column(_heading(axis, done.axes), justify="right", no_wrap=True, max_width=24, overflow="ellipsis")
    for name, _ in LISTED:
        table.add_column(name, justify="right", no_wrap=True)
    for row in range(done.table.rows):
        values = [_text(done, axis.path, float(done.table.inputs[axis.path][row])) for axis in beside]
        numbers = [_text(done, name, float(done.table.outcomes[name][row])) for _, name in LISTED[:-1]]
        sure = done.table.outcomes["sure"][row]
        table.add_row(str(row + 1), *values, *numbers, "yes" if sure == 1 else "no")
    return table


def _heading(axis: Axis, axes: Sequence[Axis]) -> str:
    """Return the last part of an axis' path, or all of it where another column has that name."""
    short = axis.path.rpartition(".")[2]
    names = [heading for heading, _ in LISTED] + [other.path.rpartition(".")[2] for other in axes]
    return short if names.count(short) == 1 else axis.path


def _best_told(done: Swept, first: Best) -> str:
    """Say which sure variant leaves most wear; of several that leave the same, what they have in common."""
    wear = done.given.lengths(first.wear)
    if len(first.rows) == first.sure > 1:
        return f"All {first.sure:,} sure ones leave the same wear, {wear}: none is best."
    inputs = {path: column[list(first.rows)] for path, column in done.table.inputs.items()}
    shared = ", ".join(
        f"{path} = {_text_with_unit(done, path, float(column[0]))}"
        for path, column in inputs.items()
        if len(set(column.tolist())) == 1
    )
    if len(first.rows) == 1:
        return f"Of the sure ones most wear is left, {wear}, with {shared}."
    alike = f"Of the sure ones most wear is left, {wear}, by {len(first.rows):,} alike"
    return f"{alike}, with {shared}." if shared else f"{alike}."


def _told(done: Swept) -> list[str]:
    """Return sentences: which variant leaves most wear, how many are no body, how many were built."""
    from planestock.models.variants.sweep_ties import beside_the_wear, best, idle

    first = best(done.table)
    lines = [] if first is None else [_best_told(done, first)]
    lines += [f"{path} does not move the wear that is left." for path in beside_the_wear(done.axes, done.table)]
    lines += [f"{one.path} changes nothing here: {one.why}." for one in idle(done.given, done.axes, done.table)]
    problems = [problem for problem in done.table.problems or () if problem]
    if problems:
        lines.append(f"{len(problems)} of them are no body, for example: {problems[0]}")
    if done.built is not None:
        failed = sum(outcome.result is None for outcome in done.built)
        known = sum(outcome.known for outcome in done.built)
        failing = sum(bool(outcome.result.failing) for outcome in done.built if outcome.result)
        lines.append(
            f"Built {len(done.built) - failed} of {len(done.built)} ({known} known from before); {failed} could not be "
            f"built, {failing} fail a check."
        )
    return lines
