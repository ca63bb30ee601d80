"""Keep where the reading of each mailbox on a server stopped."""

from __future__ import annotations

from triage.store.connection import Survey


def position(survey: Survey, account: str, folder: str) -> tuple[int, int] | None:
    """Where the last reading of a mailbox stopped: UIDVALIDITY and UID."""
    query = "select uid_validity, uid from imap_positions where account = ? and folder = ?"
    row = survey.row(query, account, folder)
    return (row[0], row[1]) if row else None


def set_position(survey: Survey, account: str, folder: str, uid_validity: int, uid: int) -> None:
    """Note where the reading of a mailbox stands."""
    values = {"account": account, "folder": folder, "uid_validity": uid_validity, "uid": uid}
    survey.insert("imap_positions", values, replace=True)
