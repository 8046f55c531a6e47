"""A child process that builds variants: a set's values as one line of JSON in, what it came to as one line out.

Run as `python -m planestock.exports.variants.kernel_task MODULE:FUNCTION`. It ends when its input does.
"""

from __future__ import annotations

import importlib
import json
import os
import sys
from collections.abc import Callable
from typing import Any, TextIO

from planestock.exports.files.plain_data import plain
from planestock.params.problems import InputProblem

Work = Callable[[dict[str, Any]], dict[str, Any]]


def built(values: dict[str, Any]) -> dict[str, Any]:
    """Build a set's solids and return its numbers: outcomes of a sweep, failing checks of all kinds, masses in g.

    values: raw, as read from TOML. Raises InputProblem and KernelProblem.
    """
    from planestock.models.checks.rows import failing
    from planestock.models.design import design
    from planestock.models.variants.sweep import outcomes_of
    from planestock.params.parsing import parameter_set

    made = design(parameter_set(values))
    return {
        "outcomes": outcomes_of(made),
        "failing": failing(made.checks),
        "masses": made.masses,
        "mass": made.mass,
    }


def tried(work: Work, values: dict[str, Any]) -> dict[str, Any]:
    """Return what a variant came to, or in words why it came to nothing."""
    try:
        return {"result": plain(work(values)), "error": ""}
    except InputProblem as problem:
        return {"result": None, "error": str(problem).splitlines()[0]}
    except Exception as error:  # noqa: BLE001 - whatever one variant raises must not end the run
        reason = (str(error).strip() or "no message").splitlines()[0]
        return {"result": None, "error": f"{type(error).__name__}: {reason}"}


def _own_output() -> TextIO:
    """Return the way to the parent, and turn everything else that is printed here to stderr: the kernel prints at will."""
    way = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    return way


def main(name: str) -> None:
    """Answer every line of stdin. name: MODULE:FUNCTION that is called with each set's raw values."""
    module, _, function = name.partition(":")
    answers = _own_output()
    work: Work = getattr(importlib.import_module(module), function)
    for line in sys.stdin:
        answers.write(json.dumps(tried(work, json.loads(line))) + "\n")
        answers.flush()


if __name__ == "__main__":
    main(sys.argv[1])
