r"""Strings of an exchange file (ISO 10303-21): printable ASCII, other letters in hexadecimal after \X2\, \X4\."""

from __future__ import annotations

import re
from collections.abc import Iterator

from planestock.exports.files.writer_rules import one_line

LONGEST_STRING = 256
"""Characters a header string may have (ISO 10303-21:2016, clause 8). Counted as written, so that a reader
that counts before it decodes is content as well; names in the DATA section keep to it too."""

_WIDEST_OF_FOUR_DIGITS = 0xFFFF


def quoted(text: str) -> str:
    """Return any text as one quoted string, cut after `LONGEST_STRING` characters as written."""
    return f"'{encoded(next(pieces(text), ''))}'"


def listed(text: str) -> str:
    """Return any text as a list of quoted strings, as many as it takes to hold all of it."""
    written = [f"'{encoded(piece)}'" for piece in pieces(text)]
    return f"({','.join(written or [quoted('')])})"


def pieces(text: str) -> Iterator[str]:
    """Yield a text, made one line, in pieces that each fit one string; nothing is lost, no letter parted."""
    rest = one_line(text)
    while rest:
        piece = rest[:LONGEST_STRING]
        while len(encoded(piece)) > LONGEST_STRING:
            piece = piece[:-1]
        yield piece
        rest = rest[len(piece) :]


def encoded(line: str) -> str:
    r"""Return one line of text as written between the quotes.

    Quote and backslash are doubled; letters outside printable ASCII become \X2\....\X0\ (four digits each)
    or, beyond the basic plane, \X4\........\X0\ (eight digits each).
    """
    doubled = line.replace("\\", "\\\\").replace("'", "''")
    return re.sub(r"[\x7f-\uffff]+|[\U00010000-\U0010ffff]+", _hexadecimal, doubled)


def _hexadecimal(found: re.Match[str]) -> str:
    letters = [ord(letter) for letter in found[0]]
    if letters[0] > _WIDEST_OF_FOUR_DIGITS:
        return "\\X4\\" + "".join(f"{letter:08X}" for letter in letters) + "\\X0\\"
    return "\\X2\\" + "".join(f"{letter:04X}" for letter in letters) + "\\X0\\"
