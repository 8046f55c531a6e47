"""Connections that send nothing: each has some seconds for a request's header, and many of them keep nobody out.

The server itself waits for ever for a header. Whoever may reach the port could so hold all its connections.
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from uvicorn.protocols.http.h11_impl import H11Protocol

Client = tuple[str, int]

HEADER_LIMIT = 10.0
"""Seconds for a request's header; on this machine it takes none. More than the server keeps an idle connection (5)."""

MOST_WAITING = 64
"""Connections without a request in work; a browser opens six. The one that has waited for longest gives way to a new one."""


@dataclass
class Connections:
    """All connections by their other end, and when those give way that have no request in work."""

    limit: float = HEADER_LIMIT
    _open: dict[Client, asyncio.Transport] = field(default_factory=dict)
    _waiting: OrderedDict[Client, asyncio.TimerHandle] = field(default_factory=OrderedDict)

    def came(self, client: Client, transport: asyncio.Transport) -> None:
        """Take up a new connection."""
        self._open[client] = transport
        self._wait(client)
        while len(self._waiting) > MOST_WAITING:
            self._end(next(iter(self._waiting)))

    def gone(self, client: Client) -> None:
        """Forget a connection that is closed."""
        self._open.pop(client, None)
        self._works(client)

    @contextmanager
    def at_work(self, client: Client | None) -> Iterator[None]:
        """While a request of a connection is in work, the connection is not waited for."""
        if client is None or client not in self._open:
            yield
            return
        self._works(client)
        try:
            yield
        finally:
            if client in self._open:
                self._wait(client)

    def _works(self, client: Client) -> None:
        timer = self._waiting.pop(client, None)
        if timer is not None:
            timer.cancel()

    def _wait(self, client: Client) -> None:
        self._works(client)
        self._waiting[client] = asyncio.get_running_loop().call_later(self.limit, self._end, client)

    def _end(self, client: Client) -> None:
        self._works(client)
        transport = self._open.pop(client, None)
        if transport is not None:
            transport.abort()


def timed(connections: Connections) -> type[H11Protocol]:
    """Return the server's protocol, each of whose connections is told to `connections`."""
    from uvicorn.protocols.http.h11_impl import H11Protocol

    class Timed(H11Protocol):
        def connection_made(self, transport: Any) -> None:
            super().connection_made(transport)
            if self.client is not None:
                connections.came(self.client, transport)

        def connection_lost(self, exc: Exception | None) -> None:
            if self.client is not None:
                connections.gone(self.client)
            super().connection_lost(exc)

    return Timed
