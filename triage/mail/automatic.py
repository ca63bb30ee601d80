"""Tell a mail that a machine wrote (bounce, auto-reply) or a list sent out by its outer headers.

RFC 3464 and 6522 (delivery reports), RFC 3834 (Auto-Submitted), RFC 8098 (receipts), RFC 2919
(List-Id), RFC 2076 (Precedence), RFC 2369 (List-Unsubscribe).
"""

from __future__ import annotations

import re

from triage.mail.headers import Headers, read_address
from triage.mail.records import Automatic
from triage.mail.structure import Entity

# How addresses begin from which machines send: RFC 2142 for postmaster, else common practice.
DAEMONS = ("mailer-daemon", "postmaster", "mail-daemon", "mdaemon", "double-bounce")
UNREAD = (
    "no-reply", "noreply", "do-not-reply", "donotreply", "nicht-antworten", "ne-pas-repondre",
    "nepasrepondre", "nie-odpowiadaj",
)  # fmt: skip
_DAEMON = re.compile(rf"(?i)^(?:{'|'.join(DAEMONS)})(?:@|$)")
_BOUNCE_SUBJECT = re.compile(
    r"(?i)undeliver|returned mail|delivery (?:status|failure|failed|has failed)|mail delivery|"
    r"failure notice|unzustellbar|nicht zustell|niedostarczon|nie można dostarczyć|non remis|"
    r"onbestelbaar|non recapitabil|no se puede entregar|delay"
)
# How vacation programs begin their subjects, by language (common practice, no source).
_REPLY_SUBJECT = re.compile(
    r"(?i)^\s*(?:automatic reply|auto(?:matic)?[- ]?re(?:ply|sponse)"
    r"|automatische antwort|abwesenheits(?:notiz|meldung)|autoantwort|odpowiedź automatyczna"
    r"|automatyczna odpowiedź|autoodpowiedź|réponse automatique"
    r"|automatisch antwoord|afwezigheids?|respuesta automática|risposta automatica|autosvar"
    r"|automaattinen vastaus)\b"
)


def classify_automatic(entity: Entity) -> Automatic:
    """Tell a delivery report or an automatic answer from what a person sent."""
    headers = entity.headers
    report = entity.type_parameters.get("report-type", "").lower()
    sender = read_address(headers.first("from"))[1] or headers.first("from").strip()
    subject = headers.text("subject")
    if entity.declared_type == "multipart/report":
        return "auto-reply" if report == "disposition-notification" else "bounce"
    from_daemon = bool(_DAEMON.match(sender))
    no_return = headers.first("return-path").replace(" ", "") == "<>"
    if headers.first("x-failed-recipients") or (
        (from_daemon or no_return) and _BOUNCE_SUBJECT.search(subject)
    ):
        return "bounce"
    submitted = re.split(r"[;\s(]", headers.first("auto-submitted").strip().lower())[0]
    replied = submitted == "auto-replied" or headers.first("precedence").lower() == "auto_reply"
    marked = any(
        headers.first(name) for name in ("x-autoreply", "x-autorespond", "x-autoreply-from")
    )
    return "auto-reply" if replied or marked else ""


def is_reply_by_subject(subject: str) -> bool:
    """Whether a subject is one that vacation programs write; people write such subjects too.

    Examples
    --------
    >>> is_reply_by_subject("Abwesenheitsnotiz: Re: your photos")
    True
    """
    return bool(_REPLY_SUBJECT.match(subject))


def distribution_of(headers: Headers) -> str:
    """Through what a mail reached many people at once: a list or a bulk mailing; empty for none."""
    listed = headers.text("list-id").strip()
    precedence = headers.first("precedence").strip().lower()
    if listed:
        return f"list {listed}"[:200]
    if precedence in ("bulk", "list", "junk"):
        return f"precedence {precedence}"
    return "whoever no longer wants it can leave" if headers.first("list-unsubscribe") else ""
