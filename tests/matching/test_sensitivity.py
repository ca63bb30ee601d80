"""The effect of the stated density of unknown waters and of the stated scale of movement."""

import pytest
from making import CHECKLIST, sighting, site

from triage.matching import MatchingSettings, match_sightings, sensitivity, shares_with
from triage.matching.sensitivity import SCENARIOS


def rows(density: float = 0.1, north: float = 0.02, scale: float = 1.0, **more):
    settings = MatchingSettings(
        unknown_sites_per_square_kilometre=density, movement_scale=scale, least_share=1e-9
    )
    return list(
        match_sightings(
            [sighting(**more)], [site("A", north)], [], [], CHECKLIST, settings=settings
        )
    )


@pytest.mark.parametrize("factor", [0.2, 0.5, 2.0, 5.0])
@pytest.mark.parametrize("scale", [0.5, 1.0, 2.0])
def test_scaling_the_rows_is_the_same_as_matching_again(factor, scale):
    again = rows(0.1 * factor, scale=scale)
    assert shares_with(rows(), factor, scale) == pytest.approx([row.share for row in again])


@pytest.mark.parametrize("north", [0.0, 0.005, 0.02])
def test_the_range_beside_a_share_is_the_least_and_most_over_all_settings(north):
    found = rows(north=north)
    every = [shares_with(found, f, s) for f in (0.2, 1.0, 5.0) for s in (0.5, 1.0, 2.0)]
    for index, row in enumerate(found):
        own = [shares[index] for shares in every]
        assert (row.share_low, row.share_high) == pytest.approx((min(own), max(own)))
        assert row.share_low <= row.share <= row.share_high


def test_the_summary_counts_sightings_and_changes():
    found = sensitivity(rows())
    assert [(one.unknown, one.scale) for one in found] == list(SCENARIOS)
    stated, fewer, more, near, far = found
    assert {one.sightings for one in found} == {1}
    assert fewer.mean_share_of_none < stated.mean_share_of_none < more.mean_share_of_none
    assert far.mean_share_of_none < near.mean_share_of_none
    assert stated.mean_share_of_none == pytest.approx(rows()[-1].share)
    assert stated.leading_changed == 0


def test_a_change_of_the_leading_explanation_is_counted():
    found = rows(north=0.005)
    flip = found[0].likelihood / found[-1].likelihood * 1.01
    scenarios = [(1.0, 1.0), (flip / 1.1, 1.0), (flip, 1.0)]
    effects = sensitivity(found, scenarios=scenarios)
    assert [one.leading_changed for one in effects] == [0, 0, 1]
    assert [one.none_leads for one in effects] == [0, 0, 1]


def test_a_sighting_with_rows_left_out_is_not_counted():
    """What a release hides must not be shared out over the rest."""
    whole = rows()
    assert sensitivity(whole)[0].sightings == 1
    assert sensitivity(whole[1:])[0].sightings == 0


def test_no_matches_and_bad_factors():
    assert sensitivity([])[0].mean_share_of_none == 0.0
    with pytest.raises(ValueError, match="positive"):
        shares_with(rows(), 0.0)
    with pytest.raises(ValueError, match="half, once and twice"):
        shares_with(rows(), 1.0, 3.0)
    with pytest.raises(ValueError, match="one sighting"):
        shares_with([*rows(), *rows(identifier="g2")], 1.0)
