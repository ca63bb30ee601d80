"""Reads a name as people write it: the taxon meant, the doubt, two names, the sex; or asks.

Nothing is cut off in silence: a word that is neither name, author, mark of doubt nor sex makes the
name unresolved, with the nearest names of the checklist.
"""

from __future__ import annotations

import html
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace

from rapidfuzz import fuzz, process

from triage.checklist.authors import is_authorship
from triage.checklist.marks import (
    Marks,
    denies,
    read_qualifier,
    take_age,
    take_doubts,
    take_hybrid,
    take_letter,
    take_pair,
    take_sexes,
    wrong_qualifier,
)
from triage.checklist.names import canonical_name
from triage.checklist.shortened import candidates, written_out
from triage.checklist.taxa import BELOW_GENUS, Taxon
from triage.checklist.tree import Checklist
from triage.checklist.typed import plain as typed_letters

LONGEST = 200  # characters of a name with authors and remarks; more is no name
MOST_NEAR = 3  # names offered in place of one that is not resolved
_SEPARATORS = re.compile(
    r"\s*(?:\n|;|/|\||\+|&|,|\u00d7)\s*"
    r"|\s+(?:or|oder(?:\sdoch)?|od\.|lub|albo|czy|ou|o|and|und|u\.|i|oraz|et|e|y|vs\.?|versus|bzw\.?|resp\.?|x"
    r"|eller|of|aut|vel|nebo|och|og|-|\u2013)\s+",
    re.IGNORECASE,
)
_AND_OR = re.compile(r"\b(?:and|und|i|et|a)\s*/\s*(?:or|oder|lub|ou)\b", re.IGNORECASE)
_EITHER = re.compile(r"^\s*(?:either|entweder|albo|soit)\s+", re.IGNORECASE)
# Genus (one or other)
_WITHIN = re.compile(r"^\s*([^\W\d_]+)\s+(?:sp(?:p|ec)?\.?\s*)?\(([^()]+)\)\s*$")
_CROSS = re.compile(r"\u00d7|\sx\s", re.IGNORECASE)
_RANKED = re.compile(  # "genus Aeshna", "Fam. Aeshnidae", "Aeshna (genus)"
    r"^(?:(?:genus|gen\.|gattung|rodzaj|genre) (?=[^\W\d_]+$)(?!\S+idae$)|suborder (?=\S+optera$)"
    r"|(?:family|fam\.|familie|rodzina|famille) (?=\S+idae$)"
    r"|((?!\S+idae )[^\W\d_]+(?= \(genus\)$)|[^\W\d_]+idae(?= \(family\)$)) .*$)",
    re.IGNORECASE,
)
_ARTICLE = re.compile(r"^(?:an?|the|eine?|une?|les?|la)\s+|^l'")
_ANY_ODONATE = ("dragonfly", "libelle", "ważka", "libellule")  # behind a vernacular name
_NUMBERS = {"2": "bi", "3": "tri", "4": "quadri", "5": "quinque", "7": "septem", "10": "decem"}
_NUMBERED = re.compile(r"^(2|3|4|5|7|10)-?(?=[a-z]{5,})")
_QUOTES = str.maketrans("\u2018\u2019\u201c\u201d\u201e\u00ab\u00bb", '\'\'"""""', "\ufe0e\ufe0f")


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenName:
    """What a written name means. ``taxon`` is None while it is unresolved, and ``problem`` why.

    ``qualifier`` holds the marks of doubt in their order (``cf.``, ``aff.``, ``nr.``, ``agg.``,
    ``s.l.``, ``?``). Two names or a hybrid have the taxon that they share, and each name in
    ``alternatives``. ``near`` are names of the checklist that may be meant.
    """

    verbatim: str
    taxon: Taxon | None = None
    qualifier: str = ""
    alternatives: tuple[str, ...] = ()
    hybrid: bool = False
    sex: str = ""
    life_stage: str = ""
    behavior: str = ""
    near: tuple[str, ...] = ()
    problem: str = ""

    @property
    def scientific_name(self) -> str:
        """The accepted name, empty while unresolved."""
        return self.taxon.scientific_name if self.taxon else ""

    @property
    def rank(self) -> str:
        """The rank of the taxon, empty while unresolved."""
        return self.taxon.rank if self.taxon else ""

    @property
    def next_step(self) -> str:
        """What to write instead, in one sentence."""
        if self.near:
            return f"Near: {', '.join(self.near)}. Write the name in full."
        return "Write a name of the checklist, or add the taxon to it with 'triage checklist FILE'."


class _Unread(Exception):
    """Why the words are no name, and which names may be meant."""

    def __init__(self, problem: str, near: Sequence[str] = ()) -> None:
        super().__init__(problem)
        self.near = tuple(near)


def read_name(written: str, checklist: Checklist) -> WrittenName:
    """Read one name, two names, or a name in doubt; never more than the checklist holds.

    Examples
    --------
    >>> listed = Checklist([Taxon(scientific_name="Aeshna mixta", rank="species")])
    >>> found = read_name("Aeshna cf. mixta ♂", listed)
    >>> found.scientific_name, found.qualifier, found.sex
    ('Aeshna mixta', 'cf.', 'male')
    >>> read_name("Aesna mixta", listed).near
    ('Aeshna mixta', 'Aeshna')
    """
    try:
        return _read(written, _plain(written), checklist)
    except _Unread as unread:
        near = unread.near or _near(written, checklist)
        return WrittenName(verbatim=written, problem=str(unread), near=near)


def read_qualified(written: str, qualifier: str, checklist: Checklist) -> WrittenName:
    """A name with the qualifier of a column of its own: its doubt, a second name, or a denial.

    Examples
    --------
    >>> listed = Checklist([Taxon(scientific_name="Aeshna mixta", rank="species")])
    >>> read_qualified("Aeshna mixta", "wahrscheinlich", listed).qualifier
    '?'
    >>> read_qualified("Aeshna mixta", "nicht", listed).problem
    'the qualifier says what it is not'
    """
    found = read_name(written, checklist)
    if found.taxon is None or not qualifier:
        return found
    if problem := wrong_qualifier(qualifier):
        return WrittenName(verbatim=written, problem=problem, near=(found.scientific_name,))
    if _SEPARATORS.match(f" {qualifier} "):
        both = read_name(f"{written} {qualifier}", checklist)
        if both.alternatives:
            return both
    doubts = (read_qualifier(qualifier), found.qualifier)
    return replace(found, qualifier=" ".join(dict.fromkeys(filter(None, doubts))))


def name_alone(written: str) -> str:
    """The canonical name that the words hold, without doubt and sex; empty if they hold none.

    Examples
    --------
    >>> name_alone("Aeshna cf. mixta Latreille, 1805 ♀")
    'Aeshna mixta'
    """
    bare = take_doubts(take_sexes(f" {written} ", Marks()), Marks())
    return canonical_name(bare.strip(" .,;:!"))


def _plain(written: str) -> str:
    text = unicodedata.normalize("NFC", html.unescape(written)).translate(_QUOTES)
    text = "".join(sign for sign in text if unicodedata.category(sign) != "Cf")  # none is seen
    text = re.sub(r"[^\S\n]+", " ", text.replace("\r\n", "\n").replace("_", " "))
    text = re.sub(r"^\*(.*)\*$|^\*\s", r"\1", text.strip())  # in italics, or in a list
    text = _RANKED.sub(r"\1", text.strip("\"'").lstrip("\u2022\u00b7").strip())
    text = re.sub(r"^\(([^()]*)\)$", r"\1", text.replace("(!)", "").rstrip("/ "))
    if not text or len(text) > LONGEST:
        raise _Unread(f"a name has at most {LONGEST} characters" if text else "there is no name")
    return text


def _read(written: str, text: str, checklist: Checklist) -> WrittenName:
    whole = _exact(text, checklist)
    if whole:
        return WrittenName(verbatim=written, taxon=whole)
    if denies(text):
        raise _Unread("the words say what it is not")
    marks = Marks()
    text = take_age(take_pair(take_sexes(text, marks), marks), marks)
    text = take_hybrid(take_letter(text, marks), marks)
    beside = WrittenName(
        verbatim=written,
        sex=" and ".join(sorted(marks.sexes, reverse=True)),
        life_stage=marks.age,
        behavior=marks.behavior,
    )
    try:
        taxon, doubts = _one(text, checklist)
    except _Unread as unread:
        found = _several(_AND_OR.sub(" or ", text), checklist, marks)
        if found is None:
            raise unread from None
        return replace(
            beside,
            taxon=found.taxon,
            qualifier=found.qualifier,
            alternatives=found.alternatives,
            hybrid=found.hybrid,
        )
    if marks.hybrid:
        raise _Unread("a hybrid is written with both parents, such as Genus first x second")
    if marks.lettered and taxon.rank not in BELOW_GENUS:
        raise _Unread("the last letter may be a sex or a name cut short")
    return replace(beside, taxon=taxon, qualifier=" ".join(doubts))


def _exact(text: str, checklist: Checklist) -> Taxon | None:
    """The taxon whose name, synonym or vernacular name the whole text is."""
    plain = " ".join(text.split()).rstrip(".,;:! ").casefold()
    taxon = checklist.named(plain)
    if taxon is not None:
        return taxon
    bearers = checklist.with_vernacular(plain)
    if len(bearers) > 1:
        names = [one.scientific_name for one in bearers]
        raise _Unread("several taxa bear that name", names)
    return bearers[0] if bearers else None


def _one(text: str, checklist: Checklist, genus: str = "") -> tuple[Taxon, list[str]]:
    """The one taxon of a text with its doubts; ``genus`` is that of a name before it."""
    if re.match(r"\s*[^\W\d_]+(?:\?+|\s\?+\s|\s?\(\s*\?+\s*\))\s*[^\W\d_]{2,}", text):
        raise _Unread(
            "the question mark stands behind the genus: write the genus alone, or put it last"
        )
    marks = Marks()
    words = take_doubts(f" {text} ", marks).replace(".", ". ").split()
    while words and not words[-1].strip(".,;:!-\u2013("):
        words.pop()
    while words and not words[0].strip(".,;:!-\u2013"):
        words.pop(0)
    if not words:
        if marks.left_open and genus and (taxon := checklist.named(genus.casefold())):
            return taxon, marks.doubts
        raise _Unread("there is no name")
    taxon = _headed([_NUMBERED.sub(_spelt_out, word) for word in words], checklist, genus)
    if marks.left_open and len(taxon.scientific_name.split()) > 1 and not marks.doubts:
        raise _Unread("it is named to the species and left open at once", [taxon.scientific_name])
    return taxon, list(dict.fromkeys(marks.doubts))


def _spelt_out(number: re.Match[str]) -> str:
    """The number before an epithet in words: Libellula 4-maculata (ICZN 32.5.2.6)."""
    return _NUMBERS[number[1]]


def _headed(words: list[str], checklist: Checklist, genus: str) -> Taxon:
    """The taxon that the first words name; what follows must be its author or its other name."""
    for length in range(min(len(words), 8), 0, -1):
        taxon = _of_words(words[:length], checklist, genus)
        if taxon is None:
            continue
        rest = " ".join(words[length:]).replace(". ", ".").strip()
        if _belongs(rest, taxon, checklist):
            return taxon
        raise _Unread(
            f"'{rest}' beside the name is not understood", _fitting(words, taxon, checklist)
        )
    if genus == "" and len(words) == 2 and _is_short(words[0]):
        short = "the short name is not on the checklist, or may mean several species"
        raise _Unread(short, candidates(words, checklist))
    raise _Unread("the name is not on the checklist", candidates(words, checklist))


def _of_words(words: list[str], checklist: Checklist, genus: str) -> Taxon | None:
    last = words[-1].rstrip(".,;:!")
    plain = " ".join([*words[:-1], last]).casefold()
    taxon = checklist.named(plain) or checklist.named(_without_subgenus(words, last, checklist))
    if taxon is None and len(words) == 3 and words[1].casefold() == last.casefold():
        taxon = checklist.named(" ".join(words[:2]).casefold())  # the nominotypical subspecies
    if taxon is None and genus:
        first = words[0].rstrip(".").casefold()
        if len(words) == 1:
            taxon = checklist.named(f"{genus} {last}".casefold())
        elif _is_short(words[0]) and genus.casefold().startswith(first):
            taxon = checklist.named(" ".join([genus, *words[1:-1], last]).casefold())
    if taxon is None:
        bearers = _bearers(plain, checklist)
        taxon = bearers[0] if len(bearers) == 1 else None
    if taxon is None and len(words) == 1:
        taxon = _family_of(plain, checklist)
    in_full = [genus, *words] if genus and len(words) == 1 else words
    return taxon or written_out(in_full, checklist)


def _bearers(plain: str, checklist: Checklist) -> list[Taxon]:
    """Taxa with this vernacular name, also with an article or, in two words, in the plural."""
    name = _ARTICLE.sub("", plain)
    plural = name.endswith("s") and len(name.split()) > 1
    return (
        checklist.with_vernacular(name)
        or checklist.with_vernacular(typed_letters(name))
        or (checklist.with_vernacular(name[:-1]) if plural else [])
    )


def _family_of(plain: str, checklist: Checklist) -> Taxon | None:
    """The family of a member: an aeshnid, libellulids."""
    member = re.fullmatch(r"(\w{4,}id)s?", plain)
    taxon = checklist.named(f"{member[1]}ae") if member else None
    return taxon if taxon is not None and taxon.rank == "family" else None


def _without_subgenus(words: list[str], last: str, checklist: Checklist) -> str:
    """``Sympetrum (Sympetrum) striolatum`` without the middle, unless that is another genus."""
    if len(words) < 3 or not re.fullmatch(r"\([^\W\d_]{2,}\)", words[1]):
        return ""
    middle = checklist.named(words[1].strip("()").casefold())
    genera = (words[0], words[1].strip("()"))
    outer, inner = (" ".join([genus, *words[2:-1], last]).casefold() for genus in genera)
    if middle is not None and middle.scientific_name.casefold() != words[0].casefold():
        taxon = checklist.named(outer)  # Stylurus (Gomphus) flavipes, where both names are its own
        return outer if taxon is not None and taxon == checklist.named(inner) else ""
    return outer


def _belongs(rest: str, taxon: Taxon, checklist: Checklist) -> bool:
    """Whether words behind a name are its author, or its synonym or vernacular name."""
    if not rest.strip(".,;:! "):
        return True
    bare = rest.strip(".,;:!()[]=-\u2013 \"'").casefold()
    if checklist.named(bare) == taxon or taxon in checklist.with_vernacular(bare):
        return True
    if bare in _ANY_ODONATE:
        return True
    unknown = not any(checklist.named(word.casefold()) for word in re.findall(r"[^\W\d_]+", rest))
    author = re.sub(r"(?<=[)\d])[.;:!]+$", "", rest)
    return unknown and is_authorship(re.sub(r"^\[([^][]*)\]$", r"(\1)", author))


def _several(text: str, checklist: Checklist, marks: Marks) -> WrittenName | None:
    """Two or more names; None if the text has no separator. Each must be read by itself."""
    text = _WITHIN.sub(r"\1 \2", _EITHER.sub("", text))
    parts = [part for part in _SEPARATORS.split(text) if part.strip()]
    if len(parts) < 2:
        return None
    taxa: list[Taxon] = []
    doubts: list[str] = []
    sure: list[Taxon] = []
    genus = ""
    for part in parts:
        if "/" in text and not part.strip(" ?"):
            doubts.append("?")  # "Sympetrum danae / ?"
            continue
        taxon, its_doubts = _one(part, checklist, genus)
        taxa.append(taxon)
        doubts += its_doubts
        sure += [] if its_doubts else [taxon]
        genus = taxon.scientific_name.split()[0] if taxon.rank != "family" else ""
    if not taxa:
        raise _Unread("there is no name")
    crossed = marks.hybrid or bool(_CROSS.search(text))
    names = tuple(dict.fromkeys(taxon.scientific_name for taxon in taxa))
    if crossed and (len(names) < 2 or any(len(name.split()) < 2 for name in names)):
        raise _Unread("a hybrid is written with both parents, such as Genus first x second", names)
    if (len(marks.sexes) > 1 or marks.behavior) and len(names) > 1:
        raise _Unread("two names with two sexes are two animals: record each by itself", names)
    shared = checklist.shared(taxa)
    if shared in taxa and len(names) > 1 and not doubts:  # "Aeshnidae - Anax imperator"
        raise _Unread("one of the names holds the other: write the one that is meant", names)
    return WrittenName(
        verbatim="",
        taxon=shared,
        # "Sympetrum sp., perhaps danae": of the genus there is no doubt
        qualifier="" if shared in sure and len(names) > 1 else " ".join(dict.fromkeys(doubts)),
        alternatives=names if len(names) > 1 else (),
        hybrid=crossed,
    )


def _is_short(word: str) -> bool:
    return bool(re.fullmatch(r"[^\W\d_]{1,5}\.|[^\W\d_]", word))


def _fitting(words: list[str], taxon: Taxon, checklist: Checklist) -> list[str]:
    """Names that begin as the words do, species of the genus that was read, and that name."""
    typed = " ".join(words)
    begun = [one.scientific_name for one in checklist.suggest(typed, limit=MOST_NEAR)]
    within = [
        one.scientific_name
        for one in checklist.taxa
        if taxon.rank == "genus" and one.scientific_name.startswith(f"{taxon.scientific_name} ")
    ]
    alike = [name for name, _, _ in process.extract(typed, within, scorer=fuzz.ratio)]
    return list(dict.fromkeys([*begun, *alike, taxon.scientific_name]))[:MOST_NEAR]


def _near(written: str, checklist: Checklist) -> tuple[str, ...]:
    """Names of the checklist that the words may mean, the likeliest first."""
    text = take_doubts(take_sexes(f" {written} ", Marks()), Marks())
    text = re.sub(r"[^\w\s-]+", " ", text)
    found: dict[str, None] = {}
    for part in (text, *_SEPARATORS.split(text), *text.split()):
        if len(part.strip()) >= 3 and len(found) < MOST_NEAR:
            suggested = checklist.suggest(part.strip()[:LONGEST], limit=MOST_NEAR)
            found |= dict.fromkeys(one.scientific_name for one in suggested)
    return tuple(found)[:MOST_NEAR]
