"""Tell flight season and emergence of each taxon and year from dated sightings and lots."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from triage.estimates.interval import Estimate
from triage.estimates.season import Season, em50, median_day, season_of, unwrapped
from triage.exuviae import ExuviaeLot
from triage.matching.candidates import name_of_lot, name_of_sighting
from triage.matching.outings import one_day
from triage.report.material import Material

MOST_DAYS_OF_A_LOT = 31  # a lot "of 2025" dates nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonRow:
    """One taxon's season in one year (None: all years): of adults or of exuviae.

    ``days`` and ``counts`` are what it was made from. ``em50`` is for exuviae: the median over
    the sites is not taken; days from the first to half of the survey's exuviae of the year.
    """

    scientific_name: str
    record: str
    year: int | None
    season: Season
    median: Estimate
    em50: Estimate | None
    days: tuple[int, ...]
    counts: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteEmergence:
    """EM50 of one taxon at one site in one year."""

    location_id: str
    scientific_name: str
    year: int
    exuviae: int
    collections: int
    em50: Estimate


def season_rows(material: Material) -> list[SeasonRow]:
    """Seasons by taxon, record and year; over all years where there are several."""
    seed, rounds = material.settings.seed, material.settings.rounds
    grouped: dict[tuple[str, str, int | None], list[tuple[int, int]]] = defaultdict(list)
    for name, record, year, day, count in _dated(material):
        for key in (year, None):
            grouped[(name, record, key)].append((day, count))
    several = len({year for _, _, year in grouped if year is not None}) > 1
    rows = []
    for (name, record, key), found in grouped.items():
        if key is None and not several:
            continue
        days, counts = tuple(d for d, _ in found), tuple(c for _, c in found)
        rows.append(
            SeasonRow(
                scientific_name=name,
                record=record,
                year=key,
                season=season_of(days, counts),
                median=median_day(days, counts, seed=seed, rounds=rounds),
                em50=em50(days, counts, seed=seed, rounds=rounds)
                if record == "exuviae" and key is not None
                else None,
                days=days,
                counts=counts,
            )
        )
    return sorted(rows, key=lambda r: (r.scientific_name, r.record, r.year or 0))


def site_emergence(material: Material) -> list[SiteEmergence]:
    """EM50 of every taxon at every site and year with at least two collections of it."""
    grouped: dict[tuple[str, str, int], list[tuple[int, int]]] = defaultdict(list)
    for lot, name, day in _dated_lots(material):
        key = (lot.location_id, name, day.year)
        grouped[key].append((day.timetuple().tm_yday, lot.individual_count))
    settings = material.settings
    return [
        SiteEmergence(
            location_id=location_id,
            scientific_name=name,
            year=year,
            exuviae=sum(count for _, count in found),
            collections=len({day for day, _ in found}),
            em50=em50(
                [day for day, _ in found],
                [count for _, count in found],
                seed=settings.seed,
                rounds=settings.rounds,
            ),
        )
        for (location_id, name, year), found in sorted(grouped.items())
        if len({day for day, _ in found}) >= 2
    ]


def _dated(material: Material) -> list[tuple[str, str, int, int, int]]:
    """Taxon, record, year in which the season began, day from its new year on, count.

    Both records of a taxon are laid on one line, so that its adults of spring stand after its
    exuviae of the summer before where it winters as an adult.
    """
    found: dict[str, list[tuple[str, date, int]]] = defaultdict(list)
    for sighting in material.content.sightings:
        name, _ = name_of_sighting(material.checklist, sighting)
        day = one_day(sighting.event_date)
        if name and day:
            found[name].append(("adults", date.fromisoformat(day), 1))
    for lot, name, when in _dated_lots(material):
        found[name].append(("exuviae", when, lot.individual_count))
    rows = []
    for name, records in found.items():
        taxon = material.checklist.resolve(name)
        days = unwrapped(
            [when.timetuple().tm_yday for _, when, _ in records],
            season=taxon.season if taxon is not None else None,
        )
        for on_line, (record, when, count) in zip(days, records, strict=True):
            year = when.year - (on_line > when.timetuple().tm_yday)
            rows.append((name, record, year, round(on_line), count))
    return rows


def _dated_lots(material: Material) -> Iterator[tuple[ExuviaeLot, str, date]]:
    """Lots with their taxon and the last day of their collection: by then all had emerged."""
    for lot in material.content.lots:
        if lot.last_day and lot.individual_count:
            last = date.fromisoformat(lot.last_day)
            first = date.fromisoformat(lot.first_day or lot.last_day)
            if (last - first).days <= MOST_DAYS_OF_A_LOT:
                yield lot, name_of_lot(material.checklist, lot)[0], last
