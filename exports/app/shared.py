"""What all requests share: the open variants, the folder of sets, and the two processes with the solid kernel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Annotated, Any

from fastapi import Depends, HTTPException, Path, Request

from planestock.exports.app.bodies import Bodies
from planestock.exports.app.downloads import Job, Jobs
from planestock.exports.app.folder import SetsFolder
from planestock.exports.app.states import Source, Variant, Variants
from planestock.exports.app.worker import Worker

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
    variants: Variants = field(default_factory=Variants)

    def __post_init__(self) -> None:
        self.bodies = Bodies(Worker(self.body_limit, self.command))
        self.jobs = Jobs(Worker(FILES_LIMIT, self.command))


def shared_of(request: Request) -> Shared:
    """Return the state of the app that a request came to."""
    found: Shared = request.app.state.shared
    return found


TheApp = Annotated[Shared, Depends(shared_of)]

Id = Annotated[str, Path(pattern="^[0-9a-f]{32}$", description="Id of a variant or of an order of files.")]


def variant_of(variant: Id, app: TheApp) -> Variant:
    """Return the variant that a path names; 404 where it is not open."""
    found = app.variants.find(variant)
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
