"""File names made of what people write: any text becomes a plain name that every system can hold."""

from __future__ import annotations

import re
import unicodedata

from planestock.exports.files.safe_names import RESERVED_NAMES

LONGEST_NAME = 60
"""Letters of a name made here; with folder and ending it stays far below what any system allows."""

NAMELESS = "plane"
"""Stands where nothing is left of a text."""


SPELLED = str.maketrans({"ß": "ss", "æ": "ae", "Æ": "Ae", "ø": "o", "Ø": "O", "œ": "oe", "ł": "l", "Ł": "L", "đ": "d"})
"""Letters that are no letter of ASCII with an accent."""


def file_name(text: str) -> str:
    """Return a text as a file name without ending: letters and digits of ASCII, with single hyphens for all the rest.

    Accents are dropped; a name that is a device on some system gets `NAMELESS` before it.
    """
    plain = unicodedata.normalize("NFKD", text.translate(SPELLED)).encode("ascii", "ignore").decode("ascii")
    kept = re.sub(r"[^A-Za-z0-9_]+", "-", plain).strip("-")[:LONGEST_NAME].rstrip("-")
    if not kept or kept.casefold() in RESERVED_NAMES:
        return "-".join(filter(None, (NAMELESS, kept)))
    return kept
