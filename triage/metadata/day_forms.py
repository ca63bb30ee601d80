"""Tells whether a day in a mail stands in a form that is known to say when the photo was taken.

Three forms are known: a field of a form ("Date: 3 August"), a caption (a line, a subject or a part
between commas of day, place and few words without a verb), and a clause of the sender's own that
tells of seeing, photographing or being there. Any other mention is an offer. English, German,
Polish and French; no source: chosen from how people write, and what they must and must not match
stands in the tests.
"""

from __future__ import annotations

import re

from triage.metadata.place_kinds import PARTS
from triage.metadata.text_spans import SITE
from triage.metadata.told_words import (
    CLAUSE,
    COMMA,
    FIRST_PERSON,
    HABIT,
    LONGEST,
    NEGATION,
    OF_OTHERS,
    QUALITY,
    REQUEST,
    SEEN,
    SMALL,
    SPEAKS,
    THIS,
    TOGETHER,
    TOLD,
    UNSURE,
    WORDS,
    is_of_a_day,
    sentence_around,
)

_OF_PLACE_AND_DAY = PARTS | WORDS["of_place_and_day"]
CAPTION_WORDS = 3  # besides days, places and small words, in a part without a verb

_LABEL = re.compile(
    r"^\W*(?:[^\W\d_]+\s+){0,3}?(?:\w*date|day|when|time|seen|taken|\w*datum|tag|wann|zeit|uhrzeit"
    r"|data|dzień|kiedy|termin|jour|quand|le)\b[^:=\n]{0,20}[:=][^:=\n]{0,40}$",
    re.IGNORECASE,
)
_NO_LABEL = TOLD["no_label"]
_DONE = TOLD["done"]
_WAS = TOLD["was"]
_HERE = TOLD["here"]
_LABELLED = TOLD["labelled"]
_THAT_WAS = re.compile(
    r"\W*(?:it|this|that|das|dies|es|to|ce)\s(?:was|war|było)(?!\w)|\W*c[\u2019']était(?!\w)",
    re.IGNORECASE,
)

DAY_ONLY_MENTIONED = "the mail only mentions the day"


def stands_in_a_field(before: str) -> bool:
    """Whether the line up to a day is a field of a form that asks for the photo's day."""
    label = before.rpartition("\n")[2]
    return _LABEL.match(label) is not None and not _NO_LABEL.search(label)


def offer_of_day(before: str, words: str, after: str) -> str:
    """Why a day in a text is only an offer; empty where its form is known to be safe.

    ``before`` and ``after`` are the text on either side of the day, names of sites as SITE.

    Examples
    --------
    >>> offer_of_day("Seen ", "yesterday", " by the jetty.")
    ''
    >>> offer_of_day("My new camera came on ", "Thursday", ".")
    "the mail only mentions the day: 'My new camera came on Thursday'"
    """
    ahead, behind = sentence_around(before, after)
    if stands_in_a_field(before):
        return ""
    if len(ahead) + len(behind) > LONGEST:  # no sentence whose form is known is so long
        return f"{DAY_ONLY_MENTIONED}: '{words}'"
    said = TOGETHER.sub(" ", REQUEST.sub(" ", ahead))
    rest = TOGETHER.sub(" ", REQUEST.sub(" ", behind))
    whole = f"{said} {rest}"
    clause = f"{COMMA.split(said)[-1]} {COMMA.split(rest)[0]}"
    nearest = f"{CLAUSE.split(said)[-1]} {CLAUSE.split(rest)[0]}"
    against = (
        NEGATION.search(QUALITY.sub(" ", nearest))
        or HABIT.search(clause)
        or UNSURE.search(clause)
        or TOLD["intended"].search(clause)
        or TOLD["reckoned_from"].search(COMMA.split(said)[-1])
        or OF_OTHERS.search(clause)
    )
    asks = after[len(behind) :].startswith("?") and not (THIS.search(whole) or SITE in whole)
    if not (against or asks) and (_is_caption(clause, whole) or _is_told(clause, nearest, whole)):
        return ""
    sentence = " ".join(f"{ahead}{words}{behind}".replace(SITE, "").split())
    return f"{DAY_ONLY_MENTIONED}: '{sentence}'"


def is_offer_of_day(doubt: str) -> bool:
    """Whether a doubt says no more than that a day stands in no safe form.

    >>> is_offer_of_day(offer_of_day("My new camera came on ", "Thursday", "."))
    True
    """
    return doubt.startswith(DAY_ONLY_MENTIONED)


def _unknown(text: str) -> list[str]:
    """The words of a stretch that are neither small, nor of a day, nor of what is sent."""
    words = [w for w in re.findall(r"[^\W\d_]+", text.casefold()) if len(w) > 1]
    known = SMALL | _OF_PLACE_AND_DAY
    return [w for w in words if not (w in known or is_of_a_day(w) or SEEN.fullmatch(w))]


def _is_caption(clause: str, whole: str) -> bool:
    """Whether a part of a sentence says the day, the place and little more, without a verb.

    A day between commas is a caption where its sentence is one, or has the site between commas.
    """
    if _has_verb(clause):
        return False
    unknown = [w for w in _unknown(clause) if not _LABELLED.fullmatch(w)]
    if SITE in clause:
        return len(unknown) <= CAPTION_WORDS
    site_apart = any(SITE in part and not _unknown(part) for part in COMMA.split(whole))
    labelled = _LABELLED.search(clause)
    return not unknown and bool(labelled or site_apart or not _has_verb(whole))


def _has_verb(text: str) -> bool:
    return any(found[0].casefold() != "a" for found in SPEAKS.finditer(text))


def _is_told(clause: str, nearest: str, whole: str) -> bool:
    """Whether a clause tells of seeing, or of being there, in the sender's own words."""
    if _THAT_WAS.match(clause):
        return True
    if all(_WAS.fullmatch(w) or FIRST_PERSON.fullmatch(w) for w in _unknown(nearest)):
        clause = whole  # "I have, on Sunday, seen this"
    if _DONE.search(clause):
        return bool(SITE in whole or SEEN.search(whole) or FIRST_PERSON.search(clause))
    of_photo = any(
        " " not in found[0] for found in SEEN.finditer(clause)
    )  # "this lens was" is none
    if SITE in clause:
        return any(p.search(clause) for p in (SEEN, FIRST_PERSON, THIS))
    return bool(of_photo and (_HERE.search(clause) or _WAS.search(clause)))
