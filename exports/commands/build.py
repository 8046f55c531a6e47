"""`planestock build`: every file of a body, written whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planestock.exports.commands.options import AsJson, Changes, Numbers, Output, SetSource

if TYPE_CHECKING:
    from planestock.exports.building import Extra, Order
    from planestock.exports.files.front_door import Replaced

OUT = Path("out")
"""Folder that the folders of all sets are made in, unless -o names another place."""

OWN_STEPS = 3
"""Steps of a build beside the writers: numbers, solids with their checks, the disk."""

MOST_NAMED = 6
"""Removed files that are named; the rest are counted."""

AllowFailing = Annotated[
    bool, typer.Option("--allow-failing", help="Write even though a check fails; every file then says so.")
]

Prints = Annotated[bool, typer.Option("--prints", help="Also write test pieces and jigs for a printer.")]
Router = Annotated[bool, typer.Option("--cnc", help="Also write the hand-over for a shop with a router.")]


def build(  # noqa: PLR0913, PLR0917 - the command line is made from these
    source: SetSource,
    output: Output = None,
    changes: Changes = None,
    as_json: AsJson = False,
    numbers: Numbers = False,
    allow_failing: AllowFailing = False,
    prints: Prints = False,
    cnc: Router = False,
) -> int:
    """Write solids, meshes and report.

    Everything goes into one folder, out/NAME unless -o says otherwise, with the set as used beside it. What an earlier build
    of another set left there is removed; a file that somebody made or changed stays. Nothing is written while a check fails,
    unless --allow-failing is given. Ends with 1 when a check fails.
    """
    from planestock.exports.commands.endings import CHECK_FAILED, FINE
    from planestock.exports.commands.progress import say, steps
    from planestock.exports.files.front_door import mend

    extras = _extras(prints=prints, cnc=cnc, numbers=numbers)
    with steps(OWN_STEPS + _writers(extras)) as begin:
        order = _ordered(source, changes or [], begin, solids=not numbers, extras=extras)
        failing = bool(order.stamp.failing)
        folder = output if output is not None else OUT / order.name
        told = mend(folder)
        done = None if failing and not allow_failing else _written(order, folder, begin)
    _show(order, folder, done.sizes if done else {}, as_json=as_json)
    for line in [*told, *(_told(folder, done) if done else ())]:
        say(f"planestock: {line}")
    if not done:
        say("planestock: nothing was written, as a check fails; change the set, or write all the same with --allow-failing")
    return CHECK_FAILED if failing else FINE


def _extras(*, prints: bool, cnc: bool, numbers: bool) -> frozenset[Extra]:
    """Return what is asked for beside the usual files. Raises InputProblem where it needs solids and none may be made."""
    from planestock.params.problems import refuse

    asked: dict[str, Extra] = {"--prints": "prints"} if prints else {}
    asked |= {"--cnc": "router"} if cnc else {}
    if numbers and asked:
        raise refuse(" ".join(asked), "--numbers", "needs the solids", "leave out --numbers")
    return frozenset(asked.values())


def _writers(extras: frozenset[Extra]) -> int:
    from planestock.exports.building import WRITERS

    return sum(writer.extra is None or writer.extra in extras for writer in WRITERS)


def _ordered(
    source: str, changes: Sequence[str], begin: Callable[[str], None], *, solids: bool, extras: frozenset[Extra]
) -> Order:
    """Read the set once (it may be a pipe) and return the order for its files."""
    from planestock.exports.building import order_for
    from planestock.models.design import design
    from planestock.params.files import loaded, text_as_used, text_of

    begin("numbers")
    text = text_of(source)
    given = loaded(text, source, changes)
    made = design(given)
    begin("solids and their checks" if solids else "checks")
    return order_for(made, text_as_used(text, changes, given), solids=solids, extras=extras)


@dataclass(frozen=True)
class _Written:
    """What a build wrote. sizes: bytes by file name; replaced: what became of other files there."""

    sizes: dict[str, int]
    replaced: Replaced


def _written(order: Order, folder: Path, begin: Callable[[str], None]) -> _Written:
    """Make all files and write them with their list."""
    from planestock.exports.building import files_of, write_files
    from planestock.exports.files.written_list import LIST_FILE

    files = files_of(order, lambda writer: begin(writer.title))
    begin("writing")
    replaced = write_files(order, files, folder)
    sizes = {name: len(content) for name, content in files.items()}
    return _Written({**sizes, LIST_FILE: (folder / LIST_FILE).stat().st_size}, replaced)


def _told(folder: Path, done: _Written) -> Iterator[str]:
    """Say in sentences what became of files that are not of this build."""
    replaced = done.replaced
    if replaced.removed:
        listed = ", ".join(replaced.removed[:MOST_NAMED])
        more = f" and {len(replaced.removed) - MOST_NAMED} more" if len(replaced.removed) > MOST_NAMED else ""
        yield f"removed from {folder} what an earlier build of another set had written: {listed}{more}"
    for name, copy in replaced.kept.items():
        yield f"{folder / name} was not as planestock had written it; it is kept as {folder / copy}"
    for name in replaced.changed:
        yield f"{folder / name} is of an earlier build of another set and was changed since; it was left there"
    for name in sorted(left_over(folder, done.sizes) - {*replaced.others, *replaced.kept.values(), *replaced.changed}):
        yield f"{folder / name} is not of this build; it was left there"


def _show(order: Order, folder: Path, written: dict[str, int], *, as_json: bool) -> None:
    from planestock.exports.commands.progress import print_json

    if as_json:
        from planestock.exports.files.promised import promised, told
        from planestock.exports.report.report_schema import BuiltReport

        print_json(told(promised(BuiltReport, {**order.report, "folder": str(folder), "files": list(written)})))
    else:
        from planestock.exports.report.screen import result_console, show_checks, show_files

        console = result_console()
        where = "report.txt lists them" if written else "planestock check --all shows them"
        show_checks(console, order.made, order.rows, solids=order.solids, where=where, every=False)
        if written:
            show_files(console, folder, written)


def left_over(folder: Path, written: dict[str, int]) -> set[str]:
    """Return the files that lie in the folders inside `folder` that were written to, but were not written now."""
    inner = sorted({Path(name).parent for name in written} - {Path()})
    found = [each / path.name for each in inner for path in sorted((folder / each).iterdir()) if path.is_file()]
    return {name.as_posix() for name in found if name.as_posix() not in written}
