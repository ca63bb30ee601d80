"""Find the times of day that a folded text names: around 3 pm, um 15:30 Uhr, o 15."""

from __future__ import annotations

import re

from triage.metadata.date_words import NUMBER_WORDS
from triage.metadata.text_spans import Span

_ABOUT = (
    r"(?P<about>(?:around|about|approx\.?|circa|ca\.?|roughly|gegen|ungefahr|etwa|okolo|ok\.?)\s+)?"
)

_TWELVE = re.compile(
    rf"\b{_ABOUT}(?P<h>1[0-2]|0?[1-9])(?:[.:](?P<m>[0-5]\d))?\s?(?P<ap>[ap])\.?\s?m\b\.?"
)
_UHR = re.compile(
    rf"\b{_ABOUT}(?P<h>[01]?\d|2[0-3])(?:[.:](?P<m>[0-5]\d))?\s?(?:uhr|h|heures?|o'clock)\b"
    # "1 h 7 min", "2 h behind" are spans of time, not times of day.
    r"(?!\s?\d{1,2}\s?min)(?!\s+(?:behind|ahead|later|earlier|fast|slow|ago|long)\b)"
    r"(?:\s?(?P<m2>[0-5]\d)\b)?"
)
_COLON = re.compile(
    rf"\b{_ABOUT}(?<![\d:./-])(?P<h>[01]?\d|2[0-3]):(?P<m>[0-5]\d)(?::[0-5]\d)?(?![\d:])"
)
_POLISH = re.compile(
    rf"\b{_ABOUT}(?:o\s+)?(?:godz\.?|godzinie|godziny)\s*(?P<h>[01]?\d|2[0-3])(?:[.:](?P<m>[0-5]\d))?(?!\d)"
)
# "around six in the evening", "gegen sechs abends": a bare "two in the afternoon" may be insects.
_WORDED = re.compile(
    r"\b(?P<about>around|about|gegen|ungefahr|etwa|vers|okolo)\s+"
    rf"(?P<h>1[0-2]|[1-9]|{'|'.join(NUMBER_WORDS)})(?:\s(?:o'clock|uhr|heures?))?"
    r"\s(?:in\sthe\s|am\s|du\s|de\sl')?"
    r"(?=(?:morning|evening|afternoon|abends?|morgens|nachmittags?|matin|soir|apres-midi|rano|wieczorem)\b)"
)
_PART_OF_DAY = re.compile(
    r"(?<!good )(?<!guten )(?<!schonen )(?<!dobry )(?<!bon )(?<!bonne )\b"
    r"(?:(?P<later>evening|tonight|afternoon|abends?|nachmittags?|soir|apres-midi|wieczor(?:em)?"
    r"|po ?poludniu)|morning|morgens?|fruh|vormittags?|matin|rano)\b"
)
_NOON = re.compile(rf"\b{_ABOUT}(?:at\s+)?(?:noon|midday|mittags|w poludnie)\b")


def find_clock_times(text: str) -> tuple[list[tuple[int, int, bool]], list[Span]]:
    """Return (hour, minute, whether only about) of each distinct time, and where each stands.

    The text is folded (triage.metadata.text_spans.fold_letters).

    >>> find_clock_times("seen around 3 pm")
    ([(15, 0, True)], [(5, 16)])
    """
    found: dict[tuple[int, int], tuple[bool, Span]] = {}
    for pattern in (_TWELVE, _POLISH, _WORDED, _UHR, _COLON):
        for match in pattern.finditer(text):
            groups = match.groupdict()
            hour = int(groups["h"]) if groups["h"].isdigit() else NUMBER_WORDS[groups["h"]]
            minute = int(groups.get("m") or groups.get("m2") or 0)
            if groups.get("ap"):
                hour = hour % 12 + (12 if groups["ap"] == "p" else 0)
            elif hour < 12 and _is_later(text, match.span()):
                hour += 12
            found.setdefault((hour, minute), (bool(groups["about"]), match.span()))
    for match in _NOON.finditer(text):
        found.setdefault((12, 0), (True, match.span()))
    times = [(hour, minute, about) for (hour, minute), (about, _) in found.items()]
    return times, [span for _, span in found.values()]


def _is_later(text: str, span: Span) -> bool:
    """Whether the nearest part of the day in the sentence of a time is its second half."""
    before = re.split(r"[.!?\n]", text[max(0, span[0] - 40) : span[0]])[-1]
    after = re.split(r"[.!?\n]", text[span[1] : span[1] + 30])[0]
    parts = [(len(before) - one.end(), one) for one in _PART_OF_DAY.finditer(before)]
    parts += [(one.start(), one) for one in _PART_OF_DAY.finditer(after)]
    nearest = min(parts, key=lambda part: part[0], default=None)
    return nearest is not None and bool(nearest[1]["later"])
