"""Mark drafted questions so that their answers are recognised."""

from __future__ import annotations

import re

from triage.standards.digests import digest_of

CODE = re.compile(r"q-[0-9a-f]{8}")
_CODE_IN_TEXT = re.compile(r"(?<![\w-])(q-[0-9a-f]{8})(?![\w-])", re.IGNORECASE)
_OWN_MESSAGE_ID = re.compile(r"<?(q-[0-9a-f]{8})\.question@[^<>\s]+>?", re.IGNORECASE)


def question_code(message_identifier: str, what: str, *, number: int = 1) -> str:
    """The code of a question: the same for the same message, matter and number of asking.

    >>> question_code("m1", "place") == question_code("m1", "place")
    True
    """
    digest = digest_of(f"{message_identifier}\n{what}\n{number}".encode())
    return f"q-{digest[:8]}"


def own_message_id_left(code: str) -> str:
    """What stands before the @ of the draft's Message-ID, which the answer's In-Reply-To repeats.

    >>> own_message_id_left("q-0123abcd")
    'q-0123abcd.question'
    """
    return f"{code}.question"


def code_in_message_id(message_id: str) -> str:
    """The code in one of our own Message-IDs; empty for anybody else's."""
    found = _OWN_MESSAGE_ID.fullmatch(message_id.strip())
    return found[1].lower() if found else ""


def codes_in_text(text: str) -> tuple[str, ...]:
    """The codes that stand in a text, quoted lines included, as written from left to right.

    A new mail carries the code in its text, an answer quotes ours; drafts of earlier versions had
    it in the subject.

    >>> codes_in_text("> please copy this into it: q-0123abcd.")
    ('q-0123abcd',)
    """
    return tuple(code.lower() for code in _CODE_IN_TEXT.findall(text))
