"""Sweeps: arrays against single designs, ranges that cannot be, tables and pictures read back, and variants that crash."""

from __future__ import annotations

import csv
import importlib
import json
import math
import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from planestock.exports.commands.sweep import Swept, as_data
from planestock.exports.commands.sweep import sweep as sweep_command
from planestock.exports.files.stamp import Stamp
from planestock.exports.variants import contours, sweep_table
from planestock.exports.variants.build_all import Outcome, Task, build_all, known_result, result_name
from planestock.exports.variants.contours import Field, picture
from planestock.models.design import design
from planestock.models.variants.sweep import (
    ARRAY_PATHS,
    MOST_DESIGNS,
    OUTCOMES,
    changes_of,
    evaluated,
    in_arrays,
    outcomes_of,
    swept,
    windows,
)
from planestock.models.variants.sweep_axes import MOST_ROWS, Axis, axes, grid, random_sample, value_text
from planestock.models.variants.sweep_ties import idle
from planestock.models.window.readings import limit_at
from planestock.params.catalogue import declared
from planestock.params.fields import quantity_of
from planestock.params.files import changed, load
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from tests.support.full_set import full, plain

ROOT = Path(__file__).resolve().parents[3]
STAMP = Stamp("A plane", "0" * 64, "1.2.3")

BOTH_ROADS = (
    "bench.edge_low=[52.31, 52.30, 52.33]",
    "bench.edge_high=[46.62, 46.65, 46.64]",
    'cap_iron.setback=["1.0 ± 0.1 mm", "1.1 ± 0.1 mm", "0.95 ± 0.1 mm"]',
    "frog.bed_angle=45 ± 0.05 deg",
)
"""Both roads to the window with nearly equal uncertainty, and repeated readings, so that the road changes."""


def grid_of(*texts: str) -> tuple[tuple[Axis, ...], dict[str, np.ndarray]]:
    found = axes(texts, "mm", at_random=False)
    return found, grid(found)


# The numbers.


def test_windows_are_the_formula() -> None:
    """T = (c + b - a) sin θ - t cos θ, less q or plus r: on the plain set c = 96, a = 20 and 28, t = 3, q = 0.8, r = 0.3."""
    theta, setback = np.meshgrid(np.linspace(40, 55, 7), np.linspace(0.2, 2.0, 5))
    low, high = windows(plain(), {"frog.bed_angle": theta, "cap_iron.setback": setback})
    sin, cos = np.sin(np.radians(theta)), np.cos(np.radians(theta))
    assert np.allclose(high, (96 + setback - 20) * sin - 3 * cos - 0.8, rtol=0, atol=1e-12)
    assert np.allclose(low, (96 + setback - 28) * sin - 3 * cos + 0.3, rtol=0, atol=1e-12)


def play_not_measured(given: ParameterSet) -> ParameterSet:
    values = given.model_dump(mode="json")
    return parameter_set({**values, "adjuster": {**values["adjuster"], "play": None}})


@pytest.mark.parametrize("own_thickness", [True, False])
@pytest.mark.parametrize("roads", ["readings", "bench", "both", "assumed"])
def test_arrays_tell_what_single_designs_tell(roads: str, own_thickness: bool) -> None:
    given = {
        "readings": full(),
        "bench": load("jointer"),
        "both": full(*BOTH_ROADS),
        "assumed": play_not_measured(full("bench.edge_low=52.3 ± 0.13 mm", "bench.edge_high=46.7 ± 0.13 mm")),
    }[roads]
    low, high = given_bounds(given)
    generator = np.random.Generator(np.random.PCG64(20))
    paths = [path for path in low if own_thickness or path != "body.thickness"]
    inputs = {path: np.round(generator.uniform(low[path], high[path], 12), 6) for path in paths}
    inputs["work.truings"] = generator.integers(0, 5, 12).astype(float)
    told = evaluated(given, inputs)
    raw = given.model_dump(mode="json")
    for row, changes in enumerate(changes_of(given, inputs)):
        one = outcomes_of(design(parameter_set(changed(raw, changes))))
        for name in OUTCOMES:
            assert told[name][row] == pytest.approx(one[name], abs=1e-9), (name, changes)


@pytest.mark.parametrize("roads", ["bench", "both"])
def test_repeated_readings_that_are_not_varied_keep_their_scatter(roads: str) -> None:
    """Three repeats count by Student's t of two degrees of freedom, in a single set and in arrays alike."""
    given = load("jointer") if roads == "bench" else full(*BOTH_ROADS, "bench.edge_high=[46.5, 46.65, 46.8]")
    inputs = {"work.deepest_cut": np.linspace(0.2, 0.6, 5), "frog.bed_angle": np.linspace(44.0, 46.0, 5)}
    told = evaluated(given, inputs)
    raw = given.model_dump(mode="json")
    for row, changes in enumerate(changes_of(given, inputs)):
        settled = design(parameter_set(changed(raw, changes))).settled
        terms = (*settled.low.terms, *settled.high.terms)
        assert any(term.u > 1.05 * limit_at(given, term.path) / math.sqrt(3) for term in terms)
        assert told["window.u_min"][row] == pytest.approx(settled.low.expanded, abs=1e-9)
        assert told["window.u_max"][row] == pytest.approx(settled.high.expanded, abs=1e-9)


def given_bounds(given: ParameterSet) -> tuple[dict[str, float], dict[str, float]]:
    """Return ranges near the set's own values for every array path that it has; its thickness around the window's middle."""
    low, high = {}, {}
    for path in sorted(ARRAY_PATHS - {"work.truings"}):
        here: Any = given
        for name in path.split("."):
            here = None if here is None else getattr(here, name)
        if path == "body.thickness":
            middle = design(given).settled.thickness
            low[path], high[path] = middle - 2, middle + 1
        elif here is not None:
            spread = 0.05 if path.startswith(("work", "bench")) else 0.3
            low[path], high[path] = max(0.05, here.value - spread), here.value + spread
    return low, high


def test_where_no_thickness_is_sure_there_is_none() -> None:
    told = evaluated(plain("body.thickness=from window"), {"work.withdraw": np.array([0.3, 5.5])})
    assert told["thickness"][0] == design(plain("body.thickness=from window")).settled.thickness
    assert math.isnan(told["thickness"][1])
    assert list(told["sure"]) == [1.0, 0.0]
    assert told["window.width"][1] < told["window.width"][0]


def test_readings_that_contradict_one_another_come_to_nothing() -> None:
    told = evaluated(plain(), {"adjuster.pin_low": np.array([20.0, 28.0, 29.0])})
    assert list(np.isnan(told["window.min"])) == [False, True, True]
    assert list(told["sure"]) == [1.0, 0.0, 0.0]


def test_many_variants_give_the_same_in_blocks_as_alone() -> None:
    _, inputs = grid_of("frog.bed_angle=44:46:350", "cap_iron.setback=0.5:1.5:300")
    whole = evaluated(plain(), inputs)
    last = evaluated(plain(), {path: column[-3:] for path, column in inputs.items()})
    assert len(inputs["frog.bed_angle"]) > 100_000
    for name in OUTCOMES:
        assert list(whole[name][-3:]) == list(last[name])


def test_other_paths_are_designed_and_tell_what_fails() -> None:
    _, inputs = grid_of("body.width=58:76:3", "frog.bed_angle=44:45:2")
    assert not in_arrays(list(inputs))
    numbers: list[int] = []
    table = swept(full(), inputs, numbers.append)
    assert numbers == list(range(6))
    assert table.failing is not None
    assert table.problems is not None
    assert [bool(problem) for problem in table.problems] == [True, True, False, False, False, False]
    assert "body.heel_width" in table.problems[0] or "body.toe_width" in table.problems[0]
    assert math.isnan(table.outcomes["thickness"][0])
    assert table.failing[5] == ""
    assert table.outcomes["thickness"][5] == design(full()).settled.thickness


@pytest.mark.parametrize("path", ["frog.bed_angle", "iron.thickness", "throat.opening", "work.truings", "wood.dry.humidity"])
def test_a_varied_value_keeps_the_limit_of_error_that_the_set_has(path: str) -> None:
    text = value_text(load("jack"), path, 3.0)
    expected = {"frog.bed_angle": "3 ± 0.2 deg", "iron.thickness": "3 ± 0.02 mm", "throat.opening": "3 mm"}
    assert text == expected.get(path, "3")


# Ranges.


def test_a_grid_holds_every_combination_the_last_range_fastest() -> None:
    found, inputs = grid_of("throat.opening=1mm:2mm:3", "frog.bed_angle=44:45 deg:2")
    assert [axis.kind for axis in found] == ["mm", "deg"]
    assert list(inputs["throat.opening"]) == [1, 1, 1.5, 1.5, 2, 2]
    assert list(inputs["frog.bed_angle"]) == [44, 45, 44, 45, 44, 45]


def test_bare_lengths_are_in_the_sets_units() -> None:
    (inches,) = axes(["throat.opening=1/32:1/16:2"], "in", at_random=False)
    assert (inches.low, inches.high) == (0.79375, 1.5875)
    (quoted,) = axes(['throat.opening="0.5 mm:1/16 in:2"'], "in", at_random=False)
    assert (quoted.low, quoted.high) == (0.5, 1.5875)


def test_a_random_sample_repeats_itself_and_keeps_to_its_ranges() -> None:
    found = axes(["throat.opening=1:2", "body.dowels.count=2:6"], "mm", at_random=True)
    one, again, other = (random_sample(found, 4000, seed) for seed in (5, 5, 6))
    assert all(np.array_equal(one[path], again[path]) for path in one)
    assert not np.array_equal(one["throat.opening"], other["throat.opening"])
    assert sorted(set(one["body.dowels.count"])) == [2, 3, 4, 5, 6]
    # 4000 draws from an even spread of width 1: the mean strays by 1/√(12 · 4000) = 0.0046, five of those are allowed.
    assert one["throat.opening"].mean() == pytest.approx(1.5, abs=0.023)
    assert 1 <= one["throat.opening"].min() <= one["throat.opening"].max() <= 2


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("throat.opening", 'must be PATH="FROM to TO in N"'),
        ("throat.opening=1:2", 'a range is written "FROM to TO in N"'),
        ("throat.opening=1 to 2 mm", 'a range is written "FROM to TO in N"'),
        ("throat.opening=1 to 2 in many", "N must be a whole number"),
        ("throat.opening=2 to 1 mm in 5", "FROM must be less than TO"),
        ("throat.opening=2:1:5", "FROM must be less than TO"),
        ("throat.opening=1:1:5", "FROM must be less than TO"),
        ("throat.opening=1:2:0", "at least 2 values"),
        ("throat.opening=1:2:1", "at least 2 values"),
        ("throat.opening=1:2:-3", "N must be a whole number"),
        ("throat.opening=1:2:many", "N must be a whole number"),
        ("throat.opening=1:2:1000000000", "at most 1,000,000 variants"),
        ("throat.opening=1:2:" + "9" * 5000, "at most 1,000,000 variants"),
        ("throat.oppening=1:2:3", "did you mean throat.opening"),
        ("throat.opening=1 deg:2 deg:3", "'deg' is not a unit of length"),
        ("frog.bed_angle=44 mm:45 mm:3", "'mm' is not a unit of angle"),
        ("frog.bed_angle=10:45:3", "must lie between 35 and 65 deg"),
        ("throat.opening=1±0.1:2:3", "the ends of a range carry no ±"),
        ("throat.opening=nan:2:3", "is not a length"),
        ("wood.species=beech:oak:3", "holds words, which have no range"),
        ("body.edge=round:chamfer:2", "holds words, which have no range"),
        ("body=1:2:3", "holds several values"),
        ("casting.screws=1:2:3", "holds several values"),
        ("work.truings=1:4:3", "does not divide 1 to 4 into whole numbers"),
        ("work.truings=1.5:4:3", "must be a whole number"),
        ("wood.dry.humidity=wet:40:3", "must be a number"),
        ("wood.dry.humidity=inf:40:3", "must be a number"),
    ],
)  # fmt: skip
def test_a_range_that_cannot_be_is_refused_in_words(text: str, message: str) -> None:
    with pytest.raises(InputProblem, match=re.escape(message)):
        axes([text], "mm", at_random=False)


def test_ranges_are_refused_together_too() -> None:
    with pytest.raises(InputProblem, match="is varied twice"):
        axes(["throat.opening=1:2:3", "throat.opening=1:2:4"], "mm", at_random=False)
    with pytest.raises(InputProblem, match="at least one value"):
        axes([], "mm", at_random=False)
    with pytest.raises(InputProblem, match="without a count"):
        axes(["throat.opening=1:2:3"], "mm", at_random=True)


def test_too_many_variants_are_refused_before_memory_goes() -> None:
    """A thousand million million variants would take petabytes: only the refusal can come back."""
    found = axes([f"throat.opening=1:2:{MOST_ROWS}", f"iron.thickness=2:3:{MOST_ROWS}", f"cap_iron.setback=1:2:{MOST_ROWS}"],
                 "mm", at_random=False)  # fmt: skip
    with pytest.raises(InputProblem, match=r"1,000,000,000,000,000,000 variants"):
        grid(found)
    one = axes(["throat.opening=1:2"], "mm", at_random=True)
    for size, message in ((0, "at least 1"), (10**9, "1,000,000,000 variants"), (10**30, "variants")):
        with pytest.raises(InputProblem, match=message):
            random_sample(one, size, 0)
    with pytest.raises(InputProblem, match="--seed"):
        random_sample(one, 5, -1)


def test_every_path_worked_out_in_arrays_is_declared() -> None:
    for path in ARRAY_PATHS:
        field = declared(path)
        assert field is not None, path
        assert quantity_of(field) is not None or path == "work.truings"


# Tables.


def test_csv_reads_back_as_the_table() -> None:
    _, inputs = grid_of("body.width=60:76:2", "throat.opening=1:2:3")
    table = swept(full(), inputs)
    assert table.failing is not None
    assert table.problems is not None
    columns = sweep_table.columns_of(table.inputs, table.outcomes, {"failing": table.failing, "problem": table.problems})
    content = sweep_table.as_csv(columns, STAMP)
    assert content == sweep_table.as_csv(columns, STAMP)
    mark, *lines = content.decode("utf-8").split("\r\n")
    assert mark == "# A plane (000000000000), planestock 1.2.3; mm, degrees, g"
    read = list(csv.DictReader(lines))
    assert len(read) == 6
    assert list(read[0]) == [*inputs, *OUTCOMES, "failing", "problem"]
    for row, found in enumerate(read):
        for name in (*inputs, *OUTCOMES):
            value = float(columns[name][row])
            assert (found[name] == "") if math.isnan(value) else float(found[name]) == pytest.approx(value, abs=5e-7)
        assert found["problem"] == table.problems[row]
    assert any(table.problems)


def test_words_in_a_csv_cannot_break_its_rows() -> None:
    hostile = Stamp('=cmd|" /C calc"!A0\n1,2,3', "f" * 64, "1")
    content = sweep_table.as_csv({"x": np.array([1.0, np.nan]), "problem": ('says "no",\nand stops', "")}, hostile).decode()
    assert content == (
        f'# =cmd|" /C calc"!A0 1,2,3 ({"f" * 12}), planestock 1; mm, degrees, g\r\n'
        'x,problem\r\n1,"says ""no"", and stops"\r\n,\r\n'
    )


def test_parquet_says_what_to_install_where_it_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(InputProblem, match=r"planestock\[parquet\]"):
        sweep_table.as_parquet({"x": np.array([1.0])}, STAMP)


def test_parquet_reads_back_as_the_table() -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    content = sweep_table.as_parquet({"x": np.array([1.0, np.nan]), "problem": ("", "no")}, STAMP)
    assert content == sweep_table.as_parquet({"x": np.array([1.0, np.nan]), "problem": ("", "no")}, STAMP)
    read = parquet.read_table(importlib.import_module("io").BytesIO(content))
    assert read.to_pydict() == {"x": [1.0, None], "problem": ["", "no"]}
    assert read.schema.metadata[b"planestock"].decode() == STAMP.line


# Pictures.


def plane_field(outcome: str = "wear_left") -> Field:
    """Return the field x + y over 0 to 4 and 0 to 3 mm, whose contours are straight lines that are known."""
    across, up = Axis("throat.opening", "Mouth", "mm", 0.0, 4.0, 9), Axis("iron.thickness", "Iron", "mm", 0.0, 3.0, 7)
    x, y = np.meshgrid(across.values(), up.values(), indexing="ij")
    return Field(outcome, (across, up), x + y - 2.0, (1.0, 1.5))


def points_of(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", path)]


def value_at(point: tuple[float, float]) -> tuple[float, float]:
    """Return the values that a place in the picture of `plane_field` stands for."""
    width, height = contours.WIDTH - contours.LEFT - contours.RIGHT, contours.HEIGHT - contours.TOP - contours.BOTTOM
    return (point[0] - contours.LEFT) / width * 4.0, (contours.HEIGHT - contours.BOTTOM - point[1]) / height * 3.0


def elements(content: bytes, name: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(content).iter(f"{{http://www.w3.org/2000/svg}}{name}"))


def test_contour_lines_lie_where_the_field_has_their_value() -> None:
    content = picture(plane_field(), STAMP)
    lines = [path for path in elements(content, "path") if path.get("fill") == "none" and "L" in (path.get("d") or "")]
    levels = []
    for line in lines:
        sums = [sum(value_at(point)) - 2.0 for point in points_of(line.get("d") or "")]
        assert max(sums) - min(sums) < 0.01
        levels.append(round(sum(sums) / len(sums), 2))
    assert levels == [-1, 0, 1, 2, 3, 4]
    assert [line.get("stroke-width") for line in lines].index("2") == levels.index(0)


def test_bands_cover_the_whole_field_once() -> None:
    bands = [path for path in elements(picture(plane_field(), STAMP), "path") if path.get("fill-rule") == "evenodd"]
    areas = [abs(_area([value_at(point) for point in points_of(band.get("d") or "")])) for band in bands]
    assert sum(areas) == pytest.approx(12.0, abs=0.01)
    assert len({band.get("fill") for band in bands}) == len(bands)


def _area(points: list[tuple[float, float]]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True)) / 2


def test_the_set_itself_is_marked_where_it_stands() -> None:
    (mark,) = elements(picture(plane_field(), STAMP), "circle")
    assert value_at((float(mark.get("cx") or 0), float(mark.get("cy") or 0))) == pytest.approx((1.0, 1.5), abs=0.01)
    outside = Field("wear_left", plane_field().axes, plane_field().values, (None, 1.5))
    assert elements(picture(outside, STAMP), "circle") == []


def test_a_picture_is_the_same_bytes_each_time_and_takes_any_name() -> None:
    hostile = Stamp("</svg><script>alert(1)</script>\u202e & co", "0" * 64, "1")
    content = picture(plane_field(), hostile)
    assert content == picture(plane_field(), hostile)
    assert elements(content, "script") == []
    assert b"<script" not in content
    assert "".join(elements(content, "title")[0].itertext()).endswith(
        "</svg><script>alert(1)</script> & co (000000000000), planestock 1"
    )


@pytest.mark.parametrize("values", [np.full((9, 7), np.nan), np.full((9, 7), 2.0), np.full((9, 7), 0.0)])
def test_a_field_without_a_slope_can_be_drawn(values: np.ndarray) -> None:
    field = plane_field()
    content = picture(Field("wear_left", field.axes, values, (1.0, 1.0)), STAMP)
    assert ElementTree.fromstring(content) is not None
    words = " ".join("".join(element.itertext()) for element in elements(content, "text"))
    assert ("no variant could be worked out" in words) == bool(np.isnan(values).all())


def test_a_curve_is_broken_where_there_is_nothing() -> None:
    axis = Axis("throat.opening", "Mouth", "mm", 0.0, 4.0, 5)
    content = picture(Field("wear_left", (axis,), np.array([1.0, 2.0, np.nan, -1.0, 0.0]), (9.0,)), STAMP)
    (line,) = [path for path in elements(content, "path") if path.get("stroke-width") == "2.4"]
    runs = [points_of("M" + run) for run in (line.get("d") or "").split("M") if run]
    assert [len(run) for run in runs] == [2, 2]
    assert [round(value_at(point)[0], 2) for run in runs for point in run] == [0, 1, 3, 4]


def test_every_outcome_but_the_verdict_can_be_shown() -> None:
    assert set(contours.NAMES) == set(OUTCOMES) - {"sure"}


# Variants in child processes.


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let children find the tests' work, and return the file that each call of it leaves a line in."""
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    monkeypatch.setenv("PLANESTOCK_TEST_LOG", str(tmp_path / "log"))
    (tmp_path / "log").write_text("", "utf-8")
    return tmp_path / "log"


QUICK = "tests.support.variant_work:quick"


def tasks(*notes: str) -> list[Task]:
    return [Task(f"{number}".ljust(64, "0"), (f"note={note}",), {"name": f"plane {number}", "note": note})
            for number, note in enumerate(notes)]  # fmt: skip


def test_a_crash_costs_one_variant_and_is_told(tmp_path: Path, log: Path) -> None:
    wanted = tasks("", "crash", "raise", "chatter", "exit", "", "nan")
    told: list[Outcome] = []
    outcomes = build_all(wanted, tmp_path / "out", told.append, work=QUICK, processes=2)
    assert [outcome.task for outcome in outcomes] == wanted
    assert sorted(outcome.task.digest for outcome in told) == [task.digest for task in wanted]
    assert [outcome.error for outcome in outcomes] == [
        "",
        "its process was ended by SIGSEGV; most likely the solid kernel crashed on it",
        "RuntimeError: no such face",
        "",
        "its process ended with code 7 and no answer",
        "",
        "its result is not sound: masses.body: Input should be a valid number",
    ]
    assert [outcome.result is None for outcome in outcomes] == [False, True, True, False, True, False, True]
    assert outcomes[0].result is not None
    assert outcomes[0].result.model_dump() == quick_result()
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [result_name(wanted[n]) for n in (0, 3, 5)]
    assert len(log.read_text("utf-8").splitlines()) == 7


def quick_result() -> dict[str, Any]:
    return {"outcomes": dict.fromkeys(OUTCOMES, 1.25), "failing": [], "masses": {"body": 1.5}, "mass": 1.5}


DAMAGES: dict[str, Callable[[dict[str, Any]], object]] = {
    "a mass that is no number": lambda kept: kept["result"].update(mass=float("nan")),
    "an endless mass": lambda kept: kept["result"].update(mass=float("inf")),
    "a mass below nothing": lambda kept: kept["result"].update(mass=-1.5),
    "text for a number": lambda kept: kept["result"].update(mass="1.5"),
    "a yes for a number": lambda kept: kept["result"].update(mass=True),
    "nothing for a number": lambda kept: kept["result"]["outcomes"].update(thickness=None),
    "text for an outcome": lambda kept: kept["result"]["outcomes"].update(thickness="thick"),
    "an outcome left out": lambda kept: kept["result"]["outcomes"].pop("thickness"),
    "an outcome too many": lambda kept: kept["result"]["outcomes"].update(beauty=1.0),
    "one text for a list": lambda kept: kept["result"].update(failing="wear-left"),
    "numbers in a list of texts": lambda kept: kept["result"].update(failing=[1]),
    "an empty result": lambda kept: kept.update(result={}),
    "a list for the result": lambda kept: kept.update(result=[]),
    "another number": lambda kept: kept["result"]["outcomes"].update(thickness=1.26),
    "a failing check more": lambda kept: kept["result"].update(failing=["wear-left"]),
    "another seal": lambda kept: kept.update(seal="0" * 64),
    "no seal": lambda kept: kept.pop("seal"),
    "text for the digest's list": lambda kept: kept.update(changes="none"),
}


@pytest.mark.parametrize("damage", DAMAGES.values(), ids=DAMAGES.keys())
def test_a_damaged_result_is_built_anew(damage: Callable[[dict[str, Any]], object], tmp_path: Path, log: Path) -> None:
    (task,) = tasks("")
    build_all([task], tmp_path / "out", work=QUICK)
    path = tmp_path / "out" / result_name(task)
    whole = path.read_bytes()
    kept = json.loads(whole)
    damage(kept)
    path.write_text(json.dumps(kept), "utf-8")
    (outcome,) = build_all([task], tmp_path / "out", work=QUICK)
    assert not outcome.known
    assert path.read_bytes() == whole
    assert log.read_text("utf-8") == "plane 0\nplane 0\n"


@pytest.mark.parametrize(
    "content", [b"", b"[" * 100_000, b'{"result":' * 50_000, b"\xff", b"NaN", b"null", b" " * 2_000_000]
)
def test_what_is_no_result_at_all_is_no_result(content: bytes, tmp_path: Path) -> None:
    (task,) = tasks("")
    (tmp_path / result_name(task)).write_bytes(content)
    assert known_result(tmp_path, task) is None


def test_a_pipe_in_the_place_of_a_result_is_not_read(tmp_path: Path) -> None:
    (task,) = tasks("")
    os.mkfifo(tmp_path / result_name(task))
    assert known_result(tmp_path, task) is None


def test_a_run_goes_on_where_it_stopped(tmp_path: Path, log: Path) -> None:
    folder = tmp_path / "out"
    build_all(tasks("", ""), folder, work=QUICK, processes=1)
    (folder / result_name(tasks("", "")[1])).write_bytes(b'{"digest": ')
    outcomes = build_all(tasks("", "", ""), folder, work=QUICK, processes=1)
    assert [outcome.known for outcome in outcomes] == [True, False, False]
    assert log.read_text("utf-8").splitlines() == ["plane 0", "plane 1", "plane 1", "plane 2"]
    again = build_all(tasks("", "", ""), folder, work=QUICK)
    assert all(outcome.known for outcome in again)


@pytest.mark.parametrize("change", [{"digest": "1" * 64}, {"planestock": "0.0.0"}, {"result": None}])
def test_a_result_of_another_set_or_program_is_not_taken(change: dict[str, Any], tmp_path: Path, log: Path) -> None:
    (task,) = tasks("")
    build_all([task], tmp_path, work=QUICK)
    path = tmp_path / result_name(task)
    assert known_result(tmp_path, task) is not None
    path.write_text(json.dumps(json.loads(path.read_text("utf-8")) | change), "utf-8")
    assert known_result(tmp_path, task) is None
    assert log.read_text("utf-8") == "plane 0\n"


def test_a_variant_that_never_ends_is_given_up(tmp_path: Path, log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Given up when it hangs, not by the clock: on a busy machine the other variant may need a second too."""
    patient = threading.Timer

    def when_it_hangs(seconds: float, give_up: Callable[[], None]) -> threading.Timer:
        def once_it_hangs() -> None:
            while "plane 0" not in log.read_text("utf-8"):
                time.sleep(0.02)
            give_up()

        return patient(seconds, give_up) if "plane 0" in log.read_text("utf-8") else patient(0.0, once_it_hangs)

    monkeypatch.setattr("planestock.exports.variants.build_all.threading.Timer", when_it_hangs)
    outcomes = build_all(tasks("hang", ""), tmp_path / "out", work=QUICK, processes=1, slowest=600.0)
    assert [outcome.error for outcome in outcomes] == ["not done after 600 s and given up", ""]
    assert log.read_text("utf-8") == "plane 0\nplane 1\n"


def test_equal_variants_are_built_once(tmp_path: Path, log: Path) -> None:
    (task,) = tasks("")
    outcomes = build_all([task, task, task], tmp_path / "out", work=QUICK)
    assert len(outcomes) == 3
    assert log.read_text("utf-8") == "plane 0\n"


def test_an_interrupted_run_leaves_no_child_and_keeps_what_is_done(tmp_path: Path, log: Path) -> None:
    script = f"""
from pathlib import Path
from planestock.exports.variants.build_all import build_all
from tests.models.variants.test_sweep import QUICK, tasks
tell = lambda outcome: print(outcome.task.digest, flush=True)
build_all(tasks("", "hang", ""), Path({str(tmp_path / "out")!r}), tell, work=QUICK, processes=1)
"""
    run = subprocess.Popen(
        [sys.executable, "-c", script], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=ROOT
    )
    assert run.stdout is not None
    assert run.stdout.readline() == f"{tasks('')[0].digest}\n"
    while "plane 1" not in log.read_text("utf-8"):
        time.sleep(0.02)
    children = _children(run.pid)
    assert [os.getsid(child) for child in children] == children, "the keyboard's interrupt would reach the child"
    run.send_signal(signal.SIGINT)
    run.wait()
    run.stdout.close()
    assert not any(Path(f"/proc/{child}").exists() for child in children)
    assert [path.name for path in (tmp_path / "out").iterdir()] == [result_name(tasks("")[0])]


def _children(parent: int) -> list[int]:
    listed = subprocess.run(["ps", "-o", "pid=", "--ppid", str(parent)], capture_output=True, text=True, check=False)
    return [int(line) for line in listed.stdout.split()]


# The command.


def test_the_command_writes_table_and_picture(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table, drawn = tmp_path / "t.csv", tmp_path / "p.svg"
    ranges = ["frog.bed_angle=44:46:5", "cap_iron.setback=0.2 mm:1.5 mm:4"]
    assert sweep_command("jack", ranges, output=table, picture=drawn, show="window.width") == 0
    first = table.read_bytes(), drawn.read_bytes()
    printed = capsys.readouterr().out
    assert "20 variants" in printed
    assert max(map(len, printed.splitlines())) <= 80
    assert len(table.read_text("utf-8").splitlines()) == 22
    assert sweep_command("jack", ranges, output=table, picture=drawn, show="window.width") == 0
    assert (table.read_bytes(), drawn.read_bytes()) == first


def test_json_tells_every_row(capsys: pytest.CaptureFixture[str]) -> None:
    assert sweep_command("jack", ["throat.opening=1:2"], at_random=7, seed=3, as_json=True) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["variants"] == 7
    assert told["varied"] == [{"path": "throat.opening", "from": 1.0, "to": 2.0, "count": None}]
    assert all(len(column) == 7 for column in told["columns"].values())


def test_solids_are_built_by_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "t.csv"
    code = sweep_command("jack", ["body.width=60:70:2"], output=table, solids=tmp_path / "out")
    said = capsys.readouterr()
    narrow, wide = csv.DictReader(table.read_text("utf-8").splitlines()[1:])
    assert code == 1
    assert "body.toe_width = 62 mm: is more than body.width" in narrow["problem"]
    assert "body.width=60 mm: body.toe_width" in said.err
    assert narrow["mass"] == ""
    assert wide["failing"] == ""
    made = design(load("jack", ["body.width=70"]))
    assert float(wide["mass"]) == pytest.approx(made.mass, abs=1e-5)
    assert "Built 1 of 2" in said.out


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"vary": ["throat.opening=1:2:3"], "output": "t.xlsx"}, "ends in .csv or .parquet"),
        ({"vary": ["throat.opening=1:2:3"], "picture": "t.png"}, "ends in .svg"),
        ({"vary": ["throat.opening=1:2:3"], "picture": "t.svg", "show": "window.widht"}, "did you mean window.width"),
        ({"vary": ["throat.opening=1:2"], "at_random": 5, "picture": "t.svg"}, "one or two ranges of a grid"),
        ({"vary": ["throat.opening=1:2"], "at_random": 10**9}, "1,000,000,000 variants"),
        ({"vary": ["throat.opening=1:2"], "at_random": 0}, "--random = 0: must be at least 1"),
        ({"vary": ["body.width=60:80:3000"], "output": "t.csv"}, f"at most {MOST_DESIGNS:,}"),
        ({"vary": ["throat.opening=1:2:3000"], "solids": "out"}, f"at most {MOST_DESIGNS:,}"),
        ({"vary": ["throat.opening=1:2:30000"], "as_json": True, "output": "t.csv"}, "tells at most 20,000 rows"),
    ],
)  # fmt: skip
def test_wrong_input_is_refused_and_nothing_is_written(
    options: dict[str, Any], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    placed = {
        name: tmp_path / value if name in ("output", "picture", "solids") else value for name, value in options.items()
    }
    with pytest.raises(InputProblem, match=re.escape(message)):
        sweep_command("jack", **placed)
    assert list(tmp_path.iterdir()) == []
    assert capsys.readouterr().out == ""


# Ranges in words.


@pytest.mark.parametrize(
    ("worded", "plainly", "units"),
    [
        ("cap_iron.setback=0.2 to 1.5 mm in 14", "cap_iron.setback=0.2mm:1.5mm:14", "in"),
        ("cap_iron.setback=0.2 to 1.5 in 14", "cap_iron.setback=0.2:1.5:14", "mm"),
        ("cap_iron.setback=1/64 to 1/16 in in 4", "cap_iron.setback=1/64in:1/16in:4", "mm"),
        ("cap_iron.setback=1/64 in to 1.5 mm in 4", "cap_iron.setback=1/64in:1.5mm:4", "mm"),
        ("frog.bed_angle=44 to 46 deg in 5", "frog.bed_angle=44:46:5", "mm"),
        ("frog.bed_angle=44° to 46° in 5", "frog.bed_angle=44:46:5", "mm"),
        ("throat.wear_lean=-5 to -1 in 5", "throat.wear_lean=-5:-1:5", "mm"),
        ("work.truings=1 to 4 in 4", "work.truings=1:4:4", "mm"),
        ('throat.opening="1 to 2 mm in 3"', "throat.opening=1mm:2mm:3", "in"),
    ],
)
def test_a_range_in_words_is_the_range_between_colons(worded: str, plainly: str, units: Any) -> None:
    assert axes([worded], units, at_random=False) == axes([plainly], units, at_random=False)


def test_a_range_in_words_without_a_count_is_for_a_random_sample() -> None:
    assert axes(["throat.opening=1/32 to 1/16 in"], "mm", at_random=True) == axes(
        ["throat.opening=1/32in:1/16in"], "mm", at_random=True
    )


# Ties.


def told_of(set_name: str, *ranges: str) -> dict[str, Any]:
    given = load(set_name)
    found, inputs = grid_of(*ranges)
    return as_data(Swept(given, found, swept(given, inputs), None))


def test_what_changes_nothing_is_told_with_its_reason() -> None:
    given = full(*BOTH_ROADS[:2], "frog.bed_angle=45 ± 1 deg")
    found, inputs = grid_of("adjuster.pin_low=20:21:3", "work.deepest_cut=0.5:0.8:3")
    (one,) = idle(given, found, swept(given, inputs))
    assert one.path == "adjuster.pin_low"
    assert one.why == "the bench method rules the window and does not use it"
    told = told_of("jack", "casting.front_width=60:62:3")
    assert [each["path"] for each in told["unmoved"]] == ["casting.front_width"]
    assert told["unmoved"][0]["why"].startswith("it feeds neither the window nor the mouth")
    assert told_of("jack", "frog.bed_angle=44:46:3")["unmoved"] == []


def test_no_winner_is_named_among_ties(capsys: pytest.CaptureFixture[str]) -> None:
    told = told_of("jack", "throat.opening=1:2:3")
    assert told["most_wear"]["rows"] == [0, 1, 2]
    assert sweep_command("jack", ["throat.opening=1 to 2 mm in 3"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "All 3 sure ones leave the same wear, 1.64 mm: none is best." in text
    assert "most wear is left" not in text
    assert "throat.opening does not move the wear that is left." in text
    assert sweep_command("jack", ["throat.opening=1:2:3", "cap_iron.setback=0.4:1.2:3"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert ", by 3 alike, with cap_iron.setback = " in text
    assert "throat.opening = " not in text


def test_a_flat_picture_says_that_it_is_flat() -> None:
    given = load("jack")
    found, inputs = grid_of("throat.opening=1:2:3", "throat.wear_height=7:9:3")
    wear = swept(given, inputs).outcomes["wear_left"].reshape(3, 3)
    svg = picture(Field("wear_left", found, wear, (None, None)), STAMP).decode()
    assert "flat: 1.64 everywhere, none is best" in svg
    assert "throat.opening and throat.wear_height change nothing here" in svg
    curve = picture(Field("wear_left", found[:1], wear[:, 0], (None,)), STAMP).decode()
    assert "flat: 1.64 everywhere" in curve
    found, inputs = grid_of("throat.opening=1:2:3", "cap_iron.setback=0.4:1.2:3")
    wear = swept(given, inputs).outcomes["wear_left"].reshape(3, 3)
    one_way = picture(Field("wear_left", found, wear, (None, None)), STAMP).decode()
    assert "flat" not in one_way
    assert "throat.opening changes nothing here" in one_way


def test_columns_have_names_of_their_own_and_the_best_its_units(capsys: pytest.CaptureFixture[str]) -> None:
    assert sweep_command("fore", ["iron.thickness=0.1 to 0.12 in in 2", "frog.bed_angle=44 to 45 in 2"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "no. iron.thickness bed_angle width thickness wear mouth sure" in text
    assert re.search(
        r"most wear is left, 0\.\d{3} in, with iron\.thickness = 0\.1\d0 in, frog\.bed_angle = 4\d\.00°\.", text
    )
