"""Every set within the declared bounds is refused by a named rule or becomes sound solids.

The sets are drawn by drawn_sets.py and built in a process of their own (solid_worker.py), so that a crash of the kernel or a
build that never ends is a finding, reported with its set, and not the end of the run. Run more with `-m long`.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator

import pytest
import tomlkit
from hypothesis import HealthCheck, Phase, event, given, seed, settings

from planestock.params.catalogue import declaration
from planestock.params.files import changed
from planestock.params.parsing import parameter_set
from tests.support.drawn_sets import drawn_sets, from_scratch, starting_sets
from tests.support.full_set import FULL, Values, full, plain_values
from tests.support.solid_worker import Answer, Worker, answered

LEAST_BUILT = 0.35
"""Share of the drawn sets that must really be built: a test that only sees refusals tests nothing."""

FEW = 60
"""Sets in the ordinary run."""

MANY = int(os.environ.get("PLANESTOCK_MANY_SETS", "10000"))
"""Sets in the long run."""

NO_DEADLINE = settings(deadline=None, database=None, suppress_health_check=list(HealthCheck))


@pytest.fixture(scope="module")
def worker() -> Iterator[Worker]:
    with Worker() as started:
        yield started


def judge(values: Values, answer: Answer) -> str:
    """Fail with the set's TOML where something is wrong; return whether it was refused or built."""
    report = "\n".join(answer["faults"])
    assert not answer["faults"], f"{answer['outcome']}: {report}\n\n{tomlkit.dumps(values)}"
    for path, value, rule, remedy in answer.get("rules", []):
        assert path, tomlkit.dumps(values)
        assert value, path
        assert rule, path
        assert remedy, path
        names: list[str | int] = [int(name) if name.isdecimal() else name for name in path.split(".")]
        assert declaration(tuple(names)) is not None, f"{path} is not a field of a set"
    outcome: str = answer["outcome"]
    return outcome


def run(worker: Worker, examples: int, phases: tuple[Phase, ...], start: int | None) -> Counter[str]:
    outcomes: Counter[str] = Counter()

    @settings(NO_DEADLINE, max_examples=examples, phases=phases)
    @given(drawn_sets(starting_sets()))
    def refused_or_sound(values: Values) -> None:
        outcome = judge(values, worker.build(values))
        event(outcome)
        outcomes[outcome] += 1

    (refused_or_sound if start is None else seed(start)(refused_or_sound))()
    return outcomes


def test_every_set_is_refused_by_a_rule_or_becomes_sound_solids(worker: Worker) -> None:
    outcomes = run(worker, FEW, (Phase.explicit, Phase.reuse, Phase.generate, Phase.shrink), None)
    assert outcomes["built"] >= LEAST_BUILT * outcomes.total(), outcomes


@pytest.mark.long
def test_many_more_sets_are_refused_by_a_rule_or_become_sound_solids(worker: Worker) -> None:
    start = int(os.environ.get("PLANESTOCK_SEED", "20"))
    outcomes = run(worker, MANY, (Phase.generate, Phase.shrink), start)
    assert outcomes["built"] >= LEAST_BUILT * outcomes.total(), outcomes


@settings(NO_DEADLINE, max_examples=100)
@given(from_scratch())
def test_a_set_of_any_values_at_all_is_refused_by_a_rule_or_built(values: Values) -> None:
    answer = answered(values)
    assert judge(values, answer) in ("refused", "built")


# Cuts that just touch, where kernels fail first

COINCIDENCES = [
    ("recess as wide as the throat", "built", ("frog.width=50.8",)),
    ("pocket as wide as the throat", "built", ("casting.front_width=50.8", "casting.rear_width=50.8")),
    ("pocket's wall as wide as the edge", "built", ("casting.front_width=68.8", "casting.rear_width=68.8")),
    ("edge as wide as the cheek", "built", ("body.edge_size=12", "body.toe_radius=13", "body.heel_radius=14")),
    ("no gaps", "built", ("body.seat_gap=0", "body.heel_top=full")),
    ("cove to the casting's end", "built", ("body.seat_gap=0", "body.heel_top=full", "casting.tail_length=0")),
    ("cove a quarter turn", "built", ("casting.cove_radius=10",)),
    ("pad as thick as let-in and drop", "built", ("body.pad=14",)),
    ("front wall in one plane", "built", ("throat.wear_lean=20", "throat.breast_lean=20")),
    ("slip as thick as the wear is high", "built", ("body.slip=8",)),
    ("bolts as wide as the strip", "built", ("body.centre_strip=6", "tote.bolt_tilt=0")),
    ("screws that touch the strip", "built", ("body.centre_strip=6", "casting.screws.0.y=4.38303")),
    ("a pair of screws that touch", "built", ("casting.screws.0.y=1.38303",)),
    ("hole as deep as the pad", "built", ("body.pad=18", "knob.bolt_depth=18")),
    ("hole down to the slip", "built", ("body.slip=5", "knob.bolt_depth=49.5")),
    ("hole down to the sole", "refused", ("knob.bolt_depth=54.5",)),
    ("hole beside hole", "refused", ("tote.bolt_tilt=0", "tote.toe_screw_x=130.5")),
    ("hole in hole", "refused", ("tote.bolt_tilt=0", "tote.toe_screw_x=126")),
    ("hole in the pad's feather edge", "refused", ("body.pad=14", "tote.toe_screw_x=84")),
]


@pytest.mark.parametrize(("outcome", "changes"), [case[1:] for case in COINCIDENCES], ids=[case[0] for case in COINCIDENCES])
def test_cuts_that_touch_give_sound_solids_or_are_refused(worker: Worker, outcome: str, changes: tuple[str, ...]) -> None:
    values = changed(FULL, changes)
    assert judge(values, worker.build(values)) == outcome


# The worker itself


def test_the_starting_sets_are_all_built(worker: Worker) -> None:
    for values in starting_sets():
        assert judge(values, worker.build(values)) == "built"


def test_plain_values_mean_the_same_set() -> None:
    values = plain_values(full())
    assert values["body"]["length"] == 400
    assert plain_values(parameter_set(values)) == values


def test_a_crash_is_an_answer_and_the_next_set_is_built() -> None:
    with Worker() as worker:
        crashed = worker.build({"crash": "this process"})
        assert crashed["outcome"] == "crashed"
        assert "Fatal Python error" in crashed["faults"][1]
        with pytest.raises(AssertionError, match=r"(?s)crashed: .*Segmentation fault.*crash = \"this process\""):
            judge({"crash": "this process"}, crashed)
        assert worker.build(FULL)["outcome"] == "built"


def test_a_build_that_never_ends_is_an_answer() -> None:
    with Worker(time_limit=1.0) as worker:
        assert worker.build({"crash": "never end"})["outcome"] == "out of time"


def test_a_failure_of_the_program_is_an_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_: object) -> object:
        raise ZeroDivisionError("somewhere in the layout")

    monkeypatch.setattr("planestock.models.design.lay_out", broken)
    monkeypatch.setattr("planestock.models.design.settle", broken)
    answer = answered(FULL)
    assert answer["outcome"] == "broken"
    assert "ZeroDivisionError: somewhere in the layout" in answer["faults"][0]


def test_a_wrong_solid_is_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    """A cut that leaves one tool out gives a valid, closed solid; only the comparison with another kernel can tell."""
    from planestock.models.solids import wood as solids

    every = solids.cutting_tools
    monkeypatch.setattr(solids, "cutting_tools", lambda at: every(at)[:-1])
    answer = answered(FULL)
    assert any("another kernel makes it" in fault for fault in answer["faults"]), answer
