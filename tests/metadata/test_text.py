"""One author's text as a whole: what it claims, and what it leaves to ask."""

from datetime import datetime, timedelta, timezone

from hypothesis import given
from hypothesis import strategies as st

from triage.metadata.position import NamedPlace
from triage.metadata.text import TextEvidence, read_text

SENT = datetime(2026, 6, 16, 20, 0, tzinfo=timezone(timedelta(hours=2)))


def site(location_id, locality, latitude):
    return NamedPlace(
        location_id=location_id,
        locality=locality,
        aliases=(),
        decimal_latitude=latitude,
        decimal_longitude=21.7,
        coordinate_uncertainty_in_meters=100.0,
    )


SITES = [site("S1", "Heron Mere", 53.90), site("S2", "Alder Pool", 53.95)]


def read(text) -> TextEvidence:
    return read_text(text, sent_at=SENT, places=SITES, zone="Europe/Warsaw")


def test_a_note_gives_day_time_and_site():
    found = read("Hello, I saw this one yesterday around 3 pm at Alder Pool, 2 males. Thanks, Ada")
    assert [claim.event_date for claim in found.times] == ["2026-06-15T15:00"]
    assert [claim.location_id for claim in found.places] == ["S2"]
    assert found.questions == ()


def test_coordinates_are_no_dates_and_dates_no_coordinates():
    found = read("14.06.2026, 53.9500, 21.7000")
    assert [claim.event_date for claim in found.times] == ["2026-06-14"]
    assert [claim.decimal_latitude for claim in found.places] == [53.95]


def test_the_figures_of_a_link_are_coordinates_at_most():
    found = read("https://maps.example.org/@53.95,21.70,15z/2026/06/14 seen on Sunday")
    assert [claim.event_date for claim in found.times] == ["2026-06-14"]
    assert len(found.places) == 1


def test_coordinates_far_from_the_named_site_are_doubted():
    found = read("Heron Mere, 53.9500, 21.7000")
    coordinates = next(c for c in found.places if c.source == "message coordinates")
    assert "5.6 km from Heron Mere" in coordinates.doubts[0]


def test_coordinates_at_the_named_site_agree():
    found = read("Alder Pool, 53.9500, 21.7000")
    assert all(claim.doubts == () for claim in found.places)


def test_two_points_are_asked():
    found = read("53.9500, 21.7000 and later 53.9000 N 21.7000 E")
    assert len(found.places) == 2
    assert all("several coordinates" in claim.doubts[-1] for claim in found.places)
    assert len(found.questions) == 1


def test_a_german_and_a_polish_note_are_read():
    german = read("Hallo, gestern gegen 15 Uhr am Alder Pool, 2 Tiere. Grüße")
    polish = read("Dzień dobry, w niedzielę o godz. 11:20 nad Heron Mere. Pozdrawiam")
    assert german.times[0].event_date == "2026-06-15T15:00"
    assert polish.times[0].event_date == "2026-06-14T11:20"
    assert polish.places[0].location_id == "S1"


def test_a_note_without_time_or_place_claims_nothing():
    assert read("Is this a hawker? Kind regards, Ada, tel. 0171 555 12 34") == TextEvidence()


@given(st.text(max_size=300))
def test_no_text_raises(text):
    assert isinstance(read(text), TextEvidence)


@given(st.text(alphabet="0123456789.,:/-°'\" NSEWO", max_size=60))
def test_no_row_of_figures_raises(text):
    found = read(text)
    assert all(
        claim.decimal_latitude is None or abs(claim.decimal_latitude) <= 90
        for claim in found.places
    )


def test_a_very_long_text_is_read_in_time():
    found = read("1.2.3 4/5 53.9 21.7 Alder " * 4000)
    assert isinstance(found, TextEvidence)
