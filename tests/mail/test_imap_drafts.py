"""Drafts on a mail server: the one thing ever written there, against a real Dovecot."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from dovecot_server import DOVECOT, USER, Server, dovecot, own_client
from mail_making import text_mail

from triage.errors import SourceError
from triage.mail.imap import ImapAccount
from triage.mail.imap_drafts import append_drafts
from triage.mail.imap_secrets import SecretSource

LETTER = b"From: a@example.org\r\nSubject: one\r\n\r\nDear Bo\r\n"


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    with dovecot() as running:
        with own_client(running) as client:
            client.append("INBOX", None, None, text_mail("x\n"))
        yield running


@pytest.mark.system("dovecot")
@pytest.mark.skipif(not DOVECOT.exists(), reason="the mail server dovecot is not installed")
class TestWithDovecot:
    def test_without_a_folder_of_drafts_nothing_is_written_and_it_is_said(self, server, account):
        with pytest.raises(SourceError, match="no folder of drafts"):
            append_drafts(account, [LETTER])
        with own_client(server) as client:
            assert rb"MESSAGES 1)" in client.status("INBOX", "(MESSAGES)")[1][0]

    def test_letters_lie_in_the_drafts_as_drafts_and_the_inbox_stays_as_it_was(
        self, server, account
    ):
        with own_client(server) as client:
            client.create("Drafts")
        assert append_drafts(account, [LETTER, LETTER.replace(b"\r\n", b"\n")]) == "Drafts"
        with own_client(server) as client:
            client.select("Drafts", readonly=True)
            found = client.fetch("1:*", "(FLAGS BODY.PEEK[])")[1]
            bodies = [part[1] for part in found if isinstance(part, tuple)]
            flags = [part[0] for part in found if isinstance(part, tuple)]
            assert bodies == [LETTER, LETTER]
            assert all(rb"\Draft" in line for line in flags)
            assert rb"MESSAGES 1)" in client.status("INBOX", "(MESSAGES)")[1][0]

    def test_a_refused_secret_writes_nothing(self, account, monkeypatch):
        monkeypatch.setenv("SURVEY_SECRET", "wrong")
        with pytest.raises(SourceError, match="refused the user or the secret"):
            append_drafts(account, [LETTER])


def test_an_unreachable_server_is_a_sentence(monkeypatch):
    monkeypatch.setenv("SURVEY_SECRET", "x")
    account = ImapAccount(
        host="127.0.0.1",
        user=USER,
        port=9,
        secret=SecretSource(kind="environment", variable="SURVEY_SECRET"),
    )
    with pytest.raises(SourceError, match="cannot be reached"):
        append_drafts(replace(account, security="none"), [LETTER])
