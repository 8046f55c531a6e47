"""Bodies in the background: the newest wish of each variant is built, one after the other; an older one gives way to it."""

from __future__ import annotations

import asyncio
import time
from collections import OrderedDict
from dataclasses import dataclass, field

from planestock.exports.app.states import Variant
from planestock.exports.kernel_process import Answer, Worker, WorkerFailed, in_a_line

PATIENCE = 3.0
"""Seconds after which a body that is no longer wanted is given up with its process: ten times what a body takes, more than
starting the process anew."""

LOOK = 0.25
"""Seconds between looks at whether the body that is being made is still wanted."""


@dataclass(frozen=True)
class Wish:
    """A body to be made: of a variant as it was at a revision."""

    variant: Variant
    revision: int
    text: str

    @property
    def is_wanted(self) -> bool:
        """Whether the variant still is as it was."""
        return self.variant.revision == self.revision


@dataclass
class Bodies:
    """The queue of wishes, at most one for each variant, and the worker that fulfils them."""

    worker: Worker
    _wishes: OrderedDict[str, Wish] = field(default_factory=OrderedDict)
    _bell: asyncio.Event = field(default_factory=asyncio.Event)

    def want(self, variant: Variant) -> None:
        """Ask for the body of a variant as it stands; it takes the place of an older wish."""
        if variant.now.numbers is None:
            self._wishes.pop(variant.id, None)
            return
        variant.body.wanted, variant.body.status, variant.body.said = variant.revision, "building", ""
        self._wishes[variant.id] = Wish(variant, variant.revision, variant.now.text)
        self._bell.set()

    async def run(self) -> None:
        """Fulfil wishes until cancelled; whatever fails is told on the variant, and the next wish has a new worker."""
        try:
            await self.worker.start()
        except Exception as failed:  # noqa: BLE001 - whatever it is, it is told and the next wish tries again
            self._all_failed(_said(failed))
        while True:
            await self._bell.wait()
            if not self._wishes:
                self._bell.clear()
                continue
            _, wish = self._wishes.popitem(last=False)
            await self._fulfil(wish)

    def _all_failed(self, said: str) -> None:
        while self._wishes:
            _, wish = self._wishes.popitem(last=False)
            _fail(wish, said)

    async def _fulfil(self, wish: Wish) -> None:
        began = time.monotonic()
        making = asyncio.create_task(self._made(wish))
        try:
            while not making.done():
                await asyncio.wait({making}, timeout=LOOK)
                if not wish.is_wanted and time.monotonic() - began > PATIENCE:
                    making.cancel()
            await asyncio.gather(making, return_exceptions=True)
        finally:
            making.cancel()
        if not making.cancelled() and (failed := making.exception()) is not None:
            _fail(wish, _said(failed))

    async def _made(self, wish: Wish) -> None:
        """Have scene and checks made; the checks only where the scene is still wanted when it is there."""
        began = time.monotonic()
        for do in ("body", "checks"):
            if not wish.is_wanted:
                return
            async for answer in self.worker.answers({"do": do, "text": wish.text}):
                _take(wish, answer, time.monotonic() - began)


def _take(wish: Wish, answer: Answer, seconds: float) -> None:
    """Put what was made into the variant, unless it has moved on."""
    body = wish.variant.body
    if not wish.is_wanted:
        return
    if answer.kind == "scene":
        body.scene, body.of, body.seconds, body.status = answer.content, wish.revision, round(seconds, 3), "ready"
    elif answer.kind == "checks":
        body.rows, body.rows_of = answer.says["rows"], wish.revision
    wish.variant.ring()


def _said(failed: BaseException) -> str:
    """Return why there is no body: a worker's own words, else the error's."""
    return str(failed) if isinstance(failed, WorkerFailed) else in_a_line(failed)


def _fail(wish: Wish, said: str) -> None:
    if wish.is_wanted:
        wish.variant.body.status, wish.variant.body.said = "failed", said
        wish.variant.ring()
