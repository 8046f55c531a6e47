"""Widths of letters in the drawings' type, so that words can be placed clear of one another before any page is set."""

from __future__ import annotations

from functools import cache

WIDTHS = {
    125: "·", 190: "'", 205: "|", 220: ",.", 236: ":;", 249: "′", 250: " ", 264: "l", 267: "°", 271: "i", 272: "j",
    277: "{}", 287: "\\", 288: "!", 297: "I", 298: "()", 307: "²³", 310: "f", 316: "t", 322: "J", 323: "/", 336: '"',
    338: "-", 356: "[]", 369: "*", 372: "r", 381: "″", 390: "s", 424: "z", 428: "c", 435: "?", 447: "e", 449: "~",
    457: "a", 465: "#$0123456789", 485: "FS", 490: "x", 493: "b", 497: "v", 500: "g", 503: "q", 504: "o", 506: "d",
    512: "k", 515: "y", 519: "p", 528: "L", 531: "u", 538: "h", 541: "P", 542: "n", 548: "–", 550: "+<=>±×−", 557: "E",
    566: "⌀", 575: "Y", 587: "R", 588: "B", 597: "T", 604: "Z", 637: "%K", 646: "C", 652: "V", 660: "X¼½¾", 661: "U",
    685: "G", 695: "A", 699: "N", 701: "D", 702: "OQØ", 705: "&", 730: "H", 742: "—", 747: "w", 790: "m", 839: "M",
    951: "W", 1130: "→←",
}  # fmt: skip
"""Thousandths of the type size by letter, for the upright of `paper_style.FAMILY`; read from the font once."""

WIDEST = 1130
"""Taken for a letter that is not listed."""

_BY_LETTER = {letter: width for width, letters in WIDTHS.items() for letter in letters}


@cache
def text_width(text: str, size: float) -> float:
    """Return the width of a text set in this size, in the size's unit; italics are never wider by more than 2 %."""
    return sum(_BY_LETTER.get(letter, WIDEST) for letter in text) * size / 1000
