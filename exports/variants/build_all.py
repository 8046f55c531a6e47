"""Many variants built on all cores, each in a child process, so that a crash of the solid kernel costs one variant only.

Every finished variant is a file of its own, named by its set's digest: a run that was stopped goes on where it stopped, and
one whose program or set has changed builds anew.
"""

from __future__ import annotations

import json
import os
import queue
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from planestock.exports.files.front_door import write_one
from planestock.exports.files.stamp import program_version
from planestock.exports.variants.variant_result import Result, as_file, from_file, sound

SLOWEST = 300.0
"""Seconds after which a variant is given up and its process ended; building and checking one takes some two."""

NAME_LENGTH = 24
"""Letters of the digest in a result's file name: no two of a million sets share them."""

CHILD = "planestock.exports.variants.kernel_task"
"""Module that a child process runs."""

WORK = f"{CHILD}:built"
"""What a child does with each variant."""


@dataclass(frozen=True)
class Task:
    """One variant to be built. digest: of its set; changes: what makes it, for people; values: the raw values of its set."""

    digest: str
    changes: tuple[str, ...]
    values: Mapping[str, Any]


@dataclass(frozen=True)
class Outcome:
    """What became of a variant. result: its numbers, None where it failed; error: why, empty where it did not.

    known: read from an earlier run.
    """

    task: Task
    result: Result | None
    error: str
    known: bool = False


def build_all(
    tasks: Sequence[Task], folder: Path, done: Callable[[Outcome], None] = lambda _: None, *, work: str = WORK,
    processes: int | None = None, slowest: float = SLOWEST,
) -> list[Outcome]:  # fmt: skip
    """Build every variant that `folder` has no result of, and return the outcomes in the order of the tasks.

    done: called with each outcome as it comes, those of earlier runs first. work: MODULE:FUNCTION that a child calls
    with the raw values of a set. processes: how many at a time, all cores where left out. slowest: seconds for one
    variant. Each result is written as soon as it is there. Raises InputProblem where the folder cannot be written.
    """
    outcomes: dict[str, Outcome] = {}
    for task in tasks:
        result = known_result(folder, task)
        if result is not None and task.digest not in outcomes:
            outcomes[task.digest] = Outcome(task, result, "", known=True)
            done(outcomes[task.digest])
    left = {task.digest: task for task in tasks if task.digest not in outcomes}
    for outcome in _run(list(left.values()), work, min(processes or cores(), len(left)), slowest):
        if outcome.result is not None:
            task = outcome.task
            content = as_file(outcome.result, task.digest, task.changes, program_version())
            write_one(folder / result_name(task), content)
        outcomes[outcome.task.digest] = outcome
        done(outcome)
    return [outcomes[task.digest] for task in tasks]


def cores() -> int:
    """Return how many cores this process may use."""
    if sys.platform == "linux":
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def result_name(task: Task) -> str:
    """Return the file name of a variant's result."""
    return f"{task.digest[:NAME_LENGTH]}.json"


def known_result(folder: Path, task: Task) -> Result | None:
    """Return the result of an earlier run of this program on this very set, None where there is none that is sound."""
    return from_file(folder / result_name(task), task.digest, program_version())


class _Child:
    """A child process that builds one variant after the other; a new one is started when it has died."""

    def __init__(self, work: str, slowest: float) -> None:
        self._work, self._slowest = work, slowest
        self._process: subprocess.Popen[str] | None = None

    def outcome(self, task: Task) -> Outcome:
        """Have one variant built; whatever becomes of the process is told as an outcome."""
        process = self._running()
        late = threading.Event()

        def give_up() -> None:
            late.set()
            process.kill()

        timer = threading.Timer(self._slowest, give_up)
        timer.start()
        try:
            answer = _asked(process, json.dumps(dict(task.values)))
        finally:
            timer.cancel()
        if answer is not None:
            return _told(task, answer)
        self.end()
        why = f"not done after {self._slowest:.0f} s and given up" if late.is_set() else _how_it_ended(process.returncode)
        return Outcome(task, None, why)

    def _running(self) -> subprocess.Popen[str]:
        if self._process is None:
            # A session of its own: the keyboard's interrupt reaches the parent only, which ends its children itself.
            self._process = subprocess.Popen(
                [sys.executable, "-m", CHILD, self._work], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
                encoding="utf-8", start_new_session=True,
            )  # fmt: skip
        return self._process

    def end(self) -> None:
        """End the process if there is one."""
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for stream in (process.stdin, process.stdout):
            if stream is not None:
                with suppress(OSError):  # What was not sent to a dead process is of no use any more.
                    stream.close()


def _asked(process: subprocess.Popen[str], line: str) -> dict[str, Any] | None:
    """Send a line and return the answer, None where the process ends instead."""
    assert process.stdin is not None, "a child has an input"
    assert process.stdout is not None, "a child has an output"
    try:
        process.stdin.write(line + "\n")
        process.stdin.flush()
        answer = process.stdout.readline()
        found: dict[str, Any] | None = json.loads(answer) if answer.endswith("\n") else None
        return found
    except (OSError, ValueError):
        return None


def _told(task: Task, answer: dict[str, Any]) -> Outcome:
    if answer["error"]:
        return Outcome(task, None, answer["error"])
    try:
        return Outcome(task, sound(answer["result"]), "")
    except ValueError as error:
        return Outcome(task, None, str(error))


def _how_it_ended(code: int) -> str:
    if code >= 0:
        return f"its process ended with code {code} and no answer"
    known = {each.value for each in signal.Signals}
    name = signal.Signals(-code).name if -code in known else f"signal {-code}"
    return f"its process was ended by {name}; most likely the solid kernel crashed on it"


def _run(tasks: Sequence[Task], work: str, processes: int, slowest: float) -> Iterator[Outcome]:
    """Yield the outcome of each task as it comes. Children are ended whatever happens here."""
    waiting: queue.SimpleQueue[Task] = queue.SimpleQueue()
    answers: queue.SimpleQueue[Outcome | BaseException] = queue.SimpleQueue()
    for task in tasks:
        waiting.put(task)
    children = [_Child(work, slowest) for _ in range(processes)]
    stopping = threading.Event()
    threads = [threading.Thread(target=_attend, args=(child, waiting, answers, stopping), daemon=True) for child in children]
    for thread in threads:
        thread.start()
    try:
        for _ in tasks:
            answer = answers.get()
            if isinstance(answer, BaseException):
                raise answer
            yield answer
    finally:
        stopping.set()
        for child in children:
            child.end()
        for thread in threads:
            thread.join()


def _attend(
    child: _Child, waiting: queue.SimpleQueue[Task], answers: queue.SimpleQueue[Outcome | BaseException],
    stopping: threading.Event,
) -> None:  # fmt: skip
    """Hand tasks to one child until none is left, and pass on what becomes of them."""
    while not stopping.is_set():
        try:
            task = waiting.get_nowait()
        except queue.Empty:
            return
        try:
            answers.put(child.outcome(task))
        except BaseException as error:  # noqa: BLE001 - raised again where the outcomes are awaited
            answers.put(error)
            return
