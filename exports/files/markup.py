"""HTML and SVG made from plain strings: every text is escaped here and nowhere else, so that no name can act as markup."""

from __future__ import annotations

import html
import json
from typing import Any, NewType

from planestock.exports.files.writer_rules import one_line

Markup = NewType("Markup", str)
"""Text that is markup already; only this module makes it."""

_VOID = frozenset({"br", "circle", "hr", "line", "meta", "path", "rect"})
_TURNING = frozenset("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Letters that turn the direction of what follows and could make a page read otherwise than it is written."""


def text(plain: str) -> Markup:
    """Return any text as markup that shows just that text, on one line."""
    return Markup(html.escape("".join(letter for letter in one_line(plain) if letter not in _TURNING)))


def tag(name: str, /, *inside: str | Markup, **attributes: str | float | bool) -> Markup:
    """Return an element. inside: markup as it is, plain strings escaped is the caller's choice through `text`.

    A trailing underscore of an attribute is dropped (`class_`), an inner one becomes a hyphen; False leaves it out.
    """
    written = "".join(_attribute(key, value) for key, value in attributes.items() if value is not False)
    if name in _VOID:
        return Markup(f"<{name}{written}>" if name in ("br", "hr", "meta") else f"<{name}{written}/>")
    return Markup(f"<{name}{written}>{''.join(inside)}</{name}>")


def _attribute(key: str, value: str | float | bool) -> str:
    name = key.rstrip("_").replace("_", "-")
    if value is True:
        return f" {name}"
    shown = f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
    return f' {name}="{html.escape(shown)}"'


def joined(*pieces: Markup) -> Markup:
    """Return markup one after the other."""
    return Markup("".join(pieces))


def json_block(name: str, value: Any) -> Markup:
    """Return data as a script element that no browser runs, read again with JSON.parse.

    `<`, `>` and `&` are written as escapes, so that no text inside can end the element.
    """
    written = json.dumps(value, separators=(",", ":"), allow_nan=False, ensure_ascii=True)
    safe = written.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
    return Markup(f'<script type="application/json" id="{html.escape(name)}">{safe}</script>')
