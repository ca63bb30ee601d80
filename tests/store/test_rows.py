"""Records and rows: what goes in comes back, whatever the fields' types."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime
from typing import Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.metadata.exif import ExifRecord
from triage.metadata.position import PlaceClaim
from triage.store import rows
from triage.store.connection import Survey, connect
from triage.store.settings import Settings


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Inner:
    east: float
    words: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Every:
    """One field of each type that a column can hold."""

    text: str = ""
    perhaps_text: str | None = None
    count: int = 0
    perhaps_count: int | None = None
    share: float = 0.0
    perhaps_share: float | None = None
    yes: bool = False
    kind: Literal["copy", "burst"] = "copy"
    raw: bytes = b""
    names: tuple[str, ...] = ()
    boxes: tuple[tuple[float, float], ...] = ()
    point: tuple[float, float] | None = None
    moment: datetime | None = None
    inner: Inner = Inner(east=0.0)


TABLE = """create table things (
    text text not null, perhaps_text text, count integer not null, perhaps_count integer,
    share real not null, perhaps_share real, yes integer not null, kind text not null,
    raw blob not null, names text not null, boxes text not null, point text not null,
    moment text, inner text not null, id integer primary key) strict"""

NUMBER = st.floats(allow_nan=False, allow_infinity=False)
WHOLE = st.integers(-(2**63), 2**63 - 1)
TEXT = st.text(st.characters(exclude_categories=["Cs"]))
RECORDS = st.builds(
    Every,
    text=TEXT,
    perhaps_text=st.none() | TEXT,
    count=WHOLE,
    perhaps_count=st.none() | WHOLE,
    share=NUMBER,
    perhaps_share=st.none() | NUMBER,
    yes=st.booleans(),
    kind=st.sampled_from(["copy", "burst"]),
    raw=st.binary(),
    names=st.lists(TEXT).map(tuple),
    boxes=st.lists(st.tuples(NUMBER, NUMBER)).map(tuple),
    point=st.none() | st.tuples(NUMBER, NUMBER),
    moment=st.none() | st.datetimes(timezones=st.just(UTC)),
    inner=st.builds(Inner, east=NUMBER, words=st.lists(TEXT).map(tuple)),
)


@pytest.fixture(scope="module")
def survey(tmp_path_factory: pytest.TempPathFactory):
    folder = tmp_path_factory.mktemp("rows")
    connection = connect(folder / "rows.db")
    connection.execute(TABLE)
    yield Survey(folder, connection, Settings())
    connection.close()


@settings(deadline=None)
@given(record=RECORDS)
def test_a_record_kept_as_a_row_reads_back(survey, record):
    number = survey.insert("things", rows.values_of(record))
    row = survey.connection.execute("select * from things where id = ?", (number,)).fetchone()
    assert rows.record_of(Every, row) == record


@settings(deadline=None)
@given(
    record=st.builds(
        ExifRecord,
        make=TEXT,
        orientation=st.none() | st.integers(1, 8),
        gps_latitude=st.none() | NUMBER,
        gps_instant=st.none() | st.datetimes(timezones=st.just(UTC)),
        oddities=st.lists(TEXT).map(tuple),
    )
)
def test_a_record_kept_as_json_reads_back(record):
    assert rows.record_of_json(ExifRecord, rows.json_of(record)) == record


@pytest.mark.parametrize(
    ("field", "value", "stored"),
    [
        ("share", np.float32(0.5), 0.5),
        ("perhaps_share", np.float64(0.25), 0.25),
        ("count", np.int64(3), 3),
        ("yes", np.bool_(True), 1),
        ("names", ("Żabno", "a"), '["Żabno", "a"]'),
        ("point", None, "null"),
        ("moment", datetime(2026, 6, 1, 12, tzinfo=UTC), "2026-06-01T12:00:00+00:00"),
        ("perhaps_text", None, None),
    ],
)
def test_a_column_holds_what_sqlite_can_keep(field, value, stored):
    column = rows.values_of(dataclasses.replace(Every(), **{field: value}))[field]
    assert column == stored
    assert type(column) is type(stored)


def test_null_is_no_text_and_unknown_columns_are_left_out():
    row = {"text": None, "perhaps_text": None, "of_later": 1}
    assert rows.record_of(Every, row, count=4) == Every(count=4)


def test_json_of_another_version_reads_what_is_known():
    assert rows.record_of_json(ExifRecord, '{"make": "Linnet", "lens": "x"}') == ExifRecord(
        make="Linnet"
    )


def test_a_claim_without_an_offer_reads_back():
    claim = PlaceClaim(
        source="camera gps",
        decimal_latitude=None,
        decimal_longitude=None,
        coordinate_uncertainty_in_meters=None,
        doubts=("not on the earth",),
    )
    assert rows.record_of(PlaceClaim, rows.values_of(claim)) == claim


def test_more_values_than_one_query_may_name_are_asked_in_portions(survey):
    survey.connection.execute("create table numbers (kind text, number integer)")
    survey.connection.executemany(
        "insert into numbers values (?, ?)", [("odd" if n % 2 else "even", n) for n in range(1200)]
    )
    query = "select number from numbers where kind = ? and number in (...)"
    found = survey.run_in(query, range(1200), "odd")
    assert sorted(row[0] for row in found) == list(range(1, 1200, 2))
    assert survey.run_in(query, [], "odd") == []


def test_update_changes_only_the_row_that_the_key_names(survey):
    survey.connection.execute("create table labels (first text, second text, words text)")
    for second in ("a", "b"):
        survey.insert("labels", {"first": "x", "second": second, "words": ""})
    survey.update("labels", {"words": "new"}, first="x", second="b")
    found = survey.connection.execute("select words from labels order by second").fetchall()
    assert [row[0] for row in found] == ["", "new"]


def test_many_rows_go_in_as_one_by_one(survey):
    survey.connection.execute("create table pairs (first text, second integer)")
    written = [{"first": word, "second": number} for number, word in enumerate("abc")]
    survey.insert_all("pairs", iter(written))
    survey.insert_all("pairs", [])
    found = survey.connection.execute("select * from pairs order by second").fetchall()
    assert [dict(row) for row in found] == written


def test_the_same_kind_of_record_is_read_from_rows_of_different_columns():
    few = rows.record_of(Inner, {"east": 1.0})
    whole = rows.record_of(Inner, {"words": '["a"]', "east": 2.0, "other": 3})
    told = rows.record_of(Inner, {"words": '["a"]', "east": 2.0}, words=("b",))
    assert (few.words, whole.words, told.words) == ((), ("a",), ("b",))
