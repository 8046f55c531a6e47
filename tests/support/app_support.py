"""Running the app in tests: in this process for requests, as the command for browsers, and with kernels that fail."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import httpx2
from fastapi.testclient import TestClient

if TYPE_CHECKING:
    from playwright.sync_api import Page

from planestock.exports.app.door import cookie_name
from planestock.exports.app.drafts import Drafts
from planestock.exports.app.folder import SetsFolder
from planestock.exports.app.server import application, listening, settings
from planestock.exports.app.shared import Shared
from planestock.exports.app.states import Source
from planestock.params.files import shipped

ROOT = Path(__file__).resolve().parents[2]
Entry = dict[str, Any]

PORT = 7373
PATIENCE = 120.0
"""Seconds until what should come has come; only a test that fails waits so long, as the machine may be very busy."""

IN_ONE_WAY = {
    "builds": "",
    "crashes": "os.kill(os.getpid(), signal.SIGSEGV)",
    "ends": "os._exit(3)",
    "hangs": "time.sleep(600)",
    "babbles": "out.write(b'not an answer\\n'); out.flush(); time.sleep(600)",
    "fails": "send('failed', said='the seat: the solid kernel failed; lower a value'); continue",
}
"""What a stand-in for the kernel's process does with a set whose name begins with one of these words."""

STAND_IN = """
import json, os, signal, sys, time
out = os.fdopen(os.dup(1), "wb")
def send(kind, content=b"", **more):
    out.write(json.dumps({"kind": kind, "bytes": len(content), **more}).encode() + b"\\n" + content)
    out.flush()
send("warm")
for line in sys.stdin:
    task = json.loads(line)
    name = next(row.split('"')[1] for row in task["text"].splitlines() if row.startswith("name ="))
    word = name.split()[0]
    if task["do"] == "files":
        for number, title in enumerate(task["titles"]):
            send("step", title=title)
            send("file", b"content of " + title.encode(), title=title, name=f"parts/{number}.step")
    elif False:
        pass
    CASES
    elif task["do"] == "body":
        send("scene", json.dumps({"of": name}).encode())
    else:
        send("checks", rows=[{"id": "stand-in", "verdict": "pass"}])
    send("done")
"""
"""A process that answers as the kernel's does, at once and without a kernel."""


def stand_in() -> tuple[str, ...]:
    """The command of a stand-in for the kernel's process."""
    cases = "\n".join(
        f"    elif word == {word!r} and {deed!r}:\n        {deed or 'pass'}" for word, deed in IN_ONE_WAY.items()
    )
    return (sys.executable, "-c", STAND_IN.replace("    CASES", cases))


@contextmanager
def app(
    folder: Path, *given: Source, command: tuple[str, ...] | None = None, drafts: Path | None = None
) -> Iterator[TestClient]:
    """The app in this process, called as a browser on this machine would. command: runs the kernel's process."""
    shared = Shared(SetsFolder(folder), given, stand_in() if command is None else command, PATIENCE, Drafts(drafts))
    with TestClient(application(shared), base_url=f"http://127.0.0.1:{PORT}", raise_server_exceptions=False) as client:
        client.headers["cookie"] = f"{cookie_name(PORT)}={shared.door.cookie}"
        yield client


class Address(str):
    """Where an app is found that lets in who has its cookie. headers: of a request by who has it."""

    cookie: str

    @property
    def port(self) -> int:
        return int(self.rstrip("/").rpartition(":")[2])

    @property
    def headers(self) -> dict[str, str]:
        return {"cookie": f"{cookie_name(self.port)}={self.cookie}"}

    def known_to(self, page: Page) -> None:
        """Give a page's browser the cookie, as if the app's own address had been opened in it."""
        cookie = {"name": cookie_name(self.port), "value": self.cookie, "url": str(self), "httpOnly": True}
        page.context.add_cookies([{**cookie, "sameSite": "Strict"}])  # type: ignore[typeddict-item]

    def visited(self, page: Page) -> None:
        """Open the app in a page."""
        self.known_to(page)
        page.goto(self)


def address_of(place: str, cookie: str) -> Address:
    found = Address(place)
    found.cookie = cookie
    return found


def entered(entrance: str) -> Address:
    """Use up an address that the app printed, and keep the cookie."""
    answer = httpx2.get(entrance)
    (cookie,) = answer.cookies.values()
    return address_of(entrance.partition("?")[0], cookie)


def opened(client: TestClient, kind: str = "shipped", name: str = "jack", text: str = "") -> Entry:
    """Open a variant."""
    answer = client.post("/api/variants", json={"kind": kind, "name": name, "text": text})
    assert answer.status_code == 201, answer.text
    found: Entry = answer.json()
    return found


def changed(client: TestClient, variant: Entry, path: str, typed: str = "", do: str = "write", stroke: str = "") -> Entry:
    """Change a variant and return its new state."""
    change = {"do": do, "path": path, "typed": typed, "stroke": stroke}
    answer = client.post(f"/api/variants/{variant['id']}/changes", json=change)
    assert answer.status_code == 200, answer.text
    found: Entry = answer.json()
    return found


def settled(client: TestClient, variant: Entry) -> Entry:
    """Wait until the body of a variant stands, one way or the other, and return its news."""
    found: Entry = variant
    end = time.monotonic() + PATIENCE
    while found["body"]["status"] == "building" or (found["body"]["status"] == "ready" and found["solid_rows"] is None):
        assert time.monotonic() < end, found
        found = client.get(f"/api/variants/{variant['id']}/news", params={"after": found["news"]}).json()
    return found


def jack(name: str) -> str:
    """The shipped jack under another name."""
    text = shipped()["jack"]
    return text.replace('name = "Invented jack"', f'name = "{name}"')


@contextmanager
def served(folder: Path, *sets: str) -> Iterator[Address]:
    """The app as `planestock serve` runs it, in a process of its own; gives its address."""
    command = [sys.executable, "-c", "import sys; from planestock.exports.command_line import main; sys.exit(main())"]
    own = {"PYTHONUNBUFFERED": "1", "XDG_STATE_HOME": str(folder.parent / f"{folder.name}-state")}
    with (folder.parent / f"{folder.name}.log").open("w") as log:
        running = subprocess.Popen(
            [*command, "serve", *sets, "--folder", str(folder), "--no-browser", "--port", str(free_port())],
            stdout=log, stderr=subprocess.STDOUT, cwd=folder, env={**os.environ, **own},
        )  # fmt: skip
        try:
            yield entered(_address(running, Path(log.name)))
        finally:
            running.terminate()
            running.wait(PATIENCE)


@contextmanager
def serving(
    folder: Path,
    command: tuple[str, ...],
    *,
    port: int | None = None,
    drafts: Path | None = None,
    shared: Shared | None = None,
) -> Iterator[Address]:
    """The app served from a thread of this process, with a kernel's process of the test's own; gives its address."""
    import uvicorn

    place = listening(free_port() if port is None else port)
    place.listen()  # a browser that comes before the server has started waits, instead of being refused
    shared = shared or Shared(SetsFolder(folder), (), command, drafts=Drafts(drafts))
    server = uvicorn.Server(settings(shared))
    running = threading.Thread(target=server.run, kwargs={"sockets": [place]})
    running.start()
    try:
        yield address_of(f"http://127.0.0.1:{place.getsockname()[1]}/", shared.door.cookie)
    finally:
        server.should_exit = True
        running.join(PATIENCE)
        place.close()


CRASHING = """
import os, signal
from planestock.exports.app import kernel_tasks as kernel_worker
build = kernel_worker.Bench.body
def crash(bench, task):
    if 'name = "crashes' in task["text"]:
        os.kill(os.getpid(), signal.SIGSEGV)
    build(bench, task)
kernel_worker.Bench.body = crash
kernel_worker.main()
"""


def crashing_kernel() -> tuple[str, ...]:
    """The command of the real kernel's process, which a set whose name begins with "crashes" ends."""
    return (sys.executable, "-c", CRASHING, "60")


def free_port() -> int:
    """A port that nothing listens on."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        number: int = found.getsockname()[1]
    return number


def _address(running: subprocess.Popen[bytes], log: Path) -> str:
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        said = log.read_text("utf-8")
        if "http://" in said:
            return said[said.index("http://") :].split()[0]
        assert running.poll() is None, said
        time.sleep(0.05)
    raise AssertionError(f"the app did not begin: {log.read_text('utf-8')}")
