"""Letters as outlines: what a drawing file needs so that no computer's fonts change it.

The outlines are taken from the type that the pages are set in, by setting every letter once.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from planestock.exports.drawing.text import text_width
from planestock.exports.files.pdf import FAMILY, fonts
from planestock.exports.files.writer_rules import WriterFailed

EM = 1000
"""Units of the outlines in the type size."""

SVG = "{http://www.w3.org/2000/svg}"
LINK = "{http://www.w3.org/1999/xlink}href"

SOURCE = """
#set page(width: auto, height: auto, margin: 0pt)
#set text(font: "{family}", size: {em}pt, style: "{style}", fallback: false, kerning: false, ligatures: false,
  hyphenate: false, number-type: "lining")
#for letter in json(bytes(sys.inputs.letters)) {{ block(text(letter + "|")) }}
"""
"""One line for each letter, a bar after it to show how wide it is."""


@dataclass(frozen=True)
class Letter:
    """One letter. path: SVG path data from its start on the baseline, second axis up, thousandths of the type size."""

    path: str
    width: float


def outlined(text: str, share: float, *, slanted: bool) -> str:
    """Return SVG path data of a line of text on the baseline, second axis up, 1000 units a type size.

    share: of its width that lies left of the origin: 0 where it starts there, 1 where it ends there.

    Raises WriterFailed where the type cannot be read, which is a fault of this program.
    """
    letters = _letters(frozenset(text) - {" "}, slanted)
    parts: list[str] = []
    x = -share * sum(text_width(" ", EM) if sign == " " else letters[sign].width for sign in text)
    for sign in text:
        if sign == " ":
            x += text_width(" ", EM)
            continue
        letter = letters[sign]
        parts.append(letter.path.replace("M 0 0", f"M{x:.0f} 0"))
        x += letter.width
    return "".join(parts)


def _letters(wanted: frozenset[str], slanted: bool) -> dict[str, Letter]:
    known = _known(slanted)
    missing = sorted(wanted - known.keys())
    if missing:
        known.update(zip(missing, _set_once(missing, slanted), strict=True))
    return known


@cache
def _known(slanted: bool) -> dict[str, Letter]:
    """Return the letters read so far; filled as they are asked for."""
    del slanted
    return {}


def _set_once(letters: Iterable[str], slanted: bool) -> list[Letter]:
    import json

    import typst

    source = SOURCE.format(family=FAMILY, em=EM, style="italic" if slanted else "normal")
    inputs = {"letters": json.dumps(list(letters), ensure_ascii=False)}
    try:
        drawn = typst.compile(source.encode(), sys_inputs=inputs, font_paths=fonts(), format="svg")
    except typst.TypstError as error:
        raise WriterFailed(f"letters could not be read ({error.message}); this is a fault of the program") from error
    assert isinstance(drawn, bytes)
    root = ET.fromstring(drawn)
    outlines = {
        symbol.get("id", ""): " ".join(path.get("d", "") for path in symbol.iter(f"{SVG}path"))
        for symbol in root.iter(f"{SVG}symbol")
    }
    lines = [[use for use in group if use.tag == f"{SVG}use"] for group in root.iter(f"{SVG}g")]
    return [
        Letter(_whole_numbers(outlines[letter.get(LINK, "").removeprefix("#")]), float(bar.get("x", "0")))
        for letter, bar in (line for line in lines if line)
    ]


def _whole_numbers(path: str) -> str:
    return re.sub(r"-?\d+\.\d+", lambda found: f"{float(found[0]):.0f}", path).strip()
