"""Salvage for who works in inches: sentences, and the set that is written, rounded to the safe side and then checked."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from planestock.exports.commands.salvage import salvaged_text
from planestock.exports.wording.salvage import standing, steps
from planestock.models.design import design
from planestock.models.salvage.judging import salvage, with_changes
from planestock.params.files import load, parsed, text_of
from planestock.params.parsing import parameter_set
from planestock.params.reading import parse

THOUSANDTH = Fraction(254, 10000)
OF_A_MILLIMETRE = Fraction(1, 1000)


@pytest.mark.parametrize(
    ("thickness", "mouth"), [("1-47/64 in", None), ("1.80 in", "0.1 in"), ("2.1 in", None), (["1.73 in", "1.735 in"], None)]
)
def test_every_repair_of_an_inch_set_is_told_and_written_in_inches(thickness: object, mouth: str | None) -> None:
    given = load("fore")
    found = salvage(given, parse(thickness, "length", "in"), None if mouth is None else parse(mouth, "length", "in"))
    target = parse(given.lengths.written(found.target), "length").exact
    assert target % THOUSANDTH == 0
    assert found.target <= found.wanted.settled.thickness
    for way in found.ways:
        told = " ".join([standing(found), *steps(found, way), *way.reasons])
        assert not re.search(r"\bc?mm?\b|\bcm²", told), told
        for change in way.plan.changes or ():
            path, _, value = change.partition("=")
            if value.endswith("deg") or path == "body.dowels.count":
                continue
            assert value.endswith(" in"), change
            assert re.fullmatch(r"[-\d./ ]+ in( ± \d*\.?\d+ in)?|\d*\.?\d{1,3} in", value), change


def test_the_set_that_is_written_is_the_one_that_was_judged() -> None:
    given = load("fore")
    found = salvage(given, parse("1-47/64 in", "length", "in"))
    way = found.recommended
    assert way is not None
    assert way.made is not None
    assert way.plan.changes is not None
    written = parameter_set(parsed(salvaged_text(found, way, "fore", []), "written"))
    assert written.digest == with_changes(given, way.plan.changes).digest
    made = design(written)
    assert made.settled.thickness == way.made.settled.thickness
    assert made.settled.thickness <= made.settled.safe_high
    assert [row.id for row in made.number_checks if row.verdict == "fail"] == []
    changed = set(salvaged_text(found, way, "fore", []).splitlines()) - set(text_of("fore").splitlines())
    assert all(re.search(r"\d in", line) for line in changed if line.strip())


def test_a_measured_thickness_stays_as_it_was_read() -> None:
    found = salvage(load("fore"), parse("1-63/64 in", "length", "in"))
    live = found.way("live with it")
    assert live.plan.changes is not None
    assert live.plan.changes[0] == "body.thickness=1-63/64 in ± 0.004 in"


def test_a_set_in_millimetres_is_written_in_thousandths() -> None:
    found = salvage(load("jack"), parse("44.1 ± 0.1 mm", "length"))
    for way in found.ways:
        for change in way.plan.changes or ():
            value = change.partition("=")[2]
            if value.endswith(" mm") and "±" not in value:
                assert parse(value, "length").exact % OF_A_MILLIMETRE == 0, change
