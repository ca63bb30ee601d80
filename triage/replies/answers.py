"""Recognise which question a mail answers, and how."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from triage.mail.consent import Consent, read_consent
from triage.mail.wishes import SENTENCE
from triage.replies import marks
from triage.replies.wording import Question


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerReading:
    """A yes or a no with the sentence that says it; ``unclear`` goes back to the coordinator.

    ``licence`` is the address of a licence that the person names, which may be another than the
    one asked for; empty where none is named.
    """

    answer: Literal["yes", "no", "unclear"]
    wording: str = ""
    licence: str = ""


_YES = r"yes|yep|yeah|sure|of course|certainly|gladly|ja|gern|gerne|nat\u00fcrlich|klar|"
_YES += r"selbstverst\u00e4ndlich|tak|oczywi\u015bcie|zgoda|zgadzam si\u0119|pewnie|"
_YES += r"oui|bien s\u00fbr|volontiers|d[\u2019']accord|avec plaisir|naturellement|"
_YES += r"pas de (?:probl\u00e8me|souci)"
_NO = r"no|nope|not|never|cannot|don't|do not|can't|won't|rather not|please don't|nein|nicht|"
_NO += r"kein|keine|keinen|keinesfalls|lieber nicht|nie|wol\u0119 nie|nie zgadzam si\u0119|"
_NO += r"non|pas(?! de (?:probl\u00e8me|souci))|jamais|ne|n[\u2019']\w+"
_AGREE = r"you may|you can|i agree|go ahead|feel free|happy for you|d\u00fcrfen sie|d\u00fcrft ihr|"
_AGREE += r"einverstanden|mo\u017cecie|mo\u017cna|mog\u0105 pa\u0144stwo|"
_AGREE += r"vous pouvez|je suis d[\u2019']accord|allez-y"
_BUT = r"but|unless|except|only if|provided|aber|nur wenn|au\u00dfer|ale|tylko|chyba|mais|sauf|"
_BUT += r"seulement|\u00e0 condition|uniquement"

_STARTS_YES = re.compile(rf"(?:\W*(?:{_YES})\b|.*\b(?:{_AGREE})\b)", re.IGNORECASE)
_STARTS_NO = re.compile(rf"\W*(?:{_NO})\b", re.IGNORECASE)
_HAS_NO = re.compile(rf"\b(?:{_NO})\b", re.IGNORECASE)
_HAS_BUT = re.compile(rf"\b(?:{_BUT})\b", re.IGNORECASE)
_QUOTED_LINE = re.compile(r"\s*(?:>|\||On .+ wrote:|Am .+ schrieb|W dniu .+ pisze|Le .+ a écrit)")


def recognise_answer(
    in_reply_to: str,
    references: Sequence[str],
    text: str,
    known_questions: Collection[str],
) -> str | None:
    """The code of the question that a mail answers, or None.

    The thread decides first: In-Reply-To, then References from the latest back. Only then a code
    in the subject or text (given as one), for mail programs that lose the thread. A code that
    nobody asked is no answer. Whether the person asked is the one who wrote is for the caller to
    compare.

    >>> recognise_answer("", (), "At Alder Pool. > copy this into it: q-0123abcd", {"q-0123abcd"})
    'q-0123abcd'
    """
    named = [in_reply_to, *reversed(references)]
    in_thread = [marks.code_in_message_id(one) for text in named for one in text.split()]
    for code in (*in_thread, *reversed(marks.codes_in_text(text))):
        if code and code in known_questions:
            return code
    return None


def consent_in_answer(text: str, what: str, *, licence: str) -> Consent | None:
    """What an answer plainly says of publishing; None where nothing of it was asked, or is plain.

    A yes to publishing is one under the ``licence`` that was asked for.
    """
    if what not in ("publish", "name"):
        return None
    reading = read_answer(text, "publish" if what == "publish" else "name")
    if reading.answer == "unclear":
        return None
    if what == "name":
        return Consent(name_shown=reading.answer, wording=reading.wording)
    granted = licence if reading.answer == "yes" else ""
    return Consent(publish=reading.answer, licence=granted, wording=reading.wording)


def read_answer(text: str, what: Question) -> AnswerReading:
    """A yes or no to a question about consent (publish, name), in the languages of our letters.

    Whole statements are read as in any mail (:func:`triage.mail.consent.read_consent`); what a
    question adds is that a plain yes or no says something. Cautious: a yes with a condition or a
    denial anywhere near it is unclear, and so are two statements that disagree. Answers about
    places and days are read where message texts are read.

    Parameters
    ----------
    text : str
        What the person wrote; quoted lines are skipped.
    what : Question
        The question that was asked.

    Returns
    -------
    AnswerReading
        ``unclear`` for every other question.

    Examples
    --------
    >>> read_answer("Yes, of course!\\n\\nBo", "publish").answer
    'yes'
    >>> read_answer("Yes, but not with my name.", "publish").answer
    'unclear'
    """
    if what not in ("publish", "name"):
        return AnswerReading(answer="unclear")
    own = _own_lines(text)
    stated = read_consent("\n".join(own))
    said = stated.publish if what == "publish" else stated.name_shown
    plain = _plain_answer(own)
    if said == "unstated" or (plain.answer == said):
        return replace(plain, licence=stated.licence)
    opens_with_no = bool(own) and _STARTS_NO.match(own[0]) is not None
    if plain.answer == "unclear" and not (said == "yes" and opens_with_no):
        return AnswerReading(answer=said, wording=stated.wording, licence=stated.licence)
    return AnswerReading(answer="unclear", wording=stated.wording)


def _own_lines(text: str) -> list[str]:
    """The lines that the person wrote, without those that they quote."""
    own: list[str] = []
    for line in text.splitlines():
        if _QUOTED_LINE.match(line):
            if own and not line.lstrip().startswith((">", "|")):
                break  # the attribution line: all below is ours, not theirs
            continue
        if line.strip():
            own.append(line.strip())
    return own


def _plain_answer(own: Sequence[str]) -> AnswerReading:
    sentences = [s.strip() for s in SENTENCE.findall("\n".join(own[:8])) if s.strip()]
    said_yes = [s for s in sentences if _STARTS_YES.match(s)]
    denied = [s for s in sentences if _HAS_NO.search(s)]
    limited = [s for s in sentences if _HAS_BUT.search(s)]
    if said_yes and not denied and not limited:
        return AnswerReading(answer="yes", wording=said_yes[0])
    if denied and not said_yes and not limited and _HAS_NO.search(sentences[0]):
        return AnswerReading(answer="no", wording=denied[0])
    return AnswerReading(answer="unclear", wording=" ".join(sentences[:2]))


LONG_ANSWER = 30  # words; a longer one says more than was asked
# What an answer may say beside what was asked: English, German, Polish, French; no source.
_BESIDE = re.compile(
    r"""\?|(?<!\w)(?:took|taken\sby|photographed\sby|shot\sby|not\smine|isn[\u2019']?t\smine|friend\w*
    |neighbou?r\w*|wife|husband|daughter|son|colleague\w*|don[\u2019']?t|do\snot|not|but|maybe|perhaps
    |delete|remove|no\sidea|unsure|wrong|mistake|freund\w*|nachbar\w*|kolleg\w*|nicht|kein\w*|aber
    |vielleicht|löschen|keine\sahnung|falsch|gemacht|koleg\w*|kolega|sąsiad\w*|zrobił\w*|nie|ale|może
    |usun\w*|pomyłka|ami|amie|voisin\w*|pas|mais|peut-être|supprim\w*|erreur|pris\spar)(?!\w)""",
    re.IGNORECASE | re.VERBOSE,
)


def is_understood(text: str, what: Question, *, place: bool, date: bool) -> bool:
    """Whether an answer says what was asked and nothing beside it; else a person must read it.

    ``place`` and ``date`` tell whether its text states one without a doubt.

    Examples
    --------
    >>> is_understood("At Alder Pool.", "place", place=True, date=False)
    True
    >>> is_understood("At Alder Pool, but my friend took it.", "place", place=True, date=False)
    False
    """
    own = "\n".join(_own_lines(text))
    if what in ("publish", "name"):
        return read_answer(text, what).answer != "unclear" and "?" not in own
    said = {"place": place, "date": date, "place and date": place and date}.get(what, False)
    return said and len(own.split()) <= LONG_ANSWER and not _BESIDE.search(own)
