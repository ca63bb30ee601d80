"""Days with slashes: the table as a whole tells day from month, or is one question.

Which order a country's spreadsheets write: Unicode CLDR, short date patterns (dd/MM/y in the United
Kingdom and France, M/d/yy in the United States).
"""

from datetime import date
from pathlib import Path

import pytest

from triage.cli import main
from triage.errors import TableError
from triage.exuviae import read_visits
from triage.store import evidence
from triage.store.connection import open_survey

TODAY = date(2026, 11, 24)
# The days of a table in their column, how they are said to be written, and what comes out.
READ = [
    ("03/08/2026 25/08/2026 7/6/2026", "", "2026-08-03 2026-08-25 2026-06-07"),
    ("8/3/2026 8/25/2026 6/7/2026", "", "2026-08-03 2026-08-25 2026-06-07"),
    ("03-08-2026 25-08-2026", "", "2026-08-03 2026-08-25"),
    ("03/08/2026T09:30 25/08/2026T00:00:00", "", "2026-08-03 2026-08-25"),
    ("07/07/2026 08/08/2026", "", "2026-07-07 2026-08-08"),
    ("03/08/2026 05/06/2026", "day first", "2026-08-03 2026-06-05"),
    ("03/08/2026 05/06/2026", "month first", "2026-03-08 2026-05-06"),
    ("2026-08-13 05/06/2026", "", "2026-08-13 refused"),
    ("2026-08-13 05/06/2026 14/06/2026", "", "2026-08-13 2026-06-05 2026-06-14"),
    ("13/13/2026 14/06/2026", "", "refused 2026-06-14"),
    ("31/06/2026 14/06/2026", "", "refused 2026-06-14"),
    ("05/12/2026 25/08/2026", "", "refused 2026-08-25"),  # a day after today
    ("03/08/26 25/08/26", "", "refused refused"),
]
ASKED = [
    ("03/08/2026 05/06/2026", "", "can be read in two ways"),
    ("03/08/2026 25/08/2026", "month first", "is no day written month/day/year"),
    ("25/08/2026 06/13/2026 03/08/2026", "", "in two orders"),
    ("25/08/2026 06/13/2026", "day first", "in two orders"),
    # Typed day first, opened by a spreadsheet set to the United States: 03/08 became 8 March.
    ("2026-03-08 25/08/2026 2026-05-06", "", "may have exchanged day and month"),
]


def read(tmp_path, days, order=""):
    rows = "".join(f"V{n},A,{day.replace('T', ' ')}\n" for n, day in enumerate(days.split()))
    path = tmp_path / "visits.csv"
    path.write_text(f"eventID,locationID,eventDate\n{rows}", encoding="utf-8")
    return read_visits(path, today=TODAY, day_order=order)


@pytest.mark.parametrize(("days", "order", "expected"), READ)
def test_days_are_read_in_the_one_order_of_their_table(tmp_path, days, order, expected):
    visits, _ = read(tmp_path, days, order)
    by_number = {visit.event_id: visit.first_day for visit in visits}
    count = len(days.split())
    assert [by_number.get(f"V{n}", "refused") for n in range(count)] == expected.split()


@pytest.mark.parametrize(("days", "order", "expected"), ASKED)
def test_a_table_whose_order_is_not_plain_is_one_question(tmp_path, days, order, expected):
    with pytest.raises(TableError, match=expected) as asked:
        read(tmp_path, days, order)
    assert "2026-06-13" in asked.value.next_step or "other order" in asked.value.next_step


def test_the_day_that_shows_the_order_is_told_and_nothing_is_refused(tmp_path):
    [told] = read(tmp_path, "03/08/2026 25/08/2026")[1]
    assert (told.line, told.column, told.only_told) == (3, "eventDate", True)
    assert "25/08/2026 shows that the days of this table are written day/month/year" in told.reason
    assert read(tmp_path, "03/08/2026 25/08/2026", "day first")[1] == []
    assert read(tmp_path, "14/08/2026 25/08/2026")[1] == []


def test_the_question_is_answered_on_the_command_line(tmp_path, capsys):
    path, folder = tmp_path / "visits.csv", str(tmp_path / "survey")
    path.write_text("eventID,locationID,eventDate\nV1,A,03/08/2026\n", encoding="utf-8")
    assert main(["init", "--survey", folder]) == 0
    assert main(["visits", str(path), "--survey", folder]) == 1
    assert "--day-first or --month-first" in capsys.readouterr().err
    assert main(["visits", str(path), "--survey", folder, "--day-first"]) == 0
    with open_survey(Path(folder)) as survey:
        assert [visit.first_day for visit in evidence.visits(survey)] == ["2026-08-03"]
