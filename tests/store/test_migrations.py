"""The schema: from blank, from the oldest with rows kept, and what it refuses."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import numpy as np
import pytest

from triage.errors import SurveyError
from triage.store import copies, messages, migrations, queue_order
from triage.store.connection import DATABASE, connect, create_survey, open_survey

NAMES = migrations.names()


def schema(connection: sqlite3.Connection, kind: str = "%") -> dict[str, str]:
    """What the database is made of, as SQL: tables, indexes, views and triggers, or one of them."""
    rows = connection.execute(
        "select name, sql from sqlite_master where type like ? and name not like '%sqlite%'",
        (kind,),
    )
    return {row["name"]: " ".join(row["sql"].split()) for row in rows}


def oldest(path: Path) -> sqlite3.Connection:
    """A database as the first migration left it, with a mail, two states and an undone action."""
    connection = sqlite3.connect(path, isolation_level=None)
    apply_first(connection, 1)
    connection.executescript(
        """
        insert into people (id, code, name) values (1, 'P-1', 'Una Lark');
        insert into addresses values ('una@example.org', 1);
        insert into messages (id, identifier, message_header, raw_sha256, raw_name, in_reply_to,
            reference_headers, sender_id, sent_at, subject, automatic, links, problems, origin,
            taken_in_at) values (7, 'abcdef', 'm@example.org', 'r', '', '', '[]', 1,
            '2026-07-01T10:00:00+02:00', 'Seen', '', '[]', '[]', 'a.mbox', '2026-07-02T08:00:00Z');
        insert into actions (id, at, by_name, command, summary) values
            (1, '2026-07-02T08:00:00Z', 'Co', 'settle', 'x');
        insert into actions (id, at, by_name, command, summary, undoes) values
            (2, '2026-07-02T08:01:00Z', 'Co', 'undo', 'x', 1);
        insert into message_states (message_id, state, reason, at, action_id) values
            (7, 'waiting', 'earlier', '2026-07-02T08:00:00Z', null),
            (7, 'settled', 'taken back', '2026-07-02T08:00:00Z', 1);
        insert into photos (sha256, format, width, height, byte_size)
            values (hex(zeroblob(32)), 'image/jpeg', 3, 2, 10);
        """
    )
    return connection


def apply_first(connection: sqlite3.Connection, count: int) -> None:
    """Leave the database as a version with so many migrations did."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(migrations, "names", lambda: NAMES[:count])
        migrations.apply(connection)


@pytest.fixture
def survey(tmp_path: Path):
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as opened:
        yield opened


def test_a_new_survey_has_every_migration_in_order(survey):
    rows = survey.connection.execute("select name from _sqlite_migrations").fetchall()
    assert [row[0] for row in rows] == NAMES
    assert [int(name[1:4]) for name in NAMES] == [*range(1, len(NAMES) + 1)]


def test_every_table_is_strict_and_has_a_key(survey):
    for name, sql in schema(survey.connection, "table").items():
        assert sql.rstrip().endswith("strict"), name
        columns = survey.connection.execute(f"pragma table_info({name})").fetchall()
        assert any(column["pk"] for column in columns), name


@pytest.mark.parametrize("count", [1, 2, 6, 8, 11, 15, 21, 25, 27, len(NAMES) - 1])
def test_a_survey_of_any_earlier_version_becomes_the_newest_with_its_rows_kept(
    tmp_path: Path, count: int
):
    folder = tmp_path / "old"
    folder.mkdir()
    before = oldest(folder / DATABASE)
    apply_first(before, count)
    before.close()
    create_survey(tmp_path / "new")
    with open_survey(folder) as old, open_survey(tmp_path / "new") as new:
        assert schema(old.connection) == schema(new.connection)
        row = messages.find(old, "abcdef")
        assert (row.sender_name, row.subject) == ("Una Lark", "Seen")
        assert (row.state, row.state_reason) == ("waiting", "earlier")
        assert old.connection.execute("select count(*) from photos").fetchone()[0] == 1
        assert old.connection.execute("pragma foreign_key_check").fetchall() == []


def test_migrating_again_changes_nothing(survey):
    before = "\n".join(survey.connection.iterdump())
    migrations.apply(survey.connection)
    assert "\n".join(survey.connection.iterdump()) == before


def test_a_failing_migration_leaves_the_survey_as_it_was(tmp_path: Path, monkeypatch):
    folder = tmp_path / "old"
    folder.mkdir()
    oldest(folder / DATABASE).close()
    broken = shutil.copytree(migrations.SCHEMA, tmp_path / "schema")
    with (broken / f"{NAMES[1]}.sql").open("a", encoding="utf-8") as file:
        file.write("create table broken (")
    monkeypatch.setattr(migrations, "SCHEMA", broken)
    with pytest.raises(SurveyError, match="cannot be opened"), open_survey(folder):
        pass
    connection = connect(folder / DATABASE)
    assert migrations.applied(connection) == {NAMES[0]}
    columns = connection.execute("pragma table_info(messages)").fetchall()
    connection.close()
    assert "state_due" not in [column["name"] for column in columns]


def test_a_survey_of_a_newer_version_is_refused_and_told_so(survey):
    survey.connection.execute(
        "insert into _sqlite_migrations (migration_set, name, applied_at)"
        " values ('triage', 'm999_later', '2030-01-01')"
    )
    said = r"m999_later: .* newer version\. Update the program"
    with pytest.raises(SurveyError, match=said), open_survey(survey.folder):
        pass


@pytest.mark.parametrize("content", [b"no database at all, but long enough to be looked at" * 90])
def test_a_damaged_database_is_named_with_what_to_do(tmp_path: Path, content: bytes):
    create_survey(tmp_path)
    (tmp_path / DATABASE).write_bytes(content)
    said = r"survey\.db: .*Restore survey\.db from a copy"
    with pytest.raises(SurveyError, match=said), open_survey(tmp_path):
        pass


def test_a_folder_without_survey_is_named_with_what_to_do(tmp_path: Path):
    with pytest.raises(SurveyError, match=r"holds no survey.*triage init"), open_survey(tmp_path):
        pass


def test_foreign_keys_hold_on_every_connection(survey):
    for connection in (survey.connection, connect(survey.folder / DATABASE)):
        assert connection.execute("pragma foreign_keys").fetchone()[0] == 1
        with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
            connection.execute("insert into addresses values ('a@example.org', 99)")
    connection.close()


@pytest.mark.parametrize("value", [np.float32(0.5), np.int64(3), "many", b"3"])
def test_a_value_of_another_type_is_refused(survey, value: object):
    with pytest.raises(sqlite3.IntegrityError, match="cannot store"):
        survey.connection.execute(
            "insert into taxon_scores values ('index', 'Aeshna', ?)", (value,)
        )


@pytest.mark.parametrize(
    ("table", "values"),
    [
        ("photos", {"sha256": "short", "format": "", "width": 1, "height": 1, "byte_size": 1}),
        ("camera_corrections", {"message_id": 1, "camera": "", "offset_seconds": 1.0}),
        ("notes", {"name": "x", "value": None}),
    ],
)
def test_rows_out_of_range_are_refused(survey, table: str, values: dict[str, object]):
    marks = ", ".join("?" * len(values))
    with pytest.raises(sqlite3.IntegrityError):
        survey.connection.execute(
            f"insert into {table} ({', '.join(values)}) values ({marks})", list(values.values())
        )


def test_a_transaction_that_fails_writes_nothing(survey):
    def interrupted() -> None:
        with survey.transaction():
            survey.connection.execute("insert into notes values ('a', 'b')")
            with survey.transaction():
                survey.connection.execute("insert into notes values ('c', 'd')")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert survey.connection.execute("select count(*) from notes").fetchone()[0] == 0


NIGHTLY = {
    "photos to link": "select sha256 from photos where linked_with < 'm' or linked_with > 'm'",
    "hashes of linked": "select group_concat(sha256, ''), group_concat(content_phash, '')"
    " from photos where linked_with = 'm' and phash <> '' and content_phash <> ''",
    "photos to group": "select sha256 from photos where (grouped_with < 'm' or grouped_with > 'm')"
    " and examined_with <> ''",
    "photos to examine": "select sha256 from photos where examined_with < 'm'"
    " or examined_with > 'm'",
    "photos of a day": "select sha256 from photos where"
    " substr(json_extract(exif, '$.date_time_original'), 1, 10) = '2026-07-01'",
    "photos of a place": "select sha256 from photos where"
    " json_extract(exif, '$.gps_latitude') between 1 and 2",
    "an undated photo of a place": "select sha256 from photos where"
    " json_extract(exif, '$.gps_latitude') between 1 and 2"
    " and json_extract(exif, '$.gps_longitude') between 1 and 2"
    " and substr(json_extract(exif, '$.date_time_original'), 1, 10) = ''",
    "whether a photo is undated": "select 1 from photos indexed by photos_undated where"
    " substr(json_extract(exif, '$.date_time_original'), 1, 10) = '' and sha256 = 'a'",
    "whether a place is unsure": "select 1 from place_claims indexed by place_claims_unsure where"
    f" photo = 'a' and {copies._UNSURE}",
    "partitions": "select sha256 from photos where partition in ('1 2026-07-01')",
    "due messages": "select id from messages where state_due = 1",
    "open messages": "select id from messages where state in ('', 'open', 'waiting')",
    "texts to read": "select id from messages where texts_read_with < 'k' or texts_read_with > 'k'",
    "a photo's appearances": "select * from appearances where photo in ('a')",
    "a sighting's photos": "select * from sighting_photos where sighting_id in (1)",
    "sightings of a photo": "select s.identifier from sighting_photos p join known_sightings s"
    " on s.id = p.sighting_id where p.photo in ('a')",
    "a sighting by its first digits": "select * from known_sightings where identifier"
    " between 'ab' and 'ab~'",
    "links of a photo": "select * from photo_links where second in ('a')",
    "claims of a photo": "select * from time_claims where photo in ('a')",
    "states of a message": "select max(id) from message_states where message_id = 1",
}


@pytest.mark.parametrize("what", NIGHTLY)
def test_what_a_night_asks_is_answered_from_an_index(survey, what: str):
    plan = [
        row["detail"] for row in survey.connection.execute("explain query plan " + NIGHTLY[what])
    ]
    of_people = ("actions", "live_actions", " a ", "SCAN a")  # as many as people have done
    scans = [
        step
        for step in plan
        if step.startswith("SCAN") and "INDEX" not in step and not any(x in step for x in of_people)
    ]
    assert scans == [], plan


def test_what_waits_for_a_determiner_is_counted_from_those_that_somebody_named(survey):
    asked: list[str] = []
    survey.connection.set_trace_callback(asked.append)
    queue_order.count(survey, person=1)
    survey.connection.set_trace_callback(None)
    [with_names] = [query for query in asked if "json_each" in query]
    [first, *_] = survey.connection.execute(f"explain query plan {with_names}")
    assert "INDEX queue_order_by_had" in first["detail"]


def test_a_database_that_cannot_be_opened_is_let_go(tmp_path: Path, monkeypatch):
    closed = []

    class Noted(sqlite3.Connection):
        def close(self) -> None:
            closed.append(True)
            super().close()

    made = sqlite3.connect
    monkeypatch.setattr(sqlite3, "connect", lambda *args, **how: made(*args, factory=Noted, **how))
    (tmp_path / DATABASE).write_bytes(b"no database " * 100)
    with pytest.raises(sqlite3.DatabaseError):
        connect(tmp_path / DATABASE)
    assert closed
