"""Words for last year beside a day are its year; elsewhere they are a second day or none."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from triage.metadata.text_dates import find_times

SENT = datetime(2026, 10, 1, 12, 0, tzinfo=UTC)


def days(text):
    claims, questions = find_times(text, sent_at=SENT, zone="Europe/Warsaw")
    return [one.event_date for one in claims], questions


@pytest.mark.parametrize(
    ("text", "event_date"),
    [
        ("I took this on 27 September last year.", "2025-09-27"),
        ("I took this on September 27th of last year.", "2025-09-27"),
        ("I took this on 27 September\nlast year.", "2025-09-27"),
        ("Seen on 27-28 September last year.", "2025-09-27/2025-09-28"),
        ("Seen on 12 December last year.", "2025-12-12"),
        ("Seen on 27/09 last year.", "2025-09-27"),
        ("Last year, on 27 September, I saw this.", "2025-09-27"),
        ("Last year on Saturday 27 September I saw this.", "2025-09-27"),
        ("Seen in September last year.", "2025-09-01/2025-09-30"),
        ("Das habe ich am 27. September vorigen Jahres gesehen.", "2025-09-27"),
        ("Das habe ich am 27.9. letzten Jahres am Wasser gesehen.", "2025-09-27"),
        ("Das Bild ist vom 27.9. des Vorjahres.", "2025-09-27"),
        ("Letztes Jahr am 27. September habe ich das gesehen.", "2025-09-27"),
        ("Im vergangenen Jahr, am 27. September, gesehen.", "2025-09-27"),
        ("Im September letzten Jahres gesehen.", "2025-09-01/2025-09-30"),
        ("Am 27. September vorletzten Jahres gesehen.", "2024-09-27"),
        ("Am 27. September vor einem Jahr gesehen.", "2025-09-27"),
        ("On 27 September a year ago I saw this.", "2025-09-27"),
        ("Zdjęcie z 27 września 2 lata temu.", "2024-09-27"),
        ("Zdjęcie z 27.09 rok temu.", "2025-09-27"),
        ("Photo prise le 27 septembre, il y a un an, ici.", "2025-09-27"),
        ("27 września ubiegłego roku widziałam tę ważkę.", "2025-09-27"),
        ("Zdjęcie z 27 września zeszłego roku.", "2025-09-27"),
        ("Zdjęcie z 27 września ub. r.", "2025-09-27"),
        ("W zeszłym roku, 27 września, widziałam tę ważkę.", "2025-09-27"),
        ("Photo prise le 27 septembre de l'année dernière.", "2025-09-27"),
        ("Photo prise le 27 septembre de l\u2019an dernier.", "2025-09-27"),
        ("L'an passé, le 27 septembre, j'ai vu cette libellule.", "2025-09-27"),
    ],
)
def test_last_year_beside_a_day_is_its_year(text, event_date):
    assert days(text)[0] == [event_date]


@pytest.mark.parametrize(
    "text",
    [
        "On 27 September I saw more of them than last year.",
        "I took this on 27 September, last year, by the jetty.",
        "It was new last year, on 27 September I saw it again.",
        "Wie letztes Jahr am 27. September war ich dort.",
        "W ubiegłym roku we wrześniu, a może 27 września.",
    ],
)
def test_last_year_apart_from_a_day_leaves_a_question(text):
    found, questions = days(text)
    assert "2026-09-27" in found
    assert questions


def test_a_day_that_last_year_had_not_is_asked_about():
    assert days("Seen on 29 February last year.") == (
        [],
        ["Which day is meant by '29 February last year'? There is no 29 February 2025."],
    )


@pytest.mark.parametrize(
    "text",
    [
        "27 September\nLast year's reed is still there.",
        "I took this on 27 September, last year I had none.",
        "Comme l'année dernière, j'ai vu cette libellule le 27 septembre.",
    ],
)
def test_last_year_in_another_clause_says_nothing_of_the_day(text):
    assert days(text)[0] == ["2026-09-27"]


def test_am_behind_a_whole_date_is_no_time_of_day():
    assert days("Das habe ich am 27.9.2025 am Wasser gesehen.")[0] == ["2025-09-27"]
