"""Deletes what the survey holds of photos whose person is forgotten and wants them gone."""

from __future__ import annotations

from collections.abc import Collection

from triage.store import backups, tallies
from triage.store.actions import utc_text
from triage.store.connection import Survey
from triage.store.photographers import SENDER, SENT_PARTS
from triage.store.rows import column_in, column_of, count_of

FORGOTTEN = "its person was forgotten"


def whole_ownership(survey: Survey, person: int, photos: Collection[str]) -> list[str]:
    """Those of these photos that are in nobody else's mail."""
    others = column_in(
        survey,
        f"select p.sha256 from {SENT_PARTS} where {SENDER} is not {person:d} and p.sha256 in (...)",
        photos,
    )
    return sorted(set(photos) - others)


def drop(survey: Survey, photos: Collection[str]) -> None:
    """Delete what was read and measured of photos; an empty row stays, that records name.

    What people of the survey said of them is not the person's, and stays.
    """
    for photo in photos:
        for table in tallies.SAID:
            gone = survey.connection.execute(
                f"delete from {table} where photo = ? and action_id is null", (photo,)
            )
            tallies.note_read(survey.connection, table, -gone.rowcount)
        survey.connection.execute("delete from measurements where photo = ?", (photo,))
        survey.connection.execute("delete from photo_links where ? in (first, second)", (photo,))
        survey.connection.execute(
            "update photos set width = 0, height = 0, orientation = null, byte_size = 0,"
            " phash = '', content_phash = '', local_features = x'', exif = '{}', problem = ?"
            " where sha256 = ?",
            (FORGOTTEN, photo),
        )
        survey.connection.execute(
            "update parts set sha256 = null, outcome = 'nothing to keep', file_name = '',"
            " reason = ? where sha256 = ?",
            (FORGOTTEN, photo),
        )


def dropped(survey: Survey) -> list[str]:
    """Photos that were dropped: no file of theirs may lie in the survey."""
    return column_of(survey, "select sha256 from photos where problem = ?", (FORGOTTEN,))


def since_backup(survey: Survey) -> int:
    """How many people were forgotten since the newest backup was made: it still holds them."""
    newest = backups.newest(survey)
    if newest is None:
        return 0
    return count_of(survey, "people where forgotten_at >= ?", (utc_text(newest),))
