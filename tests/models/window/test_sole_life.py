"""The life of a sole, truing by truing, against numbers worked out by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from planestock.exports.wording.window import sole_life_sentence
from planestock.models.design import design
from planestock.models.window.sole_life import MOST_ROWS, SoleLife, loss_until, mouth_after, sole_life
from planestock.models.window.thickness import settle
from planestock.params.files import load, shipped
from planestock.params.lengths import Lengths
from tests.support.full_set import plain

EXACT = 1e-9


def life(*changes: str) -> SoleLife:
    given = plain(*changes)
    return sole_life(given, settle(given))


def test_each_truing_takes_its_depth_and_opens_the_mouth_by_its_growth() -> None:
    # 45°, plumb wear: the mouth opens by 1 mm per mm.
    found = life("body.thickness=49", "work.truing_depth=0.25", "work.truings=4")
    settled = settle(plain("body.thickness=49"))
    for count, row in enumerate(found.rows):
        assert row.count == count
        assert row.removed == pytest.approx(0.25 * count, abs=EXACT)
        assert row.thickness == pytest.approx(49 - 0.25 * count, abs=EXACT)
        assert row.out == pytest.approx(74 / math.sqrt(2) - row.thickness, abs=EXACT)
        assert row.back == pytest.approx(row.thickness - 66 / math.sqrt(2), abs=EXACT)
        assert row.mouth == pytest.approx(2 + 0.25 * count, abs=EXACT)
        assert row.wear_left == pytest.approx(settled.wear_left - 0.25 * count, abs=EXACT)


def test_the_mouth_grows_faster_once_the_wear_is_planed_away() -> None:
    given = plain("throat.wear_height=4", "throat.wear_lean=10", "throat.breast_lean=30")
    wear, breast = 1 + math.tan(math.radians(10)), 1 + math.tan(math.radians(30))
    assert mouth_after(given, 3) == pytest.approx(2 + 3 * wear, abs=EXACT)
    assert mouth_after(given, 6) == pytest.approx(2 + 4 * wear + 2 * breast, abs=EXACT)


@drawn(loss=st.floats(0, 20), wear=st.floats(-10, 40), breast=st.floats(-10, 60), height=st.floats(2, 30))
def test_the_loss_until_an_opening_undoes_the_opening_after_a_loss(
    loss: float, wear: float, breast: float, height: float
) -> None:
    given = plain(f"throat.wear_height={height:.3f}", f"throat.wear_lean={wear:.3f}", f"throat.breast_lean={breast:.3f}")
    assert loss_until(given, mouth_after(given, loss)) == pytest.approx(loss, abs=1e-8)


def test_a_mouth_that_is_too_wide_already_is_due_at_once() -> None:
    found = life("throat.opening=3.5", "work.widest_mouth=3")
    assert found.mouth_piece_due == 0.0
    assert found.rows[0].due == ("mouth piece",)
    assert found.truings == 0


def test_what_is_due_first_ends_the_table_after_the_truings_that_are_wanted() -> None:
    # Mouth 2 to 3 mm: due after 1 mm. At 0.3 mm a truing three are fine, the fourth row says what is due.
    found = life("body.thickness=50", "work.truing_depth=0.3", "work.truings=2", "work.widest_mouth=3")
    assert found.mouth_piece_due == pytest.approx(1.0, abs=EXACT)
    assert [row.due for row in found.rows] == [(), (), (), (), ("mouth piece",)]
    assert found.truings == 3
    asked = life("body.thickness=50", "work.truing_depth=0.3", "work.truings=9", "work.widest_mouth=3")
    assert len(asked.rows) == 10


def test_a_truing_that_ends_exactly_at_the_widest_mouth_is_still_fine() -> None:
    found = life("body.thickness=50", "work.truing_depth=0.2", "work.truings=2", "work.widest_mouth=3")
    assert found.truings == 5
    assert found.rows[5].mouth == pytest.approx(3.0, abs=EXACT)


def test_the_slip_is_due_when_the_sure_wear_is_used_up() -> None:
    found = life("body.thickness=48", "work.truing_depth=0.1", "work.truings=1", "work.widest_mouth=12")
    settled = settle(plain("body.thickness=48"))
    assert found.slip_due == pytest.approx(settled.wear_left, abs=EXACT)
    last_good = math.floor(settled.wear_left / 0.1)
    assert found.truings == last_good
    assert found.rows[last_good + 1].due == ("slip",)


def test_a_body_too_thin_from_the_start_is_due_for_a_slip_now() -> None:
    found = life("body.thickness=46")
    assert found.slip_due == 0.0
    assert found.rows[0].due == ("slip",)


def test_the_slip_that_there_is_is_gone_when_its_thickness_is() -> None:
    assert life("body.slip=5").slip_gone == 5.0
    assert life().slip_gone is None


def test_a_table_of_very_thin_truings_is_cut_short_and_says_so() -> None:
    found = life("work.truing_depth=0.02", "work.widest_mouth=12")
    assert len(found.rows) == MOST_ROWS + 1
    assert found.cut_short
    assert not life().cut_short


def test_the_table_ends_before_the_sole_reaches_the_seat() -> None:
    found = life("work.truing_depth=3", "work.truings=50")
    assert found.rows[-1].thickness > 0
    assert found.rows[-1].thickness <= 3


def test_sole_life_in_words() -> None:
    text = sole_life_sentence(life("body.thickness=50", "work.widest_mouth=3", "work.truing_depth=0.3"), Lengths("mm"))
    settled = settle(plain("body.thickness=50"))
    assert text == (
        f"A slip is due when {settled.wear_left:.2f} mm are gone from the sole, a mouth piece when 1.00 mm are; "
        "until then the sole takes 3 truings."
    )


@pytest.mark.parametrize("name", shipped())
def test_a_shipped_sole_lives_through_the_truings_it_is_asked_for(name: str) -> None:
    given = load(name)
    found = design(given).sole_life
    assert found.truings >= given.work.truings
    assert found.rows[-1].due
