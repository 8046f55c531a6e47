"""STEP files: exact solids with names and colours, in millimetres.

AP214 rather than AP242: programs of twenty years read it, and what is written here (solids, names, colours,
opacity) is the same in both; AP242 adds tolerances and properties on top, which these files do not carry.

The kernel writes products and geometry. It is not left three things of its own: the header (it holds the time of
day), names (it does not encode letters outside ASCII), and colours (it lists them in the order of memory addresses,
another one in every run). Parts go to the kernel under placeholder names; header, names and colours are written here.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import count
from typing import TYPE_CHECKING, Any

import numpy as np

from planestock.exports.files.exchange_text import listed, quoted
from planestock.exports.files.lying import laid_shape, moved_shape
from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import WriterFailed
from planestock.models.solids.parts import Part

if TYPE_CHECKING:
    import cadquery

NO_DATE = "1970-01-01T00:00:00"
"""Stands where the format asks for the time of writing: the same input has to give the same bytes on any day."""

_SETTINGS = {
    "write.step.schema": "AP214IS",
    "write.step.unit": "MM",
    "xstep.cascade.unit": "MM",
    "write.step.assembly": "Auto",
    "write.step.nonmanifold": "Off",
    "write.precision.mode": "Average",
    # Curves in the parameter plane of each face double the file, and readers make them anew.
    "write.surfacecurve.mode": "Off",
}
"""The kernel keeps these for the whole process: they are set for each file and put back afterwards."""

_PLACEHOLDER = "PLANESTOCK-NAME-"
_PRODUCT = re.compile(rf"#\d+ = PRODUCT\('{_PLACEHOLDER}(\d+)'")
_REPRESENTATION = re.compile(r"#\d+ = (?:ADVANCED_BREP_)?SHAPE_REPRESENTATION\('',\(([^)]*)\),(#\d+)\)")
_SOLID = re.compile(r"(#\d+) = (?:MANIFOLD_SOLID_BREP|BREP_WITH_VOIDS)\(")


def assembly(parts: Sequence[Part], stamp: Stamp) -> bytes:
    """Return one STEP file of all parts in their places, under one product that has the set's name.

    Names, colours and opacity are kept. Raises `WriterFailed` without a part, or when the kernel refuses one.
    """
    if not parts:
        raise WriterFailed("STEP: no part to write; name at least one part")
    names = [stamp.name, *(part.name for part in parts)]
    statements = _written(stamp.name, [_solids(part, part.shape) for part in parts], together=True)
    return _file(names, parts, statements, stamp)


def machining(part: Part, stamp: Stamp) -> bytes:
    """Return a STEP file of a single part, mating face up, long side along x, lowest corner at (0, 0, 0).

    Raises `WriterFailed` when the kernel refuses it.
    """
    with _kernel_errors(part.name):
        lying = laid_shape(part, "up")
    return _file([part.name], [part], _written(part.name, [_solids(part, lying)], together=False), stamp)


def _solids(part: Part, shape: cadquery.Shape) -> cadquery.Shape:
    """The part's solids, their placement worked into the geometry: it would be written as a sub-assembly."""
    import cadquery

    with _kernel_errors(part.name):
        solids = [moved_shape(solid, np.eye(4)) for solid in shape.Solids()]
    if not solids:
        raise WriterFailed(f"STEP: {part.name!r} holds no solid; check how the part was cut")
    return solids[0] if len(solids) == 1 else cadquery.Compound.makeCompound(solids)


def _written(name: str, shapes: Sequence[cadquery.Shape], together: bool) -> list[str]:
    """Have the kernel write shapes, and return the statements of its DATA section, each on one line.

    together: put them under one product; it takes placeholder name 0 and the shapes take 1, 2, ...; else the
    only shape takes 0.
    """
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_StepModelType

    stream = io.BytesIO()
    with _kernel_errors(name):
        document = _document(shapes, together)
        writer = STEPCAFControl_Writer()
        with _settings():
            done = writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs)
            status = writer.WriteStream(stream) if done else None
    if status != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise WriterFailed(f"STEP: the kernel could not write {name!r} ({status}); look at it with `planestock check`")
    data = stream.getvalue().decode("ascii").partition("DATA;\n")[2].partition("ENDSEC;")[0]
    return [re.sub(r"\n\s*", "", statement) for statement in data.split(";\n")[:-1]]


def _document(shapes: Sequence[cadquery.Shape], together: bool) -> Any:
    """The kernel's document of shapes under placeholder names."""
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopLoc import TopLoc_Location
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    whole = tool.NewShape() if together else None
    labels = [tool.AddShape(shape.wrapped, False) for shape in shapes]
    for number, label in enumerate([whole, *labels] if whole else labels):
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(f"{_PLACEHOLDER}{number}"))
    for number, label in enumerate(labels, start=1):
        if whole:
            component = tool.AddComponent(whole, label, TopLoc_Location())
            TDataStd_Name.Set_s(component, TCollection_ExtendedString(f"{_PLACEHOLDER}{number}"))
    tool.UpdateAssemblies()
    return document


@contextmanager
def _settings() -> Iterator[None]:
    """Set the kernel's process-wide settings, and put the old values back."""
    from OCP.Interface import Interface_Static

    before = {name: Interface_Static.CVal_s(name) for name in _SETTINGS}
    try:
        for name, value in _SETTINGS.items():
            Interface_Static.SetCVal_s(name, value)
        yield
    finally:
        for name, value in before.items():
            Interface_Static.SetCVal_s(name, value)


@contextmanager
def _kernel_errors(name: str) -> Iterator[None]:
    """Turn an error of the kernel into one that names the part and a remedy."""
    try:
        yield
    except Exception as error:  # The kernel's exceptions have no base class of their own.
        reason = f"{type(error).__name__} {error}".strip()
        raise WriterFailed(f"STEP: the kernel refused {name!r} ({reason}); look at it with `planestock check`") from error


def _file(names: Sequence[str], parts: Sequence[Part], statements: list[str], stamp: Stamp) -> bytes:
    """Join header, the kernel's statements under their final names, and colours into one file."""
    styles = _styles(parts, statements, first=len(statements) + 1)
    data = [*_named(statements, names), *styles]
    lines = [
        "ISO-10303-21",
        "HEADER",
        *_header(names[0], stamp),
        "ENDSEC",
        "DATA",
        *data,
        "ENDSEC",
        "END-ISO-10303-21",
    ]
    return "".join(f"{line};\n" for line in lines).encode("ascii")


def _header(name: str, stamp: Stamp) -> list[str]:
    """The three header statements in the order of ISO 10303-21:2016, clause 8."""
    program = quoted(f"planestock {stamp.version}")
    return [
        f"FILE_DESCRIPTION({listed(stamp.line)},'2;1')",
        f"FILE_NAME({quoted(name)},'{NO_DATE}',(''),(''),{program},{program},'')",
        "FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'))",
    ]


def _named(statements: Sequence[str], names: Sequence[str]) -> Iterator[str]:
    """The statements with names for placeholders, and parts counted from 1 where the kernel counts through
    the process."""
    counter = count(1)
    for statement in statements:
        counted = re.sub(r"(?<= = NEXT_ASSEMBLY_USAGE_OCCURRENCE\(')\d+(?=')", lambda _: str(next(counter)), statement)
        yield re.sub(rf"'{_PLACEHOLDER}(\d+)'", lambda found: quoted(names[int(found[1])]), counted)


def _styles(parts: Sequence[Part], statements: Sequence[str], first: int) -> list[str]:
    """Statements, numbered from `first`, that colour the solids of each part."""
    products = _solids_of_products(statements)
    if len(products) != len(parts):
        raise WriterFailed(f"STEP: the kernel wrote {len(products)} of {len(parts)} parts; check each solid")
    numbers = count(first)
    styles: list[str] = []
    for part, (solids, context) in zip(parts, products, strict=True):
        styles += _style(part, solids, context, numbers)
    return styles


def _solids_of_products(statements: Sequence[str]) -> list[tuple[list[str], str]]:
    """For each product that has solids, in the order of the placeholders: references to them, and to their
    context."""
    solids = {found[1] for statement in statements if (found := _SOLID.match(statement))}
    products: dict[int, tuple[list[str], str]] = {}
    current = -1
    for statement in statements:
        if found := _PRODUCT.match(statement):
            current = int(found[1])
        elif found := _REPRESENTATION.match(statement):
            items = [item for item in found[1].split(",") if item in solids]
            if items:
                products[current] = (items, found[2])
    return [products[number] for number in sorted(products)]


def _style(part: Part, solids: Sequence[str], context: str, numbers: Iterator[int]) -> list[str]:
    """Colour and opacity of one part's solids; opacity is written as transparency, and only where it is below 1."""
    statements: list[str] = []

    def add(text: str) -> str:
        statements.append(f"#{next(numbers)} = {text}")
        return statements[-1].partition(" ")[0]

    *tint, opacity = (f"{value:.4f}" for value in part.colour)
    colour = add(f"COLOUR_RGB('',{','.join(tint)})")
    fill = add(f"FILL_AREA_STYLE_COLOUR('',{colour})")
    fill = add(f"FILL_AREA_STYLE('',({fill}))")
    sides = [add(f"SURFACE_STYLE_FILL_AREA({fill})")]
    if float(opacity) < 1:
        clear = add(f"SURFACE_STYLE_TRANSPARENT({1 - float(opacity):.4f})")
        sides.append(add(f"SURFACE_STYLE_RENDERING_WITH_PROPERTIES(.NORMAL_SHADING.,{colour},({clear}))"))
    side = add(f"SURFACE_SIDE_STYLE('',({','.join(sides)}))")
    usage = add(f"SURFACE_STYLE_USAGE(.BOTH.,{side})")
    style = add(f"PRESENTATION_STYLE_ASSIGNMENT(({usage}))")
    styled = [add(f"STYLED_ITEM('color',({style}),{solid})") for solid in solids]
    add(f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',({','.join(styled)}),{context})")
    return statements
