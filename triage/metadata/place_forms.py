"""Tells whether a site's name in a mail stands in a form that is known to say where the photo is.

Three forms are known: a place line ("Place: Heron Mere"), a line or subject of little more than
place and day, and "at Heron Mere" in a sentence of the sender's own about what was seen. Any other
mention is an offer. English, German, Polish and French; no source: chosen from how people write,
and what they must and must not match stands in the tests.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Self

from triage.metadata.date_words import DAYS_BACK, MONTHS, WEEKDAYS
from triage.metadata.place_kinds import (
    PARTS,
    SPEAK_AGAINST,
    another_place,
    is_called_after,
    unknown_spot,
)
from triage.metadata.place_words import NUMBERED_PICTURE, PICTURES, PLACE, QUOTATION_MARKS
from triage.metadata.text_spans import fold_letters, whole_words
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
    UNSURE,
    WORDS,
    is_of_a_day,
    is_plain,
    sentence_around,
)

# What a field of a form asks for; German joins its nouns ("Aufnahmeort").
_OF_PLACE = (
    r"(?:place|site|location|locality|loc\.?|where|spot|waters?|pond|lake|seen|taken|found|position|"
    r"\w*(?:ort|stelle|gewässer\w*)|wo|gesehen|aufgenommen|"
    r"miejsc\w+|stanowisk\w+|lokalizacj\w+|gdzie|zbiornik\w*|staw|jezioro|"
    r"lieu|endroit|emplacement|localité|localisation|où|étang|lac|vue?)"
)
# A field of a form whose whole value begins with a site, whatever it calls itself.
_ANY_FIELD = re.compile(r"^\W*(?:[^\W\d_]+\s+){0,2}[^\W\d_]+\s?:\s*$")
_NO_FIELD = re.compile(
    r"(?:adress|address|adres|home|club|verein|from|meeting|treff|event|walk|next|not|nicht|nie|pas)",
    re.IGNORECASE,
)
_FIELD = re.compile(_OF_PLACE, re.IGNORECASE)
_LABEL = re.compile(
    rf"^\W*(?:(?:[^\W\d_]+\s+){{0,3}}?{_OF_PLACE}\b[^:=\n]{{0,20}}[:=]|"
    rf"{_OF_PLACE}\s+[-\u2013\u2014])\s*"
    r"(?:[a-zàéü]{1,5}\s+){0,2}$"
    # "Date and place: 17 July, Heron Mere"
    rf"|^\W*(?:[^\W\d_]+\s+){{1,3}}?{_OF_PLACE}\s?[:=][^:=\n]{{4,30}}[,;]\s*$"
    # "The place was Heron Mere"
    r"|^\W*(?:(?:the|der|die|le|l[\u2019'])\s?)?(?:place|site|location|spot|\w*ort|\w*stelle|miejsce|"
    r"stanowisko|lieu|endroit)\s(?:is|was|ist|war|to|było|est|était)\s(?:(?:the|das|der|die|la|le)\s)?"
    r"(?:l[\u2019'])?$",
    re.IGNORECASE,
)
_AT = re.compile(
    r"(?<!\w)(?:at|in|near|nearby|by|beside|over|from|around|round|on|along|off|of|visit(?:ed|ing)?|fishing|"
    r"(?:outing|trip|visit|walk|stroll|excursion)\sto|"
    r"(?:went|walked|cycled|been|got|popped|nipped|wandered|strolled|hiked)\s(?:\w+\s)?to|took\s(?:\w+\s){2,4}to|"
    r"durchs?|rund\sum|an|am|im|vom|von|beim|bei|aus|um|nahe|entlang|"
    r"nad|znad|przy|po|w|we|z|ze|na|koło|obok|wokół|pod|"
    r"à|a(?=\s+(?:la\s|l[\u2019']))|au|aux|de|du|près\sd[eu]|vers|sur|dans|autour\sd[eu])\s+"
    r"(?:(?:the|old|der|die|das|dem|den|des|le|la|les|jezior\w*|stawie|stawu|étang|lac|see|teich)"
    r"\s+){0,2}(?:l[\u2019'])?$",
    re.IGNORECASE,
)

AT_HOME = PLACE["at_home"]
# A number of a day is no number of a photo: "Photo 28 July".
_SOME_OF_THE_PHOTOS = whole_words(
    rf"""{NUMBERED_PICTURE}\d{{1,2}}
    (?![./:]\d|\.?\s(?:{"|".join(MONTHS)})|\s?(?:am|pm|uhr|h)\b)
    |(?:img|dsc\w?|dscn|pict?)[_ -]\d+
    |(?:the\s)?(?:first|second|third|fourth|last|other|remaining|rest\sof\sthe)\s(?:\w+\s)?{PICTURES}
    |the\s(?:first|second|third|fourth|last)\s(?:one|two|three)(?!\s(?:of|this|that|i|we|ever|for|in|since)\b)
    |the\s(?:first|second|third|fourth|last|others|rest)(?=\s(?:is|are|was|were|comes?|came)\s(?:taken\s)?(?:from|at)|\s(?:from|at)\b)
    |(?:erste|zweite|dritte|vierte|letzte|andere|übrige)[nrs]?\s(?:\w+\s)?{PICTURES}
    |(?:pierwsz|drug|trzeci|czwart|ostatni|pozostał|inn)\w*\s(?:\w+\s)?{PICTURES}
    |(?:première|deuxième|seconde|troisième|quatrième|dernière|autre)s?\s(?:\w+\s)?{PICTURES}
    |{PICTURES}\s(?:suivante|restante)s?"""
)


ONLY_MENTIONED = "the mail only mentions it"
OF_SOME_PHOTOS = f"{ONLY_MENTIONED} of some of the photos"
UNSURE_OF_PLACE = f"{SPEAK_AGAINST[1]} of the place"
_MAY_BE_FROM = re.compile(
    rf"{PLACE['may_be_from'].pattern}\s(?:(?:the|de[rmn]|la|le|les)\s)?(?:l[\u2019'])?$",
    re.IGNORECASE,
)


def offer_of_mention(before: str, verbatim: str, after: str, *, unnamed: str = "") -> str:
    """Why a name in a text is only an offer of a place; empty where its form is known to be safe.

    ``before`` and ``after`` are the text on either side of the name, ``unnamed`` the whole text
    without the names of sites.

    Examples
    --------
    >>> offer_of_mention("Seen at ", "Heron Mere", " yesterday.")
    ''
    >>> offer_of_mention("We had a talk about ", "Heron Mere", ".")
    "the mail only mentions it: 'We had a talk about Heron Mere'"
    """
    ahead, behind = sentence_around(before, after)
    doubt = _doubt_of_form(before, verbatim, after, unnamed)
    if not _SOME_OF_THE_PHOTOS.search(f"{ahead} {behind}"):
        return doubt
    if doubt:
        return f"{ONLY_MENTIONED}, perhaps of some of the photos; {doubt}"
    return f"{OF_SOME_PHOTOS}: '{' '.join(f'{ahead}{verbatim}{behind}'.split())}'"


@dataclass(frozen=True, slots=True)
class _Said:
    """What stands around a name: in its sentence, its clauses, and in the other sentences."""

    ahead: str
    behind: str
    earlier: str
    later: str
    said: str  # ahead, without requests and company
    whole: str  # of the sentence, so
    clause: str  # between commas
    nearest: str  # between commas and "and"

    @classmethod
    def around(cls, before: str, after: str) -> Self:
        ahead, behind = sentence_around(before, after)
        said = TOGETHER.sub(" ", REQUEST.sub(" ", ahead))
        rest = _INSTEAD.sub(" ", behind)
        return cls(
            ahead=ahead,
            behind=behind,
            earlier=before[: len(before) - len(ahead)],
            later=after[len(behind) :],
            said=said,
            whole=f"{said} {TOGETHER.sub(' ', REQUEST.sub(' ', rest))}",
            clause=f"{COMMA.split(said)[-1]} {COMMA.split(rest)[0]}",
            nearest=f"{CLAUSE.split(said)[-1]} {CLAUSE.split(rest)[0]}",
        )


def signs_of_mention(before: str, after: str, unnamed: str) -> list[str]:
    """What is said around a name, and what is not: the likeness of mentions learns from it.

    >>> signs_of_mention("Seen at ", " yesterday.", "")[:2]
    ['day True', 'asks False']
    """
    one = _Said.around(before, after)
    others = f"{one.earlier} {one.later}"
    found = {
        "day": _names_a_day(one.whole),
        "asks": one.later.startswith("?"),
        "label": _is_label(before, one.ahead),
        "at": _AT.search(one.ahead),
        "set off": _set_off(one.ahead, one.behind),
        "first": _stands_first(one.ahead),
        "caption": _is_caption(one.ahead, one.behind),
        "seen": SEEN.search(one.whole),
        "this": THIS.search(one.whole),
        "this in clause": THIS.search(one.clause),
        "first person in clause": FIRST_PERSON.search(one.clause),
        **_against(one),
        "corrected": _corrected(one.earlier, one.later),
        "spot": unknown_spot(unnamed),
        "home in others": AT_HOME.search(one.earlier) or AT_HOME.search(one.later),
        "elsewhere in others": PLACE["elsewhere"].search(one.earlier)
        or PLACE["elsewhere"].search(one.later),
        "place in others": another_place(others),
        "day in others": _names_a_day(others),
        "question in others": "?" in others,
    }
    kinds = {"seen": SEEN, "this": THIS, "first person": FIRST_PERSON, "unsure": UNSURE}
    kinds |= {"persons": OF_OTHERS, "negation": NEGATION}
    found |= {f"{kind} in others": pattern.search(others) for kind, pattern in kinds.items()}
    return [f"{sign} {bool(said)}" for sign, said in found.items()]


def _is_label(before: str, ahead: str) -> bool:
    """Whether what stands ahead of a name is a field of a form that asks for the place."""
    line = before.rpartition("\n")[2]
    return any(_LABEL.match(one.rstrip(QUOTATION_MARKS)) for one in (line, ahead))


def _against(one: _Said) -> dict[str, object]:
    """What in the sentence of a name speaks against it, by kind."""
    return {
        # What is denied in another clause is not the place: "... and cannot name it".
        "denied": NEGATION.search(QUALITY.sub(" ", one.nearest)),
        "on the way": PLACE["on_the_way"].search(COMMA.split(one.said)[-1]),
        "habit": HABIT.search(one.clause),
        "called after": is_called_after(one.said),
        "of unknown": _is_of_unknown(one.said),
        "another place": another_place(one.whole),
        "persons": OF_OTHERS.search(one.whole),
        "unsure": UNSURE.search(one.whole),
        "home": AT_HOME.search(one.whole),
        "elsewhere": PLACE["elsewhere_here"].search(QUALITY.sub(" ", one.whole)),
    }


def _doubt_of_form(before: str, verbatim: str, after: str, unnamed: str) -> str:
    one = _Said.around(before, after)
    ahead, behind = one.ahead, one.behind
    if elsewhere := _said_elsewhere(one.earlier, one.later) or _corrected(one.earlier, one.later):
        return f"{SPEAK_AGAINST[0]} '{elsewhere}'"
    sentence = " ".join(f"{ahead}{verbatim}{behind}".split())
    if _is_label(before, ahead):
        return ""
    if _MAY_BE_FROM.search(ahead):
        return f"{UNSURE_OF_PLACE}: '{sentence}'"
    if left := _left_for_another(one.later):
        return f"{SPEAK_AGAINST[0]} '{left}'"
    if other := another_place(f"{one.earlier} {one.later}") or unknown_spot(unnamed):
        return f"{SPEAK_AGAINST[0]} '{other}'"
    if _ANY_FIELD.match(ahead) and not _NO_FIELD.search(ahead) and _set_off("", behind):
        return ""
    if len(ahead) + len(behind) > LONGEST:  # no sentence whose form is known is so long
        return f"{ONLY_MENTIONED}: '{verbatim}'"
    unsure = UNSURE.search(f"{ahead} {behind}") or PLACE["on_the_way"].search(
        COMMA.split(ahead)[-1]
    )
    if not unsure and is_plain(ahead, behind):
        return ""
    if longer := _longer_name(behind):
        return f"'{verbatim} {longer}' may be the name of something else"
    # A day in a sentence that is the sender's own says that something happened there.
    day = _names_a_day(one.whole)
    asks = one.later.startswith("?") and not (day or THIS.search(one.whole))
    happened = day and (FIRST_PERSON.search(one.clause) or THIS.search(one.clause))
    seen = not asks and (happened or SEEN.search(one.whole))
    own = (_AT.search(ahead) and seen) or (
        _set_off(ahead, _INSTEAD.sub(" ", behind)) and (_stands_first(ahead) or seen or day)
    )
    against = any(_against(one).values())
    if (own or _is_caption(ahead, behind) or _is_headed(ahead, behind)) and not against:
        return ""
    return f"{SPEAK_AGAINST[1] if against else ONLY_MENTIONED}: '{sentence}'"


def _left_for_another(later: str) -> str:
    """Words for the place last named ("from there") behind a sentence that is of another one."""
    found = PLACE["from_there"].search(later)
    between = re.split(r"[.!?;]\s|\n", later[: found.start()].lstrip(" .!?;\n")) if found else []
    return found[0] if found and len(between) > 1 else ""


def _corrected(earlier: str, later: str) -> str:
    """Words of other sentences that take something said back; empty if none do."""
    sure = (PLACE["perhaps_wrong"].sub(" ", text) for text in (earlier, later))
    found = next(filter(None, map(PLACE["corrected"].search, sure)), None)
    return found[0] if found else ""


# Right behind a name it says that the photo is from there and not from another place.
_INSTEAD = re.compile(r"^\s(?:instead(?!\sof)|zamiast\stego|à\sla\splace)(?!\w)", re.IGNORECASE)

CAPTION_WORDS = 3  # besides days, times and small words; a longer line is a sentence
_NAMES_A_DAY = re.compile(
    r"(?<!\w)(?:"
    + "|".join(w for w in (*MONTHS, *WEEKDAYS, *DAYS_BACK) if len(w) > 3 or w == "may")
    + r"|[a-z]+(?:montag|dienstag|mittwoch|donnerstag|freitag|samstag|sonntag)"  # "Pfingstmontag"
    r"|\d{1,2}[./]\d{1,2}|\d{1,2}\.\s?[ivx]{1,4}(?=\.))(?!\w)"
)


def _names_a_day(text: str) -> bool:
    return _NAMES_A_DAY.search(fold_letters(text)) is not None


def _is_caption(ahead: str, behind: str) -> bool:
    """Whether a line, or its part with the name, says place and day like the caption of a photo.

    That is without a verb, and with few other words.
    """
    parts = COMMA.split(ahead)[-1], COMMA.split(behind)[0]
    return _says_day_and_place(ahead, behind) or _says_day_and_place(*parts)


def _says_day_and_place(ahead: str, behind: str) -> bool:
    whole = f"{ahead} {behind}"
    words = re.findall(r"[^\W\d_]+", whole.casefold())
    return (
        _AT.search(ahead) is not None
        and _names_a_day(whole)
        and SPEAKS.search(whole) is None
        and sum(word not in SMALL for word in words) <= CAPTION_WORDS
    )


_TYPE_OF_SITE = re.compile(
    r"\W*(?:(?:the\s)?(?:site|place|lake|pond|pool)|jezioro|staw|der\s|see|teich|lac|étang)?\s*$",
    re.IGNORECASE,
)


def _stands_first(ahead: str) -> bool:
    """Whether a name begins its sentence, but for the kind of place that it is."""
    return _TYPE_OF_SITE.match(ahead) is not None


def _set_off(ahead: str, behind: str) -> bool:
    """Whether the name stands by itself, between commas, dashes or the ends of its sentence."""
    opened = _stands_first(ahead) or _is_small(_DIVIDER.split(ahead)[-1])
    return opened and _is_small(_DIVIDER.split(behind)[0])


_DIVIDER = re.compile(r"[,:()/\u2013\u2014]|\s-\s|-\s*$")


def _is_small(text: str) -> bool:
    """Whether a stretch of a sentence holds days, times, small words and what names a field."""
    words = re.findall(r"[^\W\d_]+", text.casefold())
    return all(w in SMALL or w in PARTS or is_of_a_day(w) or _FIELD.fullmatch(w) for w in words)


_OF = re.compile(
    r"(?<!\w)(?P<noun>[^\W\d_]+)\s(?P<of>of|from|von|vom|aus|de|du|des)\s"
    r"(?:(?:the|der|dem|la|le|les)\s)?(?:l[\u2019'])?\s?$",
    re.IGNORECASE,
)


def _is_of_unknown(said: str) -> bool:
    """Whether a name hangs by "of" on a thing that is no photo, animal or part of a water.

    A postcard of a site is not from there.
    """
    found = _OF.search(said)
    if not found:
        return False
    noun = found["noun"]
    if found["of"].casefold() in ("von", "vom", "aus") and not noun[0].isupper():
        return False  # a verb or a small word
    word = noun.casefold()
    known = word in SMALL or word in PARTS or word in WORDS["half_of"] or is_of_a_day(word)
    return not (known or SEEN.fullmatch(word) or SPEAKS.fullmatch(word))


_COMPASS = re.compile(r"[NS]?[EWO]?")  # "Heron Mere NW"


def _longer_name(behind: str) -> str:
    """A word with a capital right behind a name, as if both were one: "Heron Mere Arms"."""
    found = re.match(r"[^\S\n]([^\W\d_]+)", behind)
    if not found or not found[1][0].isupper():
        return ""
    word = found[1].casefold()
    known = word in SMALL or is_of_a_day(word) or SEEN.fullmatch(word)
    return "" if known or _COMPASS.fullmatch(found[1]) else found[1]


def _is_headed(ahead: str, behind: str) -> bool:
    """Whether a line says the name, what is sent, and perhaps a day: "Photo 28 July Heron Mere"."""
    words = re.findall(r"[^\W\d_]+", f"{ahead} {behind}".casefold())
    return all(w in SMALL or is_of_a_day(w) or SEEN.fullmatch(w) for w in words)


def _said_elsewhere(earlier: str, later: str) -> str:
    """Words of other sentences that say another place of the photo; empty if none do."""
    for text in (earlier, later):
        found = AT_HOME.search(text) or PLACE["elsewhere"].search(text)
        if found:
            return " ".join(text[found.start() : found.end() + 30].split())
    return ""
