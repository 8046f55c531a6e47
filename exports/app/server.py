"""The app as one ASGI application, and its server on this machine's own address."""

from __future__ import annotations

import asyncio
import errno
import socket
import tempfile
import threading
import webbrowser
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from planestock.exports.app import page, routes_files, routes_variants
from planestock.exports.app.connections import timed
from planestock.exports.app.door import Door
from planestock.exports.app.folder import FileInTheWay
from planestock.exports.app.security import MOST_AT_ONCE, Guard
from planestock.exports.app.shared import Shared
from planestock.exports.files.front_door import write_private
from planestock.exports.files.stamp import program_version
from planestock.exports.kernel_process import in_a_line
from planestock.params.problems import InputProblem, refuse

if TYPE_CHECKING:
    import uvicorn

HERE = "127.0.0.1"
"""The machine's own address: nobody else on the network reaches it."""

USUAL_PORT = 7373
"""Port where the app is found unless another is asked for, so that a bookmark or an open page finds it again."""

LAST_WORDS = 3
"""Seconds that open requests have to end when the app is stopped."""


class Said(BaseModel):
    """What every refusal looks like: one line for people, and the broken rules where there are any.

    seen: mark of the file that is in the way of saving, to be sent back by who agrees to replace it.
    """

    said: str
    problems: list[dict[str, str]]
    seen: str = ""


REFUSALS: dict[int | str, dict[str, Any]] = {
    status: {"model": Said, "description": description}
    for status, description in (
        (400, "The request cannot be read."),
        (403, "The request comes from elsewhere."),
        (404, "There is no such thing here."),
        (405, "That cannot be done with it."),
        (409, "Not now."),
        (413, "Too large."),
        (421, "Called by another name."),
        (422, "The input breaks a rule."),
        (500, "Something broke."),
        (503, "Not there in this installation."),
    )
}


def application(shared: Shared) -> FastAPI:
    """Return the app for a state of its own."""
    made = FastAPI(
        title="planestock", version=program_version(), lifespan=_lifespan, docs_url=None, redoc_url=None,
        openapi_url="/api/openapi.json", responses=REFUSALS,
    )  # fmt: skip
    made.state.shared = shared
    for router in (page.router, routes_variants.router, routes_files.router):
        made.include_router(router)
    made.add_middleware(Guard, door=shared.door, connections=shared.connections)
    made.add_exception_handler(InputProblem, _input_problem)
    made.add_exception_handler(RequestValidationError, _not_understood)
    made.add_exception_handler(HTTPException, _refused)
    made.add_exception_handler(404, _nothing_here)
    made.add_exception_handler(Exception, _broken)
    return made


@asynccontextmanager
async def _lifespan(made: FastAPI) -> AsyncIterator[None]:
    """Have the kernel loaded in the background while the first page is already served; end all processes at the end."""
    shared: Shared = made.state.shared
    running = asyncio.create_task(shared.bodies.run())
    try:
        yield
    finally:
        running.cancel()
        with suppress(asyncio.CancelledError):
            await running
        await shared.bodies.worker.close()
        await shared.jobs.close()


def _said(status: int, said: str, problems: list[dict[str, str]] | None = None, seen: str = "") -> JSONResponse:
    return JSONResponse({"said": said, "problems": problems or [], "seen": seen}, status)


async def _input_problem(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, InputProblem)
    problems = [{"path": one.path, "value": one.value, "rule": one.rule, "remedy": one.remedy} for one in error.problems]
    return _said(422, str(error.problems[0]), problems, error.seen if isinstance(error, FileInTheWay) else "")


async def _not_understood(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)
    found = [f"{'.'.join(str(part) for part in one['loc'])}: {one['msg']}" for one in error.errors()[:5]]
    return _said(422, f"The request is not understood: {'; '.join(found)}"[:500])


async def _refused(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, HTTPException)
    return _said(error.status_code, str(error.detail))


async def _nothing_here(_: Request, error: Exception) -> JSONResponse:
    detail = str(getattr(error, "detail", ""))
    return _said(404, detail if detail and detail != "Not Found" else "There is nothing here.")


async def _broken(_: Request, error: Exception) -> JSONResponse:
    """Say what broke; the server itself writes the traceback to the terminal."""
    return _said(500, in_a_line(error))


def listening(port: int | None) -> socket.socket:
    """Return a socket on this machine's own address. port: None for the usual one, or any free one where that is taken.

    Raises InputProblem where a port that was asked for is not to be had.
    """
    for wanted in (USUAL_PORT, 0) if port is None else (port,):
        # The protocol is named: asyncio answers at once only on sockets that say they are TCP, else each takes 40 ms.
        found = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            found.bind((HERE, wanted))
        except OSError as error:
            found.close()
            if port is not None:
                rule = (
                    "is taken by another program"
                    if error.errno == errno.EADDRINUSE
                    else f"cannot be used ({error.strerror})"
                )
                raise refuse("--port", wanted, rule, "name another port, or leave --port out") from None
        else:
            return found
    raise refuse("--port", USUAL_PORT, "cannot be used, nor any other port", "see whether a firewall forbids it")


def run(shared: Shared, place: socket.socket, *, browser: bool, ready: Callable[[str], None]) -> None:
    """Serve until stopped from the keyboard. ready: called with an address that works once, then with the next."""
    import uvicorn

    port: int = place.getsockname()[1]
    place.listen(MOST_AT_ONCE)

    def tell() -> None:
        ready(entrance(port, shared.door.new_key(tell)))

    tell()
    with tempfile.TemporaryDirectory(prefix="planestock-", ignore_cleanup_errors=True) as folder:
        if browser:
            address = leading_page(Path(folder), port, shared.door).as_uri()
            # In a thread of its own: some browsers keep their caller waiting, and the page is served meanwhile.
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
        uvicorn.Server(settings(shared)).run(sockets=[place])


def settings(shared: Shared) -> uvicorn.Config:
    """Return how the app is served."""
    import uvicorn

    return uvicorn.Config(
        application(shared), log_level="warning", access_log=False, server_header=False, ws="none",
        http=timed(shared.connections), timeout_graceful_shutdown=LAST_WORDS,
    )  # fmt: skip


def entrance(port: int, key: str) -> str:
    """Return the address that a key opens."""
    return f"http://{HERE}:{port}/?key={key}"


def leading_page(folder: Path, port: int, door: Door) -> Path:
    """Return a page that nobody else may read and that leads to the app: everybody may read a browser's command line."""
    page = folder / "open.html"
    address = entrance(port, door.new_key(lambda: page.unlink(missing_ok=True)))
    return write_private(page, LEADING.format(address=address).encode())


LEADING = """\
<!DOCTYPE html>
<html lang="en">
<meta charset="utf-8">
<meta name="referrer" content="no-referrer">
<meta http-equiv="refresh" content="0; url={address}">
<title>planestock</title>
<p><a href="{address}">Open the app</a></p>
"""
"""Page that leads to an address; the address holds no letter that means something in markup."""
