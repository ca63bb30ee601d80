"""Tells which day at the head of a mail is the letter's own date and not the photo's.

"Paris, le 3 août 2026" on a line of its own, first in the body or right above the greeting of a
mail that was sent that day or a day or two later, says when the letter was written. English,
German, Polish and French; no source: chosen from how people write.
"""

from __future__ import annotations

import re
from datetime import date

from triage.metadata.days_found import Day
from triage.metadata.place_kinds import PARTS
from triage.metadata.text_spans import SITE
from triage.metadata.told_words import SEEN, SMALL, SPEAKS, is_of_a_day

SENT_WITHIN_DAYS = 2  # of the day that a letter was written
FEW_WORDS = 3  # a line of no more is a caption, a name or a closing, no sentence

_GREETING = re.compile(
    r"\W*(?:dear|hello|hi|hey|good\s(?:morning|day|afternoon|evening)|greetings|to\swhom|sirs?"
    r"|hallo|liebe[rs]?|sehr\sgeehrte[rs]?|guten\s(?:tag|morgen|abend)|moin|servus|gr(?:ü|ue)(?:ß|ss)\w*"
    r"|dzień\sdobry|dzien\sdobry|dobry\swieczór|szanown\w+|cześć|czesc|witam\w*|drod\w+|drog[ai]\w*"
    r"|bonjour|bonsoir|madame|monsieur|mesdames|messieurs|chère?s?|salut)(?!\w)",
    re.IGNORECASE,
)
_NAME = r"[^\W\d_a-zà-ž][^\W\d_]+"
_TOWN = (  # "Frankfurt am Main", "Saint-Denis"
    rf"{_NAME}(?:[ -]{{1,2}}"
    r"(?:(?:am|an|der|die|den|im|upon|on|under|by|nad|pod|sur|en|la|le|lès|sous|de|du)[ -])?"
    rf"(?!(?i:le|the|den|dnia)\b){_NAME}){{0,2}}"
)
_AHEAD = re.compile(
    rf"\W*(?!(?i:on|am|vom|from|we?|du)\s)(?:(?P<town>{_TOWN})\s?(?:,\s?|\s))?"
    r"(?:(?i:the|den|dem|dnia|w\sdniu|le|du)\s?)?"
)
_BEHIND = re.compile(rf"\s?(?:r\.?|roku)?\s?(?:[,.]\s?(?P<town>{_TOWN})?)?\W*")


def dates_the_letter(day: Day, shown: str, sent: date | None, *, only: bool = True) -> str:
    """Why a day may be no more than the letter's own date; empty where it is not.

    ``shown`` is the mail below its subject, which is the first line, names of sites as SITE;
    ``only`` whether it names no other day: without a greeting several dates may be of a list.

    >>> day = Day(first=date(2026, 8, 3), last=date(2026, 8, 3), span=(11, 22))
    >>> dates_the_letter(day, "\\nParis, le 3 août 2026\\n\\nBonjour, une photo.", date(2026, 8, 4))
    "'Paris, le 3 août 2026' may be the date of the letter"
    """
    if sent is None or day.first != day.last:
        return ""
    if not 0 <= (sent - day.first).days <= SENT_WITHIN_DAYS:
        return ""
    first, last = day.span
    last -= len(shown[first:last]) - len(shown[first:last].rstrip())
    start = shown.rfind("\n", 0, first) + 1
    end = shown.find("\n", last)
    line = shown[start : end if end >= 0 else len(shown)]
    body = shown.find("\n") + 1
    if not 0 < body <= start or "\n" in shown[first:last] or len(line) > LONGEST_LINE:
        return ""
    if not re.search(r"\d", shown[first:last]):
        return ""
    if not _is_nothing_but_a_date(line[: first - start], line[last - start :]):
        return ""
    rest = shown[start + len(line) :]
    greeted = _GREETING.match(rest.lstrip()) is not None
    leads = not shown[body:start].strip() and (_greets(rest) or (only and _is_a_letter(rest)))
    return f"'{' '.join(line.split())}' may be the date of the letter" if leads or greeted else ""


LONGEST_LINE = 80  # characters


def _is_nothing_but_a_date(ahead: str, behind: str) -> bool:
    """Whether beside a day its line holds at most a town: no site, no animal, no label."""
    before, after = _AHEAD.fullmatch(ahead), _BEHIND.fullmatch(behind)
    if not before or not after or SITE in ahead + behind or ":" in ahead:
        return False
    words = re.findall(r"[^\W\d_]+", f"{before['town'] or ''} {after['town'] or ''}".casefold())
    return not any(w in PARTS or SEEN.fullmatch(w) or _is_of_a_note(w) for w in words)


def _is_of_a_note(word: str) -> bool:
    return word in SMALL and not is_of_a_day(word) and len(word) > len("sur")


def _greets(text: str) -> bool:
    return any(_GREETING.match(line) for line in text.split("\n"))


def _is_a_letter(rest: str) -> bool:
    """Whether what follows a date is more than captions and a name."""
    apart = re.match(r"[^\S\n]*\n[^\S\n]*\n", rest) is not None
    return any(
        _says_more(line) and (apart or SITE not in line or SPEAKS.search(line))
        for line in rest.split("\n")
    )


def _says_more(line: str) -> bool:
    words = [w for w in re.findall(r"[^\W\d_]+", line.replace(SITE, "")) if len(w) > 1]
    return len(words) > FEW_WORDS
