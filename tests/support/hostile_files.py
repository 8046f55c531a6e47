"""Small files that ask for much: what is written, and what reading it costs a process of its own."""

from __future__ import annotations

import io
import json
import math
import re
import subprocess
import sys
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

from ezdxf.filemanagement import new as new_drawing

from tests.support.traced_support import dxf_bytes

MOST_SECONDS = 10.0
"""Processor time, s, in which each of these files is read or refused."""

MOST_MEMORY = 1_000_000_000
"""Memory, bytes, that reading or refusing it takes at most."""

STOPPED_AT = 60
"""Processor time, s, after which a reader is stopped, so that a test which fails does so soon."""


LONGEST_LINE, MOST_SAID = 1_000, 10_000
"""Characters of a line, and of all that is said of one file."""


@dataclass(frozen=True)
class Spent:
    """How a command ended: exit code, what it said on stderr, processor time in s, most memory in bytes."""

    code: int
    said: str
    seconds: float
    memory: int

    @property
    def is_clear(self) -> bool:
        """Tell whether it ended well, or with a refusal in our own words: no traceback, no library's warning, no flood."""
        lines = self.said.splitlines()
        ours = all(line.startswith("planestock: ") and len(line) < LONGEST_LINE for line in lines)
        return ours and len(self.said) < MOST_SAID and self.code in (0, 2) and bool(lines) == (self.code == 2)

    @property
    def is_cheap(self) -> bool:
        """Tell whether time and memory stayed within the limits."""
        return self.seconds < MOST_SECONDS and self.memory < MOST_MEMORY


PROGRAM = """
import contextlib, importlib, io, json, os, resource, sys, warnings

from planestock.exports.command_line import main

asked, limit = json.loads(sys.stdin.read())
for name in asked["beforehand"]:
    importlib.import_module(name)
for arguments in asked["commands"]:
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (limit, limit))
        resource.setrlimit(resource.RLIMIT_AS, (6 << 30, 6 << 30))
        os.dup2(writing, 2)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os._exit(main(arguments))
    os.close(writing)
    with open(reading, encoding="utf-8") as said:
        words = said.read()
    _, status, usage = os.wait4(child, 0)
    spent = usage.ru_utime + usage.ru_stime
    print(json.dumps([os.waitstatus_to_exitcode(status), words, spent, usage.ru_maxrss * 1024]), flush=True)
"""


def spent(commands: Sequence[Sequence[str]], folder: Path, beforehand: Sequence[str] = ()) -> list[Spent]:
    """Run each command in a process of its own and return what it took.

    beforehand: modules that are imported once for all of them. Each process is forked from one that has only these, so that
    neither importing nor the memory of the tests counts.
    """
    asked = json.dumps([{"beforehand": beforehand, "commands": commands}, STOPPED_AT])
    program = [sys.executable, "-c", PROGRAM]
    ran = subprocess.run(program, cwd=folder, input=asked, capture_output=True, text=True, check=True)
    return [Spent(*json.loads(line)) for line in ran.stdout.splitlines()]


def written_into(folder: Path, files: Mapping[str, bytes]) -> list[str]:
    """Write the files and return their names."""
    for name, content in files.items():
        (folder / name).write_bytes(content)
    return list(files)


# ---- drawings ------------------------------------------------------------------------------------------------------

PAGE = '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="100mm" viewBox="-150 -50 400 100">'


def svg(inside: str) -> bytes:
    """Return a drawing on a page in millimetres."""
    return f"{PAGE}{inside}</svg>".encode()


SQUARE = "M-90,-30h240v60h-240z"

SVG: dict[str, bytes] = {
    "closed again and again.svg": svg(f'<path d="{SQUARE}{"z" * 7_900_000}"/>'),
    "closed in turn.svg": svg(f'<path d="{"M0,0z" * 49_000}"/>'),
    "a long length.svg": svg(f'<circle r="{"1" * 7_000_000}x"/>'),
    "a long fraction.svg": svg(f'<circle r="1.{"1" * 7_000_000}e"/>'),
    "a long page.svg": f'<svg width="{"1" * 3_000_000}x" height="{" " * 3_000_000}x" viewBox="0 0 1 1"/>'.encode(),
    "a transform within.svg": svg(f'<g transform="{"scale(" * 900_000}"><path d="{SQUARE}"/></g>'),
    "a transform of blanks.svg": svg(f'<g transform="scale{" " * 7_900_000}(1"><path d="{SQUARE}"/></g>'),
    "deep elements left open.svg": svg("<g>" * 2_500_000),
    "far.svg": svg('<path d="M0,0h1e308v1e308h-1e308z"/>'),
    "far and moved.svg": svg(f'<g transform="scale(1e200)"><path transform="scale(1e200)" d="{SQUARE}"/></g>'),
    "far curves.svg": svg('<path d="M0,0C1e308,0,1e308,1e308,0,1e308A1e308,1e308,0,0,1,0,0z"/>'),
    "far arcs.svg": svg('<path d="M0,0A1e-300,1e300,7,0,1,50,1e-300A1e300,1e-300,0,0,1,0,0z"/>'),
    "a far circle.svg": svg('<circle r="1e308"/>'),
    "a far box.svg": svg('<rect x="-1e308" width="1e308" height="1e308" rx="1e307"/>'),
    "a far page.svg": svg(f'<path d="{SQUARE}"/>').replace(b"400mm", b"1e300mm").replace(b"400 100", b"1e300 1e300"),
    "a far mark.svg": svg(f'<circle id="corner" cx="1e308"/><circle id="middle" cx="-1e308"/><path d="{SQUARE}"/>'),
    "many arcs.svg": svg(f'<path d="M0,0{"a1,2,3,0,1,1,1" * 30_000}"/>'),
    "many curves.svg": svg(f'<path d="M0,0{"c9,0,-9,9,1,1" * 33_000}"/>'),
    "many curves of one point.svg": svg(f'<path d="M0,0{"q900,900,0,1" * 45_000}"/>'),
    "opened again and again.svg": svg(f'<path d="M0,0{"l1,1z" * 33_000}"/>'),
    "long classes.svg": svg(f'<path class="{"a " * 3_000_000}" d="{SQUARE}"/>'),
}  # fmt: skip

THAT_ARE_READ = {"a unit that is none.dxf", "an endless unit.dxf", "closed again and again.svg", "long classes.svg"}
"""Files that are what they should be in spite of all: what they hold too much of says nothing."""


def dxf(entities: str) -> bytes:
    """Return a DXF of old, which needs no tables."""
    return f"0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n".encode()


FAR = 1e308


def with_degree(space: Any) -> None:
    """Draw a spline of a degree that nobody draws."""
    space.add_spline().control_points = [(n % 100, n * 7 % 50, 0) for n in range(2001)]
    spline = space[0]
    spline.dxf.degree, spline.knots = 2000, [0.0] * 2001 + [1.0] * 2001


def binary_head() -> bytes:
    """What a DXF file in binary begins with, up to the byte after its first nought."""
    written = io.BytesIO()
    new_drawing().write(written, fmt="bin")
    return written.getvalue().partition(b"\x00")[0] + b"\x00"


def of_unit(unit: bytes) -> bytes:
    """Return a DXF that states a unit which is none."""
    good = dxf_bytes(lambda space: space.add_lwpolyline([(-90, -30), (150, -30), (150, 30), (-90, 30)], close=True))
    return re.sub(rb"(\$INSUNITS\r?\n\s*)70(\r?\n)\s*\d+", rb"\g<1>40\g<2>" + unit, good)


def marked_at(place: float) -> Callable[[Any], object]:
    """Return what draws a square and two marks."""

    def draw(space: Any) -> None:
        space.add_lwpolyline([(-90, -30), (150, -30), (150, 30), (-90, 30)], close=True)
        space.add_point((place, 0), dxfattribs={"layer": "corner"})
        space.add_point((-place, 0), dxfattribs={"layer": "middle"})

    return draw


DXF: dict[str, bytes] = {
    "far.dxf": dxf_bytes(lambda space: space.add_line((0, FAR), (FAR, -FAR))),
    "a far polyline.dxf": dxf_bytes(lambda space: space.add_lwpolyline([(0, 0), (FAR, 0), (0, -FAR)], close=True)),
    "a far bulge.dxf": dxf_bytes(lambda space: space.add_lwpolyline([(0, 0, FAR), (9, 0, -FAR), (0, 9, 1)], "xyb")),
    "a far arc.dxf": dxf_bytes(lambda space: space.add_arc((FAR, 0), FAR, FAR, 20)),
    "a far circle.dxf": dxf_bytes(lambda space: space.add_circle((0, 0), FAR)),
    "a far ellipse.dxf": dxf_bytes(lambda space: space.add_ellipse((0, 0), (FAR, FAR), 0.5)),
    "a far spline.dxf": dxf_bytes(lambda space: space.add_open_spline([(0, 0), (FAR, 0), (0, FAR), (-FAR, 0), (9, 9)])),
    "far marks.dxf": dxf_bytes(marked_at(FAR)),
    "marks nowhere.dxf": dxf_bytes(marked_at(math.nan)),
    "a unit that is none.dxf": of_unit(b"nan"),
    "an endless unit.dxf": of_unit(b"inf"),
    "a high degree.dxf": dxf_bytes(with_degree),
    "many lines.dxf": dxf("0\nLINE\n" * 900_000),
    "many blocks.dxf": dxf("0\nINSERT\n2\nA\n" * 500_000),
    "many vertices.dxf": dxf("0\nPOLYLINE\n66\n1\n" + "0\nVERTEX\n" * 600_000),
    "many rows.dxf": dxf("0\nLAYER\n2\na\n" * 500_000),
    "many points, binary.dxf": binary_head() + b"\x00\x00POINT\x00" * 900_000,
    "blank lines.dxf": dxf("\n" * 7_900_000),
    "nested.dxf": dxf("102\n{a\n" * 300_000),
}  # fmt: skip

# ---- sets ----------------------------------------------------------------------------------------------------------

A_SET = (resources.files("planestock.params") / "sets" / "jack.toml").read_text("utf-8")


def more(text: str) -> bytes:
    """Return a good set with something before it."""
    return f"{text}\n{A_SET}".encode()


SETS: dict[str, bytes] = {
    "a dotted key.toml": more(f"{'a.' * 20_000}a = 1"),
    "a long dotted key.toml": more(f"{'a.' * 400_000}a = 1"),
    "dotted quotes.toml": more('"a" . ' * 100_000 + "a = 1"),
    "a dotted table.toml": f"{A_SET}\n[{'a.' * 20_000}a]\n".encode(),
    "dotted tables within.toml": more("a = " + "{a.a.a.a.a.a.a.a.a.a = " * 90 + "1" + "}" * 90),
    "many dotted keys.toml": more("\n".join(f"{'a.' * 15}b{n} = 1" for n in range(9_000))),
    "nested lists.toml": more(f"a = {'[' * 900}{']' * 900}"),
    "nested tables.toml": more("a = " + "{a = " * 450 + "1" + "}" * 450),
    "unknown keys.toml": more("\n".join(f"a{n} = 1" for n in range(90_000))),
    "fewer unknown keys.toml": more("\n".join(f"a{n} = 1" for n in range(9_000))),
    "unknown tables.toml": (A_SET + "\n[[casting.screws]]" * 9_000).encode(),
    "a long list.toml": more(f"a = [{'1,' * 400_000}]"),
    "a long unknown key.toml": more(f"{'a' * 900_000} = 1"),
    "a long known key.toml": f"{A_SET}\n[iron.{'a' * 900_000}]\nb = 1\n".encode(),
    "a large number.toml": A_SET.replace("[iron]", f"[iron]\nx = 0x{'F' * 900_000}", 1).encode(),
    "a large count.toml": A_SET.replace("[work]", f"[work]\nresharpenings = 0x{'F' * 5_000}", 1).encode(),
    "quotes left open.toml": more('"' * 900_001),
    "many quotes.toml": more("'" * 900_001),
    "backslashes.toml": more('a = "' + "\\" * 900_000),
    "texts left open.toml": more('a = """\n' * 90_000),
}  # fmt: skip

CHANGES: dict[str, str] = {
    "a dotted path": f"{'a.' * 60_000}a=1",
    "a dotted known path": f"iron{'.width' * 20_000}=1",
    "numbers": f"casting.screws{'.0' * 60_000}=1",
    "a dotted key": f"iron.width={{{'a.' * 60_000}a = 1}}",
    "nested lists": f"iron.width={'[' * 900}{']' * 900}",
    "nested tables": f"iron={'{a = ' * 450}1{'}' * 450}",
    "a long list": f"iron.width=[{'1,' * 60_000}]",
    "a large number": f"iron.width=0x{'F' * 100_000}",
    "a long name": f"name={'a' * 100_000}",
    "a long path": f"{'a' * 100_000}=1",
}
"""Of the option --set."""

# ---- scans ---------------------------------------------------------------------------------------------------------

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
"""Namespace of 3MF, core specification 1.4.0."""


def threemf(objects: str, items: str) -> bytes:
    """Return a 3MF file of these objects."""
    model = f'<model unit="millimeter" xmlns="{CORE}"><resources>{objects}</resources><build>{items}</build></model>'
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", model)
    return content.getvalue()


def placing_each_other(times: int, depth: int) -> bytes:
    """Return a 3MF whose objects each place the one before several times: its triangles are the product of the counts."""
    points = "".join(f'<vertex x="{x}" y="{y}" z="{x * y}"/>' for x, y in ((0, 0), (9, 0), (0, 9)))
    corners = '<triangle v1="0" v2="1" v3="2"/>'
    objects = f'<object id="0"><mesh><vertices>{points}</vertices><triangles>{corners}</triangles></mesh></object>'
    for level in range(1, depth):
        parts = f'<component objectid="{level - 1}"/>' * times
        objects += f'<object id="{level}"><components>{parts}</components></object>'
    return threemf(objects, f'<item objectid="{depth - 1}"/>')


FACET = "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 9 0 0\nvertex 0 9 0\nendloop\nendfacet\n"
PLY = "ply\nformat ascii 1.0\nelement vertex {points}\n{axes}{more}end_header\n"
AXES = "property float x\nproperty float y\nproperty float z\n"

SCANS: dict[str, bytes] = {
    "placing each other.3mf": placing_each_other(900, 7),
    "placing many.3mf": placing_each_other(1_000, 2),
    "deep elements.3mf": threemf("<a>" * 4_000_000, ""),
    "a long attribute.3mf": threemf(f'<object id="{"1" * 20_000_000}"/>', f'<item objectid="{"2" * 20_000_000}"/>'),
    "many materials.obj": b"v 0 0 0\nv 9 0 0\nv 0 9 0\n" + b"usemtl a\nf 1 2 3\nusemtl b\nf 1 2 3\n" * 20_000,
    "many groups.obj": b"v 0 0 0\nv 9 0 0\nv 0 9 0\n" + b"".join(b"g %d\nf 1 2 3\n" % n for n in range(20_000)),
    "one long face.obj": b"v 0 0 0\nf" + b" 1" * 4_000_000,
    "many solids.stl": f"solid a\n{FACET}endsolid a\n".encode() * 5_000,
    "many names.stl": "".join(f"solid {n}\n{FACET}endsolid {n}\n" for n in range(5_000)).encode(),
    "one line.stl": b"solid a " + b"facet normal 0 0 1 outer loop vertex " * 300_000,
    "blanks.stl": b"solid a\nfacet normal" + b" " * 5_000_000,
    "many lines.ply": PLY.format(points=7_000_000, axes=AXES, more="").encode() + b"1\n" * 7_000_000,
    "a long header.ply": PLY.format(points=1, axes=AXES, more="property float a\n" * 200_000).encode(),
    "a header without end.ply": b"ply\nformat binary_little_endian 1.0\n" + b"comment\n" * 1_000_000,
}  # fmt: skip

LARGE_SCANS: dict[str, Callable[[], bytes]] = {
    "nothing but points.3mf": lambda: threemf('<object><mesh>' + '<vertex x="1" y="1" z="1"/>' * 5_200_000, ""),
    "empty elements.3mf": lambda: threemf("<a/>" * 39_000_000, ""),
    "endless elements.3mf": lambda: threemf(" " * 290_000_000, ""),
    "many points.obj": lambda: b"v 0 0 0\n" * 17_000_000,
    "many corners.obj": lambda: b"v 0 0 0\n" + b"f 1 1 1\n" * 17_000_000,
    "nothing said.obj": lambda: b"#\n" * 70_000_000,
}  # fmt: skip
"""The same, of a hundred megabytes and more, some of them packed into small archives."""
