"""What `prints/prints.json` promises: every key, in their order. Null where there is none."""

from __future__ import annotations

from typing import Literal

from planestock.exports.files.promised import Number, Place, Promised


class Printer(Promised):
    """The printer, mm: its bed and height, its nozzle, and the clearance between printed pieces that go together."""

    bed: Place
    nozzle: Number
    clearance: Number


class Filament(Promised):
    """The plastic, g/cm³; walls: how many; infill: per cent; overhang: degrees from plumb without support."""

    density: Number
    walls: int
    infill: Number
    overhang: Number


class Face(Promised):
    """A face that hangs over, mm²."""

    face: str
    area: Number


class Print(Promised):
    """One piece as it lies on its plate. size: mm; volume: cm³; masses: g, solid and as printed; areas: mm² that hang over,
    with support and without, and of walls too thin to print, null where there are none, with their height in mm."""

    name: str
    plate: str
    size: Place
    lies: str
    volume: Number
    solid_mass: Number
    mass: Number
    support_area: Number
    support_faces: tuple[Face, ...]
    short_overhang_area: Number
    short_overhang_faces: tuple[Face, ...]
    thin_wall_area: Number | None
    thin_wall_height: Number | None


class PrintGroup(Promised):
    """What is printed for one purpose: its files, how to use it, what to mind, its mass in g, its pieces."""

    name: str
    files: tuple[str, ...]
    use: tuple[str, ...]
    notes: tuple[str, ...]
    mass: Number
    pieces: tuple[Print, ...]


class Missing(Promised):
    """What this body has no print of, and why."""

    name: str
    why: str


class PrintsFound(Promised):
    """All that can be printed for a body. units: of its sentences."""

    name: str
    units: Literal["mm", "in"]
    stamp: str
    printer: Printer
    filament: Filament
    groups: tuple[PrintGroup, ...]
    missing: tuple[Missing, ...]
    cautions: tuple[str, ...]
