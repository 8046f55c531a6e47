"""What `build` writes: one list of writers, from a design to files by name. A new kind of file is one more line in it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from planestock.exports.files.file_names import file_name
from planestock.exports.files.plain_data import as_json
from planestock.exports.files.stamp import SET_MARK, program_version, stamp_of
from planestock.exports.report.data import Entry, report, rows_of
from planestock.exports.report.text import as_text
from planestock.models.checks.rows import Row

if TYPE_CHECKING:
    from pathlib import Path

    from planestock.exports.files.front_door import Replaced
    from planestock.exports.files.stamp import Stamp
    from planestock.models.design import Design

SET_FILE = "set.toml"
"""The set as used, beside the files made from it."""

PARTS = "parts"
"""Folder of the files that hold one part each."""

Extra = Literal["prints", "router"]
"""Files that are written only when asked for: pieces to print with jigs, and what a shop with a router needs."""


@dataclass(frozen=True)
class Order:
    """What a writer is given. made: the design; stamp: for every file; text: TOML of the set exactly as used.

    solids: whether solids may be used; extras: what is written beside the usual files; extra_rows: the checks of these;
    name: the set's name as a file name.
    """

    made: Design
    stamp: Stamp
    text: str
    solids: bool
    extras: frozenset[Extra] = frozenset()
    extra_rows: tuple[Row, ...] = ()

    @property
    def name(self) -> str:
        """The set's name as a file name."""
        return file_name(self.made.given.name)

    @property
    def rows(self) -> tuple[Row, ...]:
        """The checks that this order stands on, those of the extras it asks for at the end."""
        return (*rows_of(self.made, solids=self.solids), *self.extra_rows)

    @property
    def report(self) -> Entry:
        """The report as data."""
        return report(self.made, solids=self.solids, extra_rows=self.extra_rows)


def rows_of_extras(made: Design, extras: frozenset[Extra]) -> tuple[Row, ...]:
    """Return the checks that go with what is asked for beside the usual files: whether the router's cutter fits."""
    if "router" not in extras:
        return ()
    from planestock.models.machining.all_setups import plan_of_work

    return plan_of_work(made.given, made.settled, made.layout).checks


Files = Mapping[str, bytes]
"""Content by name; a name may go down one folder, with /."""


@dataclass(frozen=True)
class Writer:
    """One kind of file. title: for the progress line; solids: whether it needs them; write: returns the files.

    extra: what must be asked for to have it; None for files that are always written. `write` imports what it needs inside:
    this module is read whenever the command line starts.
    """

    title: str
    solids: bool
    write: Callable[[Order], Files]
    extra: Extra | None = None


def _assembly(order: Order) -> Files:
    from planestock.exports.files import step

    return {f"{order.name}.step": step.assembly(order.made.assembly.parts, order.stamp)}


def _machining(order: Order) -> Files:
    from planestock.exports.files import step

    return {f"{PARTS}/{file_name(part.name)}.step": step.machining(part, order.stamp) for part in order.made.assembly.wood}


def _prints(order: Order) -> Files:
    from planestock.exports.files import stl, threemf
    from planestock.exports.files.lying import laid_mesh

    laid = [(part.name, laid_mesh(part, "down")) for part in order.made.assembly.wood]
    single = {f"{PARTS}/{file_name(name)}.stl": stl.binary(mesh, order.stamp) for name, mesh in laid}
    return {**single, "parts.3mf": threemf.package(laid, order.stamp)}


def _scene(order: Order) -> Files:
    from planestock.exports.files import glb

    return {f"{order.name}.glb": glb.scene(order.made.assembly.parts, order.stamp)}


def _paper(order: Order) -> Files:
    from planestock.exports.paper import paper_files as paper

    return paper.paper_files(order.made, order.stamp)


def _page(order: Order) -> Files:
    from planestock.exports.pages.preview import preview

    return {"preview.html": preview(order.made, order.stamp)}


def _print_pieces(order: Order) -> Files:
    from planestock.exports.prints.print_files import print_files

    return print_files(order.made, order.stamp)


def _router(order: Order) -> Files:
    from planestock.exports.machining.machining_files import router_files

    return router_files(order.made, order.stamp)


def _reports(order: Order) -> Files:
    found = order.report
    text = as_text(order.made, found, solids=order.solids)
    return {"report.json": as_json(found).encode(), "report.txt": text.encode()}


def _set(order: Order) -> Files:
    return {SET_FILE: marked(order.text, order.stamp).encode()}


WRITERS: tuple[Writer, ...] = (
    Writer("solids of the whole (STEP)", True, _assembly),
    Writer("solids for machining (STEP)", True, _machining),
    Writer("meshes for printing (STL, 3MF)", True, _prints),
    Writer("scene for viewers (GLB)", True, _scene),
    Writer("paper for the bench (PDF, DXF, SVG)", True, _paper),
    Writer("page to look at (HTML)", True, _page),
    Writer("test pieces and jigs to print (3MF)", True, _print_pieces, "prints"),
    Writer("hand-over for a router (STEP, PDF)", True, _router, "router"),
    Writer("report", False, _reports),
    Writer("set", False, _set),
)
"""All that `build` can write, in this order."""


def order_for(made: Design, text: str, *, solids: bool, extras: frozenset[Extra] = frozenset()) -> Order:
    """Return the order for a design whose set reads `text`. Builds and checks the solids where asked."""
    extra_rows = rows_of_extras(made, extras)
    stamp = stamp_of(made, (*rows_of(made, solids=solids), *extra_rows))
    return Order(made, stamp, text, solids, extras, extra_rows)


def extras_of(titles: Collection[str]) -> frozenset[Extra]:
    """Return what must be asked for so that the writers of these titles can be used."""
    return frozenset(writer.extra for writer in WRITERS if writer.extra is not None and writer.title in titles)


def writers_for(order: Order) -> tuple[Writer, ...]:
    """Return the writers that this order can use."""
    usable = (writer for writer in WRITERS if order.solids or not writer.solids)
    return tuple(writer for writer in usable if writer.extra is None or writer.extra in order.extras)


def files_of(order: Order, starting: Callable[[Writer], None] = lambda _: None) -> dict[str, bytes]:
    """Return every file of a design by name. starting: called before each writer, for progress.

    Raises WriterFailed where a part cannot be written, and ValueError where two writers give one name.
    """
    files: dict[str, bytes] = {}
    for writer in writers_for(order):
        starting(writer)
        for name, content in writer.write(order).items():
            if name in files:
                raise ValueError(f"two writers give a file {name}")
            files[name] = content
    return files


def write_files(order: Order, files: Files, folder: Path) -> Replaced:
    """Write all files of an order with their list, and return what became of other files there. Raises InputProblem."""
    from planestock.exports.files.front_door import replace_all
    from planestock.exports.files.writer_rules import one_line
    from planestock.exports.files.written_list import whose

    of, stamp = whose(order.stamp.version, order.stamp.digest), one_line(order.stamp.line)
    return replace_all(folder, files, of, stamp=stamp, same=same_but_for_marks)


def marked(text: str, stamp: Stamp) -> str:
    """Return a set's text with lines on top that say what was made of it and how to make it again."""
    return "\n".join((*_mark(stamp), _unmarked(text)))


def _mark(stamp: Stamp) -> Iterator[str]:
    yield f"{SET_MARK} the set exactly as used by planestock {program_version()}; digest {stamp.digest[:12]}."
    yield f"{SET_MARK} to make the files beside this one again: planestock build {SET_FILE}"
    if stamp.failing:
        yield f"{SET_MARK} FAILS ITS CHECKS: {', '.join(stamp.failing)}"


def same_but_for_marks(name: str, old: bytes, new: bytes) -> bool:
    """Tell whether a file is the set, and its old text differs from the new one in the marking lines alone."""
    return name == SET_FILE and _unmarked(old.decode("utf-8", "replace")) == _unmarked(new.decode())


def _unmarked(text: str) -> str:
    """Return a text without the marking lines it begins with."""
    lines = text.splitlines(keepends=True)
    while lines and lines[0].startswith(SET_MARK):
        del lines[0]
    return "".join(lines)
