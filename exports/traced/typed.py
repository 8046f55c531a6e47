"""What is typed after the options of `planestock trace`: points, distances and sides."""

from __future__ import annotations

import re

from planestock.params.outlines.pieces import Point
from planestock.params.problems import refuse
from planestock.params.reading import typed_length

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)"
_POINT = rf"({_NUMBER})\s*,\s*({_NUMBER})"
_TWO = re.compile(rf"\s*{_POINT}\s+{_POINT}\s+(.+)")
_SIDES = re.compile(r"([^x×]+?)\s*(?:x|×|by)\s*(.+)|(?!.*(?:x|×|by))(.+?)\s*,\s*(.+)")
_ONE = re.compile(rf"\s*{_POINT}\s*")
_UNIT_AT_END = re.compile(r"(mm|cm|inch|in|\")\s*$")

LONGEST = 200
"""Characters of such a text."""


def point(option: str, text: str) -> Point:
    """Return a point typed as `x,y`."""
    found = _matched(_ONE, option, text, 'two numbers with a comma, such as "412,300"')
    return float(found[1]), float(found[2])


def points(option: str, text: str, count: int) -> tuple[Point, ...]:
    """Return points typed as `x,y x,y …`."""
    parts = re.sub(r"\s*,\s*", ",", text.strip()[:LONGEST]).split()
    if len(parts) != count:
        raise refuse(option, text, f"must be {count} points", 'for example "' + " ".join(["10,20", "400,25", "390,300",
                     "12,290"][:count]) + '"')  # fmt: skip
    return tuple(point(option, part) for part in parts)


def distance(option: str, text: str) -> tuple[Point, Point, float]:
    """Return two points and their distance in mm, typed as `x,y x,y 100 mm`."""
    found = _matched(_TWO, option, text, 'two points and their distance, such as "120,340 2010,352 200 mm"')
    size = length(option, found[5])
    return (float(found[1]), float(found[2])), (float(found[3]), float(found[4])), _sane(option, text, size)


def sides(option: str, text: str) -> tuple[float, float]:
    """Return two sides in mm, typed as `210 x 297 mm` or `8-1/2 x 11 in`; a unit at the end is that of both."""
    found = _matched(_SIDES, option, text, 'two lengths, such as "210 x 297 mm"')
    first, second = (found[1], found[2]) if found[1] else (found[3], found[4])
    unit = _UNIT_AT_END.search(second)
    if unit and not _UNIT_AT_END.search(first):
        first = f"{first} {unit[1]}"
    return _sane(option, text, length(option, first)), _sane(option, text, length(option, second))


def length(option: str, text: str) -> float:
    """Return a length in mm, typed as any reading is (`0.1 mm`, `1/64 in`) but without a ±; a bare number is of mm."""
    reading = typed_length(option, text.strip(), remedy="write a length, such as 0.1 mm or 1/64 in")
    if reading.limit is not None:
        raise refuse(option, text, "takes no ±", "write the length alone, such as 0.1 mm or 1/64 in")
    return reading.value


def _sane(option: str, text: str, size: float) -> float:
    if not 1.0 <= size <= 5000.0:
        raise refuse(option, text, "must be between 1 and 5000 mm", "give the true distance on the bench")
    return size


def _matched(pattern: re.Pattern[str], option: str, text: str, example: str) -> re.Match[str]:
    found = pattern.fullmatch(text) if len(text) <= LONGEST else None
    if found is None:
        raise refuse(option, text, f"must be {example.partition(', such')[0]}", f"write {example}")
    return found
