"""The effect of the stated density of unknown sites, at half and double."""

import pytest
from making import CHECKLIST, sighting, site

from triage.matching import MatchingSettings, match_sightings, sensitivity, shares_with


def rows(density: float = 0.1, north: float = 0.02, **more):
    return list(
        match_sightings(
            [sighting(**more)],
            [site("A", north)],
            [],
            [],
            CHECKLIST,
            settings=MatchingSettings(unknown_sites_per_square_kilometre=density, least_share=1e-9),
        )
    )


@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_scaling_the_rows_is_the_same_as_matching_again(factor):
    again = rows(0.1 * factor)
    assert shares_with(rows(), factor) == pytest.approx([row.share for row in again])


def test_the_summary_counts_sightings_and_changes():
    half, stated, double = sensitivity(rows())
    assert (half.sightings, stated.sightings, double.sightings) == (1, 1, 1)
    assert half.mean_share_of_none < stated.mean_share_of_none < double.mean_share_of_none
    assert stated.mean_share_of_none == pytest.approx(rows()[-1].share)
    assert stated.leading_changed == 0


def test_a_change_of_the_leading_explanation_is_counted():
    found = rows(north=0.005)
    flip = found[0].likelihood / found[-1].likelihood * 1.01
    assert [one.leading_changed for one in sensitivity(found, factors=(1.0, flip))] == [0, 1]
    assert [one.none_leads for one in sensitivity(found, factors=(flip / 1.1, flip))] == [0, 1]


def test_no_matches_and_bad_factors():
    assert sensitivity([])[0].mean_share_of_none == 0.0
    with pytest.raises(ValueError, match="positive"):
        shares_with(rows(), 0.0)
    with pytest.raises(ValueError, match="one sighting"):
        shares_with([*rows(), *rows(identifier="g2")], 1.0)
