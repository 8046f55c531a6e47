"""The list of what there is to print: every piece with size, plate, filament, overhangs, and how to use it at the bench.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from planestock.exports.files.promised import promised, told
from planestock.exports.files.writer_rules import one_line
from planestock.exports.prints.prints_schema import PrintsFound
from planestock.models.prints.bed import Bed, bed_words, true_to
from planestock.models.prints.faces import face_name
from planestock.models.prints.filament import Estimate
from planestock.models.prints.overhang import Lying, Overhang
from planestock.models.prints.print_groups import Joint, Missing
from planestock.models.prints.printing import Job, Printed
from planestock.params.lengths import Lengths

if TYPE_CHECKING:
    from planestock.exports.files.stamp import Stamp
    from planestock.models.design import Design

Entry = dict[str, Any]

WIDE = 100
"""Longest line of the text."""

CAUTIONS = (
    (
        "Nozzle, bed and fresh plastic are hot: let them cool before you reach in, and watch the first layers. Do not "
        "leave a printer running unattended."
    ),
    "Melting plastic gives off fumes and fine particles: air the room, and keep the printer out of where you sleep or eat.",
    (
        "A printed guide only shows a bit or a chisel its way. It is no guard and no vice: the machine's own guards stay "
        "on, the "
        "work is clamped, hands stay behind the edge and off the line of the bit. Wear safety glasses; a print can shatter."
    ),
    (
        "Drill slowly through the bushing and clear the chips: plastic softens when the bit runs hot, and the guide is "
        "then spoilt."
    ),
    "Edges and stumps of support cut like glass; take them off with a file or a scraper, away from you.",
    (
        "Measure a print before you trust it: prints are true to {}, holes come out narrow, and what a gauge shows beyond "
        "that is the metal."
    ),
    "The printer's and the filament's manuals go before anything written here.",
)
"""What can hurt in printing and in using prints (common practice; print tolerances after web guides that agree, put in for
the braces)."""

SIDES = {(0, 0, -1): "as in the plane, sole side down", (0, 0, 1): "upside down", (0, 1, 0): "on its right side",
         (0, -1, 0): "on its left side", (1, 0, 0): "on its heel end", (-1, 0, 0): "on its toe end"}  # fmt: skip


def as_data(
    made: Design, stamp: Stamp, work: Sequence[Job], missing: Sequence[Missing], names: Callable[[Job], list[str]]
) -> Entry:
    """Return the list as plain data: lengths in mm, areas in mm², volumes in cm³, masses in g. units: of its sentences."""
    printer, plastic = made.given.shop.printer, made.given.shop.filament
    facts = {
        "name": one_line(stamp.name),
        "units": made.given.units,
        "stamp": one_line(stamp.line),
        "printer": {
            "bed": [printer.x.value, printer.y.value, printer.z.value],
            "nozzle": printer.nozzle.value,
            "clearance": printer.clearance.value,
        },
        "filament": {
            "density": plastic.density,
            "walls": plastic.walls,
            "infill": plastic.infill,
            "overhang": plastic.overhang.value,
        },
        "groups": [_group(made, job, names(job)) for job in work],
        "missing": missing,
        "cautions": [caution.format(true_to(made.given.lengths)) for caution in CAUTIONS],
    }
    return told(promised(PrintsFound, facts))


def _group(made: Design, job: Job, names: list[str]) -> Entry:
    plate_of = {index: name for name, places in zip(names, job.plates, strict=True) for index, _ in places}
    joints = [joint for _, joint in job.group.joints]
    scale = 0.5 if job.group.name.endswith("half size") else 1.0
    on_body = job.group.name.startswith(("body", "seat", "mouth"))
    pieces = [
        _piece(made, piece, plate_of[index], (joints, scale if on_body else 0.0)) for index, piece in enumerate(job.pieces)
    ]
    return {
        "name": job.group.name,
        "files": names,
        "use": list(job.group.use),
        "notes": [*job.group.notes],
        "mass": _rounded(sum(piece.filament.printed_mass for piece in job.pieces), 1),
        "pieces": pieces,
    }


def _piece(made: Design, printed: Printed, plate: str, body: tuple[Sequence[Joint], float]) -> Entry:
    lying, found = printed.lying, printed.filament
    return {
        "name": lying.piece.name,
        "plate": plate,
        "size": [_rounded(value, 2) for value in lying.size],
        "lies": _side(lying),
        **_filament(found),
        "support_area": _rounded(lying.support, 1),
        "support_faces": _faces(made, lying, body, needs=True),
        "short_overhang_area": _rounded(lying.short, 1),
        "short_overhang_faces": _faces(made, lying, body, needs=False),
        "thin_wall_area": None if printed.thin is None else _rounded(printed.thin.area, 1),
        "thin_wall_height": None if printed.thin is None else _rounded(printed.thin.height, 2),
    }


def _filament(found: Estimate) -> Entry:
    return {
        "volume": _rounded(found.volume / 1000, 2),
        "solid_mass": _rounded(found.solid_mass, 1),
        "mass": _rounded(found.printed_mass, 1),
    }


def _rounded(value: float, decimals: int) -> float:
    return round(float(value), decimals) + 0.0


def _side(lying: Lying) -> str:
    x, y, z = lying.down
    if lying.piece.peg:
        return "on a flat side"
    whole = (round(x), round(y), round(z))
    straight = max(abs(a - b) for a, b in zip(lying.down, whole, strict=True)) < 1e-9
    return SIDES.get(whole, "askew") if straight else "on the face the bushings go in from"


def _faces(made: Design, lying: Lying, body: tuple[Sequence[Joint], float], *, needs: bool) -> list[Entry]:
    """Return the faces that hang over, by name, with their areas added up."""
    areas: dict[str, float] = {}
    for one in lying.overhangs:
        if one.needs_support is needs:
            name = _named(made, one, body)
            areas[name] = areas.get(name, 0.0) + one.area
    return [{"face": name, "area": _rounded(area, 1)} for name, area in sorted(areas.items(), key=lambda pair: -pair[1])]


def _named(made: Design, one: Overhang, body: tuple[Sequence[Joint], float]) -> str:
    joints, scale = body
    if scale:
        return face_name(made.layout, joints, one.middle, scale)
    return "roof of a bore" if one.across < 2 * made.given.shop.dowel_bushing_diameter.value and not _flat(one) else "ledge"


def _flat(one: Overhang) -> bool:
    return sum(value**2 for value in one.normal) > 0.99


def as_text(data: Entry) -> str:
    """Return the list for people, from the same data."""
    return "\n".join(_text(data)) + "\n"


def _text(data: Entry) -> Iterator[str]:
    printer, plastic = data["printer"], data["filament"]
    length = Lengths(data["units"])
    yield f"Pieces to print: {data['name']}"
    yield from _wrapped(data["stamp"], "")
    yield ""
    yield from _wrapped(
        f"Printer: bed {bed_words(Bed(*printer['bed']), length)}, nozzle {length.short(printer['nozzle'])}; "
        f"{length.short(printer['clearance'])} of clearance on each side "
        f"between printed parts; faces may lean out {plastic['overhang']:g} degrees from plumb. "
        "Every "
        "piece lies in its file as it is to be printed, a file for each plate, its unit millimetres.", "")  # fmt: skip
    yield from _wrapped(
        f"Filament: {plastic['walls']} walls and {plastic['infill']:g} % infill at {plastic['density']:g} g/cm³; a "
        "skin of the walls' thickness all round, and of what is left inside the infill's share; brim and support not "
        "counted. "
        "A rough figure; the program that prepares the print knows better.", "")  # fmt: skip
    for group in data["groups"]:
        yield from _group_text(group, length)
    if data["missing"]:
        yield from ("", "NOT MADE")
        for one in data["missing"]:
            yield from _wrapped(f"{one['name']}: {one['why']}.", "  ")
    yield from ("", "CAUTIONS")
    for caution in data["cautions"]:
        yield from _wrapped(caution, "  ")


def _group_text(group: Entry, length: Lengths) -> Iterator[str]:
    yield from ("", f"{group['name'].upper()}  ({', '.join(group['files'])}; {group['mass']:.0f} g)")
    for sentence in (*group["use"], *group["notes"]):
        yield from _wrapped(sentence, "  ")
    several = len(group["files"]) > 1
    for piece in group["pieces"]:
        size = length.sizes(*piece["size"], decimals=1 if length.units == "mm" else 2)
        where = f", {piece['plate']}" if several else ""
        masses = f"{_volume(piece['volume'], length)}, {piece['solid_mass']:.0f} g solid, {piece['mass']:.0f} g printed"
        yield from _wrapped(f"{piece['name']}: {size}, {masses}; {piece['lies']}{where}", "  ")
        yield from _warnings(piece, length)


def _warnings(piece: Entry, length: Lengths) -> Iterator[str]:
    if piece["support_area"]:
        yield from _wrapped(f"needs support: {_listing(piece['support_faces'], length)}", "      ")
    if piece["short_overhang_area"] >= 5:
        yield from _wrapped(f"rough but without support: {_listing(piece['short_overhang_faces'], length)}", "      ")
    if piece["thin_wall_area"] is not None:
        yield from _wrapped(
            f"WARNING: {_area(piece['thin_wall_area'], length)} of wall thinner than two lines of plastic, "
            f"{length(piece['thin_wall_height'])} above the printer's bed; a finer nozzle prints it", "      ")  # fmt: skip


def _volume(value: float, length: Lengths) -> str:
    """Return a volume, given in cm³, as the set has it."""
    return f"{value:.1f} cm³" if length.units == "mm" else f"{value / 2.54**3:.2f} in³"


def _area(value: float, length: Lengths) -> str:
    """Return an area, given in mm², as the set has it."""
    return f"{value:.0f} mm²" if length.units == "mm" else f"{value / 25.4**2:.2f} in²"


def _listing(faces: Sequence[Entry], length: Lengths) -> str:
    return ", ".join(f"{one['face']} {_area(one['area'], length)}" for one in faces if one["area"] >= 0.5)


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(text, WIDE, initial_indent=indent, subsequent_indent=indent + "  " if indent else "") or [""]
