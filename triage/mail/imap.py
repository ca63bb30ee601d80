"""Read the raw mails of a mailbox on a server, changing nothing there.

IMAP4rev1 (RFC 3501) over TLS. The mailbox is opened with EXAMINE and mails are fetched with
BODY.PEEK, so that no flag changes. A position (UIDVALIDITY and UID, RFC 3501 section 2.3.1.1)
says where to go on; if the server numbered the mailbox anew, reading starts at its beginning and
mails already received are recognised by their content.
"""

from __future__ import annotations

import base64
import imaplib
import ipaddress
import re
import socket
import ssl
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from triage.errors import SettingsError, SourceError
from triage.mail.imap_secrets import SecretSource, read_secret
from triage.mail.limits import MEBIBYTE, Limits
from triage.mail.sources import DEFAULT_LIMITS, Delivery

_TLS_PORT, _PLAIN_PORT = 993, 143
_SECONDS = 60  # without an answer, after which the connection counts as lost
_WHY = {  # errors of the libraries that people meet, in words
    "gaierror": "no server of this name was found",
    "ConnectionRefusedError": "nothing listens there",
    "TimeoutError": "it does not answer",
}
_WINDOW = 1000  # identifiers asked for at once; doubled while none are in use


@dataclass(frozen=True, slots=True, kw_only=True)
class ImapAccount:
    """One mailbox of one account.

    ``security`` is ``tls`` (port 993), ``starttls`` (port 143) or ``none``, which is refused for
    any server but this machine. ``ca_file`` names the certificates to trust in place of the
    system's, for a server with a certificate of its own making.
    """

    host: str
    user: str
    mailbox: str = "INBOX"
    port: int = 0
    security: Literal["tls", "starttls", "none"] = "tls"
    authentication: Literal["password", "oauth2"] = "password"
    secret: SecretSource = field(default_factory=SecretSource)
    ca_file: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class ImapPosition:
    """The last mail that was read: where the next reading goes on."""

    uid_validity: int
    uid: int


def iter_imap(
    account: ImapAccount, *, after: ImapPosition | None = None, limits: Limits = DEFAULT_LIMITS
) -> Iterator[tuple[ImapPosition, Delivery]]:
    """Yield the mails after a position, in the order of the server, each with its own position.

    Raises
    ------
    SourceError
        If the server cannot be reached, refuses the user or the mailbox, or falls silent. What
        was yielded before stays valid; the next reading goes on after its position.
    SettingsError
        If no secret is found, or plain text is asked for on a distant server.
    """
    with connection_to(account) as connection:
        validity, next_uid = _examine(connection, account)
        last = after.uid if after is not None and after.uid_validity == validity else 0
        for uid, size in _listed(connection, last + 1, next_uid):
            position = ImapPosition(uid_validity=validity, uid=uid)
            yield position, _fetched(connection, account, uid, size, limits)


def encode_mailbox_name(name: str) -> str:
    """Write a mailbox name in the modified UTF-7 of RFC 3501 section 5.1.3.

    Examples
    --------
    >>> encode_mailbox_name("Ważki & co")
    'Wa&AXw-ki &- co'
    """
    return re.sub(
        r"[^\x20-\x7e]+|&",
        lambda match: "&-" if match[0] == "&" else f"&{_modified_base64(match[0])}-",
        name,
    )


def _modified_base64(text: str) -> str:
    letters = base64.b64encode(text.encode("utf-16-be", "surrogatepass")).decode("ascii")
    return letters.rstrip("=").replace("/", ",")


@contextmanager
def connection_to(account: ImapAccount) -> Iterator[imaplib.IMAP4]:
    """A connection on which the user is logged in; it is ended with the block.

    Raises
    ------
    SourceError
        If the server cannot be reached, refuses the user, or breaks off within the block.
    SettingsError
        If no secret is found, or plain text is asked for on a distant server.
    """
    secret = read_secret(account.secret, user=account.user)
    connection = _opened(account)
    try:
        _log_in(connection, account, secret)
        yield connection
    except (imaplib.IMAP4.error, OSError) as error:
        # Not chained: the library's errors can quote the line that was sent.
        raise _lost(account, type(error).__name__) from None
    finally:
        _log_out(connection)


def _opened(account: ImapAccount) -> imaplib.IMAP4:
    context = _trusting(account.ca_file)
    try:
        if account.security == "tls":
            port = account.port or _TLS_PORT
            return imaplib.IMAP4_SSL(account.host, port, ssl_context=context, timeout=_SECONDS)
        if account.security == "none" and not _is_this_machine(account.host):
            raise SettingsError(
                "a password would travel readable by anyone on the way",
                failing=account.host,
                next_step="Use --security tls or starttls.",
            )
        plain = imaplib.IMAP4(account.host, account.port or _PLAIN_PORT, timeout=_SECONDS)
        if account.security == "starttls":
            plain.starttls(ssl_context=context)
        return plain
    except ssl.SSLCertVerificationError as error:
        raise SourceError(
            f"the server's certificate is not trusted: {error.verify_message}",
            failing=account.host,
            next_step="Check the server's name, or give --ca-file the file of its certificate.",
        ) from None
    except (OSError, imaplib.IMAP4.error) as error:
        raise _lost(account, type(error).__name__) from None


def _trusting(ca_file: Path | None) -> ssl.SSLContext:
    try:
        return ssl.create_default_context(cafile=ca_file)
    except OSError:  # also of a file that is no certificate
        raise SettingsError(
            "no certificate can be read there",
            failing=str(ca_file),
            next_step="Give the file of the server's certificate (PEM), or leave --ca-file out.",
        ) from None


def _log_in(connection: imaplib.IMAP4, account: ImapAccount, secret: str) -> None:
    try:
        if account.authentication == "oauth2":
            connection.authenticate("XOAUTH2", _TokenAnswer(account.user, secret))
        else:
            connection.authenticate("PLAIN", _PlainAnswer(account.user, secret))
    except imaplib.IMAP4.abort:
        raise
    except imaplib.IMAP4.error:
        raise SourceError(
            "the server refused the user or the secret",
            failing=f"{account.host}, user {account.user}",
            next_step="Check both; many providers ask for an app password or a fresh token.",
        ) from None


class _PlainAnswer:
    """The one answer of SASL PLAIN (RFC 4616), which unlike LOGIN carries any letter."""

    def __init__(self, user: str, secret: str) -> None:
        self._answer = f"\x00{user}\x00{secret}".encode()

    def __call__(self, challenge: bytes) -> bytes:
        return self._answer


class _TokenAnswer:
    """The answers of XOAUTH2: the token, then nothing if the server explains a refusal."""

    def __init__(self, user: str, token: str) -> None:
        self._answers = [f"user={user}\x01auth=Bearer {token}\x01\x01".encode(), b""]

    def __call__(self, challenge: bytes) -> bytes:
        return self._answers.pop(0) if self._answers else b""


def _examine(connection: imaplib.IMAP4, account: ImapAccount) -> tuple[int, int]:
    """Open the mailbox without the right to change it; return UIDVALIDITY and the next UID."""
    quoted = encode_mailbox_name(account.mailbox).replace("\\", "\\\\").replace('"', '\\"')
    status, _ = connection.select(f'"{quoted}"', readonly=True)
    if status != "OK":
        raise SourceError(
            "the server has no such mailbox",
            failing=f"{account.host}, {account.mailbox}",
            next_step="Check its name; mailboxes inside others are written INBOX/Survey or so.",
        )
    validity = _number(connection, "UIDVALIDITY")
    next_uid = _number(connection, "UIDNEXT")
    if not next_uid:
        # Servers may leave UIDNEXT out; the last mail tells it.
        rows = connection.fetch("*", "(UID)")[1]
        next_uid = max((uid for uid, _ in _rows(rows)), default=0) + 1
    return validity, next_uid


def _number(connection: imaplib.IMAP4, name: str) -> int:
    data = connection.response(name)[1]
    value = data[-1] if data else None
    return int(value) if isinstance(value, bytes) and value.isdigit() else 0


def _listed(connection: imaplib.IMAP4, first: int, next_uid: int) -> Iterator[tuple[int, int]]:
    """Yield (UID, size) of the mails from ``first`` on, in ascending order.

    Asked for by UID, never by sequence number: those shift when another program removes a mail.
    """
    width = _WINDOW
    while first < next_uid:
        stop = min(first + width, next_uid)
        rows = connection.uid("FETCH", f"{first}:{stop - 1}", "(UID RFC822.SIZE)")[1]
        found = sorted(row for row in set(_rows(rows)) if first <= row[0] < stop)
        yield from found
        width = _WINDOW if found else width * 2
        first = stop


def _rows(data: Sequence[object]) -> Iterator[tuple[int, int]]:
    for item in data:
        line = item[0] if isinstance(item, tuple) else item
        if isinstance(line, bytes) and (uid := re.search(rb"\bUID (\d{1,10})\b", line)):
            size = re.search(rb"\bRFC822\.SIZE (\d{1,12})\b", line)
            yield int(uid[1]), int(size[1]) if size else 0


def _fetched(
    connection: imaplib.IMAP4, account: ImapAccount, uid: int, size: int, limits: Limits
) -> Delivery:
    origin = f"{account.host}, {account.mailbox}, mail {uid}"
    name = f"{uid}.eml"
    if size > limits.message_bytes:
        limit = limits.message_bytes // MEBIBYTE
        problem = f"the mail is larger than {limit} MiB; not fetched"
        return Delivery(kind="unreadable", origin=origin, name=name, problem=problem)
    data: Sequence[object] = connection.uid("FETCH", str(uid), "(UID BODY.PEEK[])")[1]
    bodies = [item[1] for item in data if isinstance(item, tuple) and len(item) > 1]
    if not bodies:
        problem = "the server did not give this mail; it may have been removed meanwhile"
        return Delivery(kind="unreadable", origin=origin, name=name, problem=problem)
    return Delivery(kind="message", origin=origin, name=name, raw=bytes(bodies[0]))


def _log_out(connection: imaplib.IMAP4) -> None:
    """End a connection, whatever state it is in."""
    # LOGOUT alone: CLOSE would remove mails that another program marked, had the mailbox been
    # opened for changes.
    try:
        connection.logout()
    except (imaplib.IMAP4.error, OSError):
        connection.shutdown()


def _is_this_machine(host: str) -> bool:
    try:
        found = {info[4][0] for info in socket.getaddrinfo(host, None)}
    except OSError:
        return False
    return bool(found) and all(ipaddress.ip_address(address).is_loopback for address in found)


def _lost(account: ImapAccount, kind: str) -> SourceError:
    """The error for a connection that broke off."""
    return SourceError(
        f"the mail server cannot be reached or broke off ({_WHY.get(kind, kind)})",
        failing=account.host,
        next_step="Try again later; reading resumes where it stopped.",
    )
