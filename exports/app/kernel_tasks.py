"""The child process that has the solid kernel: it builds bodies and writes files, and may crash without harm to the app.

Run as `python -m planestock.exports.app.kernel_tasks SECONDS`: one task as JSON a line on stdin. Each answer is one line of
JSON, whose `bytes` says how many bytes follow it; the answer whose `kind` is "done" or "failed" ends a task.
"""

from __future__ import annotations

import faulthandler
import json
import os
import sys
from collections.abc import Callable
from typing import IO, TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planestock.models.design import Design

Entry = dict[str, Any]
Send = Callable[..., None]


class NotMade(RuntimeError):
    """A task that is refused; the message says why. Every task ends in one place, with one last answer."""


class Bench:
    """What the process works with. The last design is kept, so that its checks and files need no second build."""

    def __init__(self, send: Send) -> None:
        self._send = send
        self._text = ""
        self._made: Design | None = None

    def design(self, text: str) -> Design:
        """Return the design of a set's text."""
        from planestock.models.design import design
        from planestock.params.files import parsed
        from planestock.params.parsing import parameter_set

        if self._made is None or self._text != text:
            self._made, self._text = design(parameter_set(parsed(text, "the set"))), text
        return self._made

    def body(self, task: Entry) -> None:
        """Send the scene of a set."""
        from planestock.exports.files.stamp import stamp_of
        from planestock.exports.pages.scene import as_json, scene

        made = self.design(task["text"])
        self._send("scene", content=as_json(scene(made, stamp_of(made, made.number_checks))).encode())

    def checks(self, task: Entry) -> None:
        """Send the checks that need the solids."""
        from planestock.exports.app.evaluation import rows_shown

        made = self.design(task["text"])
        self._send("checks", rows=rows_shown(made.solid_checks, made.given.lengths))

    def files(self, task: Entry) -> None:
        """Send the files of the writers that are asked for, each as soon as it is made, with progress before each writer."""
        from planestock.exports.building import extras_of, order_for, writers_for

        self._send("step", title="solids and their checks")
        order = order_for(self.design(task["text"]), task["text"], solids=True, extras=extras_of(task["titles"]))
        failing = list(order.stamp.failing)
        if failing and not task["allow_failing"]:
            raise NotMade(f"Nothing was made, as a check fails: {', '.join(failing)}.")
        for writer in writers_for(order):
            if writer.title in task["titles"]:
                self._send("step", title=writer.title)
                for name, content in writer.write(order).items():
                    self._send("file", content=content, title=writer.title, name=name)


def main() -> None:
    """Answer tasks until stdin ends. The kernel prints to stdout at times: answers go out by a descriptor of their own."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    faulthandler.enable()
    longest = float(sys.argv[1])
    send = _sender(answers)
    _warm()
    send("warm")
    bench = Bench(send)
    for line in sys.stdin:
        # Ends the process by itself where the app is gone and a task hangs in the kernel, which holds Python's lock.
        faulthandler.dump_traceback_later(longest, exit=True)
        _answer(bench, json.loads(line), send)
        faulthandler.cancel_dump_traceback_later()


def _sender(answers: IO[bytes]) -> Send:
    def send(kind: str, *, content: bytes = b"", **more: Any) -> None:
        head = json.dumps({"kind": kind, "bytes": len(content), **more}).encode()
        try:
            answers.write(head + b"\n" + content)
            answers.flush()
        except BrokenPipeError:  # The app is gone, and with it whoever would read a traceback.
            os._exit(0)

    return send


def _warm() -> None:
    """Load the kernel and what the first task would have to load."""
    import planestock.exports.pages.scene
    import planestock.models.solids.assembly
    import planestock.models.solids.checks  # noqa: F401 - loading it is what is wanted


def _answer(bench: Bench, task: Entry, send: Send) -> None:
    from planestock.exports.files.writer_rules import WriterFailed
    from planestock.exports.kernel_process import in_a_line
    from planestock.models.solids.kernel import KernelProblem
    from planestock.params.problems import InputProblem

    try:
        {"body": bench.body, "checks": bench.checks, "files": bench.files}[task["do"]](task)
        send("done")
    except (InputProblem, KernelProblem, NotMade, WriterFailed) as known:
        send("failed", said=str(known))
    except MemoryError:
        send("failed", said="There is not enough memory for this body.")
    except Exception as unknown:  # noqa: BLE001 - whatever it is, the page says it in one line
        send("failed", said=in_a_line(unknown))


if __name__ == "__main__":
    main()
