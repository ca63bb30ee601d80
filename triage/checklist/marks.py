"""Takes doubt, sex, negation and open endings out of a written name, and leaves the name.

Open nomenclature as in Sigovini, Keppel and Tagliapietra, "Open Nomenclature in the biodiversity
era", Methods in Ecology and Evolution 7 (2016) 1217-1225; the words of other languages are common
practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from triage.standards.tables import FEMALE_WORDS, MALE_WORDS, answer_of

_DOUBTS = {
    "cf.": r"c\.\s?f\.?|cfr?\.?|conf\.|confer",
    "aff.": r"aff\.?",
    "nr.": r"nr\.?|near|prope|(?:(?:it\s)?looks\s)?like|type|-artig",
    "agg.": r"agg(?:r?\.)?|aggregate?|group|gruppe|grupa|groupe|complex|komplex|(?:ex\s)?gr\.",
    "s.l.": r"s\.\s?l\.?|s(?:ens)?\.\s?lat\.?|sensu\slato",
    "?": r"""(?:not|nicht|nie|pas)\s(?:quite\s|100\s?%\s|entirely\s|ganz\s|jestem\s)?
            (?:sure|certain|confirmed|confident|sicher|pewn[aey]|sûre?|certaine?)
        |i\s(?:am|think|guess|believe)|i['\u2019]d\ssay|tbc|to\sbe\s(?:confirmed|checked)|unsure|unconfirmed
        |(?:ca\.\s?|(?:na|zu|about|à)\s)?[<>~]?\s?(?<![\d.,])[7-9]\d\s?%(?:\s(?:sure|certain|sicher|pewn[aey]|sûre?))?
        |(?<!\d)[5-9]\d\s?/\s?[1-4]\d(?!\d)|(?:could|might|may)\sbe|(?:best|my)\sguess|hopefully
        |(?:fairly|quite|pretty|rather|reasonably|moderately)\sconfident|to\sme|seems\sto\sbe
        |needs?\s(?:checking|confirming|confirmation|a\scheck)|to\scheck|sieht\saus\swie|scheint
        |wygląda\s(?:na|jak)|on\sdirait|ressemble\sà|tentative(?:ly)?|provisional(?:ly)?|(?:det\.|id\.?|bestimmung|determination)\s?(?:uncertain|unsure|unsicher|provisoire)|doubtful
        |or\ssim(?:ilar|\.)|imho|m\.\s?e\.|im\szweifel|hoffentlich|zweifelhaft|könnte\ssein|o\.\s?ä\.|oder\sähnlich|ohne\sgewähr|sûrement
        |najprawdopodobniej|unbestätigt|ungesichert|niepotwierdzon[aey]|non\sconfirmée?|w\u0105tpliw[aey]|lub\spodobn[aey]|probable(?:ment)?|vraisemblable(?:ment)?
        |pourrait\sêtre|douteu(?:x|se)|provisoire|ou\ssimilaire|(?:pretty|fairly|almost|nearly)\s(?:sure|certain(?:ly)?)|prawie\s(?:na\spewno|pewn[aey])|presque\s(?:sûre?|certaine?)|leaning\s(?:to|towards?)|gut\smöglich|würde\sich\ssagen|plutôt|(?:am\s)?eher|am\sehesten|fast\ssicher|ziemlich\ssicher|ich\sdenke|denke\sich|zu\sbestätigen
        |wahrsch(?:einl)?\.|pewnie|raczej|do\s(?:potwierdzenia|sprawdzenia)|à\s(?:confirmer|vérifier)
        |je\s(?:crois|pense)|prob\.?|probably
        |poss\.?|possibly|maybe|perhaps|most\slikely|very\slikely|likely|presumably|presumed|uncertain
        |evtl\.?|ev\.|eventuell|vielleicht|wohl|vermutlich|wahrscheinlich|möglicherweise|unsicher|fraglich
        |chyba|prawdopodobnie|być\smoże|może|zapewne|prawd\.|niepewn[aey]|możliwe(?:,?\sże)?
        |peut-être|probablement|sans\sdoute|possiblement|incertain|quizás?|forse|misschien|waarschijnlijk
        |kanske|troligen|måske|kanskje""",
}
_CERTAIN = (
    r"s(?:ens)?\.\s?str\.?|s\.\s?s\.|sensu\sstricto"
    r"|(?:no|without(?:\s(?:a|any))?|beyond|kein|ohne(?:\sjeden)?|bez|sans\saucun)\s(?:doubt|zweifel|wątpienia|doute)|confident"
    r"|sure|certain|sicher|pewn[aey]|sûre?|definitely|certainly|confirmed|eindeutig|na\spewno"
    r"|(?<!\d)100\s?%(?:\s(?:sure|certain|sicher|pewn[aey]|sûre?))?"
)
_AGES = {  # of the animal, not its name, in the words of lifeStage
    "adult": r"adults?|ad\.|imago",
    "immature": r"immature|imm\.?|juvenile?|juv\.?|subadult|młod[ya]|jeune|jung(?:er|es)?",
    "teneral": r"tenerals?|freshly\semerged|frisch\s?geschlüpft",
}
_PAIRS = {  # what the animals do, most often two of one taxon, as behaviour
    "ovipositing": r"""ovipositing|egg[\s-]laying|(?:bei\s(?:der\s)?)?eiablage|en\sponte
        |składa(?:nie)?\sjaja?""",
    "tandem": r"(?:in\s|im\s)?tandem",
    "mating": r"""(?:in\s)?cop\.|in\scop|(?:in\s)?[ck]opula|mating(?:\swheel)?|paarungsrad
        |w\skopulacji|accouplement""",
    "pair": r"pair|(?<!ein\s)paar|para",  # "ein paar": a few
}
_OPEN = r"""g(?:en)?\.\s?(?:(?:et|&)\s?)?sp(?:p|ec)?\.?|sp(?:p|ec)?\.?|species|(?:ind|und)et\.?
    |unidentified|unbestimmt|nieoznaczon[aey]"""
_RANK_MARKS = r"ssp\.?|subsp\.?"
_NEGATIONS = r"""not|no|isn't|never|without|except|excluding|excl\.?|nicht|kein|keine|keinesfalls
    |ohne|nie|bez|oprócz|wykluczone|pas|non|aucun|sauf|niet|geen|inte|ikke|ei|nem|ne"""
_HYBRID = r"hybrids?|hybride?n?|hybryda?|mieszaniec|bastard"


def _word(pattern: str) -> re.Pattern[str]:
    return re.compile(
        rf"(?<![^\W_])(?:{pattern})(?:(?<=\.)|(?![^\W_]))", re.IGNORECASE | re.VERBOSE
    )


def _words(words: frozenset[str]) -> str:
    return "|".join(sorted(map(re.escape, words), key=len, reverse=True))


_DOUBT_PATTERNS = {mark: _word(pattern) for mark, pattern in _DOUBTS.items()}
_AGE_PATTERNS = {stage: _word(pattern) for stage, pattern in _AGES.items()}
_PAIR_PATTERNS = {kind: _word(pattern) for kind, pattern in _PAIRS.items()}
_CERTAIN_PATTERN, _OPEN_PATTERN = _word(_CERTAIN), _word(_OPEN)
_RANK_PATTERN, _HYBRID_PATTERN = _word(_RANK_MARKS), _word(_HYBRID)
_NEGATION_PATTERN = _word(_NEGATIONS)
_QUESTION = re.compile(
    r"[\[(]\s*[?\uff1f\u00bf]+\s*[\])]|[?\uff1f\u00bf]+|^\s*[~\u2248\u00b1]|~\s*$"
)
_ONE_SEX = rf"[♂♀]\ufe0f?|(?<![^\W_])(?:{_words(MALE_WORDS | FEMALE_WORDS)})(?![^\W_])"
_SEXES = re.compile(
    rf"\(?\s*(?:{_ONE_SEX})(?:\s*(?:[/+&,]|\band\b|\bund\b|\bi\b|\bet\b)?\s*(?:{_ONE_SEX}))*\s*\)?",
    re.IGNORECASE,
)
# "..., probably female": the name stands, the sex does not; "female?": neither is sure.
_DOUBTED_SEX = re.compile(
    rf"[,;(\u2013-]\s*(?:{_DOUBTS['?']})\s*(?:{_ONE_SEX})\s*\)?\s*$", re.IGNORECASE | re.VERBOSE
)
# A letter for the sex stands last, behind a name of two words or its author.
_LETTERS = re.compile(
    r"^(.*[^\W\d_]+\.?\s*[^\W\d_]{4,}\.?(?:\s.*)?)[\s,]\s*\(?([mf])(?:\s?[/+&]\s?([mf]))?[\s,]*\)?\s*$",
    re.IGNORECASE,
)
_QUESTIONED_SEX = re.compile(rf"(?:{_ONE_SEX})(?=\s*\)?\s*[?\uff1f])", re.IGNORECASE)


@dataclass(slots=True)
class Marks:
    """What stood beside a name: doubts in their order, sexes, age, an open ending, a hybrid."""

    doubts: list[str] = field(default_factory=list)
    sexes: set[str] = field(default_factory=set)
    age: str = ""
    behavior: str = ""
    lettered: bool = False
    left_open: bool = False
    hybrid: bool = False


def denies(text: str) -> bool:
    """Whether the words say that something is not this taxon; "not sure" is a doubt."""
    return bool(_NEGATION_PATTERN.search(take_doubts(text, Marks())))


def take_sexes(text: str, marks: Marks) -> str:
    """The text without signs and words of sex, noted in ``marks`` unless doubted."""

    def note(found: re.Match[str]) -> str:
        for word in re.findall(_ONE_SEX, found[0], re.IGNORECASE):
            plain = word.strip("\ufe0f").casefold()
            marks.sexes.add("male" if plain == "♂" or plain in MALE_WORDS else "female")
        return " "

    text = _QUESTIONED_SEX.sub(" ", _DOUBTED_SEX.sub(" ", text))
    return _SEXES.sub(note, text)


def take_letter(text: str, marks: Marks) -> str:
    """The text without a last ``m``, ``f`` or ``m/f`` behind two words, noted in ``marks``."""
    found = _LETTERS.search(text)
    if found is None:
        return text
    marks.lettered = True
    marks.sexes |= {"male" if one in "mM" else "female" for one in found.groups()[1:] if one}
    return found[1]


def take_pair(text: str, marks: Marks) -> str:
    """The text without words of a pair, noted in ``marks`` as behaviour."""
    for kind, pattern in _PAIR_PATTERNS.items():
        text, count = pattern.subn(" ", text)
        if count:
            marks.behavior = marks.behavior or kind
    return re.sub(r"\(\s*\)", " ", text)


def take_age(text: str, marks: Marks) -> str:
    """The text without words of age, which are noted in ``marks`` as a stage of life."""
    for stage, pattern in _AGE_PATTERNS.items():
        text, count = pattern.subn(" ", text)
        marks.age = stage if count else marks.age
    return re.sub(r"\(?\s*[,;]\s*\)|\(\s*\)", " ", text)


def take_hybrid(text: str, marks: Marks) -> str:
    """The text without the word for a hybrid, which is noted in ``marks``."""
    text, count = _HYBRID_PATTERN.subn(" ", text)
    marks.hybrid = marks.hybrid or bool(count)
    return text


def take_doubts(text: str, marks: Marks) -> str:
    """The text without doubts and open endings, which are noted in ``marks``."""
    before = len(marks.doubts)
    text = re.sub(rf"-(?={_DOUBTS['agg.']}|type)", " ", text, flags=re.IGNORECASE)
    for mark, pattern in _DOUBT_PATTERNS.items():
        text, count = pattern.subn(" ", text)
        if count:
            marks.doubts.append(mark)
    text, questions = _QUESTION.subn(" ", text)
    if questions and "?" not in marks.doubts:
        marks.doubts.append("?")
    text = _CERTAIN_PATTERN.sub(" ", text)
    text, count = _OPEN_PATTERN.subn(" ", text)
    marks.left_open = marks.left_open or bool(count)
    text = _RANK_PATTERN.sub(" ", text)
    if len(marks.doubts) > before or count:
        text = re.sub(r"\(\s*([^\W\d_]+)\s*\)", _without_parentheses, text)
    return re.sub(r"\(\s*\)", " ", text)


def _without_parentheses(found: re.Match[str]) -> str:
    """``Aeshna (cf. mixta)``: an epithet in doubt, no subgenus."""
    return f" {found[1]} " if found[1].islower() else found[0]


def wrong_qualifier(text: str) -> str:
    """Why words are no doubt of a name: they deny it, or are a sex, an age or a bare yes.

    >>> [bool(wrong_qualifier(one)) for one in ("not", "male", "teneral", "yes", "cf.", "sure")]
    [True, True, True, True, False, False]
    """
    if denies(text):
        return "the qualifier says what it is not"
    marks = Marks()
    left = take_age(take_pair(take_sexes(f" {text} ", marks), marks), marks)
    if answer_of(text) is True or not left.strip(" .,;()"):
        return f"the qualifier '{text}' says nothing of how sure the name is"
    return ""


def read_qualifier(text: str) -> str:
    """A qualifier as typed in a column of its own, in our spelling; other words stay as they are.

    Examples
    --------
    >>> read_qualifier("CF"), read_qualifier("sp."), read_qualifier("wahrscheinlich")
    ('cf.', '', '?')
    >>> read_qualifier("cf. mixta")
    'cf. mixta'
    """
    marks = Marks()
    left = take_doubts(f" {text} ", marks).strip(" .,;()")
    return text.strip() if left else " ".join(dict.fromkeys(marks.doubts))
