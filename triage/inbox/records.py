"""Lists what a person must decide of records rather than of messages, each with its fix.

Grants that nobody has seen, names that the checklist does not resolve, visits and sites that were
not imported, people who may be one person, and impossible years.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations, product
from typing import Literal

from triage.determinations.determiners import may_be_one
from triage.exuviae import UnresolvedReference
from triage.standards.counting import counted
from triage.standards.person_names import near_pairs

EARLIEST_PHOTO = 1826  # the oldest photograph that is left; a sighting before it has a wrong year

RecordNeedKind = Literal[
    "consent",
    "unclear consent",
    "photographer",
    "unresolved name",
    "open reference",
    "near names",
    "impossible year",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordNeed:
    """One thing to decide: of which record, what it is, and how to settle it.

    ``key`` names the record alone (a code, a number); ``choices`` are what may be meant instead.
    """

    kind: RecordNeedKind
    record: str
    text: str
    fix: str
    key: str = ""
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Dated:
    """A record with its first and last day as ISO 8601 text."""

    record: str
    first_day: str
    last_day: str


def needs_of_records(
    *,
    grants: Iterable[tuple[str, str]] = (),
    unclear: Iterable[tuple[str, str]] = (),
    photographers: Iterable[tuple[str, str, int]] = (),
    unresolved: Iterable[UnresolvedReference],
    people: Iterable[tuple[str, str]],
    apart: Collection[frozenset[str]] = (),
    determiners: Collection[str] = (),
    dated: Iterable[Dated],
    latest: date,
    nearest: Mapping[str, Sequence[str]] | None = None,
) -> list[RecordNeed]:
    """All of them: consents, names, people, days after ``latest`` or before photography.

    ``grants`` are codes of people with the words of theirs that nobody has seen, ``unclear`` the
    same of words about use that are neither grant nor refusal, ``photographers``
    code, name and number of photos of those whose consent is wanted, ``people`` codes and names,
    ``apart`` the codes of every two who are known to be two, ``determiners`` of who names,
    ``nearest`` the names of the checklist that an unresolved one may mean.
    """
    found = [
        RecordNeed(
            kind="consent",
            record=f"person {code}",
            text=f"seems to grant: {words}",
            fix=f"'triage people --consent-seen {code}' if the words do, and only then does it"
            f" count; 'triage people --nothing-granted {code}' if they do not",
            key=code,
        )
        for code, words in grants
    ]
    found += [
        RecordNeed(
            kind="unclear consent",
            record=f"person {code}",
            text="may have said something about use; not published until you have seen it:"
            f" {words}",
            fix=f"'triage people --consent {code} --words WORDS' with what holds, such as 'Please"
            f" do not publish my photos', or 'triage people --nothing-said {code}' if it is about"
            " something else",
            key=code,
        )
        for code, words in unclear
    ]
    found += [_photographer(*one) for one in photographers]
    found += (_reference(one, nearest or {}) for one in unresolved)
    found += (
        one for one in _near_people(people, determiners) if frozenset(one.choices) not in apart
    )
    return found + [
        RecordNeed(
            kind="impossible year",
            record=one.record,
            text=f"{one.first_day}{'' if one.first_day == one.last_day else '/' + one.last_day}",
            fix="correct the date in the table and import it again, or 'triage correct --time'",
        )
        for one in dated
        if _is_impossible(one, latest)
    ]


def _reference(one: UnresolvedReference, nearest: Mapping[str, Sequence[str]]) -> RecordNeed:
    """A name that the checklist does not have, or a visit or site that was not imported."""
    is_name = one.column == "scientificName"
    return RecordNeed(
        kind="unresolved name" if is_name else "open reference",
        record=f"{one.record} {one.identifier}",
        text=f"'{one.value}' is not resolved and counts nowhere"
        if is_name
        else f"{one.column} {one.value}",
        fix=one.reason,
        key=one.identifier,
        choices=tuple(nearest.get(one.value, ())) if is_name else (),
    )


def _near_people(
    people: Iterable[tuple[str, str]], determiners: Collection[str]
) -> Iterator[RecordNeed]:
    """People of one name, each with the next, then those of near names, by their codes.

    Determiners are asked about as long as they do not count as two.
    """
    bearers: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for code, name in people:
        if name.strip():
            bearers[" ".join(name.split()).casefold()].append((code, name))
    pairs = [
        (one, other, "the same name")
        for same in bearers.values()
        for one, other in combinations(same, 2)
    ]
    pairs += [
        (one, other, why)
        for first, second, why in near_pairs(same[0][1] for same in bearers.values())
        for one, other in product(
            *(bearers[" ".join(n.split()).casefold()] for n in (first, second))
        )
    ]
    found = {frozenset((one[0], other[0])) for one, other, _ in pairs}
    said = [one for same in bearers.values() for one in same if one[0] in determiners]
    pairs += [
        (one, other, why)
        for one, other in combinations(said, 2)
        if frozenset((one[0], other[0])) not in found and (why := may_be_one(one[1], other[1]))
    ]
    for one, other, why in pairs:
        # Of two who are joined the first one's name stays: the one that is written out.
        two = sorted((one, other), key=lambda person: -len("".join(person[1].split())))
        codes = " ".join(code for code, _ in two)
        yield RecordNeed(
            kind="near names",
            record=" / ".join(name for _, name in two),
            text=f"may be one person: {why}",
            fix=f"'triage people --same {codes}' if they are; if they are two,"
            f" 'triage people --two {codes}'",
            choices=tuple(code for code, _ in two),
        )


def _photographer(code: str, name: str, count: int) -> RecordNeed:
    return RecordNeed(
        kind="photographer",
        record=f"person {code}",
        text=f"{name or code} took {counted(count, 'photo')} that others sent, and has not"
        " consented",
        fix="ask for a mail from them ('triage settle MESSAGE --ask identity' asks the sender),"
        f" or 'triage people --consent {code} --words WORDS' if they said so elsewhere",
        key=code,
    )


def _is_impossible(one: Dated, latest: date) -> bool:
    return one.last_day[:10] > latest.isoformat() or one.first_day[:4] < str(EARLIEST_PHOTO)
