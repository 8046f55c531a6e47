"""Who may talk to the app, and how much at once: every request passes here before anything else reads it."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any
from urllib.parse import urlsplit

from planestock.exports.app.connections import Connections
from planestock.exports.app.door import NOT_KNOWN, Door

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]

LARGEST_BODY = 400_000
"""Bytes of a request: a set of the largest size the app takes, each letter escaped, and something around it."""

NAMES = ("127.0.0.1", "localhost", "[::1]")
"""Names by which a browser on this machine may call the app. Another name means that a foreign page had its own name lead
here (DNS rebinding)."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'"
)
"""Content Security Policy: only the app's own script and style, no text that becomes script or markup, no frames."""

HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
}


CLOSING = HEADERS | {"connection": "close"}
"""Headers of an answer to somebody who is not known: the connection is not kept for more."""

MOST_AT_ONCE = 200
"""Requests in work at once; a browser has six connections for each of its pages together."""

CONTENT_LIMIT = 30.0
"""Seconds for a request's content to arrive."""


class Guard:
    """Refuses foreign hosts and origins, unknown browsers and large requests, in words; sets the security headers."""

    def __init__(self, application: Application, door: Door, connections: Connections) -> None:
        """Guard an ASGI application."""
        self._application, self._door, self._connections = application, door, connections
        self._at_once = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self._application(scope, receive, send)
            return
        headers = {name.lower(): value for name, value in scope["headers"]}
        is_known = self._door.admits(headers.get(b"cookie", b""), port_of(scope))
        with self._connections.at_work(scope.get("client")):
            self._at_once += is_known
            try:
                await self._answered(scope, headers, receive, send, is_known=is_known)
            finally:
                self._at_once -= is_known

    async def _answered(
        self, scope: Scope, headers: dict[bytes, bytes], receive: Receive, send: Send, *, is_known: bool
    ) -> None:
        """Answer a request; who is not known gets nothing but the first page, nothing read, and the connection closed."""
        guarded = _with_headers(send, HEADERS if is_known else CLOSING)
        content, refused = b"", refusal(scope, headers)
        if refused is None and not is_known and (scope["path"] != "/" or scope["method"] != "GET"):
            refused = 403, NOT_KNOWN
        if refused is None and self._at_once > MOST_AT_ONCE:
            refused = 503, "Too many requests at once; close some of the app's pages."
        if refused is None and is_known:
            content, refused = await _whole(headers, receive)
        if refused is not None:
            await _refuse(guarded, *refused)
            return
        await self._application(scope, _replayed(content, receive), guarded)


def refusal(scope: Scope, headers: dict[bytes, bytes]) -> tuple[int, str] | None:
    """Return why a request may not come in (status and words), None where it may."""
    host = headers.get(b"host", b"").decode("latin-1")
    if sum(name == b"host" for name, _ in scope["headers"]) != 1 or host.lower() not in _allowed(scope):
        return 421, f"This app answers only on this machine, as {' or '.join(sorted(_allowed(scope)))}."
    if not all(_is_own(origin, host) for origin in _values(scope, b"origin")):
        return 403, "A page from elsewhere may not use this app."
    if not {*_values(scope, b"sec-fetch-site")} <= {"none", "same-origin"} and scope["path"] != "/":
        return 403, "A page from elsewhere may not use this app."
    return None


def _values(scope: Scope, wanted: bytes) -> list[str]:
    """Return every value of a header; where one comes twice, each of them has to hold."""
    return [value.decode("latin-1") for name, value in scope["headers"] if name.lower() == wanted]


def port_of(scope: Scope) -> int:
    """Return the port that a request came to."""
    found: int = (scope.get("server") or ("", 0))[1] or 0
    return found


def _allowed(scope: Scope) -> set[str]:
    return {f"{name}:{port_of(scope)}" for name in NAMES}


def _is_own(origin: str, host: str) -> bool:
    try:
        parts = urlsplit(origin)
    except ValueError:
        return False
    return parts.scheme == "http" and parts.netloc.lower() == host.lower() and not parts.path.strip("/")


async def _whole(headers: dict[bytes, bytes], receive: Receive) -> tuple[bytes, tuple[int, str] | None]:
    """Return the whole content of a request, or why it is refused; never reads more than is allowed."""
    declared = headers.get(b"content-length", b"0").decode("latin-1")
    if declared.isdecimal() and len(declared) < 20 and int(declared) > LARGEST_BODY:
        return b"", _too_large()
    content = b""
    try:
        async with asyncio.timeout(CONTENT_LIMIT):
            while True:
                message = await receive()
                content += message.get("body", b"")
                if len(content) > LARGEST_BODY:
                    return b"", _too_large()
                if message["type"] != "http.request" or not message.get("more_body"):
                    return content, None
    except TimeoutError:
        return b"", (408, "The request did not arrive whole.")


def _too_large() -> tuple[int, str]:
    return 413, f"That is too large: a set is a small text file, at most {LARGEST_BODY // 1000} kB are taken at once."


def _replayed(content: bytes, receive: Receive) -> Receive:
    given = False

    async def replay() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": content, "more_body": False}

    return replay


def _with_headers(send: Send, headers: dict[str, str]) -> Send:
    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            present = {name.lower() for name, _ in message.get("headers", [])}
            extra = [(name.encode(), value.encode()) for name, value in headers.items() if name.encode() not in present]
            message = {**message, "headers": [*message.get("headers", []), *extra]}
        await send(message)

    return guarded


async def _refuse(send: Send, status: int, said: str) -> None:
    content = json.dumps({"said": said, "problems": [], "seen": ""}).encode()
    headers = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(content)).encode()),
        (b"connection", b"close"),
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": content})
