"""The date of a letter is not the photo's day; what says the photo's day is."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from triage.metadata.position import NamedPlace
from triage.metadata.reading import Surroundings, read_layer

AROUND = Surroundings(
    places=[
        NamedPlace(
            location_id="S1",
            locality="Heron Mere",
            aliases=(),
            decimal_latitude=53.9,
            decimal_longitude=21.7,
            coordinate_uncertainty_in_meters=100.0,
        )
    ],
    zone="Europe/Warsaw",
)
LETTER = "\n\nDear team,\n\nHere is a dragonfly from Heron Mere.\n\nBest wishes\nTom"


def days(text, subject="", sent=datetime(2026, 8, 4, 18, 0, tzinfo=UTC)):
    return list(read_layer(subject, text, sent_at=sent, around=AROUND).times)


@pytest.mark.parametrize(
    ("head", "event_date"),
    [
        ("Tuesday 4 August 2026", "2026-08-04"),
        ("4 August", "2026-08-04"),
        ("Leeds, 3rd August 2026", "2026-08-03"),
        ("August 2nd, 2026", "2026-08-02"),
        ("4/8/26", "2026-08-04"),
        ("2026-08-04", "2026-08-04"),
        ("Dienstag, den 4. August 2026", "2026-08-04"),
        ("Frankfurt am Main, den 3.8.2026", "2026-08-03"),
        ("4. August 2026, Köln", "2026-08-04"),
        ("Wtorek, 4 sierpnia 2026", "2026-08-04"),
        ("Kraków, dnia 3 sierpnia 2026 r.", "2026-08-03"),
        ("Nowy Targ, 4.08.2026 r.", "2026-08-04"),
        ("Paris, le 3 août 2026", "2026-08-03"),
        ("Saint-Denis, le mardi 4 août 2026", "2026-08-04"),
    ],
)
def test_the_date_at_the_head_of_a_letter_is_asked_about(head, event_date):
    (claim,) = days(head + LETTER)
    assert claim.event_date == event_date
    assert claim.doubts == (f"'{head}' may be the date of the letter",)


@pytest.mark.parametrize(
    "text",
    [
        "Anna\nDolna 3\n\nKraków, 3 sierpnia 2026\n\nDzień dobry,\nzdjęcie znad Heron Mere.",
        "Anna Kern\n\nDienstag, 4. August 2026\n\nLiebes Team,\nein Foto vom Heron Mere.",
        "Mardi 4 août 2026\n\nUne libellule prise en photo à Heron Mere hors saison.",
        "4 August 2026\nhere is one that I took by the old jetty",
    ],
)
def test_so_is_one_above_the_greeting_or_above_sentences(text):
    (claim,) = days(text)
    assert "date of the letter" in claim.doubts[0]


@pytest.mark.parametrize(
    ("text", "event_date"),
    [
        ("Tuesday 4 August 2026\n\nHello, I took this on Sunday at Heron Mere.", "2026-08-02"),
        ("Leeds, 4 August 2026\n\nDear all, I saw this today at Heron Mere.", "2026-08-04"),
        (
            "Köln, den 4.8.2026\n\nHallo, das Foto habe ich gestern am Heron Mere gemacht.",
            "2026-08-03",
        ),
        ("4 sierpnia 2026\n\nDzień dobry, zdjęcie jest z 1 sierpnia, Heron Mere.", "2026-08-01"),
        ("Mardi 4 août 2026\n\nBonjour, photo prise hier à Heron Mere.", "2026-08-03"),
    ],
)
def test_other_words_say_the_photos_day_below_the_date_of_a_letter(text, event_date):
    (claim,) = days(text)
    assert (claim.event_date, claim.doubts) == (event_date, ())


@pytest.mark.parametrize(
    ("subject", "text"),
    [
        ("", f"Heron Mere, 4 August 2026{LETTER}"),
        ("", f"Date: 4 August 2026{LETTER}"),
        ("", f"Photo, 4 August 2026{LETTER}"),
        ("", "4 August 2026\nHeron Mere\n\nTom Smith"),
        ("Heron Mere", "4 August 2026"),
        ("Heron Mere, 4 August 2026", "Please find one attached."),
        ("", f"1 August 2026{LETTER}"),
    ],
)
def test_captions_fields_subjects_and_older_dates_are_none_of_a_letter(subject, text):
    (claim,) = days(text, subject)
    assert claim.doubts == ()


def test_dates_of_a_list_are_several_days():
    found = days(
        "4 August 2026\n\nTwo males on the jetty\n\n3 August 2026\n\nHeron Mere, one female"
    )
    assert {one.event_date for one in found} == {"2026-08-03", "2026-08-04"}
    assert all(one.doubts for one in found)
