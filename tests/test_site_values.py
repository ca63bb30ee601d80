"""Values measured at sites, in plain words or in Darwin Core terms."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from triage.errors import TableError
from triage.exuviae import SiteMeasurement, read_site_values
from triage.exuviae.site_values import TERMS

PLAIN = "site,date,variable,value,unit,method"
ROW = "LNT-01,2026-06-01,conductivity,310.5,uS/cm,field meter"


def read(tmp_path: Path, *lines: str, today: date | None = None):
    path = tmp_path / "water.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return read_site_values(path, today=today)


@pytest.mark.parametrize("head", [PLAIN, ",".join(TERMS)])
def test_plain_words_and_terms_head_the_same_columns(tmp_path: Path, head: str):
    assert read(tmp_path, head, ROW) == (
        [
            SiteMeasurement(
                location_id="LNT-01",
                measured_on="2026-06-01",
                variable="conductivity",
                value=310.5,
                unit="uS/cm",
                method="field meter",
            )
        ],
        [],
    )


def test_unit_and_method_may_be_left_out(tmp_path: Path):
    (found,), refused = read(tmp_path, "site,date,variable,value", "LNT-01,2026-06-01,pH,7.2")
    assert (found.unit, found.method, refused) == ("", "", [])


@pytest.mark.parametrize("head", ["pond,day,thing,value", "site,measurementType,date,value"])
def test_a_table_headed_otherwise_or_half_so_is_refused(tmp_path: Path, head: str):
    with pytest.raises(TableError):
        read(tmp_path, head, "A,2026-06-01,pH,7")


def test_one_value_for_a_site_a_day_a_variable_and_a_method(tmp_path: Path):
    others = [
        ROW.replace("LNT-01", "LNT-02"),
        ROW.replace("06-01", "06-02"),
        ROW.replace("conductivity", "salinity"),
        ROW.replace("field meter", "laboratory"),
    ]
    found, refused = read(tmp_path, PLAIN, ROW, *others, ROW.replace("310.5", "300"))
    assert len(found) == 4
    assert [(one.line, one.column) for one in refused] == [(2, "site"), (7, "site")]
    assert "line 2" in refused[1].reason


@pytest.mark.parametrize(
    ("row", "column"),
    [
        (ROW.replace("310.5", "<0.01"), "value"),
        (ROW.replace("310.5", ""), "value"),
        (ROW.replace("2026-06-01", "June"), "date"),
        (ROW.replace("2026-06-01", ""), "date"),
        (ROW.replace("LNT-01", ""), "site"),
        (ROW.replace("conductivity", ""), "variable"),
    ],
)
def test_a_row_that_cannot_be_used_is_refused_with_its_column(tmp_path: Path, row, column):
    found, refused = read(tmp_path, PLAIN, row)
    assert found == []
    assert [(one.line, one.column) for one in refused] == [(2, column)]


def test_a_day_to_come_is_refused_where_today_is_known(tmp_path: Path):
    assert read(tmp_path, PLAIN, ROW, today=date(2026, 6, 1))[1] == []
    found, refused = read(tmp_path, PLAIN, ROW, today=date(2026, 5, 31))
    assert (found, [one.column for one in refused]) == ([], ["date"])
