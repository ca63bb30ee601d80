"""A table's columns are declared once: what the file holds, what people read, in which order."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pytest

from triage.estimates.interval import Estimate
from triage.report.columns import declared
from triage.report.parts import NOTHING
from triage.report.wording import plot_words, written

TABLES = written("tables.toml")


def nearness(**found: float) -> dict[str, float]:
    return {"adults": 3, "test.observed": 123.456789, "test.p": 0.0123456789, **found}


def cell(table, heading: str) -> tuple[str, str]:
    """What the file and what people have of the first record under a heading they share."""
    return table.rows[0][table.columns.index(heading)], table.shown[0][
        table.headings.index(heading)
    ]


@pytest.mark.parametrize(
    ("p", "filed", "read"), [(0.0123456789, "0.0123457", "0.012"), (math.nan, "", NOTHING)]
)
def test_a_number_fills_the_file_in_full_and_the_page_rounded(p: float, filed: str, read: str):
    assert cell(declared("nearness", [nearness(**{"test.p": p})]), "p") == (filed, read)


def test_columns_for_one_reader_alone_leave_the_other_in_order():
    says = {"of_total": lambda one: "1 of 2", "share": lambda one: None}
    made = declared(
        "losses", [{"stage": "lots", "reason": "lost", "count": 1, "total": 2}], says=says
    )
    assert made.columns == ("stage", "reason", "count", "total", "share", "shareLow", "shareHigh")
    assert made.rows == (("lots", "lost", "1", "2", "", "", ""),)
    assert made.headings == ("stage", "reason", "count", "share")
    assert made.shown == (("lots", "lost", "1 of 2", NOTHING),)
    assert made.numeric == (2, 3)


def test_an_estimate_is_three_numbers_in_the_file_and_one_text_for_people():
    kappa = Estimate(value=0.5, low=0.25, high=0.75, variant="")
    made = declared(
        "agreement-of-pairs", [{"rank": "genus", "first": "A", "second": "B", "kappa": kappa}]
    )
    assert made.columns[-3:] == ("kappa", "low95", "high95")
    assert made.rows == (("genus", "A", "B", "0.5", "0.25", "0.75"),)
    assert made.values == (("genus", "A", "B", 0.5, 0.25, 0.75),)
    assert made.shown == (("genus", "A", "B", "0.50 (0.25 to 0.75)"),)


def test_names_are_one_text_and_terms_find_their_attributes():
    @dataclass
    class Mark:
        location_id: str = "AP"
        what: tuple[str, ...] = ("gap", "site")
        name: str = ""
        latitude: float = 53.123456789
        longitude: float = 21.0
        records: int = 2

    made = declared("map", [Mark()], says={"whole_metres": lambda one: None})
    assert made.rows == (("gap | site", "", "AP", "53.12345679", "21", "", "2"),)


def test_the_page_may_show_fewer_records_than_the_file_holds():
    records = [nearness(adults=number) for number in range(50)]
    assert len(declared("nearness", records).shown) == 40
    made = declared("nearness", records, shown=records[49:])
    assert (len(made.rows), len(made.shown)) == (50, 1)
    assert cell(made, "adults") == ("0", "49")


def test_a_note_tells_what_it_is_told():
    assert "fewer than 7 days" in declared("seasons", [], fewest_visits=7).note
    assert plot_words("seasons", when="2026", fewest=5, cut="")["title"].endswith(", 2026")


@pytest.mark.parametrize("name", TABLES)
def test_every_declared_column_has_a_reader_and_a_name_of_its_own(name: str):
    columns = TABLES[name]["columns"]
    assert all(one.keys() <= {"file", "people", "of", "as", "right", "digits"} for one in columns)
    assert all("file" in one or "people" in one for one in columns)
    made = declared(name, [], fewest_visits=5, pairs=0)
    assert len(set(made.columns)) == len(made.columns)
    assert len(made.headings) == sum("people" in one for one in columns)
