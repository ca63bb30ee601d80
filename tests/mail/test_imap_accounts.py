"""Accounts and secrets as people type them; a password itself is never taken."""

from __future__ import annotations

import pytest

from triage.errors import SourceError
from triage.mail.imap_accounts import account_of, secret_source
from triage.mail.imap_secrets import SecretSource


@pytest.mark.parametrize(
    ("typed", "user", "host", "port"),
    [
        ("linnet@mail.example.org", "linnet", "mail.example.org", 0),
        ("a@b.example@host.example:1993", "a@b.example", "host.example", 1993),
        ("a b@host", "a b", "host", 0),
    ],
)
def test_an_account_is_read_from_its_last_at_sign(typed, user, host, port):
    account = account_of(typed)
    assert (account.user, account.host, account.port) == (user, host, port)
    assert (account.security, account.authentication) == ("tls", "password")
    assert account_of(typed, is_token=True).authentication == "oauth2"


@pytest.mark.parametrize("typed", ["", "host", "@host", "a@", "a@host:", "a@host:x", "a@ho st"])
def test_what_is_no_account_is_refused(typed):
    with pytest.raises(SourceError, match="no mailbox"):
        account_of(typed)


@pytest.mark.parametrize(
    ("typed", "source"),
    [
        ("keyring", SecretSource()),
        ("keyring:linnet", SecretSource(service="linnet")),
        ("env:SECRET", SecretSource(kind="environment", variable="SECRET")),
        (
            "command:pass show 'linnet mail'",
            SecretSource(kind="command", command=("pass", "show", "linnet mail")),
        ),
    ],
)
def test_where_a_secret_is_kept(typed, source):
    assert secret_source(typed) == source


@pytest.mark.parametrize("typed", ["hunter2", "env:", "command:", "ENV:X", ""])
def test_a_password_itself_is_refused_and_not_repeated(typed):
    with pytest.raises(SourceError, match="only where it is kept") as raised:
        secret_source(typed)
    assert "hunter2" not in str(raised.value)
