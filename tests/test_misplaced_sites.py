"""Sites whose coordinates lost a sign, a point or their order; each slip worked out by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from records_made import site

from triage.analysis import geodesy
from triage.exuviae import misplaced
from triage.exuviae.misplaced import misplaced_sites, slip_of_point

MERE = (53.9, 21.7)
AREA = (53.5, 21.0, 54.3, 22.4)  # south, west, north, east


def reasons(*places: tuple[float, float], known=(), **around: object) -> dict[int, str]:
    """By line, from 2 on, why a row is refused."""
    found = [(line, site(f"S{line}", *place)) for line, place in enumerate(places, 2)]
    before = [site(f"K{number}", *place) for number, place in enumerate(known)]
    refused = misplaced_sites(found, known=before, **around)  # type: ignore[arg-type]
    assert all(row.column == "decimalLatitude" for row in refused)
    return {row.line: row.reason for row in refused}


SLIPS = [
    ((21.7, 53.9), "Exchange latitude and longitude."),
    ((53.9, -21.7), "The sign of the longitude seems wrong."),
    ((-53.9, 21.7), "The sign of the latitude seems wrong."),
    ((-53.9, -21.7), "The signs of both seem wrong."),
    ((5.39, 21.7), "The decimal point of the latitude seems wrong."),
    ((0.0539, 21.7), "The decimal point of the latitude seems wrong."),
    ((53.9, 2.17), "The decimal point of the longitude seems wrong."),
    ((53.9, 0.217), "The decimal point of the longitude seems wrong."),
    ((5.39, 2.17), "The decimal points of both seem wrong."),
]


@pytest.mark.parametrize(("place", "what"), SLIPS)
def test_outside_the_area_the_slip_is_told_that_leads_into_it(place, what: str):
    (reason,) = reasons(place, area=AREA).values()
    assert reason == f"The site lies outside the survey's area. {what}"


@pytest.mark.parametrize(("place", "what"), SLIPS)
def test_far_from_every_other_site_the_slip_is_told_that_leads_beside_one(place, what: str):
    found = reasons(MERE, (53.8, 21.6), place)
    assert list(found) == [4]
    assert what in found[4]
    assert "km from the nearest other" in found[4]
    assert "set area in survey.toml" in found[4]


def test_outside_the_area_without_a_slip_it_is_refused_all_the_same():
    assert reasons((48.1, 11.6), area=AREA) == {
        2: "The site lies outside the survey's area. Correct it, or widen area in survey.toml."
    }


def test_inside_the_area_nothing_is_asked_however_far_the_others_are():
    assert reasons(MERE, area=AREA, known=[(-30.0, 150.0)], zone="Australia/Sydney") == {}


def test_the_edges_belong_to_the_area():
    corners = [(53.5, 21.0), (54.3, 22.4), (53.5, 22.4), (54.3, 21.0)]
    assert reasons(*corners, area=AREA) == {}


def test_a_far_site_that_no_slip_explains_is_taken():
    """Vienna is 640 km from the Mere, and no change of one number brings it there."""
    assert reasons(MERE, (48.2, 16.4)) == {}


@pytest.mark.parametrize(("north", "asked"), [(0.89, False), (0.91, True)])
def test_a_hundred_kilometres_are_far(north: float, asked: bool):
    """A degree of latitude is 111.3 km at 53.9 degrees; mirrored at the equator it is no neighbour,
    so the two are told apart by a lost decimal point of the longitude alone."""
    mine = (53.9 + north, 2.17)
    assert bool(reasons(mine, known=[(53.9 + north, 21.7), (53.9, 2.17)])) == asked


def test_a_single_site_is_compared_with_nothing():
    assert reasons((21.7, 53.9)) == {}


def test_of_two_sites_that_fit_only_with_one_changed_both_are_refused():
    assert list(reasons(MERE, (21.7, 53.9))) == [2, 3]


def test_a_site_known_before_is_no_row_and_a_new_version_of_it_replaces_it():
    assert reasons((21.7, 53.9), known=[MERE]).keys() == {2}
    again = site("S2", *MERE)
    found = misplaced_sites([(2, site("S2", 21.7, 53.9))], known=[again])
    assert found == []


def test_a_site_is_measured_to_few_others_however_many_there_are(monkeypatch):
    measured = []
    whole = geodesy.distances

    def counted(here, there, latitudes, longitudes):
        measured.append(len(latitudes))
        return whole(here, there, latitudes, longitudes)

    monkeypatch.setattr(geodesy, "distances", counted)
    rows = [(53.0 + number / 1000, 21.0) for number in range(300)]
    assert reasons(*rows) == {}
    assert sum(measured) <= 4 * len(rows)


@given(
    st.lists(st.tuples(st.floats(-89, 89), st.floats(-179, 179)), min_size=2, max_size=30),
    st.tuples(st.floats(-89, 89), st.floats(-179, 179)),
)
def test_the_nearest_other_is_that_of_all_distances(places, here):
    others = misplaced._Others([site(f"S{number}", *one) for number, one in enumerate(places)])
    apart = geodesy.distances(*here, *zip(*places, strict=True))
    assert others.metres_from(here) == pytest.approx(apart.min(), rel=0.004)  # of an ellipsoid
    others.leave_out = 0
    assert others.metres_from(here) == pytest.approx(apart[1:].min(), rel=0.004)


def test_without_neighbours_the_time_zone_asks():
    (reason,) = reasons((21.7, 53.9), zone="Europe/Warsaw").values()
    assert reason.startswith("The site lies outside the time zone Europe/Warsaw of the survey.")
    assert "Exchange latitude and longitude." in reason
    assert reasons(MERE, zone="Europe/Warsaw") == {}
    assert reasons((48.2, 16.4), zone="Europe/Warsaw") == {}  # Vienna: no slip explains it


@given(st.floats(-89, 89), st.floats(-179, 179))
def test_any_place_stands_beside_itself(latitude: float, longitude: float):
    near = (latitude, longitude)
    assert reasons(near, near, near) == {}


@pytest.mark.parametrize("around", [{"area": AREA}, {"zone": "Europe/Warsaw"}, {"known": "MERE"}])
def test_typed_coordinates_are_doubted_only_where_a_slip_explains_them(around):
    """A photo may be of anywhere; a site is refused outside the survey's area."""
    if "known" in around:
        around = {"known": [site("K", *MERE)]}
    assert "Exchange latitude and longitude." in slip_of_point(21.7, 53.9, **around)
    for meant in (MERE, (48.1, 11.6)):
        assert slip_of_point(*meant, **around) == ""
