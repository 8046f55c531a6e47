"""Readings taken with another iron or setback: the window goes with the iron in use, by either road, wherever it changes."""

from __future__ import annotations

import math
import tomllib
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from planestock.exports.app.documents import taken_out, written
from planestock.exports.wording.window_notes import notes_on, window_notes
from planestock.models.design import design
from planestock.models.scan.corrected import corrected
from planestock.models.scan.fit import Fitted
from planestock.models.scan.proposals import Proposal, at_the_bench
from planestock.models.variants.compare import compare
from planestock.models.variants.sweep import changes_of, evaluated, windows
from planestock.models.window.budgets import known_window, known_windows, sensitivities, values_in, window_ends
from planestock.models.window.chance import window_samples
from planestock.models.window.states import ANGLE, IRON, OWN, SETBACK, move_slopes, moved_by
from planestock.models.window.thickness import settle
from planestock.models.window.uncertainty import agrees
from planestock.params.catalogue import declared
from planestock.params.fields import quantity_of
from planestock.params.files import changed, load, loaded, shipped, text_as_used
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.states import kept_fields
from tests.support.full_set import plain

EXACT = 1e-9
BENCH = ("bench.edge_low=52.3 ± 0.05 mm", "bench.edge_high=46.7 ± 0.05 mm")
INCH_BENCH = ("bench.edge_low=2 in", "bench.edge_high=1.8 in")
IN_USE = (IRON, SETBACK)
OF_BENCH = OWN["bench"]


def both() -> ParameterSet:
    """The plain block measured by both roads, with one iron."""
    return plain(*BENCH)


def bounds(path: str) -> tuple[float, float]:
    field = declared(path)
    quantity = quantity_of(field) if field else None
    assert quantity is not None
    return quantity.low, quantity.high


def within(path: str) -> st.SearchStrategy[float]:
    low, high = bounds(path)
    return st.integers(math.ceil(low * 1000), math.floor(high * 1000)).map(lambda steps: steps / 1000)


def ends(given: ParameterSet) -> dict[str, tuple[float, float]]:
    return {known.road: (known.window.low, known.window.high) for known in known_windows(given)}


def raw(given: ParameterSet) -> dict[str, Any]:
    return given.model_dump(mode="json")


def laid(given: ParameterSet, *changes: str) -> ParameterSet:
    return parameter_set(changed(raw(given), changes))


# The move.


@settings(max_examples=60, deadline=None)
@drawn(within(IRON), within(SETBACK), within(ANGLE))
def test_a_new_iron_and_setback_move_the_window_alike_on_either_road(iron: float, setback: float, angle: float) -> None:
    before = laid(both(), f"{ANGLE}={angle}")
    after = laid(before, f"{IRON}={iron}", f"{SETBACK}={setback}")
    theta = math.radians(angle)
    move = (setback - 1.0) * math.sin(theta) - (iron - 3.0) * math.cos(theta)
    for road, (low, high) in ends(after).items():
        was_low, was_high = ends(before)[road]
        assert low - was_low == pytest.approx(move, abs=EXACT), road
        assert high - was_high == pytest.approx(move, abs=EXACT), road


def test_a_thicker_iron_of_the_jointer_lifts_the_edge() -> None:
    """Bed 45°, iron 2.3 to 5.0 mm: 2.7 cos 45° = 1.909 mm higher, whatever was read at the bench."""
    before, after = load("jointer"), load("jointer", [f"{IRON}=5 mm"])
    move = -2.7 * math.sqrt(0.5)
    assert settle(after).window.high - settle(before).window.high == pytest.approx(move, abs=EXACT)
    assert settle(after).window.low - settle(before).window.low == pytest.approx(move, abs=EXACT)


def test_an_iron_given_for_the_bench_is_believed_before_the_one_in_use() -> None:
    given = plain(*BENCH, "bench.iron_thickness=2 mm", "bench.setback=0.5 mm")
    move = 0.5 * math.sqrt(0.5) - 1.0 * math.sqrt(0.5)
    assert ends(given)["bench"][1] == pytest.approx(ends(both())["bench"][1] + move, abs=EXACT)
    assert ends(given)["readings"] == ends(both())["readings"]
    assert laid(given, f"{IRON}=4 mm").bench == given.bench


# Its uncertainty.


def test_the_same_reading_adds_nothing() -> None:
    for same in ((), ("bench.iron_thickness=3.00 ± 0.02 mm",)):
        given = plain(*BENCH, "iron.thickness=3 ± 0.02 mm", *same)
        assert moved_by(given, "bench") == ()
        assert [term.path for term in known_window(given, "bench").high.terms] == ["bench.edge_low"]


def test_another_iron_adds_its_own_limit_and_the_old_ones() -> None:
    """Half-widths 0.02 and 0.03 mm over √3, each times cos 45°; the angle's 0.2° acts on the iron's change of 1 mm."""
    given = laid(plain(*BENCH, "iron.thickness=3 ± 0.02 mm", "frog.bed_angle=45 ± 0.2 deg"), f"{IRON}=4 ± 0.03 mm")
    root = math.sqrt(0.5)
    parts = [0.05, 0.02 * root, 0.03 * root, 1.0 * root * math.radians(0.2)]
    assert known_window(given, "bench").high.u == pytest.approx(math.hypot(*parts) / math.sqrt(3), abs=1e-12)


@pytest.mark.parametrize("end", ["low", "high"])
def test_sensitivities_are_the_slopes_of_the_formula(end: Any) -> None:
    at = values_in(laid(both(), f"{IRON}=4.2", f"{SETBACK}=0.3"), "bench")
    position, step = ("low", "high").index(end), 1e-6
    slopes = sensitivities(at, "bench", end)
    assert {*slopes} == {*moved_by(laid(both(), f"{IRON}=4.2", f"{SETBACK}=0.3"), "bench"), f"bench.edge_{_other(end)}"}
    for path, slope in slopes.items():
        up, down = (window_ends({**at, path: at[path] + each}, "bench")[position] for each in (step, -step))
        assert (up - down) / (2 * step) == pytest.approx(slope, abs=1e-6), path


def _other(end: str) -> str:
    return {"low": "high", "high": "low"}[end]


def test_monte_carlo_holds_the_budget_to_account() -> None:
    changes = (f"{IRON}=5 ± 0.08 mm", f"{SETBACK}=0.3 ± 0.08 mm")
    given = laid(plain(*BENCH, "frog.bed_angle=45 ± 0.5 deg"), *changes)
    known = known_window(given, "bench")
    samples = window_samples(given, "bench", 200_000, 7)
    for budget, drawn_ends in zip((known.low, known.high), samples, strict=True):
        assert float(np.std(drawn_ends)) == pytest.approx(budget.u, rel=0.01)
        assert agrees(budget, drawn_ends).agrees


def test_roads_agree_as_well_after_a_new_iron_as_before() -> None:
    """What both roads share cancels in their difference, so that a change can neither mend nor make a contradiction."""
    given = plain("bench.edge_low=52.9 ± 0.05 mm", "bench.edge_high=47.2 ± 0.05 mm", "iron.thickness=3 ± 0.02 mm")
    before, after = (
        settle(given).comparison,
        settle(laid(given, f"{IRON}=4.5 ± 0.02 mm", f"{SETBACK}=0.4 ± 0.1 mm")).comparison,
    )
    assert before is not None
    assert after is not None
    assert after.low.apart.value == pytest.approx(before.low.apart.value, abs=EXACT)
    assert after.worst_error == pytest.approx(before.worst_error, rel=0.02)
    assert SETBACK not in {suspect.path for suspect in after.suspects}


# Everywhere a value can be changed.


def test_compare_moves_the_bench_with_the_iron() -> None:
    sets = [("as it is", load("jointer")), ("thicker", load("jointer", [f"{IRON}=5 mm"]))]
    outcomes = {outcome.key: outcome.values for outcome in compare(sets, solids=False).outcomes}
    first, second = outcomes["window.max"]
    assert first is not None
    assert second is not None
    assert second - first == pytest.approx(-2.7 * math.sqrt(0.5), abs=EXACT)


@pytest.mark.parametrize("name", ["bench", "both", "repeated", "own"])
def test_a_sweep_tells_what_single_sets_tell(name: str) -> None:
    given = {
        "bench": load("jointer"),
        "both": both(),
        "repeated": plain(*BENCH, 'iron.thickness=["3.00 ± 0.02 mm", "3.01 ± 0.02 mm"]'),
        "own": plain(*BENCH, "bench.iron_thickness=2.5", "bench.setback=0.7 ± 0.2 mm"),
    }[name]
    generator = np.random.Generator(np.random.PCG64(3))
    own_iron = settle(given).given.iron.thickness.value
    inputs = {
        IRON: np.append(np.round(generator.uniform(2, 4, 8), 6), own_iron),
        SETBACK: np.append(np.round(generator.uniform(0.2, 2, 8), 6), 1.0),
    }
    if name == "own":
        inputs |= {OF_BENCH[SETBACK]: np.append(np.round(generator.uniform(0.2, 2, 8), 6), 1.0)}
    told = evaluated(given, inputs)
    for row, changes in enumerate(changes_of(given, inputs)):
        settled = settle(parameter_set(changed(raw(given), changes)))
        for column, value in {
            "window.min": settled.window.low,
            "window.max": settled.window.high,
            "window.u_min": settled.low.expanded,
            "window.u_max": settled.high.expanded,
            "window.safe_max": settled.safe_high,
        }.items():
            assert told[column][row] == pytest.approx(value, abs=EXACT), (column, changes)


def test_windows_in_arrays_move_too() -> None:
    low, high = windows(load("jointer"), {IRON: np.array([2.3, 5.0])})
    assert high[1] - high[0] == pytest.approx(-2.7 * math.sqrt(0.5), abs=EXACT)
    assert low[1] - low[0] == pytest.approx(-2.7 * math.sqrt(0.5), abs=EXACT)


def test_a_form_moves_the_window_as_the_command_line_does() -> None:
    text = shipped()["jointer"]
    typed = written(written(text, IRON, "5 mm"), SETBACK, "0.5 mm")
    said = load("jointer", [f"{IRON}=5 mm", f"{SETBACK}=0.5 mm"])
    assert parameter_set(tomllib.loads(typed)).digest == said.digest
    assert parameter_set(tomllib.loads(typed)).bench == said.bench


def test_typing_letter_by_letter_keeps_the_iron_that_was_there_first() -> None:
    text = shipped()["jointer"]
    for typed in ("", "3", "3.", "3.1"):
        text = written(text, IRON, typed)
    bench = tomllib.loads(text)["bench"]
    assert bench["iron_thickness"] == tomllib.loads(shipped()["jointer"])["iron"]["thickness"]
    assert "setback" not in bench


def test_typing_back_what_was_there_leaves_no_trace() -> None:
    text = shipped()["jointer"]
    own = tomllib.loads(text)["iron"]["thickness"]
    assert written(written(text, IRON, "3.1"), IRON, own) == text


def test_clearing_the_benchs_own_iron_says_that_the_iron_was_only_misread() -> None:
    text = taken_out(written(shipped()["jointer"], IRON, "3.1"), OF_BENCH[IRON])
    given = parameter_set(tomllib.loads(text))
    assert settle(given).window == settle(load("jointer")).window


def test_what_is_saved_means_the_same_and_keeps_comments() -> None:
    text = shipped()["jointer"]
    changes = [f"{IRON}=5 mm", f"{SETBACK}=0.5 mm"]
    given = loaded(text, "jointer", changes)
    saved = text_as_used(text, changes, given)
    assert loaded(saved, "jointer").digest == given.digest
    assert "# From the casting's underside straight down" in saved
    assert settle(loaded(saved, "jointer")).window == settle(given).window


def test_a_value_is_kept_without_the_comment_beside_it() -> None:
    text = "bench = { edge_low = 50, edge_high = 44 }\niron.thickness = 2.30  # with the micrometer\n"
    kept = written(text, IRON, "3")
    assert tomllib.loads(kept)["bench"] == {"edge_low": 50, "edge_high": 44, "iron_thickness": 2.3}
    assert kept.count("with the micrometer") == 1


def test_the_same_iron_read_again_is_no_other_iron() -> None:
    """A finer ± or another unit: 2.30 mm stays 2.30 mm, and so does the digest where the reading means the same."""
    for again in ("2.3 ± 0.02 mm", "0.23 cm ± 0.02 mm", "2.3 ± 0.01 mm"):
        given = load("jointer", [f"{IRON}={again}"])
        assert given.bench == load("jointer").bench, again
    assert load("jointer", [f"{IRON}=2.3 ± 0.02 mm"]).digest == load("jointer").digest


def test_without_bench_readings_there_is_no_state_to_keep() -> None:
    assert changed(raw(plain()), [f"{IRON}=5"])["bench"] is None
    assert changed({"iron": {"thickness": 2}, "bench": {}}, [f"{IRON}=5"])["bench"] == {}


def test_a_set_that_says_nothing_of_the_bench_has_the_digest_of_one_without_such_fields() -> None:
    """SHA-256 of the plain block as it is without the fields that only say a state: they do not count where not given."""
    assert {kept.in_use for kept in kept_fields()} >= {*IN_USE}
    given = both()
    assert given.bench is not None
    assert given.digest != plain(*BENCH, "bench.setback=0.4").digest
    assert given.digest == parameter_set(raw(given)).digest


def test_a_reading_of_a_state_has_the_bounds_of_the_one_in_use() -> None:
    for kept in kept_fields():
        assert bounds(f"{kept.group}.{kept.name}") == bounds(kept.in_use), kept


# Scans.


def test_an_edge_that_a_scan_shows_is_held_against_the_bench_with_the_benchs_own_iron() -> None:
    """The scan shows the iron in use, 5 mm thick; the bench was read with one of 3: at 45° its edge stood 1.414 mm lower."""
    given = laid(both(), f"{IRON}=5 ± 0.05 mm")
    found, u = at_the_bench(given, 50.0, 0.03)
    assert found == pytest.approx(50 + 2 * math.sqrt(0.5), abs=EXACT)
    assert u > math.hypot(0.03, 0.05 * math.sqrt(0.5) / math.sqrt(3))
    assert at_the_bench(both(), 50.0, 0.03) == (50.0, 0.03)


def test_an_iron_that_a_scan_corrects_was_misread_at_the_bench_too() -> None:
    text = shipped()["jointer"]
    misread = Proposal(IRON, "Iron thickness", "mm", 2.5, 0.03, 2.3, 0.02, 5.0, "corrected")
    fitted = SimpleNamespace(made=design(load("jointer")), corrected=(misread,))
    found = corrected(cast("Fitted", fitted), text, "jointer", [])
    assert found is not None
    assert found.made is not None
    assert found.made.given.iron.thickness.text == "2.5 ± 0.03 mm"
    assert found.made.settled.window.high == pytest.approx(settle(load("jointer")).window.high, abs=EXACT)
    assert loaded(found.text, "jointer").digest == found.made.given.digest


# Words.


def test_a_moved_window_says_with_which_iron_the_bench_was_read() -> None:
    (note,) = window_notes(settle(load("jointer", [f"{IRON}=5 mm"])))
    assert "taken with an iron 2.30 mm thick; with an iron 5.00 mm thick in use the edge stands 1.91 mm higher" in note
    assert window_notes(settle(load("jointer"))) == ()
    *_, both_changed = window_notes(
        settle(load("fore", [*INCH_BENCH, "bench.setback=1/16 in", "bench.iron_thickness=0.1 in"]))
    )
    assert (
        "an iron 0.100 in thick and a setback of 0.062 in; with an iron 0.094 in thick and a setback of 0.031 in"
        in both_changed
    )
    assert "0.018 in higher" in both_changed


def test_a_sweep_says_that_a_varied_iron_moves_the_bench_readings() -> None:
    given = load("jointer")
    known = settle(given).known
    (note,) = notes_on(given, known, [IRON])
    assert note == (
        "The bench readings were taken with an iron 2.30 mm thick: they are moved with each iron.thickness of this sweep, "
        "and the window of the bench method with them."
    )
    (note,) = notes_on(given, known, [OF_BENCH[SETBACK]])
    assert note.startswith("The bench readings are moved with each bench.setback of this sweep")
    assert notes_on(given, known, ["throat.opening"]) == ()
    assert notes_on(plain(), settle(plain()).known, [IRON]) == ()


def test_of_what_is_varied_no_one_value_is_told() -> None:
    """A setback of its own is told as it is; the iron, varied, has no one move, nor has any with the bed angle varied."""
    given = plain(*BENCH, "bench.setback=2 mm", "bench.iron_thickness=2 mm")
    still, turned = notes_on(given, settle(given).known, [IRON])
    assert "with a setback of 2.00 mm; with a setback of 1.00 mm in use the edge stands 0.71 mm higher" in still
    assert "were taken with an iron 2.00 mm thick: they are moved with each iron.thickness" in turned
    leaning = notes_on(given, settle(given).known, [ANGLE])
    assert "the edge stands elsewhere, by the bed angle" in leaning[0]


@settings(max_examples=40, deadline=None)
@drawn(within(IRON), within(SETBACK))
def test_the_move_is_the_difference_of_its_slopes(iron: float, setback: float) -> None:
    """Linear in thickness and setback: slopes times changes give the move exactly."""
    given = laid(both(), f"{IRON}={iron}", f"{SETBACK}={setback}")
    paths = moved_by(given, "bench")
    at = {path: value for path, value in values_in(given, "bench").items() if path in paths}
    slopes = move_slopes(at, "bench")
    move = sum(slopes[path] * at[path] for path in paths if path != ANGLE)
    assert ends(given)["bench"][1] - ends(both())["bench"][1] == pytest.approx(float(move), abs=EXACT)
