"""Find the sites of the survey that a text names; what could be two is asked.

Names and aliases are compared folded (case, diacritics, punctuation), first exactly, then with
rapidfuzz word by word, so that a slip of the keyboard is read and another pond is not.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from triage.metadata.mentions import likeness
from triage.metadata.name_words import is_declined, quarters_of
from triage.metadata.place_forms import ONLY_MENTIONED, offer_of_mention, signs_of_mention
from triage.metadata.place_words import ANOTHER_TIME, doubt_of_mention
from triage.metadata.position import NamedPlace, PlaceClaim
from triage.metadata.text_offsets import Offset, displaced, offset_before
from triage.metadata.text_spans import Span, blanked, fold_letters, is_short, word_set
from triage.metadata.weighing import DENIED, NEVER_WEIGHED, form_of, weighed
from triage.standards.letters import bare

# Chosen on the names and slips of tests/metadata/test_text_places.py.
REACH = 2_000  # characters on either side of a name that may speak of its place
MENTIONS = 8  # of one site in one text that are looked at
SAME_NAME = 88.0  # similarity in [0, 100] of a whole name that is read as meant
MAYBE_NAME = 78.0  # asked from here on
JOINED_NAME = 99.0  # the name written as one word, or as two
DECLINED_NAME = 97.0  # the name in another grammatical case
RIVAL = 5.0  # a site that much less alike is no rival
SAME_WORD = 60.0  # every word of the name must be at least this alike
QUALIFIED = 8  # words on either side of a name of two sites that may tell them apart
SHORT_NAME = 6  # letters; a shorter name must be exact
SHORT_WORD = 8  # letters; a name of one word shorter than that must be exact


# Words that tell neighbouring sites apart: never a slip of each other.
_TELLING = word_set(
    "north south east west upper lower old new big little great small inner outer nord "
    "sud ost west ober unter alt neu gross klein polnoc poludnie wschod zachod gorny "
    "dolny stary nowy duzy maly first second third left right"
)


_BEFORE_PLACES = word_set(
    "at in near by from the to around am an im bei beim vom zum der die das dem den nahe "
    "nad przy w z ze na kolo obok do"
)


@dataclass(frozen=True, slots=True)
class _Word:
    folded: str
    start: int
    end: int
    capital: bool


@lru_cache(maxsize=4096)  # the same sites are asked about with each mail
def fold(text: str) -> str:
    """Return a name as it is compared: lower case, no diacritics, one space between words.

    >>> fold("Jezioro  Święte-Małe")
    'jezioro swiete male'
    """
    return " ".join(word.folded for word in _words(text))


def _words(text: str) -> list[_Word]:
    return [
        _Word(bare(found[0]), found.start(), found.end(), found[0][0].isupper())
        for found in re.finditer(r"[^\W_]+", text)
    ]


@dataclass(frozen=True, slots=True)
class _Found:
    sites: tuple[str, ...]  # identifiers
    start: int
    end: int
    similarity: float


def find_sites(
    text: str, places: Sequence[NamedPlace], *, without: int | None = None
) -> tuple[list[PlaceClaim], list[str], list[Span]]:
    """Return a claim for each site that the text names, what must be asked, where names stand.

    ``without`` names a fold of the batches that the likeness of mentions was not learned from.
    """
    told = told_of(text, places)
    named = [span for _, spans in told for span in spans]
    claims = [(one.claim, one.question) for one, _ in told]
    if len(told) == 1 and (mention := told[0][0]).weighable:
        like = likeness(text, named, "place", mention.signs, without=without)
        claims = [weighed(*claims[0], like)]
    meant = [
        one
        for one, _ in claims
        if not is_denied(one) or any(f"speak of {ANOTHER_TIME}" in doubt for doubt in one.doubts)
    ]
    if len(meant) == 1 and not meant[0].doubts:
        # What is named only to say that it is not the place is no second site.
        return meant, [], named
    questions = [question for _, question in claims if question]
    chosen = [claim for claim, _ in claims]
    if len(several := meant or chosen) > 1:  # also where each is said to be followed by another
        listed = ", ".join(sorted(claim.locality or claim.verbatim for claim in several))
        doubt = f"{SEVERAL_SITES}: {listed}"
        chosen = [replace(claim, doubts=(*claim.doubts, doubt)) for claim in chosen]
        questions = [q for q in questions if not q.startswith("Is the photo")]
        questions.append(f"Which site is the photo from: {listed}?")
    return chosen, questions, named


def told_of(text: str, places: Sequence[NamedPlace]) -> list[tuple[Mention, list[Span]]]:
    """By site: the surest of its mentions in a text, and where its names stand."""
    by_id = {place.location_id: place for place in places}
    words, found = _named(text, places)
    spans: dict[tuple[str, ...], list[Span]] = defaultdict(list)
    for match in found:
        spans[match.sites].append((words[match.start].start, words[match.end - 1].end))
    unnamed = blanked(text, [span for ones in spans.values() for span in ones])
    alone = {sites: blanked(text, ones) for sites, ones in spans.items()}
    mentions: dict[tuple[str, ...], list[Mention]] = defaultdict(list)
    for match in sorted(found, key=lambda f: (-f.similarity, f.start)):
        if len(mentions[match.sites]) < MENTIONS:
            first, last = words[match.start].start, words[match.end - 1].end
            around = alone[match.sites]
            context = around[max(0, first - REACH) : first], around[last : last + REACH]
            near = unnamed[max(0, first - REACH) : last + REACH]
            one = _mention(match, text[first:last], (*context, near), by_id)
            mentions[match.sites].append(one)
    short = is_short(text)
    return [(_surest(ones, short=short), spans[sites]) for sites, ones in mentions.items()]


def _named(text: str, places: Sequence[NamedPlace]) -> tuple[list[_Word], list[_Found]]:
    names, words = _names(places), _words(text)
    found = [_narrowed(one, words, text, places) for one in _exact(words, names, text)]
    taken = {n for f in found for n in range(f.start, f.end)}
    return words, [*found, *_alike(words, names, taken)]


SEVERAL_SITES = "the text names several sites"


def is_denied(claim: PlaceClaim) -> bool:
    """Whether the words around a name say that it is not where the photo was taken."""
    return any(doubt.startswith(DENIED) for doubt in claim.doubts)


@dataclass(frozen=True, slots=True)
class Mention:
    """What one mention of a site claims, what must be asked, and in what form it stands."""

    claim: PlaceClaim
    question: str
    form: str
    signs: tuple[str, ...]
    bare: bool  # the name has a line for itself, as a subject may
    weighable: bool  # whether how like the mail is to plain ones may decide


def _mention(
    match: _Found, verbatim: str, context: tuple[str, str, str], by_id: dict[str, NamedPlace]
) -> Mention:
    """The claim of one mention of a site in its context, and what must be asked of it."""
    before, after, unnamed = context
    offset = offset_before(fold_letters(before), before)
    claim, question = _claim(match, verbatim, by_id, offset)
    denied = doubt_of_mention(before, verbatim, after, measured=offset is not None)
    doubt = f"{DENIED}{denied}" if denied else ""
    if not denied and offset is None:
        doubt = offer_of_mention(before, verbatim, after, unnamed=unnamed)
    endless = doubt == f"{ONLY_MENTIONED}: '{verbatim}'"  # no sentence to be weighed
    form = form_of(doubt)
    weighable = not (form in NEVER_WEIGHED or endless or offset or claim.doubts)
    if doubt:
        claim = replace(claim, doubts=(*claim.doubts, doubt))
        question = question or f"Is the photo from {verbatim}?"
    signs = (f"form {form}", *signs_of_mention(before, after, unnamed))
    bare = not f"{before.rpartition(chr(10))[2]}{after.partition(chr(10))[0]}".strip(" .:!?")
    return Mention(claim, question, form, signs, bare, weighable)


def _surest(mentions: Sequence[Mention], *, short: bool) -> Mention:
    """Of all mentions of a site: one that denies it, else one in a safe form, else the first.

    A name alone on its line says only what the mail is about: any sentence says more. In a safe
    form neither a ``short`` mail nor a field that asks for the place is weighed by its words.
    """
    told = [one for one in mentions if not one.bare] or mentions
    one = min(told, key=lambda one: (not is_denied(one.claim), len(one.claim.doubts)))
    stands = one.form == "safe" and (short or "label True" in one.signs)
    return replace(one, weighable=one.weighable and not stands)


Names = dict[tuple[str, ...], tuple[str, ...]]  # folded words of a name -> identifiers


def _names(places: Sequence[NamedPlace]) -> Names:
    sites: dict[tuple[str, ...], set[str]] = defaultdict(set)
    shared: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for place in places:
        for name in (place.locality, *place.aliases):
            words = tuple(fold(name).split())
            if words:
                sites[words].add(place.location_id)
            shared[tuple(fold(name.partition("(")[0]).split())].add(place.location_id)
    for words, ids in shared.items():  # "Sedge Pond" of "Sedge Pond (West)" and of its other half
        if len(words) > 1 and len(ids) > 1:
            sites.setdefault(words, ids)
    return {words: tuple(sorted(ids)) for words, ids in sites.items()}


def _narrowed(
    found: _Found, words: Sequence[_Word], text: str, places: Sequence[NamedPlace]
) -> _Found:
    """A name of several sites that words beside it tell apart: "Sedge Pond, the western one"."""
    if len(found.sites) == 1:
        return found
    first, last = max(0, found.start - QUALIFIED), min(len(words), found.end + QUALIFIED)
    said = quarters_of(text[words[first].start : words[last - 1].end])
    meant = [
        place.location_id
        for place in places
        if place.location_id in found.sites and quarters_of(place.locality) & said
    ]
    return replace(found, sites=(meant[0],)) if len(meant) == 1 else found


def _exact(words: list[_Word], names: Names, text: str) -> list[_Found]:
    cased = text != text.lower() and text != text.upper()
    longest = max((len(name) for name in names), default=0)
    found: list[_Found] = []
    at = 0
    while at < len(words):
        for length in range(min(longest, len(words) - at), 0, -1):
            run = words[at : at + length]
            sites = names.get(tuple(word.folded for word in run))
            # A site called "Pond" is meant only where it is written as a name, or, in a text
            # without capitals, where a place is due.
            due = at == 0 or words[at - 1].folded in _BEFORE_PLACES
            meant = length > 1 or (run[0].capital if cased else due)
            if sites and meant:
                found.append(_Found(sites, at, at + length, 100.0))
                at += length
                break
        else:
            at += 1
    return found


def _alike(words: list[_Word], names: Names, taken: set[int]) -> list[_Found]:
    by_letter: dict[str, Names] = defaultdict(dict)
    joined: Names = {}
    for name, sites in names.items():
        by_letter[name[0][0]][name] = sites
        if len("".join(name)) >= SHORT_NAME:
            joined.setdefault(("".join(name),), sites)
    longest = max((len(name) for name in names), default=0) + 1  # a joined name may be cut in two
    found: list[_Found] = []
    for at, word in enumerate(words):
        if at not in taken:
            reach = min(at + longest, len(words))
            free = next((n for n in range(at, reach) if n in taken), reach)
            best = _best_of([w.folded for w in words[at:free]], by_letter[word.folded[0]], joined)
            if best:
                top, length, ids = best
                found.append(_Found(ids, at, at + length, top))
    # Overlapping windows: the closest stays.
    kept: list[_Found] = []
    used: set[int] = set()
    for match in sorted(found, key=lambda f: -f.similarity):
        place = range(match.start, match.end)
        if used.isdisjoint(place):
            kept.append(match)
            used.update(place)
    return kept


def _best_of(
    words: list[str], names: Names, joined: Names
) -> tuple[float, int, tuple[str, ...]] | None:
    """Return similarity, length and sites of the name that the words begin with, or None."""
    scored = [
        # "Alderpool" for "Alder Pool", and the other way round.
        (JOINED_NAME, length, joined[("".join(words[:length]),)])
        for length in (1, 2)
        if ("".join(words[:length]),) in joined and len(words) >= length
    ]
    for name, sites in names.items():
        if len(name) <= len(words):
            similarity = _similarity(words[: len(name)], name)
            if similarity >= MAYBE_NAME:
                scored.append((similarity, len(name), sites))
    if not scored:
        return None
    top, length, sites = max(scored)
    # A second site that is nearly as close makes it a question between the two.
    rivals = {site for score, _, others in scored for site in others if score > top - RIVAL}
    return top, length, tuple(sorted(rivals.union(sites)))


def _similarity(window: Sequence[str], name: Sequence[str]) -> float:
    """Return how alike two names are, 0 to 100; 0 where a telling word or a number differs."""
    if len("".join(name)) < (SHORT_NAME if len(name) > 1 else SHORT_WORD):
        return 0.0
    from rapidfuzz import fuzz

    most, declined = JOINED_NAME, False
    for ours, theirs in zip(window, name, strict=True):
        if ours == theirs:
            continue
        if is_declined(ours, theirs):
            most = min(most, DECLINED_NAME)
            declined = True
            continue
        telling = ours in _TELLING or theirs in _TELLING
        short = min(len(ours), len(theirs)) <= 3
        # A doubled letter is a slip even in a short word: "Pitt" for "Pit".
        doubled = len({re.sub(r"(.)\1", r"\1", word) for word in (ours, theirs)}) == 1
        if telling or (short and not doubled) or re.search(r"\d", ours + theirs):
            return 0.0
        if fuzz.ratio(ours, theirs) < SAME_WORD:
            return 0.0
        # Slips seldom hit a first letter: "Otter Beach" may be a place of its own.
        most = most if ours[0] == theirs[0] else SAME_NAME - 1
    alike = float(fuzz.ratio(" ".join(window), " ".join(name)))
    return min(most, max(alike, DECLINED_NAME) if declined else alike)


def _claim(
    match: _Found, verbatim: str, by_id: dict[str, NamedPlace], offset: Offset | None
) -> tuple[PlaceClaim, str]:
    sites = [by_id[site] for site in match.sites]
    if len(sites) > 1:
        listed = ", ".join(f"{site.locality} ({site.location_id})" for site in sites)
        claim = PlaceClaim(
            source="message site name",
            decimal_latitude=None,
            decimal_longitude=None,
            coordinate_uncertainty_in_meters=None,
            verbatim=verbatim,
            doubts=(f"the name fits several sites: {listed}",),
        )
        return claim, f"Which site is {verbatim}: {listed}?"
    site = sites[0]
    doubts: tuple[str, ...] = ()
    question = note = ""
    if match.similarity < SAME_NAME:
        doubts = (f"{verbatim} is only like {site.locality}",)
        question = f"Is {verbatim} the site {site.locality}?"
    elif match.similarity < 100:
        note = f"{verbatim} read as {site.locality}"
    claim = PlaceClaim(
        source="message site name",
        decimal_latitude=site.decimal_latitude,
        decimal_longitude=site.decimal_longitude,
        coordinate_uncertainty_in_meters=site.coordinate_uncertainty_in_meters,
        location_id=site.location_id,
        locality=site.locality,
        verbatim=verbatim,
        georeference_protocol="site of the survey, named in the message",
        doubts=doubts,
        note=note,
    )
    return (_moved(claim, offset) if offset else claim), question


def _moved(claim: PlaceClaim, offset: Offset) -> PlaceClaim:
    """Return the claim of a place at an offset from the site: it is no longer the site."""
    if claim.decimal_latitude is None or claim.decimal_longitude is None:
        return claim
    latitude, longitude = displaced(claim.decimal_latitude, claim.decimal_longitude, offset)
    radius = (claim.coordinate_uncertainty_in_meters or 0) + offset.uncertainty_metres
    return replace(
        claim,
        decimal_latitude=round(latitude, 7),
        decimal_longitude=round(longitude, 7),
        coordinate_uncertainty_in_meters=round(radius, 1),
        location_id="",
        locality=f"{offset.words} {claim.locality}",
        verbatim=f"{offset.words} {claim.verbatim}",
        georeference_protocol=(
            "Georeferencing Quick Reference Guide (Zermoglio et al. 2020); offset from a site"
        ),
    )
