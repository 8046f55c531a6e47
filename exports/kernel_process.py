"""The app's side of the kernel's process: it is started when needed, given one task at a time, and ended when it hangs."""

from __future__ import annotations

import asyncio
import json
import signal
import sys
from collections.abc import AsyncIterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

Entry = dict[str, Any]

START_LIMIT = 120.0
"""Seconds for the process to load the kernel; some two on an ordinary machine, more from a cold disk."""

LAST_BREATH = 1.0
"""Seconds that a process which stopped answering has to end by itself."""

LONGEST_HEAD = 1 << 22
"""Bytes of an answer's line; the checks of a body are some ten thousand."""

WHAT_TO_DO = "Take the last change back, or change a value slightly; two cuts may just touch."

LONGEST_ERROR = 200
"""Letters of an unforeseen error's message that a page shows."""

NOT_THEIRS = "This is no mistake of yours. Please report this line together with the set."

NOT_THE_SET = "The set is not at fault: close other programs, then change a value to try again."

WORKER = "planestock.exports.app.kernel_tasks"


class Unavailable(RuntimeError):
    """Something that this machine lacks; the message names it and says what to install or do."""


class WorkerFailed(RuntimeError):
    """The process could not do a task; the message says why and what to do, for people."""


@dataclass(frozen=True)
class Answer:
    """One answer of the process: what it says, and the bytes that came with it."""

    says: Entry
    content: bytes = b""

    @property
    def kind(self) -> str:
        """What kind of answer this is."""
        return str(self.says["kind"])


@dataclass
class Worker:
    """One process. limit: seconds from one answer of a task to the next; then it counts as hanging and is ended."""

    limit: float
    command: Sequence[str] = ()
    _process: asyncio.subprocess.Process | None = None
    _lock: asyncio.Lock = field(default_factory=asyncio.Lock)

    async def start(self) -> None:
        """Have the process load the kernel, so that the first task need not wait for it. Raises WorkerFailed."""
        async with self._lock:
            await self._started()

    async def answers(self, task: Entry) -> AsyncIterator[Answer]:
        """Yield the answers to a task up to "done". Raises WorkerFailed where it fails, crashes or hangs."""
        async with self._lock:
            process = await self._started()
            finished = False
            try:
                await self._send(process, task)
                while not finished:
                    answer = await self._next(process, self.limit)
                    finished = answer.kind in ("done", "failed")
                    if answer.kind == "failed":
                        raise WorkerFailed(answer.says["said"])
                    if not finished:
                        yield answer
            finally:
                # An answer that nobody reads any more would be taken for the next task's.
                if not finished:
                    await self._end()

    async def close(self) -> None:
        """End the process, in the middle of a task if there is one."""
        await self._end()

    async def _started(self) -> asyncio.subprocess.Process:
        if self._process is None or self._process.returncode is not None:
            command = self.command or (sys.executable, "-m", WORKER, str(self.limit + START_LIMIT))
            try:
                # In a session of its own, as Ctrl+C in a terminal goes to all of the app's: only the app ends it.
                self._process = await asyncio.create_subprocess_exec(
                    *command, stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE, limit=LONGEST_HEAD,
                    start_new_session=True,
                )  # fmt: skip
            except OSError as error:  # Too many open files, no more processes, no memory: it may be better the next time.
                raise WorkerFailed(f"The solid kernel could not be started ({error.strerror}). {NOT_THE_SET}") from None
            try:
                await self._next(self._process, START_LIMIT)
            except BaseException:
                await self._end()
                raise
        return self._process

    async def _send(self, process: asyncio.subprocess.Process, task: Entry) -> None:
        assert process.stdin is not None
        process.stdin.write(json.dumps(task).encode() + b"\n")
        try:
            await asyncio.wait_for(process.stdin.drain(), self.limit)
        except TimeoutError:
            raise await self._hangs(self.limit) from None
        except (BrokenPipeError, ConnectionResetError):
            raise await self._crashed(process) from None

    async def _next(self, process: asyncio.subprocess.Process, seconds: float) -> Answer:
        try:
            return await asyncio.wait_for(_read(process), seconds)
        except TimeoutError:
            raise await self._hangs(seconds) from None
        except (asyncio.IncompleteReadError, ValueError, LookupError, TypeError):  # it ended, or what came is no answer
            raise await self._crashed(process) from None

    async def _hangs(self, seconds: float) -> WorkerFailed:
        await self._end()
        return WorkerFailed(f"The solid kernel gave no answer within {seconds:g} s and was stopped. {WHAT_TO_DO}")

    async def _crashed(self, process: asyncio.subprocess.Process) -> WorkerFailed:
        # A process that is killed while it ends loses the exit code that it ends with.
        with suppress(TimeoutError):
            await asyncio.wait_for(process.wait(), LAST_BREATH)
        await self._end()
        return WorkerFailed(
            f"The solid kernel crashed ({_how(process.returncode)}); it starts again by itself. {WHAT_TO_DO}"
        )

    async def _end(self) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        if process.returncode is None:
            process.kill()
        await process.wait()


async def _read(process: asyncio.subprocess.Process) -> Answer:
    assert process.stdout is not None
    line = await process.stdout.readuntil(b"\n")
    says: Entry = json.loads(line)
    return Answer(says, await process.stdout.readexactly(says["bytes"]))


def in_a_line(error: BaseException) -> str:
    """Return an error that nobody foresaw in one line for people; whoever asks for it goes on."""
    first = (str(error).strip() or "no message").splitlines()[0]
    return f"Something broke: {type(error).__name__}: {first[:LONGEST_ERROR]}. {NOT_THEIRS}"


def _how(code: int | None) -> str:
    """Return how a process ended, in words."""
    if code is not None and code < 0:
        try:
            return signal.Signals(-code).name
        except ValueError:
            return f"signal {-code}"
    return f"exit code {code}"
