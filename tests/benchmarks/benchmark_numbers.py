"""How fast the numbers, the comparison and the paper are. Not part of the tests; run it with

    .venv/bin/pytest --dist=no tests/benchmarks/benchmark_numbers.py

It prints a table and fails where a bound is missed.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from planestock.exports.files.stamp import stamp_of
from planestock.exports.paper.paper_files import paper_files
from planestock.models.design import design
from planestock.models.variants.sweep import windows
from planestock.models.window.budgets import known_windows
from planestock.params.files import load
from tests.benchmarks.benchmark_speed import COMMAND, ended
from tests.support.app_support import Entry, app, changed, opened, settled

ROUNDS = 5
"""Rounds of each; the fastest counts."""

VARIANTS = 1_000_000
"""Windows worked out in one call."""

WINDOWS_A_SECOND = 1e6
BUDGET_MILLISECONDS = 5.0
COMPARED_TO_BUILT = 1.6
"""Three variants compared, over one build, both as commands."""

PAPER_SECONDS = 2.5
"""Shop sheet and drawings once the design is ready."""

ANSWERED_TO_BUILT = 1.5
"""From a value sent to the app to its new meshes at the server, over design and solids alone in this process."""

CHANGES = 20
"""Changes sent to the app; the fastest counts, and is held to the fastest build of as many."""

table: list[tuple[str, str, str]] = []


def fastest(action: Callable[[], object]) -> float:
    """Return the least wall time of `ROUNDS` rounds, s."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times)


def test_windows() -> None:
    given, angle = load("jack"), np.linspace(44.0, 46.0, VARIANTS)
    rate = VARIANTS / fastest(lambda: windows(given, {"frog.bed_angle": angle}))
    table.append(("windows a second", f"{rate / 1e6:.1f} million", f"at least {WINDOWS_A_SECOND / 1e6:.0f} million"))
    assert rate >= WINDOWS_A_SECOND


def test_the_budget_of_one_set() -> None:
    given = load("jack")
    spent = 1e3 * fastest(lambda: known_windows(given))
    table.append(("uncertainty budgets of one set", f"{spent:.2f} ms", f"at most {BUDGET_MILLISECONDS:.0f} ms"))
    assert spent <= BUDGET_MILLISECONDS


def test_comparing_three(tmp_path: Path) -> None:
    built = min(ended([*COMMAND, "build", "jack", "-o", str(tmp_path)]).wall for _ in range(3))
    compared = min(ended([*COMMAND, "compare", "jack", "smoother", "jointer"]).wall for _ in range(3))
    table.append(("compare of three / one build", f"{compared / built:.2f}", f"at most {COMPARED_TO_BUILT}"))
    assert compared / built <= COMPARED_TO_BUILT


def test_paper() -> None:
    made = design(load("jack"))
    stamp = stamp_of(made, made.checks)
    spent = fastest(lambda: paper_files(made, stamp))
    table.append(("paper after the design", f"{spent:.2f} s", f"at most {PAPER_SECONDS} s"))
    assert spent <= PAPER_SECONDS


def built(width: float) -> float:
    """Return the time of design, solids and meshes of a jack of this width, s."""
    start = time.perf_counter()
    made = design(load("jack", [f"body.width={width}"])).assembly
    assert made.parts
    return time.perf_counter() - start


def answered(client: TestClient, variant: Entry, width: float) -> float:
    """Return the time from a width sent to the app to its meshes ready, s; waits for the checks behind them."""
    start = time.perf_counter()
    news = {**changed(client, variant, "body.width", str(width)), "id": variant["id"]}
    while news["body"]["status"] == "building":
        news |= client.get(f"/api/variants/{variant['id']}/news", params={"after": news["news"]}).json()
    taken = time.perf_counter() - start
    assert settled(client, news)["body"]["status"] == "ready"
    return taken


def test_a_change_in_the_app(tmp_path: Path) -> None:
    kernel = (sys.executable, "-m", "planestock.exports.app.kernel_tasks", "60")
    widths = [72 + 0.1 * step for step in range(1, CHANGES + 1)]
    built(72.0)
    alone = min(built(width) for width in widths)
    with app(tmp_path, command=kernel) as client:
        variant = opened(client)
        settled(client, variant)
        sent = min(answered(client, variant, width) for width in widths)
    table.append((f"change in the app ({1e3 * sent:.0f} ms) / build", f"{sent / alone:.2f}", f"at most {ANSWERED_TO_BUILT}"))
    assert sent / alone <= ANSWERED_TO_BUILT


def test_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    with capsys.disabled():
        print("\n\n" + "\n".join(f"{what:40} {value:>14}   {bound}" for what, value, bound in table))
    assert len(table) == 5
