"""Which days and times of a mail stand by themselves, and which are only offered."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from triage.metadata.choosing import Shown, choose
from triage.metadata.day_forms import is_offer_of_day
from triage.metadata.exif import ExifRecord
from triage.metadata.position import NamedPlace
from triage.metadata.reading import SentPhoto, Surroundings, claims_of_message, read_layer

SENT = datetime(2026, 8, 10, 18, 0, tzinfo=UTC)  # a Monday
NAMES = ("Heron Mere", "Staw Olchowy", "Schilfteich", "Mare du Héron")
AROUND = Surroundings(
    places=[
        NamedPlace(
            location_id=name,
            locality=name,
            aliases=(),
            decimal_latitude=53.9,
            decimal_longitude=21.7,
            coordinate_uncertainty_in_meters=100.0,
        )
        for name in NAMES
    ],
    zone="Europe/Warsaw",
)


def read(text, subject=""):
    return read_layer(subject, text, sent_at=SENT, around=AROUND)


@pytest.mark.parametrize(
    ("subject", "text", "event_date"),
    [
        ("Heron Mere 09.08", "Please find attached.", "2026-08-09"),
        ("Schilfteich 9.8.", "Ein Weibchen.", "2026-08-09"),
        ("", "Staw Olchowy, 09.08, samica.", "2026-08-09"),
        ("", "Sunday's hawker from Heron Mere.", "2026-08-09"),
        ("", "Zdjęcie z niedzielnego spaceru nad Stawem Olchowym.", "2026-08-09"),
        ("", "Observed: 9 August 2026\nSpecies: ?", "2026-08-09"),
        ("", "Vue dimanche à la Mare du Héron.", "2026-08-09"),
        ("", "Habe die Libelle gestern am Schilfteich fotografiert.", "2026-08-09"),
        ("", "Seen yesterday at Heron Mere, around 3 pm.", "2026-08-09T15:00"),
        ("", "Date: 9 August\nTime: 14:20\nPlace: Heron Mere", "2026-08-09T14:20"),
    ],
)
def test_a_day_in_a_known_form_stands(subject, text, event_date):
    (claim,) = read(text, subject).times
    assert (claim.event_date, claim.doubts) == (event_date, ())


@pytest.mark.parametrize(
    "text",
    [
        "My new camera came on Thursday. Here is its first dragonfly, Heron Mere.",
        "I was told on Friday that it is a chaser. Heron Mere.",
        "It was not yesterday, Heron Mere.",
        "Would Sunday have been better? Heron Mere.",
        "My neighbour saw it on Saturday at Heron Mere.",
        "Rozmawialiśmy w piątek przez telefon. To ta ważka ze Stawu Olchowego.",
        "Am Samstag kam mein neues Objektiv. Schilfteich.",
        "Mon appareil est revenu vendredi. Mare du Héron.",
    ],
)
def test_a_day_in_any_other_form_is_an_offer(text):
    (claim,) = read(text).times
    assert claim.doubts


def test_a_time_in_another_form_is_offered_and_the_day_stands_without_it():
    (claim,) = read("Seen yesterday at Heron Mere. Could you ring me at 6 pm?").times
    assert (claim.event_date, claim.doubts) == ("2026-08-09", ())
    assert claim.offered_event_date == "2026-08-09T18:00"
    assert "6 pm" in claim.note


def chosen(clock, text, answer=""):
    photo = SentPhoto(
        photo="p", exif=ExifRecord(date_time_original=clock), file_name="a.jpg", sent_at=SENT
    )
    answers = [read(answer)] if answer else []
    ((times, places),) = claims_of_message([photo], {0: read(text)}, answers, AROUND)
    shown = Shown(sender=1)
    return choose(
        [(one, shown) for one in times],
        [(one, shown) for one in places],
        owner=1,
        zone="Europe/Warsaw",
    )


@pytest.mark.parametrize(
    ("clock", "doubted"), [("2026-08-06T12:00:00", False), ("2026-08-01T12:00:00", True)]
)
def test_a_clock_keeps_its_day_and_a_day_only_mentioned_is_compared_with_it(clock, doubted):
    found = chosen(clock, "My new camera came on Thursday. Heron Mere.")
    assert found.time is not None
    assert found.time.event_date == clock
    assert bool(found.clock_doubts) is doubted
    assert all("2026-08-06" in doubt for doubt in found.clock_doubts)


def test_an_answer_needs_no_form():
    found = chosen("", "Here it is.", answer="I should think Friday, if I remember rightly.")
    assert found.time is not None
    assert (found.time.event_date, found.time_doubts) == ("2026-08-07", ())


def test_only_a_missing_form_is_no_more_than_an_offer():
    assert not is_offer_of_day("later than the mail")
