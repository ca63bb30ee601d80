"""Keeps the consent of guardians: who gave it for whose mails, when, and in which mail."""

from __future__ import annotations

from dataclasses import dataclass

from triage.store.connection import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class GuardianConsent:
    """One consent for the photos of and by children in a person's mails."""

    person: int
    given_by: str
    given_on: str
    message: str


def add(
    survey: Survey, person: int, *, given_by: str, given_on: str, message: int | None, action: int
) -> None:
    """Note a guardian's consent."""
    values = {"person_id": person, "given_by": given_by, "given_on": given_on}
    survey.insert("guardian_consents", values | {"message_id": message, "action_id": action})


def live(survey: Survey) -> list[GuardianConsent]:
    """Consents that were not taken back."""
    return survey.records(
        GuardianConsent,
        "select g.*, coalesce(m.identifier, '') as message"
        " from guardian_consents g join live_actions a on a.id = g.action_id"
        " left join messages m on m.id = g.message_id order by g.id",
    )


def words_beside(survey: Survey) -> list[tuple[str, int | None, str]]:
    """Every photo with its sender and the words of each mail that brought it."""
    rows = survey.run(
        "select distinct a.photo, m.sender_id, m.subject || char(10) || e.text"
        " from appearances a join messages m on m.id = a.message_id"
        " join envelopes e on e.message_id = m.id and e.number = 0"
        " where m.subject <> '' or e.text <> '' order by a.photo, m.id"
    )
    return [(row[0], row[1], row[2]) for row in rows]
