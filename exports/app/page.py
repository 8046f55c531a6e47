"""The page itself: a frame of plain HTML, and the script and style that fill it, bundled when planestock was installed."""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Query, Request, Response
from fastapi.concurrency import run_in_threadpool

from planestock.exports.app.door import cookie_name
from planestock.exports.app.folder import MOST_LISTED
from planestock.exports.app.form import form
from planestock.exports.app.security import port_of
from planestock.exports.app.shared import Id, TheApp
from planestock.exports.files.stamp import program_version
from planestock.exports.files.writer_rules import WriterFailed
from planestock.exports.pages.viewer_files import bundled
from planestock.exports.wording.cautions import CAUTIONS
from planestock.params.files import parsed, shipped

Entry = dict[str, Any]
router = APIRouter(tags=["page"])

FRAME = """\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>planestock</title>
<link rel="icon" href="data:,">
<link rel="stylesheet" href="/app.css">
<script src="/app.js" defer></script>
</head>
<body>
<noscript><p>This page needs JavaScript, which is switched off here. The commands planestock check and planestock build
do the same without it.</p></noscript>
<div id="app"><p class="stranger">The app does not know this browser. Open the address that planestock serve printed in its
terminal. Each address works once; when one was used, the next is printed.</p></div>
</body>
</html>
"""


@router.get("/", response_class=Response, include_in_schema=False)
async def frame(request: Request, app: TheApp, key: Annotated[str, Query(max_length=200)] = "") -> Response:
    """Return the page, with the cookie for who comes with a key; without the cookie its script and style do not follow."""
    answer = Response(FRAME, media_type="text/html; charset=utf-8")
    if key and app.door.opens(key):
        answer.set_cookie(cookie_name(port_of(request.scope)), app.door.cookie, httponly=True, samesite="strict")
    return answer


@router.get("/app.js", response_class=Response, include_in_schema=False)
async def script() -> Response:
    """Return the page's script."""
    return Response(_bundled("app.js"), media_type="text/javascript; charset=utf-8")


@router.get("/app.css", response_class=Response, include_in_schema=False)
async def style() -> Response:
    """Return the page's style."""
    return Response(_bundled("app.css"), media_type="text/css; charset=utf-8")


@cache
def _bundled(name: str) -> bytes:
    try:
        return bundled(name).encode()
    except WriterFailed as missing:
        raise HTTPException(503, str(missing)) from None


@router.get("/api/start")
async def start(app: TheApp) -> Entry:
    """Return what the page begins with: the form, the sets to begin from, the kinds of files, the cautions."""
    from planestock.exports.building import WRITERS

    return {
        "version": program_version(),
        "form": form(),
        "folder": str(app.folder.path),
        "given": [source.name for source in app.given],
        "shipped": [{"name": name, "note": parsed(text, name).get("note", "")} for name, text in shipped().items()],
        "kinds": [{"title": writer.title, "usual": writer.extra is None} for writer in WRITERS],
        "cautions": list(CAUTIONS),
    }


@router.get("/api/sets")
async def sets(app: TheApp) -> Entry:
    """Return the names of the sets in the folder, the first ones of very many, and how many there are."""
    names = await run_in_threadpool(app.folder.names)
    return {"folder": str(app.folder.path), "sets": list(names[:MOST_LISTED]), "count": len(names)}


@router.get("/api/drafts")
async def drafts(app: TheApp) -> Entry:
    """Return what has unsaved changes and may be taken up again, the newest first."""
    return {"drafts": await run_in_threadpool(app.drafts.listed)}


@router.delete("/api/drafts/{draft}")
async def forget_draft(draft: Id, app: TheApp) -> Entry:
    """Let a draft go."""
    await run_in_threadpool(app.drafts.drop, draft)
    return {"id": draft}
