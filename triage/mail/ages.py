"""The end of a mail in, the line by which a child signs with an age out: "Esme 12".

A bare number is an age only behind a given name: "Room 12", "Mill Lane 12" and "June 10" are none.
"""

from __future__ import annotations

import re

from triage.mail.header_words import any_of
from triage.standards.letters import bare
from triage.standards.person_names import GIVEN_NAMES

AGES_OF_WRITERS = range(4, 16)  # years, where the number stands by itself
AGES_WITH_A_UNIT = range(1, 18)  # "Inès, 16 ans"
LINES_OF_AN_END = 3  # filled ones: a postscript or a place may stand below
LONGEST_LINE = 80  # characters of what may be a signature

_MONTHS = frozenset(
    {"april", "august", "jan", "juli", "july", "june", "juni", "mai", "maja", "mars", "may"}
)
_SENTENCE_BEFORE = re.compile(r"(?<=\w\w\w[.!?\u2026])\s+")
_OPENING = re.compile(
    rf"(?i)^(?:(?:{any_of('closing')})[ ,.!:]*)?"
    r"(?:(?:love|lots of love|bye|thanks?|danke|merci|gru(?:ß|ss)|bisous)[ ,.!]+)?"
    r"(?:(?:from|von|od|de la part de|par|your|euer|eure?|deine?)\s+)?"
)
_UNIT = r" ?(?:ans(?: et demi)?|years?(?: old)?|yrs?|y\.o|jahre?(?: alt)?|j|lat|lata|latek|l)\b"
_BETWEEN = re.compile(rf"(?i)(?<=[\d)])(?!{_UNIT}| et demi),?\s+(?=[^\W\d])|\s*[&+/;]\s*")
_AND = re.compile(r"\s+(?:and|und|u\.|et(?! demi)|i|oraz)\s+")
_AGED = re.compile(
    r"(?P<name>[^\W\d_]+(?:-[^\W\d_]+)?)(?P<family>(?-i: [^\W\da-zß-ÿ_])[\w.'\u2019-]*)?"
    r"(?P<mark>[ ]?[,(\u2013-])?[ ]?(?:aged? |lat |wiek )?(?P<years>\d{1,2})"
    rf"(?P<unit>{_UNIT})?\)?",
    re.IGNORECASE,
)
_MEASURE = re.compile("[%°#=€$£]")
_STREET = re.compile(r"(?i)(?:stra(?:ß|ss)e|str|weg|gasse|platz|allee|street|road|lane|way|close)$")


def signed_with_an_age(line: str) -> bool:
    """Whether a line is names with a child's age, and nothing else.

    Examples
    --------
    >>> [signed_with_an_age(one) for one in ("Esme 12", "Theo, 10 & Mia (8)", "Inès, 16 ans")]
    [True, True, True]
    >>> [signed_with_an_age(one) for one in ("Room 12", "Mill Lane 12", "June 10", "Esme, 46")]
    [False, False, False, False]
    """
    if len(line) > LONGEST_LINE or _MEASURE.search(line):
        return False
    signed = re.sub(r"^[^\w(]+|\W+$", "", _OPENING.sub("", line.strip(" \t\u00a0*_>~")))
    people = [one for piece in _AND.split(signed) for one in _BETWEEN.split(piece)]
    ages = [_is_a_childs(one) for one in people]
    return any(ages) and all(
        aged or bare(one) in GIVEN_NAMES for aged, one in zip(ages, people, strict=True)
    )


def _is_a_childs(words: str) -> bool:
    found = _AGED.fullmatch(words)
    if not found or _STREET.search(found["family"] or found["name"]):
        return False
    years = int(found["years"])
    if found["unit"]:
        return years in AGES_WITH_A_UNIT
    name = bare(found["name"].split("-")[0])
    known = name in GIVEN_NAMES and name not in _MONTHS
    return known and years in AGES_OF_WRITERS and bool(found["mark"] or not found["family"])


def childs_signature(text: str) -> str:
    """The words by which a child signs a mail with an age; empty if none does.

    >>> childs_signature("It sat on my thumb. Large red? Esme 12")
    'Esme 12'
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    for line in reversed(lines[-LINES_OF_AN_END:]):
        last = _SENTENCE_BEFORE.split(line)[-1]
        if signed_with_an_age(last):
            return last
    return ""
