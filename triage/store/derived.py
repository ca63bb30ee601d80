"""Note that what is computed from the rest of a survey is to be computed anew."""

from __future__ import annotations

from triage.store import derived_rules, overview, tallies
from triage.store.connection import Survey
from triage.store.rows import column_of

_SHOWN = "p.outcome in ('taken in', 'kept, not examined') and p.sha256 is not null"


def add_photos(survey: Survey) -> list[str]:
    """Give parts whose photo has lost its row a new one, not yet examined; returns digests."""
    with survey.transaction() as connection:
        lost = connection.execute(
            f"select distinct p.sha256, p.media_type, p.byte_size from parts p where {_SHOWN}"
            " and not exists (select 1 from photos where sha256 = p.sha256) order by p.sha256"
        ).fetchall()
        connection.executemany(
            "insert into photos (sha256, format, width, height, byte_size) values (?, ?, 0, 0, ?)",
            [tuple(row) for row in lost],
        )
    return [row[0] for row in lost]


def measure_again(survey: Survey) -> list[str]:
    """Have photos examined again whose measurement is gone; returns their digests."""
    with survey.transaction() as connection:
        rows = connection.execute(
            "select sha256 from photos f where examined_with <> '' and problem = '' and not exists"
            " (select 1 from measurements where photo = f.sha256) order by sha256"
        ).fetchall()
        connection.executemany(
            "update photos set examined_with = '' where sha256 = ?", [(row[0],) for row in rows]
        )
    return [row[0] for row in rows]


def all_anew(survey: Survey) -> None:
    """Have every photo compared and grouped again, every text read, every message looked at."""
    with survey.transaction() as connection:
        connection.execute("update photos set linked_with = '', grouped_with = ''")
        connection.execute("update messages set texts_read_with = '', state_due = 1")
        tallies.count_read_anew(connection)
        overview.count_again(survey)
        for table in ("queue_order", "site_adults"):
            derived_rules.make_all_due(survey, table, "")


def with_pictures(survey: Survey) -> list[str]:
    """Digests of photos that were examined and could be read."""
    return column_of(
        survey,
        "select sha256 from photos where examined_with <> '' and problem = '' order by sha256",
    )
