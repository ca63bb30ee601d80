"""A day that no calendar has is asked about with its words; what is no date stays unasked."""

from __future__ import annotations

import pytest

from triage.metadata.text_dates import days_of_no_calendar, find_times


@pytest.mark.parametrize(
    ("text", "words", "why"),
    [
        ("Seen on 31.06.2026 at the pond.", "31.06.2026", "there is no 31 June"),
        ("30.02. am Teich", "30.02", "there is no 30 February"),
        ("30.02.2026, Teich", "30.02.2026", "there is no 30 February"),
        ("Taken 31/11/2026.", "31/11/2026", "there is no 31 November"),
        ("Gesehen am 32.05. am Teich", "32.05", "there is no 32 May"),
        ("32.05.", "32.05", "there is no 32 May"),
        ("31.06.26, am Steg", "31.06.26", "there is no 31 June"),
        ("29.02.2025", "29.02.2025", "there is no 29 February 2025"),
        ("1900-02-29", "1900-02-29", "there is no 29 February 1900"),  # no leap year
        ("2026-06-31", "2026-06-31", "there is no 31 June"),
        ("2026-14-06", "2026-14-06", "there is no month 14"),
        ("06/31/2026", "06/31/2026", "there is no 31 June"),
        ("14.13.2026", "14.13.2026", "there is no month 13"),
        ("45.06.2026", "45.06.2026", "there is no 45 June"),
        ("00.06.2026", "00.06.2026", "there is no 0 June"),
        ("31-06-2026", "31-06-2026", "there is no 31 June"),
        ("31.6. am Steg gesehen", "31.6", "there is no 31 June"),
        ("Datum: 31.06.", "31.06", "there is no 31 June"),
        ("Date: 31/06", "31/06", "there is no 31 June"),
        ("zdjęcie z 31.06.2026r.", "31.06.2026", "there is no 31 June"),
        ("vu le 31/06", "31/06", "there is no 31 June"),
        ("29.-31.06.2026", "29.-31.06.2026", "there is no 31 June"),
        ("14.-12.06.2026", "14.-12.06.2026", "it ends before it begins"),
        ("31.VI.2026", "31.VI.2026", "there is no 31 June"),
        ("31 June", "31 June", "there is no 31 June"),
        ("Am 30. Februar", "30. Februar", "there is no 30 February"),
        ("31 czerwca", "31 czerwca", "there is no 31 June"),
        ("le 31 juin", "31 juin", "there is no 31 June"),
        ("29-31 June", "29-31 June", "there is no 31 June"),
        ("14-12 June", "14-12 June", "it ends before it begins"),
    ],
)
def test_a_day_that_no_calendar_has_is_shown_with_its_words(text, words, why):
    assert days_of_no_calendar(text) == f"'{words}', and {why}"
    claims, questions = find_times(text, sent_at=None, zone="Europe/Warsaw")
    assert claims == []
    expected = f"{why[:1].upper()}{why[1:]}."
    assert [one for one in questions if one.endswith(expected)], questions


@pytest.mark.parametrize(
    "text",
    [
        "14.06.2026",
        "29.02.",  # there are such
        "29 Feb",
        "29.02.2024",
        "31 May to 2 June",
        "14.-17.06.",
        "firmware v 31.06.26",
        "tel. 31.11.45",
        "1/250 s",
        "costs 31.06 EUR",
        "53.90, 21.70",
        "30.02 m deep",
        "Steg 3 und 2.06.",
        "at 09.31 Uhr",
        "FV 45/06/2026",
        "No 2026-45-12",
        "https://example.org/2026/06/31/x",
        "IMG_20260631.jpg",
        "you may 33 of them",
        "31 marched",
        "",
    ],
)
def test_what_is_a_day_or_no_date_is_not_asked(text):
    assert days_of_no_calendar(text) == ""
