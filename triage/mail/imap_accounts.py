"""A mailbox and where its password is kept, as a person typed them, become an account to read."""

from __future__ import annotations

import re
import shlex
from pathlib import Path
from typing import Literal

from triage.errors import SourceError
from triage.mail.imap import ImapAccount
from triage.mail.imap_secrets import SecretSource


def account_of(
    address: str,
    *,
    mailbox: str = "INBOX",
    secret_from: str = "keyring",
    is_token: bool = False,
    security: Literal["tls", "starttls", "none"] = "tls",
    ca_file: Path | None = None,
) -> ImapAccount:
    """The account that a person typed as user@host or user@host:port.

    Raises
    ------
    SourceError
        If it is of another form.
    """
    found = re.fullmatch(r"(.+)@([^@:\s]+)(?::(\d+))?", address)
    if not found:
        raise SourceError(
            "this is no mailbox",
            failing=address,
            next_step="Give it as user@host, such as linnet@mail.example.org or a@b@host:993.",
        )
    user, host, port = found.groups()
    return ImapAccount(
        host=host,
        user=user,
        mailbox=mailbox,
        port=int(port or 0),
        security=security,
        authentication="oauth2" if is_token else "password",
        secret=secret_source(secret_from),
        ca_file=ca_file,
    )


def secret_source(text: str) -> SecretSource:
    """Where a secret is kept, as a person typed it: keyring, env:NAME or command:LINE.

    Raises
    ------
    SourceError
        If it is of another form: a password itself is never taken.
    """
    kind, _, rest = text.partition(":")
    if kind == "keyring":
        return SecretSource(kind="keyring", service=rest) if rest else SecretSource()
    if kind == "env" and rest:
        return SecretSource(kind="environment", variable=rest)
    if kind == "command" and rest:
        return SecretSource(kind="command", command=tuple(shlex.split(rest)))
    raise SourceError(
        "a password is not taken here, only where it is kept",
        failing="--password-from",
        next_step="Give keyring, env:NAME or command:LINE.",
    )
