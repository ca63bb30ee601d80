"""A message and what is asked about it in, the marks by which its answer is recognised out."""

from __future__ import annotations

import hashlib
import re

CODE = re.compile(r"q-[0-9a-f]{8}")
_SUBJECT_MARK = re.compile(r"\[question (q-[0-9a-f]{8})\]", re.IGNORECASE)
_OWN_MESSAGE_ID = re.compile(r"<?(q-[0-9a-f]{8})\.question@[^<>\s]+>?", re.IGNORECASE)


def question_code(message_identifier: str, what: str, *, number: int = 1) -> str:
    """The code of a question: the same for the same message, matter and number of asking.

    >>> question_code("m1", "place") == question_code("m1", "place")
    True
    """
    digest = hashlib.sha256(f"{message_identifier}\n{what}\n{number}".encode()).hexdigest()
    return f"q-{digest[:8]}"


def subject_mark(code: str) -> str:
    """What stands at the end of the subject.

    >>> subject_mark("q-0123abcd")
    '[question q-0123abcd]'
    """
    return f"[question {code}]"


def own_message_id(code: str, domain: str) -> str:
    """The Message-ID of the draft, which the answer's In-Reply-To and References repeat.

    >>> own_message_id("q-0123abcd", "example.org")
    '<q-0123abcd.question@example.org>'
    """
    return f"<{code}.question@{domain}>"


def code_in_message_id(message_id: str) -> str:
    """The code in one of our own Message-IDs; empty for anybody else's."""
    found = _OWN_MESSAGE_ID.fullmatch(message_id.strip())
    return found[1].lower() if found else ""


def codes_in_subject(subject: str) -> tuple[str, ...]:
    """The codes marked in a subject, as written from left to right."""
    return tuple(code.lower() for code in _SUBJECT_MARK.findall(" ".join(subject.split())))


def without_marks(subject: str) -> str:
    """The subject without earlier marks, so that they do not pile up."""
    return " ".join(_SUBJECT_MARK.sub(" ", subject).split())
