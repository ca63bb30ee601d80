"""Finds words for another kind of place in a mail, so that a site is not the only one it names.

Houses, ways, running water, and whatever else stands for another spot than a site's own shore. What
an animal sits on there (a reed, a rail, a hat) and the water itself (the pond) are no other
place. English, German, Polish and French; no source: chosen from how people write, and what they
must and must not match stands in the tests.
"""

from __future__ import annotations

import re

from triage.mail.photographers import KIN
from triage.metadata.told_words import WORDS, is_of_a_day
from triage.standards.data_files import toml_of

# How the doubt of a named site begins where other words speak against it.
SPEAK_AGAINST = ("the mail also says", "its words are not sure")
PARTS = WORDS["parts_of_a_water"]
_KINDS = "|".join(toml_of("triage.metadata", "place_kinds.toml")["another"])
_ANOTHER = re.compile(
    r"(?:(?<!\w)(?:at|in|on|by|from|near|behind|opposite|outside|beside|to|was|is|it's|"
    r"am|an|im|in|auf|vom|von|aus|bei|beim|hinter|neben|über|zum|zur|ins|diesseits|jenseits|war|ist|"
    r"w|we|z|ze|na|nad|przy|obok|koło|do|pod|przed|za|"
    r"à|au|aux|de|du|dans|sur|devant|derrière|chez|c'est|était|est|en)\s+|:\s+)"
    r"(?:(?:the|a|an|our|my|his|her|their|your|one|some|de[rmns]|die|das|eine[rmn]?|ein|meine[rmn]?|mein|"
    r"unsere[rmn]?|unser|moj\w+|nasz\w+|la|le|les|un|une|mon|ma|notre)\s+|l')?"
    rf"(?:[^\W\d_]+(?:'s)?\s+)?(?:{_KINDS})(?!\w)",
    re.IGNORECASE,
)


def another_place(text: str) -> str:
    """The first words of a text that put something at another kind of place, empty if none do.

    The site's own name must have been taken out of the text.

    >>> another_place("We stopped at the old lock, where I saw this")
    'at the old lock'
    >>> another_place("It sat on a reed by the water")
    ''
    >>> another_place("The photo is from my cousin's pond")
    "from my cousin's pond"
    """
    plain = _HELLO.sub(" ", text.replace("\u2019", "'"))
    found = _ANOTHER.search(plain) or _WATER_OF_SOMEBODY.search(plain)
    return " ".join(found[0].split()) if found else ""


def unknown_spot(text: str) -> str:
    """The first words that say "from the ..." or "at the ..." of anything not known to be harmless.

    The names of all sites must have been taken out of the text.

    >>> unknown_spot("from the pump house"), unknown_spot("seen from the little bridge")
    ('from the pump house', '')
    """
    plain = _HELLO.sub(" ", text.replace("\u2019", "'"))
    nouns = _GERMAN.search(plain)  # which have capitals: "in Ruhe"
    return next(
        (
            " ".join(one[0].split())
            for one in _SPOT.finditer(plain)
            if _is_unknown(one) and not (nouns and one["there"] == "in")
        ),
        "",
    )


# Who greets from somewhere says who it is.
_HELLO = re.compile(
    r"(?i)(?<!\w)(?:hello|hi|hallo|cześć|bonjour|salut)\s(?:from|aus|von|vom|z|ze|de|du)\s[^\n.,!?]{0,60}"
)
_GERMAN = re.compile(
    r"(?<!\w)(?:der|die|das|und|ist|bei|vom|am|im|ein|ich|mit|uhr)(?!\w)", re.IGNORECASE
)
# A pond that is somebody's, or one of many, is none of the survey's sites.
_WATER_OF_SOMEBODY = re.compile(
    r"(?<!\w)(?:at|in|on|by|from|near|am|an|aus|bei|von|w|z|ze|znad|nad|przy|à|au|de|dans|sur|chez)"
    r"\s(?:(?:my|our|his|her|their|your|another|some)\s|(?:(?:my|our|his|her|the|a)\s)?[^\W\d_]+'s?"
    r"\s|(?:mein|unser|sein|ihr|eue?r)\w*\s|(?:moj|nasz|twoj|wasz|jego|jej|ich)\w*\s"
    r"|(?:mon|ma|notre|son|sa|leur|votre)\s)"
    r"(?:[^\W\d_]+\s){0,2}?(?:pond|lake|pool|pit|ditch|waters?|\w*teich|\w*weiher|\w*see|gewässer"
    r"|staw\w*|jezior\w+|oczk\w+|étang|mare|lac|plan\sd'eau)(?!\w)",
    re.IGNORECASE,
)
# "from the ..." and "at the ..." say where, whatever stands there: what is not known to be a part
# of the shore, a time or a way of looking is another place. So is a name with a capital.
_SPOT = re.compile(
    r"(?<!\w)(?i:(?:from|at)\s"
    r"(?:the|a|an|my|our|his|her|their|your|another)\s|(?:on|in)\sour\s|(?:sur|dans)\snotre\s"
    r"|(?P<german>vom\s|aus\sde[rm]\s|(?:von|aus|an|bei)\s(?:mein|unser)\w+\s|(?:auf|in)\sunser\w+\s))"
    r"(?P<words>[^\W\d_]+(?:[ '-][^\W\d_]+){0,2})"
    r"|(?<![\w.])(?P<there>in|at|near|w|z|ze|pod|koło|à|en)\s(?P<name>[A-ZÀ-Ž][^\W\d_]{2,})(?!\w)"
)
_JOINED = ("ufer", "steg", "rand", "weg", "turm", "halm", "foto", "bild", "tag", "gang", "bohlen")


# "A picture from my son" says whose it is; "from my son's" says where.
_SOMEBODY = re.compile(rf"{KIN}(?![\w'])")


def _is_unknown(spot: re.Match[str]) -> bool:
    if _SOMEBODY.match(spot["words"] or ""):
        return False
    words = re.findall(r"[^\W\d_]+", (spot["name"] or spot["words"]).casefold())
    known = WORDS["no_other_spot"] | PARTS
    return not any(
        word in known or is_of_a_day(word) or (spot["german"] and word.endswith(_JOINED))
        for word in words
    )


_CALLED_AFTER = re.compile(
    r"(?<!\w)(?:(?:a|an|this|that|un|une|(?:at|on|in|from|by)\s(?:the|a|our)|an|am|im"
    r"|auf(?:\s\w+)?|beim|vom|in\s(?:der|dem)|au|aux|à\sla|dans\sl[ea]|sur\sl[ea]|du|de\sla)\s|à\sl['\u2019])(?P<noun>[^\W\d_]+)\s"
    r"(?:of|von|vom|de|du|des)\s?(?:the|der|dem|la|le|les)?\s?(?:l['\u2019])?\s?$",
    re.IGNORECASE,
)


def is_called_after(said: str) -> bool:
    """Whether the words before a site's name put it behind something that is called after it.

    >>> is_called_after("photo prise au camping de l'"), is_called_after("at the edge of ")
    (True, False)
    """
    found = _CALLED_AFTER.search(said)
    return found is not None and found["noun"].casefold() not in PARTS
