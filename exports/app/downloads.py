"""Files to take away: each order is made in a process of its own, tells how far it is, and is kept until it is fetched."""

from __future__ import annotations

import asyncio
import io
import secrets
import zipfile
from collections import OrderedDict
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import Any, Literal

from planestock.exports.kernel_process import Worker, WorkerFailed, in_a_line

Entry = dict[str, Any]

MOST_JOBS = 12
"""Orders that are kept; the oldest goes first."""

MOST_BYTES = 300_000_000
"""Bytes of all kept files together; the files of a body are some megabytes."""

IDLE = 60.0
"""Seconds after which the process that makes files is ended; it holds some 300 MB of memory."""

EARLIEST = (1980, 1, 1, 0, 0, 0)
"""Time of everything in an archive: the earliest that the format knows, so that the same files give the same bytes."""

Status = Literal["making", "done", "failed"]


@dataclass
class Job:
    """One order. titles: kinds of files asked for; doing: what is being made now; files: content by name, so far."""

    name: str
    text: str
    titles: tuple[str, ...]
    allow_failing: bool
    id: str = field(default_factory=lambda: secrets.token_hex(16))
    status: Status = "making"
    doing: str = "waiting for the solid kernel"
    begun: int = 0
    said: str = ""
    files: dict[str, bytes] = field(default_factory=dict)
    title_of: dict[str, str] = field(default_factory=dict)
    news: int = 1
    bell: asyncio.Event = field(default_factory=asyncio.Event)
    task: asyncio.Task[None] | None = None

    def ring(self) -> None:
        """Tell everyone who waits that there is news."""
        self.news += 1
        self.bell.set()
        self.bell = asyncio.Event()

    async def wait_for_news(self, after: int, seconds: float) -> None:
        """Return when there is news after the one that was seen, or when the time is over."""
        if self.news <= after and self.status == "making":
            with suppress(TimeoutError):
                await asyncio.wait_for(self.bell.wait(), seconds)


@dataclass
class Jobs:
    """All orders, and the worker that makes them, one after the other."""

    worker: Worker
    _kept: OrderedDict[str, Job] = field(default_factory=OrderedDict)
    _turn: asyncio.Lock = field(default_factory=asyncio.Lock)
    _idle: asyncio.TimerHandle | None = None
    _closing: asyncio.Task[None] | None = None

    def order(self, job: Job) -> Job:
        """Take an order and begin with it."""
        self._kept[job.id] = job
        self._make_room()
        job.task = asyncio.create_task(self._made(job))
        return job

    def find(self, name: str) -> Job | None:
        """Return an order by id, None where there is none."""
        return self._kept.get(name)

    def drop(self, name: str) -> None:
        """Give an order up, in the middle of it if need be."""
        job = self._kept.pop(name, None)
        if job is not None and job.task is not None:
            job.task.cancel()

    async def close(self) -> None:
        """Give up everything."""
        for name in list(self._kept):
            self.drop(name)
        if self._idle is not None:
            self._idle.cancel()
        await self.worker.close()

    def _make_room(self) -> None:
        while len(self._kept) > MOST_JOBS or (len(self._kept) > 1 and self._bytes() > MOST_BYTES):
            self.drop(next(iter(self._kept)))

    def _bytes(self) -> int:
        return sum(len(content) for job in self._kept.values() for content in job.files.values())

    async def _made(self, job: Job) -> None:
        async with self._turn:
            if self._idle is not None:
                self._idle.cancel()
            task = {"do": "files", "text": job.text, "titles": job.titles, "allow_failing": job.allow_failing}
            try:
                async for answer in self.worker.answers(task):
                    _take(job, answer.says, answer.content)
                job.status, job.doing = "done", ""
            except WorkerFailed as failed:
                job.status, job.said, job.files = "failed", str(failed), {}
            except Exception as failed:  # noqa: BLE001 - whatever it is, the page says it and waits no longer
                job.status, job.said, job.files = "failed", in_a_line(failed), {}
            finally:
                self._make_room()
                job.ring()
                self._idle = asyncio.get_running_loop().call_later(IDLE, self._end_idle)

    def _end_idle(self) -> None:
        if not self._turn.locked():
            self._closing = asyncio.create_task(self.worker.close())


def _take(job: Job, says: Entry, content: bytes) -> None:
    if says["kind"] == "step":
        job.doing, job.begun = says["title"], job.begun + 1
    elif says["kind"] == "file":
        job.files[says["name"]], job.title_of[says["name"]] = content, says["title"]
    job.ring()


def described(job: Job) -> Entry:
    """Return all that a page shows of an order."""
    return {
        "id": job.id,
        "status": job.status,
        "said": job.said,
        "doing": job.doing,
        "begun": job.begun,
        "steps": len(job.titles) + 1,
        "files": [{"name": name, "bytes": len(content), "title": job.title_of[name]} for name, content in job.files.items()],
        "news": job.news,
    }


def archive(folder: str, files: dict[str, bytes]) -> bytes:
    """Return a ZIP archive of files inside one folder; the same files give the same bytes."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as zipped:
        for name, content in files.items():
            entry = zipfile.ZipInfo(f"{folder}/{name}", EARLIEST)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            zipped.writestr(entry, content)
    return stream.getvalue()


MEDIA = {
    ".3mf": "model/3mf",
    ".dxf": "image/vnd.dxf",
    ".glb": "model/gltf-binary",
    ".html": "text/html; charset=utf-8",
    ".json": "application/json",
    ".pdf": "application/pdf",
    ".step": "model/step",
    ".stl": "model/stl",
    ".svg": "image/svg+xml",
    ".toml": "application/toml",
    ".txt": "text/plain; charset=utf-8",
    ".zip": "application/zip",
}
"""Media types by ending; everything else goes as plain bytes."""


def media_type(name: str) -> str:
    """Return the media type of a file by its ending."""
    return MEDIA.get(PurePosixPath(name).suffix.lower(), "application/octet-stream")


def disposition(name: str) -> str:
    """Return the header value that makes a browser save a file under a name of plain letters."""
    plain = "".join(letter if letter.isascii() and (letter.isalnum() or letter in "._-") else "-" for letter in name)
    return f'attachment; filename="{plain}"'


def titles_known(titles: Sequence[str]) -> tuple[str, ...]:
    """Return those titles that name a writer, in the order in which files are made; the usual ones where none is named."""
    from planestock.exports.building import WRITERS

    return tuple(one.title for one in WRITERS if one.title in titles or (not titles and one.extra is None))
