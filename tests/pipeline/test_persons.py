"""People: joined addresses, and a person who asks to be forgotten."""

from __future__ import annotations

from email.message import EmailMessage
from pathlib import Path

import pytest
from tests_support import NOW

from triage.cli import main
from triage.determinations import Statement
from triage.errors import UnknownError
from triage.exuviae import Site
from triage.pipeline import (
    audit,
    claims,
    determine,
    drafts,
    inbox,
    persons,
    receive,
    settle,
    standing,
    undo,
)
from triage.pipeline.audit import record_needs
from triage.pipeline.consents import record_consent, see_consent
from triage.pipeline.examine import examine
from triage.pipeline.settle import Settlement
from triage.store import evidence, messages, people
from triage.store.connection import Survey, open_survey
from triage.store.dump import canonical_dump
from triage.store.people import Person


def chief_sender(survey: Survey) -> Person:
    """The person who sent most."""
    sent = [row.sender for row in messages.every(survey)]
    return max(people.all_people(survey), key=lambda person: sent.count(person.row))


def with_address(survey: Survey) -> None:
    """Give the survey an address of its own, as survey.toml would."""
    section = survey.settings.survey.model_copy(update={"reply_address": "linnet@example.org"})
    survey.settings = survey.settings.model_copy(update={"survey": section})


def places_of(survey: Survey) -> dict[str, tuple[str, str]]:
    return {one.identifier: (one.event_date, one.locality) for one in standing.sightings(survey)}


def bytes_of(folder: Path) -> bytes:
    """Everything in the survey folder but the photos themselves."""
    return b"\n".join(
        path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and "originals" not in path.parts and "previews" not in path.parts
    )


def mail(path: Path, sender: str, text: str, *, number: int, name: str = "") -> Path:
    letter = EmailMessage()
    letter["From"] = sender
    letter["To"] = "linnet@example.org"
    letter["Date"] = f"Tue, 21 Jul 2026 18:00:0{number} +0200"
    letter["Subject"] = "A note"
    letter["Message-ID"] = f"<note{number}@example.org>"
    letter.set_content(text)
    if name:
        letter.add_attachment(b"%PDF-1.4 a list of names", maintype="application", subtype="pdf")
    path.write_bytes(letter.as_bytes())
    return path


def test_a_forgotten_person_leaves_no_trace_but_photos_and_records_stay(survey: Survey):
    person = chief_sender(survey)
    before = places_of(survey)
    identifier = standing.sightings(survey)[0].identifier
    said = Statement(cannot_tell=f"as {person.name} says", remarks=person.addresses[0])
    determine.determine(survey, identifier, said, by=person.name, now=NOW, new=True)
    outcome = persons.forget(survey, person.addresses[0].upper(), now=NOW)
    assert outcome.messages > 1
    text = "\n".join(canonical_dump(survey)).casefold()
    for trace in (person.name, *person.addresses):
        assert trace.casefold() not in text
        assert trace.casefold().encode() not in bytes_of(survey.folder).lower()
    assert places_of(survey) == before
    checked = audit.check(survey, now=NOW)
    assert checked.damage == ()
    assert not any("interrupted receive" in line for line in checked.not_done)


def test_records_of_a_forgotten_person_outlive_a_new_list_of_sites(survey: Survey):
    before = places_of(survey)
    persons.forget(survey, chief_sender(survey).code, now=NOW)
    site = evidence.sites(survey)[0]
    values = {name: getattr(site, name) for name in Site.__dataclass_fields__}
    evidence.save(survey, [Site(**{**values, "aliases": (*site.aliases, "The far end")})])
    examine(survey, now=NOW, processes=0)
    assert places_of(survey) == before


def test_mail_of_a_forgotten_person_is_not_taken_in_again(survey: Survey, small_inbox: Path):
    persons.forget(survey, chief_sender(survey).code, now=NOW)
    before = list(canonical_dump(survey))
    assert receive.take_in(survey, [small_inbox], now=NOW).received == 0
    assert list(canonical_dump(survey)) == before


def test_documents_and_drafts_of_a_forgotten_person_are_deleted(survey: Survey, tmp_path: Path):
    path = mail(tmp_path / "a.eml", "Una Lark <una@example.org>", "A list.", number=1, name="l.pdf")
    receive.take_in(survey, [path], now=NOW)
    examine(survey, now=NOW, processes=0)
    identifier = messages.find(survey, "note1@example.org").identifier
    with_address(survey)
    settle.settle(survey, [identifier], Settlement(ask="original"), by="Co", now=NOW)
    ((_, document),) = inbox.kept_files(survey, identifier)
    (draft,) = drafts.drafts(survey)
    persons.forget(survey, "una@example.org", now=NOW)
    assert not Path(document).exists()
    assert not Path(draft.path).exists()
    assert audit.check(survey, now=NOW).damage == ()


def test_what_others_forwarded_of_a_forgotten_person_goes_too(survey: Survey, tmp_path: Path):
    inner = mail(tmp_path / "in.eml", "Una Lark <una@example.org>", "Seen by Una Lark.", number=1)
    outer = EmailMessage()
    outer["From"] = "Bo Stone <bo@example.org>"
    outer["Date"] = "Tue, 21 Jul 2026 19:00:00 +0200"
    outer["Subject"] = "Fwd: from Una Lark"
    outer["Message-ID"] = "<outer@example.org>"
    outer.set_content("From una@example.org, see below.")
    outer.add_attachment(inner.read_bytes(), maintype="message", subtype="rfc822")
    (tmp_path / "out.eml").write_bytes(outer.as_bytes())
    receive.take_in(survey, [tmp_path / "out.eml"], now=NOW)
    assert "una@example.org" in "\n".join(canonical_dump(survey))
    persons.forget(survey, "una@example.org", now=NOW)
    for trace in (b"una lark", b"una@example.org"):
        assert trace not in bytes_of(survey.folder).lower()
    assert audit.check(survey, now=NOW).damage == ()


def test_nobody_is_forgotten_by_mistake(survey: Survey):
    with pytest.raises(UnknownError, match="nobody here"):
        persons.forget(survey, "nobody@example.org", now=NOW)


def test_two_addresses_of_one_person_are_one_observer(survey: Survey):
    first, second = [p for p in people.all_people(survey) if p.addresses][:2]
    persons.join(survey, first.addresses[0], second.addresses[0], now=NOW)
    joined = next(p for p in people.all_people(survey) if p.row == first.row)
    assert joined.addresses == tuple(sorted((*first.addresses, *second.addresses)))
    assert joined.name == first.name
    assert second.code not in {one.observer for one in standing.sightings(survey)}
    assert audit.check(survey, now=NOW).damage == ()
    before = list(canonical_dump(survey))
    persons.join(survey, first.addresses[0], second.addresses[0], now=NOW)
    examine(survey, now=NOW, processes=0)
    assert list(canonical_dump(survey)) == before


def test_pages_tell_names_for_codes_and_leave_what_is_nobodys(survey: Survey):
    una, bo = people.add(survey, "Una Lark"), people.add(survey, "")
    known = people.codes(survey)
    told = people.with_names(survey, f"person {known[una]}, {known[bo]}", "P-00000000", "P-1")
    assert told == [f"person Una Lark, {known[bo]}", "P-00000000", "P-1"]


def test_joining_an_unknown_address_is_refused(survey: Survey):
    known = chief_sender(survey).addresses[0]
    with pytest.raises(UnknownError, match="no mail came from that address"):
        persons.join(survey, known, "nobody@example.org", now=NOW)


def test_a_name_that_is_a_common_word_is_not_struck_from_others_words(
    survey: Survey, tmp_path: Path
):
    paths = [
        mail(tmp_path / "a.eml", "Reed <r@example.org>", "By the reed.", number=1),
        mail(tmp_path / "b.eml", "Bo Stone <bo@example.org>", "In the reed.", number=2),
    ]
    receive.take_in(survey, paths, now=NOW)
    claims.read_claims(survey)
    persons.forget(survey, "r@example.org", now=NOW)
    row = messages.find(survey, "note2@example.org").row
    assert [one.text.strip() for one in messages.envelopes_of(survey, row)] == ["In the reed."]


def consents(survey: Survey, tmp_path: Path, *mails: tuple[str, str]) -> Person:
    """Receive mails (day, words) of one sender in this order; how that person stands."""
    for number, (day, words) in enumerate(mails, start=1):
        letter = EmailMessage()
        letter["From"] = "Mia Reed <mia@example.org>"
        letter["To"] = "linnet@example.org"
        letter["Date"] = f"{day} Aug 2026 10:00:00 +0200"
        letter["Message-ID"] = f"<consent-{number}@example.org>"
        letter.set_content(words)
        path = tmp_path / f"consent-{number}.eml"
        path.write_bytes(letter.as_bytes())
        receive.take_in(survey, [path], now=NOW)
    return reed(survey)


def reed(survey: Survey) -> Person:
    return next(one for one in people.all_people(survey) if "mia@example.org" in one.addresses)


def test_a_grant_counts_once_its_words_were_seen_and_undo_takes_that_back(
    survey: Survey, tmp_path: Path
):
    mia = consents(survey, tmp_path, ("18", "You may publish my photos under CC BY 4.0."))
    assert (mia.publish, mia.licence) == ("unstated", "")
    assert mia.unseen == ("You may publish my photos under CC BY 4.0.",)
    (need,) = (one for one in record_needs(survey, now=NOW) if mia.code in one.record)
    assert (need.kind, "CC BY 4.0" in need.text) == ("consent", True)
    seen = see_consent(survey, mia.code, by="Bo", now=NOW)
    assert (seen.publish, seen.unseen) == ("yes", ())
    undo.undo(survey, by="Bo", now=NOW)
    assert reed(survey).publish == "unstated"


def test_a_refusal_written_later_stands_though_it_came_in_first(survey: Survey, tmp_path: Path):
    refusal = ("25", "Please do not publish my photos.")
    consents(survey, tmp_path, refusal, ("18", "You may publish my photos."))
    assert see_consent(survey, reed(survey).code, by="Bo", now=NOW).publish == "no"


def read_by_other_rules(survey: Survey, publish: str) -> None:
    """As if an earlier version had read every statement in mails so."""
    with survey.transaction():
        survey.connection.execute(
            "update consents set publish = ? where action_id is null and answers = 0", (publish,)
        )
        survey.connection.execute("update derived_rules set rules = '' where name = 'consents'")


def test_kept_mails_are_read_by_the_rules_of_today(survey: Survey, tmp_path: Path):
    consents(survey, tmp_path, ("18", "Please do not publish my photos."))
    examine(survey, now=NOW)
    before = list(canonical_dump(survey))
    read_by_other_rules(survey, "yes")
    see_consent(survey, reed(survey).code, by="Bo", now=NOW)
    assert reed(survey).publish == "yes"
    examine(survey, now=NOW)
    assert reed(survey).publish == "no"
    undo.undo(survey, by="Bo", now=NOW)
    assert list(canonical_dump(survey)) == before


def test_what_people_settled_outlives_other_rules(survey: Survey, tmp_path: Path):
    code = consents(survey, tmp_path, ("18", "You may publish my photos.")).code
    examine(survey, now=NOW)
    see_consent(survey, code, by="Bo", now=NOW)
    record_consent(survey, code, "You may publish my photos with my name.", by="Bo", now=NOW)
    stood = reed(survey)
    read_by_other_rules(survey, "no")
    examine(survey, now=NOW)
    assert reed(survey) == stood
    assert (stood.publish, stood.name_public) == ("yes", True)


def test_words_of_a_forgotten_person_count_as_they_were_read_then(survey: Survey, tmp_path: Path):
    code = consents(survey, tmp_path, ("18", "Please do not publish my photos.")).code
    persons.forget(survey, code, now=NOW)
    read_by_other_rules(survey, "no")
    examine(survey, now=NOW)
    assert people.find(survey, code).publish == "no"


def test_the_command_says_that_a_consent_was_seen(walked: Path, tmp_path: Path, capsys):
    with open_survey(walked) as survey:
        code = consents(survey, tmp_path, ("18", "You may publish my photos.")).code
    assert main(["people", "--consent-seen", code, "--survey", str(walked)]) == 0
    line = next(line for line in capsys.readouterr().out.splitlines() if code in line)
    assert "yes" in line


def test_the_command_says_that_words_grant_nothing(walked: Path, tmp_path: Path, capsys):
    with open_survey(walked) as survey:
        code = consents(survey, tmp_path, ("18", "You may publish my photos.")).code
    assert main(["people", "--nothing-granted", code, "--survey", str(walked)]) == 0
    line = next(line for line in capsys.readouterr().out.splitlines() if code in line)
    assert "unstated" in line
    assert main(["people", "--nothing-granted", code, "--survey", str(walked)]) == 1
    assert "no words of this person wait to be seen" in capsys.readouterr().err
