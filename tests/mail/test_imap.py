from __future__ import annotations

import logging
import socket
import sys
import threading
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

import pytest
from dovecot_server import DOVECOT, USER, Server, dovecot, own_client, token
from mail_making import photo_mail, text_mail

from triage.errors import SettingsError, SourceError
from triage.mail.imap import ImapAccount, ImapPosition, encode_mailbox_name, iter_imap
from triage.mail.imap_secrets import SecretSource, read_secret
from triage.mail.limits import Limits
from triage.mail.message import read_message

MAILS = [photo_mail(seed=n, Message_ID=f"<{n}@example.org>") for n in range(3)]


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    with dovecot() as running:
        with own_client(running) as client:
            for number, raw in enumerate(MAILS):
                flags = r"(\Seen \Flagged)" if number == 1 else None
                client.append("INBOX", flags, None, raw.replace(b"\n", b"\r\n"))
            client.create(f'"{encode_mailbox_name("Ważki & co")}"')
            client.append(f'"{encode_mailbox_name("Ważki & co")}"', None, None, text_mail("x\n"))
        yield running


def status(server: Server) -> tuple[bytes, list[bytes], list[str]]:
    """What the server says of the mailbox, the flags of each mail, and the files on disk."""
    with own_client(server) as client:
        counts = client.status("INBOX", "(MESSAGES RECENT UNSEEN UIDNEXT UIDVALIDITY)")[1][0]
        client.select("INBOX", readonly=True)
        flags = client.fetch("1:*", "(UID FLAGS)")[1]
    files = sorted(str(p) for d in ("cur", "new") for p in (server.maildir / d).iterdir())
    return counts, flags, files


def subjects(account: ImapAccount, after: ImapPosition | None = None) -> list[str]:
    return [read_message(d.raw).message_id for _, d in iter_imap(account, after=after)]


@pytest.mark.system("dovecot")
@pytest.mark.skipif(not DOVECOT.exists(), reason="the mail server dovecot is not installed")
class TestWithDovecot:
    def test_reading_changes_no_flag_and_no_count(self, server, account):
        before = status(server)
        assert rb"RECENT 3" in before[0]
        assert subjects(account) == ["0@example.org", "1@example.org", "2@example.org"]
        assert subjects(account) == ["0@example.org", "1@example.org", "2@example.org"]
        assert status(server) == before

    def test_the_same_mail_by_imap_and_as_a_file_is_one_message(self, account):
        fetched = [read_message(delivery.raw).identifier for _, delivery in iter_imap(account)]
        assert fetched == [read_message(raw).identifier for raw in MAILS]

    def test_reading_goes_on_after_the_last_position(self, account):
        positions = [position for position, _ in islice(iter_imap(account), 2)]
        assert subjects(account, positions[-1]) == ["2@example.org"]
        last = [position for position, _ in iter_imap(account)][-1]
        assert subjects(account, last) == []

    def test_another_uidvalidity_starts_at_the_beginning(self, account):
        last = [position for position, _ in iter_imap(account)][-1]
        renumbered = replace(last, uid_validity=last.uid_validity + 1)
        assert len(subjects(account, renumbered)) == 3

    def test_a_mailbox_inside_with_letters_of_its_own_language(self, account):
        assert len(subjects(replace(account, mailbox="Ważki & co"))) == 1

    def test_an_unknown_mailbox_is_named(self, account):
        with pytest.raises(SourceError, match="no such mailbox"):
            subjects(replace(account, mailbox="Nowhere"))

    def test_starttls_and_an_access_token_work_too(self, server, account, monkeypatch):
        assert len(subjects(replace(account, security="starttls", port=server.imap_port))) == 3
        monkeypatch.setenv("SURVEY_SECRET", token())
        assert len(subjects(replace(account, authentication="oauth2"))) == 3

    @pytest.mark.parametrize("authentication", ["password", "oauth2"])
    def test_a_refused_secret_shows_up_nowhere(self, account, monkeypatch, caplog, authentication):
        secret = token(key=b"x" * 32) if authentication == "oauth2" else "wrong-secret-here"
        monkeypatch.setenv("SURVEY_SECRET", secret)
        caplog.set_level(logging.DEBUG)
        with pytest.raises(SourceError, match="refused the user or the secret") as caught:
            subjects(replace(account, authentication=authentication))
        assert caught.value.__suppress_context__
        shown = f"{caught.value!r} {caught.value.__context__!r} {caught.value}"
        assert secret not in shown + caplog.text

    def test_a_certificate_that_nobody_vouches_for_is_refused(self, account):
        with pytest.raises(SourceError, match="certificate is not trusted"):
            subjects(replace(account, ca_file=None))

    def test_a_mail_too_large_is_not_fetched_and_said_so(self, account):
        found = [d for _, d in iter_imap(account, limits=Limits(message_bytes=1000))]
        assert [delivery.kind for delivery in found] == ["unreadable"] * 3
        assert "not fetched" in found[0].problem


def test_a_plain_password_never_goes_to_a_distant_server(monkeypatch):
    monkeypatch.setenv("SURVEY_SECRET", "x")
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_: [(2, 1, 6, "", ("192.0.2.1", 143))])
    account = ImapAccount(
        host="mail.example.org",
        user=USER,
        security="none",
        secret=SecretSource(kind="environment", variable="SURVEY_SECRET"),
    )
    with pytest.raises(SettingsError, match="Use --security tls"):
        list(iter_imap(account))


@pytest.mark.parametrize("content", [None, b"", b"no certificate"])
def test_a_certificate_that_cannot_be_read_is_named(content, tmp_path, monkeypatch):
    monkeypatch.setenv("SURVEY_SECRET", "x")
    kept = tmp_path / "own.pem"
    if content is not None:
        kept.write_bytes(content)
    secret = SecretSource(kind="environment", variable="SURVEY_SECRET")
    account = ImapAccount(host="127.0.0.1", user=USER, secret=secret, ca_file=kept)
    with pytest.raises(SettingsError, match=r"own\.pem: no certificate can be read there"):
        list(iter_imap(account))


def scripted_server(answers: dict[bytes, bytes]) -> tuple[int, list[bytes]]:
    """A server of fixed answers by command word; an empty one breaks the connection."""
    listening = socket.create_server(("127.0.0.1", 0))
    seen: list[bytes] = []

    def serve() -> None:
        connection, _ = listening.accept()
        with connection, listening, connection.makefile("rb") as lines:
            connection.sendall(b"* OK ready\r\n")
            last = b""
            for line in lines:
                seen.append(line)
                tag, _, command = line.strip().partition(b" ")
                answer = next((a for w, a in answers.items() if command.startswith(w)), None)
                if answer == b"":
                    return
                if not command:  # the answer to a challenge belongs to the command before
                    tag = last
                last = tag
                connection.sendall((answer or b"TAG OK done\r\n").replace(b"TAG", tag))

    threading.Thread(target=serve, daemon=True).start()
    return listening.getsockname()[1], seen


def plain_account(port: int, monkeypatch: pytest.MonkeyPatch) -> ImapAccount:
    monkeypatch.setenv("SURVEY_SECRET", "secret")
    secret = SecretSource(kind="environment", variable="SURVEY_SECRET")
    return ImapAccount(host="127.0.0.1", user="u", port=port, security="none", secret=secret)


ANSWERS = {
    b"CAPABILITY": b"* CAPABILITY IMAP4rev1 AUTH=PLAIN\r\nTAG OK done\r\n",
    b"AUTHENTICATE": b"+ \r\n",
    b"EXAMINE": b"* 1 EXISTS\r\n* OK [UIDVALIDITY 7] x\r\n* OK [UIDNEXT 4000000000] x\r\n"
    b"TAG OK [READ-ONLY] done\r\n",
    b"UID FETCH 1:": b"* 1 FETCH (UID 5 RFC822.SIZE 10)\r\n* 9 FETCH (FLAGS ())\r\nTAG OK done\r\n",
    b"UID FETCH 5 ": b"* 1 FETCH (UID 5 BODY[] {4}\r\nabcd)\r\nTAG OK done\r\n",
}


def test_wide_gaps_between_identifiers_cost_few_questions(monkeypatch):
    port, seen = scripted_server(ANSWERS)
    found = list(iter_imap(plain_account(port, monkeypatch)))
    assert [(position.uid, delivery.raw) for position, delivery in found] == [(5, b"abcd")]
    assert len(seen) < 60
    changing = (b"SELECT", b"STORE", b"CLOSE", b"EXPUNGE", b"APPEND", b"COPY", b"MOVE", b"BODY[")
    assert not [line for line in seen if any(word in line for word in changing)]


def test_a_connection_that_breaks_keeps_what_was_read(monkeypatch):
    port, _ = scripted_server({**ANSWERS, b"UID FETCH 1001:": b""})
    reading = iter_imap(plain_account(port, monkeypatch))
    assert next(reading)[0] == ImapPosition(uid_validity=7, uid=5)
    with pytest.raises(SourceError, match="reading resumes where it stopped"):
        next(reading)


def test_secrets_come_from_environment_command_or_keyring(monkeypatch):
    environment = SecretSource(kind="environment", variable="X")
    assert read_secret(environment, user="u", environment={"X": "abc"}) == "abc"
    command = (sys.executable, "-c", "print('from command')")
    assert read_secret(SecretSource(kind="command", command=command), user="u") == "from command"
    monkeypatch.setattr("keyring.get_password", lambda service, user: f"{service}/{user}")
    assert read_secret(SecretSource(), user="u") == "odonata-triage/u"


@pytest.mark.parametrize(
    "source",
    [
        SecretSource(kind="environment", variable="SURELY_NOT_SET"),
        SecretSource(kind="command", command=("surely-no-such-program",)),
        SecretSource(kind="command"),
        SecretSource(
            kind="command", command=(sys.executable, "-c", "print('x'); raise SystemExit(1)")
        ),
    ],
)
def test_a_missing_secret_names_the_place_asked(source):
    with pytest.raises(SettingsError, match="no password or token was found there") as caught:
        read_secret(source, user="u")
    assert "keyring set odonata-triage u" in str(caught.value)


def test_the_mailbox_name_example_of_the_standard():
    # RFC 3501 section 5.1.3: ~peter/mail/台北/日本語
    assert encode_mailbox_name("~peter/mail/台北/日本語") == "~peter/mail/&U,BTFw-/&ZeVnLIqe-"
