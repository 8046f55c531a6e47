"""Who is let in: whoever opens an address with a key, which works once, and gets a cookie that is good while the app runs.

Other people on the same machine reach the app's port as its owner does. They can read the command line of a browser; what
stands there must not let them in.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie

LONG = 32
"""Bytes of a key and of a cookie: nobody guesses 256 bits."""

MOST_COOKIES = 8000
"""Characters of a request's cookies that are looked at; every app of this machine adds its own to the same header."""

NOT_KNOWN = (
    "The app does not know this browser, or was started anew. Open the address that planestock serve printed, in this "
    "browser; what you typed is kept here."
)


def cookie_name(port: int) -> str:
    """Return the name of the app's cookie: browsers keep one store for all ports of a machine."""
    return f"planestock-{port}"


@dataclass
class Door:
    """The keys that were given out and not used yet, and the cookie that all who used one share."""

    cookie: str = field(default_factory=lambda: secrets.token_urlsafe(LONG))
    _keys: dict[str, Callable[[], None]] = field(default_factory=dict)

    def new_key(self, used: Callable[[], None] = lambda: None) -> str:
        """Return a key that works once. used: called when somebody has come in by it."""
        key = secrets.token_urlsafe(LONG)
        self._keys[key] = used
        return key

    def opens(self, key: str) -> bool:
        """Tell whether a key opens, and let it be used up."""
        found = [known for known in self._keys if same(known, key)]
        for known in found:
            self._keys.pop(known)()
        return bool(found)

    def admits(self, cookies: bytes, port: int) -> bool:
        """Tell whether the header of a request's cookies holds the one of this app."""
        if len(cookies) > MOST_COOKIES:
            return False
        try:
            found = SimpleCookie(cookies.decode("latin-1")).get(cookie_name(port))
        except CookieError:
            return False
        return found is not None and same(self.cookie, found.value)


def same(known: str, given: str) -> bool:
    """Compare two secrets in a time that does not tell how much of them is alike."""
    return secrets.compare_digest(known.encode(), given.encode("utf-8", "replace"))
