"""Words about a wrong camera clock are heard in four languages; a correction is only offered."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from triage.metadata.camera_clock import CameraTime
from triage.metadata.clock_words import ClockWords, corrections_said, read_clock_words
from triage.metadata.exif import ExifRecord

# Sentence, seconds to add to what the clock shows (both signs where it does not say), season.
TOLD = [
    ("My camera clock is one hour slow.", (3600,), ""),
    ("Please note the camera clock is an hour fast.", (-3600,), ""),
    ("The clock in my camera runs 20 minutes behind.", (1200,), ""),
    ("My camera's time is 12 hours off.", (43200, -43200), ""),
    ("The time stamp of the camera is wrong by a day.", (86400, -86400), ""),
    ("Camera still shows winter time.", (), "winter"),
    ("My camera is on summer time.", (), "summer"),
    ("The date on my camera is wrong, sorry.", (), ""),
    ("The camera clock was never set.", (), ""),
    ("My camera is set to GMT.", (), ""),
    ("NB camera half an hour ahead.", (-1800,), ""),
    ("The clock of the phone loses time.", (), ""),
    ("Achtung: Die Uhr meiner Kamera geht eine Stunde nach.", (3600,), ""),
    ("Die Kamerauhr geht zwei Stunden vor.", (-7200,), ""),
    ("Meine Kamera steht noch auf Winterzeit.", (), "winter"),
    ("Die Kamera geht um 12 Stunden falsch.", (43200, -43200), ""),
    ("Das Datum der Kamera ist um einen Tag falsch.", (86400, -86400), ""),
    ("Das Datum in der Kamera stimmt nicht.", (), ""),
    ("Zegar w aparacie spóźnia się o godzinę.", (3600,), ""),
    ("Zegar aparatu śpieszy się o dwie godziny.", (-7200,), ""),
    ("Aparat pokazuje czas zimowy.", (), "winter"),
    ("Aparat ma źle ustawioną datę.", (), ""),
    ("Zegar aparatu myli się o 12 godzin.", (43200, -43200), ""),
    ("W aparacie data jest błędna o jeden dzień.", (86400, -86400), ""),
    ("L'horloge de mon appareil retarde d'une heure.", (3600,), ""),
    ("Mon appareil avance de deux heures.", (-7200,), ""),
    ("L'appareil est resté à l'heure d'hiver.", (), "winter"),
    ("L'heure de l'appareil est décalée de 12 heures.", (43200, -43200), ""),
    ("La date de mon appareil est fausse d'un jour.", (86400, -86400), ""),
    ("My camera clock runs 1 h and 7 min behind.", (4020,), ""),
    ("The camera says the 3rd, my notebook the 4th.", (), ""),
    ("Die Kamera zeigt 14:10, es war aber 13:10.", (), ""),
    ("Aparat pokazuje 13.30, a na zegarku było 12.30.", (), ""),
]
NOT_TOLD = [
    "The camera shows 14:10 on the 3rd.",
    "On the 3rd and on the 4th with my new camera.",
    "The camera was in my bag for two hours.",
    "My camera is too slow for dragonflies in flight.",
    "A fast shutter on the camera.",
    "Taken with my phone at 10 o'clock.",
    "I left the camera at home on the second day.",
    "My phone ran out of battery.",
    "The picture is out of focus, my camera is old.",
    "Mit der Kamera am Teich, zwei Stunden lang.",
    "Aparat miałem w plecaku.",
    "Zdjęcie z telefonu, dzisiaj o 10.",
    "Photo prise avec mon appareil hier à 10 heures.",
    "It flew past the camera at 2 pm.",
    "Kamera vor dem Tier aufgebaut.",
    "The camera fell out of the bag, but the day was fine.",
    "Nach einer Stunde hatte ich sie vor der Kamera.",
    "The camera clock is right.",
    "Around one hour after I switched my phone off it came back.",
    "My phone died an hour later.",
    "J'ai posé l'appareil une heure avant midi.",
    "Po dwóch godzinach wyjąłem aparat.",
]


@pytest.mark.parametrize(("sentence", "seconds", "season"), TOLD)
def test_a_wrong_clock_is_heard_with_its_sentence(sentence, seconds, season):
    found = read_clock_words(f"Hello. At Heron Mere. {sentence} Ida")
    assert (found.sentence, found.seconds, found.season) == (sentence, seconds, season)


@pytest.mark.parametrize("sentence", NOT_TOLD)
def test_other_words_about_cameras_and_hours_are_not(sentence):
    assert read_clock_words(sentence) == ClockWords()


def photo(taken: str) -> CameraTime:
    return CameraTime(photo="a", exif=replace(ExifRecord(), date_time_original=taken))


@pytest.mark.parametrize(
    ("season", "taken", "seconds"),
    [
        ("winter", "2026-06-14T12:00:00", [3600.0]),
        ("winter", "2026-12-14T12:00:00", []),
        ("summer", "2026-12-14T12:00:00", [-3600.0]),
        ("summer", "2026-06-14T12:00:00", []),
    ],
)
def test_a_clock_left_on_the_other_seasons_time_is_an_hour_off(season, taken, seconds):
    words = ClockWords(sentence="It is.", season=season)
    found = corrections_said(words, [photo(taken)], zone="Europe/Warsaw")
    assert [one.offset_seconds for one in found] == seconds


def test_of_an_error_without_a_direction_both_are_offered_with_the_words():
    words = read_clock_words("My camera is 12 hours off.")
    found = corrections_said(words, [photo("2026-06-14T12:00:00")], zone="Europe/Warsaw")
    assert [one.offset_seconds for one in found] == [43_200.0, -43_200.0]
    assert {one.reason for one in found} == {"the mail says: 'My camera is 12 hours off.'"}
    assert corrections_said(words, [photo("")], zone="Europe/Warsaw") == ()


def test_what_would_lie_after_the_mail_is_not_offered():
    sent = datetime(2026, 6, 14, 18, tzinfo=UTC)
    one = replace(photo("2026-06-14T12:00:00"), sent_at=sent)
    words = read_clock_words("My camera is 12 hours off.")
    found = corrections_said(words, [one], zone="Europe/Warsaw")
    assert [correction.offset_seconds for correction in found] == [-43_200.0]
