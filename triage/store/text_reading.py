"""Keep the texts of messages and with which readers they were read; only others are read anew."""

from __future__ import annotations

from collections.abc import Iterable

from triage.store.connection import Survey


def texts_not_read_with(survey: Survey, key: str) -> list[int]:
    """Messages whose texts have not been read with this list of sites and method.

    The texts of a person who was forgotten are gone: what was read from them stays.
    """
    query = (
        "select id from messages where (texts_read_with < ?1 or texts_read_with > ?1)"
        " and origin <> 'forgotten' order by id"
    )
    return survey.column(query, key)


def texts_to_reread(survey: Survey) -> list[int]:
    """Messages whose texts are to be read again whatever the list of sites."""
    query = "select id from messages where texts_read_with = '' and origin <> 'forgotten'"
    return survey.column(f"{query} order by id")


def texts_read_by(survey: Survey, rows: Iterable[int], rules: str) -> set[int]:
    """Those of these messages whose texts were read by these rules, with whatever list of sites."""
    query = "select id from messages where texts_read_with glob ? and id in (...)"
    return survey.column_in(query, rows, f"{rules} *")


def mark_texts_read(survey: Survey, messages: Iterable[int], key: str) -> None:
    """Note with which list of sites and method the texts were read."""
    survey.run_in("update messages set texts_read_with = ? where id in (...)", messages, key)


def reread_texts(survey: Survey, messages: Iterable[int]) -> None:
    """Have the texts of these messages read again at the next examination."""
    mark_texts_read(survey, messages, "")


def from_lists(survey: Survey, rows: Iterable[int]) -> set[int]:
    """Those of these messages that came through a list or bulk mailing and nobody accepted."""
    query = (
        "select m.id from messages m where m.id in (...) and m.distribution <> ''"
        " and not exists (select 1 from message_states t join live_actions a on a.id = t.action_id"
        " where t.message_id = m.id and t.state = 'settled')"
    )
    return survey.column_in(query, rows)


def texts_of(survey: Survey, rows: Iterable[int]) -> dict[int, str]:
    """By message: what all its authors wrote, the outer one first, without what they quote."""
    query = "select message_id, text from envelopes where message_id in (...) order by number"
    found: dict[int, str] = {}
    for row in survey.run_in(query, rows):
        found[row["message_id"]] = f"{found.get(row['message_id'], '')}\n{row['text']}".strip()
    return found
