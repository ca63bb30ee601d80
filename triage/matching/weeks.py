"""Find the days worth a search for skins of a taxon.

Emergence comes before flight: adults are usually seen at a water from one to three weeks after
the first have emerged there, and for weeks after the last (Corbet 1999, Dragonflies: Behaviour
and Ecology of Odonata; from memory, not re-read).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from triage.checklist import Checklist
from triage.exuviae import ExuviaeLot

LEAD_DAYS = 14  # emergence before the first adults at the water: the middle of 1 to 3 weeks
OUTLAST_DAYS = 28  # adults after the last emergence: a choice within "weeks"
LONGEST_DAYS = 84  # a longer stretch than twelve weeks tells nobody when to go
ENOUGH_EXUVIAE = (
    40  # at most 40 is unreliable: Hardersen et al. 2017, doi 10.1007/s10841-017-9969-z
)
MARGIN_DAYS = 7  # around the middle 80 % of the survey's own exuviae
YEAR = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchDays:
    """First and last day of year (may run over the new year) worth a search, and why these."""

    first: int
    last: int
    basis: str


def search_days(
    taxa: Iterable[str],
    lots: Iterable[ExuviaeLot],
    checklist: Checklist,
    *,
    seen: Sequence[tuple[date, date]] = (),
) -> SearchDays | None:
    """Days worth a search for exuviae of any of the taxa.

    The survey's own dated exuviae of them decide where there are more than 40; else the flight
    seasons of the checklist; else the days on which adults were seen; else nothing is known.
    """
    names = {taxon.scientific_name for name in taxa if (taxon := checklist.resolve(name))}
    own = sorted(
        (day_of_year(date.fromisoformat(lot.last_day)), lot.individual_count)
        for lot in lots
        if lot.last_day
        and lot.individual_count > 0
        and (taxon := checklist.resolve(lot.scientific_name))
        and taxon.scientific_name in names
    )
    total = sum(count for _, count in own)
    if total > ENOUGH_EXUVIAE:
        return SearchDays(
            first=_wrap(_quantile(own, 0.1 * total) - MARGIN_DAYS),
            last=_wrap(_quantile(own, 0.9 * total) + MARGIN_DAYS),
            basis=f"{total} exuviae of this survey, the middle 80 % and a week on either side",
        )
    seasons = [
        taxon.season
        for name in sorted(names)
        if (taxon := checklist.resolve(name)) and taxon.season
    ]
    if seasons:
        first, last = _earliest_to_latest([_shorten(*_emergence(season)) for season in seasons])
        return SearchDays(
            first=first,
            last=last,
            basis=f"flight season of the checklist, {LEAD_DAYS} days ahead of it",
        )
    if seen:
        earliest = min(day_of_year(first) for first, _ in seen)
        latest = max(day_of_year(last) for _, last in seen)
        first, last = _shorten(earliest - LEAD_DAYS, max(latest - OUTLAST_DAYS, earliest))
        return SearchDays(first=first, last=last, basis="the days on which adults were seen")
    return None


def shore_days(
    taxa: Iterable[str], checklist: Checklist, skins_last_days: int
) -> tuple[int, int] | None:
    """First and last day of the year on which skins of any of the taxa may hang on the shore.

    From the emergence before the flight season of the checklist to as long after its end as skins
    last. By the checklist alone: the survey's own finds would make every search without one look
    out of season. None where a taxon has no season there: then any day may be one.
    """
    spans = []
    for name in taxa:
        taxon = checklist.resolve(name)
        if taxon is None or taxon.season is None:
            return None
        first, last = _emergence(taxon.season)
        spans.append((first, first + (last - first) % YEAR + skins_last_days))
    if not spans:
        return None
    first, last = min(span[0] for span in spans), max(span[1] for span in spans)
    return None if last - first >= YEAR else (_wrap(first), _wrap(last))


def day_and_month(day_of_year: int) -> str:
    """A day of a year of 365 days as ISO month and day.

    Examples
    --------
    >>> day_and_month(135), day_and_month(366)
    ('05-15', '12-31')
    """
    return (date(2025, 1, 1) + timedelta(days=min(day_of_year, YEAR) - 1)).strftime("%m-%d")


def _emergence(season: tuple[int, int]) -> tuple[int, int]:
    """First and last day of emergence; the first may be of the year before, the last after it."""
    first, last = season
    length = (last - first) % YEAR
    return first - LEAD_DAYS, first + max(length - OUTLAST_DAYS, 0)


def _shorten(first: int, last: int) -> tuple[int, int]:
    return _wrap(first), _wrap(min(last, first + LONGEST_DAYS))


def _earliest_to_latest(spans: list[tuple[int, int]]) -> tuple[int, int]:
    first = min(span[0] for span in spans)
    last = max(first + (span[1] - first) % YEAR for span in spans)
    return first, _wrap(last)


def _quantile(counted: list[tuple[int, int]], wanted: float) -> int:
    passed = 0
    for day, count in counted:
        passed += count
        if passed >= wanted:
            return day
    return counted[-1][0]


def day_of_year(day: date) -> int:
    """The day's number, 1 to 365; the last of a leap year counts with the one before.

    >>> day_of_year(date(2024, 12, 31)), day_of_year(date(2026, 1, 1))
    (365, 1)
    """
    return min(day.timetuple().tm_yday, YEAR)


def _wrap(day: int) -> int:
    return (day - 1) % YEAR + 1
