"""Damage of every kind is planted in a finished survey, and audit must find and name it."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from tests_support import NOW, dump

from triage.cli import main
from triage.determinations import Statement
from triage.inbox import Settlement
from triage.pipeline import audit, determine, publish, repair, settle
from triage.pipeline.standing import sightings
from triage.store import messages, previews
from triage.store.connection import open_survey

Damage = Callable[[Path], None]


def sql(text: str) -> Damage:
    def plant(folder: Path) -> None:
        connection = sqlite3.connect(folder / "survey.db")
        connection.executescript(text)
        connection.commit()
        connection.close()

    return plant


def changed_file(where: str, change: Callable[[bytes], bytes]) -> Damage:
    def plant(folder: Path) -> None:
        path = min(path for path in (folder / where).rglob("*") if path.is_file())
        path.chmod(0o600)
        path.write_bytes(change(path.read_bytes()))

    return plant


def removed(where: str) -> Damage:
    def plant(folder: Path) -> None:
        path = folder / where
        found = path if path.is_file() else min(p for p in path.rglob("*") if p.is_file())
        found.chmod(0o600)
        found.unlink()

    return plant


def renamed(suffix: str, stem: str = "") -> Damage:
    def plant(folder: Path) -> None:
        path = min(path for path in (folder / "originals").rglob("*") if path.is_file())
        path.rename(path.with_name((stem or path.stem) + suffix))

    return plant


def linked(folder: Path) -> None:
    path = min(path for path in (folder / "originals").rglob("*") if path.is_file())
    path.unlink()
    path.symlink_to(folder / "nowhere")


def emptied(folder: Path) -> None:
    for path in folder.glob("survey.db*"):
        path.unlink()
    main(["init", "--survey", str(folder)])


def index_entry_lost(folder: Path) -> None:
    """Take the last entry off the first page of an index (fileformat2, section 1.6)."""
    connection = sqlite3.connect(folder / "survey.db")
    connection.execute("pragma wal_checkpoint(truncate)")
    query = "select rootpage from sqlite_master where name = 'parts_by_content'"
    (page,) = connection.execute(query).fetchone()
    (size,) = connection.execute("pragma page_size").fetchone()
    connection.close()
    content = bytearray((folder / "survey.db").read_bytes())
    cells = slice((page - 1) * size + 3, (page - 1) * size + 5)
    content[cells] = (int.from_bytes(content[cells], "big") - 1).to_bytes(2, "big")
    (folder / "survey.db").write_bytes(bytes(content))


def folder_replaced(folder: Path) -> None:
    (folder / "originals").rename(folder / "elsewhere")
    (folder / "originals").write_text("moved")


def foreign_log(folder: Path) -> None:
    other = folder.with_name("other")
    shutil.copytree(folder, other)
    connection = sqlite3.connect(other / "survey.db", isolation_level=None)
    connection.execute("pragma journal_mode = wal")
    connection.execute("pragma wal_autocheckpoint = 0")
    connection.execute("update sites set locality = 'Elsewhere'")
    shutil.copy(other / "survey.db-wal", folder / "survey.db-wal")
    connection.close()


PLANTED: dict[str, Damage] = {
    "an original is missing": removed("originals"),
    "an original is shorter": changed_file("originals", lambda content: content[:-1]),
    "an original has one bit flipped": changed_file(
        "originals", lambda content: bytes([content[0] ^ 1]) + content[1:]
    ),
    "an original is empty": changed_file("originals", lambda content: b""),
    "an original has another ending": renamed(".jpeg"),
    "an original has another name": renamed(".jpg", "holiday"),
    "a raw mail is missing": removed("messages"),
    "a raw mail is changed": changed_file("messages", lambda content: content + b"\n"),
    "the settings are missing": removed("survey.toml"),
    "the settings are empty": lambda folder: (folder / "survey.toml").write_bytes(b""),
    "an original is a link to nowhere": linked,
    "the database is emptied": emptied,
    "the newest determination is deleted": sql("delete from determinations"),
    "a determination is changed": sql("update determinations set outcome = 'not an adult'"),
    "another person is put under a determination": sql(
        "update determinations set person_id = (select min(id) from people where id <> person_id)"
    ),
    "another person is put under a consent": sql(
        "update consents set person_id = (select min(id) from people where id <> person_id)"
    ),
    "a consent is deleted": sql("delete from consents where id = (select min(id) from consents)"),
    "a consent is changed": sql("update consents set publish = 'no' where publish = 'yes'"),
    "a site is deleted": sql("delete from sites where rowid = (select min(rowid) from sites)"),
    "a site is moved": sql("update sites set decimal_latitude = 53.5 where rowid = 2"),
    "a count is changed": sql("update lots set individual_count = individual_count + 1"),
    "a kept count is changed": sql("update holdings set count = 1 where what = 'photos'"),
    "a visit is deleted": sql("delete from visits where rowid = (select min(rowid) from visits)"),
    "a lot is deleted": sql("delete from lots where rowid = (select min(rowid) from lots)"),
    "a taxon is deleted": sql("delete from taxa where rowid = (select min(rowid) from taxa)"),
    "a measurement is deleted": sql(
        "delete from measurements where rowid = (select min(rowid) from measurements)"
    ),
    "a photo's row is deleted": sql(
        "delete from photos where rowid = (select min(rowid) from photos)"
    ),
    "a message's row is deleted": sql("delete from messages where id = 2"),
    "the newest message is deleted whole": sql(
        "delete from envelopes where message_id = (select max(id) from messages);"
        "delete from parts where message_id = (select max(id) from messages);"
        "delete from message_states where message_id = (select max(id) from messages);"
        "delete from messages where id = (select max(id) from messages)"
    ),
    "a part's row is deleted": sql("delete from parts where id = (select max(id) from parts)"),
    "an action is deleted": sql("delete from actions where id = (select max(id) from actions)"),
    "the log is changed": sql("update actions set at = '2020-01-01T00:00:00Z' where id = 1"),
    "a state is deleted": sql(
        "delete from message_states where id = (select max(id) from message_states)"
    ),
    "an author's words are deleted": sql("delete from envelopes where message_id = 3"),
    "an address is deleted": sql(
        "delete from addresses where person_id = (select min(person_id) from addresses)"
    ),
    "a time that was read is deleted": sql("delete from time_claims where id = 1"),
    "a place that was read is deleted": sql("delete from place_claims where id = 1"),
    "a place that was said is deleted": sql("delete from place_claims where action_id is not null"),
    "an export is no longer noted": sql("delete from exports"),
    "a reference leads nowhere": sql("update parts set message_id = 999 where id = 1"),
    "an index is dropped": sql("drop index parts_by_content"),
    "an index has lost an entry": index_entry_lost,
    "a trigger is dropped": sql("drop trigger holdings_d"),
    "a view answers otherwise": sql(
        "drop view live_actions; create view live_actions as select * from actions"
    ),
    "a table that is computed is dropped": sql("drop table queue_order"),
    "a table is dropped": sql("drop table told_apart"),
    "a column is dropped": sql("alter table messages drop column distribution"),
    "a photo of a sighting is deleted": sql(
        "delete from sighting_photos where rowid = (select min(p.rowid) from sighting_photos p"
        " join sightings s on s.id = p.sighting_id where frozen_at is null)"
    ),
    "a photo of a sighting that was named is changed": sql(
        "update sighting_photos set photo = (select max(photo) from sighting_photos) where rowid ="
        " (select min(p.rowid) from sighting_photos p join sightings s on s.id = p.sighting_id"
        " where frozen_at is not null)"
    ),
    "a sighting that was named is no longer fixed": sql("update sightings set frozen_at = null"),
    "a file lies where a folder was": folder_replaced,
    "a write-ahead log is another survey's": foreign_log,
    "a part is without account": sql("update parts set reason = '' where id = 1"),
}


@pytest.fixture
def determined(walked: Path) -> Path:
    with open_survey(walked) as survey:
        one = sightings(survey)[0].identifier
        said = Statement(cannot_tell="the wings are hidden")
        determine.determine(survey, one, said, by="Una Lark", new=True, now=NOW)
        wanted = [row.identifier for row in messages.every(survey)][:1]
        settle.settle(survey, wanted, Settlement(site="Heron Mere"), by="Bo", now=NOW)
        with survey.transaction():
            publish.note_out(survey, [one], now=NOW)
        assert audit.check(survey, now=NOW).damage == ()
    return walked


@pytest.mark.parametrize("name", PLANTED)
def test_every_planted_damage_is_found_and_named(name: str, determined: Path, capsys):
    PLANTED[name](determined)
    code = main(["audit", "--survey", str(determined)])
    told = capsys.readouterr()
    assert code == 1
    assert "Traceback" not in told.err
    assert "Damaged: " in told.out or "triage: " in told.err


@pytest.mark.parametrize(
    "name",
    [
        "an index is dropped",
        "an index has lost an entry",
        "a trigger is dropped",
        "a view answers otherwise",
        "a table that is computed is dropped",
        "a photo of a sighting is deleted",
        "a sighting that was named is no longer fixed",
    ],
)
def test_what_follows_from_the_rest_is_made_again_by_repair(name: str, determined: Path):
    with open_survey(determined) as survey:
        repair.repair(survey, now=NOW, processes=0)  # matches what was determined, too
    before = dump(determined)
    PLANTED[name](determined)
    with open_survey(determined) as survey:
        assert audit.check(survey, now=NOW).damage
        assert repair.repair(survey, now=NOW, processes=0).damage == ()
    assert dump(determined) == before


def test_an_empty_preview_is_made_again(determined: Path):
    made = [path for path in (determined / "previews").rglob("*.jpg") if path.stat().st_size]
    made[0].write_bytes(b"")
    with open_survey(determined) as survey:
        previews.picture(survey, made[0].stem, "small")
    assert made[0].stat().st_size


def test_claims_that_were_read_are_read_again_by_repair(determined: Path):
    with open_survey(determined) as survey:
        repair.repair(survey, now=NOW, processes=0)  # matches what was determined, too
    before = dump(determined)
    for table in ("time_claims", "place_claims"):
        sql(
            f"delete from {table} where id = (select min(id) from {table} where action_id is null)"
        )(determined)
    with open_survey(determined) as survey:
        assert len(audit.check(survey, now=NOW).damage) == 2
        assert repair.repair(survey, now=NOW, processes=0).damage == ()
    assert dump(determined) == before


@pytest.mark.parametrize("seed", range(6))
def test_flipped_bytes_of_the_database_end_in_a_sentence(seed: int, determined: Path, capsys):
    path = determined / "survey.db"
    content = bytearray(path.read_bytes())
    step = len(content) // 40
    for place in range(200 + 37 * seed, len(content), step):
        content[place] ^= 0xFF
    path.write_bytes(bytes(content))
    code = main(["audit", "--survey", str(determined)])
    told = capsys.readouterr()
    assert code == 1
    assert "Traceback" not in told.err
    assert "Damaged: " in told.out or "triage: " in told.err
