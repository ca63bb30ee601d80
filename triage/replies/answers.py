"""Recognise which question a mail answers, and how."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from triage.mail.consent import Consent, read_consent
from triage.mail.header_words import any_of
from triage.mail.wishes import SENTENCE
from triage.replies import marks
from triage.replies.wording import Question
from triage.standards.data_files import toml_of


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
_YES += r"oui|bien s\u00fbr|volontiers|d[\u2019']accord|avec plaisir|naturellement"
_NO = r"no|nope|not|never|cannot|don't|do not|can't|won't|rather not|please don't|nein|nicht|"
_NO += r"kein|keine|keinen|keinesfalls|lieber nicht|nie|wol\u0119 nie|nie zgadzam si\u0119|"
_NO += r"non|pas|jamais|ne|n[\u2019']\w+"
_AGREE = r"you may|you can|i agree|go ahead|feel free|happy for you|d\u00fcrfen sie|d\u00fcrft ihr|"
_AGREE += r"einverstanden|mo\u017cecie|mo\u017cna|mog\u0105 pa\u0144stwo|"
_AGREE += r"vous pouvez|je suis d[\u2019']accord|allez-y"
_NO_PROBLEM = re.compile(
    r"\b(?:(?:no|not a) (?:problem|worries|trouble)|kein problem|nie ma problemu"
    r"|(?:pas de|aucun) (?:probl\u00e8me|souci))\b",
    re.IGNORECASE,
)
"""Is no denial."""
_STARTS_YES = re.compile(rf"(?:\W*(?:{_YES})\b|.*\b(?:{_AGREE})\b)", re.IGNORECASE)
_STARTS_NO = re.compile(rf"\W*(?:{_NO})\b", re.IGNORECASE)
_HAS_NO = re.compile(rf"\b(?:{_NO})\b", re.IGNORECASE)
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


def consent_in_answer(
    text: str, what: str, *, licence: str, names: Collection[str] = ()
) -> Consent | None:
    """What an answer plainly says of publishing; None where nothing of it was asked, or is plain.

    A yes to publishing is one under the ``licence`` that was asked for; ``names`` are the sender's.
    """
    if what not in ("publish", "name"):
        return None
    reading = read_answer(text, "publish" if what == "publish" else "name", names=names)
    own = "\n".join(_own_lines(text))
    if reading.answer == "yes" and not is_plain(own, ["agreeing"], names):
        return None  # whatever else it grants counts once somebody has seen it, as in any mail
    if reading.answer == "unclear":
        return None
    if what == "name":
        return Consent(name_shown=reading.answer, wording=reading.wording)
    granted = licence if reading.answer == "yes" else ""
    return Consent(publish=reading.answer, licence=granted, wording=reading.wording)


def read_answer(text: str, what: Question, *, names: Collection[str] = ()) -> AnswerReading:
    """A yes or no to a question about consent (publish, name), in the languages of our letters.

    Whole statements are read as in any mail (:func:`triage.mail.consent.read_consent`); what a
    question adds is that a plain yes or no says something. Cautious: a yes with any word that a
    plain one does not have, or with a denial, is unclear, and so are two statements that disagree.
    Answers about places and days are read where message texts are read.

    Parameters
    ----------
    text : str
        What the person wrote; quoted lines are skipped.
    what : Question
        The question that was asked.
    names : collection of str
        Of the sender, who may sign with them.

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
    plain = _plain_answer(own, names)
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


def _plain_answer(own: Sequence[str], names: Collection[str]) -> AnswerReading:
    text = _GREETED.sub("", "\n".join(own))
    sentences = [s.strip() for s in SENTENCE.findall(text) if s.strip()]
    agreed, denied = ([s for s in sentences if is_so(s)] for is_so in (_agrees, _denies))
    if agreed and not denied and is_plain("\n".join(own), ["agreeing"], names):
        return AnswerReading(answer="yes", wording=agreed[0])
    if denied and not agreed and _denies(sentences[0]):
        return AnswerReading(answer="no", wording=denied[0])
    return AnswerReading(answer="unclear", wording=" ".join(sentences[:2]))


def _agrees(sentence: str) -> bool:
    return bool(_STARTS_YES.match(sentence) or _NO_PROBLEM.search(sentence))


def _denies(sentence: str) -> bool:
    return bool(_HAS_NO.search(_NO_PROBLEM.sub(" ", sentence)))


OF_PLACE_AND_DATE: Collection[Question] = ("place", "date", "place and date")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stated:
    """Whether an answer states a place and a day without a doubt, and the words that do."""

    place: bool = False
    date: bool = False
    words: tuple[str, ...] = ()


def is_understood(
    text: str, what: Question, stated: Stated, *, names: Collection[str] = ()
) -> bool:
    """Whether an answer says what was asked and nothing beside it; else a person must read it.

    Examples
    --------
    >>> alder = Stated(place=True, words=("Alder Pool",))
    >>> is_understood("Hello, it was at Alder Pool.", "place", alder)
    True
    >>> is_understood("At Alder Pool, with my friend's camera.", "place", alder)
    False
    """
    own = "\n".join(_own_lines(text))
    if what in ("publish", "name"):
        answer = read_answer(text, what, names=names).answer
        return answer != "unclear" and is_plain(own, ["agreeing", "refusing"], names)
    said = {
        "place": stated.place,
        "date": stated.date,
        "place and date": stated.place and stated.date,
    }
    if not said.get(what):
        return False
    own = _NOON.sub(" ", own)
    for words in stated.words:
        own = own.replace(words, " ")
    return is_plain(own, ["telling", "place", "time"], names)


def is_plain(text: str, kinds: Sequence[str], names: Collection[str] = ()) -> bool:
    """Whether a text has only words that plain answers are made of (plain_words.toml).

    Beside courtesy and these ``kinds``: names of the sender, whoever is greeted, a name below, and
    the number of a line. A question is never plain.

    Examples
    --------
    >>> is_plain("Dear Ada,\\n1. at the jetty\\nBest wishes, Sam", ["telling", "place"])
    True
    >>> is_plain("at the jetty, as always", ["telling", "place"])
    False
    """
    if "?" in text:
        return False
    rest = text
    for beside in (_GREETED, _NAME_BELOW, _NUMBER, _NO_PROBLEM):
        rest = beside.sub(" ", rest)
    known = set(_words(" ".join(names))).union(*map(_plain_words, ("courtesy", *kinds)))
    return not re.search(r"\d", rest) and known.issuperset(_words(rest))


_NAME = r"[^\W\d_a-zà-ÿąćęłńśźżœ]\w*\.?"  # begins with a capital
_NAMES = rf"{_NAME}(?:[ -]{_NAME}){{0,2}}"
_GREETED = re.compile(
    rf"^(?i:hello|hi|hey|dear|hallo|guten tag|moin|liebe[rs]?|dzień dobry|bonjour|salut|ch[eè]re?)"
    rf"(?:[ ]{_NAMES})?[ ]*(?:[,!.:\n]|$)"
)
_ABOVE_A_NAME = rf"(?i:\b(?:{any_of('closing')}|best|thanks|gruß|grüße|danke|dzięki|merci))"
_NAME_BELOW = re.compile(rf"(?:{_ABOVE_A_NAME}[ ,.!\n]+{_NAMES}|\n{_NAME})\s*$")
_NUMBER = re.compile(r"(?m)^\s*\d[.):]\s")

_NOON = re.compile(
    r"\b(?:about|around|gegen|około|vers) (?:noon|midday|mittag|południa|midi)\b", re.IGNORECASE
)


@cache
def _plain_words(kind: str) -> frozenset[str]:
    languages = toml_of("triage.replies", "plain_words.toml").values()
    return frozenset(word for one in languages for word in _words(one[kind]))


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W\d_]+", text.casefold())
