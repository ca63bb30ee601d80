"""Keep the texts of messages and with which readers they were read; only others are read anew."""

from __future__ import annotations

from collections.abc import Iterable

from triage.store.connection import Survey
from triage.store.rows import column_in, column_of, select_in


def texts_not_read_with(survey: Survey, key: str) -> list[int]:
    """Messages whose texts have not been read with this list of sites and method.

    The texts of a person who was forgotten are gone: what was read from them stays.
    """
    return column_of(
        survey,
        "select id from messages where (texts_read_with < ? or texts_read_with > ?)"
        " and origin <> 'forgotten' order by id",
        (key, key),
    )


def texts_to_reread(survey: Survey) -> list[int]:
    """Messages whose texts are to be read again whatever the list of sites."""
    return column_of(
        survey,
        "select id from messages where texts_read_with = '' and origin <> 'forgotten' order by id",
    )


def texts_read_by(survey: Survey, rows: Iterable[int], rules: str) -> set[int]:
    """Those of these messages whose texts were read by these rules, with whatever list of sites."""
    query = "select id from messages where texts_read_with glob ? and id in (...)"
    return {row[0] for row in select_in(survey, query, rows, before=(f"{rules} *",))}


def mark_texts_read(survey: Survey, messages: Iterable[int], key: str) -> None:
    """Note with which list of sites and method the texts were read."""
    survey.connection.executemany(
        "update messages set texts_read_with = ? where id = ?", [(key, row) for row in messages]
    )


def reread_texts(survey: Survey, message: int) -> None:
    """Have a message's texts read again at the next examination."""
    survey.connection.execute("update messages set texts_read_with = '' where id = ?", (message,))


def from_lists(survey: Survey, rows: Iterable[int]) -> set[int]:
    """Those of these messages that came through a list or bulk mailing and nobody accepted."""
    query = (
        "select m.id from messages m where m.id in (...) and m.distribution <> ''"
        " and not exists (select 1 from message_states t join live_actions a on a.id = t.action_id"
        " where t.message_id = m.id and t.state = 'settled')"
    )
    return column_in(survey, query, rows)


def texts_of(survey: Survey, rows: Iterable[int]) -> dict[int, str]:
    """By message: what all its authors wrote, the outer one first, without what they quote."""
    query = "select message_id, text from envelopes where message_id in (...) order by number"
    found: dict[int, str] = {}
    for row in select_in(survey, query, rows):
        found[row["message_id"]] = f"{found.get(row['message_id'], '')}\n{row['text']}".strip()
    return found
