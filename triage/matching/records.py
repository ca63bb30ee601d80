"""What a match says: one sighting against one site, or against none of the known sites."""

from __future__ import annotations

from dataclasses import dataclass

from triage.checklist import Agreement


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """One sighting against one site (or ``location_id`` empty: none of the known sites).

    Distances in metres, geodesic: best estimate, least and most over both uncertainties.
    ``days_least`` and ``days_most`` are from a lot's collection to the adult's date (negative
    when the lot was collected after the adult was seen), None without dated exuviae of the taxon.

    ``likelihood`` is ``presence`` (the chance that the taxon emerges there) times ``abundance``
    (relative to its mean over waters that have it) times ``movement_density`` (animals per square
    kilometre at the sighting for each that emerged there; for none of them: waters per square
    kilometre). ``likelihood_near`` and ``likelihood_far`` are those with kernels of half and twice
    the scale. ``share`` is this row's part among the explanations of the sighting and sums to 1
    over them; ``share_low`` and ``share_high`` hold it over those scales and a fifth to five times
    the density of unknown waters.

    ``season`` says whether this adult can have emerged here this season by the dates of the skins
    (``this season`` yes, ``outside`` no, ``other season`` exuviae of other seasons only, ``no
    exuviae`` of the taxon, ``no date`` of the sighting). ``breeding_evidence`` says whether the
    site has exuviae of the taxon at all, of any year (``exuviae``; ``not found`` in ``passes`` in
    its days; ``not searched`` in its days), with their number and years. For an undetermined
    sighting they speak of exuviae of any taxon that its suborder allows.
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
    movement_density: float
    presence: float
    abundance: float
    likelihood: float
    likelihood_near: float
    likelihood_far: float
    share: float
    share_low: float
    share_high: float
    reason: str
    passes: int = 0
    breeding_evidence: str = ""
    exuviae_count: int = 0
    exuviae_years: tuple[int, ...] = ()
    kernel: str = ""
