"""How fast it is, as ratios within one run, so that the machine drops out; constructions in processor time, processes by the
clock. Not part of the tests; run it with

    .venv/bin/pip install -e '.[test]' && .venv/bin/pytest --dist=no tests/benchmarks/benchmark_speed.py

It prints the table of ratios and fails where one is over its bound.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from planestock.models.body.layout import Layout, lay_out
from planestock.models.solids.assembly import mirrored_mesh
from planestock.models.solids.kernel import volume
from planestock.models.solids.meshes import mesh
from planestock.models.solids.wood import WoodSolids, wood
from planestock.models.window.thickness import settle
from planestock.params.files import load
from tests.benchmarks import one_by_one

ROUNDS = 7
"""Rounds of a construction; the fastest counts, as everything else that runs can only slow a round down."""

STARTS = 5
"""Starts of a process."""

SAME_BODY = 1e-6
"""Most that the two constructions' volumes may differ, as a share."""

LEAST_SPEEDUP = 0.45
"""Time of both halves and strip as meshes, over that of the one-by-one construction."""

NUMBERS_SHARE = 0.35
"""Wall time of `check --numbers` over that of importing cadquery."""

BUILD_SECONDS = 2.0
"""Wall time of `build jack` beyond that of importing cadquery."""

MEMORY = 700e6
"""Peak memory of `build jack`, bytes."""

COMMAND = [sys.executable, "-c", "from planestock.exports.command_line import main; main()"]
IMPORT = [sys.executable, "-c", "import cadquery"]

BODIES = {"two halves": (), "halves and strip": ("body.centre_strip=5",)}

measured: dict[str, float] = {}
table: list[tuple[str, str, str]] = []


@dataclass(frozen=True)
class Ended:
    """A process that has ended: wall time in s, peak memory in bytes."""

    wall: float
    memory: float


def fresh(*changes: str) -> Layout:
    """Everything from the parameters on, as a new set would ask for."""
    given = load("jack", changes)
    return lay_out(given, settle(given).thickness)


def construct(*changes: str) -> WoodSolids:
    """Lay out, build, and mesh the parts; the left half's mesh is the right's, mirrored."""
    solids = wood(fresh(*changes))
    mirrored_mesh(mesh(solids.right))
    if solids.strip is not None:
        mesh(solids.strip)
    return solids


def fastest(benchmark: BenchmarkFixture, action: Callable[[], object], rounds: int) -> float:
    benchmark.pedantic(action, rounds=rounds, warmup_rounds=1)  # type: ignore[no-untyped-call]
    assert benchmark.stats is not None
    return float(benchmark.stats.stats.min)


def ended(command: list[str]) -> Ended:
    """Run a process to its end. ru_maxrss is in KiB on Linux."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    wall = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0, command
    return Ended(wall, used.ru_maxrss * 1024.0)


@pytest.mark.parametrize("name", BODIES)
def test_both_constructions_make_the_same_body(name: str) -> None:
    at = fresh(*BODIES[name])
    solids = wood(at)
    ours = [volume(shape) for shape in (solids.right, solids.left, solids.strip) if shape is not None]
    theirs = [volume(shape) for shape in one_by_one.sawn_apart(one_by_one.body(at), at)]
    assert ours == pytest.approx(theirs, rel=SAME_BODY)


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("name", BODIES)
def test_construction(benchmark: BenchmarkFixture, name: str) -> None:
    measured[name] = fastest(benchmark, lambda: construct(*BODIES[name]), ROUNDS)


@pytest.mark.benchmark(timer=time.process_time)
@pytest.mark.parametrize("name", BODIES)
def test_one_by_one(benchmark: BenchmarkFixture, name: str) -> None:
    seconds = fastest(benchmark, lambda: one_by_one.parts_and_meshes(fresh(*BODIES[name])), ROUNDS)
    ratio = measured[name] / seconds
    table.append((f"{name} as meshes / one by one ({seconds * 1e3:.0f} ms)", f"{ratio:.2f}", f"{LEAST_SPEEDUP:.2f}"))
    assert ratio <= LEAST_SPEEDUP


def test_importing_cadquery(benchmark: BenchmarkFixture) -> None:
    measured["import"] = fastest(benchmark, lambda: ended(IMPORT), STARTS)


def test_check_numbers(benchmark: BenchmarkFixture) -> None:
    seconds = fastest(benchmark, lambda: ended([*COMMAND, "check", "jack", "--numbers"]), STARTS)
    ratio = seconds / measured["import"]
    table.append((f"check --numbers ({seconds:.2f} s) / import cadquery", f"{ratio:.2f}", f"{NUMBERS_SHARE:.2f}"))
    assert ratio <= NUMBERS_SHARE


def test_build(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    ends: list[Ended] = []

    def build() -> None:
        ends.append(ended([*COMMAND, "build", "jack", "-o", str(tmp_path)]))

    seconds, memory = fastest(benchmark, build, STARTS), max(one.memory for one in ends)
    beyond = seconds - measured["import"]
    table.append((f"build jack ({seconds:.2f} s) beyond import cadquery", f"{beyond:.2f} s", f"{BUILD_SECONDS:.2f} s"))
    table.append(("peak memory of build jack", f"{memory / 1e6:.0f} MB", f"{MEMORY / 1e6:.0f} MB"))
    assert beyond <= BUILD_SECONDS
    assert memory <= MEMORY


def test_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    with capsys.disabled():
        print("\n\n" + "\n".join(f"{what:60} {value:>8}   at most {bound}" for what, value, bound in table))
    assert len(table) == len(BODIES) + 3
