"""Find the times of day that a folded text names: around 3 pm, um 15:30 Uhr, o 15."""

from __future__ import annotations

import re

from triage.metadata.text_spans import Span

_ABOUT = (
    r"(?P<about>(?:around|about|approx\.?|circa|ca\.?|roughly|gegen|ungefahr|etwa|okolo|ok\.?)\s+)?"
)

_TWELVE = re.compile(
    rf"\b{_ABOUT}(?P<h>1[0-2]|0?[1-9])(?:[.:](?P<m>[0-5]\d))?\s?(?P<ap>[ap])\.?\s?m\b\.?"
)
_UHR = re.compile(
    rf"\b{_ABOUT}(?P<h>[01]?\d|2[0-3])(?:[.:](?P<m>[0-5]\d))?\s?(?:uhr|h)\b"
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
_NOON = re.compile(rf"\b{_ABOUT}(?:at\s+)?(?:noon|midday|mittags|w poludnie)\b")


def find_clock_times(text: str) -> tuple[list[tuple[int, int, bool]], list[Span]]:
    """Return (hour, minute, whether only about) of each distinct time, and where each stands.

    The text is folded (triage.metadata.text_spans.fold_letters).

    >>> find_clock_times("seen around 3 pm")
    ([(15, 0, True)], [(5, 16)])
    """
    found: dict[tuple[int, int], tuple[bool, Span]] = {}
    for pattern in (_TWELVE, _POLISH, _UHR, _COLON):
        for match in pattern.finditer(text):
            groups = match.groupdict()
            hour, minute = int(groups["h"]), int(groups["m"] or groups.get("m2") or 0)
            if groups.get("ap"):
                hour = hour % 12 + (12 if groups["ap"] == "p" else 0)
            found.setdefault((hour, minute), (bool(groups["about"]), match.span()))
    for match in _NOON.finditer(text):
        found.setdefault((12, 0), (True, match.span()))
    times = [(hour, minute, about) for (hour, minute), (about, _) in found.items()]
    return times, [span for _, span in found.values()]
