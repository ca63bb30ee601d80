"""What a match says: one sighting against one site, or against none of the known sites."""

from __future__ import annotations

from dataclasses import dataclass

from triage.checklist import Agreement


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """One sighting against one site (or ``location_id`` empty: none of the known sites).

    Distances in metres, geodesic: best estimate, least and most over both uncertainties.
    ``days_least`` and ``days_most`` are from a lot's collection to the adult's date (negative
    when the lot was collected after the adult was seen), None without dated exuviae of the
    taxon. ``likelihood`` is the documented product; ``share`` is this row's part among the
    competing explanations of the same sighting (sums to 1 with "none of the known sites").

    Two questions are kept apart. ``season``: could this adult have emerged here this season
    (``this season`` yes, ``outside`` the dated exuviae say no, ``other season`` exuviae of other
    seasons only, ``no exuviae`` of the taxon, ``no date`` of the sighting). ``breeding_evidence``:
    does the site have exuviae of the taxon at all, of any year (``exuviae``, ``not found`` by the
    searches there, ``not searched``), with their number and years. For an undetermined sighting
    both speak of exuviae of any taxon that its suborder allows.
    """

    sighting: str
    location_id: str
    distance: float | None
    distance_least: float | None
    distance_most: float | None
    days_least: int | None
    days_most: int | None
    season: str
    taxon_agreement: Agreement
    agreement_rank: str
    movement_term: float
    season_term: float
    taxon_term: float
    likelihood: float
    share: float
    reason: str
    breeding_evidence: str = ""
    exuviae_count: int = 0
    exuviae_years: tuple[int, ...] = ()
    kernel: str = ""
