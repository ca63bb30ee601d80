"""Simulation with known truth: shares are the frequencies at which their sites are the origin.

Waters lie at random over a plane (a Poisson process), some known and some not; each gives the
same number of animals, which move by the kernel; animals and known waters are recorded with
errors uniform in a circle. Nothing here uses the code of matching but the kernel's figures.
"""

import numpy as np
import pytest
from pyproj import Geod

from triage.checklist import Checklist
from triage.exuviae import Site
from triage.matching import MatchingSettings, default_kernels, match_sightings
from triage.sightings import Sighting

KERNELS = {kernel.name: kernel for kernel in default_kernels()}
LEAST_IN_A_BIN = 60


class Land:
    """A square with waters, and the animals seen in its middle; metres east and north."""

    def __init__(self, *, kernel: str, known: float, unknown: float, half: float, radius: float):
        random = np.random.default_rng(2)
        count = random.poisson((known + unknown) * (2 * half / 1000) ** 2)
        waters = random.uniform(-half, half, (count, 2))
        self.is_known = random.random(count) < known / (known + unknown)
        origin = np.repeat(np.arange(count), 3)
        figures = KERNELS[kernel]
        scale = random.choice(figures.scales, size=len(origin), p=figures.shares)
        moved = waters[origin] + random.normal(size=(len(origin), 2)) * scale[:, None]
        seen = moved + self.in_circle(random, radius, len(origin))
        inner = (np.abs(seen) < half / 2).all(axis=1)
        self.origin, self.seen = origin[inner], seen[inner]
        self.stated = waters + self.in_circle(random, radius, count)

    @staticmethod
    def in_circle(random: np.random.Generator, radius: float, count: int) -> np.ndarray:
        away, angle = radius * np.sqrt(random.random(count)), 2 * np.pi * random.random(count)
        return np.column_stack([away * np.cos(angle), away * np.sin(angle)])


def on_the_globe(places: np.ndarray) -> list[tuple[float, float]]:
    azimuth = np.degrees(np.arctan2(places[:, 0], places[:, 1]))
    middle = np.full(len(places), 21.7), np.full(len(places), 53.9)
    longitude, latitude, _ = Geod(ellps="WGS84").fwd(*middle, azimuth, np.hypot(*places.T))
    return list(zip(latitude.tolist(), longitude.tolist(), strict=True))


def deviation(share: np.ndarray, is_origin: np.ndarray, origin: np.ndarray) -> float:
    """Hits less shares, in standard errors; the animals of one water count as one draw."""
    by_water = np.bincount(origin, weights=is_origin - share)
    return float(by_water.sum() / np.sqrt(np.square(by_water).sum()))


@pytest.mark.parametrize(
    ("kernel", "known", "unknown", "half", "radius"),
    [("Zygoptera", 2.0, 1.0, 20_000.0, 60.0), ("Anisoptera", 0.2, 0.1, 60_000.0, 100.0)],
)
def test_a_share_is_the_frequency_with_which_its_site_is_the_origin(
    kernel, known, unknown, half, radius
):
    land = Land(kernel=kernel, known=known, unknown=unknown, half=half, radius=radius)
    sites = [
        Site(
            location_id=str(number),
            locality="",
            decimal_latitude=latitude,
            decimal_longitude=longitude,
            coordinate_uncertainty_in_meters=radius,
        )
        for number, (latitude, longitude) in enumerate(on_the_globe(land.stated))
        if land.is_known[number]
    ]
    sightings = [
        Sighting(
            identifier=str(number),
            observer="P1",
            event_date="2026-06-20",
            decimal_latitude=latitude,
            decimal_longitude=longitude,
            coordinate_uncertainty_in_meters=radius,
            suborder=kernel.lower(),
        )
        for number, (latitude, longitude) in enumerate(on_the_globe(land.seen))
    ]
    settings = MatchingSettings(
        unknown_sites_per_square_kilometre=unknown, least_share=1e-4, most_sites=1000
    )
    rows: dict[bool, list[tuple[float, bool, int]]] = {True: [], False: []}
    for row in match_sightings(sightings, sites, [], [], Checklist([]), settings=settings):
        origin = int(land.origin[int(row.sighting)])
        truth = str(origin) if land.is_known[origin] else ""
        rows[bool(row.location_id)].append((row.share, truth == row.location_id, origin))
    bins_checked = 0
    for of_kind in rows.values():
        share, is_origin, origin = (np.array(column) for column in zip(*of_kind, strict=True))
        assert abs(deviation(share, is_origin, origin)) < 4
        for low in np.arange(0.0, 1.0, 0.1):
            inside = (share >= low) & (share < low + 0.1)
            if inside.sum() >= LEAST_IN_A_BIN:
                assert abs(deviation(share[inside], is_origin[inside], origin[inside])) < 4
                bins_checked += 1
    assert bins_checked >= 12
