"""Count the passes made at each site while skins of a taxon could be found.

One owner of what a search is worth: matches, priorities and absences all ask here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from triage.checklist import BELOW_GENUS, Checklist
from triage.estimates.detection import PUBLISHED_DETECTION, Case, Detection, chosen_detection
from triage.exuviae import ExuviaeLot, Site, Visit, complete_lots
from triage.matching.candidates import Candidates, name_of_lot
from triage.matching.settings import SKINS_LAST_DAYS
from triage.matching.weeks import YEAR, day_of_year, shore_days


class Effort:
    """All visits, ready to be asked how many passes could have found a taxon, and where."""

    def __init__(
        self,
        visits: Iterable[Visit],
        lots: Iterable[ExuviaeLot],
        checklist: Checklist,
        *,
        stated_detection: float = PUBLISHED_DETECTION,
        skins_last_days: int = SKINS_LAST_DAYS,
    ) -> None:
        self.visits = tuple(sorted(visits, key=lambda visit: visit.event_id))
        self.lots = complete_lots(lots, self.visits)
        self.candidates = Candidates(checklist)
        self.passes = np.array([visit.passes for visit in self.visits], dtype=np.int64)
        self.year = np.array([int(visit.last_day[:4]) for visit in self.visits], dtype=np.int64)
        self.location = np.array([visit.location_id for visit in self.visits], dtype=object)
        self._skins_last_days = skins_last_days
        days = [(_ordinal(v.first_day), _ordinal(v.last_day)) for v in self.visits]
        self._day = np.array(
            [day_of_year(date.fromisoformat(v.first_day)) for v in self.visits], dtype=np.int64
        )
        self._length = np.array([last - first for first, last in days], dtype=np.int64)
        self._at: dict[tuple[str, ...], NDArray[np.intp]] = {}
        self._timely: dict[tuple[int, int] | None, NDArray[np.bool_]] = {}
        self._events = {visit.event_id: index for index, visit in enumerate(self.visits)}
        self._unnamed: dict[str, list[int]] = defaultdict(list)
        for lot in self.lots:
            may_be = self.may_be(lot)
            if len(may_be) > 1 and lot.individual_count and lot.event_id in self._events:
                for taxon in may_be:
                    self._unnamed[taxon].append(self._events[lot.event_id])
        self.detection: Detection = chosen_detection(self._cases(), stated=stated_detection)

    def may_be(self, lot: ExuviaeLot) -> tuple[str, ...]:
        """The species that the skins of a lot may be."""
        return self.candidates.of(lot.scientific_name, lot.taxon_rank, lot.identification_qualifier)

    def timely(self, taxa: Sequence[str]) -> NDArray[np.bool_]:
        """For each visit, whether it could have told of any of the taxa.

        It fell into their days; and of a single taxon, it gave no skins that were named only to a
        genus or family of it: such a visit says nothing of it either way.
        """
        window = shore_days(taxa, self.candidates.checklist, self._skins_last_days)
        if window not in self._timely:
            inside = np.ones(len(self.visits), dtype=bool)
            if window is not None:
                first, last = window
                # It begins within the window, or the window begins while it lasts.
                inside = (self._day - first) % YEAR <= (last - first) % YEAR
                inside |= (first - self._day) % YEAR <= self._length
            self._timely[window] = inside
        found = self._timely[window].copy()
        if len(taxa) == 1:
            found[self._unnamed.get(taxa[0], [])] = False
        return found

    def passes_at(self, location_id: str, taxa: Sequence[str], *, year: int | None = None) -> int:
        """Passes at a site in the days of any of the taxa, in one year or in all."""
        chosen = self.timely(taxa) & (self.location == location_id)
        if year is not None:
            chosen = chosen & (self.year == year)
        return int(self.passes[chosen].sum())

    def lots_without_visit(self, location_id: str, *, year: int) -> int:
        """Lots of a site and year that name no visit of the list, and so count as no pass."""
        return sum(
            lot.location_id == location_id
            and lot.last_day.startswith(f"{year}-")
            and lot.event_id not in self._events
            for lot in self.lots
        )

    def passes_by_site(self, taxa: Sequence[str], sites: Sequence[Site]) -> NDArray[np.int64]:
        """Passes of all years in the days of any of the taxa, along the sites."""
        key = tuple(site.location_id for site in sites)
        if key not in self._at:
            position = {location_id: index for index, location_id in enumerate(key)}
            self._at[key] = np.array(
                [position.get(visit.location_id, len(key)) for visit in self.visits], dtype=np.intp
            )
        timely = self.timely(taxa)
        at, made = self._at[key][timely], self.passes[timely]
        return np.bincount(at, weights=made, minlength=len(key) + 1)[: len(key)].astype(np.int64)

    def _cases(self) -> list[Case]:
        """For each taxon, site and year with a find: the timely visits, and which found it."""
        checklist = self.candidates.checklist
        found: dict[tuple[str, str, int], set[int]] = defaultdict(set)
        for lot in self.lots:
            index = self._events.get(lot.event_id)
            if index is None or not lot.individual_count:
                continue
            name, rank = name_of_lot(checklist, lot)
            if rank in BELOW_GENUS:
                visit = self.visits[index]
                found[(name, visit.location_id, int(self.year[index]))].add(index)
        by_place: dict[tuple[str, int], list[int]] = defaultdict(list)
        for index, visit in enumerate(self.visits):
            by_place[(visit.location_id, int(self.year[index]))].append(index)
        cases: list[Case] = []
        for (name, location_id, year), with_it in sorted(found.items()):
            timely = self.timely([name])
            here = [i for i in by_place[(location_id, year)] if timely[i] or i in with_it]
            cases.append([(int(self.passes[i]), i in with_it) for i in here])
        return cases


def _ordinal(day: str) -> int:
    return date.fromisoformat(day).toordinal()
