"""Recognise which question a mail answers where its mail program has lost the thread.

Web mail often answers without In-Reply-To and References. The question is told by our own words,
quoted below the answer, or by the subject of the only question that this sender was asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from triage.mail.header_words import is_answer, without_answer_prefixes

TELLING_LETTERS = 30  # of a line of ours; a shorter one ("With thanks") may be anybody's


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedQuestion:
    """A question that waits for this sender: the subject of the mail asked about, our words."""

    code: str
    subject: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadFound:
    """``code`` is the question that is surely answered; ``offered`` one that may be, else empty."""

    code: str = ""
    offered: str = ""


def recognise_without_thread(
    subject: str, quoted: str, waiting: Sequence[AskedQuestion]
) -> ThreadFound:
    """The question that a mail without thread answers, of those that wait for its sender.

    Sure are the words of one question alone in what the mail quotes, and the subject of the only
    question with that subject behind an answering prefix. Anything else is offered: the newest.

    Examples
    --------
    >>> asked = AskedQuestion(code="q-1", subject="Blue one", words="")
    >>> recognise_without_thread("Re: Blue one", "", [asked]).code
    'q-1'
    >>> recognise_without_thread("Hello again", "", [asked])
    ThreadFound(code='', offered='q-1')
    """
    if not waiting:
        return ThreadFound()
    said = " ".join(quoted.replace(">", " ").split())
    ours = [one for one in waiting if _telling(one, waiting) & set(_lines_in(one.words, said))]
    if len(ours) == 1:
        return ThreadFound(code=ours[0].code)
    bare = _bare(subject)
    named = [one for one in waiting if _bare(one.subject) == bare]
    if is_answer(subject) and bare and len(named) == 1:
        return ThreadFound(code=named[0].code)
    return ThreadFound(offered=(ours or named or waiting)[-1].code)


def _bare(subject: str) -> str:
    return without_answer_prefixes(subject).strip().casefold()


def _lines(words: str) -> list[str]:
    lines = (" ".join(line.split()) for line in words.splitlines())
    return [line for line in lines if len(line) >= TELLING_LETTERS]


def _telling(one: AskedQuestion, waiting: Sequence[AskedQuestion]) -> set[str]:
    """Lines of a question that no other question to this sender has."""
    others = {line for other in waiting if other.code != one.code for line in _lines(other.words)}
    return set(_lines(one.words)) - others


def _lines_in(words: str, said: str) -> list[str]:
    return [line for line in _lines(words) if line in said]
