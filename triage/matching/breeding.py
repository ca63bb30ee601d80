"""Say what the exuviae of a site tell about one taxon and one date."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from triage.checklist import BELOW_GENUS, RANKS, Agreement, Checklist
from triage.exuviae import ExuviaeLot
from triage.matching.settings import Window

HALF_A_YEAR = 183  # days; a lot farther from the sighting than this is of another season
SEASONS = ("no exuviae", "other season", "outside", "this season", "no date")


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxonAtSites:
    """What the exuviae of every site say of one taxon; arrays run along the sites.

    The fitting lots of site ``j`` are rows ``start[j]`` to ``start[j + 1]`` of ``first``,
    ``last`` (proleptic days) of its dated lots.
    """

    agreement: tuple[Agreement, ...]
    rank: tuple[str, ...]
    evidence: tuple[str, ...]
    count: tuple[int, ...]
    years: tuple[tuple[int, ...], ...]
    start: NDArray[np.intp]
    first: NDArray[np.int64]
    last: NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonFit:
    """For each pair: the season's code (an index of SEASONS) and days from lot to adult.

    ``days_known`` is False where the site has no dated exuviae that fit.
    """

    code: NDArray[np.intp]
    days_least: NDArray[np.int64]
    days_most: NDArray[np.int64]
    days_known: NDArray[np.bool_]


class SiteExuviae:
    """All lots by site, ready to be asked about one taxon."""

    def __init__(
        self, position: dict[str, int], lots: Iterable[ExuviaeLot], checklist: Checklist
    ) -> None:
        self._checklist = checklist
        self._lots: list[list[ExuviaeLot]] = [[] for _ in position]
        for lot in sorted(lots, key=lambda lot: lot.catalog_number):
            if lot.location_id in position:
                self._lots[position[lot.location_id]].append(lot)

    def of_taxon(
        self, name: str, rank: str, suborder: str, passes: NDArray[np.int64]
    ) -> TaxonAtSites:
        """What every site's exuviae say of a taxon; of a suborder or of all, if undetermined.

        ``passes`` are those made in its days: without one a site was not searched for it.
        """
        seen: dict[tuple[str, str], tuple[Agreement, str]] = {}
        verdicts: list[tuple[Agreement, str, list[ExuviaeLot]]] = []
        for lots in self._lots:
            compared = [(lot, self._compare(name, rank, suborder, lot, seen)) for lot in lots]
            verdicts.append(_best(compared, determined=bool(name)))
        fitting = [lots for _, _, lots in verdicts]
        dated = [
            [_days_of(lot) for lot in lots if lot.first_day and lot.last_day] for lots in fitting
        ]
        days = np.array([day for of_site in dated for day in of_site], dtype=np.int64).reshape(
            -1, 2
        )
        return TaxonAtSites(
            agreement=tuple(agreement for agreement, _, _ in verdicts),
            rank=tuple(at_rank for _, at_rank, _ in verdicts),
            evidence=tuple(
                "exuviae" if lots else "not found" if made else "not searched"
                for lots, made in zip(fitting, passes.tolist(), strict=True)
            ),
            count=tuple(sum(lot.individual_count for lot in lots) for lots in fitting),
            years=tuple(
                tuple(sorted({int(lot.last_day[:4]) for lot in lots if lot.last_day}))
                for lots in fitting
            ),
            start=np.cumsum([0, *(len(of_site) for of_site in dated)]),
            first=days[:, 0],
            last=days[:, 1],
        )

    def _compare(
        self,
        name: str,
        rank: str,
        suborder: str,
        lot: ExuviaeLot,
        seen: dict[tuple[str, str], tuple[Agreement, str]],
    ) -> tuple[Agreement, str]:
        in_doubt = lot.identification_qualifier and lot.taxon_rank in BELOW_GENUS
        key = (lot.scientific_name, "genus" if in_doubt else lot.taxon_rank)
        if key not in seen:
            adult = (name, rank) if name else (suborder or "Odonata", "")
            seen[key] = self._checklist.agreement(*adult, *key)
        return seen[key]


def _days_of(lot: ExuviaeLot) -> tuple[int, int]:
    first, last = date.fromisoformat(lot.first_day), date.fromisoformat(lot.last_day)
    return first.toordinal(), last.toordinal()


def _best(
    compared: list[tuple[ExuviaeLot, tuple[Agreement, str]]], *, determined: bool
) -> tuple[Agreement, str, list[ExuviaeLot]]:
    """The best agreement at a site, its rank, and the lots with exuviae that have it."""
    found = [(lot, verdict) for lot, verdict in compared if lot.individual_count > 0]
    if not determined:
        fitting = [lot for lot, (agreement, _) in found if agreement != "conflicting"]
        return "unknown", "", fitting
    for wanted in ("same", "compatible"):
        ranks = [rank for _, (agreement, rank) in found if agreement == wanted]
        if ranks:
            finest = max(ranks, key=RANKS.index)
            fitting = [lot for lot, verdict in found if verdict == (wanted, finest)]
            return ("same" if wanted == "same" else "compatible"), finest, fitting
    if any(agreement == "unknown" for _, (agreement, _) in found):
        return "unknown", "", []
    ranks = [rank for _, (agreement, rank) in found if agreement == "conflicting"]
    if ranks:
        return "conflicting", max(ranks, key=RANKS.index), []
    return "unknown", "", []


def window_for(lineage: dict[str, str], *, teneral: bool, windows: tuple[Window, ...]) -> Window:
    """Days from emergence to sighting for a taxon: the finest entry that names it."""
    if teneral:
        for window in windows:
            if window.name == "teneral":
                return window
    for name in (*reversed(lineage.values()), "Odonata"):
        for window in windows:
            if name in window.taxa:
                return window
    raise ValueError("the windows have none for Odonata")


def fit_season(
    at_sites: TaxonAtSites,
    site: NDArray[np.intp],
    first_day: NDArray[np.int64],
    last_day: NDArray[np.int64],
    window: Window,
    exuviae_last_days: int,
) -> SeasonFit:
    """Whether adults seen on their days can have emerged where the dated exuviae were collected.

    A skin collected on day ``c`` was left between ``c - exuviae_last_days`` and ``c``; an adult
    seen on day ``t`` emerged between ``t - window.most`` and ``t - window.least``. The two
    intervals meet, or they don't. ``first_day`` is 0 for a sighting without a date.
    """
    per_pair = at_sites.start[site + 1] - at_sites.start[site]
    code = np.zeros(len(site), dtype=np.intp)
    days_least = np.zeros(len(site), dtype=np.int64)
    days_most = np.zeros(len(site), dtype=np.int64)
    undated = first_day == 0
    have_any = np.array([evidence == "exuviae" for evidence in at_sites.evidence], dtype=bool)
    if len(site):
        code[have_any[site]] = SEASONS.index("other season")
    rows = np.flatnonzero((per_pair > 0) & ~undated)
    if len(rows):
        repeat = per_pair[rows]
        pair = np.repeat(np.arange(len(rows)), repeat)
        offset = np.arange(len(pair)) - np.repeat(np.cumsum(repeat) - repeat, repeat)
        lot = at_sites.start[site[rows]][pair] + offset
        collected_first, collected_last = at_sites.first[lot], at_sites.last[lot]
        seen_first, seen_last = first_day[rows][pair], last_day[rows][pair]
        # The emergence that lot and adult have in common, if any.
        begin = np.maximum(collected_first - exuviae_last_days, seen_first - window.most)
        end = np.minimum(collected_last, seen_last - window.least)
        feasible = begin <= end
        gap = np.abs(seen_first + seen_last - collected_first - collected_last)
        other_season = np.zeros(len(rows), dtype=bool)
        np.logical_or.at(other_season, pair, gap > 2 * HALF_A_YEAR)
        quality = gap + np.where(feasible, 0, 10**7)
        order = np.lexsort((lot, quality, pair))
        best = order[np.r_[True, np.diff(pair[order]) != 0]]
        code[rows[feasible[best]]] = SEASONS.index("this season")
        # Exuviae of another season still show that the water is used, whatever this one says.
        outside = ~feasible[best] & ~other_season
        code[rows[outside]] = SEASONS.index("outside")
        days_least[rows] = (seen_first - collected_last)[best]
        days_most[rows] = (seen_last - collected_first)[best]
    code[undated] = SEASONS.index("no date")
    return SeasonFit(
        code=code,
        days_least=days_least,
        days_most=days_most,
        days_known=(per_pair > 0) & ~undated,
    )
