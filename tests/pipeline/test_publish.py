"""Exports of a walked survey: lots stand where and when their visit was, and are hidden with it."""

from __future__ import annotations

from pathlib import Path

from tests_support import NOW, csv_rows

from triage.pipeline import publish
from triage.store.connection import Survey


def test_a_lot_has_the_place_and_the_day_of_its_visit(survey: Survey, tmp_path: Path):
    publish.export(survey, tmp_path / "x", internal=True, now=NOW)
    lots = {row["catalogNumber"]: row for row in csv_rows(tmp_path / "x" / "lots-internal.csv")}
    assert all(row["eventDate"] and row["decimalLatitude"] for row in lots.values())
    first = lots["EX-0001"]  # its row names visit V01 alone
    assert (first["locationID"], first["eventDate"]) == ("LNT-01", "2026-05-24")


def test_the_lots_of_a_hidden_site_are_hidden_with_it(survey: Survey, tmp_path: Path):
    publish.export(survey, tmp_path / "x", now=NOW)
    numbers = {row["catalogNumber"] for row in csv_rows(tmp_path / "x" / "lots.csv")}
    assert "EX-0020" in numbers
    assert not numbers & {"EX-0021", "EX-0022"}  # of visit V15, to a sensitive site


def test_each_photo_of_a_sighting_has_its_own_time(survey: Survey, tmp_path: Path):
    """The demo's first animal was photographed at 10:31:12 and 10:31:41 (its truth.csv)."""
    publish.export(survey, tmp_path / "x", internal=True, now=NOW)
    dates = {row["CreateDate"] for row in csv_rows(tmp_path / "x" / "photos-internal.csv")}
    assert {"2026-05-30T10:31:12+02:00", "2026-05-30T10:31:41+02:00"} <= dates


def test_what_a_sender_asked_to_delete_is_in_no_release(survey: Survey, tmp_path: Path):
    from triage.pipeline import inbox

    message = survey.connection.execute(
        "select m.id from messages m join appearances a on a.message_id = m.id"
        " join sighting_photos s on s.photo = a.photo limit 1"
    ).fetchone()[0]
    survey.connection.execute(
        "update envelopes set text = 'Please delete my photos and all my data.' where number = 0"
        " and message_id = ?",
        (message,),
    )
    survey.connection.execute("update messages set state_due = 1 where id = ?", (message,))
    inbox.settle_states(survey, now=NOW)
    asked = [e for e in inbox.entries(survey) if e.message.row == message]
    assert any(need.kind == "delete request" for e in asked for need in e.needs)
    outcome = publish.export(survey, tmp_path / "x", now=NOW)
    held = publish._in_doubt(survey, publish.standing.sightings(survey))
    assert "its sender asked to have it deleted" in " ".join(held.values())
    assert any("open question" in text for text in outcome.withheld)
