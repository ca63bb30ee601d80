"""Appends a letter to the folder of drafts on a mail server: the one thing ever written there.

References
----------
Crispin, M. 2003. IMAP4rev1. RFC 3501 (6.3.11 APPEND). https://doi.org/10.17487/RFC3501
Leiba, B., Nicolson, J. 2011. IMAP LIST extension for special-use mailboxes. RFC 6154.
https://doi.org/10.17487/RFC6154
"""

from __future__ import annotations

import imaplib
import re
from collections.abc import Sequence

from triage.errors import SourceError
from triage.mail.imap import ImapAccount, connection_to

_LISTED = re.compile(rb'\((?P<flags>[^)]*)\)\s+(?:"(?:[^"\\]|\\.)*"|NIL)\s+(?P<name>.+)')


def append_drafts(account: ImapAccount, letters: Sequence[bytes]) -> str:
    r"""Append letters to the server's folder of drafts, marked as drafts and as seen.

    The folder is the one that the server marks as \Drafts (RFC 6154), else one called "Drafts".

    Returns
    -------
    str
        The name of the folder.

    Raises
    ------
    SourceError
        If the server cannot be reached, refuses the user, has no such folder, or refuses a
        letter; those appended before it stay there.
    SettingsError
        If no secret is found, or plain text is asked for on a distant server.
    """
    with connection_to(account) as connection:
        folder = _drafts_folder(connection, account)
        for letter in letters:
            answer, _ = connection.append(folder, r"(\Draft \Seen)", "", _crlf(letter))
            if answer != "OK":
                raise SourceError(
                    "the server did not take the draft",
                    failing=f"{account.host}, folder {folder}",
                    next_step="Check that there is room, or open the .eml files by hand.",
                )
    return folder.strip('"')


def _drafts_folder(connection: imaplib.IMAP4, account: ImapAccount) -> str:
    _, listed = connection.list()
    names = {}
    for line in listed or ():
        match = _LISTED.match(line) if isinstance(line, bytes) else None
        if match is not None:
            names[match["name"].decode("ascii", "replace")] = match["flags"].lower()
    for name, flags in names.items():
        if rb"\drafts" in flags:
            return name
    for name in names:
        if name.strip('"').casefold() in ("drafts", "inbox.drafts", "inbox/drafts"):
            return name
    raise SourceError(
        "this account has no folder of drafts",
        failing=f"{account.host}, user {account.user}",
        next_step="Make a folder called Drafts there, or open the .eml files by hand.",
    )


def _crlf(letter: bytes) -> bytes:
    return letter.replace(b"\r\n", b"\n").replace(b"\n", b"\r\n")
