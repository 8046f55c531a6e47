"""What all requests share: the open variants, the folder of sets, and the two processes with the solid kernel."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass, field
from typing import Annotated, Any

from fastapi import Depends, HTTPException, Path, Request
from fastapi.concurrency import run_in_threadpool

from planestock.exports.app.built_bodies import Bodies
from planestock.exports.app.connections import Connections
from planestock.exports.app.door import Door
from planestock.exports.app.downloads import Job, Jobs
from planestock.exports.app.drafts import Drafts, taken_up
from planestock.exports.app.folder import SetsFolder
from planestock.exports.app.states import Source, Variant, Variants
from planestock.exports.kernel_process import Worker
from planestock.params.problems import InputProblem

Entry = dict[str, Any]

BODY_LIMIT = 20.0
"""Seconds for a scene or for the checks of the solids; both take a third of one on an ordinary machine."""

FILES_LIMIT = 300.0
"""Seconds for one kind of file; full-size paper of a long plane takes some ten."""


@dataclass
class Shared:
    """The app's state. given: the sets named on the command line; command: runs the kernel's process, for tests."""

    folder: SetsFolder
    given: tuple[Source, ...] = ()
    command: Sequence[str] = ()
    body_limit: float = BODY_LIMIT
    drafts: Drafts = field(default_factory=lambda: Drafts(None))
    door: Door = field(default_factory=Door)
    connections: Connections = field(default_factory=Connections)
    variants: Variants = field(default_factory=Variants)
    listening: int = 0

    def __post_init__(self) -> None:
        self.bodies = Bodies(Worker(self.body_limit, self.command))
        self.jobs = Jobs(Worker(FILES_LIMIT, self.command))
        self._taking_up = asyncio.Lock()

    async def find(self, name: str) -> Variant | None:
        """Return a variant by id: an open one, else the one that a draft was kept of before the app was started anew."""
        async with self._taking_up:
            found = self.variants.find(name)
            draft = None if found else await run_in_threadpool(self.drafts.find, name)
            if draft is None:
                return found
            try:
                found = await run_in_threadpool(taken_up, draft, self.folder)
            except InputProblem:  # A draft that some other program wrote into.
                return None
            self.variants.add(found)
            self.bodies.want(found)
            return found

    async def keep(self, variant: Variant) -> None:
        """Keep a draft of a variant where it has unsaved changes, and none where not."""
        await run_in_threadpool(self.drafts.keep, variant, self.folder)


def shared_of(request: Request) -> Shared:
    """Return the state of the app that a request came to."""
    found: Shared = request.app.state.shared
    return found


TheApp = Annotated[Shared, Depends(shared_of)]

Id = Annotated[str, Path(pattern="^[0-9a-f]{32}$", description="Id of a variant or of an order of files.")]


async def variant_of(variant: Id, app: TheApp) -> Variant:
    """Return the variant that a path names; 404 where it is not open and no draft of it was kept."""
    found = await app.find(variant)
    if found is None:
        raise HTTPException(404, "This variant is not open here any more.")
    return found


def job_of(job: Id, app: TheApp) -> Job:
    """Return the order of files that a path names; 404 where it is gone."""
    found = app.jobs.find(job)
    if found is None:
        raise HTTPException(404, "These files are not kept any more; have them made again.")
    return found


TheVariant = Annotated[Variant, Depends(variant_of)]
TheJob = Annotated[Job, Depends(job_of)]

LONGEST_WAIT = 20.0
"""Seconds that a request for news waits; then it is answered without any, and the page asks again."""

LOOK = 0.5
"""Seconds between looks at whether whoever waits is still there."""

MOST_LISTENING = 4
"""Requests for news that may wait at once, as many as a page has variants. A browser has six connections for all its pages
together: where more wait, each is answered after a look, so that what is typed is not kept waiting behind them."""


async def while_listening(
    app: Shared, request: Request, wait: Callable[[float], Awaitable[None]], there: Callable[[], bool]
) -> None:
    """Wait until there is news, for so long as somebody listens: a page that was closed is waited for no longer."""
    end = asyncio.get_running_loop().time() + LONGEST_WAIT
    app.listening += 1
    try:
        while not there():
            await wait(LOOK)
            is_over = asyncio.get_running_loop().time() >= end or app.listening > MOST_LISTENING
            if is_over or await request.is_disconnected():
                return
    finally:
        app.listening -= 1
