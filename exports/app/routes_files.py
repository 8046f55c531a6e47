"""Requests about files to take away: ordered, watched, fetched one by one or all in one archive."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from pydantic import Field

from planestock.exports.app.downloads import Job, archive, described, disposition, media_type, titles_known
from planestock.exports.app.routes_variants import Strict
from planestock.exports.app.shared import TheApp, TheJob, TheVariant, while_listening
from planestock.exports.files.file_names import file_name

Entry = dict[str, Any]
router = APIRouter(prefix="/api", tags=["files"])

MOST_TITLES = 100
"""Kinds of files in an order; there are some ten."""


class Ordering(Strict):
    """Which kinds of files to make, by title; none named means all. allow_failing: even though a check fails."""

    titles: list[Annotated[str, Field(max_length=200)]] = Field(default=[], max_length=MOST_TITLES)
    allow_failing: bool = False


@router.post("/variants/{variant}/files", status_code=202)
async def order_files(ordering: Ordering, found: TheVariant, app: TheApp) -> Entry:
    """Have files of a variant made, as it stands now."""
    if found.now.numbers is None:
        raise HTTPException(409, "There are values to mend first; files are made of a set without mistakes.")
    titles = await run_in_threadpool(titles_known, ordering.titles)
    name = file_name(found.now.numbers["name"])
    return described(app.jobs.order(Job(name, found.now.text, titles, ordering.allow_failing)))


@router.get("/orders/{job}")
async def one_order(
    found: TheJob, app: TheApp, request: Request, after: Annotated[int, Query(ge=0, le=1 << 53)] = 0
) -> Entry:
    """Wait until there is news after the one that was seen, some seconds at most, and return how far the order is."""
    await while_listening(
        app,
        request,
        lambda seconds: found.wait_for_news(after, seconds),
        lambda: found.news > after or found.status != "making",
    )
    return described(found)


@router.delete("/orders/{job}")
async def give_up(found: TheJob, app: TheApp) -> Entry:
    """Give an order up."""
    app.jobs.drop(found.id)
    return {"id": found.id}


@router.get("/orders/{job}/file", response_class=Response)
async def one_file(found: TheJob, name: Annotated[str, Query(max_length=300)]) -> Response:
    """Return one file that was made."""
    if name not in found.files:
        raise HTTPException(404, "No such file was made.")
    short = name.rpartition("/")[2]
    return _taken(found.files[name], short if short.startswith(found.name) else f"{found.name}-{short}")


@router.get("/orders/{job}/all", response_class=Response)
async def all_files(found: TheJob) -> Response:
    """Return all files that were made, in one archive."""
    if found.status != "done":
        raise HTTPException(409, "The files are not all made yet.")
    return _taken(await run_in_threadpool(archive, found.name, dict(found.files)), f"{found.name}.zip")


def _taken(content: bytes, name: str) -> Response:
    return Response(content, media_type=media_type(name), headers={"content-disposition": disposition(name)})
