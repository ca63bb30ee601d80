"""One place worth a search for exuviae: the record, and what decides that it is worth one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from triage.estimates.detection import Detection
from triage.matching.behaviour import behaviour_of
from triage.sightings import Sighting

MOST_PASSES = 30  # nobody walks a shore more often in a season

LEAST_OF = "the least searched of "  # said before several taxa of which one had so few passes
PriorityKind = Literal["no known site", "taxon not yet found", "searched too seldom"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrioritySettings:
    """What makes a place worth a search. Weights are choices of this product, without a source."""

    weight_of_adult: float = 1.0
    weight_of_pair: float = 2.0
    weight_of_oviposition: float = 3.0
    weight_of_teneral: float = 5.0
    part_of_known_taxon: float = 0.2  # a taxon already found there adds little
    least_share_of_site: float = 0.1  # a sighting speaks for a site from this share on
    at_site_in_meters: float = 50.0  # so near a known site a sighting speaks for no other place
    cluster_radius_in_meters: float = 300.0
    widest_uncertainty_in_meters: float = 1000.0
    fewest_observers: int = 2
    grid_of_lone_observer_in_degrees: float = 0.01
    enough_detection: float = 0.95
    least_score: float = 0.5
    most: int = 50

    def __post_init__(self) -> None:
        if not 0 < self.enough_detection < 1:
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
    """One place worth a search. ``score`` is the weight of the outings that speak for it.

    An outing (one observer's day there) counts by its weightiest sighting, however many photos it
    gave. ``location_id`` is empty for a place without a known site. Coordinates are None where
    they may not be told. ``first_day`` and ``last_day`` are month and day (``05-20``), empty where
    nothing is known; they may run over the new year. ``days_by_taxon`` has name, first and last
    day of the weightiest taxa apart. ``passes`` are those of the year in the days of its taxa, of
    the taxon with the fewest; ``detection`` the chance that so many find a taxon that emerged
    there; ``more_passes`` how many would make it enough. ``taxa`` are worth looking for, the
    weightiest first.
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
    outings: int
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


def passes_needed(detection: Detection, enough: float) -> int:
    """Fewest passes that together find what is there with a chance of at least ``enough``.

    At most MOST_PASSES, where detection is poor.

    Raises
    ------
    ValueError
        ``enough`` does not lie between 0 and 1.

    References
    ----------
    DuBois, R. B. (2015). Detection probabilities and sampling rates for Anisoptera exuviae along
    river banks. International Journal of Odonatology 18 (author and year from memory).

    Examples
    --------
    >>> from triage.estimates.detection import chosen_detection
    >>> passes_needed(chosen_detection([], stated=0.64), 0.95)
    3
    """
    if not 0 < enough < 1:
        raise ValueError("enough must lie between 0 and 1")
    missed = detection.missed(np.arange(1, MOST_PASSES + 1))
    met = np.flatnonzero(1 - missed >= enough - 1e-9)
    return int(met[0]) + 1 if len(met) else MOST_PASSES
