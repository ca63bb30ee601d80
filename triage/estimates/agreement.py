"""Measure how far determiners agree beyond chance.

Kappa falls when one name dominates, however much people agree: raw agreement stands beside it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from triage.estimates.interval import Estimate, normal, too_few, wilson

TOO_FEW_SIGHTINGS = "too few sightings in common"


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """How far determiners agree at one rank; units are sightings that two or more named.

    Fleiss' kappa rests on ``fleiss_units`` of them: those that exactly the commonest number of
    determiners named.
    """

    rank: str
    units: int
    raw: Estimate
    fleiss_kappa: float
    fleiss_units: int
    krippendorff_alpha: float
    cohen_kappa: Mapping[tuple[str, str], Estimate]


def cohen_kappa(table: Sequence[Sequence[int]]) -> Estimate:
    """Cohen's kappa of two determiners, from their square table of counts.

    Returns
    -------
    Estimate
        1 is full agreement, 0 as by chance, negative below it; NaN when chance agreement is 1.
        Large-sample 95 % interval (Fleiss, Cohen & Everitt 1969), within -1 to 1; none where all
        agree.

    Raises
    ------
    ValueError
        If the table is not square or empty.

    References
    ----------
    Cohen, J. (1960) A coefficient of agreement for nominal scales. Educ. Psychol. Meas. 20: 37-46.
    doi 10.1177/001316446002000104
    """
    counts = np.asarray(table, dtype=float)
    if counts.ndim != 2 or counts.shape[0] != counts.shape[1] or counts.sum() <= 0:
        raise ValueError("a square table with at least one count is needed")
    chance = float((counts.sum(0) * counts.sum(1)).sum() / counts.sum() ** 2)
    if chance >= 1:
        return Estimate(value=math.nan, variant="Cohen's kappa")
    from statsmodels.stats.inter_rater import cohens_kappa

    found = cohens_kappa(counts)
    kappa, error = float(found.kappa), float(found.std_kappa)
    if not error > 1e-12:
        return too_few(Estimate(value=kappa, variant="Cohen's kappa"), TOO_FEW_SIGHTINGS)
    return normal(kappa, error, variant="Cohen's kappa", least=-1.0, most=1.0)


def fleiss_kappa(table: Sequence[Sequence[int]]) -> float:
    """Fleiss' kappa: rows are units, columns classes, cells how many determiners chose the class.

    Returns
    -------
    float
        NaN when only one class was ever used.

    Raises
    ------
    ValueError
        If rows have different numbers of determiners, or fewer than two.

    References
    ----------
    Fleiss, J. L. (1971) Measuring nominal scale agreement among many raters. Psychol. Bull. 76:
    378-382. doi 10.1037/h0031619
    """
    counts = np.asarray(table, dtype=float)
    raters = counts.sum(1) if counts.ndim == 2 else np.zeros(0)
    if len(raters) == 0 or raters.min() != raters.max() or raters.min() < 2:
        raise ValueError("every unit needs the same number of determiners, at least two")
    if np.count_nonzero(counts.sum(0)) < 2:
        return math.nan
    from statsmodels.stats.inter_rater import fleiss_kappa as of_table

    return float(of_table(counts, method="fleiss"))


def krippendorff_alpha(answers: Sequence[Sequence[float | str | None]]) -> float:
    """Krippendorff's alpha of names: rows are determiners, columns units, None or NaN no answer.

    Returns
    -------
    float
        1 is full agreement, 0 as by chance; NaN when no unit has two answers or all are alike.

    References
    ----------
    Krippendorff, K. (2011) Computing Krippendorff's alpha-reliability. Annenberg School for
    Communication, University of Pennsylvania.
    """
    alike, totals = 0.0, Counter[float | str]()
    for column in zip(*answers, strict=True):
        unit = Counter(a for a in column if a == a and a is not None)
        if unit.total() >= 2:
            totals += unit
            alike += sum(n * (n - 1) for n in unit.values()) / (unit.total() - 1)
    n = totals.total()
    expected = n**2 - sum(count**2 for count in totals.values())
    return float(1 - (n - alike) * (n - 1) / expected) if expected else math.nan


def agreement_at(rank: str, answers: Mapping[str, Mapping[str, str]]) -> Agreement:
    """Agreement of determiners at one rank.

    Parameters
    ----------
    rank : str
        For the label only: names are compared as they are given.
    answers : mapping
        From determiner to a mapping from sighting to name; "cannot be told" is a class of its own.

    Returns
    -------
    Agreement
        Fleiss' kappa over the sightings that exactly the commonest number of determiners named
        (it needs equal numbers); NaN where too little is there.
    """
    units: dict[str, list[str]] = {}
    for mine in answers.values():
        for sighting, name in mine.items():
            units.setdefault(sighting, []).append(name)
    shared = {s: names for s, names in units.items() if len(names) >= 2}
    rows = [[answers[who].get(s) for s in sorted(shared)] for who in sorted(answers)]
    kappa, kappa_units = _fleiss_of(list(shared.values()))
    return Agreement(
        rank=rank,
        units=len(shared),
        raw=raw_agreement(list(shared.values())),
        fleiss_kappa=kappa,
        fleiss_units=kappa_units,
        krippendorff_alpha=krippendorff_alpha(rows) if rows and shared else math.nan,
        cohen_kappa=_cohen_of_pairs(answers),
    )


def raw_agreement(units: Sequence[Sequence[str]]) -> Estimate:
    """Share of the pairs of answers to one unit that are alike.

    Parameters
    ----------
    units : sequence of sequences of str
        The answers to each unit, at least two.

    Returns
    -------
    Estimate
        Wilson interval with the number of pairs that would be as sure if they were independent:
        pairs of one sighting share its difficulty, so each sighting is one draw.

    References
    ----------
    Effective sample size by the variance of a ratio over clusters: Cochran, W. G. (1977) Sampling
    Techniques, chapter 6 (from memory); Wilson 1927
    """
    same = [sum(a == b for a, b in combinations(unit, 2)) for unit in units]
    alike = np.array(same, dtype=float)
    pairs = np.array([len(unit) * (len(unit) - 1) / 2 for unit in units])
    total, count = float(pairs.sum()), len(units)
    if not total:
        return wilson(0, 0)
    share = float(alike.sum()) / total
    variance = float(np.square(alike - share * pairs).sum()) / total**2
    if count > 1:
        variance *= count / (count - 1)
    effective = share * (1 - share) / variance if variance > 0 else float(count)
    return wilson(share * min(effective, total), min(effective, total))


def _fleiss_of(units: list[list[str]]) -> tuple[float, int]:
    if not units:
        return math.nan, 0
    commonest = Counter(len(unit) for unit in units).most_common(1)[0][0]
    kept = [Counter(unit) for unit in units if len(unit) == commonest]
    classes = sorted({name for unit in kept for name in unit})
    return fleiss_kappa([[unit[name] for name in classes] for unit in kept]), len(kept)


def _cohen_of_pairs(
    answers: Mapping[str, Mapping[str, str]],
) -> dict[tuple[str, str], Estimate]:
    found = {}
    for first, second in combinations(sorted(answers), 2):
        both = sorted(answers[first].keys() & answers[second].keys())
        if len(both) < 2:
            continue
        names = sorted({answers[who][s] for who in (first, second) for s in both})
        table = [
            [sum(answers[first][s] == a and answers[second][s] == b for s in both) for b in names]
            for a in names
        ]
        found[(first, second)] = cohen_kappa(table)
    return found
