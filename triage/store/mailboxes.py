"""Keep where the reading of each mailbox on a server stopped."""

from __future__ import annotations

from triage.store.connection import Survey


def position(survey: Survey, account: str, folder: str) -> tuple[int, int] | None:
    """Where the last reading of a mailbox stopped: UIDVALIDITY and UID."""
    row = survey.connection.execute(
        "select uid_validity, uid from imap_positions where account = ? and folder = ?",
        (account, folder),
    ).fetchone()
    return (row[0], row[1]) if row else None


def set_position(survey: Survey, account: str, folder: str, uid_validity: int, uid: int) -> None:
    """Note where the reading of a mailbox stands."""
    survey.connection.execute(
        "insert into imap_positions values (?, ?, ?, ?) on conflict (account, folder)"
        " do update set uid_validity = excluded.uid_validity, uid = excluded.uid",
        (account, folder, uid_validity, uid),
    )
