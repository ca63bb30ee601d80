"""A message and what it lacks in, a reply that asks one thing (the bytes of an .eml) out.

References
----------
Resnick, P. (2008). Internet Message Format. RFC 5322 (section 3.6.4: In-Reply-To, References).
https://doi.org/10.17487/RFC5322
"""

from __future__ import annotations

import re
import string
from dataclasses import dataclass
from datetime import datetime
from email import policy
from email.errors import MessageError
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime
from importlib import resources
from pathlib import Path
from typing import Literal, get_args

from triage.errors import SettingsError, TriageError
from triage.mail.header_words import without_answer_prefixes
from triage.replies import marks
from triage.standards.cautions import cautions

Question = Literal["place", "date", "publish", "name", "original", "identity", "search"]
"""Which pond; which day; may we publish; may we name you; the photo instead of a link or a small
copy; who took it; would you search a shore."""

QUESTIONS: tuple[Question, ...] = get_args(Question)
DEFAULT_LANGUAGE = "en"
SUBJECT_LENGTH = 200  # characters kept of somebody's subject
REFERENCES_KEPT = 20  # the first and the last; RFC 5322 sets no limit, mail servers do

_ADDRESS = re.compile(
    r"[^\s<>()\[\],;:\\\"@\x00-\x20\x7f]+@[A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?"
)
_MESSAGE_ID = re.compile(r"<(?!.*=\?)[!-;=?-~]{1,500}>")  # visible ASCII, and no encoded word
_UNSEEN = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\u200b-\u200f\u202a-\u202e\u2066-\u2069]+")
_LANGUAGE = re.compile(r"[a-z]{2,3}(?:-[A-Za-z0-9]{2,8})*")


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedMessage:
    """The message that lacks something, as its sender wrote it: nothing here is trusted.

    ``sent_on`` is the day in words that the recipient understands, or empty. ``places`` are site
    names that may be offered; ``photo_count`` how many photos the message brought.
    """

    recipient_address: str
    recipient_name: str = ""
    subject: str = ""
    message_id: str = ""
    references: tuple[str, ...] = ()
    sent_on: str = ""
    places: tuple[str, ...] = ()
    photo_count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Asker:
    """Who asks: the survey, its own address, the name below the text, the licence asked for."""

    survey: str
    address: str
    name: str = ""
    licence_name: str = ""
    licence_uri: str = ""


def draft_reply(
    asked: AskedMessage,
    what: Question,
    *,
    code: str,
    asker: Asker,
    now: datetime,
    language: str = DEFAULT_LANGUAGE,
    templates: Path | None = None,
) -> bytes:
    """A reply that asks one question, as the bytes of an .eml. It is never sent from here.

    Parameters
    ----------
    asked : AskedMessage
        The message that is answered.
    what : Question
        The one thing to ask.
    code : str
        The question's code (:func:`triage.replies.marks.question_code`); it stands in the subject
        and in the draft's own Message-ID.
    asker : Asker
        Who asks.
    now : datetime
        Aware; the Date of the draft.
    language : str
        Of the template; English where there is none in it.
    templates : Path, optional
        The survey's own templates, looked at first: ``LANGUAGE/WHAT.txt``, then ``WHAT.txt``.

    Returns
    -------
    bytes
        RFC 5322, UTF-8, marked as not yet sent (X-Unsent) so that mail programs open it as a
        draft. A search invitation always carries the cautions.

    Raises
    ------
    TriageError
        If the recipient's or the survey's address is none.
    SettingsError
        If a template of the survey cannot be read or uses a word in ``$`` that does not exist, or
        if consent to publish is asked for without naming a licence.
    ValueError
        If ``what`` or ``code`` is not one of ours, or ``now`` is naive.
    """
    if what not in QUESTIONS or not marks.CODE.fullmatch(code) or now.tzinfo is None:
        raise ValueError("unknown question, malformed code, or a time without zone")
    if what == "publish" and not (asker.licence_name.strip() or asker.licence_uri.strip()):
        raise SettingsError(
            "nobody can be asked for consent to a licence that is not named",
            failing="publishing.default_photo_licence",
            next_step="Set it in survey.toml to the address of the licence that you ask for.",
        )
    body = _body(asked, what, asker=asker, language=language, templates=templates)
    recipient = _address(asked.recipient_name, asked.recipient_address)
    sender = _address(asker.name or asker.survey, asker.address)
    message = EmailMessage(policy=policy.SMTP)
    message["From"] = sender
    message["To"] = recipient
    message["Subject"] = _subject(asked.subject, code)
    message["Date"] = format_datetime(now)
    message["Message-ID"] = marks.own_message_id(code, sender.domain)
    threads = _thread(asked)
    if threads:
        if _MESSAGE_ID.fullmatch(asked.message_id.strip()):
            message["In-Reply-To"] = asked.message_id.strip()
        message["References"] = " ".join(threads)
    message["X-Unsent"] = "1"
    message.set_content(body, cte="quoted-printable")
    return message.as_bytes()


def _one_line(text: str) -> str:
    """No line break, nothing invisible, and no encoded word (RFC 2047).

    The standard library decodes an encoded word that stands in a display name when it writes the
    header, line breaks inside it included: a header injection.
    """
    return " ".join(_UNSEEN.sub(" ", text).replace("=?", "= ?").split())


def _address(name: str, address: str) -> Address:
    """An address that cannot smuggle in a header line, a second recipient or a command."""
    bare = address.strip()
    try:
        if not _ADDRESS.fullmatch(bare):
            raise ValueError("not of the form name@domain")
        return Address(display_name=_one_line(name)[:SUBJECT_LENGTH], addr_spec=bare)
    except (ValueError, IndexError, MessageError) as error:
        raise TriageError(
            "no reply can be drafted to or from this address",
            failing=_one_line(address)[:SUBJECT_LENGTH] or "(empty address)",
            next_step="Write by hand, or correct the address of the person or the survey.",
        ) from error


def _subject(subject: str, code: str) -> str:
    bare = marks.without_marks(without_answer_prefixes(_one_line(subject)))
    return " ".join(filter(None, ("Re:", bare[:SUBJECT_LENGTH], marks.subject_mark(code))))


def _thread(asked: AskedMessage) -> list[str]:
    """RFC 5322, 3.6.4: the parent's References, then the parent; malformed ones are dropped."""
    ids = [*asked.references, asked.message_id]
    sound = list(dict.fromkeys(i.strip() for i in ids if _MESSAGE_ID.fullmatch(i.strip())))
    return sound[:1] + sound[1:][-(REFERENCES_KEPT - 1) :]


def _body(
    asked: AskedMessage, what: Question, *, asker: Asker, language: str, templates: Path | None
) -> str:
    source, text = _template(what, language, templates)
    lines = cautions(language)
    words = {
        "recipient": _one_line(asked.recipient_name) or _one_line(asked.recipient_address),
        "subject": _one_line(asked.subject)[:SUBJECT_LENGTH] or "\u2026",
        "sent_on": _one_line(asked.sent_on),
        "photo_count": str(asked.photo_count),
        "places": "\n".join(f"- {_one_line(place)}" for place in asked.places),
        "survey": _one_line(asker.survey),
        "asker": _one_line(asker.name) or _one_line(asker.survey),
        "licence": " ".join(
            filter(None, (_one_line(asker.licence_name), _one_line(asker.licence_uri)))
        ),
        "cautions": "\n".join(f"- {line}" for line in lines),
    }
    try:
        filled = string.Template(text).substitute(words)
    except (KeyError, ValueError) as error:
        raise SettingsError(
            f"the template uses a word that does not exist ({error})",
            failing=source,
            next_step="Use only $" + ", $".join(words) + "; write $$ for a dollar sign.",
        ) from error
    if what == "search" and not all(line in filled for line in lines):
        filled += "\n" + words["cautions"] + "\n"
    return re.sub(r"\n{3,}", "\n\n", filled.replace("\r\n", "\n")).strip() + "\n"


def _template(what: Question, language: str, templates: Path | None) -> tuple[str, str]:
    wanted = language if _LANGUAGE.fullmatch(language) else DEFAULT_LANGUAGE
    if templates is not None:
        for path in (templates / wanted / f"{what}.txt", templates / f"{what}.txt"):
            if path.is_file():
                try:
                    return str(path), path.read_text(encoding="utf-8-sig")
                except (OSError, UnicodeDecodeError) as error:
                    raise SettingsError(
                        "the template cannot be read as UTF-8 text",
                        failing=str(path),
                        next_step="Save it as plain text in UTF-8, or remove it.",
                    ) from error
    ours = resources.files("triage.replies") / "templates"
    for candidate in (wanted, wanted.partition("-")[0], DEFAULT_LANGUAGE):
        file = ours / candidate / f"{what}.txt"
        if file.is_file():
            return f"{candidate}/{what}.txt", file.read_text(encoding="utf-8")
    raise ValueError(f"no template for {what}")  # every question has an English one (tested)
