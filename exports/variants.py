"""Many variants built on all cores, each in a child process, so that a crash of the solid kernel costs one variant only.

Every finished variant is a file of its own, named by its set's digest: a run that was stopped goes on where it stopped, and
one whose program or set has changed builds anew.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnContext, SpawnProcess
from pathlib import Path
from typing import Any

from planestock.exports.front_door import write_one
from planestock.exports.plain_data import plain
from planestock.exports.report import as_json, program_version
from planestock.params.problems import InputProblem

Result = dict[str, Any]

SLOWEST = 300.0
"""Seconds after which a variant is given up and its process ended; building and checking one takes some two."""

NAME_LENGTH = 24
"""Letters of the digest in a result's file name: no two of a million sets share them."""


@dataclass(frozen=True)
class Task:
    """One variant to be built. digest: of its set; changes: what makes it, for people; values: the raw values of its set."""

    digest: str
    changes: tuple[str, ...]
    values: Mapping[str, Any]


@dataclass(frozen=True)
class Outcome:
    """What became of a variant. result: as `built` returns it, None where it failed; error: why, empty where it did not.

    known: read from an earlier run.
    """

    task: Task
    result: Result | None
    error: str
    known: bool = False


Work = Callable[[Task], Result]


def built(task: Task) -> Result:
    """Build one variant's solids and return its numbers: outcomes of a sweep, failing checks of all kinds, masses in g.

    Raises InputProblem and KernelProblem.
    """
    from planestock.models.check_rows import failing
    from planestock.models.design import design
    from planestock.models.sweep import outcomes_of
    from planestock.params.parameter_set import parameter_set

    made = design(parameter_set(task.values))
    return {
        "outcomes": outcomes_of(made),
        "failing": failing(made.checks),
        "masses": made.masses,
        "mass": made.mass,
    }


def build_all(
    tasks: Sequence[Task], folder: Path, done: Callable[[Outcome], None] = lambda _: None, work: Work = built,
    processes: int | None = None,
) -> list[Outcome]:  # fmt: skip
    """Build every variant that `folder` has no result of, and return the outcomes in the order of the tasks.

    done: called with each outcome as it comes, those of earlier runs first. work: what a child does with a task; it must be
    importable there. processes: how many at a time, all cores where left out. Each result is written as soon as it is there.
    Raises InputProblem where the folder cannot be written.
    """
    outcomes: dict[str, Outcome] = {}
    for task in tasks:
        result = known_result(folder, task)
        if result is not None and task.digest not in outcomes:
            outcomes[task.digest] = Outcome(task, result, "", known=True)
            done(outcomes[task.digest])
    left = {task.digest: task for task in tasks if task.digest not in outcomes}
    for outcome in _run(list(left.values()), work, min(processes or cores(), len(left))):
        if outcome.result is not None:
            write_one(folder / result_name(outcome.task), _as_file(outcome))
        outcomes[outcome.task.digest] = outcome
        done(outcome)
    return [outcomes[task.digest] for task in tasks]


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def result_name(task: Task) -> str:
    """Return the file name of a variant's result."""
    return f"{task.digest[:NAME_LENGTH]}.json"


def _as_file(outcome: Outcome) -> bytes:
    told = {
        "planestock": program_version(),
        "digest": outcome.task.digest,
        "changes": outcome.task.changes,
        "result": outcome.result,
    }
    return as_json(plain(told)).encode()


def known_result(folder: Path, task: Task) -> Result | None:
    """Return the result of an earlier run of this program on this very set, None where there is none that can be read."""
    try:
        told = json.loads((folder / result_name(task)).read_bytes())
    except (OSError, ValueError):
        return None
    if not isinstance(told, dict) or (told.get("digest"), told.get("planestock")) != (task.digest, program_version()):
        return None
    result = told.get("result")
    return result if isinstance(result, dict) else None


@dataclass(eq=False)
class _Worker:
    """A child process and the parent's end of its pipe. task: what it is doing; since: when it began, s."""

    process: SpawnProcess
    pipe: Connection
    task: Task | None = None
    since: float = 0.0


def _run(tasks: Sequence[Task], work: Work, processes: int) -> Iterator[Outcome]:
    """Yield the outcome of each task as it comes. Children are ended whatever happens here."""
    context = multiprocessing.get_context("spawn")
    waiting = list(reversed(tasks))
    workers: list[_Worker] = []
    try:
        while waiting or workers:
            while waiting and len(workers) < processes:
                workers.append(_started(context, work))
                _give(workers[-1], waiting.pop())
            for worker in _ready(workers):
                yield _outcome(worker)
                if worker.process.is_alive() and waiting:
                    _give(worker, waiting.pop())
                else:
                    _end(worker)
                    workers.remove(worker)
    finally:
        for worker in workers:
            _end(worker)


def _started(context: SpawnContext, work: Work) -> _Worker:
    ours, theirs = context.Pipe()
    process = context.Process(target=_child, args=(theirs, work), daemon=True)
    process.start()
    theirs.close()
    return _Worker(process, ours)


def _give(worker: _Worker, task: Task) -> None:
    worker.task, worker.since = task, time.monotonic()
    try:
        worker.pipe.send(task)
    except OSError:
        worker.process.join()  # It ended before it could be asked; `_outcome` says how.


def _ready(workers: Sequence[_Worker]) -> list[_Worker]:
    """Wait until a worker has answered, ended or taken too long; end those that have."""
    left = min(worker.since for worker in workers) + SLOWEST - time.monotonic()
    signals: list[Any] = [*(worker.pipe for worker in workers), *(worker.process.sentinel for worker in workers)]
    heard = wait(signals, max(0.0, left))
    answered = [worker for worker in workers if worker.pipe in heard or worker.process.sentinel in heard]
    late = [worker for worker in workers if worker not in answered and time.monotonic() - worker.since >= SLOWEST]
    for worker in late:
        worker.process.kill()
        worker.process.join()
    return [*answered, *late]


def _outcome(worker: _Worker) -> Outcome:
    """Return what a worker answered, or how its process ended."""
    assert worker.task is not None, "a worker always has a task"
    try:
        if worker.pipe.poll():
            result, error = worker.pipe.recv()
            return Outcome(worker.task, result, error)
    except (EOFError, OSError):
        pass  # The pipe is closed because the process is gone.
    worker.process.join()
    return Outcome(worker.task, None, _how_it_ended(worker.process.exitcode, time.monotonic() - worker.since))


def _how_it_ended(code: int | None, seconds: float) -> str:
    if seconds >= SLOWEST:
        return f"not done after {SLOWEST:.0f} s and given up"
    if code is not None and code < 0:
        try:
            name = signal.Signals(-code).name
        except ValueError:
            name = f"signal {-code}"
        return f"its process was ended by {name}; most likely the solid kernel crashed on it"
    return f"its process ended with code {code} and no answer"


def _end(worker: _Worker) -> None:
    worker.pipe.close()
    if worker.process.is_alive():
        worker.process.terminate()
    worker.process.join()


def _child(pipe: Connection, work: Work) -> None:
    """Do one task after another until the pipe closes. The keyboard's interrupt is the parent's to handle."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    while True:
        try:
            task = pipe.recv()
        except EOFError:
            return
        pipe.send(_tried(work, task))


def _tried(work: Work, task: Task) -> tuple[Result | None, str]:
    try:
        return plain(work(task)), ""
    except InputProblem as problem:
        return None, str(problem).splitlines()[0]
    except Exception as error:  # noqa: BLE001 - whatever one variant raises must not end the run
        return None, f"{type(error).__name__}: {(str(error).strip() or 'no message').splitlines()[0]}"
