"""The tables of words: what they say, and that they fit 80 columns."""

from __future__ import annotations

import pytest

from planestock.exports.wording.window_tables import (
    NONE,
    Table,
    budget_table,
    old_body_table,
    seasons_table,
    sole_life_table,
    suspects_table,
)
from planestock.models.design import Design, design
from planestock.params.files import load, shipped
from planestock.params.lengths import Lengths
from planestock.params.parameter_set import ParameterSet
from tests.support.full_set import plain

BOTH = ("bench.edge_low=52.9 ± 0.05 mm", "bench.edge_high=46.6 ± 0.05 mm")
OLD = ("old_body.thickness_mouth=48.5", "old_body.sole_patch=4", "old_body.top_patch=1.5")


def tables_of(made: Design) -> list[Table]:
    settled, old = made.settled, made.old_body
    return [
        budget_table("Thinnest", settled.low, Lengths("mm")),
        budget_table("Thickest", settled.high, Lengths("mm")),
        budget_table("Mouth", settled.mouth, Lengths("mm")),
        seasons_table(made.seasons, Lengths("mm")),
        sole_life_table(made.sole_life, Lengths("mm")),
        *([old_body_table(old, Lengths("mm"))] if old else []),
        *([suspects_table(settled.comparison, Lengths("mm"))] if settled.comparison else []),
    ]


def columns(table: Table) -> int:
    lines = (table.headings, *table.rows)
    return sum(max(len(line[place]) for line in lines) + 2 for place in range(len(table.headings))) - 2


@pytest.mark.parametrize("made", [*map(load, shipped()), plain(*BOTH, *OLD)], ids=[*shipped(), "both roads"])
def test_every_table_is_full_and_fits_80_columns(made: ParameterSet) -> None:
    for table in tables_of(design(made)):
        assert table.rows
        assert all(len(row) == len(table.headings) for row in table.rows)
        assert columns(table) <= 80, table.title


def test_a_budget_is_sorted_by_share_and_summed() -> None:
    table = budget_table("Thickest", design(load("jack")).settled.high, Lengths("mm"))
    assert table.rows[0] == ("frog.bed_angle", "45.00°", "0.1155", "+0.9071", "0.1047", "68 %")
    assert table.rows[-1] == ("together", "48.20 mm", "", "", "0.1266", "± 0.25 mm")


def test_what_a_body_does_not_have_is_left_blank_not_invented() -> None:
    rows = {row[0]: row[1:] for row in seasons_table(design(plain()).seasons, Lengths("mm")).rows}
    assert rows["gap around the casting"] == (NONE, NONE, NONE)
    assert rows["thickness"][0] == "50.00"


def test_the_old_body_and_the_suspects_are_told() -> None:
    made = design(plain(*BOTH, *OLD))
    assert made.old_body is not None
    assert made.settled.comparison is not None
    states = {row[0]: row[3] for row in old_body_table(made.old_body, Lengths("mm")).rows}
    assert states == {
        "as measured": "would work",
        "without what was added below": "cannot work",
        "without what was added on top": "would work",
        "without all that was added": "cannot work",
    }
    suspects = suspects_table(made.settled.comparison, Lengths("mm")).rows
    assert suspects[0][0] in {"bench.edge_low", "adjuster.pin_low"}
    assert suspects[0][2].endswith(" %")
    alike = {row[0]: row[1] for row in suspects}
    assert alike["cap_iron.slot_to_edge"] == alike["cap_iron.setback"] != alike["adjuster.pin_low"]


def test_sole_life_says_what_is_due() -> None:
    rows = sole_life_table(design(load("jack")).sole_life, Lengths("mm")).rows
    assert rows[0] == ("0", "0.00", "47.19", "1.81", "3.00", "1.64", "2.20", NONE)
    assert rows[-1][-1] == "mouth piece"
