"""A process that builds sets and says what is wrong with them, so that a crash of the kernel is an answer too.

Run as `python -m tests.support.solid_worker`: one set as JSON a line on stdin, one answer as JSON a line on stdout.
`Worker` is the other side of it.
"""

from __future__ import annotations

import faulthandler
import json
import os
import signal
import subprocess
import sys
import tempfile
import traceback
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from tests.support.full_set import Values

ROOT = Path(__file__).resolve().parents[2]

TIME_LIMIT = 60.0
"""Seconds of processor time for one set, loading the kernel included for the first; a build takes a third of one."""

FRESH_AFTER = 400
"""Sets after which the process is started anew: the kernel gives back little of its memory, a megabyte or two a set."""

WHOLE_ERROR = 1e-9
"""Most that the parts' volumes may differ from the whole body's, as a share: integration's accuracy."""

REBUILT_SAGITTA = 0.01
"""Chords of the second kernel's body, mm."""

REBUILT_ERROR = 5e-4
"""Most that the second kernel's volume of a part may differ, as a share: chords of `REBUILT_SAGITTA` in small parts."""

GUARDS = ("solids-sound", "meshes-closed", "halves-mirror", "mesh-volume", "volume-in-bounds")
"""The checks that guard the program itself: they pass on every set that is not refused."""

Answer = dict[str, Any]


class Worker:
    """The process, started when it is needed and again when it has died."""

    def __init__(self, time_limit: float = TIME_LIMIT) -> None:
        self._limit = time_limit
        self._process: subprocess.Popen[str] | None = None
        self._built = 0
        self._errors: IO[str] = tempfile.TemporaryFile("w+")  # noqa: SIM115 - closed with the worker

    def __enter__(self) -> Worker:
        return self

    def __exit__(self, *_: object) -> None:
        self._end()
        self._errors.close()

    def build(self, values: Values) -> Answer:
        """Have a set built. A crash or a build that takes too much time of the processor is an answer with a fault."""
        self._built += 1
        if self._built % FRESH_AFTER == 0:
            self._end()
        process = self._process or self._start()
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(json.dumps(values) + "\n")
        process.stdin.flush()
        line = process.stdout.readline()
        if line:
            answer: Answer = json.loads(line)
            return answer
        process.wait()
        self._end()
        if process.returncode == -signal.SIGPROF:
            return {"outcome": "out of time", "faults": [f"no answer within {self._limit:g} s of processor time"]}
        self._errors.seek(0)
        ended = f"the kernel ended the process ({process.returncode})"
        return {"outcome": "crashed", "faults": [ended, self._errors.read()]}

    def _start(self) -> subprocess.Popen[str]:
        self._errors.truncate(0)
        command = [sys.executable, "-m", "tests.support.solid_worker", str(self._limit)]
        self._process = subprocess.Popen(
            command, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self._errors, text=True
        )
        return self._process

    def _end(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.communicate()
            self._process = None


def main() -> None:
    """Answer until stdin ends. The kernel prints to stdout at times, so that answers go out by a descriptor of their own."""
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    faulthandler.enable()
    limit = float(sys.argv[1])
    for line in sys.stdin:
        signal.setitimer(signal.ITIMER_PROF, limit)  # by default its signal ends the process
        values = json.loads(line)
        _misbehave(values.get("crash"))
        answers.write(json.dumps(answered(values)) + "\n")
        answers.flush()


def _misbehave(how: str | None) -> None:
    """Do what a kernel at its worst does, for the tests of the other side."""
    if how == "this process":
        signal.raise_signal(signal.SIGSEGV)
    if how == "never end":
        while True:
            pass


def answered(values: Values) -> Answer:
    """Return whether the set is refused, with its rules, or built, with its faults and the checks that fail."""
    from planestock.models.design import design
    from planestock.params.parsing import parameter_set
    from planestock.params.problems import InputProblem

    try:
        made = design(parameter_set(values))
    except InputProblem as refused:
        rules = [[one.path, one.value, one.rule, one.remedy] for one in refused.problems]
        return {"outcome": "refused", "faults": [] if rules else ["refused without a rule"], "rules": rules}
    except Exception:  # noqa: BLE001 - whatever it is, it is the finding
        return {"outcome": "broken", "faults": [traceback.format_exc()]}
    try:
        failing = [row.id for row in made.checks if row.verdict == "fail"]
        return {"outcome": "built", "faults": list(faults(made)), "failing": failing}
    except Exception:  # noqa: BLE001 - whatever it is, it is the finding
        return {"outcome": "broken", "faults": [traceback.format_exc()]}


def faults(made: Any) -> Iterator[str]:
    """Yield what is unsound about a built design."""
    import numpy as np
    import trimesh

    from planestock.models.solids.kernel import cut, volume
    from planestock.models.solids.wood import cutting_tools, whole_blank
    from tests.support.rebuilt import rebuilt

    guards = [row for row in made.solid_checks if row.id in GUARDS]
    yield from (f"{row.id}: {row.asked} ({row.value})" for row in guards if row.verdict != "pass")
    for part in made.assembly.parts:
        mesh = trimesh.Trimesh(part.mesh.vertices, part.mesh.faces, process=False)
        if not (mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0):
            yield f"{part.name}: its mesh is not a closed surface facing outwards"
        if part.kind == "metal" and not part.shape.isValid():
            yield f"{part.name}: its solid is not valid"
    right, left = made.assembly.part("right half").mesh, made.assembly.part("left half").mesh
    if not np.array_equal(right.vertices * (1, -1, 1), left.vertices):
        yield "the halves' meshes are not mirror images"
    tools = cutting_tools(made.layout)
    whole, _ = cut(whole_blank(made.layout), tools)
    exact, parts = volume(whole), {part.name: volume(part.shape) for part in made.assembly.wood if part.name != "left half"}
    parts["left half"] = parts["right half"]
    if abs(sum(parts.values()) / exact - 1) > WHOLE_ERROR:
        yield f"the parts' volumes add up to {sum(parts.values())}, the whole body has {exact}"
    again = rebuilt(made.layout, REBUILT_SAGITTA)
    for name, found in parts.items():
        if abs(again[name].volume() / found - 1) > REBUILT_ERROR:
            yield f"{name}: has {found} mm³, another kernel makes it {again[name].volume()} mm³"


if __name__ == "__main__":
    main()
