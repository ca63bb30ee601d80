"""Automatic mail makes no person to be listed or asked about; its message is listed as ever."""

from __future__ import annotations

from email.message import EmailMessage
from pathlib import Path

import pytest
from mail_writing import picture
from tests_support import NOW

from triage.cli import main
from triage.determinations import Statement
from triage.pipeline import audit, determine, persons, receive, standing
from triage.pipeline.audit import record_needs
from triage.pipeline.examine import examine
from triage.store import messages, people
from triage.store.connection import Survey, open_survey

DAEMON = "Mail Delivery System <MAILER-DAEMON@example.org>"


def sent(
    folder: Path, sender: str, *, number: int = 1, subject: str = "Undelivered", **more
) -> Path:
    """A mail of this sender; ``more`` are headers of it, and ``photo`` for one attached."""
    mail = EmailMessage()
    mail["From"] = sender
    mail["Date"] = f"Tue, 21 Jul 2026 18:00:0{number} +0200"
    mail["Subject"] = subject
    mail["Message-ID"] = f"<auto{number}@example.org>"
    photo = more.pop("photo", b"")
    for name, value in more.items():
        mail[name.replace("_", "-")] = value
    mail.set_content("The mail could not be delivered.")
    if photo:
        mail.add_attachment(photo, maintype="image", subtype="jpeg", filename="a.jpg")
    path = folder / f"{number}.eml"
    path.write_bytes(mail.as_bytes())
    return path


def came(survey: Survey, *paths: Path) -> None:
    receive.take_in(survey, list(paths), now=NOW)
    examine(survey, now=NOW, processes=0)


def listed(survey: Survey) -> set[str]:
    return {address for one in people.listed(survey) for address in one.addresses}


@pytest.mark.parametrize(
    ("sender", "more"),
    [
        (DAEMON, {}),
        ("postmaster@example.org", {"subject": "Delivery Status Notification"}),
        ("postmaster@example.org", {"subject": "Your mailbox is full"}),
        ("Bounces <sys@mx.example.org>", {"X_Failed_Recipients": "ida@example.org"}),
        ("Survey <no-reply@example.org>", {"Auto_Submitted": "auto-replied"}),
        ("Shop <noreply+12@example.org>", {"subject": "News", "Precedence": "bulk"}),
        ("Do not reply <do-not-reply@example.org>", {"subject": "Your ticket 12"}),
        ("Greta Sumpf <greta@example.org>", {"Auto_Submitted": "auto-replied"}),
        ("Greta Sumpf <greta@example.org>", {"subject": "Abwesenheitsnotiz: Re: photos"}),
    ],
)
def test_whoever_is_known_by_automatic_mail_alone_is_not_listed(
    survey: Survey, tmp_path: Path, sender: str, more: dict[str, str]
):
    before, needs = listed(survey), record_needs(survey, now=NOW)
    came(survey, sent(tmp_path, sender, **more))
    assert listed(survey) == before
    assert record_needs(survey, now=NOW) == needs
    message = messages.find(survey, "auto1@example.org")
    assert message.sender_address in sender.casefold()
    assert persons.whom(survey, message.sender_address).messages == 1
    assert audit.check(survey, now=NOW).damage == ()


@pytest.mark.parametrize(
    ("sender", "more"),
    [
        ("Ada Moor <ada@example.org>", {"subject": "Delivery of photos"}),
        ("Ada Moor <no-reply@example.org>", {"subject": "Ada shared a photo", "photo": picture(3)}),
        ("Ada Moor <noreen@example.org>", {"subject": "Hello"}),
        ("Ada Moor <ada@example.org>", {"Auto_Submitted": "auto-replied", "photo": picture(3)}),
    ],
)
def test_whoever_wrote_or_brought_a_photo_is_listed(
    survey: Survey, tmp_path: Path, sender: str, more: dict
):
    before = len(listed(survey))
    came(survey, sent(tmp_path, sender, **more))
    assert len(listed(survey)) == before + 1
    assert people.determiner(survey, "Ada Moor").name == "Ada Moor"


@pytest.mark.parametrize("first", ["answer", "mail"])
def test_who_also_wrote_is_one_person_whatever_came_first(
    survey: Survey, tmp_path: Path, first: str
):
    greta = "Greta Moos <moos@example.org>"
    answer = sent(tmp_path, greta, number=1, Auto_Submitted="auto-replied")
    mail = sent(tmp_path, greta, number=2, subject="A photo")
    for path in (answer, mail) if first == "answer" else (mail, answer):
        came(survey, path)
    assert [one.name for one in people.listed(survey)].count("Greta Moos") == 1


def test_who_was_only_absent_becomes_a_determiner_as_the_person_of_that_mail(
    survey: Survey, tmp_path: Path
):
    came(survey, sent(tmp_path, "Greta Moos <moos@example.org>", Auto_Submitted="auto-replied"))
    one = standing.sightings(survey)[0].identifier
    said = Statement(cannot_tell="far")
    determine.determine(survey, one, said, by="Greta Moos", now=NOW, new=True)
    assert "moos@example.org" in listed(survey)
    assert survey.count("people where name = 'Greta Moos'") == 1


def test_the_list_of_people_does_not_show_a_machine(walked: Path, tmp_path: Path, capsys):
    with open_survey(walked) as survey:
        came(survey, sent(tmp_path, DAEMON, number=3))
    assert main(["people", "--survey", str(walked)]) == 0
    assert "mailer-daemon" not in capsys.readouterr().out.casefold()
