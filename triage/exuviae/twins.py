"""Finds sites that bear another site's name or lie on its point: one water typed twice, or two.

Which of the two it is cannot be told from a table, so whoever typed it is asked.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence

from rapidfuzz.distance import DamerauLevenshtein

from triage.checklist.typed import plain
from triage.exuviae.records import Site
from triage.standards.tables import RefusedRow

CELL_DEGREES = 0.005  # about 500 m: names that differ by a letter are compared so near; our own
LEAST_LETTERS_OF_A_SLIP = 4  # Pond I is not Pond II
SAME_POINT_DECIMALS = 5  # of degrees: about a metre, finer than any position by GPS


def twin_sites(
    found: Sequence[tuple[int, Site]], *, known: Sequence[Site] = ()
) -> list[RefusedRow]:
    """Rows, by line number, whose site has the name or the point of another site, or nearly both.

    The name of one may be another name of the other. Of two rows of the table both are refused.
    Two sites that the survey holds already, and that shared it before, are not asked about again.
    """
    refused: dict[int, RefusedRow] = {}
    named = {site.location_id for _, site in found}
    old = {site.location_id: site for site in known}
    all_sites = [(site, f"{site.location_id} of the survey") for site in known]
    all_sites = [one for one in all_sites if one[0].location_id not in named]
    all_sites += [(site, f"{site.location_id} on line {line}") for line, site in found]
    near = _NearNames(all_sites)
    for column, what, keys in _SHARED:
        # By a key, the sites that bear it at all, and those that bear it as their own name.
        bearers: dict[tuple[Hashable, bool], list[tuple[str, str]]] = defaultdict(list)
        for site, where in all_sites:
            for key, own in keys(site).items():
                bearers[key, False].append((site.location_id, where))
                if own:
                    bearers[key, True].append((site.location_id, where))
        had = {one: keys(site) for one, site in old.items()}
        for line, site in found:
            mine, before = site.location_id, had.get(site.location_id, {})
            others = (
                where
                for key, own in keys(site).items()
                for other, where in bearers[key, not own]  # two may share a further name
                if other != mine and not (key in before and key in had.get(other, {}))
            )
            if other := next(others, ""):
                reason = _REASON.format(who=mine, line=line, what=what, other=other)
                refused.setdefault(line, RefusedRow(line=line, column=column, reason=reason))
    for line, site in found:
        other = "" if site.location_id in old or line in refused else near.namesake_of(site)
        if other:
            what = "name, but for a letter,"
            reason = _REASON.format(who=site.location_id, line=line, what=what, other=other)
            refused[line] = RefusedRow(line=line, column="locality", reason=reason)
    return list(refused.values())


def _cell(site: Site, east: int = 0, north: int = 0) -> tuple[int, int]:
    return (
        round(site.decimal_latitude / CELL_DEGREES) + north,
        round(site.decimal_longitude / CELL_DEGREES) + east,
    )


class _NearNames:
    """Sites by cell and by their names with one word whole or without a letter.

    Two words that a slip of one letter parts have such a rest in common, so that a name is compared
    with those alone that may be meant, however many sites lie close by.
    """

    def __init__(self, sites: Iterable[tuple[Site, str]]) -> None:
        self._found: dict[int, list[tuple[str, str, str]]] = {}
        for site, where in sites:
            named: dict[str, tuple[str, str, str]] = {}
            for word, rest in _cut(site):
                one = named.setdefault(word, (word, site.location_id, where))
                same = self._found.setdefault(hash((_cell(site), rest)), [])
                if all(word != other for other, _, _ in same):
                    same.append(one)

    def namesake_of(self, site: Site) -> str:
        """Another close by whose name differs by one letter of a word: Alder Pol, Alder Pool."""
        around = [_cell(site, east, north) for east in (-1, 0, 1) for north in (-1, 0, 1)]
        for mine, rest in _cut(site):
            for cell in around:
                for theirs, other, where in self._found.get(hash((cell, rest)), ()):
                    longer = max(len(mine), len(theirs))
                    if other == site.location_id or longer < LEAST_LETTERS_OF_A_SLIP:
                        continue
                    if DamerauLevenshtein.distance(mine, theirs, score_cutoff=1) == 1:
                        return where
        return ""


def _cut(site: Site) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each word of letters in a name, and the name with that word whole or without a letter."""
    words = _plain(site.locality).split()
    for place, word in enumerate(words):
        if word.isalpha() and len(word) >= LEAST_LETTERS_OF_A_SLIP - 1:
            for rest in {word, *(word[:at] + word[at + 1 :] for at in range(len(word)))}:
                yield word, (*words[:place], f"{rest} ", *words[place + 1 :])


_REASON = (
    "{who} on line {line} has the {what} of {other}. If they are one site, keep one of the two; if "
    "they are two, tell them apart, or say that they are ('triage sites FILE --new')."
)


def _plain(name: str) -> str:
    """The name without case, accents, blanks and signs."""
    return " ".join(re.findall(r"[^\W_]+", plain(name)))


def _names(site: Site) -> dict[Hashable, bool]:
    """Its further names, and whether one is its own; its identifier counts as a further one."""
    called = {_plain(name): False for name in (*site.aliases, site.location_id)}
    if site.locality != site.location_id:
        called[_plain(site.locality)] = True
    return {name: own for name, own in called.items() if name}


def _points(site: Site) -> dict[Hashable, bool]:
    latitude, longitude = site.decimal_latitude, site.decimal_longitude
    return {(round(latitude, SAME_POINT_DECIMALS), round(longitude, SAME_POINT_DECIMALS)): True}


_SHARED: tuple[tuple[str, str, Callable[[Site], dict[Hashable, bool]]], ...] = (
    ("locality", "name", _names),
    ("decimalLatitude", "point", _points),
)
