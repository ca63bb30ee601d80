"""What searches say: days, passes, detection, occupancy, abundance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import CHECKLIST, lot, site, visit
from scipy.optimize import minimize_scalar

from triage.matching import Effort, Waters
from triage.matching.candidates import Candidates
from triage.matching.presence import abundances, occupancy
from triage.matching.weeks import shore_days

SITES = [site(name) for name in "ABCD"]


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (("Anax imperator", "species"), ("Anax imperator",)),
        (("Anax imperator", "species", "cf."), ("Anax ephippiger", "Anax imperator")),
        (("Anax", "genus"), ("Anax ephippiger", "Anax imperator")),
        (("Coenagrionidae", "family"), ("Coenagrion puella",)),
        (("", "", "", "zygoptera"), ("Coenagrion puella", "Sympecma fusca")),
        (("Felis catus", "species"), ("Felis catus",)),
        (("Aeshna isoceles", "species"), ("Anaciaeschna isoceles",)),
    ],
)
def test_a_name_may_be_the_species_below_it(written, expected):
    assert Candidates(CHECKLIST).of(*written) == expected


def test_without_name_or_suborder_it_may_be_any_species():
    assert len(Candidates(CHECKLIST).of("", "")) == len(CHECKLIST)


@pytest.mark.parametrize(
    ("taxa", "expected"),
    [
        (["Anax imperator"], (136, 274)),  # day 150 less 14; 260 less 28, and 42 days more
        (["Sympecma fusca"], (199, 174)),  # over the new year
        (["Anax imperator", "Aeshna mixta"], (136, 314)),
        (["Anax ephippiger"], None),  # no season in the checklist
        ([], None),
    ],
)
def test_skins_hang_from_before_the_flight_season_until_weeks_after_emergence(taxa, expected):
    assert shore_days(taxa, CHECKLIST, 42) == expected


@pytest.mark.parametrize(
    ("first", "last", "made"),
    [
        ("2026-05-15", "2026-05-15", 0),
        ("2026-05-16", "2026-05-16", 2),
        ("2026-05-10", "2026-05-16", 2),  # it lasted into the days
        ("2026-10-01", "2026-10-01", 2),
        ("2026-10-02", "2026-10-02", 0),
        ("2026-01-01", "2026-12-31", 2),
    ],
)
def test_a_pass_counts_in_the_days_of_its_taxon(first, last, made):
    visits = [replace_days(visit("V1", "A", first, 2), last)]
    effort = Effort(visits, [], CHECKLIST)
    assert effort.passes_at("A", ["Anax imperator"]) == made
    assert effort.passes_at("A", ["Anax imperator"], year=2025) == 0
    assert effort.passes_at("A", ["Anax ephippiger"]) == 2  # its days are not known


def replace_days(made, last):
    from dataclasses import replace

    return replace(made, last_day=last)


def waters(visits, lots=()):
    return Waters(SITES, Effort(visits, lots, CHECKLIST))


def test_presence_follows_bayes_from_psi_and_the_passes():
    visits = [
        visit("V1", "A", "2026-06-10"),
        visit("V2", "B", "2026-06-10", 2),
        visit("V3", "C", "2026-06-10", 2),
    ]
    found = waters(visits, [lot("L1", "V1", "Anax imperator")]).of("Anax imperator")
    psi = found.anywhere
    missed = psi * 0.36**2
    assert found.probability.tolist() == pytest.approx(
        [1.0, missed / (1 - psi + missed), missed / (1 - psi + missed), psi]
    )
    assert found.passes.tolist() == [1, 2, 2, 0]


def test_a_visit_with_skins_named_to_the_genus_is_no_search_without_a_find():
    """Eleven skins of Sympetrum left each of its species at 0.04, as if a pass had missed them."""
    visits = [visit("V1", "A", "2026-06-10", 3), visit("V2", "B", "2026-06-10", 3)]
    found = waters(visits, [lot("L1", "V1", "Anax", "genus")]).of("Anax imperator")
    assert found.passes.tolist() == [0, 3, 0, 0]
    assert found.probability[0] > 0.5 > found.anywhere > found.probability[1]


def test_skins_of_a_family_are_explained_by_the_species_found_there():
    visits = [visit("V1", "A", "2026-08-10")]
    family = lot("L1", "V1", "Aeshnidae", "family")
    open_, explained = (
        waters(visits, lots).of("Anax imperator").probability[0]
        for lots in ([family], [family, lot("L2", "V1", "Aeshna mixta")])
    )
    assert explained < open_


def likelihood(psi, missed, found):
    return np.where(found, psi, psi * missed + 1 - psi)


@given(
    st.lists(st.tuples(st.integers(1, 6), st.booleans()), min_size=1, max_size=12),
    st.floats(0.05, 0.95),
)
def test_occupancy_maximises_the_penalised_likelihood(searches, mean):
    """Independent: scipy's scalar minimiser on MacKenzie's likelihood with a beta prior."""
    missed = 0.36 ** np.array([passes for passes, _ in searches])
    found = np.array([hit for _, hit in searches])
    psi = occupancy(missed, found, mean, 2.0)

    def loss(x):
        prior = 2.0 * mean * np.log(x) + 2.0 * (1 - mean) * np.log(1 - x)
        return -np.log(likelihood(x, missed, found)).sum() - prior

    best = minimize_scalar(
        loss, bounds=(1e-9, 1 - 1e-9), method="bounded", options={"xatol": 1e-10}
    )
    assert loss(psi) <= best.fun + 1e-6


def test_without_any_search_psi_is_the_prior():
    assert occupancy(np.zeros(0), np.zeros(0, dtype=bool), 0.3, 2.0) == pytest.approx(0.3)
    assert waters([]).of("Anax imperator").anywhere == 0.5


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 5)), min_size=1, max_size=10))
def test_abundance_is_one_where_nothing_was_counted_and_rises_with_the_skins(counted):
    skins, passes = (np.array(column) for column in zip(*counted, strict=True))
    found = abundances(skins, passes, 1.0)
    assert (found[(skins == 0) | (passes == 0)] == 1.0).all()
    more = abundances(np.where(skins > 0, skins, 0), passes, 1e9)
    assert more == pytest.approx(np.ones(len(skins)), abs=1e-6)  # no clumping: all alike
