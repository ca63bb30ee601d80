"""A table's columns are declared once: what the file holds, what people read, in which order."""

from __future__ import annotations

import pytest

from triage.estimates.interval import Estimate
from triage.report.columns import (
    Column,
    counted,
    declared,
    interval,
    measured,
    only_filed,
    only_shown,
)
from triage.report.parts import NOTHING

Point = dict[str, float]
POINTS: list[Point] = [{"x": 1.0, "y": 0.123456789}, {"x": 2.0, "y": float("nan")}]


def estimate(value: float) -> Estimate:
    return Estimate(value=value, low=value - 1, high=value + 1, variant="")


@pytest.mark.parametrize(
    ("column", "filed", "read"),
    [
        (Column("x", "across", lambda p: p["x"]), ("1", "2"), ("1", "2")),
        (counted("x", "across", lambda p: p["x"], lambda p: "yes"), ("1", "2"), ("yes", "yes")),
        (measured("y", "up", lambda p: p["y"]), ("0.123457", ""), ("0.12", NOTHING)),
        (measured("y", "up", lambda p: p["y"], 3), ("0.123457", ""), ("0.123", NOTHING)),
    ],
)
def test_a_column_fills_the_file_in_full_and_the_page_as_people_read(column, filed, read):
    made = declared("points", "Points", POINTS, (column,))
    assert tuple(row[0] for row in made.rows) == filed
    assert tuple(row[0] for row in made.shown) == read


def test_columns_for_one_reader_alone_leave_the_other_in_order():
    columns = (
        *only_filed(first=lambda p: 1, second=lambda p: 2),
        only_shown("in words", lambda p: "near"),
        *only_filed(third=lambda p: None),
        counted("x", "across", lambda p: p["x"]),
    )
    made = declared("points", "Points", POINTS[:1], columns)
    assert made.columns == ("first", "second", "third", "x")
    assert made.rows == (("1", "2", "", "1"),)
    assert made.headings == ("in words", "across")
    assert made.shown == (("near", "1"),)
    assert made.numeric == (1,)


def test_an_estimate_is_three_numbers_in_the_file_and_one_text_for_people():
    columns = interval(("x", "low", "high"), "x", lambda p: estimate(p["x"]), 1)
    made = declared("points", "Points", POINTS[:1], columns)
    assert made.columns == ("x", "low", "high")
    assert made.rows == (("1", "0", "2"),)
    assert made.shown == (("1.0 (0.0 to 2.0)",),)


def test_an_estimate_that_is_not_there_leaves_its_cells_empty():
    made = declared("points", "Points", POINTS[:1], interval(("x", "l", "h"), "x", lambda p: None))
    assert made.rows == (("", "", ""),)
    assert made.shown == ((NOTHING,),)


def test_the_page_may_show_fewer_records_than_the_file_holds():
    columns = (Column("x", "across", lambda p: p["x"]),)
    made = declared("points", "Points", POINTS, columns, shown=POINTS[1:])
    assert (len(made.rows), made.shown) == (2, (("2",),))
    assert len(declared("points", "Points", POINTS, columns, most=1).shown) == 1
