"""Estimate how likely and how plentifully a taxon emerges at each water.

Occupancy as MacKenzie et al. 2002 (Ecology 83: 2248-2255) have it, with the detection per pass
given: a water where skins of the taxon were found has it; one searched n times in its days without
a find has it with psi q / (1 - psi + psi q), q the chance that n passes miss it; one never
searched with psi. Waters keep their taxa over the years of the survey.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from triage.checklist import BELOW_GENUS
from triage.exuviae import Site
from triage.matching.candidates import name_of_lot
from triage.matching.effort import Effort

PRIOR_WATERS = 2.0  # a taxon's psi is shrunk as by so many waters with the survey's mean rate
CLUMPING = np.geomspace(0.1, 20.0, 60)  # shapes of the gamma distribution that are tried
FEWEST_FOR_CLUMPING = 6  # waters with counts; with fewer an exponential distribution is taken


@dataclass(frozen=True, slots=True, kw_only=True)
class Presence:
    """One taxon at every site; arrays run along the sites.

    ``probability`` that it emerges there, ``abundance`` relative to its mean over the waters that
    have it, ``passes`` made in its days, ``found`` where its own skins were. ``anywhere`` is
    psi: the same for a water nobody searched.
    """

    anywhere: float
    probability: NDArray[np.float64]
    abundance: NDArray[np.float64]
    passes: NDArray[np.int64]
    found: NDArray[np.bool_]


class Waters:
    """What every search says of every taxon, worked out once and kept."""

    def __init__(self, sites: Sequence[Site], effort: Effort) -> None:
        self.effort = effort
        self.sites = tuple(sites)
        self.position = {site.location_id: index for index, site in enumerate(sites)}
        self._skins: dict[str, dict[int, int]] = defaultdict(dict)
        self._coarser: dict[tuple[int, tuple[str, ...]], None] = {}
        for lot in effort.lots:
            at = self.position.get(lot.location_id)
            if at is None or not lot.individual_count:
                continue
            may_be = effort.may_be(lot)
            unlisted = effort.candidates.checklist.resolve(lot.scientific_name) is None
            if unlisted or name_of_lot(effort.candidates.checklist, lot)[1] in BELOW_GENUS:
                here = self._skins[may_be[0]]
                here[at] = here.get(at, 0) + lot.individual_count
            elif may_be:
                self._coarser[(at, may_be)] = None
        self._searched: dict[str, Presence] = {}
        self._whole: dict[str, Presence] = {}
        self._mean_rate = self._rate_of_all()
        self.clumping = self._clumping()

    def of(self, taxon: str) -> Presence:
        """One taxon at every site."""
        if taxon not in self._whole:
            self._whole[taxon] = self._with_coarser_skins(taxon)
        return self._whole[taxon]

    def _of_searches(self, taxon: str) -> Presence:
        """From its own skins and the passes in its days alone."""
        if taxon not in self._searched:
            passes = self.effort.passes_by_site([taxon], self.sites)
            skins = self._skins_at(taxon)
            missed = self.effort.detection.missed(passes)
            psi = occupancy(
                missed[passes > 0], skins[passes > 0] > 0, self._mean_rate, PRIOR_WATERS
            )
            present = psi * missed / (1 - psi + psi * missed)
            self._searched[taxon] = Presence(
                anywhere=psi,
                probability=np.where(skins > 0, 1.0, present),
                abundance=abundances(skins, passes, self.clumping),
                passes=passes,
                found=skins > 0,
            )
        return self._searched[taxon]

    def _with_coarser_skins(self, taxon: str) -> Presence:
        """Skins named to a genus or family say that at least one of its taxa is there."""
        of_it = self._of_searches(taxon)
        present = of_it.probability.copy()
        for at, may_be in self._coarser:
            if taxon in may_be and not of_it.found[at]:
                others = [self._of_searches(name).probability[at] for name in may_be]
                any_of_them = 1.0 - float(np.prod(1.0 - np.array(others)))
                present[at] = max(present[at], of_it.probability[at] / max(any_of_them, 1e-12))
        return Presence(
            anywhere=of_it.anywhere,
            probability=np.minimum(present, 1.0),
            abundance=of_it.abundance,
            passes=of_it.passes,
            found=of_it.found,
        )

    def _skins_at(self, taxon: str) -> NDArray[np.int64]:
        counts = np.zeros(len(self.position), dtype=np.int64)
        for at, count in self._skins.get(taxon, {}).items():
            counts[at] = count
        return counts

    def _rate_of_all(self) -> float:
        """Mean psi of the taxa that gave skins anywhere, each from an even prior; 0.5 without."""
        rates = []
        for taxon in sorted(self._skins):
            passes = self.effort.passes_by_site([taxon], self.sites)
            searched = passes > 0
            missed = self.effort.detection.missed(passes[searched])
            rates.append(occupancy(missed, self._skins_at(taxon)[searched] > 0, 0.5, 2.0))
        return float(np.mean(rates)) if rates else 0.5

    def _clumping(self) -> float:
        """Shape of the gamma distribution of skins per pass over waters, all taxa together."""
        from scipy.special import gammaln

        expected, counted = [], []
        for taxon in sorted(self._skins):
            passes = self.effort.passes_by_site([taxon], self.sites)
            skins = self._skins_at(taxon)
            both = (passes > 0) & (skins > 0)
            if both.sum() >= 2:
                expected.append(passes[both] * skins[both].sum() / passes[both].sum())
                counted.append(skins[both])
        mean, count = (np.concatenate(x) if x else np.zeros(0) for x in (expected, counted))
        if len(mean) < FEWEST_FOR_CLUMPING:
            return 1.0
        fits = [
            float(
                (
                    gammaln(count + r) - gammaln(r)
                    + r * np.log(r / (r + mean)) + count * np.log(mean / (r + mean))
                ).sum()
            )
            for r in CLUMPING
        ]  # fmt: skip
        return float(CLUMPING[int(np.argmax(fits))])


def occupancy(
    missed: NDArray[np.float64], found: NDArray[np.bool_], mean: float, waters: float
) -> float:
    """Share of waters that have a taxon, from searches that may have missed it.

    Parameters
    ----------
    missed : float array in [0, 1]
        For each searched water, the chance that its passes miss a taxon that is there.
    found : bool array
    mean, waters : float
        Beta prior: its mean, in (0, 1), and how many waters it is worth.

    Returns
    -------
    float in (0, 1)
        Posterior mode of the marked data's expectation (EM); the prior's mean without waters.

    References
    ----------
    MacKenzie, D. I. et al. (2002) Ecology 83: 2248-2255. doi
    10.1890/0012-9658(2002)083[2248:ESORWD]2.0.CO;2

    Examples
    --------
    >>> round(occupancy(np.zeros(8), np.arange(8) < 4, 0.5, 2.0), 3)
    0.5
    """
    psi = mean
    for _ in range(500):
        present = np.where(found, 1.0, psi * missed / (1 - psi + psi * missed))
        again = (float(present.sum()) + mean * waters) / (len(missed) + waters)
        if abs(again - psi) < 1e-10:
            break
        psi = again
    return psi


def abundances(
    skins: NDArray[np.int64], passes: NDArray[np.int64], clumping: float
) -> NDArray[np.float64]:
    """Emergence at each water relative to the mean over waters that have the taxon.

    Gamma-Poisson: counts are Poisson with a rate per pass that differs between waters by a gamma
    distribution of the shape ``clumping``; the posterior mean is (r + c) / (r + n m), m the mean
    of skins per pass over waters with finds. 1 where nothing was counted per pass.

    References
    ----------
    Greenwood, M. & Yule, G. U. (1920) J. R. Stat. Soc. 83: 255-279 (gamma-Poisson)
    """
    counted = (skins > 0) & (passes > 0)
    if not counted.any():
        return np.ones(len(skins))
    mean = skins[counted].sum() / passes[counted].sum()
    return np.where(counted, (clumping + skins) / (clumping + passes * mean), 1.0)
