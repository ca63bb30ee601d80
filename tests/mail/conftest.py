"""Fixtures for tests with a mail server; each test module has its own server."""

from __future__ import annotations

import pytest
from dovecot_server import PASSWORD, USER, Server

from triage.mail.imap import ImapAccount
from triage.mail.imap_secrets import SecretSource


@pytest.fixture
def account(server: Server, monkeypatch: pytest.MonkeyPatch) -> ImapAccount:
    """The account of the server's one user, its secret in the environment."""
    monkeypatch.setenv("SURVEY_SECRET", PASSWORD)
    return ImapAccount(
        host="127.0.0.1",
        user=USER,
        port=server.imaps_port,
        secret=SecretSource(kind="environment", variable="SURVEY_SECRET"),
        ca_file=server.certificate,
    )
