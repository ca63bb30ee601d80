"""Movement kernels against published distances, Monte Carlo and a second library."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import ncx2

from triage.errors import SettingsError
from triage.matching import (
    MatchingSettings,
    default_kernels,
    read_kernels_and_windows,
)
from triage.matching.movement import (
    _probability_in_disc,
    density,
    kernel_for,
    reach,
)

KERNELS = {kernel.name: kernel for kernel in default_kernels()}
INFERRING = [kernel for kernel in default_kernels() if kernel.infers]


def share_within(kernel, radius):
    """Closed form: the share of a mixture of Rayleigh distributions that lies within a radius."""
    squared = np.square(np.asarray(radius, dtype=np.float64))
    parts = zip(kernel.shares, kernel.scales, strict=True)
    return 1.0 - sum(share * np.exp(-squared / (2 * scale**2)) for share, scale in parts)


def test_coenagrion_mercuriale_moves_as_published():
    """Rouquette & Thompson 2007 (doi 10.1111/j.1365-2664.2007.01284.x), 8,708 marked.

    Median net lifetime movement 31.9 m; 66 % under 50 m; more than 500 m rare; farthest 1.79 km.
    """
    kernel = KERNELS["Coenagrion mercuriale"]
    assert share_within(kernel, 31.9) == pytest.approx(0.50, abs=0.005)
    assert share_within(kernel, 50.0) == pytest.approx(0.66, abs=0.005)
    beyond_500 = 1 - float(share_within(kernel, 500.0))
    assert 0.0005 < beyond_500 < 0.01
    # The farthest of 8,708 is expected where about one of them gets that far; within a factor 5.
    assert 0.2 < 8708 * (1 - float(share_within(kernel, 1790.0))) < 5


def test_teneral_libellula_fulva_stay_near_on_their_first_day():
    """Hardersen 2007: ten tagged tenerals, mean distance on the first day 31.1 and 37.7 m."""
    near = KERNELS["teneral"].scales[0]
    mean_of_cloud = near * math.sqrt(math.pi / 2)  # closed form: mean of the Rayleigh distribution
    assert 31.1 < mean_of_cloud < 37.7


def test_the_suborders_keep_to_the_bands_they_were_chosen_for():
    """Bands of this product, from the review of mark-recapture: 500 m and 2 km; 10 km."""
    assert float(share_within(KERNELS["Zygoptera"], 500.0)) == pytest.approx(0.95, abs=0.01)
    assert float(share_within(KERNELS["Zygoptera"], 2000.0)) > 0.998
    assert float(share_within(KERNELS["Anisoptera"], 5000.0)) == pytest.approx(0.95, abs=0.01)
    assert float(share_within(KERNELS["Anisoptera"], 10000.0)) > 0.997


@pytest.mark.parametrize("kernel", INFERRING, ids=lambda kernel: kernel.name)
def test_a_kernel_holds_all_its_animals(kernel):
    """Closed form: the density over the whole plane is 1, and within r the share within r."""
    ring = lambda r: 2 * math.pi * r * float(density(kernel, r))  # noqa: E731
    breaks = sorted(scale * step for scale in kernel.scales for step in (1, 4))
    whole, _ = quad(ring, 0, 40_000, points=breaks, limit=400)
    half, _ = quad(ring, 0, 300.0, points=[b for b in breaks if b < 300], limit=400)
    assert whole == pytest.approx(1.0, abs=1e-6)
    assert half == pytest.approx(float(share_within(kernel, 300.0)), abs=1e-6)


def _in_disc(random: np.random.Generator, radius: float, count: int) -> np.ndarray:
    away, angle = radius * np.sqrt(random.random(count)), 2 * np.pi * random.random(count)
    return np.column_stack([away * np.cos(angle), away * np.sin(angle)])


def _on_ring(random: np.random.Generator, radius: float, count: int) -> np.ndarray:
    angle = 2 * np.pi * random.random(count)
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


@pytest.mark.parametrize("kernel", INFERRING, ids=lambda kernel: kernel.name)
@pytest.mark.parametrize(
    ("circle", "shore"), [(5, 30), (30, 30), (45, 30), (100, 30), (30, 500), (500, 100)]
)
def test_circle_and_shore_are_integrated_over_as_monte_carlo_does(kernel, circle, shore):
    """To 2 % of the density at 0, as stated: the narrower of the two is taken as a Gaussian."""
    random = np.random.default_rng(7)
    count = 100_000
    between = _in_disc(random, circle, count) - _on_ring(random, shore, count)
    peak = float(density(kernel, 0.0))
    for distance in (0.0, 40.0, 150.0, 600.0, 2500.0):
        drawn = density(kernel, np.hypot(between[:, 0] + distance, between[:, 1])) / peak
        error = 4 * float(drawn.std()) / math.sqrt(count)
        integrated = float(density(kernel, distance, circle, shore)) / peak
        assert integrated == pytest.approx(float(drawn.mean()), abs=0.02 + error)


@pytest.mark.parametrize(("circle", "shore"), [(0, 0), (200, 0), (0, 300), (150, 80)])
def test_whatever_the_shore_all_animals_of_a_water_are_somewhere(circle, shore):
    """Closed form: the density integrates to 1, so no water weighs more by its size."""
    kernel = KERNELS["Zygoptera"]
    ring = lambda r: 2 * math.pi * r * float(density(kernel, r, circle, shore))  # noqa: E731
    whole, _ = quad(ring, 0, 10_000, points=[100, 300, 700, 2000], limit=400)
    assert whole == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize("spread", [0.5, 3.3, 10.0, 100.0])
@pytest.mark.parametrize("radius", [1.0, 10.0, 100.0, 1000.0])
def test_a_gaussian_over_a_disc_agrees_with_the_noncentral_chi_squared(spread, radius):
    """scipy.stats.ncx2: squared distance of a Gaussian point from a centre is of that family."""
    if radius < 0.3 * spread:
        return
    away = np.array([0.3, 0.5, 1.0, 1.2]) * radius
    expected = ncx2.cdf((radius / spread) ** 2, 2, (away / spread) ** 2)
    computed = _probability_in_disc(away, np.full(4, spread), np.full(4, radius))
    assert computed == pytest.approx(expected, abs=1e-8)


@given(st.sampled_from(INFERRING), st.floats(0, 20_000), st.floats(0, 20_000), st.floats(0, 5_000))
def test_density_falls_with_distance_from_a_small_water(kernel, near, far, circle):
    near, far = sorted((near, far))
    close, away = density(kernel, [near, far], circle)
    assert 0 <= away <= close * (1 + 1e-9)
    assert close <= float(density(kernel, 0.0)) * (1 + 1e-9)


def test_beyond_its_reach_no_site_could_earn_the_least_share():
    unknown = 0.1 / 1e6
    for kernel in INFERRING:
        farthest = reach([(kernel, 0.5)], unknown, 0.01, scale=1.0)
        best = 0.5 * float(density(kernel, farthest))
        assert farthest <= kernel.farthest
        assert best / (best + unknown) < 0.011 or farthest == kernel.farthest
        assert reach([(kernel, 0.5)], unknown, 0.01, scale=2.0) >= farthest
    assert reach([], unknown, 0.01, scale=1.0) == 0.0


def test_the_documentation_states_the_shares_that_the_kernels_give():
    page = (Path(__file__).parents[2] / "docs" / "matching.md").read_text("utf-8")
    rows = [[cell.strip() for cell in line.split("|")[1:-1]] for line in page.splitlines()]
    stated = {
        row[0].split(",")[0]: [float(cell) for cell in row[1:5]]
        for row in rows
        if len(row) == 7 and row[0].split(",")[0] in KERNELS and row[1]
    }
    assert set(stated) == {kernel.name for kernel in INFERRING}
    for name, shares in stated.items():
        computed = share_within(KERNELS[name], [50.0, 500.0, 2000.0, 10_000.0])
        assert shares == pytest.approx(computed, abs=0.006)


def test_a_migrant_allows_no_inference():
    migrant = KERNELS["migrant"]
    assert not migrant.infers
    with pytest.raises(ValueError, match="no inference"):
        density(migrant, 10.0)


@pytest.mark.parametrize(
    ("lineage", "suborder", "teneral", "name"),
    [
        ({"order": "Odonata", "suborder": "Zygoptera", "genus": "Lestes"}, "", False, "Zygoptera"),
        (
            {"order": "Odonata", "suborder": "Zygoptera", "species": "Coenagrion mercuriale"},
            "",
            False,
            "Coenagrion mercuriale",
        ),
        (
            {"order": "Odonata", "suborder": "Anisoptera", "species": "Anax ephippiger"},
            "",
            False,
            "migrant",
        ),
        (
            {"order": "Odonata", "suborder": "Anisoptera", "species": "Anax ephippiger"},
            "",
            True,
            "teneral",
        ),
        ({"order": "Odonata"}, "zygoptera", False, "Zygoptera"),
        ({}, "anisoptera", False, "Anisoptera"),
        ({}, "", False, "Odonata"),
    ],
)
def test_the_finest_taxon_with_a_kernel_decides(lineage, suborder, teneral, name):
    found = kernel_for(lineage, suborder, teneral=teneral, kernels=default_kernels())
    assert found.name == name


@pytest.mark.parametrize(
    "wrong",
    [
        {"unknown_sites_per_square_kilometre": 0.0},
        {"movement_scale": math.nan},
        {"detection_per_pass": 1.0},
        {"least_share": 0.9},
        {"most_sites": 0},
        {"kernels": ()},
        {"windows": ()},
    ],
)
def test_settings_out_of_range_are_refused(wrong):
    with pytest.raises(ValueError, match=r"must|out of range"):
        MatchingSettings(**wrong)


def test_a_surveys_own_figures_are_read():
    kernels, windows = read_kernels_and_windows(
        """
        [[kernel]]
        name = "Lestes"
        taxa = ["Lestes"]
        shares = [1.0]
        scales = [400]
        farthest = 3000
        source = "own recaptures"
        [[window]]
        name = "Lestes"
        taxa = ["Lestes"]
        least = 1
        most = 95
        source = "own marks"
        """
    )
    assert kernels[0].scales == (400,)
    assert windows[0].most == 95
    settings = MatchingSettings(
        kernels=(*kernels, *default_kernels()), windows=(*windows, *MatchingSettings().windows)
    )
    lineage = {"order": "Odonata", "suborder": "Zygoptera", "genus": "Lestes"}
    assert kernel_for(lineage, "", teneral=False, kernels=settings.kernels).name == "Lestes"


@pytest.mark.parametrize(
    "content",
    [
        "[[kernel]",
        '[[kernel]]\nname = "x"',
        '[[kernel]]\nname="x"\ntaxa=[]\nshares=[0.5]\nscales=[1]\nfarthest=1\nsource=""',
        '[[kernel]]\nname="x"\ntaxa=[]\nshares=[1]\nscales=[-1]\nfarthest=1\nsource=""',
        '[[kernel]]\nname="x"\ntaxa=[]\nshares=[1]\nscales=["a"]\nfarthest=1\nsource=""',
        '[[window]]\nname="x"\ntaxa=[]\nleast=5\nmost=1\nsource=""',
        "kernel = 3",
    ],
)
def test_figures_that_cannot_be_used_are_refused(content):
    with pytest.raises(SettingsError, match="cannot be used"):
        read_kernels_and_windows(content)
