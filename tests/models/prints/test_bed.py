"""Letters that need no font, and plates that need no luck."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planestock.models.prints.bed import APART, Bed, longest_on, plates, spin_that_fits
from planestock.models.prints.lettering import LEAST_TALL, STROKES, drawable, fitted, length, lettering
from planestock.models.prints.meshing import block, mesh_of
from tests.support.prints_support import assert_sound

BED = Bed(220, 180, 200)


@given(st.lists(st.tuples(st.floats(1, 220), st.floats(1, 180)), min_size=1, max_size=25))
def test_plates_hold_every_piece_once_inside_the_bed_and_apart(footprints: list[tuple[float, float]]) -> None:
    laid = plates(footprints, BED)
    assert sorted(index for plate in laid for index, _ in plate) == list(range(len(footprints)))
    for plate in laid:
        boxes = [(x, y, x + footprints[index][0], y + footprints[index][1]) for index, (x, y) in plate]
        assert all(x >= 0 and y >= 0 and right <= BED.x + 1e-5 and back <= BED.y + 1e-5 for x, y, right, back in boxes)
        for one, other in itertools.combinations(boxes, 2):
            gaps = (other[0] - one[2], one[0] - other[2], other[1] - one[3], one[1] - other[3])
            assert max(gaps) >= APART - 1e-5


def test_the_longest_box_is_the_longest_that_fits() -> None:
    for wide, high in ((30.0, 50.0), (80.0, 20.0), (10.0, 199.0)):
        most = longest_on((0.0, 0.0, -1.0), wide, high, BED)
        for length_, ok in ((most - 1e-3, True), (most + 3.0, False)):
            corners = mesh_of(block((0, 0, 0), (length_, wide, high))).vertices
            assert (spin_that_fits(corners, BED) is not None) is ok, (wide, high, length_)
    assert longest_on((0.0, 0.0, -1.0), 30.0, 201.0, BED) == 0
    assert longest_on((0.0, 1.0, 0.0), 30.0, 150.0, BED) == pytest.approx(longest_on((0.0, 0.0, -1.0), 150.0, 30.0, BED))


@settings(max_examples=60)
@given(st.text(max_size=80))
def test_any_text_becomes_letters_that_are_drawn_here(text: str) -> None:
    words = drawable(text)
    assert set(words) <= set(STROKES)
    shown, tall = fitted(text, 60.0, 8.0)
    assert shown == "" or (LEAST_TALL <= tall <= 8.0 and length(shown, tall) <= 60.0 + 1e-6)


def test_letters_stand_on_the_origin_and_are_as_long_as_they_say() -> None:
    body = lettering("HELLO", 6.0, 1.0)
    x0, y0, z0, x1, y1, z1 = body.bounding_box()
    assert (x0, y0, z0, z1) == pytest.approx((0, 0, 0, 1), abs=1e-6)
    assert x1 == pytest.approx(length("HELLO", 6.0))
    assert y1 == pytest.approx(6.0 + 1.02)


def test_every_letter_is_solid_and_unlike_the_others_but_for_o_and_nought() -> None:
    for letter in sorted(set(STROKES) - {" "}):
        for part in lettering(letter, 6.0, 1.0).decompose():
            assert_sound(mesh_of(part), letter)
    alike = [pair for pair in itertools.combinations(sorted(STROKES), 2) if STROKES[pair[0]] == STROKES[pair[1]]]
    assert alike == [("0", "O")]


def test_accents_are_dropped_and_what_is_not_drawn_is_marked_or_left_out() -> None:
    assert drawable("Schöner Hobel №7") == "SCHONER HOBEL NO7"
    assert drawable("a木b") == "A?B"
    assert drawable("木🪵") == ""
    assert fitted("a very long name indeed that has no room", 40.0, 8.0)[0].endswith("..")
    assert np.isclose(fitted("AB", 100.0, 8.0)[1], 8.0)
