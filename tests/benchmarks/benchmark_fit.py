"""How fast a scan is laid on its design, and in how much memory. Not part of the tests; run it with

    .venv/bin/pytest --dist=no tests/benchmarks/benchmark_fit.py

It prints a table and fails where a bound is missed. Time is held to a reference in the same run, as machines differ: reading
the same file with trimesh and asking a k-d tree of its points for the nearest of every one.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from planestock.models.design import design
from planestock.models.scan.fit import Asked, expected_size, fitted, read_scan
from planestock.params.files import load
from tests.benchmarks.benchmark_speed import COMMAND, ended
from tests.support.invent_scan import METAL, Spoilt, scanned, truth

ROUNDS = 3
"""Rounds of each; the fastest counts."""

SECONDS = 10.0
"""The whole command on a scan of some 200 000 triangles, on two cores."""

FIT_TO_REFERENCE = 15.0
"""Reading and fitting the scan, over the reference."""

MEGABYTES = 1500.0
"""Peak memory of the command, also where a scan has to be thinned out."""

ROOT = Path(__file__).resolve().parents[2]

table: list[tuple[str, str, str]] = []


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A scan of the jack's metal with some 200 000 triangles, as binary STL."""
    return _written(tmp_path_factory.mktemp("scan") / "usual.stl", 1.95)


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return _written(tmp_path_factory.mktemp("scan") / "large.stl", 0.58)


def _written(path: Path, edge: float) -> Path:
    """Write a scan from a process of its own: what this one has ever held would count as its children's peak."""
    made = subprocess.run([sys.executable, "-m", "tests.benchmarks.benchmark_fit", path, str(edge)],
                          check=True, capture_output=True, text=True, cwd=ROOT)  # fmt: skip
    table.append((path.name, made.stdout.strip(), "triangles"))
    return path


def main() -> None:
    """Write a scan of the jack's metal: path, longest edge in mm."""
    path, edge = Path(sys.argv[1]), float(sys.argv[2])
    scan = scanned(truth(design(load("jack")), METAL, edge), 1, Spoilt(missing=0.02))
    scan.mesh.export(path)
    print(len(scan.faces))


def reference(path: Path) -> float:
    """Return the time to read a mesh with trimesh and to find the nearest point of every point of it, s."""
    start = time.perf_counter()
    mesh = trimesh.load_mesh(path)
    points = np.asarray(mesh.vertices)
    cKDTree(points).query(points, k=2)
    return time.perf_counter() - start


def laid(path: Path) -> float:
    """Return the time to read and fit a scan, s."""
    made, asked = design(load("jack")), Asked(of="metal", adjuster="out")
    start = time.perf_counter()
    found = fitted(made, read_scan(path, expected_size(made, asked.of), asked), asked)
    assert not found.corrected or {one.path for one in found.corrected} == {"bench.edge_low"}
    return time.perf_counter() - start


def test_the_fit_against_a_reference(usual: Path) -> None:
    ours, theirs = (min(action(usual) for _ in range(ROUNDS)) for action in (laid, reference))
    table.append(
        (f"fit ({ours:.1f} s) / reference ({theirs:.2f} s)", f"{ours / theirs:.1f}", f"at most {FIT_TO_REFERENCE:.0f}")
    )
    assert ours / theirs <= FIT_TO_REFERENCE


@pytest.mark.parametrize("name", ["usual", "large"])
def test_the_command(name: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    path = request.getfixturevalue(name)
    runs = [
        ended([*COMMAND, "fit", "jack", "--scan", str(path), "-o", str(tmp_path)])
        for _ in range(ROUNDS if name == "usual" else 1)
    ]
    wall, memory = min(run.wall for run in runs), max(run.memory for run in runs) / 1e6
    table.append((f"command, {name} scan", f"{wall:.1f} s", f"at most {SECONDS:.0f} s" if name == "usual" else ""))
    table.append((f"peak memory, {name} scan", f"{memory:.0f} MB", f"at most {MEGABYTES:.0f} MB"))
    assert memory <= MEGABYTES
    if name == "usual":
        assert wall <= SECONDS


def test_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    with capsys.disabled():
        print("\n\n" + "\n".join(f"{what:44} {value:>12}   {bound}" for what, value, bound in table))
    assert table


if __name__ == "__main__":
    main()
