"""Resolve, suggest and compare the names of a checklist, and set them in their season."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from rapidfuzz import fuzz, process, utils

from triage.checklist.names import ORDER, SUBORDERS, suborder_of_family
from triage.checklist.taxa import BELOW_GENUS, RANKS, Agreement, Taxon
from triage.checklist.typed import fits, plain, spellings
from triage.standards.tables import parse_event_days

SUGGESTION_SIMILARITY = 70.0  # of 100, rapidfuzz partial ratio; chosen by eye on European names
_DEPTH = {rank: depth for depth, rank in enumerate(RANKS)}


class Checklist:
    """The accepted taxa with what they imply: the genera and families of listed species."""

    def __init__(self, taxa: Iterable[Taxon]) -> None:
        self.taxa: tuple[Taxon, ...] = tuple(taxa)
        self._by_name: dict[str, Taxon] = {}
        self._by_vernacular: dict[str, list[Taxon]] = {}
        self._lineages: dict[str, dict[str, str]] = {}
        self._resolved: dict[str, Taxon | None] = {}
        self._species: dict[str, Taxon] = {}
        for taxon in self.taxa:
            self._by_name.setdefault(taxon.scientific_name.casefold(), taxon)
        for taxon in self._implied():
            self._by_name.setdefault(taxon.scientific_name.casefold(), taxon)
        for taxon in self.taxa:
            for synonym in taxon.synonyms:
                self._by_name.setdefault(synonym.casefold(), taxon)
            for name in taxon.vernacular_name.split("|"):
                for key in spellings(name) if name.strip() else ():
                    self._by_vernacular.setdefault(key, []).append(taxon)
        self._species = {
            name: taxon for name, taxon in self._by_name.items() if len(name.split()) == 2
        }

    def __len__(self) -> int:
        return len(self.taxa)

    def names(self) -> tuple[Taxon, ...]:
        """Every accepted name once: the listed taxa, and the genera and families they imply."""
        return tuple({taxon.scientific_name: taxon for taxon in self._by_name.values()}.values())

    def resolve(self, name: str) -> Taxon | None:
        """The taxon whose accepted name, synonym or only vernacular name this is, else None.

        Case and spaces do not matter. Names as people write them are read by ``read_name``.
        """
        if name not in self._resolved:
            plain = " ".join(name.split()).casefold()
            bearers = self.with_vernacular(plain)
            found = self.named(plain) or (bearers[0] if len(bearers) == 1 else None)
            self._resolved[name] = found
        return self._resolved[name]

    def named(self, plain: str) -> Taxon | None:
        """The taxon of an accepted name or synonym in small letters, at any rank."""
        return self._by_name.get(plain)

    def species_names(self) -> Mapping[str, Taxon]:
        """Accepted names and synonyms of two words, in small letters, with their taxa."""
        return self._species

    def with_vernacular(self, plain: str) -> list[Taxon]:
        """All taxa that bear this vernacular name, given in small letters."""
        return list(self._by_vernacular.get(plain, ()))

    def shared(self, taxa: Sequence[Taxon]) -> Taxon | None:
        """The finest taxon that holds them all; None if the checklist does not relate them."""
        lineages = [self.lineage(taxon.scientific_name) for taxon in taxa]
        for rank in reversed(RANKS):
            names = {lineage.get(rank, "") for lineage in lineages}
            if len(names) == 1 and (name := names.pop()):
                return self.named(name.casefold())
        return None

    def without_doubt(self, name: str, rank: str, qualifier: str = "") -> tuple[str, str]:
        """Accepted name and rank that are certain: in doubt, those of the taxon above.

        A species in doubt (``cf.``) counts for its genus, a genus in doubt for what stands above
        it. A name that is not listed stays as it is, but for a species in doubt.
        """
        taxon = self.resolve(name)
        if taxon is not None:
            name, rank = taxon.scientific_name, taxon.rank
        if not qualifier:
            return name, rank
        if rank in BELOW_GENUS:
            return name.split()[0], "genus"
        above = [pair for pair in self.lineage(name).items() if pair[0] != rank]
        return (above[-1][1], above[-1][0]) if above else (name, rank)

    def suggest(self, typed: str, *, limit: int = 8) -> list[Taxon]:
        """Taxa that the typed letters may mean, the likeliest first.

        Beginnings of words come first (``imp`` and ``an imp``), then the letters of genus and
        species run together (``anim``), then names that are spelt alike.
        """
        wanted = plain(typed).split()
        if not wanted:
            return []
        ranked: dict[str, tuple[float, str, Taxon]] = {}
        for label, taxon in self._labels():
            merit = _merit(wanted, label)
            known = ranked.get(taxon.scientific_name)
            if merit is not None and (known is None or merit < known[0]):
                ranked[taxon.scientific_name] = (merit, taxon.scientific_name, taxon)
        found = [taxon for _, _, taxon in sorted(ranked.values(), key=lambda entry: entry[:2])]
        return (found + self._spelt_alike(typed, found, limit - len(found)))[:limit]

    def lineage(self, name: str) -> dict[str, str]:
        """Rank and name of the taxon and all above it, from the order down; empty if unknown."""
        taxon = self.resolve(name)
        if taxon is None:
            return {}
        known = self._lineages.get(taxon.scientific_name)
        if known is None:
            known = self._lineages[taxon.scientific_name] = self._lineage_of(taxon)
        return dict(known)

    def agreement(
        self, name_a: str, rank_a: str, name_b: str, rank_b: str
    ) -> tuple[Agreement, str]:
        """Compare two names at the coarser of their two ranks.

        Returns
        -------
        tuple of Agreement and str
            ``same`` with the rank of both; ``compatible`` with the coarser rank, where one name
            lies within the other; ``conflicting`` with the coarsest rank at which they differ;
            ``unknown`` with an empty rank where a name is empty or not listed, or where the
            checklist does not say how the two are related.
        """
        lineage_a = _down_to(self.lineage(name_a), rank_a)
        lineage_b = _down_to(self.lineage(name_b), rank_b)
        if not lineage_a or not lineage_b:
            written = " ".join(name_a.split()).casefold()
            same = written and written == " ".join(name_b.split()).casefold() and rank_a == rank_b
            return ("same", rank_a) if same else ("unknown", "")
        finest_a, finest_b = next(reversed(lineage_a)), next(reversed(lineage_b))
        coarser = min(finest_a, finest_b, key=_DEPTH.__getitem__)
        for rank in RANKS[: _DEPTH[coarser] + 1]:
            if rank in lineage_a and rank in lineage_b and lineage_a[rank] != lineage_b[rank]:
                return "conflicting", rank
        if coarser not in lineage_a or coarser not in lineage_b:
            return "unknown", ""
        return ("same" if finest_a == finest_b else "compatible"), coarser

    def in_season(self, taxon: Taxon, event_date: str) -> bool | None:
        """Whether any day of the event lies in the adults' season; None if that is not known."""
        if taxon.season is None or not event_date:
            return None
        try:
            first, last = parse_event_days(event_date)
        except ValueError:
            return None
        if (last - first).days >= 366:
            return True
        return any(
            _day_in_season(first + timedelta(days=offset), taxon.season)
            for offset in range((last - first).days + 1)
        )

    def _implied(self) -> list[Taxon]:
        implied: dict[str, Taxon] = {}
        for taxon in self.taxa:
            suborder = taxon.suborder or suborder_of_family(taxon.family)
            above = replace(
                Taxon(scientific_name=ORDER, rank="order"), family=taxon.family, suborder=suborder
            )
            if taxon.rank in BELOW_GENUS:
                genus = taxon.scientific_name.split()[0]
                implied.setdefault(
                    genus, replace(above, scientific_name=genus, rank="genus", parent=taxon.family)
                )
            if taxon.rank == "subspecies":
                species = " ".join(taxon.scientific_name.split()[:2])
                implied.setdefault(
                    species, replace(above, scientific_name=species, rank="species", parent=genus)
                )
            if taxon.family:
                implied.setdefault(
                    taxon.family,
                    replace(above, scientific_name=taxon.family, rank="family", parent=suborder),
                )
        for suborder in SUBORDERS:
            implied.setdefault(
                suborder,
                Taxon(scientific_name=suborder, rank="suborder", suborder=suborder, parent=ORDER),
            )
        implied.setdefault(ORDER, Taxon(scientific_name=ORDER, rank="order"))
        return list(implied.values())

    def _lineage_of(self, taxon: Taxon) -> dict[str, str]:
        found = {taxon.rank: taxon.scientific_name}
        words = taxon.scientific_name.split()
        if taxon.rank in BELOW_GENUS:
            found.setdefault("genus", words[0])
        if taxon.rank == "subspecies":
            found.setdefault("species", " ".join(words[:2]))
        above: Taxon | None = taxon
        seen: set[str] = set()
        while above is not None and above.scientific_name not in seen:  # a table can hold a ring
            seen.add(above.scientific_name)
            if _DEPTH[above.rank] <= _DEPTH[taxon.rank]:
                found.setdefault(above.rank, above.scientific_name)
            if above.family and _DEPTH[taxon.rank] >= _DEPTH["family"]:
                found.setdefault("family", above.family)
            suborder = above.suborder or suborder_of_family(above.family)
            if suborder and _DEPTH[taxon.rank] >= _DEPTH["suborder"]:
                found.setdefault("suborder", suborder)
            parent = above.parent or ("" if len(words) < 2 else words[0])
            above = self._by_name.get(parent.casefold()) if parent else None
        found.setdefault("order", ORDER)
        return {rank: found[rank] for rank in RANKS if rank in found}

    def _labels(self) -> Iterable[tuple[str, Taxon]]:
        for taxon in self._by_name.values():
            yield taxon.scientific_name, taxon
            for name in (*taxon.synonyms, *taxon.vernacular_name.split("|")):
                if name.strip():
                    yield name.strip(), taxon

    def _spelt_alike(self, typed: str, found: list[Taxon], limit: int) -> list[Taxon]:
        if limit <= 0:
            return []
        labels = [(label, taxon) for label, taxon in self._labels() if taxon not in found]
        near = process.extract(
            typed,
            [label for label, _ in labels],
            scorer=fuzz.ratio,
            processor=utils.default_process,
            score_cutoff=SUGGESTION_SIMILARITY,
            limit=None,
        )
        ordered = sorted(near, key=lambda entry: (-entry[1], entry[0]))
        alike = dict.fromkeys(labels[index][1] for _, _, index in ordered)
        return list(alike)[:limit]


def _merit(wanted: list[str], label: str) -> float | None:
    """How well typed letters begin the words of a label: less is better, None is not at all."""
    words = plain(label).split()
    if not fits(wanted, words):
        return None
    begun = [word.startswith(wanted[0]) for word in words]
    position = min(begun.index(True), 1) if any(begun) else 2
    return (position if len(wanted) == 1 else 0) + len(label) / 1000


def _down_to(lineage: dict[str, str], rank: str) -> dict[str, str]:
    """The lineage cut off below the stated rank, where that rank is one and is coarser."""
    depth = _DEPTH.get(rank.strip().casefold())
    if depth is None:
        return lineage
    return {above: name for above, name in lineage.items() if _DEPTH[above] <= depth}


def _day_in_season(day: date, season: tuple[int, int]) -> bool:
    first, last = season
    number = day.timetuple().tm_yday
    return first <= number <= last if first <= last else number >= first or number <= last
