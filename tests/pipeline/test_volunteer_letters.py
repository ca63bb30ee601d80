"""Letters of a walked survey: one a person and run, nothing twice, nothing that is outdated."""

from __future__ import annotations

import email
from email import policy
from pathlib import Path

import pytest
from tests_support import NOW

from triage.determinations import Statement
from triage.errors import SettingsError
from triage.pipeline import determine, match, persons, standing, undo
from triage.pipeline import volunteer_letters as stage
from triage.store import evidence, letters, people
from triage.store.connection import Survey

BY = "Olaf Penn"


@pytest.fixture
def writing(survey: Survey) -> Survey:
    """The walked survey with an address of its own and two sightings of two people named."""
    settings = survey.settings
    named = replace_setting(settings, reply_address="linnet@example.org")
    survey.settings = named
    rows = standing.standing(survey).rows
    chosen: dict[int | None, str] = {}
    for identifier, row in rows.items():
        chosen.setdefault(row.observer, identifier)
    for identifier in list(chosen.values())[:2]:
        statement = Statement(taxon="Libellula depressa")
        determine.determine(survey, identifier, statement, by=BY, new=True, now=NOW)
    return survey


def replace_setting(settings, **changes):
    survey = settings.survey.model_copy(update=changes)
    return settings.model_copy(update={"survey": survey})


def thanks(survey: Survey, **options: object) -> stage.LettersOutcome:
    return stage.thanks(survey, by="coordinator", now=NOW, **options)  # type: ignore[arg-type]


def test_each_person_gets_one_letter_and_a_second_run_makes_nothing_twice(writing):
    first = thanks(writing)
    assert len(first.letters) == 2
    names = {person.code: person.name for person in people.all_people(writing)}
    to = [names.get(letter.person, letter.person) for letter in first.letters]
    assert to == sorted(set(to)), "in the order of names; codes are drawn"
    assert all(Path(letter.path).exists() for letter in first.letters)
    again = thanks(writing)
    assert again.letters == ()
    assert len(letters.live(writing, "thanks")) == 2


def test_showing_writes_and_notes_nothing(writing):
    shown = thanks(writing, show=True)
    assert len(shown.letters) == 2
    assert list(writing.replies.glob("thanks-*")) == []
    assert letters.live(writing, "thanks") == []


def test_a_letter_threads_under_the_mail_and_names_no_determiner(writing):
    for letter in thanks(writing).letters:
        message = email.message_from_bytes(letter.content, policy=policy.default)
        assert message["In-Reply-To"]
        assert message["X-Unsent"] == "1"
        assert "Libellula depressa" in letter.text
        assert BY not in letter.text
        assert "Penn" not in letter.text


def test_nobody_is_told_what_does_not_stand(writing):
    told = {letter.person for letter in thanks(writing, show=True).letters}
    codes = people.codes(writing)
    stands = standing.standing(writing)
    settled = {
        codes[row.observer]
        for identifier, row in stands.rows.items()
        if row.observer is not None and stands.accepted[identifier].state == "determined"
    }
    assert told <= settled


def test_an_undone_determination_makes_its_unsent_draft_stale(writing):
    first = thanks(writing)
    undo.undo(writing, by=BY, now=NOW)
    outcome = thanks(writing)
    assert len(outcome.stale) == 1
    assert any(Path(letter.path).name in outcome.stale[0] for letter in first.letters)


def test_taking_the_letters_back_removes_their_drafts_and_they_can_be_written_again(writing):
    first = thanks(writing)
    undo.undo(writing, by="coordinator", now=NOW)
    assert not any(Path(letter.path).exists() for letter in first.letters)
    assert len(thanks(writing).letters) == 2


def test_whoever_asked_for_no_letters_gets_none(writing):
    person = people.all_people(writing)
    told = {letter.person for letter in thanks(writing, show=True).letters}
    one = next(p for p in person if p.code in told)
    writing.connection.execute(
        "update envelopes set text = text || char(10) || 'No letters please.' where number = 0"
        " and message_id in (select id from messages where sender_id = ?)",
        (one.row,),
    )
    outcome = thanks(writing, show=True)
    assert f"{one.code}: asked for no letters" in outcome.skipped
    assert one.code not in {letter.person for letter in outcome.letters}


def test_nobody_is_thanked_whose_request_to_delete_is_open(writing):
    told = {letter.person for letter in thanks(writing, show=True).letters}
    one = next(p for p in people.all_people(writing) if p.code in told)
    writing.connection.execute(
        "update envelopes set text = text || char(10) || 'Please delete all my photos.'"
        " where number = 0 and message_id in (select id from messages where sender_id = ?)",
        (one.row,),
    )
    writing.connection.execute("update messages set state = 'open' where sender_id = ?", (one.row,))
    outcome = thanks(writing, show=True)
    assert any(s.startswith(f"{one.code}: asks to have something deleted") for s in outcome.skipped)
    assert one.code not in {letter.person for letter in outcome.letters}


def test_a_season_letter_has_its_plot_and_one_for_all_is_there_to_print(writing):
    outcome = stage.season(writing, 2026, by="coordinator", now=NOW)
    assert len(outcome.letters) == 2
    for letter in outcome.letters:
        message = email.message_from_bytes(letter.content, policy=policy.default)
        names = [part.get_filename() for part in message.iter_attachments()]
        assert names[0] == "season-2026.png"
        assert message["In-Reply-To"] is None
    text, printed = (Path(path) for path in outcome.files)
    assert "Libellula depressa" in text.read_text(encoding="utf-8")
    assert printed.read_bytes().startswith(b"%PDF")
    assert stage.season(writing, 2026, by="coordinator", now=NOW).letters == ()


def test_a_survey_without_an_address_is_told_so(survey):
    with pytest.raises(SettingsError, match="own address"):
        thanks(survey)


def test_forgetting_a_person_removes_their_letters(writing):
    first = thanks(writing)
    one = first.letters[0]
    persons.forget(writing, one.person, now=NOW)
    assert not Path(one.path).exists()
    assert Path(first.letters[1].path).exists()


def test_a_fix_at_a_known_water_is_told_by_the_water_s_name(writing):
    """A sighting whose mail names no site, and whose fix reaches one."""
    stands = standing.standing(writing)
    sites = {site.location_id: site for site in evidence.sites(writing)}
    identifier, water = next(
        (found.sighting, sites[found.location_id].locality)
        for found in sorted(match.match(writing), key=lambda one: one.distance or 0.0)
        if found.distance_least == 0
        and found.location_id in sites
        and not sites[found.location_id].private
        and not stands.rows[found.sighting].location_id
    )
    statement = Statement(taxon="Libellula depressa")
    determine.determine(writing, identifier, statement, by=BY, now=NOW)
    texts = "\n".join(letter.text for letter in thanks(writing, show=True).letters)
    assert f"{water}: Libellula depressa" in texts
