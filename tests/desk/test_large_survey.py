"""No page and no determination loads the whole survey: rows are counted, nothing is timed."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from triage.bench.desk import PAGES, Browser, add_tables, name_half
from triage.bench.scale import make_survey
from triage.desk import create_app
from triage.store import connection

SIZES = (1_000, 4_000)
READ_WHOLE = 10  # times that one request may read all people; there are few of them
ONE_PAGE = (*PAGES, "/determine/next", "/survey/people", "/survey/hand-on", "/sites/at?site=S05")


@pytest.fixture(scope="module")
def surveys(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Path]:
    """Two simulated surveys, half of whose sightings are named."""
    made = {}
    for size in SIZES:
        made[size] = tmp_path_factory.mktemp("large") / str(size)
        make_survey(made[size], size)
        add_tables(made[size])
        name_half(made[size])
    return made


@pytest.fixture
def rows(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many rows the database has given out so far."""
    counted = [0]
    connect = connection.connect

    def counting(path: Path) -> sqlite3.Connection:
        opened = connect(path)

        def row(cursor: sqlite3.Cursor, values: tuple[object, ...]) -> sqlite3.Row:
            counted[0] += 1
            return sqlite3.Row(cursor, values)

        opened.row_factory = row
        return opened

    monkeypatch.setattr(connection, "connect", counting)
    return counted


def rows_of_pages(folder: Path, rows: list[int]) -> dict[str, int]:
    """Rows that each page reads once it was opened before, and a determination with the next."""
    app = create_app(folder)
    browser = Browser(app)
    browser.come_in("Ada Moor")
    found = {}
    for page in (*ONE_PAGE, "one message"):
        path = browser.leads_to("/inbox/") if page == "one message" else page
        browser.get(path)
        before = rows[0]
        browser.get(path)
        found[page] = rows[0] - before
    before = rows[0]
    browser.determine()
    found["a determination"] = (rows[0] - before) // 3  # a look, the record, the next look
    return found


def count_people(folder: Path) -> int:
    with connection.open_survey(folder) as survey:
        return int(survey.connection.execute("select count(*) from people").fetchone()[0])


def test_rows_read_do_not_grow_with_the_survey(surveys: dict[int, Path], rows: list[int]):
    small, large = (rows_of_pages(surveys[size], rows) for size in SIZES)
    people = [count_people(surveys[size]) for size in SIZES]
    allowed = READ_WHOLE * (people[1] - people[0]) + 100
    assert allowed < (SIZES[1] - SIZES[0]) * 0.6
    grown = {page: large[page] - small[page] for page in small}
    assert {page: more for page, more in grown.items() if more > allowed} == {}
    assert min(large.values()) > 0


def test_a_determination_has_only_its_own_sighting_looked_at_again(
    surveys: dict[int, Path], rows: list[int]
):
    """The table of sites by taxa reads its tallies, and one sighting more after a determination."""
    browser = Browser(create_app(surveys[SIZES[1]]))
    browser.come_in("Bo Lind")
    app = browser.client.application
    browser.get("/sites/table")
    app.extensions["figures"].join(120)
    browser.get("/sites/table")
    app.extensions.pop("sites by taxa, blind False")
    before = rows[0]
    browser.get("/sites/table")
    unchanged = rows[0] - before
    browser.determine()
    before = rows[0]
    browser.get("/sites/table")
    assert 0 < rows[0] - before - unchanged < 600  # the sighting, people, sites
