"""What a sender wrote in; what it says about publishing, licence and name out.

Only explicit statements count: a sentence that speaks of the photos or the name and grants or
refuses something. Questions, conditions and doubt count as nothing stated, a refusal anywhere
outweighs a grant elsewhere. English, German and Polish.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

Publication = Literal["yes", "no", "unstated"]

# Words of the Creative Commons deeds (https://creativecommons.org/licenses/) and their addresses.
_CC_ZERO = "https://creativecommons.org/publicdomain/zero/1.0/"
_CC_VERSION = "4.0"


@dataclass(frozen=True, slots=True, kw_only=True)
class Consent:
    """What one text states. ``wording`` holds the sentences that said so, as they were written.

    ``licence`` is the address of the licence, empty if none is stated. ``name_shown`` is whether
    the sender's name may stand beside the photos.
    """

    publish: Publication = "unstated"
    licence: str = ""
    name_shown: Publication = "unstated"
    wording: str = ""


def read_consent(text: str) -> Consent:
    """Read what a text states about publishing its photos, their licence and the sender's name.

    Examples
    --------
    >>> read_consent("You may publish my photos under CC BY 4.0.").licence
    'https://creativecommons.org/licenses/by/4.0/'
    >>> read_consent("Please do not publish my name.").name_shown
    'no'
    """
    publish: set[str] = set()
    name: set[str] = set()
    licences: list[str] = []
    wording: list[str] = []
    for sentence in _sentences(text):
        said_publish, said_name, licence = _read_sentence(sentence)
        if said_publish != "unstated" or said_name != "unstated" or licence:
            wording.append(sentence)
        publish.add(said_publish)
        name.add(said_name)
        licences.extend([licence] if licence else [])
    publication = _strictest(publish)
    agreed = len(set(licences)) == 1 and publication != "no"
    return Consent(
        publish="yes" if agreed and publication == "unstated" else publication,
        licence=licences[0] if agreed else "",
        name_shown=_strictest(name),
        wording=" ".join(wording),
    )


_SENTENCE_END = re.compile(r"(?<=[.!?;])(?<!\b[a-zA-Z]\.)\s+|\n+")
_CLAUSE_TURN = re.compile(
    r"(?i),?\s+\b(?:but|however|aber|jedoch|allerdings|ale|lecz|jednak|natomiast)\b\s+"
)


def _pattern(*, english: str, german: str, polish: str) -> re.Pattern[str]:
    return re.compile(rf"(?i)\b(?:{english}|{german}|{polish})\b")


_OBJECT = _pattern(
    english="photos?|pictures?|images?|shots?|them|these|it|material",
    german="fotos?|bilder?n?|bild|aufnahmen?|sie",
    polish=r"zdjęci\w+|zdjęć|fotografi\w+|je",
)
_PUBLISH = _pattern(
    english=r"publish\w*|publication|re-?us\w*|use|used|using|print\w*|post(?:ed|ing)?"
    r"|shar(?:e|ed|ing)|put online",
    german=r"veröffentlich\w*|verwend\w*|benutz\w*|nutz\w*|abdruck\w*|gezeigt|zeigen",
    polish=r"opublik\w*|publik\w*|wykorzyst\w*|używa\w*|użyć|udostępni\w*|zamieści\w*",
)
_GRANT = _pattern(
    english="you (?:may|can)|you(?:'re| are) (?:welcome|free|allowed)|feel free|happy for you"
    "|(?:may|can) be (?:published|used|shown|printed|re-?used|shared)"
    "|(?:i|we) (?:agree|consent|allow|permit)|permission (?:is )?(?:granted|given)"
    "|my (?:permission|consent)",
    german=r"(?:dürfen|dürft|darfst|können|könnt|kannst) (?:sie|ihr|du|gerne?|\w+ gerne?|meine?"
    r"|diese?)|(?:sie|ihr|du) (?:dürfen|dürft|darfst|können|könnt|kannst)"
    r"|(?:darf|dürfen|kann|können) (?:\w+ ){0,3}(?:veröffentlicht|verwendet|genutzt|gezeigt"
    r"|benutzt) werden|ich (?:erlaube|gestatte|bin einverstanden|stimme)|einverstanden mit"
    r"|mit (?:der )?veröffentlichung|einverständnis",
    polish="możecie|mogą|może pan|może pani|można|możesz|zgadzam się|wyrażam zgodę|zezwalam"
    "|za moją zgodą|proszę śmiało",
)
_REFUSAL = _pattern(
    english="do not|don[\u2019']?t|may not|must not|mustn[\u2019']?t|can(?:not|[\u2019']t| not)"
    r"|not (?:to be|for|agree|consent|allow|want|be|publish\w*|use\w*)|aren[\u2019']?t|are not"
    "|never|no permission|without (?:my |our |further )?(?:permission|consent|asking)|rather not"
    "|refuse",
    german=r"nicht|kein\w*|niemals|ohne (?:meine|unsere)|untersag\w*|verbiete",
    polish="nie|bez (?:mojej|naszej)|zabraniam",
)
_DOUBT = re.compile(
    r"(?i)\?\s*$|\b(?:if|unless|perhaps|maybe|not sure|would it|should i|shall i|ask me|until"
    r"|falls|wenn|ob|sofern|vielleicht|evtl|eventuell|erst nach|vorher fragen|soll ich"
    r"|jeśli|jeżeli|gdyby|czy|może kiedyś|dopiero)\b"
)
_NAME = _pattern(
    english=r"my (?:full )?name|name me|credit(?:ed)?|anonym\w*",
    german=r"meine[mns]? namen?|namentlich",
    polish=r"moj\w+ (?:nazwisk\w+|imieni\w+|imię)|nazwisk\w+|anonimow\w+|podpis(?:ać|ane|em)?",
)
_NAMELESS = _pattern(
    english="anonymous(?:ly)?|without (?:my )?name",
    german="anonym(?:isiert)?|ohne (?:meinen )?namen?",
    polish=r"bez (?:mojego )?(?:nazwiska|imienia)|anonimow\w+",
)
_NAME_GRANT = _pattern(
    english="(?:with|under|use|mention) my name|(?:please )?credit (?:me|to)|credited|name me"
    "|my name may",
    german=r"(?:mit|unter) (?:meinem )?namen|namentlich (?:genannt|nennen|erwähn\w+)|name darf"
    "|mit namensnennung",
    polish="pod (?:moim )?nazwiskiem|z (?:moim )?nazwiskiem|podać (?:moje )?nazwisko"
    "|podpisane moim|z podpisem",
)
_CC = re.compile(
    r"(?i)\b(?:cc|creative commons)[ -]?(?P<zero>0|zero)\b"
    r"|\b(?:cc|creative commons)[ -]?(?:licen[cs]e |lizenz |licencj\w+ )?"
    r"(?P<terms>by(?:[ -](?:nc|sa|nd)){0,2})\b[ -]?(?P<version>[1-4]\.[0-9])?"
)
_CC_ADDRESS = re.compile(
    r"(?i)https?://creativecommons\.org/(?P<path>licenses/by(?:-(?:nc|sa|nd)){0,2}/[1-4]\.[0-9]"
    r"|publicdomain/zero/1\.0)"
)
_PUBLIC_DOMAIN = re.compile(r"(?i)\b(?:public domain|gemeinfrei|domen\w+ publiczn\w+)\b")


def _sentences(text: str) -> list[str]:
    sentences: list[str] = []
    # A line break inside a sentence is layout; an empty line ends a thought.
    for paragraph in re.split(r"\n\s*\n", text[:50_000]):
        joined = " ".join(paragraph.split())
        for sentence in _SENTENCE_END.split(joined):
            sentences.extend(piece for piece in _CLAUSE_TURN.split(sentence) if piece.strip())
    return [sentence.strip()[:1000] for sentence in sentences]


def _read_sentence(sentence: str) -> tuple[Publication, Publication, str]:
    licence = _licence(sentence)
    if _DOUBT.search(sentence):
        return "unstated", "unstated", ""
    refused = bool(_REFUSAL.search(sentence))
    about_name = bool(_NAME.search(sentence) or _NAMELESS.search(sentence))
    publish: Publication = "unstated"
    name: Publication = "unstated"
    if about_name:
        if _NAMELESS.search(sentence):
            name = "no"
            refused = bool(_REFUSAL.search(_NAMELESS.sub("", sentence)))
        elif refused:
            name, refused = "no", False
            about_photos = _OBJECT.search(_NAME.sub("", sentence))
            return ("unstated", name, "") if not about_photos else ("no", name, "")
        elif _NAME_GRANT.search(sentence):
            name = "yes"
    speaks = bool(_PUBLISH.search(sentence) and _OBJECT.search(sentence))
    if refused and (speaks or licence):
        return "no", name, ""
    if speaks and _GRANT.search(sentence) and not refused:
        publish = "yes"
    return publish, name, licence


def _licence(sentence: str) -> str:
    """Return the address of the one licence that a sentence names, or an empty text."""
    found = {
        f"https://creativecommons.org/{match['path'].lower()}/"
        for match in _CC_ADDRESS.finditer(sentence)
    }
    found |= {_licence_of(match) for match in _CC.finditer(_CC_ADDRESS.sub("", sentence))}
    if not found and _PUBLIC_DOMAIN.search(sentence) and _OBJECT.search(sentence):
        return _CC_ZERO
    return found.pop() if len(found) == 1 else ""


def _licence_of(match: re.Match[str]) -> str:
    if match["zero"]:
        return _CC_ZERO
    first, *rest = re.split(r"[ -]", match["terms"].lower())
    if "sa" in rest and "nd" in rest:  # no such licence exists
        return ""
    terms = "-".join([first, *sorted(rest, key=["nc", "nd", "sa"].index)])
    return f"https://creativecommons.org/licenses/{terms}/{match['version'] or _CC_VERSION}/"


def _strictest(said: set[str]) -> Publication:
    if "no" in said:
        return "no"
    return "yes" if "yes" in said else "unstated"
