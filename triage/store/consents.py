"""Keep what people and guardians consent to: said in mails, noted by somebody, and seen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC

from triage.mail.consent import Consent
from triage.mail.consent_standing import Said, StandingConsent, standing_consent
from triage.standards.groups import in_groups
from triage.standards.iso_dates import moment_of
from triage.store.connection import Survey
from triage.store.rows import derived_or_holds, holds, record_of, values_of


def add(
    survey: Survey,
    person: int,
    said: Consent,
    *,
    message: int | None = None,
    answers: bool = False,
    action: int | None = None,
) -> None:
    """Append what a person stated about publication, with the words they used.

    ``answers`` says that we asked; ``action`` is that of whoever noted it, where no mail says it.
    """
    known = {"person_id": person, "message_id": message, "answers": int(answers)}
    for row in _rows_of(said):
        survey.insert("consents", known | {"action_id": action} | row)


_KEPT = ("licence", "name_public", "name_shown", "publish", "wording")


def _rows_of(said: Consent) -> list[dict[str, str | int]]:
    """What is kept of one statement.

    Words that a person must see stand in a row of their own beside what is plain.
    """
    stated = said.wording or (said.publish, said.name_shown) != ("unstated", "unstated")
    rows = [said] if stated else []
    rows += [Consent(wording=said.wording)] if said.held and said.name_shown == "no" else []
    rows += [Consent(wording=said.aside)] if said.aside else []
    return [
        {name: value for name, value in values_of(one).items() if name in _KEPT}
        | {"name_public": int(one.name_shown == "yes")}
        for one in rows
    ]


def see(survey: Survey, person: int, *, action: int) -> None:
    """Note that somebody has seen the words by which a person grants something."""
    survey.insert("consents_seen", {"person_id": person, "action_id": action})


def standing(survey: Survey) -> dict[int, StandingConsent]:
    """By person: what stands of all that they said, by the dates of their mails."""
    rows = survey.run(
        "select c.*, coalesce(m.sent_at, m.received_at, a.at, '') as noted_at from consents c"
        " left join messages m on m.id = c.message_id"
        " left join actions a on a.id = c.action_id"
        f" where {derived_or_holds('c.action_id')} order by c.id"
    )
    said = in_groups(
        (row["person_id"], record_of(Said, row, said_at=_instant(row["noted_at"]))) for row in rows
    )
    seen = set(survey.column(f"select person_id from consents_seen where {holds()}"))
    return {row: standing_consent(ones, seen=row in seen) for row, ones in said.items()}


def _instant(text: str) -> str:
    """An ISO instant in UTC, so that texts compare as times; empty for none."""
    moment = moment_of(text)
    return moment.astimezone(UTC).isoformat() if moment else ""


def mails(survey: Survey) -> list[int]:
    """Every message whose words are kept: those of people who were forgotten are gone."""
    return survey.column("select id from messages where origin <> 'forgotten' order by id")


def words_of(survey: Survey, messages: Sequence[int]) -> list[tuple[int, int, str]]:
    """Of these messages: message, the person who wrote, and the words, author by author."""
    rows = survey.run_in(
        "select e.message_id, e.person_id, e.text from envelopes e"
        " join messages m on m.id = e.message_id and m.origin <> 'forgotten'"
        " join people p on p.id = e.person_id and p.forgotten_at is null"
        " where e.message_id in (...) order by e.message_id, e.number",
        messages,
    )
    return [(row[0], row[1], row[2]) for row in rows]


def keep(
    survey: Survey, messages: Sequence[int], said: Iterable[tuple[int, int, Consent]]
) -> set[int]:
    """Let this be all that these mails say; returns those of which some came or went.

    Of each statement: its message, the person who speaks in it, and what was read in the words.
    A statement that stands already keeps its number, so that its history follows it.
    """
    rows = survey.run_in(
        "select c.* from consents c join messages m on m.id = c.message_id"
        " and m.origin <> 'forgotten' join people p on p.id = c.person_id"
        " and p.forgotten_at is null where c.action_id is null and c.answers = 0"
        " and c.message_id in (...) order by c.id",
        messages,
    )
    names = ("message_id", "person_id", *_KEPT)
    held = in_groups((tuple(row[name] for name in names), row["id"]) for row in rows)
    changed = set()
    for message, person, consent in said:
        for kept in _rows_of(consent):
            values = {"message_id": message, "person_id": person, **kept}
            if same := held.get(tuple(values[name] for name in names)):
                same.pop(0)
            else:
                survey.insert("consents", values)
                changed.add(message)
    gone = {number: kept[0] for kept, numbers in held.items() for number in numbers}
    survey.run_in("delete from consents where id in (...)", gone)
    return changed | {*gone.values()}


@dataclass(frozen=True, slots=True, kw_only=True)
class GuardianConsent:
    """One consent for the photos of and by children in a person's mails."""

    person: int
    given_by: str
    given_on: str
    message: str


def add_guardian(
    survey: Survey, person: int, *, given_by: str, given_on: str, message: int | None, action: int
) -> None:
    """Note a guardian's consent."""
    values = {"person_id": person, "given_by": given_by, "given_on": given_on}
    survey.insert("guardian_consents", values | {"message_id": message, "action_id": action})


def of_guardians(survey: Survey) -> list[GuardianConsent]:
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
