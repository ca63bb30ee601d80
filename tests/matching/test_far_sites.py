"""The work of matching grows with the sightings, not with all pairs."""

import numpy as np

from triage.exuviae import Site
from triage.matching import MatchingSettings
from triage.matching.places import SitePlaces


def test_far_sites_cost_no_pairs():
    """Ten times the sites over ten times the land leave as many pairs a sighting."""
    random = np.random.default_rng(1)

    def pairs(count: int, side: float) -> int:
        sites = [
            Site(
                location_id=str(number),
                locality="",
                decimal_latitude=float(random.uniform(0, side)),
                decimal_longitude=float(random.uniform(0, side)),
                coordinate_uncertainty_in_meters=30.0,
            )
            for number in range(count)
        ]
        places = SitePlaces(sites, MatchingSettings())
        latitude = random.uniform(side * 0.2, side * 0.8, 2000)
        longitude = random.uniform(side * 0.2, side * 0.8, 2000)
        found = places.pairs_within(latitude, longitude, np.full(2000, 30.0), 5000.0)
        return len(found.sighting)

    assert 0.5 < pairs(2000, 2.0 * 10**0.5) / pairs(200, 2.0) < 2.0
