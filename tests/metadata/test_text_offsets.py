"""A place at an offset from a site: its point, and the uncertainty that the words leave."""

import pytest

from triage.analysis.geodesy import destination, distance
from triage.metadata.position import NamedPlace
from triage.metadata.text_places import find_sites

MERE = NamedPlace(
    location_id="S1",
    locality="Heron Mere",
    aliases=(),
    decimal_latitude=53.9,
    decimal_longitude=21.7,
    coordinate_uncertainty_in_meters=100.0,
)


def only(text):
    (claim,), questions, _ = find_sites(text, [MERE])
    assert questions == []
    return claim


@pytest.mark.parametrize(
    ("text", "metres", "heading"),
    [
        ("200 m north of Heron Mere", 200, 0),
        ("about 200 metres N of Heron Mere", 200, 0),
        ("1.5 km south-east of Heron Mere", 1500, 135),
        ("2 km NE of Heron Mere", 2000, 45),
        ("300 m nördlich von Heron Mere", 300, 0),
        ("300 m südwestlich vom Heron Mere", 300, 225),
        ("1,5 km na północ od Heron Mere", 1500, 0),
        ("1 mile west of the Heron Mere", 1609.344, 270),
    ],
)
def test_a_place_off_a_site_lies_there_and_is_not_the_site(text, metres, heading):
    claim = only(text)
    point = (claim.decimal_latitude, claim.decimal_longitude)
    expected = destination(53.9, 21.7, azimuth_degrees=heading, metres=metres)
    assert distance(*expected, *point) == pytest.approx(0, abs=0.1)
    assert claim.location_id == ""
    assert "Heron Mere" in claim.locality


def test_its_uncertainty_follows_from_the_words():
    # 10 km at NE leave 3.90 km across (Chapman & Wieczorek 2020); "10 km" is precise to 0.5 km;
    # the site's own radius is 100 m.
    claim = only("10 km NE of Heron Mere")
    assert claim.coordinate_uncertainty_in_meters == pytest.approx(100 + 3902 + 500, abs=1)


def test_a_distance_without_direction_reaches_all_round():
    claim = only("200 m from Heron Mere")
    assert (claim.decimal_latitude, claim.decimal_longitude) == (53.9, 21.7)
    assert claim.coordinate_uncertainty_in_meters == pytest.approx(305)
    assert claim.location_id == ""


@pytest.mark.parametrize(
    "text", ["at Heron Mere", "the north of Heron Mere", "0 m from Heron Mere",
             "5 males at Heron Mere", "We came from Heron Mere"],
)  # fmt: skip
def test_other_words_leave_the_site_where_it_is(text):
    (claim,), _, _ = find_sites(text, [MERE])
    assert (claim.location_id, claim.coordinate_uncertainty_in_meters) == ("S1", 100.0)
