"""A mail's own words in, what they tell of the weather out, as written.

Nothing is worked out from them and nothing rests on them: they are shown to whoever looks at the
photos. Which words speak of weather is common practice, no source; German, Polish and French were
written without a native reader.
"""

from __future__ import annotations

import re

from triage.standards.data_files import toml_of

MOST = 3  # pieces shown of one text
LONGEST = 160  # characters of one piece

_STEMS = "|".join(
    word for words in toml_of("triage.metadata", "weather_words.toml").values() for word in words
)
_DEGREES = (
    r"[-+\u2212]?\d{1,2}(?:[.,]\d)?\s?"
    r"(?:°\s?[CF]\b|℃|degrees (?:celsius|fahrenheit|C\b)|Grad Celsius)"
)
_FORCE = r"(?:force|Stärke|beaufort|bft\.?)\s?\d{1,2}\b|\b\d{1,2}\s?(?:bft|beaufort)"
_WEATHER = re.compile(rf"\b(?:{_STEMS})\b|{_DEGREES}|\b{_FORCE}\b", re.IGNORECASE)
# Words of weather that speak of something else.
_NOT_MEANT = re.compile(
    r"\bwarm(?:est)? (?:regards|wishes|greetings|thanks)|\bwarmly\b|\b(?:a|my|the|bad) cold\b"
    r"|\bcold[- ]?blooded|\bhot ?(?:spot|mail|line)|\bsun ?(?:dew|flower)|\bwhether\b",
    re.IGNORECASE,
)
_SENTENCE = re.compile(r"(?<=[.!?;])\s+|\n+")
_CLAUSE = re.compile(r",\s+|\s+[-\u2013\u2014]\s+")


def weather_told(text: str) -> tuple[str, ...]:
    """The pieces of a text that tell the weather, as written, in its order.

    A piece is as short as commas and full stops make it: neighbours that both tell stand together.

    Examples
    --------
    >>> weather_told("Olszynka, 10 June 2026, two hours of sun.")
    ('two hours of sun',)
    >>> weather_told("Seen at Alder Pool. Sunny, light wind, 22.5 °C, two pairs. Warm regards, Ann")
    ('Sunny, light wind, 22.5 °C',)
    >>> weather_told("On Sunday at Sundew Mire.")
    ()
    """
    found: list[str] = []
    for sentence in _SENTENCE.split(text):
        first = None  # where a run of clauses that tell begins
        ends = [(one.start(), one.end()) for one in _CLAUSE.finditer(sentence)]
        begin = end_of_run = 0
        for end, after in [*ends, (len(sentence), len(sentence))]:
            if _tells(sentence[begin:end]):
                first = begin if first is None else first
                end_of_run = end
            elif first is not None:
                found.append(sentence[first:end_of_run])
                first = None
            begin = after
        if first is not None:
            found.append(sentence[first:end_of_run])
    short = (piece.strip(" .;!?")[:LONGEST] for piece in found)
    return tuple(dict.fromkeys(short))[:MOST]


def _tells(clause: str) -> bool:
    return _WEATHER.search(_NOT_MEANT.sub(" ", clause)) is not None
