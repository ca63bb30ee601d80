"""Keep what the words of mails say of publishing; what people noted stands apart from it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from triage.mail.consent import Consent
from triage.store import people
from triage.store.connection import Survey

Said = tuple[int, int, Consent]
"""A message, the person who speaks in it, and what was read in the words."""


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


def keep(survey: Survey, messages: Sequence[int], said: Iterable[Said]) -> set[int]:
    """Let this be all that these mails say; returns those of which some came or went.

    A statement that stands already keeps its number, so that its history follows it.
    """
    held: dict[tuple[int, int, tuple[object, ...]], list[int]] = {}
    for row in survey.run_in(
        "select c.* from consents c join messages m on m.id = c.message_id"
        " and m.origin <> 'forgotten' join people p on p.id = c.person_id"
        " and p.forgotten_at is null where c.action_id is null and c.answers = 0"
        " and c.message_id in (...) order by c.id",
        messages,
    ):
        values = tuple(row[name] for name in people.KEPT_OF_CONSENT)
        held.setdefault((row["message_id"], row["person_id"], values), []).append(row["id"])
    changed = set()
    for message, person, consent in said:
        for kept in people.consent_rows(consent):
            if same := held.get(
                (message, person, tuple(kept[name] for name in people.KEPT_OF_CONSENT))
            ):
                same.pop(0)
            else:
                whose = {"person_id": person, "message_id": message}
                survey.insert("consents", {**whose, **kept})
                changed.add(message)
    for (message, _, _), numbers in held.items():
        gone = [(number,) for number in numbers]
        survey.run_each("delete from consents where id = ?", gone)
        changed |= {message} if gone else set()
    return changed
