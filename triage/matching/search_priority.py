"""One place worth a search for exuviae: the record, and what decides that it is worth one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from triage.matching.behaviour import behaviour_of
from triage.sightings import Sighting

PriorityKind = Literal["no known site", "taxon not yet found", "searched too seldom"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrioritySettings:
    """What makes a place worth a search. Weights are choices of this product, without a source.

    ``detection_per_pass`` is the chance that one pass finds a taxon that emerged there: the mean
    of one study of Anisoptera on rivers (DuBois 2015: 0.49 to 0.75). Ponds and damselflies are
    not covered by it; put the survey's own estimate in its place.
    """

    weight_of_adult: float = 1.0
    weight_of_pair: float = 2.0
    weight_of_oviposition: float = 3.0
    weight_of_teneral: float = 5.0
    part_of_known_taxon: float = 0.2  # a taxon already found there adds little
    least_share_of_site: float = 0.1  # a sighting speaks for a site from this share on
    cluster_radius_in_meters: float = 300.0
    widest_uncertainty_in_meters: float = 1000.0
    fewest_observers: int = 2
    grid_of_lone_observer_in_degrees: float = 0.01
    detection_per_pass: float = 0.64
    enough_detection: float = 0.95
    least_score: float = 0.5
    most: int = 50

    def __post_init__(self) -> None:
        if not (0 < self.detection_per_pass < 1 and 0 < self.enough_detection < 1):
            raise ValueError("a detection must lie between 0 and 1")
        if self.cluster_radius_in_meters <= 0 or self.grid_of_lone_observer_in_degrees <= 0:
            raise ValueError("a radius or grid must be positive")

    def weight(self, sighting: Sighting) -> float:
        """How much a sighting speaks for breeding nearby."""
        return {
            "teneral": self.weight_of_teneral,
            "oviposition": self.weight_of_oviposition,
            "pair": self.weight_of_pair,
            "": self.weight_of_adult,
        }[behaviour_of(sighting)]


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchPriority:
    """One place worth a search. ``score`` is the weight of the sightings that speak for it.

    ``location_id`` is empty for a place without a known site. Coordinates are None where they may
    not be told. ``first_day`` and ``last_day`` are month and day (``05-20``), empty where nothing
    is known; they may run over the new year. ``days_by_taxon`` has name, first and last day of the
    weightiest taxa apart. ``detection`` is the chance that the passes of the
    year would have found a taxon that emerged there; ``more_passes`` how many would make it
    enough. ``taxa`` are worth looking for, the weightiest first.
    """

    rank: int
    kind: PriorityKind
    location_id: str
    locality: str
    decimal_latitude: float | None
    decimal_longitude: float | None
    radius_in_meters: float | None
    generalised: bool
    score: float
    sightings: int
    tenerals: int
    pairs: int
    taxa: tuple[str, ...]
    protected_taxa: tuple[str, ...]
    first_day: str
    last_day: str
    days_basis: str
    days_by_taxon: tuple[tuple[str, str, str], ...]
    passes: int
    detection: float
    more_passes: int
    reason: str
    cautions: tuple[str, ...]


def passes_needed(detection_per_pass: float, enough: float) -> int:
    """Fewest passes that together find what is there with a chance of at least ``enough``.

    Passes are taken as independent: 1 - (1 - p)^n.

    Raises
    ------
    ValueError
        An argument does not lie between 0 and 1.

    References
    ----------
    DuBois, R. B. (2015). Detection probabilities and sampling rates for Anisoptera exuviae along
    river banks. International Journal of Odonatology 18 (author and year from memory).

    Examples
    --------
    >>> passes_needed(0.64, 0.95)
    3
    """
    if not (0 < detection_per_pass < 1 and 0 < enough < 1):
        raise ValueError("detection and enough must lie between 0 and 1")
    return max(1, math.ceil(math.log(1 - enough) / math.log(1 - detection_per_pass) - 1e-9))
