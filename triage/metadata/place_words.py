"""Tells where the words around a site's name say that the photo was not taken there.

Negation and contrast, a home or an address, a society or road of that name, a newsletter, a plan or
another year: such a name is asked about. English, German, Polish and French; no source: chosen from
how people write, and what they must and must not match stands in the tests.
"""

from __future__ import annotations

import re

from triage.metadata.text_spans import patterns_of

_REACH = 160  # characters of the sentence on either side that are looked at
PLACE = patterns_of("place_words.toml")
# Between the negation and the name there may be words of place, no verb of another sentence.
_NEGATION_REACH = 40
# Right before a name: near it or beyond it, not at it.
_BESIDE = re.compile(
    r"(?<!\w)(?:(?:up|down)stream\s(?:of|from)|behind|beyond|opposite|outside|past|between|"
    r"hinter|jenseits|gegenüber(?:\svon)?|außerhalb|unterhalb|oberhalb|"
    r"za|naprzeciwko?|poza|poniżej|powyżej|derrière|en\s(?:aval|amont)|face|hors)\s+"
    r"(?:(?:of|the|de[rmn]|des|vom|von|de|du|la|le|à|au)\s+){0,2}(?:l[\u2019'])?$"
    r"|(?<!\w)(?:nearest|closest|nächste\w*|najbliż\w+|le\splus\sproche)\b[^:=\n]{0,30}[:=]\s*$"
    r"|(?<!\w)\d+(?:[.,]\d+)?\s?(?:km|m|miles?|minutes?|min|minuten|minut)\s[^.!?;\n]{0,30}$",
    re.IGNORECASE,
)
# A house that stands at a place, where one sits and writes.
_VENUE = re.compile(
    r"(?<!\w)(?:cafe|café|restaurant|pub|hotel|shop|car\spark|visitor\scentre|parkplatz|gasthof|"
    r"parking|kawiarni\w+|restauracj\w+|hotelu)\s(?:(?:at|of|by|in|am|an|von|vom|nad|de|du|à)\s+)?"
    r"(?:(?:the|der|dem|la|le)\s+)?(?:l[\u2019'])?$",
    re.IGNORECASE,
)
_CONTRAST = re.compile(
    r"(?<!\w)(?:but|aber|jedoch|ale|lecz|mais)\s+(?:\w+\s+){0,2}"
    r"(?:at|from|in|on|by|aus|am|im|an|bei|vom|z|ze|w|nad|na|à|au|de|du|dans|sur)\s+"
    r"(?:the|a|our|my|de[rmn]|eine[rmn]?|unsere[rmn]?|meine[rmn]?|moj\w+|nasz\w+|la|le|un|une|mon|ma"
    r"|notre)\s",
    re.IGNORECASE,
)
# A boat, a walk, a picture; but what a field of a form holds may stand in them, too.
QUOTATION_MARKS = '"\u201c\u201d\u201e\u00ab\u00bb\u00a0 '
_QUOTED = re.compile(rf"(?<![:=])(?<![:=] )[{QUOTATION_MARKS.strip()}]\s?$")
_OTHER_NAME = re.compile(
    r"^[ \t-]*(?:[\u2019']s[ \t]+)?(?:\w+[ \t]+)?(?:road|rd|street|st\.|lane|avenue|drive|close|"
    r"crescent|"
    r"society|club|trust|group|association|school|cafe|café|inn|hotel|pub|farm|shop|centre|center|"
    r"car\s?park|parking|bus|station|newsletter|festival|committee|team|museum|church|village|hall|"
    r"straße|strasse|weg|allee|verein|gasthof|schule|bahnhof|museum|ulica|towarzystw\w+|szkoł\w+|"
    r"klub|stacja|parking)(?!\w)",
    re.IGNORECASE,
)
_HOUSE_NUMBER = re.compile(
    r"(?<![\w.,:/-])(?!(?:19|20)\d\d\b)\d{1,4}[a-eg-ln-vx-z]?,?\s+$", re.IGNORECASE
)
# "ul. Heron Mere 12", "12, rue Heron Mere": a street with a number, or a number with a post code.
_IN_STREET = re.compile(
    rf"(?P<number>(?<![\w.:/-])\d{{1,4}}(?:\s?(?:[a-d]|bis|ter))?,?\s+)?{PLACE['street'].pattern}\s*"
    r"(?:(?:de|du|des|de\sla|am|an\sder|zum|zur)\s)?(?:l[\u2019'])?$",
    re.IGNORECASE,
)
_NUMBER = re.compile(
    r",?\s(?:nr\.?\s?)?\d{1,3}\s?[a-z]?(?=\s*(?:[,;)/\n]|$)|\s?(?:m|lok)\.?\s?\d)", re.IGNORECASE
)
_STREET_BEHIND = re.compile(
    r"-(?:str\.?|stra(?:ß|ss)e|weg|platz|gasse|ring|allee|damm)(?!\w)|\sstr\.", re.IGNORECASE
)
_HOUSE_BEHIND = re.compile(
    r"\s\d{1,3}\s?[a-z]?(?:\s?(?:m|lok)\.?\s?\d+|/\d+(?=\s*\n\s*\d\d-\d{3}\b))"
    r"|\s\d{1,3}\s?[a-z]?\s*[,\n]\s*(?:\d\d-\d{3}|"
    r"(?:[A-Z]{1,2}-)?\d{4,5}\s[A-ZÀ-Ž]\w+|[A-Z]{1,2}\d[\dA-Z]?\s?\d[A-Z]{2})\b"
)
PICTURES = (
    r"(?:photos?|pictures?|pics?|images?|shots?|fotos?|bild(?:er|es|ern)?|aufnahmen?"
    r"|zdjęci\w+|fot\.?)"
)
# Ahead of the number of a photo, which is none of a house.
NUMBERED_PICTURE = rf"{PICTURES}\s?(?:(?:no|nr|number|nummer|numer|numéro)\b\.?\s?)?\#?"
_NUMBERED_PICTURE = re.compile(rf"(?<!\w){NUMBERED_PICTURE}$", re.IGNORECASE)
# "It was green on the chest" says how it looked.
_OF_A_BODY = r"(?:chest|tail|tip|back|head|face|wings?|legs?|sides?|shoulders?|thorax|abdomen)"
_ELSEWHERE = re.compile(
    r"(?<!\w)(?:photos?|pictures?|images?|it|they|this|these|that)\s+(?:\w+\s+)?"
    r"(?:is|are|was|were|comes?|came)\s+(?:\w+\s+)?(?:taken\s+|seen\s+|found\s+)?"
    r"(?:from|at|in|on|by)\s+(?:the\s+|a\s+)?(?=[^\W\d_])(?!above|below|behind|far|close"
    rf"|(?:\w+\s)?{_OF_A_BODY}\b)",
    re.IGNORECASE,
)

ANOTHER_TIME = "another time"  # what a doubt says that a name speaks of


def doubt_of_mention(before: str, verbatim: str, after: str, *, measured: bool = False) -> str:
    """Why a name in a text is no statement of where the photo was taken; empty if it may be.

    ``before`` and ``after`` are the text on either side of the name; ``measured`` where the words
    before it were read as distance and direction from it.

    Examples
    --------
    >>> doubt_of_mention("Seen at ", "Heron Mere", " yesterday.")
    ''
    >>> doubt_of_mention("Not at ", "Heron Mere", " this time but the ditch")
    "'Not at Heron Mere': the words seem to say that it was elsewhere"
    """
    ahead = re.split(r"[.!?;]\s+|\n", before[-_REACH:])[-1]
    behind = re.split(r"[.!?;\n]", after[:_REACH])[0]
    if negation := _last(PLACE["negated"], ahead, reach=_NEGATION_REACH):
        return (
            f"'{ahead[negation.start() :]}{verbatim}': the words seem to say that it was elsewhere"
        )
    if _QUOTED.search(ahead) and (after[:2].strip() or "-")[0] in QUOTATION_MARKS:
        return f"'{verbatim}' stands in quotation marks and may be the name of something else"
    if other := _OTHER_NAME.match(after):
        return f"'{verbatim}{other[0].rstrip()}' may be the name of something else"
    number = _HOUSE_NUMBER.search(ahead)
    if number and not _NUMBERED_PICTURE.search(ahead[: number.start()]):
        return f"'{number[0].strip()} {verbatim}' may be an address"
    if address := _address(before[-_REACH:].rpartition("\n")[2], verbatim, after):
        return f"'{address}' may be an address"
    for pattern, meaning in (
        (PLACE["home"], "a home"),
        (PLACE["reference"], "something written or a group"),
        (PLACE["other_time"], ANOTHER_TIME),
        (PLACE["compared"], "a comparison"),
    ):
        if found := _last(pattern, ahead):
            return f"'{found[0]} ... {verbatim}' may speak of {meaning}, not of the photo"
    if not measured and (beside := _BESIDE.search(ahead)):
        return f"'{beside[0].strip()} {verbatim}' is near it, not at it"
    if venue := _VENUE.search(ahead):
        return f"'{venue[0].strip()} {verbatim}' is a house: is the photo from there?"
    if contrast := _CONTRAST.search(behind):
        return f"'{contrast[0].strip()}' after {verbatim} speaks of another place"
    if _speaks_of_elsewhere(after, behind):
        return f"another place seems to be named after {verbatim}"
    return ""


def _address(ahead: str, verbatim: str, after: str) -> str:
    """A site's name with the words that make an address of it; empty if none do."""
    behind = next(filter(None, (p.match(after) for p in (_STREET_BEHIND, _HOUSE_BEHIND))), None)
    if behind:
        return " ".join(f"{verbatim}{behind[0]}".split())
    street, number = _IN_STREET.search(ahead), _NUMBER.match(after)
    if street and _NUMBERED_PICTURE.search(ahead[: street.start()]):
        return ""
    if street and (number or street["number"] or street[0].casefold().startswith("ul")):
        return " ".join(f"{street[0]}{verbatim}{number[0] if number else ''}".split())
    return ""


def _last(pattern: re.Pattern[str], text: str, *, reach: int = _REACH) -> re.Match[str] | None:
    found = list(pattern.finditer(text))
    return found[-1] if found and len(text) - found[-1].end() <= reach else None


def _speaks_of_elsewhere(after: str, behind: str) -> bool:
    """Whether the words that follow say that the photo is from another place."""
    rest = after[len(behind) : len(behind) + _REACH]
    later = re.search(r"(?i)\b(?:photo|picture|image)s?\b", rest) and _ELSEWHERE.search(rest)
    return bool(later or PLACE["from_elsewhere"].search(behind))
