"""Two people joined by mistake are parted again, with everything that was whose."""

from __future__ import annotations

from email.message import EmailMessage
from pathlib import Path

import pytest
from tests_support import NOW

from triage.desk.packet_page import page
from triage.determinations import Statement
from triage.errors import UnknownError
from triage.pipeline import audit, consents, determine, packet, persons, receive, standing, undo
from triage.pipeline.audit import record_needs
from triage.store import joins, people
from triage.store.connection import Survey
from triage.store.dump import canonical_dump
from triage.store.people import Person


def two(survey: Survey) -> tuple[Person, Person]:
    """Two people who sent photos."""
    seen = {one.observer for one in standing.sightings(survey)}
    first, second = [p for p in people.all_people(survey) if p.addresses and p.code in seen][:2]
    return first, second


def join(survey: Survey, first: Person, second: Person) -> None:
    persons.join(survey, first.addresses[0], second.addresses[0], by="Bo", now=NOW)


def whose(survey: Survey) -> dict[str, str]:
    return {one.identifier: one.observer for one in standing.sightings(survey)}


def test_parting_gives_everybody_back_what_was_theirs(survey: Survey, tmp_path: Path):
    first, second = two(survey)
    persons.set_short_name(survey, "SEC", second.code, by="Bo", now=NOW)
    sighting = next(s for s, code in whose(survey).items() if code == first.code)
    said = Statement(taxon="Aeshna", second_opinion=True)
    determine.determine(survey, sighting, said, by=second.code, now=NOW)
    packet.make(
        survey, tmp_path / "p.zip", whom=second.code, count=2, megabytes=5, page=page, by="Bo",
        now=NOW,
    )  # fmt: skip
    before, observers, everybody = (
        list(canonical_dump(survey)),
        whose(survey),
        people.all_people(survey),
    )
    join(survey, first, second)
    assert second.code not in {p.code for p in people.all_people(survey)}
    assert audit.check(survey, now=NOW).damage == ()  # whose a determination is was counted anew
    undo.undo(survey, by="Bo", now=NOW)
    assert whose(survey) == observers
    parted = {p.code: p for p in people.all_people(survey)}
    for person in everybody:
        now = parted[person.code]
        assert (now.name, now.addresses, now.publish) == (
            person.name, person.addresses, person.publish,
        )  # fmt: skip
    assert list(canonical_dump(survey)) == before
    assert audit.check(survey, now=NOW).damage == ()
    assert not survey.connection.execute("pragma foreign_key_check").fetchall()


def test_a_join_that_was_taken_back_can_hold_again(survey: Survey):
    first, second = two(survey)
    join(survey, first, second)
    joined = list(canonical_dump(survey))
    taken = undo.undo(survey, by="Bo", now=NOW)
    back = undo.undo(survey, by="Bo", now=NOW, number=taken.number)
    assert back.holds
    assert list(canonical_dump(survey)) == joined
    undo.undo(survey, by="Bo", now=NOW, number=back.number)
    assert second.code in {p.code for p in people.all_people(survey)}


def test_three_joined_one_after_the_other_are_parted_in_any_order(survey: Survey):
    everybody = [p for p in people.all_people(survey) if p.addresses][:3]
    a, b, c = everybody
    join(survey, a, b)
    join(survey, c, a)
    numbers = [
        row[0] for row in survey.connection.execute("select id from actions where command='people'")
    ]
    for number in numbers:
        undo.undo(survey, by="Bo", now=NOW, number=number)
    now = {p.code: p.addresses for p in people.all_people(survey)}
    assert {p.code: p.addresses for p in everybody}.items() <= now.items()
    assert not survey.connection.execute("pragma foreign_key_check").fetchall()


def test_after_forgetting_nobody_is_parted_and_no_name_is_left(survey: Survey):
    first, second = two(survey)
    join(survey, first, second)
    persons.forget(survey, first.addresses[0], now=NOW)
    number = survey.connection.execute("select action_id from joins").fetchone()[0]
    with pytest.raises(UnknownError, match="forgotten since"):
        undo.undo(survey, by="Bo", now=NOW, number=number)
    kept = " ".join(str(value) for row in survey.connection.execute("select * from joins")
                    for value in tuple(row))  # fmt: skip
    for text in (second.name, *second.addresses):
        assert text not in kept


def test_a_short_name_is_taken_back_and_brought_back(survey: Survey):
    first, _ = two(survey)
    persons.set_short_name(survey, "XY", first.code, by="Bo", now=NOW)
    taken = undo.undo(survey, by="Bo", now=NOW)
    with pytest.raises(UnknownError):
        people.determiner(survey, "XY")
    undo.undo(survey, by="Bo", now=NOW, number=taken.number)
    assert people.determiner(survey, "XY").code == first.code


def test_a_forgotten_persons_short_name_does_not_come_back(survey: Survey):
    first, _ = two(survey)
    persons.set_short_name(survey, "XYZZ", first.code, by="Bo", now=NOW)
    persons.forget(survey, first.code, now=NOW)
    number = survey.connection.execute("select max(id) from actions where command='people'")
    undo.undo(survey, by="Bo", now=NOW, number=number.fetchone()[0])
    with pytest.raises(UnknownError):
        people.determiner(survey, "XYZZ")
    rows = survey.connection.execute("select * from row_history").fetchall()
    assert "XYZZ" not in " ".join(str(value) for row in rows for value in tuple(row))


def test_every_column_that_names_a_person_changes_hands(survey: Survey):
    tables = [
        row[0]
        for row in survey.connection.execute("select name from sqlite_master where type='table'")
    ]
    naming = {
        (table, key[3])
        for table in tables
        for key in survey.connection.execute(f"pragma foreign_key_list({table})")
        if key[2] == "people"
    }
    assert naming == {(table, owner) for table, owner, _ in joins.OWNED}


def near(survey: Survey) -> list[str]:
    return [one.record for one in record_needs(survey, now=NOW) if one.kind == "near names"]


def two_alike(survey: Survey) -> tuple[str, str]:
    with survey.transaction():
        people.by_address(survey, "w@example.org", name="Wanda Kalina")
        people.by_address(survey, "wk@example.org", name="Wanda Kalna")
    return "w@example.org", "wk@example.org"


def test_two_people_are_told_apart_until_that_is_taken_back(survey: Survey):
    asked = near(survey)
    pair = two_alike(survey)
    assert "Wanda Kalina / Wanda Kalna" in near(survey)
    persons.tell_apart(survey, *pair, by="Bo", now=NOW)
    assert near(survey) == asked
    assert not any("Wanda" in line for line in audit.check(survey, now=NOW).not_done)
    persons.tell_apart(survey, *reversed(pair), by="Bo", now=NOW)  # said again: one action
    undo.undo(survey, by="Bo", now=NOW)
    assert "Wanda Kalina / Wanda Kalna" in near(survey)


def test_who_is_joined_into_another_is_told_apart_as_before(survey: Survey):
    one, other = two_alike(survey)
    with survey.transaction():
        people.by_address(survey, "third@example.org")
    persons.tell_apart(survey, one, other, by="Bo", now=NOW)
    persons.join(survey, "third@example.org", other, by="Bo", now=NOW)
    assert not any("Wanda" in record for record in near(survey))
    undo.undo(survey, by="Bo", now=NOW)
    assert not any("Wanda" in record for record in near(survey))


def test_one_person_is_not_told_apart_from_themselves(survey: Survey):
    pair = two_alike(survey)
    persons.join(survey, *pair, by="Bo", now=NOW)
    with pytest.raises(UnknownError, match="one person"):
        persons.tell_apart(survey, *pair, by="Bo", now=NOW)


def test_what_mails_say_of_publishing_follows_whoever_wrote_them(survey: Survey, tmp_path: Path):
    """Read anew while two were joined, it is each one's own once they are parted."""
    pair = two_alike(survey)
    letter = EmailMessage()
    letter["From"] = pair[1]
    letter.set_content("Please do not publish my photos.")
    path = tmp_path / "refusal.eml"
    path.write_bytes(letter.as_bytes())
    receive.take_in(survey, [path], now=NOW)
    persons.join(survey, *pair, by="Bo", now=NOW)
    with survey.transaction():
        survey.connection.execute("delete from consents")
        survey.connection.execute("delete from derived_rules")
    consents.read_kept_mails(survey)
    assert people.find(survey, pair[0]).publish == "no"
    undo.undo(survey, by="Bo", now=NOW)
    assert [people.find(survey, one).publish for one in pair] == ["unstated", "no"]
