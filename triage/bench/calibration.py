"""Measure how often stated shares are right in made-up lands whose every origin is known.

Nothing here uses the code of matching but the kernels' figures. Waters lie at random (a Poisson
process), some known and some not; each is round, and has a taxon or not, plentifully or not; some
known ones are searched, in the taxon's days or outside, and a pass finds what is there with the
published chance. Animals emerge along the shore, move by a kernel and are seen within a circle.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import starmap

import numpy as np
from numpy.typing import NDArray

from triage.bench.running import markdown
from triage.checklist import Checklist, Taxon
from triage.estimates.detection import PUBLISHED_DETECTION
from triage.exuviae import ExuviaeLot, Site, Visit
from triage.matching import Match, MatchingSettings, default_kernels, match_sightings
from triage.sightings import Sighting

BINS = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0)
TAXA = ("una", "duae", "tres", "quattuor", "quinque", "sex")
SEASON = (130, 240)
ANIMALS = 3.0  # in the mean, of each taxon from a water that has it
NAMED_TO_SPECIES = 0.85  # of the lots; the others to the genus of all six taxa
IN_ITS_DAYS, OUTSIDE = "2026-06-10", "2026-11-10"
NORTH, EAST, METRES_A_DEGREE = 53.9, 21.7, 111_300.0  # near the middle; only a flat map is needed


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """How a land differs from what matching is told: factors of the stated figures."""

    name: str
    movement: float = 1.0
    unknown_waters: float = 1.0


SCENARIOS = (
    Truth(name="as stated"),
    Truth(name="stated movement twice too short", movement=2.0),
    Truth(name="stated movement twice too long", movement=0.5),
    Truth(name="five times the stated unknown waters", unknown_waters=5.0),
    Truth(name="a fifth of the stated unknown waters", unknown_waters=0.2),
)

LANDS = {
    "Zygoptera": {"known": 1.0, "unknown": 0.5, "half_side": 12_000.0},
    "Anisoptera": {"known": 0.2, "unknown": 0.1, "half_side": 30_000.0},
}  # waters per square kilometre, and metres: some hundred known waters within reach of each other


@dataclass(frozen=True, slots=True, kw_only=True)
class Bin:
    """Rows with a stated share within some bounds: what they said and what was true.

    ``error`` is the standard error of ``true``, the animals of one water counted as one draw.
    ``low`` and ``high`` are the mean bounds of the stated range.
    """

    scenario: str
    of_none: bool
    rows: int
    stated: float
    true: float
    error: float
    low: float
    high: float

    @property
    def within(self) -> bool:
        """Whether the truth lies in the stated range, but for two errors of the simulation."""
        return self.low - 2 * self.error <= self.true <= self.high + 2 * self.error


def calibrate(
    truth: Truth,
    *,
    kernel: str = "Zygoptera",
    known: float,
    unknown: float,
    half_side: float,
    seed: int = 1,
) -> list[Bin]:
    """Stated shares of one land in bins, against how often they were right.

    Known and unknown waters are per square kilometre, the unknown as stated to matching; sightings
    within half of ``half_side`` metres of the middle count.
    """
    made = _Land(truth, kernel, known, unknown, half_side, seed=seed)
    settings = MatchingSettings(
        unknown_sites_per_square_kilometre=unknown, least_share=1e-3, most_sites=50
    )
    judged = [
        (
            not row.location_id,
            row.share,
            row.share_low,
            row.share_high,
            row.location_id == (str(home) if made.known[home] else ""),
            home,
        )
        for row in made.rows(settings)
        for home in [int(made.origin[int(row.sighting)])]
    ]
    return list(_bins(truth.name, np.array(judged, dtype=np.float64)))


def of_all_scenarios(kernel: str, *, known: float, unknown: float, half_side: float) -> list[Bin]:
    """The bins of every scenario on one kind of land."""
    return [
        one
        for truth in SCENARIOS
        for one in calibrate(
            truth, kernel=kernel, known=known, unknown=unknown, half_side=half_side
        )
    ]


class _Land:
    """Waters with what is known of them, and sightings with the water that each came from."""

    def __init__(
        self,
        truth: Truth,
        kernel: str,
        known: float,
        unknown: float,
        half_side: float,
        *,
        seed: int,
    ) -> None:
        self.random = random = np.random.default_rng(seed)
        unknown *= truth.unknown_waters
        count = random.poisson((known + unknown) * (2 * half_side / 1000) ** 2)
        share = np.linspace(0.1, 0.8, len(TAXA))  # psi of each taxon
        self.waters = random.uniform(-half_side, half_side, (count, 2))  # metres east and north
        self.radius = np.exp(random.uniform(np.log(15), np.log(250), count))
        self.known = random.random(count) < known / (known + unknown)
        self.present = random.random((count, len(TAXA))) < share  # water, taxon
        self.plenty = random.gamma(2.0, 0.5, (count, len(TAXA)))  # the same
        self.origin, self.sightings = self._animals(truth, kernel, half_side)
        self.visits, self.lots = self._searches()
        self.sites = [self._site(number) for number in np.flatnonzero(self.known).tolist()]
        suborder = "Anisoptera" if kernel == "Anisoptera" else "Zygoptera"
        self.checklist = Checklist(
            Taxon(
                scientific_name=f"Lestes {name}", rank="species", suborder=suborder, season=SEASON
            )
            for name in TAXA
        )

    def rows(self, settings: MatchingSettings) -> Iterator[Match]:
        """Everything matched."""
        yield from match_sightings(
            self.sightings, self.sites, self.visits, self.lots, self.checklist, settings=settings
        )

    def _animals(
        self, truth: Truth, kernel: str, half_side: float
    ) -> tuple[NDArray[np.intp], list[Sighting]]:
        """Origin of every sighting near the middle, and what is known of it."""
        random = self.random
        born = random.poisson(ANIMALS * self.present * self.plenty)
        water, taxon = np.repeat(np.indices(born.shape).reshape(2, -1), born.ravel(), axis=1)
        figures = next(one for one in default_kernels() if one.name == kernel)
        moved = random.normal(size=(len(water), 2)) * truth.movement
        moved *= random.choice(figures.scales, size=(len(water), 1), p=figures.shares)
        circle = random.choice([10.0, 50.0, 150.0], size=len(water))
        seen = (
            self.waters[water]
            + self._around(self.radius[water])
            + moved
            + self._around(circle * np.sqrt(random.random(len(water))))
        )
        inner = (np.abs(seen) < half_side / 2).all(axis=1)
        places = zip(seen[inner].tolist(), taxon[inner], circle[inner].tolist(), strict=True)
        return water[inner], [
            Sighting(
                identifier=str(number),
                observer="P1",
                event_date="2026-06-20",
                decimal_latitude=latitude,
                decimal_longitude=longitude,
                coordinate_uncertainty_in_meters=radius,
                scientific_name=f"Lestes {TAXA[name]}",
                taxon_rank="species",
            )
            for number, (place, name, radius) in enumerate(places)
            for latitude, longitude in [_degrees(*place)]
        ]

    def _around(self, radius: NDArray[np.float64]) -> NDArray[np.float64]:
        angle = self.random.uniform(0, 2 * np.pi, len(radius))
        return np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])

    def _searches(self) -> tuple[list[Visit], list[ExuviaeLot]]:
        """No to three visits of one or two passes in the taxa's days, and some outside of them."""
        random, visits, lots = self.random, [], []
        for water in np.flatnonzero(self.known).tolist():
            for number in range(int(random.integers(0, 4))):
                day = IN_ITS_DAYS if random.random() < 0.7 else OUTSIDE
                visit = Visit(
                    event_id=f"{water}-{number}",
                    location_id=str(water),
                    first_day=day,
                    last_day=day,
                    passes=int(random.integers(1, 3)),
                )
                visits.append(visit)
                present = np.flatnonzero(self.present[water]).tolist()
                for taxon in present if day == IN_ITS_DAYS else ():
                    if random.random() >= (1 - PUBLISHED_DETECTION) ** visit.passes:
                        skins = random.poisson(5 * visit.passes * self.plenty[water, taxon])
                        named = random.random() < NAMED_TO_SPECIES
                        lots.append(_lot(visit, taxon, max(1, int(skins)), named=named))
        return visits, lots

    def _site(self, number: int) -> Site:
        """A known water, with its outline if its number is odd."""
        middle, radius = self.waters[number], float(self.radius[number])
        turns = np.linspace(0, 2 * np.pi, 33)
        edge = middle + radius * np.column_stack([np.cos(turns), np.sin(turns)])
        outline = ", ".join(f"{lon:.7f} {lat:.7f}" for lat, lon in starmap(_degrees, edge.tolist()))
        latitude, longitude = _degrees(*middle.tolist())
        return Site(
            location_id=str(number),
            locality=f"Water {number}",
            decimal_latitude=latitude,
            decimal_longitude=longitude,
            coordinate_uncertainty_in_meters=radius,
            footprint_wkt=f"POLYGON (({outline}))" if number % 2 else "",
        )


def _degrees(east: float, north: float) -> tuple[float, float]:
    stretch = METRES_A_DEGREE * math.cos(math.radians(NORTH))
    return NORTH + north / METRES_A_DEGREE, EAST + east / stretch


def _lot(visit: Visit, taxon: int, count: int, *, named: bool) -> ExuviaeLot:
    return ExuviaeLot(
        catalog_number=f"{visit.event_id}-{taxon}",
        event_id=visit.event_id,
        location_id=visit.location_id,
        first_day=visit.first_day,
        last_day=visit.last_day,
        scientific_name=f"Lestes {TAXA[taxon]}" if named else "Lestes",
        taxon_rank="species" if named else "genus",
        individual_count=count,
    )


def _bins(name: str, judged: NDArray[np.float64]) -> Iterator[Bin]:
    for of_none in (False, True):
        of_kind = judged[judged[:, 0] == of_none]
        where = np.digitize(of_kind[:, 1], BINS[1:-1])
        for number in range(len(BINS) - 1):
            rows = of_kind[where == number]
            if not len(rows):
                continue
            stated, low, high, right, home = rows[:, 1:].T
            by_water = np.bincount(home.astype(np.intp), weights=right - right.mean())
            yield Bin(
                scenario=name,
                of_none=of_none,
                rows=len(rows),
                stated=float(stated.mean()),
                true=float(right.mean()),
                error=float(np.sqrt(np.square(by_water).sum())) / len(rows),
                low=float(low.mean()),
                high=float(high.mean()),
            )


def lines(found: list[Bin]) -> list[str]:
    """The bins as a table in Markdown."""
    return markdown(
        ("land", "share of", "rows", "stated", "true", "+-", "range", ""),
        [
            (
                one.scenario,
                "none" if one.of_none else "a site",
                one.rows,
                *(f"{figure:.2f}" for figure in (one.stated, one.true, one.error)),
                f"{one.low:.2f} to {one.high:.2f}",
                "" if one.within else "outside",
            )
            for one in found
        ],
    )
