"""Read what a sender says about publishing, licence and name.

Only explicit statements count: a sentence that speaks of the photos or the name and grants or
refuses something. Questions, conditions and doubt count as nothing stated, a refusal anywhere
outweighs a grant elsewhere. English, German, Polish and French.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from triage.mail.ages import childs_signature
from triage.mail.consent_words import UNDERSTOOD, WORDS
from triage.mail.likeness import alike
from triage.mail.use_words import speaks_of_use, without_disclaimers

Publication = Literal["yes", "no", "unstated"]

# Words of the Creative Commons deeds (https://creativecommons.org/licenses/) and their addresses.
_CC_ZERO = "https://creativecommons.org/publicdomain/zero/1.0/"
_CC_VERSION = "4.0"
_TEXT_READ = 50_000  # characters


@dataclass(frozen=True, slots=True, kw_only=True)
class Consent:
    """What one text states. ``wording`` holds the sentences that said so, as they were written.

    ``licence`` is the address of the licence, empty if none is stated. ``name_shown`` is whether
    the sender's name may stand beside the photos. ``held`` says that some words on use neither
    grant nor refuse, or are only like a grant (triage.mail.likeness): a person must see them before
    anything is published. ``aside`` are sentences that are like a soft refusal, which suspend a
    grant.
    """

    publish: Publication = "unstated"
    licence: str = ""
    name_shown: Publication = "unstated"
    wording: str = ""
    held: bool = False
    aside: str = ""


def read_consent(text: str) -> Consent:
    """Read what a text states about publishing its photos, their licence and the sender's name.

    Examples
    --------
    >>> read_consent("You may publish my photos under CC BY 4.0.").licence
    'https://creativecommons.org/licenses/by/4.0/'
    >>> read_consent("Please do not publish my name.").name_shown
    'no'
    """
    text = without_disclaimers(text[:_TEXT_READ])
    sentences = sentences_of(text)
    publish: set[str] = set()
    name: set[str] = set()
    licences: list[str] = []
    wording: list[str] = []
    held = ""
    for sentence in sentences:
        statement = _read_sentence(sentence)
        if WORDS["withdrawal"].search(sentence):
            publish.add("no")
        unclear = not statement.says_something and _is_unclear(sentence)
        held = held or (sentence if unclear else "")
        if unclear or statement.says_something or WORDS["withdrawal"].search(sentence):
            wording.append(sentence)
        publish.add(statement.publish)
        name.add(statement.name)
        licences.extend([statement.licence] if statement.licence else [])
    publication = _strictest(publish)
    if publication == "unstated" and not (held or licences or "yes" in name):
        likely = alike(sentences, "grant")
        wording = list(dict.fromkeys([*wording, *likely]))
        held = " ".join(likely)
    aside = " ".join(one for one in alike(sentences, "refusal") if one not in wording)
    beyond = _not_theirs_to_give(text) if wording else []
    if publication != "no" and (held or beyond):
        # Kept with its words for a person to decide; nothing is granted.
        return Consent(
            name_shown="no" if "no" in name else "unstated",
            wording=_joined(wording, beyond),
            held=bool(held),
            aside=aside,
        )
    agreed = len(set(licences)) == 1 and publication != "no"
    return Consent(
        publish="yes" if agreed and publication == "unstated" else publication,
        licence=licences[0] if agreed else "",
        name_shown=_strictest(name),
        wording=" ".join(dict.fromkeys(wording)),
        aside=aside,
    )


@lru_cache(maxsize=65_536)  # everybody's words, with each page that lists people
def suspends_a_grant_only(wording: str) -> bool:
    """Whether words on record are such that beside no grant nobody need see them.

    >>> suspends_a_grant_only("I would be mortified to come across them anywhere.")
    True
    >>> suspends_a_grant_only("You may use the photos but not commercially.")
    False
    """
    sentences = sentences_of(wording)
    stated = any(_is_unclear(one) or _read_sentence(one).says_something for one in sentences)
    return not stated and not alike(sentences, "grant")


def speaks_of_children(text: str) -> bool:
    """Whether a mail's words speak of a child, in whose photos a guardian has the say.

    >>> speaks_of_children("My daughter (8) took this.")
    True
    """
    return WORDS["children"].search(text) is not None or bool(childs_signature(text))


def _not_theirs_to_give(text: str) -> list[str]:
    """Sentences about photos of others or about children: no grant beside them counts."""
    signed = childs_signature(text)
    return [
        one
        for one in [*sentences_of(text), *([signed] if signed else [])]
        if one == signed or WORDS["others"].search(one) or WORDS["children"].search(one)
    ]


def _joined(wording: list[str], more: list[str]) -> str:
    return " ".join(dict.fromkeys([*wording, *more]))


_SENTENCE_END = re.compile(r"(?<=[.!?;])(?<!\b[a-zA-Z]\.)\s+|\n+")
_CLAUSE_TURN = re.compile(
    r"(?i),?\s+\b(?:but|however(?! (?:you|they|it)\b)|aber|jedoch|allerdings|ale|lecz|jednak"
    r"|natomiast|mais|cependant|toutefois)\b\s+"
)
_WHERE = re.compile(r"(?i),\s+(?=(?:where|wo|gdzie|où)\b)")  # "do not publish, where it was"
# "cc by e-mail" is no licence: small letters count only with a hyphen, more terms or a version.
_CC = re.compile(
    r"\b(?i:cc|creative commons)[ -]?(?P<zero>0|(?i:zero))\b"
    r"|\b(?:CC |(?i:cc-|creative commons )(?i:licen[cs]e |lizenz |licencj\w+ )?"
    r"|(?i:cc )(?=(?i:by)(?:[ -](?i:nc|sa|nd)\b| [1-4]\.[0-9])))"
    r"(?P<terms>(?i:by(?:[ -](?:nc|sa|nd)){0,2}))\b[ -]?(?P<version>[1-4]\.[0-9])?"
)
_CC_ADDRESS = re.compile(
    r"(?i)https?://creativecommons\.org/(?P<path>licenses/by(?:-(?:nc|sa|nd)){0,2}/[1-4]\.[0-9]"
    r"|publicdomain/zero/1\.0)"
)
# A condition that is about the name alone leaves the photos free: "pod warunkiem, że bez nazwiska".
_OF_THE_NAME = re.compile(
    r"(?i)\b(?:on (?:the )?condition|provided|unter der bedingung|vorausgesetzt|pod warunkiem"
    r"|à (?:la )?condition)\b[\s,]*(?:(?:that|dass|że|que|de)\s+)?(?=without|ohne|bez|sans|anonym)"
)
_PUBLIC_DOMAIN = re.compile(
    r"(?i)\b(?:public domain|gemeinfrei|domen\w+ publiczn\w+|domaine public)\b"
)


@dataclass(frozen=True, slots=True)
class _Statement:
    """What one sentence or clause states."""

    publish: Publication = "unstated"
    name: Publication = "unstated"
    licence: str = ""

    @property
    def says_something(self) -> bool:
        return bool(self.licence) or (self.publish, self.name) != ("unstated", "unstated")


def sentences_of(text: str) -> list[str]:
    """Divide a text; a line break inside a paragraph is layout, an empty line ends a thought."""
    sentences: list[str] = []
    for paragraph in re.split(r"\n\s*\n", text[:_TEXT_READ]):
        sentences.extend(_SENTENCE_END.split(" ".join(paragraph.split())))
    return [sentence.strip()[:1000] for sentence in sentences if sentence.strip()]


def _read_sentence(sentence: str) -> _Statement:
    plain = _OF_THE_NAME.sub("", WORDS["no_objection"].sub("", sentence))
    plain = WORDS["as_you_like"].sub("", plain)
    if plain.rstrip().endswith("?") or WORDS["doubt"].search(plain):
        return _Statement()
    clauses = _CLAUSE_TURN.split(sentence)
    if WORDS["place"].search(sentence):
        # "Do not publish the place, the photos are fine": each clause has its own object.
        clauses = [piece for clause in clauses for piece in _WHERE.sub(" ", clause).split(",")]
    read = [_read_clause(clause) for clause in clauses]
    publish = _strictest({statement.publish for statement in read})
    licence = _licence(sentence) if publish != "no" else ""
    limited = not licence and WORDS["restricted"].search(sentence)
    if publish == "yes" and (limited or _not_understood(sentence)):
        publish = "unstated"  # leave for some uses or with some more said: a person has to decide
    return _Statement(publish, _strictest({statement.name for statement in read}), licence)


def _read_clause(clause: str) -> _Statement:
    of_theirs = WORDS["photo"].search(clause) or WORDS["name"].search(clause)
    if WORDS["other_object"].search(clause) and not of_theirs:
        return _Statement()  # "Don't publish the recipe": held for a person, and no refusal
    unopposed = WORDS["no_objection"].search(WORDS["unasked"].sub(" ", clause))
    bare = WORDS["no_objection"].sub(" ", WORDS["nameless"].sub(" ", clause))
    bare = " ".join(bare.split())
    refused = bool(WORDS["refusal"].search(bare))
    granted = not refused and bool(unopposed or WORDS["grant"].search(bare))
    name = _name(clause, refused=refused, granted=granted)
    about_photos = _speaks_of_photos(WORDS["place"].sub(" ", WORDS["name"].sub(" ", bare)))
    kept_in = bool(WORDS["soft_refusal"].search(clause) or WORDS["bare_refusal"].search(bare))
    if refused and WORDS["in_the_open"].search(bare):
        kept_in = kept_in or not WORDS["told_of_oneself"].search(bare)
    bare_refusal = name == "unstated" and kept_in and not WORDS["place"].search(bare)
    if bare_refusal or (refused and (about_photos or (_licence(clause) and name == "unstated"))):
        return _Statement("no", name)
    if granted and (about_photos or WORDS["bare_grant"].search(bare)):
        return _Statement("yes", name)
    return _Statement("unstated", name)


def _speaks_of_photos(clause: str) -> bool:
    """Tell whether something is published or used and whether that is the photos.

    A pronoun is enough beside "publish"; beside "use" it may be anything.
    """
    named = bool(WORDS["photo"].search(clause))
    if WORDS["publish"].search(clause):
        return named or bool(WORDS["pronoun"].search(clause))
    return named and bool(WORDS["use"].search(clause))


_NAMED = re.compile(
    r"\b(?:[Nn]ame[ns]?|nom|[Nn]azwiskiem|[Cc]redit(?:ed)?|[Aa]s|[Aa]ls|[Jj]ako)\W+"
    r"(?:[A-ZÀ-Ž][\w.'\u2019-]*[^\w.!?]*){1,3}"
)
_KNOWN = tuple(WORDS[one] for one in ("photo", "pronoun", "publish", "use", "name", "nameless"))


def _not_understood(sentence: str) -> str:
    """The first word of a grant that no plain grant holds: it may be a condition; empty if none."""
    plain = sentence
    for said in (
        WORDS["no_objection"],
        _OF_THE_NAME,
        WORDS["as_you_like"],
        _NAMED,
        _CC_ADDRESS,
        _CC,
    ):
        plain = said.sub(" ", plain)
    plain = plain.replace("\u2019", "'")
    for found in re.finditer(r"[^\W\d_]+(?:'[^\W\d_]+)?", plain.casefold()):
        known = found[0] in UNDERSTOOD or any(one.fullmatch(found[0]) for one in _KNOWN)
        if not known:
            return found[0]
    return ""


def _is_unclear(sentence: str) -> bool:
    """Tell leave for some uses, a condition, or other words on showing photos that grant nothing.

    They count as nothing stated, and are kept for a person to decide.
    """
    about = WORDS["photo"].search(sentence) or WORDS["pronoun"].search(sentence)
    asks = sentence.rstrip().endswith("?")
    granted = (WORDS["grant"].search(sentence) and about) or _licence(sentence)
    return bool(granted and not asks) or speaks_of_use(sentence)


def _name(clause: str, *, refused: bool, granted: bool) -> Publication:
    if WORDS["nameless"].search(clause):
        return "no"
    if not WORDS["name"].search(clause):
        return "unstated"
    if refused:
        return "no"
    published = WORDS["publish"].search(clause) or WORDS["use"].search(clause)
    named = WORDS["name_grant"].search(clause) and not _not_understood(clause)
    shown = named or (granted and published)
    return "yes" if shown else "unstated"


def _licence(sentence: str) -> str:
    """Return the address of the one licence that a sentence names, or an empty text."""
    found = {
        f"https://creativecommons.org/{match['path'].lower()}/"
        for match in _CC_ADDRESS.finditer(sentence)
    }
    found |= {_licence_of(match) for match in _CC.finditer(_CC_ADDRESS.sub("", sentence))}
    if not found and _PUBLIC_DOMAIN.search(sentence) and WORDS["photo"].search(sentence):
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
