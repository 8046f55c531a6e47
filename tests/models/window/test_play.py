"""Play of the adjuster: the withdrawn edge lags by it on the road of readings, and where it was not read that is said.

The term lost motion is borrowed from machine tools (ISO 230-2 has reversal error for their axes); that pushing and pulling
use opposite walls of the slot is plane geometry.
"""

from __future__ import annotations

import html
import json
import math

import numpy as np
import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from planestock.exports.app.evaluation import numbers_of
from planestock.exports.command_line import main
from planestock.exports.pages.preview import _sure
from planestock.exports.paper.sheet import _cover
from planestock.exports.report.data import report
from planestock.exports.report.text import as_text
from planestock.exports.variants.compare_text import notes_of
from planestock.exports.wording.window_notes import window_notes
from planestock.models.design import design
from planestock.models.variants.compare import compare
from planestock.models.variants.sweep import changes_of, evaluated
from planestock.models.window.budgets import PLAY, known_window, known_windows, sensitivities, values_in, widened_by
from planestock.models.window.chance import window_samples
from planestock.models.window.thickness import settle
from planestock.models.window.uncertainty import agrees
from planestock.params.files import changed, load, shipped
from planestock.params.metal import ASSUMED_PLAY
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from tests.support.full_set import PLAIN, Values, without

EXACT = 1e-9
ROOT3 = math.sqrt(3)


def with_play(play: str | None, *changes: str) -> ParameterSet:
    """The plain block with this play, or with none written."""
    values: Values = {**PLAIN, "adjuster": {"pin_low": 20, "pin_high": 28}}
    return parameter_set(changed(values, ([] if play is None else [f"{PLAY}={play}"]) + [*changes]))


@settings(max_examples=60, deadline=None)
@drawn(st.integers(0, 400), st.integers(3500, 6500))
def test_play_lifts_the_thin_end_by_its_part_across_the_sole_and_leaves_the_thick_one(hundredths: int, steps: int) -> None:
    play, angle = hundredths / 100, steps / 100
    without_any, with_some = (
        known_window(with_play(f"{each} ± 0 mm", f"frog.bed_angle={angle}"), "readings").window for each in (0, play)
    )
    lifted = play * math.sin(math.radians(angle))
    assert with_some.low - without_any.low == pytest.approx(lifted, abs=EXACT)
    assert with_some.edge_high - without_any.edge_high == pytest.approx(lifted, abs=EXACT)
    assert with_some.high == without_any.high


def test_play_is_in_the_budget_of_the_thin_end_alone() -> None:
    known = known_window(with_play("0.3 ± 0.1 mm"), "readings")
    (term,) = [term for term in known.low.terms if term.path == PLAY]
    assert term.value == 0.3
    assert term.u == pytest.approx(0.1 / ROOT3, abs=1e-12)
    assert term.sensitivity == pytest.approx(math.sqrt(0.5), abs=1e-12)
    assert PLAY not in {term.path for term in known.high.terms}
    assert PLAY not in sensitivities(values_in(with_play("0.3"), "readings"), "readings", "high")


def test_monte_carlo_holds_the_budget_to_account_with_play_read_and_assumed() -> None:
    for play in ("0.3 ± 0.1 mm", None):
        given = with_play(play, "instrument.length=0.15 mm")
        known = known_window(given, "readings")
        low, high = window_samples(given, "readings", 200_000, 11)
        assert agrees(known.low, low).agrees
        assert agrees(known.high, high).agrees


def test_the_bench_has_the_play_inside() -> None:
    bench = {**without(PLAIN, "adjuster"), "bench": {"edge_low": 52.3, "edge_high": 46.7}}
    given = parameter_set({**bench, "adjuster": {"pin_low": 20, "pin_high": 28, "play": 1}})
    alone = parameter_set(bench)
    assert known_windows(given)[0].window == known_windows(alone)[0].window
    assert known_windows(given)[0].assumed == ()
    assert window_notes(settle(alone)) == ()


# Where it was not read.


def test_play_that_was_not_read_is_anything_in_its_span() -> None:
    """JCGM 100 4.3.7: the middle of the span, with u = its half over √3. The span is our own choice."""
    assert ASSUMED_PLAY == (0.0, 0.5)
    known = known_window(with_play(None), "readings")
    (term,) = [term for term in known.low.terms if term.path == PLAY]
    assert term.value == 0.25
    assert term.u == pytest.approx(0.25 / ROOT3, abs=1e-12)
    assert known.assumed == (PLAY,)
    assert known_window(with_play("0.25 ± 0.25 mm"), "readings").low == known.low
    assert known_window(with_play("0.25 ± 0.25 mm"), "readings").assumed == ()


def test_an_assumption_widens_the_safe_end_by_what_is_said() -> None:
    assumed, none = settle(with_play(None)), settle(with_play("0 ± 0 mm"))
    wider = widened_by(assumed.known, PLAY)
    assert assumed.window.low - none.window.low == pytest.approx(wider.value, abs=EXACT)
    widened = assumed.low.value + assumed.low.expanded - none.low.value - none.low.expanded
    assert widened == pytest.approx(wider.safe, abs=1e-3), "the bed angle's own part grows by a hair with the play"
    assert wider.safe > wider.value > 0
    assert assumed.safe_high == none.safe_high
    share = float(np.mean(window_samples(assumed.given, "readings")[0] <= assumed.low.value + assumed.low.expanded))
    assert share > 0.97, "the thin end is sure to 95 % on both sides, so to 97.7 % on this one"


def test_a_set_that_says_no_play_has_the_digest_of_one_that_could_not_say_it() -> None:
    """Fields that stand for nothing do not count: what is left out is not in the text that is hashed."""
    given = with_play(None)
    assert given.adjuster is not None
    assert given.adjuster.play is None
    assert given.digest != with_play("0.25 ± 0.25 mm").digest


@pytest.mark.parametrize("play", ["0.3 ± 0.1 mm", "0.3", None])
def test_a_sweep_tells_what_single_sets_tell(play: str | None) -> None:
    given = with_play(play)
    inputs = {PLAY: np.array([0.0, 0.15, 0.3, 2.0]), "frog.bed_angle": np.array([44.0, 45.0, 46.0, 50.0])}
    for varied in (inputs, {"frog.bed_angle": inputs["frog.bed_angle"]}):
        told = evaluated(given, varied)
        for row, changes in enumerate(changes_of(given, varied)):
            settled = settle(parameter_set(changed(given.model_dump(mode="json"), changes)))
            assert told["window.min"][row] == pytest.approx(settled.window.low, abs=EXACT)
            assert told["window.u_min"][row] == pytest.approx(settled.low.expanded, abs=EXACT)
            assert told["reach.in"][row] == pytest.approx(settled.window.back(settled.thickness), abs=EXACT)


def test_no_room_names_the_play_that_was_only_assumed() -> None:
    with pytest.raises(InputProblem, match=r"measure adjuster play \(adjuster.play\), which is only assumed: gives 0\.2"):
        settle(with_play(None, "body.thickness=from window", "work.deepest_cut=4.0"))


# Said wherever the thin end is shown.


def test_every_page_says_what_was_assumed() -> None:
    made = design(with_play(None))
    (note,) = window_notes(made.settled)
    assert "adjuster.play" in note
    assert "from none to 0.5 mm is assumed, by our own choice" in note
    told = report(made, solids=False)
    assert told["window"]["notes"] == [note]
    assert told["window"]["assumed"] == [
        {
            "path": PLAY, "low": 0.0, "high": 0.5, "value": 0.25,
            "adds_to_min": pytest.approx(0.25 * math.sqrt(0.5), abs=1e-8),
            "adds_to_safe_min": pytest.approx(widened_by(made.settled.known, PLAY).safe, abs=1e-8),
        }
    ]  # fmt: skip
    assert note in " ".join(as_text(made, told, solids=False).split())
    assert note in numbers_of(made)["sentences"]
    assert note in _cover(made)["thickness"]
    assert any(note in html.unescape(str(piece)) for piece in _sure(made))
    (variant, other) = compare([("a", made.given), ("b", with_play("0.3"))], solids=False).variants
    assert notes_of(variant) == (note,)
    assert notes_of(other) == ()


def test_commands_say_what_was_assumed(capsys: pytest.CaptureFixture[str], tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("sets") / "set.toml"
    path.write_text("\n".join(line for line in shipped()["jack"].splitlines() if not line.startswith("play =")))
    for command in (
        ["check", str(path), "--numbers"],
        ["compare", str(path), "jack", "--numbers"],
        ["sweep", str(path), "--vary", "cap_iron.setback=0.5mm:1mm:3"],
        ["salvage", str(path), "--thickness", "44.1 ± 0.1 mm"],
    ):
        main(command)
        assert "is assumed, by our own choice" in " ".join(capsys.readouterr().out.split()), command
    main(["sweep", str(path), "--vary", f"{PLAY}=0mm:1mm:3"])
    assert "is assumed" not in capsys.readouterr().out
    main(["check", str(path), "--numbers", "--json"])
    assert [one["path"] for one in json.loads(capsys.readouterr().out)["window"]["assumed"]] == [PLAY]


def test_a_set_in_inches_is_told_in_inches() -> None:
    values = {**load("fore").model_dump(mode="json")}
    values["adjuster"] = {**values["adjuster"], "play": None}
    (note,) = window_notes(settle(parameter_set(values)))
    assert "from none to 0.02 in is assumed" in note
    assert " mm" not in note


def test_shipped_sets_read_their_play() -> None:
    for name in shipped():
        assert window_notes(settle(load(name))) == (), name
